"""One piece as it is made: its outline with grain along the sheet, every point fixed from one datum end and the front.

Running dimensions from the left end stand above (what lies at the back, and cutouts) and below (the front); heights from
the front edge stand at the left and right. A position is rounded once, from the datum.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Literal

from layout import region
from layout.check_field import held
from layout.clouds import Revised, draw_clouds, draw_deltas
from layout.cutouts import PlacedCutout
from layout.cutting import line_crossings
from layout.details import EdgeSection
from layout.dimension_lanes import chain_lanes, lanes_cost
from layout.drawing import HEAVY, SMALL, TITLE, WIDE, Dash, Kind, Path, View
from layout.fitting import scribe_lines
from layout.job_tops import RunTop
from layout.laid import layups_of
from layout.layup import layup_words
from layout.lettering import text_width
from layout.milling import Milled
from layout.natural import natural_sides
from layout.outline import Frame, Line, Point, Ring, Vertex, arc_of
from layout.pen import Pen, open_path
from layout.pieces import Piece
from layout.pipeline import Layout
from layout.placement import Box, around, readable
from layout.plan_view import centre_lines, draw_grain
from layout.profiles import SQUARE, side_profile
from layout.running import Running
from layout.top_plans import side_words
from layout.units import Labels
from layout.wood import POUND_KG, weight_kg


def piece_view(layout: Layout, piece: Piece, told: Revised, scale: float, label: str) -> View:
    """Return the view of one piece at ``scale`` (paper mm per model mm), in the piece's own frame, revisions marked."""
    pen = Pen(scale)
    _Piece(layout, piece, pen).draw(label, told)
    return replace(pen.view(f"piece-{piece.id}", piece.id, label), frame=piece.frame)


