"""For whoever sets the tops: the pieces over their cabinets with the hold-downs, which line is fixed, and the gaps at walls."""

from __future__ import annotations

import math
from dataclasses import replace

from layout.drawing import NARROW, SMALL, WIDE, Dash, Kind, View
from layout.fitting import wall_fits
from layout.hold_downs import hold_downs
from layout.outline import Frame, Point, circle, rectangle
from layout.pen import Pen, open_path
from layout.pipeline import Layout
from layout.placement import around, readable
from layout.plan_view import built_strokes, caption


def setting_view(layout: Layout, scale: float, label: str) -> View:
    """Return the setting plan at ``scale`` (paper mm per model mm), its origin the room's."""
    pen = Pen(scale)
    laid = layout.laid
    for wall in laid.room.walls:
        if not wall.open:
            face = [wall.frame.to_plan(p) for p in wall.face]
            pen.ring(Kind.WALL, open_path(face), closed=False, name=wall.name, width=NARROW)
    for piece in layout.divided.pieces:
        for ring in piece.made_rings():
            pen.ring(Kind.PIECE, ring.clean().moved(piece.frame.to_plan), name=piece.id, width=WIDE)
    for opening in layout.divided.openings:
        leg = opening.leg
        box = rectangle(opening.start, leg.front, opening.end, leg.back - opening.strip)
        pen.ring(Kind.APPLIANCE, box.moved(leg.frame.to_plan), name=opening.kind, dash=Dash.DOUBLE_CHAIN, hard=False)
    for top, carried in zip(laid.tops, laid.carried, strict=True):
        if top.built is not None:
            parts = [p for p in layout.divided.parts if p.top == top.name]
            pen.strokes(Kind.CABINET, built_strokes(parts, carried, scale), dash=Dash.DASHED, name=top.name)
    for cut in laid.cutouts:
        pen.ring(Kind.CUTOUT, cut.ring, name=cut.name)
    for support in laid.supports:
        pen.ring(Kind.SUPPORT, support.ring, name=support.name, dash=Dash.DASHED, hard=False)
    for hold in hold_downs(laid):
        frame = next(p.frame for p in layout.divided.pieces if p.id == hold.piece)
        _hold_down(pen, hold.at, frame.angle, fixed=hold.fixed, name=hold.piece)
    _appliances(layout, pen)
    _gaps(layout, pen)
    for piece in layout.divided.pieces:
        spots = [
            piece.frame.to_plan((piece.length * u, piece.width * v))
            for v in (0.5, 0.4, 0.6, 0.3, 0.7)
            for u in (0.5, 0.35, 0.65, 0.2, 0.8)
        ]
        inside = [p for p in spots if piece.ring.contains(p)] or spots[:1]
        spots = inside + [pen.model(p) for p in around(pen.paper(inside[0]), (13.0, 18.0, 25.0, 34.0))]
        pen.mark("circle", piece.id, spots, name=piece.id, leader_to=inside[0], home=piece.ring)
    caption(pen, "SETTING", label)
    x0, y0, _, _ = pen.bounds()
    k = 1.0 / scale
    pen.ring(Kind.SUPPORT, circle((x0 + 1.0) * k, (y0 - 4.2) * k, 0.9 * k), fill="black", hard=False)
    pen.text(Kind.LABEL, ((x0 + 4.0) * k, (y0 - 5.0) * k), "screw, fixed")
    _hold_down(pen, ((x0 + 32.0) * k, (y0 - 4.2) * k), 0.0, fixed=False, name="legend")
    pen.text(Kind.LABEL, ((x0 + 35.0) * k, (y0 - 5.0) * k), "screw in a slot across the grain, free to slide")
    return replace(pen.view("setting", "SETTING", label), frame=Frame())


def _appliances(layout: Layout, pen: Pen) -> None:
    """Name what stands below and beside the tops, where there is room for it, else with a leader."""
    for opening in layout.divided.openings:
        leg = opening.leg
        heart = ((opening.start + opening.end) / 2, (leg.front + leg.back) / 2)
        spots = [
            leg.frame.to_plan((heart[0] + (opening.end - opening.start) * u, heart[1] + (leg.back - leg.front) * v))
            for v in (0.0, -0.2, 0.2, -0.35, 0.35)
            for u in (0.0, -0.2, 0.2)
        ]
        to = leg.frame.to_plan(heart)
        spots += [pen.model(p) for p in around(pen.paper(to), (16.0, 22.0, 30.0, 40.0))]
        angle = readable(math.degrees(leg.frame.angle))
        words = [opening.kind]
        pen.label(
            Kind.APPLIANCE, words, spots, angle=angle, name=opening.kind, leader_to=to, leader_from=14.0, must=True
        )


def _hold_down(pen: Pen, at: Point, angle: float, *, fixed: bool, name: str) -> None:
    """Draw a hold-down: a full dot where it is fixed, a slot across the grain with its screw where it slides."""
    k = 1.0 / pen.scale
    if fixed:
        pen.ring(Kind.SUPPORT, circle(*at, 0.9 * k), name=name, fill="black")
        return
    c, s = math.cos(angle + math.pi / 2), math.sin(angle + math.pi / 2)
    ends = [(at[0] + way * 1.8 * k * c, at[1] + way * 1.8 * k * s) for way in (-1.0, 1.0)]
    pen.strokes(Kind.SUPPORT, [(ends[0], ends[1])], name=name, width=NARROW)
    pen.ring(Kind.SUPPORT, circle(*at, 0.7 * k), name=name, fill="white")


def _gaps(layout: Layout, pen: Pen) -> None:
    """Say the gap at each wall in numbers, beside the back edge."""
    labels = layout.laid.labels
    fits = wall_fits(layout.job, layout.laid.tops, layout.divided.parts)
    for top in layout.laid.tops:
        for leg in top.legs:
            here = [f for f in fits if f.top == top.name and f.leg == leg]
            if not here or leg.wall is None:
                continue
            low, high = min(f.gap for f in here), max(f.gap for f in here)
            gap = labels.fine(high) if high - low < 0.05 else f"{labels.fine(low)} to {labels.fine(high)}"
            words = f"gap {gap}"
            spots = [
                leg.frame.to_plan((leg.start + (leg.end - leg.start) * share, off / pen.scale))
                for off in (3.0, 5.0, 8.0)
                for share in (0.5, 0.35, 0.65, 0.2, 0.8)
            ]
            angle = readable(math.degrees(leg.frame.angle))
            to = leg.frame.to_plan(((leg.start + leg.end) / 2, leg.back))
            pen.label(Kind.LABEL, [words], spots, angle=angle, height=SMALL, leader_to=to, leader_from=12.0, must=True)
