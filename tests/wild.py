"""Whole job files at random, valid and nearly so, with every table that a job can have.

`valid(draw)` takes one of `rooms.py` and gives it what those rooms do without: grooves, slots, recesses, natural edges, templates,
a species of its own, loads, a house, answers, a way of cutting. `nearly` does to it what a tired person does to a job file:
a value of another table, a sign, a decimal place, a key too many, a table twice. Whether a file is still valid is not known
beforehand; that it ends in words is what is tested.
"""

from __future__ import annotations

import copy
from functools import cache

import rooms
from hypothesis import strategies as st

TEMPLATES = ("sink.dxf", "open.dxf", "missing.dxf", "words.dxf")
"""Templates that a job may name; `put_templates` writes those that are there."""

TEXTS = (
    "",
    "-",
    "Küche Łódź ½ × 3″",
    "<script>alert(1)</script> & ]]>",
    "\u202eright to left\u202c \u05d0\u05d1",
    "=1+1",
    "@sum",
    "%%c \\U+2205 ^J",
    "W" * 300,
    "a b " * 80,
    "台面",
)
NAMES = ("A", "B", "C", "k", "none", "window W1", "A/B", "A start", "front", "1", "99", "")
LENGTHS = (
    "0",
    "-1",
    "1/64",
    "0.0001",
    "1",
    "3/8",
    "6",
    "25 1/2",
    "48",
    "100'",
    "10800",
    "1e3",
    "1 1/0",
    "12 mm",
    "2.5 cm",
    "",
    "twelve",
    '1/2"',
    -5,
    0,
    1,
    24,
    0.5,
    1e-9,
    1e12,
)
OTHERS = (
    True,
    False,
    [],
    {},
    [[]],
    ["1"],
    ["1", "2"],
    ["1", "2", "3"],
    7,
    10**18,
    -1,
    45.0,
    1e308,
    {"A": "1"},
    {"1": "2"},
)
KEYS = (
    "name", "at", "wall", "top", "length", "size", "center", "corner", "kind", "radius", "depth", "from", "face", "sink",
    "turn", "setback", "natural", "frobnicate", "corners", "splash", "height", "count", "spacing", "diameter", "width",
)  # fmt: skip


def put_templates(folder):
    """Write the templates that jobs of this module may name into a folder."""
    from ezdxf import new  # noqa: PLC0415
    from ezdxf.lldxf.const import LWPOLYLINE_CLOSED  # noqa: PLC0415

    for name, closed in (("sink.dxf", True), ("open.dxf", False)):
        drawing = new("R2000", units=4)
        line = drawing.modelspace().add_lwpolyline([(0, 0), (300, 0), (300, 200, 0, 0, 0.2), (0, 200)])
        line.dxf.flags = LWPOLYLINE_CLOSED if closed else 0
        drawing.saveas(folder / name)
    (folder / "words.dxf").write_text("no drawing at all\n")


def _placed(kit, job, free):
    """Where something stands in a top: a point of a free one's, or wall, station and setback of a run's."""
    top = kit.one_of(job["top"])
    if "along" in top:
        wall = kit.one_of(top["along"])
        return {
            "top": top["name"],
            "wall": wall,
            "center": kit.tape(kit.between(8, 90)),
            "setback": kit.tape(kit.between(3, 16)),
        }
    x, y = kit.tape(kit.between(6, free)), kit.tape(kit.between(6, 24))
    return {"top": top["name"], "center": [x, y]}