class _Piece:
    """A piece while it is drawn."""

    def __init__(self, layout: Layout, piece: Piece, pen: Pen) -> None:
        self.layout = layout
        self.piece = piece
        self.pen = pen
        self.labels: Labels = layout.laid.labels
        self.rings = [_by_side(ring) for ring in piece.made_rings()]
        self.cutouts = [c for c in piece.cutouts if not c.opens_front]
        self.holes = [self.local(c.ring) for c in self.cutouts]
        self.natural = natural_sides(layout.job, piece.top)
        self.scribed = False

    def local(self, ring: Ring) -> Ring:
        """Return a ring of the plan in the piece's frame."""
        return ring.moved(self.piece.frame.from_plan)

    def draw(self, label: str, told: Revised) -> None:
        """Draw it all."""
        pen, piece = self.pen, self.piece
        for ring in self.rings:
            pen.ring(Kind.PIECE, ring.clean(), name=piece.id, width=WIDE)
        self._profiled_edges()
        for cut, ring in zip(self.cutouts, self.holes, strict=True):
            pen.ring(Kind.CUTOUT, ring, name=cut.name, width=WIDE)
            lines = centre_lines(cut, 3.0 / pen.scale)
            strokes = [(piece.frame.from_plan(p), piece.frame.from_plan(q)) for p, q in lines]
            pen.strokes(Kind.CENTRE, strokes, dash=Dash.CHAIN, name=cut.name)
        for item in self._milled():
            for ring in item.rings:
                dash = Dash.SOLID if item.face == "above" else Dash.DASHED
                pen.ring(Kind.MILLED, self.local(ring), name=item.name, dash=dash)
        self._scribe_line()
        clouds = draw_clouds(pen, told.on_piece(piece.id), piece.frame.from_plan, piece.id)
        self._running()
        # the rows of running dimensions have their place; triangles find one beside them
        draw_deltas(pen, clouds, told.letter)
        for cut in self.cutouts:
            if self._turn(cut):
                self._turned(cut)
        self._radii()
        self._marks()
        self._caption(label)

    def _milled(self) -> list[Milled]:
        """Return what is let into this piece."""
        outline = region.area_of(self.piece.ring)
        mine = (m for m in self.layout.laid.milled if m.top == self.piece.top)
        return [m for m in mine if outline.contains(region.spot(m.center))]

    def _let_in(self, item: Milled) -> list[Point]:
        """Return the points that fix something let in: its ends along the grain, each groove's middle or both its sides."""
        boxes = [self.local(ring).bounds() for ring in item.rings]
        if item.turn % 180.0:
            return [self.piece.frame.from_plan(item.center)]
        if item.family == "recess":
            return [(boxes[0][0], boxes[0][1]), (boxes[0][2], boxes[0][3])]
        if item.sink is None:
            return [(x, (y0 + y1) / 2) for x0, y0, x1, y1 in boxes for x in (x0, x1)]
        # grooves that drain begin in the sink's opening: how far they reach is what counts
        sink = next(c for c in self.layout.laid.cutouts if c.name == item.sink)
        right = item.leg.frame.from_plan(item.center)[0] > item.leg.frame.from_plan(sink.center)[0]
        return [(x1 if right else x0, (y0 + y1) / 2) for x0, y0, x1, y1 in boxes]

    def _profiled_edges(self) -> None:
        """Draw profiled edges heavy: square ones stay plain."""
        for ring in self.rings:
            for a, b in ring.edges():
                if side_profile(self.layout.job, self.piece, a.side) != SQUARE:
                    path = Ring((a, Vertex(b.x, b.y)))
                    self.pen.items.append(Path(Kind.EDGE, path, False, a.side, HEAVY))

    def _scribe_line(self) -> None:
        """Draw where a scribed back is cut on site, from the taped bow of the wall."""
        job, piece = self.layout.job, self.piece
        top = next(t for t in self.layout.laid.tops if t.name == piece.top)
        spec = job.top[top.index]
        if not isinstance(spec, RunTop) or spec.back != "scribe":
            return
        for leg in top.legs:
            lines = scribe_lines(job, top, leg, self.layout.divided.parts)
            own = [(piece.frame.from_plan(p), piece.frame.from_plan(q)) for p, q in lines]
            inside = [s for p, q in own for s in self._on_wood(p, q)]
            self.pen.strokes(Kind.CABINET, inside, dash=Dash.DASHED, name="scribe line")
            self.scribed = self.scribed or bool(inside)

    def _on_wood(self, p: Point, q: Point) -> list[tuple[Point, Point]]:
        """Return what of a stroke lies on the piece."""
        length = math.dist(p, q)
        line = Line(*p, (q[0] - p[0]) / length, (q[1] - p[1]) / length)
        stops = sorted({0.0, length, *(s for r in self.rings for s in line_crossings(r, line) if 0.0 < s < length)})
        parts = [(line.point(a), line.point(b), line.point((a + b) / 2)) for a, b in pairwise(stops)]
        return [(a, b) for a, b, middle in parts if any(r.contains(middle) for r in self.rings)]

    # --- running dimensions

    def _points(self) -> list[Point]:
        """Return the corners of the outline; within a natural edge a table holds them."""
        return [v.at for ring in self.rings for u, v in ring.edges() if v.side not in self.natural or u.side != v.side]

    def _running(self) -> None:
        piece = self.piece
        half = piece.width / 2
        above: list[Point] = [(0.0, piece.width), (piece.length, piece.width)]
        below: list[Point] = []
        left: list[Point] = [(0.0, piece.width)]
        right: list[Point] = []
        for x, y in self._points():
            (above if y > half else below).append((x, y))
            (left if x < piece.length / 2 else right).append((x, y))
        for cut, ring in zip(self.cutouts, self.holes, strict=True):
            x0, y0, x1, y1 = ring.bounds()
            x, y = piece.frame.from_plan(cut.center)
            if cut.diameter is not None or cut.hole or self._turn(cut):
                above.append((x, y))
                side = left if x < piece.length / 2 else right
                side.append((x, y))
                continue
            above += [(x0, y), (x, y1), (x1, y)]
            if self._cutout_heights(cut.name, (x0, y0, x1, y1)):
                continue
            side = left if x < piece.length / 2 else right
            side += [(x, y0), (x, y1)]
        for item in self._milled():
            points = self._let_in(item)
            above += points
            (left if points[0][0] < piece.length / 2 else right).extend(points)
        taken: set[int] = set()
        row = Running(self.pen, self.labels, piece.id)
        row.draw(above, "x", piece.width, 1.0, taken, below)
        row.draw(below, "x", 0.0, -1.0, taken)
        taken = set()
        row.draw(left, "y", 0.0, -1.0, taken, right)
        row.draw(right, "y", piece.length, 1.0, taken)

    def _turn(self, cut: PlacedCutout) -> float:
        """Return by how many degrees a cutout's length is turned from the grain, counter-clockwise, in (-90, 90]; 0: square."""
        if cut.diameter is not None:
            return 0.0
        turn = 90.0 - (90.0 - math.degrees(cut.angle - self.piece.frame.angle)) % 180.0
        return 0.0 if min(abs(turn), abs(abs(turn) - 90.0)) < 1e-6 else turn

    def _turned(self, cut: PlacedCutout) -> None:
        """Dimension a turned cutout's own length and width beside it, and say by how much it is turned."""
        x, y = self.piece.frame.from_plan(cut.center)
        heading = cut.angle - self.piece.frame.angle
        own = Frame(x, y, heading)
        half, deep = cut.size[0] / 2, cut.size[1] / 2
        sizes = (
            ([(-half, deep), (half, deep)], heading, cut.size[0]),
            ([(half, -deep), (half, deep)], heading + math.pi / 2, cut.size[1]),
        )
        for ends, along, size in sizes:
            text = self.labels.text(size)
            points = [own.to_plan(p) for p in ends]
            name = f"{self.piece.id} {cut.name}"
            if not self.pen.chain(points, along, [text], sides=(1.0, -1.0), first=5.0, lanes=3, name=name):
                middle = own.to_plan(((ends[0][0] + ends[1][0]) / 2, (ends[0][1] + ends[1][1]) / 2))
                spots = [self.pen.model(p) for p in around(self.pen.paper(middle), (4.0, 6.0, 9.0, 13.0, 18.0, 25.0))]
                self.pen.label(Kind.LABEL, [text], spots, leader_to=middle, leader_from=5.0, must=True, name=cut.name)
        turn = self._turn(cut)
        way = "counter-clockwise" if turn > 0 else "clockwise"
        words = [f"{cut.name} turned {round(abs(turn), 2):g}°", f"{way} from the grain"]
        spots = [own.to_plan((half * s, deep * t)) for t in (0.0, 0.4, -0.4) for s in (0.0, 0.4, -0.4)]
        spots += [self.pen.model(p) for p in around(self.pen.paper((x, y)), (14.0, 20.0, 28.0, 38.0, 50.0))]
        self.pen.label(Kind.LABEL, words, spots, leader_to=(x, y), leader_from=12.0, must=True, name=cut.name)

    def _cutout_heights(self, name: str, box: tuple[float, float, float, float]) -> bool:
        """Dimension a cutout's front and back from the front edge, beside it in the wood; return whether there was room."""
        x0, y0, x1, y1 = box
        ticks = [0, self.labels.ticks(y0), self.labels.ticks(y1)]
        texts = [self.labels.of_ticks(b - a) for a, b in zip(ticks, ticks[1:], strict=False)]
        off = 7.0 / self.pen.scale
        for x, rim in ((x1 + off, x1), (x0 - off, x0), (x1 + 2 * off, x1), (x0 - 2 * off, x0)):
            points = [(x, 0.0), (x, y0), (x, y1)]
            if not all(any(ring.contains((x, y)) for ring in self.rings) for y in (1.0, y0, y1)):
                continue
            on_paper = [self.pen.paper(p) for p in points]
            lanes = chain_lanes(on_paper, math.pi / 2, 1e-6, texts, 0.0)
            if any(lane.leader for lane in lanes) or lanes_cost(self.pen.scene, lanes, texts) > 30.0:
                continue
            way = math.copysign(1.0, x - rim) / self.pen.scale
            tails = [((rim + 1.5 * way, y), (x + 2.5 * way, y)) for y in (y0, y1)]
            paper = [tuple(self.pen.paper(p) for p in tail) for tail in tails]
            marked = [replace(lane, extensions=(tail,)) for lane, tail in zip(lanes, paper, strict=True)]
            self.pen.keep(points, math.pi / 2, marked, texts, f"{self.piece.id} {name}")
            return True
        return False

    # --- labels

    def _radii(self) -> None:
        """Name each radius once with its count; a round cutout by its diameter."""
        groups: dict[tuple[str, int], list[tuple[Point, Point, float]]] = {}
        for ring in self.rings:
            for a, b in ring.edges():
                arc = arc_of(a, b)
                if arc is not None and a.side not in self.natural:
                    kind = "rise" if arc.radius > 40 * abs(arc.sweep) * 25.4 else ""
                    groups.setdefault((kind, self.labels.ticks(arc.radius)), []).append(
                        (arc.point(0.5), (arc.cx, arc.cy), arc.radius)
                    )
        for (_, _), found in groups.items():
            self._radius_label(found)
        for cut, ring in zip(self.cutouts, self.holes, strict=True):
            if cut.diameter is not None:
                text = f"{cut.name} {self.labels.fine(cut.diameter)} dia."
                at = self.piece.frame.from_plan(cut.center)
                rim = cut.diameter / 2 * self.pen.scale
                spots = [
                    self.pen.model(p)
                    for p in around(self.pen.paper(at), [rim + d for d in (8.0, 11.0, 15.0, 20.0, 27.0, 36.0)], 16)
                ]
                others = [hole for hole in self.holes if hole is not ring]
                clear = [p for p in spots if not any(other.contains(p) for other in others)]
                spots = clear or spots
                reach = cut.diameter / 2 / math.sqrt(2)
                self.pen.label(
                    Kind.LABEL, [text], spots, name=cut.name, leader_to=(at[0] + reach, at[1] + reach), must=True
                )
                continue
            arcs = [(arc.point(0.5), (arc.cx, arc.cy), arc.radius) for a, b in ring.edges() if (arc := arc_of(a, b))]
            if cut.template is not None:
                self._template_label(cut, ring)
            elif arcs:
                self._radius_label(arcs)

    def _template_label(self, cut: PlacedCutout, ring: Ring) -> None:
        """Say which template a cutout is cut to: its radii would be of no use to anyone."""
        assert cut.template is not None
        x0, y0, x1, y1 = ring.bounds()
        spots = [(x0 + (x1 - x0) * s, y0 + (y1 - y0) * t) for t in (0.62, 0.38, 0.8, 0.2) for s in (0.26, 0.74, 0.5)]
        home = self.piece.frame.from_plan(cut.center)
        inside = [p for p in spots if ring.contains(p)] if not cut.hole else []
        others = [hole for hole in self.holes if hole is not ring]
        outward = [self.pen.model(p) for p in around(self.pen.paper(home), (8.0, 12.0, 16.0, 21.0, 28.0, 36.0), 16)]
        inside += [p for p in outward if not any(other.contains(p) for other in others)] or outward
        text = f"{cut.name} to template {cut.template.file}"
        self.pen.label(
            Kind.LABEL, [text], inside, leader_to=home, leader_from=9.0 if cut.hole else 60.0, must=True, name=cut.name
        )

    def _radius_label(self, arcs: Sequence[tuple[Point, Point, float]]) -> None:
        text = f"R {self.labels.fine(arcs[0][2])}" + (f" {len(arcs)}x" if len(arcs) > 1 else "")
        everywhere: list[Point] = []
        first = min(arcs, key=lambda a: (a[0][1], a[0][0]))[0]
        for at, centre, _ in sorted(arcs, key=lambda a: (a[0][1], a[0][0])):
            angle = math.atan2(at[1] - centre[1], at[0] - centre[0])
            near = self.pen.paper(at)
            width = text_width(text, SMALL)
            spots = []
            for d in (6.0, 9.0, 13.0, 18.0, 25.0):
                for turn in (0.0, 0.5, -0.5, 1.0, -1.0, math.pi, math.pi + 0.5, math.pi - 0.5):
                    x, y = near[0] + d * math.cos(angle + turn), near[1] + d * math.sin(angle + turn)
                    spots.append(self.pen.model((x + math.copysign(width / 2, math.cos(angle + turn)), y)))
            if self.pen.label(Kind.LABEL, [text], spots, leader_to=at):
                return
            everywhere += spots
        self.pen.label(Kind.LABEL, [text], everywhere, leader_to=first, must=True)

    def _marks(self) -> None:
        pen, piece = self.pen, self.piece
        for cut, ring in zip(self.cutouts, self.holes, strict=True):
            if cut.hole:
                continue
            x0, y0, x1, y1 = ring.bounds()
            shares = ((0.72, 0.28), (0.28, 0.28), (0.72, 0.72), (0.28, 0.72), (0.5, 0.3))
            spots = [(x0 + (x1 - x0) * s, y0 + (y1 - y0) * t) for s, t in shares]
            spots += [pen.model(p) for p in around(pen.paper(((x0 + x1) / 2, (y0 + y1) / 2)), (10.0, 14.0, 20.0, 28.0))]
            pen.mark("box", cut.name, spots, name=cut.name)
            if held(self.layout.job, cut):
                pen.label(Kind.FLAG, ["HOLD"], spots, name=cut.name, leader_to=(x0, y1), leader_from=99.0, must=True)
        for item in self._milled():
            depth = "through" if item.depth is None else f"{self.labels.fine(item.depth)} deep"
            words = f"{item.name}, {depth}{', below' if item.face == 'below' else ''}"
            heart = piece.frame.from_plan(item.center)
            spots = [pen.model(p) for p in around(pen.paper(heart), (0.0, 6.0, 9.0, 13.0, 18.0, 24.0))]
            pen.label(Kind.MILLED, [words], spots, name=item.name, leader_to=heart, leader_from=4.0, must=True)
        for cut in piece.cutouts:
            if cut.opens_front:
                x0, y0, x1, y1 = self.local(cut.ring).bounds()
                pen.mark("box", cut.name, [((x0 + x1) / 2, y0 + (y1 - y0) * t) for t in (0.5, 0.3, 0.7)], name=cut.name)
        pen.mark("circle", piece.id, self._inside((0.12, 0.2, 0.3, 0.05, 0.5, 0.7, 0.88)), name=piece.id)
        places = [pen.paper(p) for p in self._inside((0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8))]
        found = pen.scene.best(Box(x, y + 1.6, 8.3, 2.8) for x, y in places)
        if found is not None:
            k, box = found
            draw_grain(pen, places[k], 0.0, 8.0, piece.id)
            pen.scene.boxes.append(box)
        self._sides()

    def _inside(self, shares: Sequence[float]) -> list[Point]:
        """Return places on the wood, best first; one at least, however thin it is."""
        piece = self.piece
        ups = (0.5, 0.35, 0.65, 0.22, 0.78, 0.12, 0.88)
        places = [(piece.length * u, piece.width * v) for v in ups for u in shares]
        out = [p for p, under in zip(places, self._under(places), strict=True) if under == "wood"]
        return out or [region.inner_point(region.area_of(max(self.rings, key=lambda ring: ring.area)))]

    def _under(self, points: Sequence[Point]) -> list[Literal["wood", "nothing", "cutout"]]:
        """Return what lies under each of some points."""
        wood, cutouts = ([region.inside(r, points) for r in rings] for rings in (self.rings, self.holes))
        return [
            "cutout" if any(c[k] for c in cutouts) else "wood" if any(w[k] for w in wood) else "nothing"
            for k in range(len(points))
        ]

    def _sides(self) -> None:
        """Name what each side meets or how it is profiled, just inside its edge."""
        piece, pen = self.piece, self.pen
        joints = [j for j in self.layout.divided.joints if piece.id in j.pieces]
        for joint in joints:
            other = joint.pieces[1] if joint.pieces[0] == piece.id else joint.pieces[0]
            points = [piece.frame.from_plan(p) for p in joint.points]
            k = joint.pieces.index(piece.id)
            a, b = points[-2], points[-1]
            middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
            turn = 0.0 if middle[0] > piece.length / 2 else math.pi
            words = f"{joint.id} to {other}, {angle_words(joint.angles[k])}"
            spots = [pen.model(p) for p in around(pen.paper(middle), (12.0, 16.0, 20.0, 25.0, 31.0, 38.0), 16, turn)]
            # on the wood if it can be, else outside; over a cutout only where nothing else is free
            liked = zip(spots, self._under(spots), strict=True)
            spots = [p for p, _ in sorted(liked, key=lambda one: ("wood", "nothing", "cutout").index(one[1]))]
            pen.label(Kind.LABEL, [words], spots, leader_to=middle, must=True, name=joint.id)
        named: set[str] = set()
        letters = {d.profile: mark for mark, d in self.layout.details if isinstance(d, EdgeSection)}
        for ring in self.rings:
            for v, w in sorted(self._named_edges(ring), key=lambda e: -math.dist(e[0].at, e[1].at)):
                profile = side_profile(self.layout.job, piece, v.side)
                if profile == SQUARE or v.side in named or math.dist(v.at, w.at) * pen.scale < 14.0:
                    continue
                named.add(v.side)
                shown = f" (section {letters[profile]})" if profile in letters else ""
                grown = ", natural: points in its table" if v.side in self.natural else ""
                self._edge_name(v, w, f"{side_words(v.side)}, {profile}{shown}{grown}")

    def _named_edges(self, ring: Ring) -> list[tuple[Vertex, Vertex]]:
        """Return the edges that names are set along: a natural one as its ends, whatever lies between."""
        out: list[tuple[Vertex, Vertex]] = []
        for a, b in ring.edges():
            if a.side in self.natural and out and out[-1][0].side == a.side:
                out[-1] = (out[-1][0], b)
            else:
                out.append((a, b))
        return out

    def _edge_name(self, a: Vertex, b: Vertex, text: str) -> None:
        """Set a side's name along its edge: at its middle, or where no line runs through it."""
        heading = math.atan2(b.y - a.y, b.x - a.x)
        frame = Frame(a.x, a.y, heading)
        length = math.dist(a.at, b.at)
        angle = readable(math.degrees(heading))
        spare = length - (text_width(text, SMALL) + 1.0) / self.pen.scale
        shares = [0.5 + way * k / 80 for k in range(40) for way in (1.0, -1.0) if k == 0 or spare * 40 > k * length]
        offs: tuple[tuple[float, float], ...] = ((3.0, 1.0), (4.5, 1.0), (3.2, -1.0))
        if a.side in self.natural:
            offs = (*offs, *((off, way) for off in (6.5, 8.5, 11.0, 14.0) for way in (1.0, -1.0)))
        spots = (frame.to_plan((length * share, sign * off / self.pen.scale)) for off, sign in offs for share in shares)
        self.pen.label(Kind.LABEL, [text], spots, angle=angle, name=a.side)

    # --- caption

    def _caption(self, label: str) -> None:
        pen, piece = self.pen, self.piece
        x0, y0, _, _ = pen.bounds()
        y = y0 - 9.0
        job = self.layout.job
        pen.text(Kind.TITLE, pen.model((x0, y)), piece.id, height=TITLE, bold=True)
        pen.text(
            Kind.TITLE,
            pen.model((x0 + text_width(piece.id, TITLE, bold=True) + 4.0, y)),
            f"{label}  seen from above, this face up",
            height=SMALL,
        )
        pen.ring(
            Kind.TITLE,
            open_path([pen.model((x0, y - 2.0)), pen.model((x0 + 130.0, y - 2.0))]),
            closed=False,
            width=WIDE,
            hard=False,
        )
        kg = weight_kg(job, piece.area)
        weight = f"{kg / POUND_KG:.0f} lb" if job.job.units == "in" else f"{kg:.0f} kg"
        size = f"{self.labels.text(piece.length)} x {self.labels.text(piece.width)} x {self.labels.fine(job.wood.thickness)}"
        lines = [f"{piece.top}: {size}, {weight}", self._diagonals()]
        lines.append(layup_words(self.labels, layups_of(self.layout.laid)[piece.id]))
        lines.append("moisture at glue-up ____ %, at shipping ____ %")
        lines.append("dry fit ___   diagonals ___   all six faces finished ___")
        if self.scribed:
            lines.append("back: cut to the wall on site, along the dashed line as taped")
        for k, line in enumerate(lines):
            pen.text(Kind.TITLE, pen.model((x0, y - 6.5 - 4.2 * k)), line, height=SMALL)

    def _diagonals(self) -> str:
        """Say the two check diagonals between the outermost corners."""
        points = [p for ring in self.rings for p in _sharp(ring, self.piece)]
        rounded = any(self.piece.sides[s].kind == "corner" for s in self.piece.ring.sides() if s in self.piece.sides)
        before = ", before corners are taken off" if rounded else ""
        long, wide = self.piece.length, self.piece.width

        def outermost(sx: int, sy: int) -> Point:
            return max(points, key=lambda p: sx * p[0] / long + sy * p[1] / wide)

        corners = [outermost(sx, sy) for sx, sy in ((-1, -1), (1, 1), (-1, 1), (1, -1))]
        first, second = math.dist(corners[0], corners[1]), math.dist(corners[2], corners[3])
        return (
            f"check diagonals: left front to right back {self.labels.text(first)}, "
            f"left back to right front {self.labels.text(second)}{before}"
        )


