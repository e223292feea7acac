"""A cut file as it was written, read tag by tag and held to what a machine needs: one unit, closed contours, each cut once.

It knows nothing of how the file was made and shares no code with what made it. Lengths are mm, after the file's unit.
Pockets go to part of the depth only: they may run into a cutout or out at an edge, where through cuts may not. In a file of
the underside nothing is cut through; outline and openings are there for reference, on a layer of their own.
"""

from __future__ import annotations

import math
import re
from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise
from typing import Literal

from layout.dxf_tags import (
    Entity,
    UnreadableError,
    corners_of,
    entities_of,
    number_of,
    sections_of,
    variables_of,
    with_vertices,
)
from layout.strokes import Arc, Stroke, contact, overlap
from layout.units import Unit

Contours = Literal["polylines", "heavy polylines", "lines and arcs"]
Operation = Literal["CUT_OUTLINE", "CUT_INSIDE", "DRILL", "POCKET_ABOVE", "POCKET_BELOW", "REFERENCE", "NOTE"]
Face = Literal["above", "below"]

SHORTEST = 0.01
"""A cut shorter than this (mm) is a fault: machines stumble over it."""
MEET = 1e-9
"""Ends of lines and arcs that are farther apart than this (mm) leave a contour open."""
SAME = 1e-6
"""Extents agree to this (mm)."""
_MM = {"in": 25.4, "mm": 1.0}
_INSUNITS = {"in": 1, "mm": 4}
_OPERATIONS: dict[Face, tuple[Operation, ...]] = {
    "above": ("CUT_OUTLINE", "CUT_INSIDE", "DRILL", "POCKET_ABOVE", "NOTE"),
    "below": ("REFERENCE", "DRILL", "POCKET_BELOW", "NOTE"),
}
_TURNED = "SEEN FROM BELOW"
_CUTS = {
    "polylines": ("LWPOLYLINE", "CIRCLE"),
    "heavy polylines": ("POLYLINE", "CIRCLE"),
    "lines and arcs": ("LINE", "ARC", "CIRCLE"),
}
_R12 = "AC1009"


def lint(
    data: bytes,
    *,
    piece: str,
    unit: Unit,
    layers: Mapping[Operation, str],
    contours: Contours,
    face: Face = "above",
) -> tuple[str, ...]:
    """Return what is wrong with the cut file of ``piece``, each fault with its layer and place; empty where nothing is.

    ``unit`` and ``contours`` are the job's; ``layers`` gives the shop's name of an operation where it has one; ``face`` is the
    side that the file is for. Never raises for what the bytes hold: a file that cannot be read is a fault too.
    """
    return tuple(_Lint(piece, unit, layers, contours, face).faults_of(data))


@dataclass(frozen=True, slots=True)
class _Contour:
    """A closed cut: its layer, and what it is made of, end to end."""

    layer: str
    strokes: tuple[Stroke, ...]

    @property
    def spread(self) -> float:
        """The area of the box round it, mm2."""
        x0, y0, x1, y1 = (f(s.box[k] for s in self.strokes) for k, f in enumerate((min, min, max, max)))
        return (x1 - x0) * (y1 - y0)

    def holds(self, x: float, y: float) -> bool:
        """Whether a point that is not on the contour lies within it."""
        return abs(sum(stroke.seen_from(x, y) for stroke in self.strokes)) > math.pi


# --- the checks ------------------------------------------------------------------------------------------------------


