"""What the tables say of the pieces: sizes, cutouts, what is let in, natural edges, joints and edges."""

from __future__ import annotations

from layout.check_field import PROVEN
from layout.check_movement import openings
from layout.facts import cutout_piece
from layout.movement import movement, piece_movement
from layout.natural import natural_points
from layout.openings import Part
from layout.pieces import Joint, Piece
from layout.pipeline import Layout
from layout.plain_words import INITIAL, weight_text
from layout.profiles import SQUARE, side_profile
from layout.tabular import Block, Table
from layout.top_plans import side_words
from layout.wood import carriers


def _profiled(layout: Layout, piece: Piece) -> str:
    by_profile: dict[str, list[str]] = {}
    for side in piece.ring.sides():
        profile = side_profile(layout.job, piece, side)
        if profile != SQUARE and piece.sides[side].kind not in ("corner", "step"):
            by_profile.setdefault(profile, []).append(side_words(side))
    return "; ".join(f"{', '.join(sides)}: {profile}" for profile, sides in by_profile.items()) or "none"


def piece_table(layout: Layout) -> Block:
    """Return the pieces: size, weight, grain, edges and what each moves."""
    labels = layout.laid.labels
    thick = labels.fine(layout.job.wood.thickness)
    rows = tuple(
        (
            p.id,
            p.top,
            f"{labels.text(p.length)} x {labels.text(p.width)} x {thick}",
            _profiled(layout, p),
            f"{weight_text(layout, p.area)}, {carriers(layout.job, p.area)}",
            _moves(layout, p),
        )
        for p in layout.divided.pieces
    )
    heads = (
        ("piece", 0.07),
        ("of", 0.14),
        ("size, grain first", 0.3),
        ("profiled edges", 0.25),
        ("weight, carriers", 0.13),
        ("moves a year", 0.11),
    )
    return Table("Pieces", heads, rows)


def _moves(layout: Layout, piece: Piece) -> str:
    """Return how far a piece moves across its grain over the year, as printed."""
    moves = movement(layout.job)
    if moves is None:
        return "not known"
    found = piece_movement(moves, piece, end_grain=layout.job.wood.construction == "end grain")
    labels = layout.laid.labels
    return " x ".join(labels.fine(m) for m in found) if isinstance(found, tuple) else labels.fine(found)


def cutout_table(layout: Layout) -> Block | None:
    """Return the cutouts: where each is, its size and corners, and what proves it; None without any."""
    laid, labels = layout.laid, layout.laid.labels
    if not laid.cutouts:
        return None
    rows = []
    for cut in laid.cutouts:
        spec = layout.job.cutout[cut.index]
        size = (
            f"{labels.fine(cut.diameter)} dia."
            if cut.diameter is not None
            else f"{labels.text(cut.size[0])} x {labels.text(cut.size[1])}"
        )
        radius = "" if cut.diameter is not None or cut.template is not None else labels.fine(cut.radius)
        if cut.corner is not None:
            place, front = f"corner {cut.corner}, its middle", labels.text(cut.setback)
        elif cut.leg.wall is not None:
            place, front = f"{cut.leg.wall.name} {labels.text(cut.station)}", labels.text(cut.setback)
        else:
            x, y = next(t for t in laid.tops if t.name == cut.top).frame.from_plan(cut.center)
            place, front = f"left {labels.text(x)}", labels.text(y - cut.size[1] / 2)
        if spec.turn and cut.parent is None:
            place += f", turned {spec.turn:g}°"
        known = [spec.model] if spec.model and cut.parent is None else []
        if cut.parent is not None:
            pass
        elif spec.reveal is not None:
            known.append(_reveal(labels.fine(abs(float(spec.reveal))), float(spec.reveal)))
        elif cut.mount == "undermount":
            known.append("HOLD: reveal not given")
        if cut.parent is not None:
            known.append(f"with {cut.parent}")
        elif cut.template is not None:
            known.append(f"to template {cut.template.file}")
        if cut.template is None or spec.proof == "sketch":
            known.append(f"by {spec.proof}" if spec.proof in PROVEN else "HOLD: size not proven")
        kind = f"{cut.kind}, {cut.mount}" if cut.mount else cut.kind
        home = cutout_piece(layout.divided.pieces, cut.name) or "joint"
        rows.append((cut.name, kind, home, size, radius, place, front, "; ".join(known)))
    heads = (
        ("", 0.08),
        ("kind", 0.15),
        ("in", 0.07),
        ("size", 0.19),
        ("radius", 0.07),
        ("centre at", 0.15),
        ("front side at", 0.11),
        ("from", 0.18),
    )
    return Table("Cutouts", heads, tuple(rows))


