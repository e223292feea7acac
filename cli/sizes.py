"""``staveline sizes``: sheets, scales and lumber that the program knows, the shop's numbers, and what bounds a job.

Every figure is read where the program reads it, with its source; what is printed and what ``--json`` holds are the same values.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby
from typing import Any

from cli.reference_tables import columns, json_text, prose
from layout.lumber import quarters
from layout.page import BORDER, BORDER_SOURCE, SCALE_SOURCES, SCALES, SIZE_SOURCES, SIZES, frame_area
from layout.rules import (
    BOARD_SEEN,
    CABINET_DEPTH,
    COUNTS,
    CUTOUT_RADIUS,
    DEEPEST,
    FASTENER,
    FASTENER_PAST,
    FIELD_JOINT,
    FIELD_JOINT_SOURCE,
    HUMIDITY,
    HUMIDITY_SOURCE,
    LARGEST,
    LEAST,
    LOAD_STRIP,
    LOADS,
    LONGEST,
    QUARTERS,
    QUARTERS_SOURCE,
    RECESS_RADIUS,
    SCRIBE,
    SHEET_SIZE,
    SHOP,
    SHORT_MITRE,
    SMALLEST,
    SPLASH_THICKNESS,
    STOCK,
    STOCK_SOURCE,
    STRIP,
    TEMPERATURE,
    TEMPERATURE_SOURCE,
    THICKNESS,
    TOLERANCES,
    WEB,
    Default,
)
from layout.units import INCH_MM, Labels
from layout.wood import POUND_KG

INCH = float(INCH_MM)
ELSEWHERE = {
    "[[top]] cabinet_depth": CABINET_DEPTH,
    "[[top]] splash_thickness": SPLASH_THICKNESS,
    "[[top]] scribe": SCRIBE,
    "[[cutout]] radius": CUTOUT_RADIUS,
    "[[recess]] radius": RECESS_RADIUS,
    "[[joint]] length": SHORT_MITRE,
}
"""Lengths that a table of a job takes where it gives none: a run's, a cutout's with a size, a recess's, a short mitre's."""
TABLES = {
    "[shop]": "what the shop can make, and its habits",
    "[shop.web]": "least wood left round a cutout, by what lies on the other side",
    "[shop.fastener]": "where joint fasteners go, and what is pocketed below for each",
    "[load]": "what overhangs are tried with, and what a person carries",
    "[site]": "the house that a top goes into",
    "[[top]]": "a run along walls",
    "[[cutout]]": "its inside corners, where it has a size",
    "[[recess]]": "its inside corners",
    "[[joint]]": "a short mitre",
}
"""What each table is about."""
_LONGEST_CELL = 20
NOTE = (
    "The shop's numbers hold where a job is silent; an inch job takes the one column and a job in mm the other, which is no "
    "conversion. They are an aid to whoever decides, and no approval."
)


def sheets() -> list[dict[str, Any]]:
    """Return every sheet, lying: its size in mm and in, its drawing space within the frame, and whose size it is."""
    return [
        {
            "size": name,
            "mm": list(size),
            "in": [side / INCH for side in size],
            "space_mm": [frame_area(name).width, frame_area(name).height],
            "default_in": [unit for unit, usual in SHEET_SIZE.items() if usual == name],
            "source": SIZE_SOURCES[name[:-1].strip()],
        }
        for name, size in SIZES.items()
    ]


def scales() -> list[dict[str, Any]]:
    """Return every scale of drawings: in which jobs, how it is written, its ratio, and whose it is."""
    return [
        {"job_in": unit, "scale": words, "ratio": ratio, "source": SCALE_SOURCES[unit]}
        for unit, listed in SCALES.items()
        for ratio, words in listed
    ]


def lumber() -> list[dict[str, Any]]:
    """Return every thickness of lumber: its name, rough and surfaced, as it is called and in mm."""
    return [
        {"name": q.name, "rough": rough, "surfaced": surfaced, "rough_mm": q.rough, "surfaced_mm": q.surfaced}
        for q, (_, rough, surfaced) in zip(quarters(), QUARTERS, strict=True)
    ]


def settings() -> list[dict[str, Any]]:
    """Return what a job may set and what holds where it does not: table and key, value in inch and in mm jobs, least, source."""
    return list(_settings())


def bounds() -> list[dict[str, Any]]:
    """Return past which length and which count a job is refused, with why."""
    lengths = {"any length": LONGEST, "length of a wall or top": LARGEST, "depth of a top": DEEPEST}
    rows = [{"what": what, **_both(most), "source": most.source} for what, most in lengths.items()]
    rows.append({"what": "any size, at least", **_both(LEAST), "source": LEAST.source})
    return rows + [{"what": c.what, "in": f"{c.most}", "mm": f"{c.most}", "source": c.source} for c in COUNTS]


def thicknesses() -> list[dict[str, Any]]:
    """Return between which thicknesses a construction is made, and how wide its boards, strips or blocks are seen."""
    out = []
    for construction, (low, high) in THICKNESS.items():
        for what, limit in (("thickness, least", low), ("thickness, most", high)):
            out.append({"construction": construction, "what": what, **_both(limit), "source": limit.source})
        seen = STRIP[construction]
        out.append({"construction": construction, "what": "width seen", **_both(seen), "source": seen.source})
        if construction == "face grain":
            for what, limit in zip(("board seen, least", "board seen, most"), BOARD_SEEN, strict=True):
                out.append({"construction": construction, "what": what, **_both(limit), "source": limit.source})
    return out


def tolerances() -> list[dict[str, Any]]:
    """Return the tolerances that sheets print: of what, how much, by which standard."""
    made = [{"what": what, "at_most": most, "source": source} for what, most, source in TOLERANCES]
    joints = [(f"joint made on site, grade {grade}", gap) for grade, gap in FIELD_JOINT.items()]
    return made + [{"what": what, "at_most": gap, "source": FIELD_JOINT_SOURCE} for what, gap in joints]


def sizes_json() -> str:
    """Return all of it as JSON."""
    return json_text(
        {
            "sheets": sheets(),
            "border_mm": dict(zip(("left", "bottom", "right", "top"), BORDER, strict=True)),
            "border_source": BORDER_SOURCE,
            "scales": scales(),
            "lumber": lumber(),
            "lumber_source": QUARTERS_SOURCE,
            "thicknesses": thicknesses(),
            "settings": settings(),
            "bounds": bounds(),
            "tolerances": tolerances(),
            "note": NOTE,
        }
    )


def sizes_text() -> str:
    """Return all of it as tables."""
    blocks = [
        ("sheets, lying ([sheet] size)", _sheet_lines()),
        ("scales: each view takes the largest that its room lets it", _scale_lines()),
        ("lumber: rough, and what it is sure to surface to on two sides", _lumber_lines()),
        ("constructions ([wood] construction)", _thickness_lines()),
        ("what a job may set, and what holds where it is silent", _setting_lines()),
        ("what bounds a job: beyond it is refused (exit 2)", _bound_lines()),
        (
            "tolerances printed on the sheets ([shop] grade)",
            columns([(r["what"], r["at_most"], r["source"]) for r in tolerances()], "<<<"),
        ),
    ]
    return "\n".join([line for title, lines in blocks for line in (title, "", *lines, "")] + prose(NOTE))


def _both(default: Default) -> dict[str, str]:
    return {"in": default.inches, "mm": default.mm}


def _settings() -> Iterator[dict[str, Any]]:
    for key, default in SHOP.items():
        yield _setting("[shop]", key, default)
    for construction, default in STRIP.items():
        seen = _setting("[shop]", "strip", default)
        yield seen | {"source": f"{construction}: {default.source}"}
    stock = {unit: ", ".join(listed) for unit, listed in STOCK.items()}
    yield {"table": "[shop]", "key": "stock", **stock, "least": _least("stock"), "source": STOCK_SOURCE}
    for key, default in WEB.items():
        yield _setting("[shop.web]", key, default)
    for key, default in FASTENER.items():
        yield _setting("[shop.fastener]", key, default)
    yield {
        "table": "[shop.fastener]",
        "key": "depth",
        **{unit: f"half + {text}" for unit, text in _both(FASTENER_PAST).items()},
        "least": {},
        "source": FASTENER_PAST.source,
    }
    for key, load in LOADS.items():
        yield _load(key, load.value, load.unit, load.source)
    yield _setting("[load]", "strip", LOAD_STRIP)
    humid = f"{HUMIDITY[0]:g}, {HUMIDITY[1]:g}"
    for key, value, source in (("humidity", humid, HUMIDITY_SOURCE), ("temperature", TEMPERATURE, TEMPERATURE_SOURCE)):
        yield {"table": "[site]", "key": key, "in": value, "mm": value, "least": {}, "source": source}
    for name, default in ELSEWHERE.items():
        table, key = name.split()
        yield _setting(table, key, default)


def _setting(table: str, key: str, default: Default) -> dict[str, Any]:
    least = _least(key) if table == "[shop]" else {}
    return {"table": table, "key": key, **_both(default), "least": least, "source": default.source}


def _load(key: str, value: float, unit: str, source: str) -> dict[str, Any]:
    told = f"{value:g} {unit}".strip()
    metric = f"; {value * POUND_KG:.1f} kg" if unit == "lb" else ""
    return {"table": "[load]", "key": key, "in": told, "mm": told, "least": {}, "source": source + metric}


def _least(key: str) -> dict[str, str]:
    """Return below what a limit of the shop is refused, by unit; nothing where nothing is."""
    least = SMALLEST.get(("shop", key))
    return {} if least is None else {**_both(least), "source": least.source}


def _pair(sides: list[float], form: str) -> str:
    return " x ".join(format(side, form) for side in sides)


def _sheet_lines() -> list[str]:
    table = [("", "mm", "in", "space, mm", "usual for", "source")]
    for row in sheets():
        usual = ", ".join(row["default_in"])
        mm, inch, space = _pair(row["mm"], ".1f"), _pair(row["in"], ".2f"), _pair(row["space_mm"], ".1f")
        table.append((row["size"], mm, inch, space, usual, row["source"]))
    left, *others = BORDER
    frame = f"space: within the frame, {left:g} mm at the left and {others[0]:g} mm elsewhere; {BORDER_SOURCE}"
    return [*columns(table, "<>>><<"), *prose(frame, "  ")]


def _scale_lines() -> list[str]:
    rows = [
        (f"jobs in {unit}", ", ".join(words for _, words in listed), SCALE_SOURCES[unit])
        for unit, listed in SCALES.items()
    ]
    return [line for name, words, source in rows for line in columns([(name, f"{words} ({source})")], "<<")]


def _lumber_lines() -> list[str]:
    table = [("", "rough, in", "mm", "surfaced, in", "mm", "")]
    mm = Labels("mm").fine
    for q in lumber():
        table.append((q["name"], q["rough"], mm(q["rough_mm"]), q["surfaced"], mm(q["surfaced_mm"]), ""))
    return [*columns(table, "<>>>><"), *prose(QUARTERS_SOURCE, "  ")]


def _thickness_lines() -> list[str]:
    rows = [(r["construction"], r["what"], r["in"], r["mm"], r["source"]) for r in thicknesses()]
    return columns([("", "", "in", "mm", ""), *rows], "<<>><")


def _setting_lines() -> list[str]:
    table: list[tuple[str, ...]] = [("", "in", "mm", "what it is, and whose number")]
    lists = []
    for name, group in groupby(settings(), key=lambda row: row["table"]):
        table.append((name, "", "", TABLES[name]))
        for row in group:
            source = row["source"]
            if row["least"]:
                source += f"; not below {row['least']['in']} ({row['least']['mm']}), the {row['least']['source']}"
            if len(row["in"]) > _LONGEST_CELL:  # a list has lines of its own
                table.append((f"  {row['key']}", "below", "below", source))
                lists += [
                    line for unit in ("in", "mm") for line in columns([(f"{row['key']}, {unit}", row[unit])], "<<")
                ]
            else:
                table.append((f"  {row['key']}", row["in"], row["mm"], source))
    return [*columns(table, "<>><"), *lists]


def _bound_lines() -> list[str]:
    rows = [(r["what"], r["in"], r["mm"], r["source"]) for r in bounds()]
    return columns([("", "job in in", "in mm", ""), *rows], "<>><")
