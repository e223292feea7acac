"""The plan: the room, the tops as they lie, their joints, cutouts, supports and openings, dimensioned and marked."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

import shapely
from shapely.geometry import Polygon

from layout import region
from layout.check_field import held
from layout.clouds import Revised, draw_clouds, draw_deltas, draw_earlier
from layout.cutouts import PlacedCutout, station
from layout.cutting import locate
from layout.details import (
    BackSection,
    EdgeSection,
    FrontSection,
    HeightsDetail,
    JointDetail,
    OverhangSection,
    SinkSection,
    in_the_way,
    letter,
)
from layout.drawing import NARROW, SMALL, TITLE, WIDE, Dash, Kind, Text, View
from layout.fitting import WallFit, scribe_lines, wall_fits
from layout.hatching import hatch
from layout.job_tops import RunTop
from layout.lettering import fold, text_width
from layout.openings import Part
from layout.outline import Frame, Point, edge_point, polygon_ring, rectangle
from layout.pen import Pen, open_path
from layout.pieces import Piece
from layout.pipeline import Layout
from layout.placement import Box, around, readable
from layout.plan_dimensions import WALL_BAND, PlanDimensions
from layout.room import PlacedWall
from layout.support import Carried

HATCH = 1.8
"""Distance between hatch lines, mm on paper."""
OUTWARD = (13.0, 17.0, 22.0, 28.0, 36.0, 46.0, 58.0, 72.0)
"""How far from its place a mark may go when there is no room nearer, mm on paper."""


def plan_view(layout: Layout, scale: float, label: str, told: Revised | None = None) -> View:
    """Return the plan at ``scale`` (paper mm per model mm), its origin the room's; ``told``: revisions to be marked."""
    pen = Pen(scale)
    draw = _Plan(layout, pen)
    draw.walls()
    draw.tops()
    if told is not None:
        # before anything is lettered, so that no text comes to lie on a cloud
        around_ = draw_clouds(pen, told.plan, lambda p: p, "plan")
        draw_deltas(pen, around_, told.letter)
        draw_earlier(pen, told.earlier)
    measure = PlanDimensions(layout, pen)
    measure.runs()
    measure.boxes()
    measure.walls()
    draw.marks()
    draw.fits()
    draw.notes()
    draw.sections()
    caption(pen, "PLAN", label)
    first = len(layout.details)
    notes = [
        f"stations of {top} along {wall}: detail {letter(first + k)}" for k, (top, wall) in enumerate(measure.crowded)
    ]
    if measure.missed:
        notes.append(f"no room here, see the pieces: {', '.join(dict.fromkeys(measure.missed))}")
    left, low, _, _ = pen.bounds()
    lines = [line for note in notes for line in fold(note, 110.0, SMALL)]
    for n, line in enumerate(lines):
        pen.text(Kind.TITLE, pen.model((left, low - 4.2 * (n + 1))), line)
    return replace(pen.view("plan", "PLAN", label), crowded=tuple(measure.crowded), frame=Frame())


_BESIDE_MARK = (
    (0.0, -7.2),
    (0.0, 7.2),
    (13.0, 0.0),
    (-13.0, 0.0),
    (10.0, -5.5),
    (-10.0, -5.5),
    (10.0, 5.5),
    (-10.0, 5.5),
)
"""Where a joint's kind may stand from the middle of its mark, mm on paper."""
_OFFS = (0.0, *(sign * k * 6.0 for k in range(1, 22) for sign in (1.0, -1.0)))
"""How far along a side a section's mark is tried from where it is meant, mm on paper."""


def caption(pen: Pen, title: str, label: str) -> None:
    """Set a plan's title and scale below it."""
    x0, y0, _, _ = pen.bounds()
    y = y0 - 9.0
    pen.text(Kind.TITLE, pen.model((x0, y)), title, height=TITLE, bold=True)
    beside = x0 + text_width(title, TITLE, bold=True) + 4.0
    pen.text(Kind.TITLE, pen.model((beside, y)), label, height=SMALL)
    rule = [pen.model((x0, y - 2.0)), pen.model((x0 + 110.0, y - 2.0))]
    pen.ring(Kind.TITLE, open_path(rule), closed=False, width=WIDE, hard=False)


