"""Valid jobs at random: rooms, runs, islands and bars that a drafter could meet, as TOML text.

``random_job(seed)`` draws with a plain seeded generator; ``jobs()`` is the same as a hypothesis strategy. Nothing is
thrown away afterwards: every measure is chosen so that what it joins has room. A length is a whole number of
ticks, sixteenths of an inch or millimetres, until it is written.

``fuller_job(seed)`` and ``fuller_jobs()`` draw the same and more: notches, backs that follow or scribe, inside corners
cut and with cutouts across them, strips behind ranges, columns.
"""

from __future__ import annotations

import datetime
import itertools
import math
import random
import tomllib
from fractions import Fraction

import oracle
from hypothesis import strategies as st
from shapely.geometry import LineString, Polygon

TICKS = {"in": 16, "mm": 25}
"""Ticks to a nominal inch; in mm jobs a nominal inch is 25 mm."""


class Seeded:
    """Draws from a plain generator."""

    def __init__(self, seed):
        self.source = random.Random(seed)

    def whole(self, low, high):
        return self.source.randint(low, high)

    def one_of(self, things):
        return things[self.source.randrange(len(things))]


class Drawn:
    """Draws from hypothesis; zero, first and least are the simplest."""

    def __init__(self, draw):
        self.draw = draw

    def whole(self, low, high):
        return self.draw(st.integers(low, high))

    def one_of(self, things):
        return things[self.draw(st.integers(0, len(things) - 1))]


