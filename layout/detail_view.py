"""The details drawn: sections through edges, overhangs, sinks and splashes at 1:1, 1:2 or 1:4, as their measures have them.

In a section the edge's face stands at x = 0, wood at its left, the underside at y = 0, all mm at 1:1.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from layout import region
from layout.cutting import difference
from layout.details import (
    BackSection,
    Detail,
    EdgeSection,
    FrontSection,
    HeightsDetail,
    JointDetail,
    OverhangSection,
    SinkSection,
)
from layout.drawing import NARROW, SMALL, TITLE, WIDE, Dash, Kind, View
from layout.hatching import hatch
from layout.heights_view import draw_heights
from layout.joint_view import draw_joint
from layout.layup import wanted_strip
from layout.leg_view import draw_leg
from layout.lettering import text_width
from layout.outline import Point, Ring, Vertex, polygon_ring, rectangle
from layout.pen import Pen, open_path
from layout.pipeline import Layout
from layout.profiles import SQUARE, profile_ring, profile_size, section_words
from layout.rules import HOLD_DOWN_INSET, HOLD_DOWN_SCREW
from layout.top_plans import side_words
from layout.units import parse_length

RATIOS: dict[str, dict[type, int]] = {
    "in": {EdgeSection: 1, FrontSection: 2, SinkSection: 2, BackSection: 2, OverhangSection: 4},
    "mm": {EdgeSection: 1, FrontSection: 2, SinkSection: 2, BackSection: 2, OverhangSection: 5},
}
"""Sections are drawn at 1 to this."""
SCALE_NAMES = {
    "in": {1: "full size (1:1)", 2: '6" = 1\'-0" (1:2)', 4: '3" = 1\'-0" (1:4)'},
    "mm": {1: "1:1", 2: "1:2", 5: "1:5"},
}
INCH = 25.4
FRAME = 0.75 * INCH
"""Thickness of cabinet panels as drawn."""
HATCH = 1.8


def detail_view(layout: Layout, letter: str, detail: Detail) -> View:
    """Return the view of one detail under its letter."""
    match detail:
        case JointDetail():
            pen, title, label = draw_joint(layout, detail)
        case HeightsDetail():
            pen, title, label = draw_heights(layout, detail)
        case _:
            pen, title, label = _section(layout, detail)
    caption(pen, letter, title, label)
    return pen.view(f"detail-{letter}", letter, label)


def leg_detail(layout: Layout, mark: str, top: str, wall: str) -> View:
    """Return the view of a leg whose stations found no room on the plan."""
    plan = next(t for t in layout.laid.tops if t.name == top)
    pen, title, label = draw_leg(layout, plan, plan.leg(wall))
    caption(pen, mark, title, label)
    return pen.view(f"detail-{mark}", mark, label)


Section = EdgeSection | FrontSection | OverhangSection | SinkSection | BackSection


def _section(layout: Layout, detail: Section) -> tuple[Pen, str, str]:
    units = layout.job.job.units
    ratio = RATIOS[units][type(detail)]
    pen = Pen(1.0 / ratio)
    section = _Section(layout, pen)
    match detail:
        case EdgeSection():
            title = section.edge(detail)
        case FrontSection():
            title = section.front(detail)
        case OverhangSection():
            title = section.overhang(detail)
        case SinkSection():
            title = section.sink(detail)
        case BackSection():
            title = section.back(detail)
    return pen, title, SCALE_NAMES[units][ratio]


def caption(pen: Pen, letter: str, title: str, label: str) -> None:
    """Set a detail's letter, what it is and its scale below it."""
    x0, y0, _, _ = pen.bounds()
    y = y0 - 8.0
    pen.text(Kind.TITLE, pen.model((x0, y)), letter, height=TITLE, bold=True)
    words = x0 + text_width(letter, TITLE, bold=True) + 4.0
    pen.text(Kind.TITLE, pen.model((words, y)), title, height=SMALL)
    width = max(text_width(title, SMALL), text_width(label, SMALL)) + words - x0
    rule = [pen.model((x0, y - 2.0)), pen.model((x0 + max(60.0, width), y - 2.0))]
    pen.ring(Kind.TITLE, open_path(rule), closed=False, width=WIDE, hard=False)
    pen.text(Kind.TITLE, pen.model((words, y - 6.0)), label, height=SMALL)