def built_strokes(parts: Sequence[Part], carried: Carried, scale: float) -> list[tuple[Point, Point]]:
    """Return the faces of what is built below a top's parts, where they do not run along their own edges."""
    inside = region.union(region.area_of(p.ring) for p in parts).buffer(-0.6 / scale)
    return _strokes(carried.built.boundary.intersection(inside))


class _Plan:
    """The plan while it is drawn."""

    def __init__(self, layout: Layout, pen: Pen) -> None:
        self.layout = layout
        self.laid = layout.laid
        self.labels = layout.laid.labels
        self.pen = pen
        self.thick = WALL_BAND / pen.scale

    # --- room

    def walls(self) -> None:
        """Draw walls as hatched bands behind their face lines, windows as gaps in them, open lines in double chain."""
        pen, room = self.pen, self.laid.room
        bands: list[Polygon] = []
        for wall in room.walls:
            if wall.open:
                ends = (wall.start, wall.end)
                pen.strokes(Kind.WALL, [ends], name=wall.name, dash=Dash.DOUBLE_CHAIN)
                continue
            band = self._band(wall)
            face = [wall.frame.to_plan(p) for p in wall.face]
            pen.ring(Kind.WALL, polygon_ring(band), name=wall.name)
            pen.strokes(Kind.WALL, list(pairwise(face)), width=WIDE, obstacle="hard")
            bands.append(Polygon(band))
        glass = []
        for window in self.laid.job.window:
            wall = room.wall(window.wall)
            x0 = station(room, window.wall, float(window.at), window.from_)
            x1 = x0 + float(window.width)
            box = [wall.frame.to_plan(p) for p in ((x0, 0.0), (x1, 0.0), (x1, self.thick), (x0, self.thick))]
            glass.append(Polygon(box))
            middle = tuple(wall.frame.to_plan((x, self.thick / 2)) for x in (x0, x1))
            pen.ring(Kind.WINDOW, polygon_ring(box), name=window.name)
            pen.strokes(Kind.WINDOW, [(middle[0], middle[1])])
        if bands:
            solid = shapely.unary_union([b.buffer(0) for b in bands]).difference(shapely.unary_union(glass))
            pen.strokes(Kind.WALL, hatch(solid, HATCH / pen.scale), obstacle="none", width=NARROW)
        self._unlisted()
        for notch in self.laid.job.notch:
            wall = room.wall(notch.wall)
            x0 = station(room, notch.wall, float(notch.at), notch.from_)
            chase = rectangle(x0, -float(notch.depth), x0 + float(notch.width), 0.0).moved(wall.frame.to_plan)
            pen.ring(Kind.WALL, chase, name=f"{wall.name} chase")
            pen.strokes(Kind.WALL, hatch(region.area_of(chase), HATCH / pen.scale), obstacle="none", width=NARROW)

    def _unlisted(self) -> None:
        """Draw a stretch of the wall at an end that stands against one the job does not list, so that its gap is seen."""
        pen, room, job = self.pen, self.laid.room, self.laid.job
        for top in self.laid.tops:
            for hand, leg in (("left", top.legs[0]), ("right", top.legs[-1])) if top.shape == "run" else ():
                side, wall = top.sides[hand], leg.wall
                beside = None if wall is None else room.before(wall) if hand == "left" else room.after(wall)
                if side.end != "wall" or wall is None:
                    continue
                x = leg.start if hand == "left" else leg.end
                if beside is not None and not beside.open and x in (0.0, wall.length):
                    continue
                out = -self.thick if hand == "left" else self.thick
                gap = float(job.shop.wall_gap)
                stub = rectangle(min(x, x + out), leg.front - gap, max(x, x + out), self.thick).moved(leg.frame.to_plan)
                pen.ring(Kind.WALL, stub, name=f"{top.name} {hand}")
                pen.strokes(Kind.WALL, hatch(region.area_of(stub), HATCH / pen.scale), obstacle="none", width=NARROW)

    def _band(self, wall: PlacedWall) -> list[Point]:
        room = self.laid.room
        outer = wall.line.offset_right(-self.thick)
        ends = []
        for hand, other in (("left", room.before(wall)), ("right", room.after(wall))):
            at = wall.start if hand == "left" else wall.end
            square = outer.point(0.0 if hand == "left" else wall.length)
            touching = other is not None and math.dist(other.end if hand == "left" else other.start, at) < 1.0
            meet = other.line.offset_right(-self.thick).meets(outer) if other and touching and not other.open else None
            ends.append(meet if meet and math.dist(meet, at) < 4 * self.thick else square)
        return [*(wall.frame.to_plan(p) for p in wall.face), ends[1], ends[0]]

    # --- tops

    def tops(self) -> None:
        """Draw the tops with what lies in and below them."""
        pen, layout = self.pen, self.layout
        for piece in layout.divided.pieces:
            # open where a post or a cutout lies over a joint, as it is made
            for ring in piece.made_rings() if piece.crossing else [piece.own_ring]:
                pen.ring(Kind.PIECE, ring.clean().moved(piece.frame.to_plan), name=piece.id, width=WIDE)
        for joint in layout.divided.joints:
            for stretch in self._joint_strokes(joint.points):
                pen.ring(Kind.JOINT, open_path(stretch), closed=False, name=joint.id, width=WIDE)
        for top, carried in zip(self.laid.tops, self.laid.carried, strict=True):
            if top.built is None:
                continue
            parts = [p for p in layout.divided.parts if p.top == top.name]
            pen.strokes(Kind.CABINET, built_strokes(parts, carried, pen.scale), dash=Dash.DASHED, name=top.name)
        for top in self.laid.tops:
            spec = self.laid.job.top[top.index]
            for leg in top.legs if isinstance(spec, RunTop) and spec.back == "scribe" else ():
                fitted = scribe_lines(self.laid.job, top, leg, self.laid.divided.parts)
                pen.strokes(Kind.CABINET, fitted, dash=Dash.DASHED, name=f"{top.name} scribe line")
        for support in self.laid.supports:
            pen.ring(Kind.SUPPORT, support.ring, name=support.name, dash=Dash.DASHED, hard=False)
        for splash in layout.splashes:
            pen.strokes(
                Kind.SPLASH, list(pairwise(splash.face)), name=f"{splash.top} {splash.side} splash", obstacle="none"
            )
        self._openings()

    def _openings(self) -> None:
        """Draw cutouts with their centre lines, and appliances beside and below the tops."""
        pen, layout = self.pen, self.layout
        for cut in self.laid.cutouts:
            pen.ring(Kind.CUTOUT, cut.ring, name=cut.name, width=WIDE)
            pen.strokes(Kind.CENTRE, centre_lines(cut, 3.0 / pen.scale), dash=Dash.CHAIN, name=cut.name)
        for item in self.laid.milled:
            for ring in item.rings:
                dash = Dash.SOLID if item.face == "above" else Dash.DASHED
                pen.ring(Kind.MILLED, ring, name=item.name, dash=dash, hard=False)
        for opening in layout.divided.openings:
            leg = opening.leg
            to = leg.frame.to_plan
            if opening.breaks:
                back = leg.back - opening.strip
                box = [(opening.start, leg.front), (opening.end, leg.front), (opening.end, back), (opening.start, back)]
                ring = polygon_ring([to(p) for p in box])
                pen.ring(Kind.APPLIANCE, ring, name=opening.kind, dash=Dash.DOUBLE_CHAIN)
            else:
                ends = [(to((x, leg.back)), to((x, leg.front))) for x in (opening.start, opening.end)]
                pen.strokes(Kind.APPLIANCE, ends, dash=Dash.DASHED, name=opening.kind)

    # --- marks

    def marks(self) -> None:
        """Set piece, joint and cutout marks, grain arrows, appliance and support names."""
        pen = self.pen
        for opening in self.layout.divided.openings:
            leg = opening.leg
            words = [opening.kind] if opening.breaks else [opening.kind, "below"]
            spots = [
                leg.frame.to_plan(
                    (opening.start + (opening.end - opening.start) * s, leg.front + (leg.back - leg.front) * t)
                )
                for t in (0.5, 0.65, 0.35, 0.8, 0.2)
                for s in (0.5, 0.4, 0.6)
            ]
            heart = spots[0]
            spots += [pen.model(p) for p in around(pen.paper(heart), OUTWARD)]
            pen.label(Kind.APPLIANCE, words, spots, name=opening.kind, leader_to=heart, leader_from=10.0, must=True)
        for cut in self.laid.cutouts:
            rim = cut.ring.bounds(cut.leg.frame)
            inner = [
                cut.leg.frame.to_plan((rim[0] + (rim[2] - rim[0]) * s, rim[1] + (rim[3] - rim[1]) * t))
                for s, t in ((0.7, 0.25), (0.3, 0.25), (0.7, 0.75), (0.3, 0.75), (0.5, 0.3), (0.5, 0.7))
            ]
            spots = [] if cut.hole else inner
            spots += [pen.model(p) for p in around(pen.paper(cut.center), (8.0, 10.0, *OUTWARD))]
            pen.mark("box", cut.name, spots, name=cut.name, leader_to=cut.center, home=cut.ring)
            # of a row of holes the schedule says it; on the plan it would only crowd
            if not cut.hole and held(self.laid.job, cut):
                pen.label(Kind.FLAG, ["HOLD"], spots, name=cut.name, leader_to=cut.center, leader_from=20.0)
        for item in self.laid.milled:
            spots = [pen.model(p) for p in around(pen.paper(item.center), (6.0, 8.0, 10.0, *OUTWARD))]
            pen.mark("box", item.name, spots, kind=Kind.MILLED, name=item.name, leader_to=item.center)
        for joint in self.layout.divided.joints:
            middle = self._on_joint(joint.points)
            spots = [*self._joint_spots(joint.points), *(pen.model(p) for p in around(pen.paper(middle), OUTWARD))]
            pen.mark("diamond", joint.id, spots, name=joint.id, leader_to=middle)
            mark = pen.scene.boxes[-1]
            beside = [pen.model((mark.x + dx, mark.y + dy)) for dx, dy in _BESIDE_MARK]
            pen.label(Kind.LABEL, [joint.kind], beside, leader_to=middle, leader_from=99.0, name=joint.id)
        for piece in self.layout.divided.pieces:
            heart = piece.frame.to_plan(self._heart(piece))
            spots = self._inside(piece) + [pen.model(p) for p in around(pen.paper(heart), OUTWARD)]
            pen.mark("circle", piece.id, spots, name=piece.id, leader_to=heart, home=piece.ring)
        for piece in self.layout.divided.pieces:
            self._grain(piece)
        for support in self.laid.supports:
            at = region.inner_point(region.area_of(support.ring))
            spots = [at, *(pen.model(p) for p in around(pen.paper(at), (5.0, 7.0, 9.0, *OUTWARD)))]
            pen.label(Kind.SUPPORT, [support.name], spots, name=support.name, leader_to=at, leader_from=4.0, must=True)

    def _joint_strokes(self, points: Sequence[Point]) -> list[Sequence[Point]]:
        """Return a joint's path as far as there is wood."""
        holes = [
            region.area_of(c.ring) for c in self.laid.cutouts if region.area_of(c.ring).intersects(region.path(points))
        ]
        if not holes:
            return [points]
        return list(_strokes(region.path(points).difference(region.union(holes))))

    def _on_joint(self, points: Sequence[Point]) -> Point:
        """Return a place on a joint that a leader can point to: its middle, or where no cutout lies."""
        (x0, y0), (x1, y1) = points[0], points[-1]
        places = [(x0 + (x1 - x0) * t, y0 + (y1 - y0) * t) for t in (0.5, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9)]
        return next((p for p in places if not any(c.ring.contains(p) for c in self.laid.cutouts)), places[0])

    def _joint_spots(self, points: Sequence[Point]) -> Iterator[Point]:
        a, b = points[0], points[-1]
        angle = math.atan2(b[1] - a[1], b[0] - a[0])
        for off in (9.0, -9.0, 13.0, -13.0, 18.0, -18.0, 25.0, -25.0):
            for share in (0.5, 0.4, 0.6, 0.3, 0.7):
                x, y = self.pen.paper((a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share))
                yield self.pen.model((x - off * math.sin(angle), y + off * math.cos(angle)))

    def _heart(self, piece: Piece) -> Point:
        holes = region.union(region.area_of(c.ring, 0.5) for c in (*piece.cutouts, *piece.crossing))
        return piece.frame.from_plan(region.inner_point(region.area_of(piece.ring, 0.5).difference(holes)))

    def _inside(self, piece: Piece, dense: bool = False) -> list[Point]:
        """Return places in a piece's wood, from its middle outwards, or all over it."""
        ring = piece.ring
        frame = piece.frame
        out = []
        shares = [k / 60 for k in range(1, 60)]
        across = (0.5, 0.35, 0.65, 0.22, 0.78)
        along = (0.5, 0.42, 0.58, 0.34, 0.66, 0.26, 0.74, 0.18, 0.82, 0.1, 0.9, 0.05, 0.95)
        for v in shares[2::4] if dense else across:
            for u in shares if dense else along:
                p = frame.to_plan((piece.length * u, piece.width * v))
                if ring.contains(p) and not any(c.ring.contains(p) for c in (*piece.cutouts, *piece.crossing)):
                    out.append(p)
        return out

    def _grain(self, piece: Piece) -> None:
        """Draw an arrow both ways along the grain with its name; where the wood is short of room a smaller one without."""
        pen = self.pen
        turn = math.radians(readable(math.degrees(piece.frame.angle)))
        spots = [pen.paper(p) for p in self._inside(piece)]
        for half, word in ((8.0, True), (6.0, True), (5.0, False), (3.0, False), (2.5, False)):
            if half < 3.0:
                spots = [pen.paper(p) for p in self._inside(piece, dense=True)]
            found = pen.scene.best(grain_box(at, turn, half, word) for at in spots)
            if found is not None:
                k, box = found
                draw_grain(pen, spots[k], turn, half, piece.id, word)
                pen.scene.boxes.append(box)
                return

    def fits(self) -> None:
        """Say at each station of a wall that is not straight, or that the back is scribed to, what is open or taken off."""
        pen, labels = self.pen, self.labels
        for fit in self._told_fits():
            text = f"scribe {labels.fine(fit.take_off)}" if fit.take_off > 0.2 else f"gap {labels.fine(fit.gap)}"
            at = fit.leg.frame.to_plan((fit.station, fit.leg.back_at(fit.station)))
            spots = [
                fit.leg.frame.to_plan((fit.station + dx / pen.scale, fit.leg.back - dy / pen.scale))
                for dy in (3.2, 6.4, 9.6, 13.0)
                for dx in (0.0, 7.0, -7.0, 12.0, -12.0, 18.0, -18.0)
            ]
            angle = readable(math.degrees(fit.leg.frame.angle))
            # the table of backs tells all of them; at a corner the plan may be too full
            taped = fit.leg.wall is not None and any(abs(s - fit.station) < 1e-6 for s, _ in fit.leg.wall.bow)
            name = f"{fit.top} {fit.leg.wall.name if fit.leg.wall else ''} back"
            pen.label(Kind.LABEL, [text], spots, angle=angle, leader_to=at, leader_from=4.0, must=taped, name=name)

    def _told_fits(self) -> Iterator[WallFit]:
        """Yield what the plan says of backs: each station of a bowed wall, one place where a straight one is scribed to."""
        fits = wall_fits(self.laid.job, self.laid.tops, self.laid.divided.parts)
        for fit in fits:
            if fit.leg.wall is not None and fit.leg.wall.bow:
                yield fit
        for first, last in pairwise(fits):
            same = (first.top, first.leg) == (last.top, last.leg)
            if same and first.leg.wall is not None and not first.leg.wall.bow and first.back == "scribe":
                yield replace(first, station=(first.station + last.station) / 2)

    def notes(self) -> None:
        """Set overhang amounts beside their edges, window names, and the numbered flags of findings."""
        pen = self.pen
        for carried in self.laid.carried:
            for over in carried.overhangs:
                if over.amount > 0.01:
                    self._overhang(over.top, over.side, over.amount)
        for window in self.laid.job.window:
            wall = self.laid.room.wall(window.wall)
            x = station(self.laid.room, window.wall, float(window.at), window.from_) + float(window.width) / 2
            at = wall.frame.to_plan((x, self.thick))
            spots = [
                wall.frame.to_plan((x + dx / pen.scale, (WALL_BAND + dy) / pen.scale))
                for dy in (3.5, 6.0)
                for dx in (0, -8, 8, -16, 16)
            ]
            angle = readable(math.degrees(wall.frame.angle))
            pen.label(
                Kind.WINDOW,
                [window.name],
                spots,
                angle=angle,
                name=window.name,
                leader_to=at,
                leader_from=6.0,
                must=True,
            )
        for number, found in enumerate(self.layout.findings, start=1):
            if found.at is not None:
                spots = [pen.model(p) for p in around(pen.paper(found.at), (0.0, 7.0, 10.0, *OUTWARD))]
                pen.mark("triangle", str(number), spots, kind=Kind.FLAG, name=found.code, leader_to=found.at)

    def sections(self) -> None:
        """Set the letters of the details that are sections, where they are taken."""
        for mark, detail in self.layout.details:
            if not isinstance(detail, JointDetail | HeightsDetail):
                self.pen.section(mark, self._section_spots(detail), name=f"section {mark}")

    def _section_spots(
        self, detail: EdgeSection | FrontSection | OverhangSection | SinkSection | BackSection
    ) -> Iterator[tuple[Point, float]]:
        """Yield where a section can be taken, and the direction out of the wood there."""
        rings = [part.ring for part in self.layout.divided.parts]
        (x, y), turn = detail.at, detail.outward + math.pi / 2
        barred = in_the_way(self.laid, detail.top) if isinstance(detail, FrontSection) else []
        # an overhang is cut where its support stands, a sink where the sink is; edges and fronts anywhere along
        offs: Sequence[float] = _OFFS
        if isinstance(detail, OverhangSection) or (isinstance(detail, FrontSection) and detail.most):
            offs = (0.0, 3.0, -3.0)
        elif isinstance(detail, SinkSection):
            half = next(c.size[0] for c in self.laid.cutouts if c.name == detail.cutout) / 2 * self.pen.scale
            # its middle, however small the sink is on paper
            offs = [off / 3 for off in _OFFS if off == 0.0 or abs(off / 3) < half - 1.0]
        for off in offs:
            step = off / self.pen.scale
            spot = (x + step * math.cos(turn), y + step * math.sin(turn))
            inside = (spot[0] - 300.0 * math.cos(detail.outward), spot[1] - 300.0 * math.sin(detail.outward))
            clear = not any(area.intersects(region.path([spot, inside])) for area in barred)
            if off == 0.0 or (clear and any(locate(ring, spot)[2] * self.pen.scale < 0.05 for ring in rings)):
                yield spot, detail.outward

    def _overhang(self, top: str, side: str, amount: float) -> None:
        text = f"over {self.labels.fine(amount)}"
        edges = []
        for part in self.layout.divided.parts:
            if part.top == top and part.sides[side].free:
                edges += [(a, b) for a, b in part.ring.edges() if a.side == side]
        a, b = max(edges, key=lambda e: math.dist(e[0].at, e[1].at))
        angle = math.atan2(b.y - a.y, b.x - a.x)
        turn, name = readable(math.degrees(angle)), f"{top} {side}"

        def beside(offsets: Sequence[float]) -> list[Point]:
            """Return places along the edge, ``offsets`` mm outside it (negative: in the wood)."""
            out = []
            for off in offsets:
                for share in (0.5, 0.35, 0.65, 0.25, 0.75, 0.15, 0.85):
                    x, y = self.pen.paper(edge_point(a, b, share))
                    out.append(self.pen.model((x + off * math.sin(angle), y - off * math.cos(angle))))
            return out

        if not self.pen.label(Kind.LABEL, [text], beside((3.4, 4.4, 6.0, -4.0)), angle=turn, name=name):
            far = beside((14.0, -8.0, 22.0, 30.0))
            self.pen.label(Kind.LABEL, [text], far, angle=turn, leader_to=edge_point(a, b, 0.5), name=name)