def milled_table(layout: Layout) -> Block | None:
    """What is let into the faces, with its depth and where its middle lies."""
    laid, labels = layout.laid, layout.laid.labels
    rows = []
    for item in laid.milled:
        count = len(item.rings)
        size = f"{labels.text(item.size[0])} x {labels.fine(item.size[1])}"
        if count > 1:
            size = f"{count} of {size}, {labels.fine(item.spacing)} apart"
        x, y = item.leg.frame.from_plan(item.center)
        if item.leg.wall is not None:
            place = f"{item.leg.wall.name} {labels.text(x)}, {labels.text(y - item.leg.front)} from the front"
        else:
            top = next(t for t in laid.tops if t.name == item.top)
            x, y = top.frame.from_plan(item.center)
            place = f"left {labels.text(x)}, front {labels.text(y)}"
        if item.turn:
            place += f", turned {item.turn:g}°"
        if item.sink is not None:
            place = f"drains to {item.sink}; {place}"
        depth = "through" if item.depth is None else labels.fine(item.depth)
        rows.append((item.name, item.kind, size, depth, item.face, place))
    for cut in laid.cutouts:
        ledge = layout.job.cutout[cut.index].ledge
        if ledge is not None:
            width = f"{labels.fine(ledge.width)} wide round it"
            rows.append((cut.name, "ledge", width, labels.fine(ledge.depth), "below", "for the sink's rim"))
    if not rows:
        return None
    heads = (("", 0.08), ("let in", 0.12), ("size", 0.27), ("depth", 0.1), ("face", 0.1), ("its middle at", 0.33))
    return Table("Let into the faces", heads, tuple(rows))


def natural_table(layout: Layout) -> Block | None:
    """The points of edges left as the tree grew, as the piece's own dimensions run."""
    labels = layout.laid.labels
    rows = []
    for piece in layout.divided.pieces:
        for ring in piece.made_rings():
            for side, points in natural_points(layout.job, piece.top, ring).items():
                said = [(labels.text(x), labels.text(y)) for x, y in points]
                # two points a row, the second half of the edge beside the first
                half = (len(said) + 1) // 2
                beside = [*said[half:], ("", "")]
                name = f"{piece.id} {side_words(side)}"
                rows += [(name if n == 0 else "", *said[n], *beside[n]) for n in range(half)]
    if not rows:
        return None
    place = (("from the left end", 0.21), ("from the front", 0.18))
    heads = (("fair curve through", 0.22), *place, *place)
    return Table("Natural edges", heads, tuple(rows))


def _reveal(text: str, value: float) -> str:
    if value == 0:
        return "top flush with the bowl"
    return f"top {text} over the bowl" if value > 0 else f"top {text} back from the bowl"


def joint_table(layout: Layout) -> Block | None:
    """Return the joints: between which pieces, of what kind and angle; None without any."""
    labels = layout.laid.labels
    if not layout.divided.joints:
        return None
    rows = tuple(
        (
            j.id,
            j.kind,
            f"{j.pieces[0]} and {j.pieces[1]}",
            labels.text(j.length),
            " and ".join(f"{a:.2f}°".replace(".00°", "°") for a in j.angles),
            f"corner {j.corner}" if j.corner else _seam_place(layout, j.wall, j.station),
            _opens(layout, j),
            INITIAL,
        )
        for j in layout.divided.joints
    )
    heads = (
        ("", 0.06),
        ("kind", 0.14),
        ("between", 0.17),
        ("length", 0.13),
        ("to each grain", 0.19),
        ("at", 0.14),
        ("opens", 0.08),
        ("initial", 0.09),
    )
    return Table("Joints", heads, rows)


def _opens(layout: Layout, joint: Joint) -> str:
    """Return how far a mitre would open over the year at its worse end, as printed."""
    moves = movement(layout.job)
    found = None if moves is None else next((m for j, m in openings(layout.laid, moves) if j is joint), None)
    return "" if found is None else layout.laid.labels.fine(found)


def _seam_place(layout: Layout, wall: str | None, at: float | None) -> str:
    text = layout.laid.labels.text(at or 0.0)
    return f"wall {wall} {text}" if wall else f"{text} along the grain"


def edge_table(layout: Layout) -> Block | None:
    """What each side of a top is: its profile, or what it meets and is square for, with the length of both."""
    labels = layout.laid.labels
    rows = []
    for top in layout.laid.tops:
        groups: dict[str, list[tuple[str, float]]] = {}
        for part in (p for p in layout.divided.parts if p.top == top.name):
            for name in part.ring.sides():
                length = part.ring.side_length(name)
                if length > 0.5:
                    groups.setdefault(side_profile(layout.job, part, name), []).append(
                        (_side_meets(part, name), length)
                    )
        for profile in sorted(groups, key=lambda p: p == SQUARE):
            names = list(dict.fromkeys(name for name, _ in groups[profile]))
            total = sum(length for _, length in groups[profile])
            rows.append((top.name, profile, ", ".join(names), labels.text(total)))
    heads = (("edges of", 0.2), ("profile", 0.16), ("sides", 0.46), ("length", 0.18))
    return Table("Edges", heads, tuple(rows))


def _side_meets(part: Part, name: str) -> str:
    """Return a side's name as printed, with what it is square for where its name does not say so."""
    side = part.sides[name]
    if side.kind == "end" and not side.free:
        return f"{name} at the {side.end or 'piece beside it'}"
    return side_words(name)
