"""Checks of edges and corners: sharp points, square corners where people pass, splash and gap at the walls."""

from __future__ import annotations

import math
from collections.abc import Iterator

from layout import region
from layout.cutouts import station
from layout.findings import Finding, finding
from layout.fitting import wall_fits
from layout.job_tops import RunTop
from layout.laid import Laid
from layout.outline import Point, edge_heading
from layout.pieces import Piece
from layout.rules import CABINET_HEIGHT, SHARP_ASK, SHARP_STOP

SQUARE_TURN = math.radians(45.0)
"""A free corner that turns by less than this is blunt enough for hips."""


def sharp_points(laid: Laid) -> Iterator[Finding]:
    """Yield one finding a top for the corners of its pieces that are too sharp, at the sharpest."""
    for top in laid.tops:
        found = [(angle, at, p.id) for p in laid.divided.pieces if p.top == top.name for angle, at in _corners(p)]
        sharp = sorted(c for c in found if c[0] < SHARP_ASK - 1e-6)
        if not sharp:
            continue
        angle, at, _ = sharp[0]
        pieces = tuple(sorted({name for _, _, name in sharp}))
        yield finding(
            "sharp-point",
            ", ".join(pieces),
            f"{', '.join(pieces)} of {top.name} come{'s' if len(pieces) == 1 else ''} to a point of {angle:.2f} degrees, "
            f"sharper than {SHARP_ASK:g}",
            "use a butt or a short mitre at that corner, or clip it",
            severity="stop" if angle < SHARP_STOP - 1e-6 else None,
            at=at,
            pieces=pieces,
        )


def _corners(piece: Piece) -> list[tuple[float, Point]]:
    """Return the inside angles (degrees) of a piece's corners, with their places."""
    edges = list(piece.ring.clean().edges())
    out = []
    for k, (a, b) in enumerate(edges):
        turn = math.remainder(edge_heading(a, b, 0.0) - edge_heading(*edges[k - 1], 1.0), 2 * math.pi)
        out.append((180.0 - math.degrees(turn), a.at))
    return out


def exposed_corners(laid: Laid) -> Iterator[Finding]:
    """Yield one finding a top for its free corners that are left square."""
    for top in laid.tops:
        square: list[Point] = []
        for part in laid.divided.parts:
            if part.top != top.name:
                continue
            edges = list(part.ring.clean().edges())
            for k, (a, b) in enumerate(edges):
                before = edges[k - 1]
                sides = [part.sides.get(before[0].side), part.sides.get(a.side)]
                turn = math.remainder(edge_heading(a, b, 0.0) - edge_heading(*before, 1.0), 2 * math.pi)
                if turn > SQUARE_TURN + 1e-6 and all(s is not None and s.free for s in sides):
                    square.append(a.at)
        if square:
            seats = laid.job.top[top.index].seats
            yield finding(
                "exposed-corner",
                top.name,
                f"{top.name} has {len(square)} square corner{'s' if len(square) > 1 else ''} "
                f"where people {'sit' if seats else 'pass'}",
                "round or clip them under corners, or have them confirmed square",
                at=square[0],
            )


def splashes(laid: Laid) -> Iterator[Finding]:
    """Yield windows whose sill a backsplash runs into."""
    labels, units = laid.labels, laid.job.job.units
    cabinet = CABINET_HEIGHT.size(units)
    for top in laid.tops:
        spec = laid.job.top[top.index]
        if not isinstance(spec, RunTop):
            continue
        height = float(spec.height) if spec.height else cabinet + float(laid.job.wood.thickness)
        for leg in top.legs:
            if leg.wall is None:
                continue
            splash = spec.splash.get(leg.wall.name) if isinstance(spec.splash, dict) else spec.splash
            rise = float(splash) if splash else 0.0
            for window in laid.job.window:
                x = station(laid.room, window.wall, float(window.at), window.from_)
                here = window.wall == leg.wall.name and x < leg.end and x + float(window.width) > leg.start
                if not here or window.sill is None or rise == 0.0:
                    continue
                sill = float(window.sill)
                if sill < height + rise - region.TOLERANCE:
                    yield finding(
                        "splash-hits",
                        window.name,
                        f"the splash of {top.name} comes to {labels.fine(height + rise)}; "
                        f"the sill of {window.name} is at {labels.fine(sill)}",
                        "lower the splash along that wall, or end it at the window",
                        value=height + rise,
                        limit=sill,
                        at=leg.frame.to_plan((x + float(window.width) / 2, leg.back)),
                    )


def gaps(laid: Laid) -> Iterator[Finding]:
    """Yield one note for all gaps behind runs that are wider than their splash covers."""
    labels = laid.labels
    places: list[str] = []
    names: list[str] = []
    worst, cover = 0.0, 0.0
    fits = wall_fits(laid.job, laid.tops, laid.divided.parts)
    for top in laid.tops:
        spec = laid.job.top[top.index]
        if not isinstance(spec, RunTop):
            continue
        bare = []
        for leg in top.legs:
            if leg.wall is None or leg.wall.open:
                continue
            splash = spec.splash.get(leg.wall.name) if isinstance(spec.splash, dict) else spec.splash
            hidden = float(spec.splash_thickness) if splash and splash.mm > 0 else 0.0
            gap = max((f.gap for f in fits if f.top == top.name and f.leg == leg), default=0.0)
            if gap > hidden + region.TOLERANCE:
                bare.append(leg.wall.name)
                worst, cover = max(worst, gap), hidden
        if bare:
            names.append(top.name)
            places.append(f"{top.name} along {', '.join(bare)}")
    if places:
        yield finding(
            "gap-not-covered",
            ", ".join(names),
            f"the gap of up to {labels.fine(worst)} behind {'; '.join(places)} is wider than what covers it",
            "use a splash, leave more wood to scribe, or cover the gap on site",
            value=worst,
            limit=cover,
        )