def grain_box(at: Point, turn: float, half: float, word: bool) -> Box:
    """Return the box of a grain arrow; all paper mm."""
    up, tall = (1.6, 2.8) if word else (0.0, 1.1)
    return Box(at[0] - up * math.sin(turn), at[1] + up * math.cos(turn), half + 0.3, tall, turn)


def draw_grain(pen: Pen, at: Point, turn: float, half: float, name: str, word: bool = True) -> None:
    """Draw a grain arrow, pointed both ways, with its word above; ``at`` in paper mm."""
    c, s = math.cos(turn), math.sin(turn)
    x, y = at
    tips = [(x - half * c, y - half * s), (x + half * c, y + half * s)]
    strokes = [(tips[0], tips[1])]
    for tip, way in ((tips[0], 1.0), (tips[1], -1.0)):
        for off in (0.9, -0.9):
            strokes.append((tip, (tip[0] + way * 2.4 * c - off * s, tip[1] + way * 2.4 * s + off * c)))
    pen.strokes(Kind.GRAIN, [(pen.model(p), pen.model(q)) for p, q in strokes], name=name, obstacle="none")
    if word:
        at_word = pen.model((x - 1.5 * s, y + 1.5 * c))
        pen.items.append(Text(Kind.GRAIN, at_word, "grain", SMALL, "middle", math.degrees(turn), False, name))


def centre_lines(cut: PlacedCutout, beyond: float) -> list[tuple[Point, Point]]:
    """Return a cutout's two centre lines in plan, ``beyond`` mm longer at each end than it is, square to its own turn."""
    own = Frame(*cut.center, cut.angle)
    x0, y0, x1, y1 = cut.ring.bounds(own)
    return [
        (own.to_plan((x0 - beyond, 0.0)), own.to_plan((x1 + beyond, 0.0))),
        (own.to_plan((0.0, y0 - beyond)), own.to_plan((0.0, y1 + beyond))),
    ]


def _strokes(lines: region.Region) -> list[tuple[Point, Point]]:
    parts = shapely.get_parts(lines)
    drawn = parts[shapely.get_type_id(parts) == shapely.GeometryType.LINESTRING]
    coordinates, of = shapely.get_coordinates(drawn, return_index=True)
    points = [(x, y) for x, y in coordinates.tolist()]
    return [(p, q) for (p, k), (q, m) in pairwise(zip(points, of.tolist(), strict=True)) if k == m]