class _Section:
    """A section while it is drawn."""

    def __init__(self, layout: Layout, pen: Pen) -> None:
        self.layout = layout
        self.job = layout.job
        self.units = layout.job.job.units
        self.labels = layout.laid.labels
        self.pen = pen
        self.thick = float(layout.job.wood.thickness)

    def size(self, text: str) -> float:
        return float(parse_length(text, self.units))

    # --- parts

    def wood(self, profile: str, reach: float, ring: Ring | None = None) -> None:
        """Draw the top's edge in section, cut off at its left by a break line, with its glue lines."""
        pen, t = self.pen, self.thick
        ring = ring or profile_ring(profile, t, reach, self.units)
        pen.ring(Kind.PIECE, ring, closed=False, width=WIDE)
        self.break_line(-reach, 0.0, t)
        shape = region.area_of(ring)
        strip = wanted_strip(self.job)
        x = -strip if self.job.wood.construction != "face grain" else -strip / 2
        glue = []
        while x > -reach + 2.0 / pen.scale:
            cut = region.path([(x, -1.0), (x, t + 1.0)]).intersection(shape)
            if not cut.is_empty and cut.geom_type == "LineString":
                (x0, y0), (x1, y1) = cut.coords
                glue.append(((x0, y0), (x1, y1)))
            x -= strip
        pen.strokes(Kind.GRAIN, glue, width=NARROW, name="glue lines")

    def break_line(self, x: float, low: float, high: float) -> None:
        """Draw a zigzag where something goes on."""
        k = 1.0 / self.pen.scale
        m = (low + high) / 2
        points = [
            (x, low - 2 * k),
            (x, m - 1.5 * k),
            (x - 1.5 * k, m - 0.5 * k),
            (x + 1.5 * k, m + 0.5 * k),
            (x, m + 1.5 * k),
            (x, high + 2 * k),
        ]
        self.pen.ring(Kind.LABEL, open_path(points), closed=False, width=NARROW, hard=False)

    def solid(self, x0: float, y0: float, x1: float, y1: float, kind: Kind = Kind.CABINET, name: str = "") -> None:
        """Draw something cut through that is not the top: hatched."""
        box = rectangle(x0, y0, x1, y1)
        self.pen.ring(kind, box, name=name, hard=False)
        self.pen.strokes(kind, hatch(region.area_of(box), HATCH / self.pen.scale), obstacle="soft")

    def plain(self, x0: float, y0: float, x1: float, y1: float, kind: Kind = Kind.CABINET) -> None:
        """Draw something seen or cut that needs no hatch."""
        self.pen.ring(kind, rectangle(x0, y0, x1, y1), hard=False)

    def across(self, points: Sequence[Point], texts: Sequence[str], *, above: bool) -> None:
        """Dimension along x, above or below all that is drawn so far."""
        self.pen.chain(points, 0.0, texts, sides=(1.0,) if above else (-1.0,), first=7.0, lanes=6)

    def upright(self, points: Sequence[Point], texts: Sequence[str], *, left: bool) -> None:
        """Dimension along y, at the left or the right."""
        self.pen.chain(points, math.pi / 2, texts, sides=(1.0,) if left else (-1.0,), first=7.0, lanes=6)

    def note(self, lines: Sequence[str], to: Point, toward: float = math.pi / 4) -> None:
        """Set a note with its leader, first in the direction ``toward``."""
        half = max(text_width(t, SMALL) for t in lines) / 2
        spots = []
        for d in (7.0, 10.0, 14.0, 19.0, 26.0, 35.0, 46.0):
            for turn in (0.0, 0.4, -0.4, 0.9, -0.9, 1.5, -1.5, 2.2, -2.2, math.pi):
                c, s = math.cos(toward + turn), math.sin(toward + turn)
                x, y = self.pen.paper(to)
                spots.append(self.pen.model((x + d * c + math.copysign(half, c), y + d * s)))
        self.pen.label(Kind.LABEL, lines, spots, leader_to=to, must=True)

    def thickness(self, x: float) -> None:
        """Dimension the top's thickness at its left."""
        self.upright([(x, 0.0), (x, self.thick)], [self.labels.fine(self.job.wood.thickness)], left=True)

    # --- sections

    def edge(self, detail: EdgeSection) -> str:
        """An edge profile."""
        size = profile_size(detail.profile, self.thick, self.units)
        reach = max(size + 0.9 * INCH, 1.6 * INCH)
        self.wood(detail.profile, reach)
        self.thickness(-reach)
        name = detail.profile.partition(" ")[0]
        words = section_words(detail.profile, size, self.labels.fine)
        corner = size * (1 - math.sqrt(0.5))
        to = {"bevel": (-size / 2, self.thick - size / 2), "ogee": (-size / 2, self.thick - size / 2)}.get(
            name, (-corner, self.thick - corner)
        )
        if name == "cove":
            to = (-size * math.sqrt(0.5), self.thick - size * math.sqrt(0.5))
        self.note([name, words] if words else [name], to, 0.3)
        return f"edge: {detail.profile}"

    def _held_down(self, x: float, slot: float, *, fixed: bool, toward: float) -> None:
        """Draw a hold-down: block, screw and washer; in a round hole on the fixed line, else in a slot across the grain."""
        pen = self.pen
        screw = self.size(HOLD_DOWN_SCREW.text(self.units))
        slot = screw if fixed else slot
        half, depth = 1.1 * INCH, FRAME
        self.plain(x - half, -depth, x - slot / 2, 0.0)
        self.plain(x + slot / 2, -depth, x + half, 0.0)
        self.plain(x - 0.5 * INCH, -depth - 2.0, x + 0.5 * INCH, -depth)
        shank = rectangle(x - screw / 2, -depth - 2.0, x + screw / 2, self.thick / 2)
        pen.ring(Kind.SUPPORT, shank, hard=False)
        self.plain(x - screw, -depth - 2.0 - screw * 0.6, x + screw, -depth - 2.0, Kind.SUPPORT)
        pen.strokes(Kind.CENTRE, [((x, -depth - 10.0), (x, self.thick * 0.7))], dash=Dash.CHAIN)
        words = [f"screw {self.labels.fine(screw)} with washer,", "through a cabinet block:"]
        words += (
            ["this line is fixed"]
            if fixed
            else [f"slot {self.labels.at_least(slot)} across", "the grain, free to slide"]
        )
        self.note(words, (x, -depth - 2.0 - screw * 0.6), toward)

    def front(self, detail: FrontSection) -> str:
        """A front edge over its cabinet, held down."""
        over = detail.overhang
        reach = over + FRAME + 4.2 * INCH
        self.wood(detail.profile, reach)
        self.solid(-over - FRAME, -2.6 * INCH, -over, 0.0)
        self.break_line_flat(-over - FRAME, -over, -2.6 * INCH)
        self._held_down(
            -over - self.size(HOLD_DOWN_INSET.text(self.units)), detail.slot, fixed=detail.fixed, toward=-1.8
        )
        self.thickness(-reach)
        self.across([(-over, 0.0), (0.0, 0.0)], [self.labels.fine(over)], above=False)
        most = ", where it stands out most" if detail.most else ""
        return f"{detail.top}, {side_words(detail.side)} over its cabinet{most}; hold-down"

    def break_line_flat(self, x0: float, x1: float, y: float) -> None:
        """Draw a zigzag below, where a panel goes on."""
        k = 1.0 / self.pen.scale
        m = (x0 + x1) / 2
        points = [
            (x0 - 1.5 * k, y),
            (m - 1.2 * k, y),
            (m - 0.4 * k, y - 1.3 * k),
            (m + 0.4 * k, y + 1.3 * k),
            (m + 1.2 * k, y),
            (x1 + 1.5 * k, y),
        ]
        self.pen.ring(Kind.LABEL, open_path(points), closed=False, width=NARROW, hard=False)

    def overhang(self, detail: OverhangSection) -> str:
        """An overhang over what carries it, or over nothing."""
        over = detail.overhang
        reach = over + FRAME + 5.0 * INCH
        self.wood(detail.profile, reach)
        drop = 9.0 * INCH
        self.solid(-over - FRAME, -drop, -over, 0.0)
        self.break_line_flat(-over - FRAME, -over, -drop)
        if detail.kind == "post":
            self.solid(-detail.short - 3.0 * INCH, -drop, -detail.short, 0.0, Kind.SUPPORT)
        elif detail.kind is not None:
            bar = 0.5 * INCH
            leg = min(0.7 * drop, max(over - detail.short, 3.0 * INCH))
            arm = [
                (-over, 0.0),
                (-detail.short, 0.0),
                (-detail.short, -bar),
                (-over + bar, -bar),
                (-over + bar, -leg),
                (-over, -leg),
            ]
            self.pen.ring(Kind.SUPPORT, polygon_ring(arm), hard=False, fill="grey")
            screw = self.size(HOLD_DOWN_SCREW.text(self.units)) / 2
            x = -detail.short - (over - detail.short) * 0.25
            self.pen.ring(Kind.SUPPORT, rectangle(x - screw, -bar, x + screw, self.thick * 0.6), hard=False)
        self.thickness(-reach)
        texts = [self.labels.fine(over)]
        self.across([(-over, self.thick), (0.0, self.thick)], texts, above=True)
        if detail.kind is not None and detail.short > 1.0:
            self.across([(-detail.short, -1.0), (0.0, -1.0)], [self.labels.fine(detail.short)], above=False)
        if detail.kind is not None and detail.kind != "post":
            at = (-detail.short - (over - detail.short) * 0.25, -0.5 * INCH)
            self.note(["screwed to the top from below in slots", "across the grain: the edge cannot curl"], at, -1.6)
        what = "not carried" if detail.kind is None else f"over its {detail.kind}"
        limit = self.labels.fine(detail.limit)
        return f"{detail.top}, {side_words(detail.side)} {what}; limit without support {limit}"

    def sink(self, detail: SinkSection) -> str:
        """How a sink is hung, through the wood before it (behind it for an apron)."""
        pen, t = self.pen, self.thick
        reveal = detail.reveal or 0.0
        rim, wall = 0.8 * INCH, 2.5
        depth = 1.9 * INCH
        apron = detail.mount == "apron"
        ledge = detail.ledge or (0.0, 0.0)
        rail = max(min(detail.rail, 4.5 * INCH), 2.5 * INCH) if not apron else 2.2 * INCH
        # the cut edge stands at x = 0, the front edge (or what goes on) at the left
        # the strip before it as it is, where it is short enough to draw
        if detail.rail and not apron and detail.rail <= 4.5 * INCH:
            ring = _mirrored(profile_ring(detail.profile, t, detail.rail, self.units), detail.rail)
            for part in difference(ring, rectangle(-ledge[0], -1.0, 1.0, ledge[1])) if detail.ledge else [ring]:
                pen.ring(Kind.PIECE, part, width=WIDE)
        elif detail.ledge:
            corners = [(-rail, 0.0), (-ledge[0], 0.0), (-ledge[0], ledge[1]), (0.0, ledge[1]), (0.0, t), (-rail, t)]
            self.wood(SQUARE, rail, polygon_ring(corners))
        else:
            self.wood(SQUARE, rail)
        if detail.mount == "drop-in":
            inside = 0.35 * INCH
            pen.ring(Kind.APPLIANCE, rectangle(-rim, t, inside + wall, t + wall), hard=False, fill="grey")
            pen.ring(Kind.APPLIANCE, rectangle(inside, -depth, inside + wall, t), hard=False, fill="grey")
            self.note(["rim on the top, bedded in sealant"], (-rim / 2, t + wall), 0.9)
            self.note(["cut faces sealed at once"], (0.0, t * 0.3), -2.6)
        else:
            inner = -reveal  # the bowl's inside, left of the cut edge where the top stands over it
            up = ledge[1]  # the rim lies under the wood, or up in its ledge
            rim = min(rim, ledge[0] + inner - 1.5) if detail.ledge else rim
            pen.ring(Kind.APPLIANCE, rectangle(inner - rim, up - wall, inner, up), hard=False, fill="grey")
            pen.ring(Kind.APPLIANCE, rectangle(inner - wall, -depth, inner, up - wall), hard=False, fill="grey")
            held = ["rim bedded in sealant,", "held by clips from below"]
            if apron:
                held = ["the top is laid over the rim,", "bedded in sealant"]
            elif detail.ledge:
                wide, deep = (self.labels.fine(m) for m in detail.ledge)
                held = [f"ledge {wide} wide, {deep} deep,", *held]
            self.note(held, (inner - rim * 0.7, up - wall), -2.2)
            self.note(["cut face sealed at once"], (0.0, t * 0.6), 0.35)
            if detail.reveal is None and not apron:
                self.note(["HOLD: reveal not given"], (0.0, 0.0), -0.5)
            elif detail.reveal is None:
                self.note(["over the rim by its template"], (0.0, 0.0), -0.5)
            else:
                self.note([reveal_words(detail, self.labels.fine(abs(reveal)))], (inner / 2, up - 0.5 * wall), -0.6)
        self.break_line_flat(
            *((0.3 * INCH, 0.5 * INCH) if detail.mount == "drop-in" else (-reveal - wall, -reveal)), -depth
        )
        if detail.rail and not apron and detail.rail <= 4.5 * INCH:
            self.across([(-detail.rail, t), (0.0, t)], [self.labels.fine(detail.rail)], above=True)
        self.thickness(-rail)
        return f"{detail.cutout}, {detail.mount} sink: {reveal_words(detail, self.labels.fine(abs(reveal)))}"

    def back(self, detail: BackSection) -> str:
        """A back at its wall: the room to move, and the splash that hides it."""
        t = self.thick
        reach = 4.4 * INCH
        low, high = detail.gap
        gap = max(high, 0.0)
        shown = max(gap, 1.2 / self.pen.scale)
        self.wood(SQUARE, reach)
        self._held_down(-self.size(HOLD_DOWN_INSET.text(self.units)), detail.slot, fixed=False, toward=-2.6)
        up = detail.splash[0] if detail.splash else 1.2 * INCH
        rise = min(up, 1.8 * INCH)
        self.solid(shown, -1.2 * INCH, shown + FRAME, t + rise + 0.6 * INCH, Kind.WALL)
        if detail.splash:
            deep = detail.splash[1]
            corners = [(shown - deep, t + rise), (shown - deep, t), (shown, t), (shown, t + rise)]
            self.pen.ring(Kind.PIECE, polygon_ring(corners), closed=rise == up, width=WIDE)
            if rise < up:
                self.break_line_flat(shown - deep, shown, t + rise)
            k = 1.0 / self.pen.scale
            words = [f"splash {self.labels.fine(up)} high, {self.labels.fine(deep)} thick,"]
            words += ["fixed to the wall:", "the top moves below it"]
            self.note(words, (shown - deep, t + rise * 0.5), 2.9)
            self.across(
                [(shown - deep, t + rise + 2.0 * k), (shown, t + rise + 2.0 * k)], [self.labels.fine(deep)], above=True
            )
        room = self.labels.fine(high) if high - low < 0.05 else f"{self.labels.fine(low)} to {self.labels.fine(high)}"
        self.note([f"room to move {room}"], (shown / 2, 0.0), -1.2)
        if detail.take_off:
            self.note([f"up to {self.labels.fine(detail.take_off)} scribed off on site"], (0.0, t / 2), 3.0)
        self.thickness(-reach)
        return f"{detail.top} at wall {detail.wall}" + (
            " with its splash; hold-down" if detail.splash else "; hold-down"
        )


def reveal_words(detail: SinkSection, text: str) -> str:
    """Return a reveal in words, as the sheets say it."""
    if detail.mount == "drop-in":
        return "its rim lies on the top"
    if detail.reveal is None:
        return "over the rim by its template" if detail.mount == "apron" else "reveal not given"
    if abs(detail.reveal) < 0.05:
        return "top flush with the bowl"
    return f"top {text} over the bowl" if detail.reveal > 0 else f"top {text} back from the bowl"


def _mirrored(ring: Ring, width: float) -> Ring:
    """Return an edge's section turned round: its face at -width, the cut edge at x = 0."""
    v = ring.vertices
    flipped = []
    for k in range(len(v) - 1, -1, -1):
        # an edge walked the other way and mirrored keeps its bulge; it belongs to the vertex it now starts from
        flipped.append(Vertex(-width - v[k].x, v[k].y, v[k - 1].bulge, v[k].side))
    return Ring(tuple(flipped))