def _sharp(ring: Ring, piece: Piece) -> list[Point]:
    """Return an outline's corners with those that were taken off put back where their sides would meet."""
    edges = list(ring.edges())
    out: list[Point] = []
    for k, (a, _) in enumerate(edges):
        side, before = piece.sides.get(a.side), edges[k - 1][0]
        cut_before = piece.sides.get(before.side)
        if side is not None and side.kind == "corner":
            (p, q), (r, s) = edges[k - 1], edges[(k + 1) % len(edges)]
            meet = _line(p, q).meets(_line(r, s)) if not p.bulge and not r.bulge else None
            out.append(a.at if meet is None else meet)
        elif cut_before is None or cut_before.kind != "corner":
            out.append(a.at)
    return out


def _line(p: Vertex, q: Vertex) -> Line:
    length = math.dist(p.at, q.at)
    return Line(p.x, p.y, (q.x - p.x) / length, (q.y - p.y) / length)


def angle_words(angle: float) -> str:
    """Return a joint's acute angle to the grain as printed."""
    if angle < 0.005:
        return "along the grain"
    return "square" if angle > 89.995 else f"{angle:.2f}° to the grain"


def _by_side(ring: Ring) -> Ring:
    """Return the ring without vertices in the middle of a straight line, unless a side ends there."""
    v = ring.clean().vertices
    kept = {p.at for p in v}
    n = ring.vertices
    return Ring(tuple(p for k, p in enumerate(n) if p.at in kept or n[k - 1].side != p.side))
