"""What was laid out, in job units, as plain values: the body of report.json, and what a digest is taken of."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from layout.access import way_in
from layout.check_movement import openings
from layout.check_strength import bending_of, bent
from layout.cutouts import PlacedCutout
from layout.findings import Finding
from layout.moisture import house
from layout.movement import movement, piece_movement
from layout.openings import Part
from layout.outline import Point, Ring
from layout.pieces import Joint, Piece
from layout.pipeline import Layout
from layout.profiles import side_profile
from layout.strength import stuff
from layout.support import Overhang
from layout.units import UNIT_MM
from layout.wood import POUND_KG, PSI_MPA, carriers, species_of, weight_kg


class _Scale:
    """Job units for lengths and areas, six decimals, no negative zero."""

    def __init__(self, units: str) -> None:
        self.unit = float(UNIT_MM[units])

    def length(self, mm: float) -> float:
        """Return a length in job units."""
        return tidy(mm / self.unit)

    def area(self, mm2: float) -> float:
        """Return an area in square job units."""
        return tidy(mm2 / self.unit**2)

    def point(self, p: Point) -> list[float]:
        """Return a point in job units."""
        return [self.length(p[0]), self.length(p[1])]

    def ring(self, ring: Ring) -> list[list[float]]:
        """Return an outline, counter-clockwise, without collinear vertices."""
        return [[self.length(v.x), self.length(v.y), tidy(v.bulge)] for v in ring.clean().vertices]


def tidy(value: float) -> float:
    """Return the value to six decimals, never minus zero."""
    return round(value, 6) + 0.0


def facts(layout: Layout) -> dict[str, Any]:
    """Return everything that report.json tells of a layout; lengths in job units, angles in degrees."""
    laid, job = layout.laid, layout.job
    scale = _Scale(job.job.units)
    return {
        "job": {"number": job.job.number, "title": job.job.title, "units": job.job.units, "revision": job.job.revision},
        "room": {
            "walls": [
                {"name": w.name, "start": scale.point(w.start), "end": scale.point(w.end), "corner": tidy(w.corner)}
                for w in laid.room.walls
            ],
            "measures": [
                {
                    "from": m.from_,
                    "to": m.to,
                    "measured": scale.length(m.measured),
                    "computed": scale.length(m.computed),
                    "difference": scale.length(m.difference),
                }
                for m in laid.room.measures
            ],
            "closure": None if laid.room.closure is None else scale.length(laid.room.closure),
        },
        "wood": _wood(layout),
        "access": _access(layout, scale),
        "tops": [_top(layout, part, scale) for part in layout.divided.parts],
        "pieces": [_piece(layout, piece, scale) for piece in layout.divided.pieces],
        "joints": [_joint(layout, joint, scale) for joint in layout.divided.joints],
        "cutouts": [
            {
                "name": c.name,
                "kind": c.kind,
                "top": c.top,
                "piece": cutout_piece(layout.divided.pieces, c.name),
                "center": scale.point(c.center),
                "outline": scale.ring(c.ring),
                "area": scale.area(c.ring.area),
                **_template(layout, c),
            }
            for c in laid.cutouts
        ],
        "milled": [
            {
                "name": m.name,
                "kind": m.kind,
                "top": m.top,
                "face": m.face,
                "depth": None if m.depth is None else scale.length(m.depth),
                "center": scale.point(m.center),
                "outlines": [scale.ring(r) for r in m.rings],
            }
            for m in laid.milled
        ],
        "overhangs": [_overhang(layout, o, scale) for carried in laid.carried for o in carried.overhangs],
        "findings": [_finding(f, scale) for f in layout.findings],
    }


def _template(layout: Layout, cut: PlacedCutout) -> dict[str, Any]:
    """Return what a cutout from a template has beside the others: the file, and what came along or what it came with."""
    if cut.template is None:
        return {}
    if cut.parent is not None:
        return {"parent": cut.parent}
    of = cut.template
    return {
        "template": {"file": of.file, "sha256": of.sha256, "units": of.units, "notes": list(of.notes)},
        "openings": [c.name for c in layout.laid.cutouts if c.parent == cut.name],
    }


def cutout_piece(pieces: Sequence[Piece], name: str) -> str | None:
    """Return the piece that holds a cutout wholly; None where it lies over a joint or outside."""
    homes = [p.id for p in pieces if any(c.name == name for c in p.cutouts)]
    return homes[0] if len(homes) == 1 else None


def net_area(layout: Layout, part: Part) -> float:
    """Return a part's area less its cutouts, mm2."""
    return sum(p.area for p in layout.divided.pieces if p.top == part.top and p.part == part.number)


