"""Someone else's drawing as a job: contours and wall lines by layer become the text of a job file that draws the same.

Lengths are written in the job's unit to a millionth, so that what is drawn again lies within 0.001 mm. What a drawing does not say
(species, thickness, what a cutout is for) is filled in, with a comment that says so.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

from layout import region
from layout.contours import (
    Contour,
    Drawn,
    place,
    refuse_crossings,
    refuse_open,
    refuse_other_scale,
    round_of,
    without_doubles,
)
from layout.drawn_shapes import box_of, decimal, line_through, outline_of, tape
from layout.faults import TemplateError
from layout.outline import Frame, Point, Ring, Vertex
from layout.rules import HOLE_ACROSS, MOST_POINTS
from layout.units import UNIT_MM, LengthError, Unit, parse_length

MOST_CONTOURS = 300
"""Tops and cutouts together; more are another kind of drawing."""
_SHORTEST = 1e-3
_FARTHEST = 100_000.0
"""Coordinates beyond this (mm) are a surveyor's; the drawing is moved to the origin."""
_DEFAULT_SPECIES = "hard maple"
_DEFAULT_THICKNESS: dict[Unit, str] = {"in": "1 1/2", "mm": "40"}
_WORDS = (
    ("", r"POCKET|NOTE|TEXT|DIM|CENT|DEFPOINTS|^EDGE$|SPLASH"),
    ("cutouts", r"CUT_?OUT(?!LINE)|CUT_?INSIDE|DRILL|SINK|BOWL|COOK|HOB|HOLE|TAP|FAUCET|OPENING|OUTLET"),
    ("tops", r"(?<![A-Z])TOPS?(?![A-Z])|WORKTOP|COUNTER|PIECE|SLAB|OUTLINE|ISLAND|BENCH"),
    ("walls", r"WALL"),
    ("points", r"POINT|MEASURE|STATION"),
    ("cutouts", r"CUT"),
)
"""What a layer holds, by the words in its name; the first that fits counts, and "" is looked at no further."""
_KINDS = (
    (r"SINK|BOWL", "sink"),
    (r"COOK|HOB", "cooktop"),
    (r"OUTLET|POWER", "outlet"),
    (r"DRILL|HOLE|TAP|FAUCET", "hole"),
)


@dataclass(frozen=True, slots=True)
class Layers:
    """Which layer holds what, as the user says; None: guessed by its name."""

    tops: str | None = None
    cutouts: str | None = None
    walls: str | None = None
    points: str | None = None


@dataclass(frozen=True, slots=True)
class Imported:
    """A job file's text, the templates that go beside it by file name (rings in mm), what was left out, and its tops.

    ``tops`` and ``cutouts``: the outlines as drawn, mm, in the job's plan coordinates, by name. ``size``: across and up, mm.
    """

    text: str
    templates: dict[str, Ring]
    notes: tuple[str, ...]
    tops: dict[str, Ring]
    cutouts: dict[str, Ring]
    size: tuple[float, float]


def job_from_drawing(drawn: Drawn, file: str, stem: str, layers: Layers | None = None) -> Imported:
    """Return the job that draws what ``drawn`` holds; ``stem``: the job file's name without ending, its number and title.

    Raises TemplateError where the drawing has no top, holds too much, or cannot be a job.
    """
    return _Import(drawn, file, stem, layers or Layers()).job()


def _pair(p: Point, unit: Unit) -> str:
    return f"[{tape(p[0], unit)}, {tape(p[1], unit)}]"


# --- the job -------------------------------------------------------------------------------------------------------