class Kit:
    """A source of chance with the job's unit: lengths in, tape text out."""

    def __init__(self, source, units):
        self.source, self.units, self.per = source, units, TICKS[units]
        self.whole, self.one_of = source.whole, source.one_of

    def odds(self, percent):
        return self.source.whole(0, 99) >= 100 - percent

    def ticks(self, inches):
        """Nominal inches as whole ticks."""
        return round(inches * self.per)

    def between(self, low, high):
        """Ticks between two nominal inches, often a round measure."""
        step = self.one_of([self.per, self.per // 2, self.per // 4, 1])
        return self.ticks(low) + step * self.whole(0, max(0, self.ticks(high - low) // step))

    def value(self, ticks):
        """Ticks in job units."""
        return ticks / 16 if self.units == "in" else float(ticks)

    def up(self, size):
        """Job units as ticks, upwards."""
        return math.ceil((size * 16 if self.units == "in" else size) - 1e-9)

    def tape(self, ticks):
        """A length as one of the ways it can be written."""
        sign, ticks = ("-" if ticks < 0 else ""), abs(ticks)
        if self.units == "mm":
            ways = [f"{sign}{ticks}", f"{sign}{ticks} mm", int(f"{sign}{ticks}"), f"{sign}{ticks / 10} cm"]
            return self.one_of(ways)
        whole, rest = divmod(ticks, 16)
        part = str(Fraction(rest, 16)) if rest else ""
        body = f"{whole} {part}".strip() if whole or not part else part
        ways = [f"{sign}{body}", f'{sign}{body}"']
        if whole and part:
            ways.append(f"{sign}{whole}-{part}")
        if rest == 8 and whole:
            ways.append(f"{sign}{whole}½")
        if rest % 4 == 0:
            ways.append((-1 if sign else 1) * ticks / 16)
        if whole >= 12:
            feet, inches = divmod(whole, 12)
            ways.append(f"{sign}{feet}'-{inches}{' ' + part if part else ''}\"")
        return self.one_of(ways)


# --- writing TOML --------------------------------------------------------------------------------------------------


def toml_value(value):
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{toml_key(k)} = {toml_value(v)}" for k, v in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(toml_value(v) for v in value) + "]"
    return value.isoformat() if isinstance(value, datetime.date) else repr(value)


def toml_key(key):
    return key if key.replace("-", "").replace("_", "").isalnum() else f'"{key}"'


def toml_text(job):
    lines = []
    for name, tables in job.items():
        for table in tables if isinstance(tables, list) else [tables]:
            lines.append(f"[[{name}]]" if isinstance(tables, list) else f"[{name}]")
            lines += [f"{toml_key(k)} = {toml_value(v)}" for k, v in table.items()]
            lines.append("")
    return "\n".join(lines)


# --- walls ---------------------------------------------------------------------------------------------------------

BANDS = [(87, 93), (87, 93), (84, 96), (60, 88), (92, 125), (110, 172), (266, 274), (188, 300)]


def corner_table(kit, turned):
    """A corner and its angle; `turned` holds how far the walls have turned before, which bounds this one.

    All headings stay within half a turn, so that the walls can never come back upon themselves.
    """
    low, high = min(turned), max(turned)
    least, most = low + 180, high - 180  # the heading after this corner stays between these
    if kit.odds(4):
        return 180, 180.0
    here, bands = turned[-1], []
    for a, b in BANDS:
        a, b = max(a, 180 - (here - most)), min(b, 180 + (least - here))  # noqa: PLW2901
        if b - a >= 2:
            bands.append((a, b))
    a, b = kit.one_of(bands)
    wanted = a + (b - a) * kit.whole(0, 64) / 64
    ways = ["degrees", "degrees"]
    if wanted < 172:
        ways.append("tapes")
    if 85 <= wanted <= 95 and a + 2 <= wanted <= b - 2:
        ways.append("square")
    way = kit.one_of(ways)
    if way == "tapes":
        one, two = kit.between(24, 48), kit.between(24, 60)
        third = math.floor(math.sqrt(one**2 + two**2 - 2 * one * two * math.cos(math.radians(wanted))))
        if wanted > 90:
            third = max(third, abs(one - two) + 1)
        table = [kit.tape(v) for v in (one, two, third)]
    elif way == "square":
        blade = kit.ticks(kit.one_of([16, 24]))
        table = {"open": kit.tape(round(blade * math.tan(math.radians(wanted - 90)))), "in": kit.tape(blade)}
    else:
        table = round(wanted, kit.one_of([0, 1, 2]))
        table = int(table) if table == int(table) else table
    return table, oracle.corner_angle(table, kit.units)


def near_straight(angle):
    return 125 < angle < 210


def taken(angle, depth, other):
    """How much of a wall a corner can take, whatever its joint (nominal inches)."""
    if near_straight(angle):
        return 4 + depth * max(0.0, math.tan(math.radians(180 - angle) / 2))
    t = math.radians(angle)
    if angle < 180:
        front = (other + depth * math.cos(t)) / math.sin(t)
        return 5 + max(front, depth / math.sin(t), other / math.sin(t))
    return 5 + max(0.0, max(depth, other) / math.tan(t - math.pi)) if angle < 270 else 5.0


def path_room(kit, most):
    """Walls, their corner angles and the depth of the leg before each (nominal inches)."""
    count = kit.whole(1, most)
    turned, corners = [0.0], []
    for _ in range(count):
        table, angle = corner_table(kit, turned)
        corners.append((table, angle))
        turned.append(turned[-1] - (180 - angle))
    depths = [kit.one_of([25.5, 25.5, 24.0, 22.5, 26.25, 30.0])]
    for k in range(count - 1):
        same = near_straight(corners[k][1]) or kit.odds(65)
        depths.append(depths[-1] if same else kit.one_of([25.5, 22.0, 27.25, 30.0]))
    walls = []
    for k in range(count):
        need, leans = 0.0, False
        for side, other in ((k - 1, k - 1), (k, k + 1)):
            if side >= 0:
                angle = corners[side][1]
                need += taken(angle, depths[k], depths[other] if 0 <= other < count else 26.0)
                leans = leans or angle < 80
        if 0 < k < count - 1:
            need += sum(40 for side in (k - 1, k) if corners[side][1] < 80)
        length = kit.between(0, 50 if leans else kit.one_of([40, 90, 190])) + kit.ticks(need + 30)
        table = {"name": "ABCDE"[k], "length": kit.tape(length)}
        if corners[k][0] != 90 or kit.odds(30):
            table["corner"] = corners[k][0]
        walls.append(table)
        shorten_to_simple(walls, kit.units, depths)
    return walls, [c[1] for c in corners], depths


def shorten_to_simple(walls, units, depths):
    """Take the last wall off again where the strip along it would meet an earlier wall's."""
    built = oracle.build_walls({"job": {"units": units}, "wall": walls})
    scale = 1.0 if units == "in" else 25.0
    strips = [oracle.strip(w, 0.0, w["length"], -scale, (d + 14) * scale) for w, d in zip(built, depths, strict=False)]
    if any(strips[-1].distance(s) < 6 * scale for s in strips[:-2]):
        walls.pop()


def closed_room(kit):
    """Four walls that nearly close."""
    long, wide = kit.between(110, 210), kit.between(100, 180)
    off = kit.one_of([0, 0, 1, 2, kit.ticks(0.5)])
    lengths = [long, wide, long + off, wide]
    walls = [{"name": n, "length": kit.tape(v)} for n, v in zip("ABCD", lengths, strict=True)]
    return walls, [90.0] * 4, [25.5, 25.5, 25.5, 25.5]


# --- a run ---------------------------------------------------------------------------------------------------------


class RunMaker:
    """A run along some of the walls, and everything placed on it."""

    def __init__(self, kit, job, angles, depths, full=False):
        self.kit, self.job, self.angles, self.depths, self.full = kit, job, angles, depths, full
        self.scale = kit.value(kit.ticks(1))
        self.kept = {}

    def walls(self):
        return oracle.build_walls(self.job)

    def rules(self):
        return oracle.Plan({**self.job, "top": []}).rules

    def make(self):
        kit, job = self.kit, self.job
        count = len(job["wall"])
        first = 0 if kit.odds(60) else kit.whole(0, count - 1)
        most = min(count - 1, first + 3)
        last = most if kit.odds(65) else kit.whole(first, most)
        names = [w["name"] for w in job["wall"]]
        for k in range(first, last + 1):
            self.wall_extras(k, first, last)
        top = {"name": kit.one_of(["perimeter", "run-1", "sink_wall"]), "along": names[first : last + 1]}
        depths = [kit.ticks(d) for d in self.depths[first : last + 1]]
        if len(set(depths)) == 1 and kit.odds(70):
            top["depth"] = kit.tape(depths[0])
        else:
            top["depth"] = {n: kit.tape(d) for n, d in zip(top["along"], depths, strict=True)}
        if kit.odds(15):
            top["depth_from"] = "top back"
        if any(w.get("open") for w in job["wall"][first : last + 1]):
            top["back_overhang"] = kit.tape(kit.ticks(kit.one_of([0, 6, 8, 8, 10, 12])))
        if kit.odds(25):
            top["cabinet_depth"] = kit.tape(kit.ticks(kit.one_of([21, 22.5, 24])))
        job["top"].insert(0, top)
        self.top, self.first, self.last = top, first, last
        self.joints()
        self.settle()
        if self.full:
            self.backs()
            self.inside_corners()
        self.end_keys()
        if self.full:
            self.across_corners()
            self.notches_at_ends()
        self.place()
        if self.full:
            self.notches_between()
        if kit.odds(35):
            self.corner_keys()
        return top

    def wall_extras(self, k, first, last):
        """An open line or a bow, where the corners beside leave room for it."""
        kit, wall = self.kit, self.job["wall"][k]
        beside = [self.angles[j] for j in (k - 1, k) if first <= j < last or 0 <= j < len(self.job["wall"]) - 1]
        if any(near_straight(a) for a in beside) or self.job["room"]["closed"]:
            return
        if kit.odds(15) and (k in {first, last}):
            wall["open"] = True
        elif self.full and kit.odds(45):
            self.taped_bow(k)
        elif kit.odds(20):
            length = self.walls()[k]["length"]
            at = sorted({int(length * kit.whole(2, 14) / 16) for _ in range(kit.whole(1, 3))})
            size = kit.one_of([1, 1, -1]) * kit.one_of([1, 2, 3, 4])
            size = size if kit.units == "in" else size * 2
            wall["bow"] = [[kit.tape(s * (16 if kit.units == "in" else 1)), kit.tape(size)] for s in at]

    def joints(self):
        kit, top = self.kit, self.top
        for k in range(self.first, self.last):
            angle = self.angles[k]
            butts = 60 <= angle <= 125 or 235 <= angle <= 300
            shop = self.job["shop"].get("corner_joint", "mitre") != "mitre"
            if shop and not butts:
                self.job["joint"].append({"top": top["name"], "corner": self.pair(k), "kind": "mitre"})
            elif butts and kit.odds(55):
                table = {"top": top["name"], "corner": self.pair(k)}
                table["kind"] = kit.one_of(["butt", "short mitre", "short mitre", "mitre"])
                if table["kind"] != "mitre" and kit.odds(60):
                    table["through"] = kit.one_of(self.pair(k).split("/"))
                if table["kind"] == "short mitre" and kit.odds(60):
                    table["length"] = kit.tape(kit.between(1, 4))
                self.job["joint"].append(table)

    def pair(self, k):
        return f"{self.job['wall'][k]['name']}/{self.job['wall'][k + 1]['name']}"

    def settle(self):
        """Take walls off the run's right until it neither meets itself nor a wall."""
        while True:
            run = oracle.Run(self.job, self.walls(), self.top, self.rules())
            part = run.build(next(iter(run.spans())))
            ring = Polygon(oracle.flat(part["ring"]))
            shapes = [Polygon(oracle.flat(s["ring"])) for s in part["stretches"]]
            sound = ring.is_valid and not part["short"] and all(s.is_valid for s in shapes)
            sound = sound and abs(sum(s.area for s in shapes) - ring.area) < 1e-6 * ring.area
            inner = ring.buffer(-0.05 * self.scale) if sound else ring
            sound = sound and not any(
                LineString([w["start"], w["end"]]).intersects(inner) for w in run.walls if not w["open"]
            )
            if sound:
                return
            if len(self.top["along"]) == 1:
                self.top.pop("back_overhang", None)
                for wall in self.job["wall"]:
                    wall.pop("open", None)
                    wall.pop("bow", None)
                return
            self.last -= 1
            gone = self.top["along"].pop()
            if isinstance(self.top["depth"], dict):
                del self.top["depth"][gone]
            self.job["joint"] = [j for j in self.job["joint"] if gone not in j["corner"].split("/")]

    # ends

    def lean(self, k, side):
        """How far a neighbouring wall leans over leg k at one end, in job units."""
        other, angle = oracle.neighbour(self.job, self.walls(), k, side)
        deep = 32 * self.scale
        return deep / math.tan(math.radians(angle)) if other is not None and angle < 90 else 0.0

    def end_keys(self):
        kit = self.kit
        for key, side, k in (("start", -1, self.first), ("end", 1, self.last)):
            other, angle = oracle.neighbour(self.job, self.walls(), k, side)
            name = "left" if side < 0 else "right"
            wall = self.walls()[k]
            kind = None
            if kit.odds(45) or (wall["open"] and other is None):
                low, high = self.free(k)
                room = (high - low) / self.scale - 34
                inset = max(4.0, self.lean(k, side) / self.scale) + 2
                if room > inset:
                    at = kit.ticks(inset) + kit.whole(0, kit.ticks(min(room - inset, 60)))
                    self.top[key] = kit.tape(at if side < 0 else kit.up(wall["length"]) - at)
                    kind = kit.one_of(["exposed", "exposed", None, "panel", "appliance"])
                    if kind:
                        self.top[f"{name}_end"] = kind
                    kind = kind or "exposed"
            elif other is None and kit.odds(40):
                kind = kit.one_of(["exposed", "panel", "wall"])
                self.top[f"{name}_end"] = kind
            elif other is not None and (angle >= 180 or other["open"]):
                kind = "exposed"
            if kind == "exposed" and kit.odds(60):
                self.top[f"{name}_overhang"] = kit.tape(kit.ticks(kit.one_of([0.5, 1, 1.5, 4, 8])))

    def free(self, k):
        """Stations of leg k between its ends and joints, over its whole depth."""
        run = oracle.Run(self.job, self.walls(), self.top, self.rules())
        place = k - self.first
        wall = run.walls[k]
        part = run.build(run.whole())
        low, high = -math.inf, math.inf
        leg = part["legs"][place]
        zero = oracle.dot(wall["start"], wall["way"])
        ends = {}
        for stretch in part["stretches"]:
            if place == stretch["legs"][0]:
                ends["left"] = stretch["left"]
            if place == stretch["legs"][-1]:
                ends["right"] = stretch["right"]
        for joint in part["joints"]:
            for side, chain in (("right", "left"), ("left", "right")):
                if ends.get(side) is joint[chain]:
                    ends[side] = [*joint[chain], *joint["joint"]]
        if "left" in ends:
            low = max(oracle.dot(p, wall["way"]) for p in ends["left"]) - zero
        if "right" in ends:
            high = min(oracle.dot(p, wall["way"]) for p in ends["right"]) - zero
        low, high = max(low, 0.0), min(high, leg["wall"]["length"])
        middle = (low + high) / 2
        for one, two in self.kept.get(k, []):
            left = two < math.inf and (one == -math.inf or one < middle)
            low, high = (max(low, two), high) if left else (low, min(high, one))
        return low, high

    # what stands on it

    def place(self):
        kit = self.kit
        cutouts, breaks, k = 0, 0, self.first
        self.busy = {}
        for k in range(self.first, self.last + 1):
            low, high = self.free(k)
            here = low + 7 * self.scale
            stop = high - 7 * self.scale
            busy, count = [], 0
            while count < 5:
                count += 1
                thing = kit.one_of(["sink", "cooktop", "hole", "dishwasher", "range", "outlet", "range", "nothing"])
                width = {"sink": kit.between(18, 33), "cooktop": kit.between(28, 30), "hole": kit.ticks(1.5)}.get(thing)
                width = width or {"dishwasher": kit.ticks(24), "range": kit.between(24, 36)}.get(thing) or kit.ticks(4)
                skip = kit.whole(0, kit.ticks(kit.one_of([2, 12, 40])))
                size = kit.value(width)
                least = max(here, low + 19 * self.scale) if thing == "range" else here
                left = kit.value(kit.up(least) + skip)
                if left + size > stop:
                    break
                enough = left - low > 18 * self.scale and high - left - size > 18 * self.scale
                if thing == "range" and breaks < 2 and enough:
                    self.range(k, left, width)
                    breaks += 1
                    here = left + size + 18 * self.scale
                elif thing == "dishwasher":
                    self.appliance(k, left, width, "dishwasher")
                    here = left + size + 4 * self.scale
                elif thing in {"sink", "cooktop", "hole", "outlet"} and cutouts < 4:
                    self.cutout(k, left, width, thing, cutouts)
                    cutouts += 1
                    here = left + size + 6 * self.scale
                else:
                    continue
                busy.append((left, left + size))
            self.busy[k] = busy
            self.hand_seam(k, low, high)
        self.cabinets()
        self.brackets()

    def put(self, k, key, at):
        """A station (job units) as it may be written, from the left or from the right."""
        length = self.walls()[k]["length"]
        ticks = self.kit.up(at)
        if self.kit.odds(20):
            return {key: self.kit.tape(self.kit.up(length) - ticks), "from": "right"}
        return {key: self.kit.tape(ticks)}

    def appliance(self, k, left, width, kind):
        table = {"kind": kind, "top": self.top["name"], "wall": self.job["wall"][k]["name"]}
        table.update(self.put(k, "at", left))
        table["width"] = self.kit.tape(width)
        self.job["appliance"].append(table)
        return table

    def range(self, k, left, width):
        table = self.appliance(k, left, width, self.kit.one_of(["range", "range", "refrigerator", "oven"]))
        if table["kind"] == "oven":
            table["breaks"] = True
        elif self.full and table["kind"] == "range":
            table["fit"] = self.kit.one_of(["slide-in", "slide-in", "slide-in", "freestanding", "drop-in"])
            if table["fit"] == "slide-in" and self.kit.odds(70):
                table["strip"] = self.kit.tape(self.kit.between(1.5, 4))

    def cutout(self, k, left, width, kind, count):
        kit = self.kit
        depth = self.top["depth"]
        depth = depth[self.job["wall"][k]["name"]] if isinstance(depth, dict) else depth
        deep = oracle.size_of(depth, kit.units) / self.scale - 0.5
        table = {"name": f"{kind[0].upper()}{count + 1}", "kind": kind, "top": self.top["name"]}
        table["wall"] = self.job["wall"][k]["name"]
        table.update(self.put(k, "center", left + kit.value(width) / 2))
        half = width % 2  # a centre on a tick: an odd width is made one tick less
        if kind == "sink":
            table["mount"] = kit.one_of(["undermount", "undermount", "drop-in", "apron"])
            across = kit.between(14, 16)
            setback = kit.ticks(3) + kit.whole(0, max(0, kit.ticks(deep - 5) - across - kit.ticks(1)))
            if table["mount"] == "apron":
                setback, across = 0, kit.between(16, 18)
            if table["mount"] == "undermount":
                table["reveal"] = kit.tape(kit.one_of([1, 2, 2, -2]))
            self.window(k, table, left, width)
        elif kind == "cooktop":
            across = kit.between(15, 16.5)
            setback = kit.ticks(3) + kit.whole(0, max(0, kit.ticks(deep - 5) - across - kit.ticks(1)))
        else:
            across = kit.ticks(2)
            setback = kit.ticks(4) + kit.whole(0, kit.ticks(12))
        table["setback"] = kit.tape(setback)
        if kind == "hole":
            table["diameter"] = kit.tape(kit.one_of([kit.ticks(1.25), kit.ticks(1.375), kit.ticks(2)]))
        else:
            table["size"] = [kit.tape(width - half), kit.tape(across)]
            if kit.odds(50):
                table["radius"] = kit.tape(kit.one_of([0, kit.ticks(0.375), kit.ticks(0.75), kit.ticks(1)]))
            if kind in {"cooktop", "outlet"} and kit.odds(15):
                table["turn"] = kit.one_of([1, -1, 180, 2])
            elif self.full and kind == "outlet" and kit.odds(60):
                table["turn"] = kit.one_of([90, 30, -45, 12.5, 137.5])
        table["proof"] = kit.one_of(["template", "spec sheet", "sketch"])
        self.job["cutout"].append(table)

    def window(self, k, table, left, width):
        """Put the sink under a window of its own, sometimes."""
        kit = self.kit
        if not kit.odds(30):
            return
        name = f"W{len(self.job['window']) + 1}"
        glass = kit.ticks(kit.one_of([30, 36, 48]))
        at = kit.up(left) + width // 2 - glass // 2
        length = kit.up(self.walls()[k]["length"])
        if at < 0 or at + glass > length:
            return
        window = {"name": name, "wall": table["wall"]}
        window.update({"at": kit.tape(length - at), "from": "right"} if kit.odds(20) else {"at": kit.tape(at)})
        window.update({"width": kit.tape(glass), "sill": kit.tape(kit.ticks(42))})
        self.job["window"].append(window)
        table.pop("from", None)
        table["center"] = f"window {name}"

    def hand_seam(self, k, low, high):
        """A seam by hand in the widest free place, on a leg that nothing breaks."""
        kit, name = self.kit, self.job["wall"][k]["name"]
        broken = any(t["wall"] == name for t in self.job["appliance"])
        straight = any(abs(self.angles[j] - 180) < 1e-9 for j in (k - 1, k) if self.first <= j < self.last)
        if broken or straight or not kit.odds(12):
            return
        edges = [low, *itertools.chain(*self.busy[k]), high]
        room, left = max((edges[j + 1] - edges[j], edges[j]) for j in range(0, len(edges), 2))
        if room > 60 * self.scale:
            at = left + room / 2
            self.job["joint"].append({"top": self.top["name"], "wall": name, **self.put(k, "at", at)})
            if self.full and kit.odds(60):
                self.column(k, at)

    def cabinets(self):
        """List the cabinets along a run whose corners are near square."""
        kit = self.kit
        corners = self.angles[self.first : self.last]
        opened = any(self.job["wall"][k].get("open") for k in range(self.first, self.last + 1))
        ends = [oracle.neighbour(self.job, self.walls(), k, s)[1] for k, s in ((self.first, -1), (self.last, 1))]
        wedge = any(a is not None and 90 < a < 180 for a in ends)  # beyond the last box at an open corner
        if not all(80 < a <= 90 for a in corners) or wedge or opened or not kit.odds(35):
            return
        for k in range(self.first, self.last + 1):
            length, walls = kit.up(self.walls()[k]["length"]), self.walls()
            at = kit.ticks(24) if k > self.first else kit.up(oracle.size_of(self.top.get("start", 0), kit.units))
            stop = length
            if k == self.last and "end" in self.top:
                stop = min(length, kit.up(oracle.size_of(self.top["end"], kit.units)))
            while at < stop:
                width = min(kit.ticks(kit.one_of([18, 24, 30, 36])), stop - at)
                table = {"wall": walls[k]["name"], "at": kit.tape(at), "width": kit.tape(width)}
                if kit.odds(10):
                    table["at"], table["from"] = kit.tape(length - at), "right"
                table["depth"] = kit.tape(kit.ticks(24))
                self.job["cabinet"].append(table)
                at += width
                if stop - at > kit.ticks(60) and kit.odds(15):
                    at += kit.ticks(kit.one_of([15, 24, 30]))

    def brackets(self):
        """Brackets below what an open line's overhang carries."""
        kit = self.kit
        for k in range(self.first, self.last + 1):
            if not self.job["wall"][k].get("open") or not kit.odds(70):
                continue
            back = oracle.size_of(self.top.get("back_overhang", 0), kit.units) / self.scale
            depth = self.top["depth"]
            depth = depth[self.job["wall"][k]["name"]] if isinstance(depth, dict) else depth
            low, high = self.free(k)
            if back < 4 or self.top.get("depth_from"):
                continue
            at, apart = low + 6 * self.scale, kit.one_of([20, 24, 32]) * self.scale
            while at < high - 3 * self.scale:
                table = {"top": self.top["name"], "kind": kit.one_of(["bracket", "steel"])}
                table["wall"] = self.job["wall"][k]["name"]
                table.update(self.put(k, "center", kit.value(kit.up(at))))
                table["setback"] = depth
                table["size"] = [kit.tape(kit.ticks(2)), kit.tape(kit.ticks(back - 2))]
                self.job["support"].append(table)
                at += apart

    def corner_keys(self):
        run = oracle.Run(self.job, self.walls(), self.top, self.rules())
        names = [("left", run.left_kind, self.first), ("right", run.right_kind, self.last)]
        made = {}
        for side, kind, k in names:
            if kind != "exposed":
                continue
            low, high = self.free(k)
            if high - low < 12 * self.scale:
                continue
            made[f"front {side}"] = corner_cut(self.kit, 4)
            if self.job["wall"][k].get("open") and side not in self.kept and self.kit.odds(50):
                made[f"back {side}"] = corner_cut(self.kit, 4)
        if made:
            self.top["corners"] = made

    # what only the fuller jobs have

    def taped_bow(self, k):
        """A wall taped at several stations, each its own bow, sometimes at the wall's own ends."""
        kit, length = self.kit, self.kit.up(self.walls()[k]["length"])
        at = sorted({length * kit.whole(2, 14) // 16 for _ in range(kit.whole(1, 4))})
        at = [0] * kit.odds(15) + at + [length] * kit.odds(15)
        most = kit.ticks(0.4)
        self.job["wall"][k]["bow"] = [[kit.tape(s), kit.tape(kit.whole(-most, most))] for s in at]

    def backs(self):
        kit = self.kit
        if not kit.odds(45):
            return
        self.top["back"] = kit.one_of(["follow", "follow", "scribe"])
        if self.top["back"] == "scribe" and kit.odds(60):
            self.top["scribe"] = kit.tape(kit.between(0.25, 1))

    def at_front(self, k):
        """The stations of a corner's front on the legs left and right of it, and half its angle."""
        run = oracle.Run(self.job, self.walls(), self.top, self.rules())
        legs = run.leg(k - self.first), run.leg(k + 1 - self.first)
        point = oracle.meet(legs[0]["front"], legs[1]["front"])
        return *(self.along(leg["wall"], point) for leg in legs), math.radians(self.angles[k]) / 2

    def along(self, wall, point):
        return oracle.dot(oracle.add(point, wall["start"], -1), wall["way"])

    def keep(self, k, left, right):
        """Note what is taken at the corner after leg k: from `left` on of leg k, up to `right` of the next."""
        self.kept.setdefault(k, []).append((left, math.inf))
        self.kept.setdefault(k + 1, []).append((-math.inf, right))

    def inside_corners(self):
        """Cut the front back to a diagonal or a radius where both legs have the length."""
        kit = self.kit
        for k in range(self.first, self.last):
            if not 60 <= self.angles[k] <= 125 or not kit.odds(40):
                continue
            left, right, half = self.at_front(k)
            size = kit.between(4, 14)
            way = kit.one_of(["diagonal", "diagonal", "radius"])
            out = kit.value(size) / (math.tan(half) if way == "radius" else 1.0)
            (low, _), (_, high) = self.free(k), self.free(k + 1)
            if left - out - low > 20 * self.scale and high - right - out > 20 * self.scale:
                self.top.setdefault("inside", {})[self.pair(k)] = {way: kit.tape(size)}
                self.keep(k, left - out, right + out)

    def across_corners(self):
        """Put a cutout across an inside corner, mostly with a butt beyond it."""
        kit = self.kit
        for k in range(self.first, self.last):
            if not 70 <= self.angles[k] <= 115 or not kit.odds(35):
                continue
            kind = kit.one_of(["sink", "sink", "sink", "hole", "outlet", "column"])
            table = {"name": f"{kind[0].upper()}9{k}", "kind": kind, "top": self.top["name"], "corner": self.pair(k)}
            for size in ([24, 16], [20, 15], [18, 13], [14, 12]) if kind == "sink" else ([5, 5],):
                made = self.fitted_across(dict(table), size)
                if made:
                    self.job["cutout"].append(made)
                    self.joint_at(k, made)
                    break

    def fitted_across(self, table, size):
        """The cutout with what it has of its own, if it lies well inside the wood."""
        kit = self.kit
        table["setback"] = kit.tape(kit.ticks(3) + kit.whole(0, kit.ticks(3 if table["kind"] == "sink" else 12)))
        if table["kind"] == "hole":
            table["diameter"] = kit.tape(kit.ticks(1.375))
        elif table["kind"] == "column" and kit.odds(50):
            table["diameter"] = kit.tape(kit.ticks(size[0]))
        else:
            table["size"] = [kit.tape(kit.ticks(v)) for v in size]
            table["radius"] = kit.tape(kit.one_of([0, kit.ticks(0.375), kit.ticks(1)]))
            if kit.odds(20):
                table["turn"] = kit.one_of([3, -5, 90])
        if table["kind"] == "sink":
            table["mount"] = kit.one_of(["undermount", "drop-in"])
        table["proof"] = "template"
        run = oracle.Run(self.job, self.walls(), self.top, self.rules())
        ring = Polygon(oracle.flat(run.build(run.whole())["ring"]))
        hole = Polygon(oracle.flat(run.cutout(table)["ring"]))
        return table if ring.buffer(-2.2 * self.scale).contains(hole) else None

    def joint_at(self, k, table):
        """Settle the joint at a corner with a cutout across it: a butt clear of it, or what would run through it."""
        kit = self.kit
        run = oracle.Run(self.job, self.walls(), self.top, self.rules())
        legs = run.leg(k - self.first), run.leg(k + 1 - self.first)
        points = oracle.flat(run.cutout(table)["ring"])
        left = min(self.along(legs[0]["wall"], p) for p in points)
        right = max(self.along(legs[1]["wall"], p) for p in points)
        front = self.at_front(k)
        if table["kind"] != "column" and kit.odds(75):
            side = kit.whole(0, 1)
            into, start = legs[side]["wall"]["into"], legs[side]["wall"]["start"]
            most = max(oracle.dot(oracle.add(p, start, -1), into) for p in points) - legs[side]["out"][1]
            beyond = max(0, kit.up(most)) + kit.between(1, 7)
            reach = kit.value(beyond) / math.sin(2 * front[2])
            low, high = self.free(k + 1 - side)
            room = high - (front[1] + reach) if side == 0 else front[0] - reach - low
            if room > 24 * self.scale:
                self.job["joint"] = [j for j in self.job["joint"] if j.get("corner") != self.pair(k)]
                butt = {"top": self.top["name"], "corner": self.pair(k), "kind": "butt", "beyond": kit.tape(beyond)}
                butt["through"] = self.pair(k).split("/")[side]
                self.job["joint"].append(butt)
        self.keep(k, min(left, front[0]), max(right, front[1]))

    def notch(self, k, at, width, depth, own_gap=True):
        """A notch; `at` in job units, its size in ticks. Returns what it takes of the leg."""
        kit = self.kit
        run = oracle.Run(self.job, self.walls(), self.top, self.rules())
        depth += max(0, kit.up(run.leg(k - self.first)["out"][0]))
        table = {"top": self.top["name"], "wall": self.job["wall"][k]["name"], **self.put(k, "at", at)}
        table.update({"width": kit.tape(width), "depth": kit.tape(depth)})
        self.job.setdefault("notch", []).append(table)
        gap = self.rules()["wall_gap"]
        if own_gap and kit.odds(25):
            gap = kit.value(kit.one_of([0, 1, kit.ticks(0.25), kit.ticks(0.5)]))
            table["gap"] = kit.tape(kit.up(gap))
        return at - gap, at + kit.value(width) + gap

    def notches_at_ends(self):
        """Pilasters at the run's ends and posts in its inside corners."""
        kit = self.kit
        run = oracle.Run(self.job, self.walls(), self.top, self.rules())
        for side, kind, k, name in ((-1, run.left_kind, self.first, "left"), (1, run.right_kind, self.last, "right")):
            angle = oracle.neighbour(self.job, self.walls(), k, side)[1] if kind == "wall" else None
            size = kit.between(3, 7), kit.between(1, 5)
            lean = kit.value(size[1] + kit.ticks(0.5)) / math.tan(math.radians(angle or 90))
            if kit.odds(25) and -0.8 * self.scale < lean < kit.value(size[0]) - 1.5 * self.scale:
                off = 0.0  # or a little off the end, no more than the gap
                if kit.odds(40) and (angle is None or abs(angle - 90) < 0.1):
                    off = min(kit.value(2), self.rules()["wall_gap"])
                at = run.start + off if side < 0 else run.end - off - kit.value(size[0])
                taken = self.notch(k, at, *size, own_gap=off == 0.0)
                self.kept.setdefault(k, []).append(taken)
                self.kept[name] = taken
        for k in range(self.first, self.last):
            angle = self.angles[k]
            across = any(c.get("corner") == self.pair(k) for c in self.job["cutout"])
            across = across or any(self.job["wall"][j].get("open") for j in (k, k + 1))
            size = kit.between(2, 7), kit.between(1, 5)
            lean = kit.value(size[1] + kit.ticks(0.5)) / math.tan(math.radians(angle))
            fits = -0.8 * self.scale < lean < kit.value(size[0]) - 1.5 * self.scale and angle < 180
            if across or not fits or not kit.odds(25):
                continue
            length = self.walls()[k]["length"]
            if kit.odds(50):
                low, _ = self.notch(k, length - kit.value(size[0]), *size)
                self.keep(k, low, kit.value(size[1]) + self.scale)
            else:
                _, high = self.notch(k + 1, 0.0, *size)
                self.keep(k, length - kit.value(size[1]) - self.scale, high)

    def notches_between(self):
        """Chases in the back between the ends, shallow behind a cutout, never in what breaks the run."""
        kit = self.kit
        for k in range(self.first, self.last + 1):
            if not kit.odds(35):
                continue
            low, high = self.free(k)
            width, depth = kit.between(2, 9), kit.between(0.5, 5)
            room = high - low - kit.value(width) - 3 * self.scale
            if room < 2 * self.scale:
                continue
            at = kit.value(kit.up(low + 1.5 * self.scale) + kit.whole(0, math.floor(room * self.kit.up(1.0))))
            span = at - self.scale, at + kit.value(width) + self.scale
            name = self.job["wall"][k]["name"]
            if any(one < span[1] and two > span[0] for one, two in self.breaks(name)):
                continue
            if any(one < span[1] and two > span[0] for one, two in self.busy[k]):
                depth = min(depth, kit.ticks(2))
            self.notch(k, at, width, depth)

    def breaks(self, name):
        walls = self.walls()
        for table in self.job["appliance"]:
            if table["wall"] == name and table["kind"] != "dishwasher":
                wall = next(w for w in walls if w["name"] == name)
                at = oracle.station(table, "at", wall, self.kit.units)
                yield at, at + oracle.size_of(table["width"], self.kit.units)

    def column(self, k, at):
        """A post of the house through the top, with a seam through it."""
        kit, table = self.kit, {"name": f"C8{k}", "kind": "column", "top": self.top["name"]}
        table["wall"] = self.job["wall"][k]["name"]
        table.update(self.put(k, "center", at))
        table["setback"] = kit.tape(kit.between(4, 9))
        if kit.odds(40):
            table["diameter"] = kit.tape(kit.between(3, 7))
        else:
            table["size"] = [kit.tape(kit.between(3, 7)), kit.tape(kit.between(3, 7))]
        table["proof"] = "template"
        self.job["cutout"].append(table)
        self.busy[k].append((at - 4 * self.scale, at + 4 * self.scale))


def corner_cut(kit, most):
    way = kit.one_of(["radius", "radius", "clip", "clips"])
    if way == "clips":
        return {"clip": [kit.tape(kit.between(1, most)), kit.tape(kit.between(1, most))]}
    return {way: kit.tape(kit.between(0.5, most))}


# --- rectangles and outlines ---------------------------------------------------------------------------------------


def place_in_plan(kit, top, points, edge):
    """Give a top its place to the right of all before (or leave it to the tool); returns the new right edge."""
    turn = top.get("turn", 0)
    u, v = oracle.unit(turn), oracle.unit(turn + 90)
    xs = [p[0] * u[0] + p[1] * v[0] for p in points]
    apart = kit.value(kit.ticks(24)) * (1 if kit.units == "in" else 1.0)
    if kit.odds(75):
        origin = kit.up(edge + apart + 1 - min(xs))
        top["at"] = [kit.tape(origin), kit.tape(-kit.between(0, 90))]
        return kit.value(origin) + max(xs)
    gap = 24 if kit.units == "in" else 600
    return edge + gap + max(xs) - min(xs)


def rectangle(kit, job, number, edge, full=False):
    seats = kit.whole(0, 4)
    long = kit.between(150, 260) if kit.odds(15) else kit.between(36, 110)
    wide = kit.between(24, 48)
    over = {s: kit.ticks(kit.one_of([0.5, 1, 1, 1.5])) for s in ("front", "left", "right")}
    over["back"] = kit.ticks(kit.one_of([1, 8, 8, 10, 12, 15]))
    over["back"] = min(over["back"], wide - kit.ticks(14))
    name = f"island{number}"
    top = {"name": name}
    if kit.odds(25):
        top["base"] = [kit.tape(long - over["left"] - over["right"]), kit.tape(wide - over["front"] - over["back"])]
    else:
        top["size"] = [kit.tape(long), kit.tape(wide)]
    if "base" in top or kit.odds(80):
        top["overhang"] = {k: kit.tape(v) for k, v in over.items()}
    if seats:
        top["seats"] = seats
    names = ["front left", "front right", "back right", "back left"]
    corners = {n: corner_cut(kit, 5) for n in names if kit.odds(35)}
    if corners:
        top["corners"] = corners
    if kit.odds(40):
        top["turn"] = kit.one_of([90, 45, 30, 180, -90, 12.5])
    size = kit.value(long), kit.value(wide)
    edge = place_in_plan(kit, top, [(0, 0), (size[0], 0), size, (0, size[1])], edge)
    job["top"].append(top)
    if over["back"] > kit.ticks(8) and "overhang" in top and kit.odds(65):
        count = math.ceil((long - kit.ticks(16)) / kit.ticks(22)) + 1
        span = long - kit.ticks(14)
        deep = over["back"] - kit.ticks(2)
        for k in range(count):
            at = kit.ticks(7) + span * k // (count - 1)
            centre = [kit.tape(at), kit.tape(wide - over["back"] + deep // 2)]
            size = [kit.tape(kit.ticks(2)), kit.tape(deep // 2 * 2)]
            job["support"].append({"top": name, "kind": "bracket", "center": centre, "size": size})
    if full and kit.odds(25):
        table = {"name": f"{name}-C", "kind": "column", "top": name, "proof": "template"}
        table["center"] = [kit.tape(long // 2), kit.tape(wide // 2)]
        across = kit.ticks(6) if kit.odds(50) else kit.between(3, 8)
        table |= (
            {"diameter": kit.tape(across)} if kit.odds(40) else {"size": [kit.tape(across), kit.tape(kit.ticks(5))]}
        )
        job["cutout"].append(table)
        if kit.odds(80):
            job["joint"].append({"top": name, "at": kit.tape(long // 2 + kit.one_of([0, 0, 0, 1, -kit.ticks(1)]))})
        return edge
    own_cutouts(kit, job, name, (0, long), (over["front"], wide - over["back"]))
    if long > kit.ticks(120) and kit.odds(15):
        job["joint"].append({"top": name, "at": kit.tape(kit.ticks(8) + long // 2)})
    return edge


def own_cutouts(kit, job, name, across, deep):
    """Cutouts in a top's own frame, side by side (ticks)."""
    here, stop = across[0] + kit.ticks(7), across[1] - kit.ticks(7)
    middle = (deep[0] + deep[1]) // 2
    for number in range(kit.whole(0, 3)):
        kind = kit.one_of(["sink", "hole", "outlet"])
        width = {"sink": kit.between(12, 20), "hole": kit.ticks(1.375), "outlet": kit.ticks(4)}[kind]
        here += kit.whole(0, kit.ticks(30))
        if here + width > stop or deep[1] - deep[0] < kit.ticks(20):
            return
        table = {"name": f"{name}-{number + 1}", "kind": kind, "top": name}
        table["center"] = [kit.tape(here + width // 2), kit.tape(middle)]
        if kind == "hole" or kit.odds(20):
            table["diameter"] = kit.tape(min(width, kit.ticks(12)))
        else:
            table["size"] = [kit.tape(width), kit.tape(min(width, kit.ticks(12)))]
            if kit.odds(30):
                table["turn"] = kit.one_of([90, 45, 10])
        if kind == "sink":
            table["mount"] = kit.one_of(["undermount", "drop-in"])
        table["proof"] = "template"
        job["cutout"].append(table)
        here += width + kit.ticks(7)


def outline(kit, job, number, edge, full=False):
    """A free outline: a bent bar, a clipped or many-sided top, an ell; some edges risen, some corners rounded."""
    w, h = kit.between(44, 80), kit.between(24, 40)
    bite, lean = kit.between(8, 14), kit.between(4, 18)
    form = kit.one_of(["box", "bar", "ell", "hexagon", "arrow"])
    points = {
        "box": [(0, 0), (w, 0), (w, h), (0, h)],
        "bar": [(0, 0), (w - lean, 0), (w, h), (0, h)],
        "ell": [(0, 0), (w, 0), (w, h), (w - bite, h), (w - bite, h - bite), (0, h - bite)],
        "hexagon": [(lean, 0), (w - lean, 0), (w, h // 2), (w - lean, h), (lean, h), (0, h // 2)],
        "arrow": [(0, 0), (w - lean, 0), (w, h // 2), (w - lean, h), (0, h), (bite, h // 2)],
    }[form]
    if form == "box":
        shift = kit.between(0, 6)
        points = [(x + shift, y - shift) for x, y in points]
    name = f"bar{number}"
    top = {"name": name, "outline": [[kit.tape(x), kit.tape(y)] for x, y in points]}
    arcs = {}
    if form in {"box", "bar", "hexagon"} and kit.odds(60):
        longest = points[1][0] - points[0][0]
        rise = min(kit.between(1, 7), longest // 2)
        arcs["1"] = kit.tape(kit.one_of([1, 1, -1]) * min(rise, kit.ticks(7)))
    if form == "box" and kit.odds(25):
        arcs["3"] = kit.tape(kit.between(0.5, 4))
    if arcs:
        top["rise"] = arcs
    curved = {int(k) for k in arcs} | {int(k) % len(points) + 1 for k in arcs}
    corners = {}
    for k in range(1, len(points) + 1):
        if k not in curved and kit.odds(35):
            corners[str(k)] = {kit.one_of(["radius", "clip"]): kit.tape(kit.between(0.5, 3))}
    if corners:
        top["corners"] = corners
    if kit.odds(40):
        top["grain"] = kit.one_of([90, 45, 15, -30])
    if kit.odds(75):
        top["support"] = support_of(kit, form, points, w, h)
    reach = kit.value(kit.ticks(8))
    box = [(min(x) - r, min(y) - r) for x, y, r in [([p[0] for p in points], [p[1] for p in points], 0)]]
    far = (max(p[0] for p in points), max(p[1] for p in points))
    (x0, y0), (x1, y1) = (kit.value(c) for c in box[0]), (kit.value(c) for c in far)
    edge = place_in_plan(kit, top, [(x0, y0 - reach), (x1 + reach, y0), (x1, y1 + reach), (x0 - reach, y1)], edge)
    job["top"].append(top)
    return edge + reach


def support_of(kit, form, points, w, h):
    """What carries an outline: a box well inside, or its points drawn in."""
    inset = kit.ticks(kit.one_of([1, 2, 6, 8]))
    if form == "ell":
        low = min(inset, kit.ticks(6))
        low -= 2 * low == points[4][1]
        box = [(low, low), (w - low, low), (w - low, points[4][1] - low), (low, points[4][1] - low)]
    else:
        (x0, y0), (x1, y1) = (min(p[k] for p in points) for k in (0, 1)), (max(p[k] for p in points) for k in (0, 1))
        side = kit.ticks(14) if form in {"arrow", "hexagon"} else inset
        deep = min(inset, h // 3)
        box = [(x0 + side, y0 + deep), (x1 - side, y0 + deep), (x1 - side, y1 - deep), (x0 + side, y1 - deep)]
    return [[kit.tape(x), kit.tape(y)] for x, y in box]


# --- whole jobs ----------------------------------------------------------------------------------------------------


def shop_table(kit):
    table = {}
    if kit.odds(30):
        table["max_length"] = kit.tape(kit.ticks(kit.one_of([96, 120, 144])))
    if kit.odds(15):
        table["min_piece"] = kit.tape(kit.ticks(kit.one_of([12, 18, 30])))
    if kit.odds(15):
        table["seam_clear"] = kit.tape(kit.ticks(kit.one_of([3, 4, 8])))
    if kit.odds(15):
        table["wall_gap"] = kit.tape(kit.one_of([0, 1, 3, 4]) if kit.units == "in" else kit.whole(0, 6))
    if kit.odds(30):
        table["corner_joint"] = kit.one_of(["butt", "short mitre"])
    if kit.odds(10):
        table["overhang_limit"] = kit.tape(kit.ticks(kit.one_of([6, 10])))
    if kit.odds(10):
        table["web"] = {"front": kit.tape(kit.ticks(2.5)), "hole": kit.tape(kit.ticks(0.5))}
    return table


def add_measures(kit, job):
    walls = oracle.build_walls(job)
    for _ in range(kit.whole(0, 2)):
        ends = []
        for _ in range(2):
            wall = kit.one_of(walls)
            where = kit.one_of(["start", "end", kit.ticks(12)])
            ends.append(f"{wall['name']} {where if isinstance(where, str) else kit.value(where)}")
        one, two = (oracle.spot(walls, e, kit.units) for e in ends)
        if oracle.gap(one, two) > 2:
            length = kit.up(oracle.gap(one, two)) + kit.one_of([0, 1, -1, 2, 12])
            job["measure"].append({"from": ends[0], "to": ends[1], "length": kit.tape(length)})


def make_job(source, full=False):
    """One job as a dict; `source` is Seeded or Drawn; `full`: with notches, shaped corners and backs, strips, columns."""
    units = source.one_of(["in", "in", "mm"])
    kit = Kit(source, units)
    construction = kit.one_of(["edge grain", "edge grain", "face grain"])
    job = {
        "job": {"title": "Made at random", "number": f"R-{source.whole(0, 9999)}", "units": units},
        "field": {"walls": "finished", "cabinets": "set"},
        "wood": {"species": "black walnut", "construction": construction, "thickness": kit.tape(kit.ticks(1.5))},
        "shop": shop_table(kit), "room": {"closed": False}, "wall": [], "window": [], "measure": [], "cabinet": [],
        "top": [], "appliance": [], "cutout": [], "joint": [], "support": [],
    }  # fmt: skip
    edge = 0.0
    kind = kit.one_of(["run", "run", "run", "run", "free", "both"][0 : 6 - full])
    if kind != "free":
        if kit.odds(12):
            job["wall"], angles, depths = closed_room(kit)
            job["room"]["closed"] = True
        else:
            job["wall"], angles, depths = path_room(kit, 5)
        RunMaker(kit, job, angles, depths, full).make()
        add_measures(kit, job)
        plan = oracle.lay(tomllib.loads(toml_text(job)))
        spots = [p for t in plan["tops"] for p in t["outline"]] + [w[k] for w in plan["room"]["walls"] for k in ENDS]
        edge = max(p[0] for p in spots)
    if kind != "run":
        for number in range(1, kit.whole(1, 3) + 1):
            edge = kit.one_of([rectangle, outline])(kit, job, number, edge, full)
    return {k: v for k, v in job.items() if v != []}


ENDS = ("start", "end")


def random_job(seed):
    """A valid job as TOML text, the same for the same seed."""
    return toml_text(make_job(Seeded(seed)))


@st.composite
def jobs(draw):
    """Strategy: a valid job as TOML text."""
    return toml_text(make_job(Drawn(draw)))


def fuller_job(seed):
    """A valid job with everything that a run can have."""
    return toml_text(make_job(Seeded(seed), full=True))


@st.composite
def fuller_jobs(draw):
    """Strategy: the same as drawn."""
    return toml_text(make_job(Drawn(draw), full=True))
