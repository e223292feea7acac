"""What a job takes besides boards: lengths of edges, cutouts, joints with their fasteners, finish, the crate, the weight.

All mm, mm2 and kg; nothing is rounded.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from layout.fasteners import fasteners_of
from layout.job import Job
from layout.outline import edge_length
from layout.pipeline import Layout
from layout.profiles import SQUARE, side_profile
from layout.rules import CRATE_CLEAR, CRATE_SPACER, CRATE_WEIGHT
from layout.splashes import Splash
from layout.units import INCH_MM
from layout.wood import POUND_KG, weight_kg


@dataclass(frozen=True, slots=True)
class EdgeLength:
    """How much of one top's edges have one profile; ``square``: at walls, joints and the like, or asked for."""

    top: str
    profile: str
    length: float


@dataclass(frozen=True, slots=True)
class CutoutCount:
    """Cutouts of one kind (``sink, undermount``): their names."""

    kind: str
    names: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class JointCount:
    """Joints of one kind: their marks, their summed length, and the fasteners that draw them together."""

    kind: str
    names: tuple[str, ...]
    length: float
    fasteners: int


@dataclass(frozen=True, slots=True)
class SupportCount:
    """Supports of one kind: their marks."""

    kind: str
    names: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Crate:
    """A crate for the whole job, its inside: length, width and height in mm; its own weight and with the tops, kg."""

    length: float
    width: float
    height: float
    own: float
    gross: float


def edge_lengths(layout: Layout) -> tuple[EdgeLength, ...]:
    """Return the lengths of edges of each top by profile, profiled ones first."""
    out = []
    for top in layout.laid.tops:
        sums: dict[str, float] = {}
        for part in (p for p in layout.divided.parts if p.top == top.name):
            for a, b in part.ring.edges():
                profile = side_profile(layout.job, part, a.side)
                sums[profile] = sums.get(profile, 0.0) + edge_length(a, b)
        out += [EdgeLength(top.name, p, sums[p]) for p in sorted(sums, key=lambda p: p == SQUARE) if sums[p] > 0.5]
    return tuple(out)


def cutout_counts(layout: Layout) -> tuple[CutoutCount, ...]:
    """Return the cutouts by kind, with a sink's mounting, in file order."""
    kinds: dict[str, list[str]] = {}
    for cut in layout.laid.cutouts:
        kinds.setdefault(f"{cut.kind}, {cut.mount}" if cut.mount else cut.kind, []).append(cut.name)
    return tuple(CutoutCount(kind, tuple(names)) for kind, names in kinds.items())


def joint_counts(layout: Layout) -> tuple[JointCount, ...]:
    """Return the joints by kind, in their order."""
    kinds: dict[str, list[tuple[str, float, int]]] = {}
    for joint in layout.divided.joints:
        count = len(fasteners_of(layout.laid)[joint.id])
        kinds.setdefault(joint.kind, []).append((joint.id, joint.length, count))
    return tuple(
        JointCount(kind, tuple(r[0] for r in rows), sum(r[1] for r in rows), sum(r[2] for r in rows))
        for kind, rows in kinds.items()
    )


def support_counts(layout: Layout) -> tuple[SupportCount, ...]:
    """Return the supports by kind."""
    kinds: dict[str, list[str]] = {}
    for support in layout.laid.supports:
        kinds.setdefault(support.kind, []).append(support.name)
    return tuple(SupportCount(kind, tuple(names)) for kind, names in kinds.items())


def finish_area(layout: Layout) -> float:
    """Return the area of all six faces of all pieces and splashes, mm2: both sides, the edges, the walls of cutouts.

    Profiles are taken as square: what they take away and add differs by less than wood varies.
    """
    thick = float(layout.job.wood.thickness)
    total = 0.0
    for piece in layout.divided.pieces:
        total += 2 * piece.area
        walls = [e for ring in piece.made_rings() for e in ring.edges()]
        walls += [e for cut in piece.cutouts if not cut.opens_front for e in cut.ring.edges()]
        total += thick * sum(edge_length(a, b) for a, b in walls)
    for s in layout.splashes:
        total += 2 * (s.length * s.height + s.length * s.thickness + s.height * s.thickness)
    return total


def splash_kg(job: Job, splash: Splash) -> float:
    """Return a splash's weight in kg."""
    return weight_kg(job, splash.length * splash.height) * splash.thickness / float(job.wood.thickness)


def net_kg(layout: Layout) -> float:
    """Return the weight of all pieces and splashes, kg."""
    pieces = sum(weight_kg(layout.job, p.area) for p in layout.divided.pieces)
    return pieces + sum(splash_kg(layout.job, s) for s in layout.splashes)


def crate(layout: Layout) -> Crate:
    """Return the crate for a job: its pieces flat on one another with spacers between, splashes on top, room all round."""
    job = layout.job
    clear, spacer = CRATE_CLEAR.size(job.job.units), CRATE_SPACER.size(job.job.units)
    pieces, boards = layout.divided.pieces, layout.splashes
    length = max([p.length for p in pieces] + [s.length for s in boards]) + 2 * clear
    width = max([p.width for p in pieces] + [s.height for s in boards])
    layers = [float(job.wood.thickness)] * len(pieces) + _layers(boards, width)
    height = sum(layers) + spacer * (len(layers) - 1) + 2 * clear
    width += 2 * clear
    surface = 2 * (length * width + length * height + width * height) / (float(INCH_MM) * 12.0) ** 2
    own = surface * CRATE_WEIGHT * POUND_KG
    return Crate(length, width, height, own, own + net_kg(layout))


def _layers(boards: Sequence[Splash], width: float) -> list[float]:
    """Return the thickness of each layer of splashes laid side by side, highest first."""
    layers: list[tuple[float, float]] = []
    for s in sorted(boards, key=lambda s: -s.height):
        if layers and layers[-1][0] + s.height <= width:
            layers[-1] = (layers[-1][0] + s.height, max(layers[-1][1], s.thickness))
        else:
            layers.append((s.height, s.thickness))
    return [thick for _, thick in layers]