def _milled(kit, job, number):
    kind = kit.one_of(["groove", "slot", "recess"])
    table = {"name": f"M{number}", **_placed(kit, job, 60)}
    table["size"] = [kit.tape(kit.between(2, 14)), kit.tape(kit.between(0.25, 1.5))]
    if kind != "slot" or kit.odds(40):
        table["depth"] = kit.tape(kit.between(0.125, 1))
    if kit.odds(30):
        table["face"] = kit.one_of(["above", "below"])
    if kit.odds(30):
        table["turn"] = float(kit.one_of([15, 45, 90, -30]))
    if kind == "groove":
        table["kind"] = kit.one_of(["drainer", "rod", "drip", "groove"])
        sinks = [c for c in job.get("cutout", []) if c["kind"] == "sink"]
        if sinks and kit.odds(50):
            sink = kit.one_of(sinks)
            for key in ("center", "wall", "setback", "turn"):
                table.pop(key, None)
            table |= {"top": sink["top"], "sink": sink["name"], "side": kit.one_of(["left", "right"])}
        if kit.odds(60):
            table |= {"count": kit.whole(1, 6), "spacing": kit.tape(kit.between(0.5, 3))}
    if kind == "recess":
        table["size"][1] = kit.tape(kit.between(2, 8))
        if kit.odds(40):
            table["radius"] = kit.tape(kit.between(0.25, 1))
    job.setdefault(kind, []).append(table)


def _natural(kit, job):
    top = kit.one_of(job["top"])
    side = f"{top['along'][0]} front" if "along" in top else "1" if "outline" in top else kit.one_of(["front", "back"])
    if "size" in top and kit.odds(90):
        # its stations reach from end to end
        size = top["size"][0 if side in ("front", "back") else 1]
        inner = [kit.tape(kit.ticks(n)) for n in range(6, 6 + 5 * kit.whole(0, 3), 5)]
        pairs = [[at, kit.tape(kit.between(0.25, 1))] for at in ["0", *inner, size]]
    else:
        pairs = [[kit.tape(kit.ticks(12 * n)), kit.tape(kit.between(0, 1.5))] for n in range(kit.whole(2, 6))]
    job.setdefault("edge", []).append({"top": top["name"], "side": side, "natural": pairs})


def valid(source):
    """A job as a dict, of `rooms.Seeded` or `rooms.Drawn`; valid but for what meets by chance."""
    job = rooms.make_job(source, full=True)
    kit = rooms.Kit(source, job["job"]["units"])
    for number in range(kit.whole(0, 3)):
        _milled(kit, job, number)
    if kit.odds(30):
        _natural(kit, job)
    if kit.odds(25):
        job["cut"] = {
            "version": kit.one_of(["R2000", "R12"]),
            "relief": kit.one_of(["round", "none"]),
            "pilots": kit.odds(50),
            "layers": {"CUT_OUTLINE": "PROFILE"},
        }
    if kit.odds(20):
        like = kit.one_of(["beech", "black walnut"])
        job["species"] = [{"name": "own oak", "like": like, "density": 700.0, "source": kit.one_of(TEXTS[2:])}]
        job["wood"]["species"] = kit.one_of(["own oak", "own oak", "teak"])
    if kit.odds(25):
        job["load"] = {"point": kit.one_of(["100 lb", "45 kg"]), "deflection": 360, "creep": 2, "lift": "20 kg"}
    if kit.odds(30):
        job["site"] = {"humidity": [kit.whole(1, 40), kit.whole(40, 99)], "temperature": kit.one_of(["70 F", "21 C"])}
        job["site"]["door"] = [kit.tape(kit.ticks(30)), kit.tape(kit.ticks(78))]
        if kit.odds(50):
            job["site"]["lift"] = [kit.tape(kit.ticks(n)) for n in (40, 50, 84)]
            job["site"]["hall"] = [kit.tape(kit.ticks(n)) for n in (36, 40)]
    if kit.odds(20):
        job["answer"] = [{"mark": n, "answer": kit.one_of(TEXTS[2:])} for n in range(1, kit.whole(1, 3) + 1)]
        job["revision"] = [{"letter": "A", "note": kit.one_of(TEXTS[2:])}]
    if kit.odds(25):
        place = _placed(kit, job, 60)
        job.setdefault("cutout", []).append(
            {"name": "T1", "kind": "sink", **place, "template": kit.one_of(["sink.dxf"] * 4 + list(TEMPLATES))}
        )
    if kit.odds(25):
        job["job"]["notes"] = [kit.one_of(TEXTS) for _ in range(kit.whole(1, 3))]
        job["job"]["customer"] = kit.one_of(TEXTS)
    return job