class _Lint:
    def __init__(self, piece: str, unit: Unit, layers: Mapping[Operation, str], contours: Contours, face: Face) -> None:
        self.piece, self.unit, self.mm, self.kind, self.face = piece, unit, _MM[unit], contours, face
        self.names = {layers.get(name, name): name for name in _OPERATIONS[face]}
        outline: Operation = "CUT_OUTLINE" if face == "above" else "REFERENCE"
        self.outline = layers.get(outline, outline)
        self.faults: list[str] = []
        self.loose: list[Stroke] = []
        self.contours: list[_Contour] = []
        self.texts: list[str] = []
        self.open: set[int] = set()
        self.met: set[tuple[int, int]] = set()

    def say(self, text: str) -> None:
        if text not in self.faults:
            self.faults.append(text)

    def place(self, x: float, y: float) -> str:
        """Return a place as whoever opens the file finds it."""
        return f"({x / self.mm:.4f}, {y / self.mm:.4f}) {self.unit}"

    def faults_of(self, data: bytes) -> list[str]:
        try:
            text = data.decode("ascii")
        except UnicodeDecodeError as error:
            line = data.count(b"\n", 0, error.start) + 1
            self.say(f"not ASCII: byte 0x{data[error.start]:02X} in line {line}")
            text = data.decode("latin-1")
        try:
            sections = sections_of(text, ("HEADER", "BLOCKS", "ENTITIES"))
            header = variables_of(sections["HEADER"])
            self.read(entities_of(sections["ENTITIES"]), old=header.get("$ACADVER", {}).get(1) == _R12)
            self.chain()
            self.read_header(header)
        except UnreadableError as error:
            self.say(f"cannot be read: {error}")
            return self.faults
        for entity in entities_of(sections.get("BLOCKS", [(2, "BLOCKS")])):
            if entity.kind not in ("BLOCK", "ENDBLK"):
                self.say(f"{entity.kind} in a block: a machine may cut it or not")
        self.apart()
        self.one_outline()
        self.note()
        return self.faults

    def read(self, entities: Sequence[Entity], *, old: bool) -> None:
        """Take in the entities; ``old``: of a version that has POLYLINE only."""
        cuts = _CUTS["heavy polylines" if old and self.kind == "polylines" else self.kind]
        for entity, vertices in with_vertices(entities):
            kind, layer = entity.kind, entity.layer
            operation = self.names.get(layer)
            if kind not in (*cuts, "TEXT"):
                self.say(f"{layer}: {kind}, where contours are {self.kind} ({', '.join(cuts)}) and notes TEXT")
            if operation is None:
                self.say(f"{layer}: {kind} on a layer that is none of the operations' ({', '.join(self.names)})")
            elif (operation == "NOTE") != (kind == "TEXT"):
                self.say(f"{layer}: {kind} on the layer for {'notes' if operation == 'NOTE' else 'cuts'}")
            elif operation == "DRILL" and kind != "CIRCLE":
                self.say(f"{layer}: {kind}, where a drill makes circles")
            self.flat(entity, vertices)
            if kind == "TEXT":
                if operation == "NOTE":
                    self.texts.append(entity.text(1))
            elif operation != "NOTE":
                self.take(entity, vertices)

    def flat(self, entity: Entity, vertices: Sequence[Entity]) -> None:
        for one in (entity, *vertices):
            for code, value in one.tags:
                raised = code in (30, 31, 38, 39) and number_of(value, f"group {code} of {one.kind}") != 0.0
                if raised or (code in (210, 220) and float(value)) or (code == 230 and float(value) != 1.0):
                    self.say(f"{entity.layer}: {one.kind} off z = 0 (group {code} is {value.strip()})")
        if entity.text(67, "0") != "0":
            self.say(f"{entity.layer}: {entity.kind} on paper and not in the model")

    def take(self, entity: Entity, vertices: Sequence[Entity]) -> None:
        kind, layer, mm = entity.kind, entity.layer, self.mm
        if kind == "LINE":
            a, b = ((entity.number(k) * mm, entity.number(k + 10) * mm) for k in (10, 11))
            self.loose.append(Stroke.line(layer, a, b))
        elif kind in ("ARC", "CIRCLE"):
            cx, cy, radius = entity.number(10) * mm, entity.number(20) * mm, entity.number(40) * mm
            if radius <= 0.0:
                self.say(f"{layer}: {kind} at {self.place(cx, cy)} has no radius")
            elif kind == "CIRCLE":
                halves = tuple(Stroke.of_arc(layer, Arc(cx, cy, radius, k * math.pi, math.pi)) for k in (0, 1))
                self.close(_Contour(layer, halves))
            else:
                start, end = math.radians(entity.number(50)), math.radians(entity.number(51))
                self.loose.append(Stroke.of_arc(layer, Arc(cx, cy, radius, start, (end - start) % math.tau)))
        elif kind in ("LWPOLYLINE", "POLYLINE"):
            corners = corners_of(entity, vertices, mm)
            if len(corners) < 3:
                self.say(f"{layer}: {kind} of {len(corners)} corners; some readers lose it")
                return
            if kind == "LWPOLYLINE" and int(entity.number(90)) != len(corners):
                self.say(f"{layer}: LWPOLYLINE says {entity.text(90)} corners and has {len(corners)}")
            ring = [Stroke.of_bulge(layer, a[:2], b[:2], a[2]) for a, b in pairwise([*corners, corners[0]])]
            if int(entity.number(70, 0.0)) & 1:
                self.close(_Contour(layer, tuple(ring)))
            else:
                self.say(f"{layer}: open between {self.place(*corners[-1][:2])} and {self.place(*corners[0][:2])}")
                self.close(_Contour(layer, tuple(ring[:-1])), closed=False)

    def close(self, contour: _Contour, closed: bool = True) -> None:
        """Take in a contour; one that is open counts for what lies on what only."""
        for stroke in contour.strokes:
            if stroke.length < SHORTEST - MEET:
                self.say(f"{contour.layer}: only {stroke.length:.4g} mm long at {self.place(stroke.x0, stroke.y0)}")
        self.contours.append(contour)
        if not closed:
            self.open.add(len(self.contours) - 1)

    def chain(self) -> None:
        """Put lines and arcs together where their ends meet."""
        for layer, strokes in groupby(sorted(self.loose, key=lambda m: m.layer), key=lambda m: m.layer):
            self.chain_layer(layer, list(strokes))

    def chain_layer(self, layer: str, strokes: list[Stroke]) -> None:
        partners = _partners(strokes)
        left = dict.fromkeys(range(len(strokes)))
        while left:
            k = next(iter(left))
            walk, end = [], (k, 0)
            # an open chain is walked from one of its ends
            seen = {k}
            while len(partners[end]) == 1 and partners[end][0][0] not in seen:
                k, at = partners[end][0]
                seen.add(k)
                end = (k, 1 - at)
            first = end
            while True:
                k, at = end
                walk.append(strokes[k] if at == 0 else strokes[k].reversed())
                left.pop(k, None)
                after = partners[k, 1 - at]
                if len(after) != 1 or after[0][0] not in left:
                    break
                end = after[0]
            last = partners[k, 1 - at]
            self.close(_Contour(layer, tuple(walk)), closed=last == [first])
            if last != [first]:
                a, b = walk[0], walk[-1]
                more = "; more than two ends meet there" if len(last) > 1 or len(partners[first]) > 1 else ""
                gap = math.dist((a.x0, a.y0), (b.x1, b.y1))
                self.say(
                    f"{layer}: open between {self.place(b.x1, b.y1)} and {self.place(a.x0, a.y0)}, {gap:.3g} mm apart{more}"
                )

    def read_header(self, header: Mapping[str, Mapping[int, str]]) -> None:
        said = {}
        for name, wanted in (("$INSUNITS", _INSUNITS[self.unit]), ("$MEASUREMENT", int(self.unit == "mm"))):
            value = header.get(name, {}).get(70)
            if value is None:
                self.say(f"header: no {name}, so a reader has to guess the unit")
                continue
            said[name] = value.strip()
            if said[name] != str(wanted):
                self.say(f"header: {name} is {said[name]}; {wanted} stands for the job's {self.unit}")
        metric = {"1": "0", "4": "1"}
        if len(said) == 2 and metric.get(said["$INSUNITS"]) != said["$MEASUREMENT"]:
            self.say(f"header: $INSUNITS {said['$INSUNITS']} and $MEASUREMENT {said['$MEASUREMENT']} disagree")
        boxes = [stroke.box for contour in self.contours for stroke in contour.strokes]
        if not boxes:
            return
        x0, y0, x1, y1 = (f(box[k] for box in boxes) for k, f in enumerate((min, min, max, max)))
        for name, x, y in (("$EXTMIN", x0, y0), ("$EXTMAX", x1, y1)):
            corner = header.get(name, {})
            given = [number_of(corner.get(k, ""), name) * self.mm if k in corner else math.inf for k in (10, 20)]
            if abs(given[0] - x) > SAME or abs(given[1] - y) > SAME:
                self.say(f"header: {name} is {self.place(*given)}, the cuts reach to {self.place(x, y)}")

    def one_outline(self) -> None:
        name = self.outline
        of_it = [k for k, c in enumerate(self.contours) if c.layer == name]
        if not of_it or (self.face == "above" and len(of_it) > 1):
            self.say(f"{name}: {len(of_it)} contours, where a piece has one outline")
            return
        # for reference there are openings with it
        own = max(of_it, key=lambda k: self.contours[k].spread)
        outline = self.contours[own]
        for k, contour in enumerate(self.contours):
            at = contour.strokes[0]
            if k == own or (own, k) in self.met or outline.holds(at.x0, at.y0):
                continue
            if not self.partial(contour.layer):
                self.say(f"{contour.layer}: not inside {name} at {self.place(at.x0, at.y0)}")
            elif not contour.holds(outline.strokes[0].x0, outline.strokes[0].y0):
                self.say(f"{contour.layer}: beside {name} at {self.place(at.x0, at.y0)}, where there is no wood")

    def partial(self, layer: str) -> bool:
        """Whether what is on a layer goes to a part of the depth only."""
        return self.names.get(layer, "").startswith("POCKET")

    def apart(self) -> None:
        """Say where cuts lie on one another, cross or touch; neighbours of a contour meet at their ends and nowhere else."""
        strokes = [
            (stroke.box, stroke, n, k, len(c.strokes))
            for n, c in enumerate(self.contours)
            for k, stroke in enumerate(c.strokes)
        ]
        strokes.sort(key=lambda m: m[0][0])
        boxes = [m[0] for m in strokes]
        for i, (box, stroke, n, k, count) in enumerate(strokes):
            right, low, high = box[2] + SAME, box[1] - SAME, box[3] + SAME
            for j in range(i + 1, len(strokes)):
                other = boxes[j]
                if other[0] > right:
                    break
                if other[1] > high or other[3] < low:
                    continue
                _, second, m, q, _ = strokes[j]
                # the ends of an open contour are no neighbours
                apart = abs(k - q) if n in self.open else (k - q) % count
                neighbours = n == m and apart in (1, count - 1)
                if self.pair(stroke, second, same=n == m, neighbours=neighbours):
                    self.met |= {(n, m), (m, n)}

    def pair(self, a: Stroke, b: Stroke, *, same: bool, neighbours: bool) -> bool:
        """Say where two strokes meet that may not; return whether they do."""
        if (self.partial(a.layer) or self.partial(b.layer)) and a.layer != b.layer:
            return overlap(a, b) is not None or contact(a, b, neighbours=False) is not None
        names = " and ".join(sorted({a.layer, b.layer}))
        along = overlap(a, b)
        if along is not None:
            first, last = (self.place(*p) for p in sorted(along))
            self.say(f"{names}: the same cut twice from {first} to {last}")
            return True
        at = contact(a, b, neighbours=neighbours)
        if at is not None:
            self.say(f"{names}: {'crosses itself' if same else 'contours cross or touch'} at {self.place(*at)}")
        return at is not None

    def note(self) -> None:
        name = next(n for n, operation in self.names.items() if operation == "NOTE")
        if self.piece not in self.texts:
            self.say(f"{name}: no text says that this is piece {self.piece}")
        unit = "INCH" if self.unit == "in" else "MM"
        if f"UNIT: {unit}" not in self.texts:
            self.say(f'{name}: no text says "UNIT: {unit}"')
        if any(t.startswith(_TURNED) for t in self.texts) != (self.face == "below"):
            self.say(
                f'{name}: {"no" if self.face == "below" else "a"} text says "{_TURNED}", and this is the file from {self.face}'
            )
        overall = next((t for t in self.texts if t.startswith("OVERALL ")), None)
        if overall is None:
            self.say(f"{name}: no text gives the overall size")
            return
        boxes = [stroke.box for contour in self.contours if contour.layer == self.outline for stroke in contour.strokes]
        sizes = [_size(part) for part in overall.removeprefix("OVERALL ").removesuffix(" MM").split(" X ")]
        if not boxes or len(sizes) != 2:
            return
        real = [max(b[k + 2] for b in boxes) - min(b[k] for b in boxes) for k in (0, 1)]
        # a shop may round its labels to the whole inch
        if any(s is None or abs(s - r / self.mm) > 0.5 + SAME for s, r in zip(sizes, real, strict=True)):
            size = " x ".join(f"{r / self.mm:.3f}" for r in real)
            self.say(f"{name}: {overall!r}, where the outline measures {size} {self.unit}")