@dataclass(slots=True)
class _Import:
    """One drawing on its way into a job file."""

    drawn: Drawn
    file: str
    stem: str
    layers: Layers
    unit: Unit = "mm"
    notes: list[str] = field(default_factory=list)
    tops: list[Contour] = field(default_factory=list)
    cutouts: list[Contour] = field(default_factory=list)
    names: dict[int, str] = field(default_factory=dict)

    def job(self) -> Imported:
        self.unit = self.drawn.said_in
        self._sort()
        self._refuse_other_overall()
        walls = self._walls()
        moved = self._moved(walls)
        for way in [moved] if moved else []:
            self.tops = [replace(c, ring=c.ring.moved(way.from_plan)) for c in self.tops]
            self.cutouts = [replace(c, ring=c.ring.moved(way.from_plan)) for c in self.cutouts]
            walls = [way.from_plan(p) for p in walls]
        templates: dict[str, Ring] = {}
        names = {k: self._name(contour, k) for k, contour in enumerate(self.tops)}
        blocks = [self._head(moved is not None), *self._wall_tables(walls)]
        rings = {name: self.tops[k].ring for k, name in names.items()}
        cut_rings: dict[str, Ring] = {}
        for k, contour in enumerate(self.tops):
            blocks.append(self._top(names[k], contour.ring))
        for contour, home in self._homes():
            name = f"{'H' if self._kind(contour) == 'hole' else 'S'}{len(cut_rings) + 1}"
            cut_rings[name] = contour.ring
            x0, y0, _, _ = self.tops[home].ring.bounds()
            blocks.append(self._cutout(name, contour, names[home], (x0, y0), templates))
        blocks.append(self._points(moved))
        boxes = [c.ring.bounds() for c in self.tops]
        size = (
            max(b[2] for b in boxes) - min(b[0] for b in boxes),
            max(b[3] for b in boxes) - min(b[1] for b in boxes),
        )
        text = "\n".join(block for block in blocks if block)
        return Imported(text, templates, (*self.drawn.notes(), *self.notes), rings, cut_rings, size)

    # --- what is what

    def _layer_of(self, kind: str, name: str) -> bool:
        said = getattr(self.layers, kind)
        if said is not None:
            return bool(name.lower() == said.lower())
        if any(
            getattr(self.layers, k) and getattr(self.layers, k).lower() == name.lower()
            for k in ("tops", "cutouts", "walls", "points")
        ):
            return False
        for what, words in _WORDS:
            if re.search(words, name.upper()):
                return what == kind
        return False

    def _check_layers(self) -> None:
        """Raise TemplateError for a layer that the user names and that holds nothing."""
        known = {c.layer for c in self.drawn.contours}
        known |= {p.layer for p in self.drawn.paths} | {p.layer for p in self.drawn.points}
        for kind in ("tops", "cutouts", "walls", "points"):
            said = getattr(self.layers, kind)
            if said is not None and said.lower() not in {name.lower() for name in known}:
                listed = ", ".join(sorted(known)[:12])
                raise TemplateError(self.file, f'no layer "{said}"', f"a layer that holds lines or points: {listed}")

    def _chosen(self, contours: Sequence[Contour]) -> tuple[list[Contour], list[Contour]]:
        """Return the contours that may be tops, and those with the cutouts, each once.

        Raises TemplateError where none is a top, where one is open, and where two cross.
        """
        tops = [c for c in contours if self._layer_of("tops", c.layer)]
        cuts = [c for c in contours if self._layer_of("cutouts", c.layer)]
        told = bool(tops) or any(self._layer_of("tops", p.layer) for p in self.drawn.paths)
        paths = [p for p in self.drawn.paths if self._in_plan(Ring(p.vertices))]
        if told:
            paths = [p for p in paths if self._layer_of("tops", p.layer) or self._layer_of("cutouts", p.layer)]
        elif self.layers.tops is None:
            # no layer tells: what lies in nothing else is a top
            tops = [c for c in contours if c not in cuts and not self._layer_of("walls", c.layer)]
            paths = [p for p in paths if not self._layer_of("walls", p.layer)]
        stray = refuse_open(paths, self.file, self.unit, any_closed=bool(tops))
        if not tops:
            raise TemplateError(self.file, "no closed outline of a top", "one; --tops names its layer")
        if stray:
            self.notes.append(f"{len(stray)} open line{'s' if len(stray) > 1 else ''} among the outlines left out")
        chosen, twice = without_doubles([*tops, *cuts], by_layer=False)
        if twice:
            self.notes.append(f"{twice} outlines on two layers, taken once")
        if len(chosen) > MOST_CONTOURS:
            found = f"{len(chosen)} closed outlines"
            raise TemplateError(self.file, found, f"at most {MOST_CONTOURS}; --tops and --cutouts name their layers")
        refuse_crossings(chosen, self.file, self.unit)
        return tops, chosen

    def _sort(self) -> None:
        """Tell tops from cutouts: by layer, and by what lies in what."""
        self._check_layers()
        contours = [c for c in self.drawn.contours if self._in_plan(c.ring)]
        tops, chosen = self._chosen(contours)
        areas = [region.area_of(c.ring) for c in chosen]
        for k, contour in enumerate(chosen):
            around = self._within(chosen, areas, k)
            if not around and contour in tops:
                self.tops.append(contour)
            elif len(around) == 1 and chosen[around[0]] in tops:
                self.cutouts.append(contour)
            else:
                what = "lies in a cutout" if around else "lies in no top"
                x0, y0, _, _ = contour.ring.bounds()
                where = place((x0, y0), self.unit)
                self.notes.append(f"an outline on layer {_plain(contour.layer)} {what} and is left out, at {where}")
        if self.drawn.plan is not None:
            self.notes.append("a shop drawing of this program: its plan is taken, the views beside it are left out")
        used = {id(c) for c in (*chosen, *tops)}
        left = {c.layer for c in contours if id(c) not in used and not self._layer_of("walls", c.layer)}
        left -= {c.layer for c in chosen}
        if left:
            self.notes.append(f"outlines on other layers left out: {_plain(', '.join(sorted(left)))}")
        self.tops.sort(key=lambda c: [round(v, 3) for v in c.ring.bounds()])
        self.cutouts.sort(key=lambda c: [round(v, 3) for v in c.ring.bounds()])

    def _within(self, chosen: Sequence[Contour], areas: Sequence[region.Region], k: int) -> list[int]:
        return [
            n
            for n in range(len(chosen))
            if n != k and chosen[n].ring.area > chosen[k].ring.area and region.holds(areas[n], areas[k])
        ]

    def _in_plan(self, ring: Ring) -> bool:
        plan = self.drawn.plan
        if plan is None:
            return True
        x0, y0, x1, y1 = ring.bounds()
        return plan[0] <= x0 and plan[1] <= y0 and x1 <= plan[2] and y1 <= plan[3]

    def _refuse_other_overall(self) -> None:
        """Hold the size against what a note of the drawing says it is, as cut files of this program's own do."""
        for text in self.drawn.texts:
            match = re.fullmatch(r"OVERALL (.+?) X (.+?)( MM)?", text.text)
            if match is None:
                continue
            unit: Unit = "mm" if match[3] else "in"
            across, up = _measure(match[1], unit), _measure(match[2], unit)
            if across and up:
                x0, y0, x1, y1 = self.tops[0].ring.bounds()
                refuse_other_scale((x1 - x0, y1 - y0), (across, up), self.file, self.unit)

    # --- walls

    def _walls(self) -> list[Point]:
        """Return the corners of the walls, left to right as seen from the room, or none where they do not chain."""
        paths = [p for p in self.drawn.paths if self._layer_of("walls", p.layer)]
        if self.drawn.plan is not None:
            heaviest = max((p.weight for p in paths), default=-1)
            paths = [p for p in paths if p.weight == heaviest and self._in_plan(Ring(p.vertices))]
        rooms = (
            [c.ring for c in self.drawn.contours if self._layer_of("walls", c.layer)] if self.drawn.plan is None else []
        )
        lines: list[tuple[Point, ...]] = [self._straight(p.vertices) for p in paths]
        lines += [(*self._straight(r.vertices), r.vertices[0].at) for r in rooms]
        if not lines:
            return []
        if len(lines) > 1 or not lines[0]:
            why = f"{len(lines)} lines that do not chain" if len(lines) > 1 else "not all straight"
            self.notes.append(f"walls left out: {why}")
            return []
        return self._facing(list(lines[0]))

    @staticmethod
    def _straight(vertices: Sequence[Vertex]) -> tuple[Point, ...]:
        """Return the corners of a path of straight lines, those on a straight line left out; none where it has an arc."""
        if any(v.bulge for v in vertices[:-1]):
            return ()
        points = [v.at for v in vertices]
        kept = points[:1]
        for at, after in pairwise(points[1:]):
            if abs(_turn(kept[-1], at, after)) > 1e-7:
                kept.append(at)
        return (*kept, points[-1])

    def _facing(self, points: list[Point]) -> list[Point]:
        """Return the corners so that the room lies to the right: on the side of the tops, and within a closed line."""
        closed = math.dist(points[0], points[-1]) <= _SHORTEST
        if closed:
            area = sum(a[0] * b[1] - b[0] * a[1] for a, b in pairwise(points))
            return points if area < 0 else points[::-1]
        left = 0.0
        for contour in self.tops:
            x0, y0, x1, y1 = contour.ring.bounds()
            at = ((x0 + x1) / 2, (y0 + y1) / 2)
            a, b = min(pairwise(points), key=lambda e: region.path(e).distance(region.spot(at)))
            left += contour.ring.area * math.copysign(1.0, line_through(a, b).left_of(at))
        return points[::-1] if left > 0 else points

    def _wall_tables(self, points: list[Point]) -> Iterator[str]:
        if not points:
            return
        closed = len(points) > 3 and math.dist(points[0], points[-1]) <= _SHORTEST
        if closed:
            yield "[room]\nclosed = true\n"
        walls = list(pairwise(points))
        for k, (a, b) in enumerate(walls):
            name = chr(ord("A") + k) if len(walls) <= 26 else f"W{k + 1}"
            lines = ["[[wall]]", f'name = "{name}"', f"length = {tape(math.dist(a, b), self.unit)}"]
            after = walls[k + 1][1] if k + 1 < len(walls) else points[1] if closed else None
            if after is not None:
                corner = 180.0 + math.degrees(_turn(a, b, after))
                if not 10.0 <= corner <= 350.0:
                    found = f"walls that meet at {corner:.1f} degrees at {place(b, self.unit)}"
                    raise TemplateError(self.file, found, "an inside angle from 10 to 350 degrees")
                lines.append(f"corner = {decimal(corner, 9)}")
            yield "\n".join(lines) + "\n"

    def _moved(self, walls: list[Point]) -> Frame | None:
        """Return the frame that the job's plan has in the drawing; None where they are one."""
        if walls:
            (x, y), (x1, y1) = walls[:2]
            frame = Frame(x, y, math.atan2(y1 - y, x1 - x))
            return None if max(abs(frame.x), abs(frame.y), abs(frame.angle)) < 1e-9 else frame
        boxes = [c.ring.bounds() for c in self.tops]
        if max(abs(v) for b in boxes for v in b) <= _FARTHEST:
            return None
        corner = (min(b[0] for b in boxes), min(b[1] for b in boxes))
        self.notes.append(f"moved to the origin from {place(corner, self.unit)}")
        return Frame(*corner)

    # --- tables

    def _head(self, moved: bool) -> str:
        title = self.stem.replace("-", " ").replace("_", " ").strip() or "imported"
        thickness, comment = f'"{_DEFAULT_THICKNESS[self.unit]}"', "   # not in the drawing: a default, to be set"
        for text in self.drawn.texts:
            match = re.fullmatch(r"THICKNESS (.{1,20}?)( MM)?", text.text)
            said = None if match is None else _measure(match[1], "mm" if match[2] else "in")
            if said:
                thickness, comment = tape(said, self.unit), "   # from the drawing's note"
        source = "".join(c if c.isprintable() else "?" for c in self.file)
        title = "".join(c if c.isprintable() and c not in '"\\' else " " for c in title)
        return (
            f"# From {source}, {len(self.tops)} top{'s' if len(self.tops) > 1 else ''}. Coordinates are those of the drawing"
            f"{', moved' if moved else ''}.\n"
            "# A drawing says no more than its lines: go through what is marked below before anything is made by it.\n\n"
            f'[job]\ntitle = "{title[:1].upper() + title[1:]}"\nnumber = "{self._number()}"\nunits = "{self.unit}"\n\n'
            f'[wood]\nspecies = "{_DEFAULT_SPECIES}"   # not in the drawing: a default, to be set\n'
            f"thickness = {thickness}{comment}\n"
        )

    def _number(self) -> str:
        """Return the job file's name as a job's number and as the beginning of file names."""
        return re.sub(r"[^A-Za-z0-9_-]+", "-", self.stem).strip("-")[:40] or "job"

    def _name(self, contour: Contour, k: int) -> str:
        """Return a top's name: a text within it that is one and stands alone there, such as a piece's mark, else T1, T2, ..."""
        marks = {t.text for t in self.drawn.texts if re.fullmatch(r"P\d{1,3}", t.text) and contour.ring.contains(t.at)}
        name = min(marks) if len(marks) == 1 and self.drawn.plan is None else f"T{k + 1}"
        if name in self.names.values():
            name = f"T{k + 1}"
        self.names[k] = name
        return name

    def _top(self, name: str, ring: Ring) -> str:
        x0, y0, _, _ = ring.bounds()
        v = ring.vertices
        first = min(range(len(v)), key=lambda k: (round(v[k].y, 2), round(v[k].x, 2)))
        begun = Ring((*v[first:], *v[:first]))
        shape = outline_of(begun.moved(lambda p: (p[0] - x0, p[1] - y0)))
        if shape is None:
            raise TemplateError(
                self.file, f"an outline of top {name} whose arcs overlap its other edges", "a plainer outline"
            )
        if len(shape.points) > MOST_POINTS:
            found = f"an outline of {len(shape.points):,} points"
            raise TemplateError(self.file, found, f"at most {MOST_POINTS:,}: arcs instead of short chords")
        unit = self.unit
        points = ",\n    ".join(_pair(p, unit) for p in shape.points)
        lines = ["[[top]]", f'name = "{name}"', f"outline = [\n    {points},\n]"]
        rises = [f"{k + 1} = {tape(r, unit)}" for k, r in enumerate(shape.rises) if tape(r, unit) != '"0"']
        if rises:
            lines.append(f"rise = {{ {', '.join(rises)} }}")
        if shape.corners:
            listed = ", ".join(f"{k + 1} = {{ radius = {tape(r, unit)} }}" for k, r in sorted(shape.corners.items()))
            lines.append(f"corners = {{ {listed} }}")
        grain = _grain(ring)
        lines.append(f"grain = {decimal(grain, 9)}   # not in the drawing: along the longest straight edge")
        lines.append(f"at = {_pair((x0, y0), unit)}")
        return "\n".join(lines) + "\n"

    def _homes(self) -> Iterator[tuple[Contour, int]]:
        areas = [region.area_of(c.ring) for c in self.tops]
        for contour in self.cutouts:
            shape = region.area_of(contour.ring)
            yield contour, next(k for k, area in enumerate(areas) if region.holds(area, shape))

    def _kind(self, contour: Contour) -> str:
        round_one = round_of(contour.ring)
        limit = HOLE_ACROSS.size(self.unit)
        if round_one is not None and 2 * round_one[1] <= limit + 1e-6:
            return "hole"
        kind = next((kind for words, kind in _KINDS if re.search(words, contour.layer.upper())), "opening")
        return "opening" if kind == "hole" and round_one is None else kind

    def _cutout(self, name: str, contour: Contour, top: str, corner: Point, templates: dict[str, Ring]) -> str:
        unit, ring = self.unit, contour.ring
        kind = self._kind(contour)
        lines = [
            "[[cutout]]",
            f'name = "{name}"',
            f'kind = "{kind}"   # layer {_plain(contour.layer)}',
            f'top = "{top}"',
        ]
        round_one, box = round_of(ring), box_of(ring)
        if round_one is not None:
            centre = round_one[0]
            shape = [f"diameter = {tape(2 * round_one[1], unit)}"]
        elif box is not None:
            centre = (box.frame.x, box.frame.y)
            shape = [
                f"size = [{tape(box.size[0], unit)}, {tape(box.size[1], unit)}]",
                f"radius = {tape(box.radius, unit)}",
            ]
            if abs(box.frame.angle) > 1e-12:
                shape.append(f"turn = {decimal(math.degrees(box.frame.angle), 9)}")
        else:
            x0, y0, x1, y1 = ring.bounds()
            centre = ((x0 + x1) / 2, (y0 + y1) / 2)
            file = f"{self._number()}-{name}.dxf"
            templates[file] = ring
            shape = [f'template = "{file}"']
        lines.append(f"center = {_pair((centre[0] - corner[0], centre[1] - corner[1]), unit)}")
        lines += [*shape, 'proof = "sketch"   # as drawn by others: say "template" or "spec sheet" once it is proven']
        return "\n".join(lines) + "\n"

    def _points(self, moved: Frame | None) -> str:
        points = [p for p in self.drawn.points if self._layer_of("points", p.layer)]
        if not points:
            return ""
        scale = float(UNIT_MM[self.unit])
        own = [p.at if moved is None else moved.from_plan(p.at) for p in points]
        listed = "\n".join(f"#   {decimal(x / scale)}, {decimal(y / scale)}" for x, y in own[:200])
        more = f"\n#   and {len(own) - 200} more" if len(own) > 200 else ""
        return f"# Points of the drawing, x and y in the plan; nothing above is made of them:\n{listed}{more}\n"


def _measure(text: str, unit: Unit) -> float | None:
    """Return the length (mm) that a text states, or None."""
    try:
        mm = float(parse_length(text, unit))
    except LengthError:
        return None
    return mm if mm > 0 else None


def _plain(text: str) -> str:
    return "".join(c if c.isprintable() else "?" for c in text)


def _turn(a: Point, b: Point, c: Point) -> float:
    """Return by how much a path a, b, c turns at b, radians, left positive."""
    return math.remainder(math.atan2(c[1] - b[1], c[0] - b[0]) - math.atan2(b[1] - a[1], b[0] - a[0]), 2 * math.pi)


def _grain(ring: Ring) -> float:
    """Return the direction of the longest straight edge in degrees, in (-90, 90]; 0 where there is none."""
    straight = [(math.dist(a.at, b.at), a, b) for a, b in ring.edges() if not a.bulge]
    if not straight:
        return 0.0
    _, a, b = max(straight, key=lambda e: round(e[0], 3))
    angle = 90.0 - (90.0 - math.degrees(math.atan2(b.y - a.y, b.x - a.x))) % 180.0
    return 0.0 if abs(angle) < 1e-9 else angle