# --- nearly valid --------------------------------------------------------------------------------------------------


def _places(thing):
    """Every dict and list in a job that holds something, each with its keys."""
    if isinstance(thing, dict):
        yield thing, list(thing)
        for value in thing.values():
            yield from _places(value)
    elif isinstance(thing, list):
        if thing:
            yield thing, list(range(len(thing)))
        for value in thing:
            yield from _places(value)


def _odd(source):
    return copy.deepcopy(source.one_of([source.one_of(p) for p in (LENGTHS, LENGTHS, NAMES, TEXTS, OTHERS)]))


def _slip(source, job):
    places = [p for p in _places(job) if p[1]]
    holder, keys = source.one_of(places)
    key = source.one_of(keys)
    how = source.one_of(["odd", "odd", "drop", "key", "twice", "swap", "other", "times"])
    if how == "odd":
        holder[key] = _odd(source)
    elif how == "drop":
        del holder[key]
    elif how == "key" and isinstance(holder, dict):
        holder[source.one_of(KEYS)] = _odd(source)
    elif how == "twice":
        lists = [v for v in job.values() if isinstance(v, list) and v]
        if lists:
            tables = source.one_of(lists)
            tables.append(copy.deepcopy(source.one_of(tables)))
            if isinstance(tables[-1], dict) and "name" in tables[-1] and source.whole(0, 2):
                tables[-1]["name"] = f"again{len(tables)}"
    elif how in ("swap", "other"):
        other, their = source.one_of(places)
        at = source.one_of(their)
        mine, yours = copy.deepcopy(holder[key]), copy.deepcopy(other[at])
        holder[key] = yours
        if how == "swap":
            other[at] = mine
    elif how == "times" and isinstance(holder[key], int | float) and not isinstance(holder[key], bool):
        holder[key] = holder[key] * source.one_of([-1, 0.1, 10, 1000, 0.001, 0])


def nearly(source, job=None):
    """A job as a dict with one to four slips in it; ``job``: the one they are made in, which stays as it is."""
    job = copy.deepcopy(valid(source) if job is None else job)
    for _ in range(source.whole(1, 4)):
        _slip(source, job)
    return job


def text_of(job):
    """A job as TOML; what a slip has left as no table is written as a value, before all tables."""
    plain, tables = [], {}
    for name, value in job.items():
        rows = value if isinstance(value, list) and value and all(isinstance(v, dict) for v in value) else None
        if isinstance(value, dict):
            tables[name] = value
        elif rows:
            tables[name] = rows
        else:
            plain.append(f"{rooms.toml_key(name)} = {rooms.toml_value(value)}")
    return "\n".join([*plain, rooms.toml_text(tables)])


POOL = 12
"""Rooms that numbered files start from; to make a new one takes longer than to lay it out."""


@cache
def _pooled(number):
    return valid(rooms.Seeded(number))


def made(seed, slips):
    """A job file of a number, the same for the same one; with slips or without."""
    if not slips:
        return text_of(_pooled(seed % POOL))
    source = rooms.Seeded(seed)
    return text_of(nearly(source, _pooled(source.whole(0, POOL - 1))))


def numbered(slips):
    """Strategy: a job file, by the number that a plain generator makes it of; quick, but nothing smaller is found for it."""
    return st.builds(made, st.integers(0, 10**9), st.just(slips))


@st.composite
def files(draw):
    """Strategy: a job file whose every choice hypothesis makes, so that it finds the smallest that fails."""
    make = draw(st.sampled_from([valid, nearly]))
    return text_of(make(rooms.Drawn(draw)))