_SIZE = re.compile(r"(?:(\d+)'-?)?(?:(\d+)(?![\d/]))?(?: ?(\d+)/(\d+))?\"?")


def _size(text: str) -> float | None:
    """Return a printed length in the file's unit: ``2100``, ``78 3/4"``, ``6'-6 3/4"``; None where it is none."""
    found = _SIZE.fullmatch(text)
    if not found or not text:
        return None
    feet, whole, top, bottom = (int(g) if g else 0 for g in found.groups())
    return feet * 12 + whole + (top / bottom if bottom else 0.0)


def _partners(strokes: Sequence[Stroke]) -> dict[tuple[int, int], list[tuple[int, int]]]:
    """Return for each end (number of the stroke, 0 or 1) the other ends that are in its place."""
    ends = sorted((*stroke.end(at), k, at) for k, stroke in enumerate(strokes) for at in (0, 1))
    partners: dict[tuple[int, int], list[tuple[int, int]]] = {(k, at): [] for _, _, k, at in ends}
    # the digits of a direction say where a long radius ends no better than this
    slack = [MEET + 4e-15 * (stroke.arc.radius if stroke.arc else 0.0) for stroke in strokes]
    widest = 2 * max(slack)
    xs = [end[0] for end in ends]
    for i, (x, y, k, at) in enumerate(ends):
        for j in range(bisect_left(xs, x - widest), len(ends)):
            u, v, m, other = ends[j]
            if u > x + widest:
                break
            if i != j and math.dist((x, y), (u, v)) <= max(slack[k], slack[m]):
                partners[k, at].append((m, other))
    return partners