def _top(layout: Layout, part: Part, scale: _Scale) -> dict[str, Any]:
    ring = part.ring.clean()
    edges = [
        {
            "side": name,
            "profile": side_profile(layout.job, part, name),
            "length": scale.length(part.ring.side_length(name)),
        }
        for name in part.ring.sides()
        if part.ring.side_length(name) > 1e-4
    ]
    return {
        "name": part.top,
        "part": part.number,
        "outline": scale.ring(ring),
        "gross_area": scale.area(ring.area),
        "net_area": scale.area(net_area(layout, part)),
        "edges": edges,
    }


def _piece(layout: Layout, piece: Piece, scale: _Scale) -> dict[str, Any]:
    kg = weight_kg(layout.job, piece.area)
    return {
        "id": piece.id,
        "top": piece.top,
        "part": piece.part,
        "outline": scale.ring(piece.ring),
        "length": scale.length(piece.length),
        "width": scale.length(piece.width),
        "thickness": scale.length(float(layout.job.wood.thickness)),
        "area": scale.area(piece.area),
        "weight": tidy(kg / POUND_KG if layout.job.job.units == "in" else kg),
        "grain": tidy(piece.leg.grain) % 180.0,
        "movement": _movement(layout, piece, scale),
        "lift": carriers(layout.job, piece.area),
    }


def _wood(layout: Layout) -> dict[str, Any]:
    """Return the wood's movement over the year of its house; figures that are not known are null."""
    moves = movement(layout.job)
    year = house(layout.job)
    return {
        "species": species_of(layout.job).common_name,
        "coefficient": None if moves is None else moves.coefficient,
        "basis": None if moves is None else moves.basis,
        "moisture": [tidy(year.low), tidy(year.high)],
    }


def _access(layout: Layout, scale: _Scale) -> dict[str, Any] | None:
    """Return the longest piece of the widest one's width that gets in; null where nothing of the way is known."""
    way = way_in(layout.job, max(p.width for p in layout.divided.pieces))
    return None if way is None else {"longest": scale.length(way.longest), "by": way.by}


def _movement(layout: Layout, piece: Piece, scale: _Scale) -> Any:
    moves = movement(layout.job)
    if moves is None:
        return None
    found = piece_movement(moves, piece, end_grain=layout.job.wood.construction == "end grain")
    return [scale.length(m) for m in found] if isinstance(found, tuple) else scale.length(found)


def _overhang(layout: Layout, over: Overhang, scale: _Scale) -> dict[str, Any]:
    of = stuff(layout.job)
    b = None if of is None else bent(layout.laid, of, over)
    psi = layout.job.job.units == "in"
    return {
        "top": over.top,
        "side": over.side,
        "amount": scale.length(over.amount),
        "supported": over.supported,
        "bending": bending_of(layout.laid, over),
        "modulus": None if b is None else tidy(b.modulus / PSI_MPA if psi else b.modulus),
        "deflection": None if b is None else scale.length(b.deflection),
        "limit": None if b is None else scale.length(b.limit),
        "stress_ratio": None if b is None else tidy(b.stress_ratio),
    }


def _joint(layout: Layout, joint: Joint, scale: _Scale) -> dict[str, Any]:
    moves = movement(layout.job)
    open_by = None if moves is None else next((m for j, m in openings(layout.laid, moves) if j is joint), 0.0)
    return {
        "id": joint.id,
        "kind": joint.kind,
        "top": joint.top,
        "pieces": list(joint.pieces),
        "points": [scale.point(p) for p in joint.points],
        "start": scale.point(joint.points[0]),
        "end": scale.point(joint.points[-1]),
        "length": scale.length(joint.length),
        "angles": [tidy(a) for a in joint.angles],
        "opening": None if open_by is None else scale.length(open_by),
    }


def _finding(f: Finding, scale: _Scale) -> dict[str, Any]:
    remedy = f"{f.remedy}. Add to the job file:\n{f.paste}" if f.paste else f.remedy
    return {
        "code": f.code,
        "severity": f.severity,
        "subject": f.subject,
        "message": f.message,
        "remedy": remedy,
        "value": None if f.value is None else scale.length(f.value),
        "limit": None if f.limit is None else scale.length(f.limit),
        "at": None if f.at is None else scale.point(f.at),
    }
