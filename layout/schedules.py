"""What the tables say: pieces, cutouts, joints, overhangs, supports, openings, walls, findings, material, cautions.

Words and numbers only; where they stand on paper is `sheets.py`'s affair.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from layout.access import way_in
from layout.check_field import PROVEN, held
from layout.check_movement import openings
from layout.check_strength import LEAST, bent
from layout.clouds import Revised
from layout.cutouts import station
from layout.facts import cutout_piece
from layout.findings import Finding
from layout.fitting import wall_fits
from layout.hold_downs import HoldDown, hold_downs, slots
from layout.job_tops import RunTop
from layout.moisture import house, moisture
from layout.movement import Movement, movement, piece_movement
from layout.natural import natural_points
from layout.openings import Part
from layout.pieces import Joint, Piece
from layout.pipeline import Layout
from layout.planning import planning_facts, reachable, top_height
from layout.profiles import SQUARE, side_profile
from layout.rules import ADA_HEIGHT, FIELD_JOINT, HOLD_DOWN_SLOT, TOLERANCES
from layout.strength import stuff
from layout.support import Overhang
from layout.tops import side_words
from layout.units import parse_length
from layout.wood import POUND_KG, carriers, species_of, weight_kg


@dataclass(frozen=True, slots=True)
class Table:
    """A table: its title, column heads with their share of the width, and rows."""

    title: str
    heads: tuple[tuple[str, float], ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Prose:
    """Lines of text under a title, each a paragraph."""

    title: str
    lines: tuple[str, ...]


Block = Table | Prose

CAUTIONS = (
    "The checks on this drawing are an aid to whoever decides. They are no engineering approval.",
    "Appliance, sink and cooktop makers' instructions, local codes and licensed practice (gas, electricity, water) rule over this drawing.",
    "Hold down by screws and washers in slots across the grain, so that the top can move; no adhesive but the sealant round a sink.",
    "Air must reach the underside. Keep the room at 40 to 55 % relative humidity. Seal every site cut at once, all its faces.",
    "A piece over 51 lb (23 kg), the NIOSH limit for one person under ideal conditions, is lifted by two or more; carry tops on edge.",
)
NATURAL = "Grain, colour, sapwood and knots vary and change with light: none of it is a fault."


def blocks(layout: Layout, told: Revised | None = None) -> list[Block]:
    """Return every table and text that the job calls for, in the order a reader wants them; ``told``: what was revised."""
    found: list[Block | None] = [
        _findings(layout),
        _pieces(layout),
        _cutouts(layout),
        _milled(layout),
        _natural(layout),
        _joints(layout),
        _edges(layout),
        _overhangs(layout),
        _supports(layout),
        _openings(layout),
        _splashes(layout),
        _walls(layout),
        _at_walls(layout),
        _stations(layout),
        _measures(layout),
        _material(layout),
        _included(layout),
        _revisions(layout, told or Revised()),
        _planning(layout),
        _tolerances(layout),
    ]
    return [b for b in found if b is not None]


def setting_blocks(layout: Layout) -> list[Block]:
    """Return what stands beside the setting plan: hold-downs, the order of setting, cautions, care."""
    care = Prose("Care", (CARE[layout.job.wood.finish], CARE_ALWAYS))
    return [hold_down_table(layout), setting_order(layout), Prose("Cautions", CAUTIONS), care]


def hold_down_table(layout: Layout) -> Table:
    """Return how each piece is held down, line by line from its front: where the screws stand, which slide in what slots."""
    labels = layout.laid.labels
    length = dict(slots(layout.laid))
    units = layout.job.job.units
    usual = float(parse_length(HOLD_DOWN_SLOT.text(units), units))
    rows = []
    for piece in layout.divided.pieces:
        lines: dict[tuple[int, bool], list[HoldDown]] = {}
        for hold in (h for h in hold_downs(layout.laid) if h.piece == piece.id):
            lines.setdefault((labels.ticks(piece.frame.from_plan(hold.at)[1]), hold.fixed), []).append(hold)
        for (across, fixed), here in sorted(lines.items()):
            along = sorted(labels.ticks(piece.frame.from_plan(h.at)[0]) for h in here)
            slot = labels.at_least(max([usual, *(length.get(h, 0.0) for h in here)]))
            how = "fixed" if fixed else f"slots {slot}"
            rows.append((piece.id, labels.of_ticks(across), ", ".join(labels.of_ticks(x) for x in along), how))
    heads = (("piece", 0.08), ("from its front", 0.18), ("from its left end", 0.52), ("screws", 0.22))
    return Table("Hold-downs", heads, tuple(rows))


CARE = {
    "oil varnish": "Oil varnish, satin and water-resistant: no cutting surface; sanded and oiled again every three to five years.",
    "mineral oil": "Mineral oil, for chopping: not waterproof; wiped on again whenever the wood looks dry.",
    "none": "Unfinished: the owner finishes all six faces before the top is set, and keeps it so.",
}
"""Care by finish; common practice, no source."""
CARE_ALWAYS = (
    "Spills wiped at once; mild soap and warm water; a tenth of white vinegar in water disinfects; no ammonia."
)


def setting_order(layout: Layout) -> Prose:
    """Return what whoever sets the tops does, in order, as this job has it."""
    laid, labels, job = layout.laid, layout.laid.labels, layout.job
    mounts = {c.mount for c in laid.cutouts if c.kind == "sink"}
    kinds = {o.kind for o in layout.divided.openings}
    counts = {p.id: carriers(job, p.area) for p in layout.divided.pieces}
    heavy = [name for name, count in counts.items() if count > 1]
    steps = ["Cabinets level, fixed and as drawn; openings and walls held against this drawing before anything is cut."]
    if heavy:
        names = ", ".join(f"{name} by {counts[name]}" for name in heavy)
        metric = job.job.units == "mm"
        lift = f"{job.load.lift * POUND_KG:.0f} kg" if metric else f"{job.load.lift:g} lb"
        most = "23 kg" if metric else "51 lb"
        steps.append(f"Carried on edge: {names} ({lift} each; NIOSH's limit under ideal conditions is {most}).")
    if laid.supports:
        under = sorted({labels.text(top_height(laid, t) - float(job.wood.thickness)) for t in laid.tops})
        steps.append(
            f"Brackets and other supports fixed to what is built, their tops {', '.join(under)} above the floor."
        )
    if "apron" in mounts:
        steps.append("Apron sinks stand in their cabinets before the top comes.")
    if "undermount" in mounts:
        steps.append("Undermount sinks are hung from below once the top lies, before the plumbing.")
    if any(isinstance(t, RunTop) and t.back == "scribe" for t in job.top):
        steps.append("Backs scribed to the walls; the cut sealed at once.")
    if layout.divided.joints:
        steps.append("Pieces dry-fitted, faces flush, joints drawn up at the back, then in front, then between.")
    steps.append(
        "Screwed down from below, washers snug and no more: full dots fixed, slots across the grain free to slide."
    )
    gap = "The gap at each wall left as drawn; no" if any(isinstance(t, RunTop) for t in job.top) else "No"
    steps.append(f"{gap} adhesive below, no sealant but round a sink; every site cut sealed.")
    if "drop-in" in mounts or any(c.kind == "cooktop" for c in laid.cutouts):
        steps.append("Drop-in sinks and cooktops set last, their cut faces sealed, by their makers' instructions.")
    if "dishwasher" in kinds:
        steps.append("A barrier against steam above the dishwasher.")
    if any(_has_splash(t) for t in job.top):
        steps.append("Splashes fixed to the wall, not to the top.")
    steps.append("Gas, electricity and water by licensed trades, by the appliances' instructions and local codes.")
    who = job.job.contact or job.job.maker
    steps.append(f"Anything that does not agree with this drawing: stop, and call {who or 'the maker'}.")
    return Prose("Setting, in order", tuple(f"{n}. {step}" for n, step in enumerate(steps, start=1)))


def _has_splash(top: object) -> bool:
    if not isinstance(top, RunTop):
        return False
    return any(s.mm > 0 for s in (top.splash.values() if isinstance(top.splash, dict) else (top.splash,)))


def weight_text(layout: Layout, area: float) -> str:
    """Return a weight as printed: whole pounds or kilograms."""
    kg = weight_kg(layout.job, area)
    return f"{kg / POUND_KG:.0f} lb" if layout.job.job.units == "in" else f"{kg:.0f} kg"


def _findings(layout: Layout) -> Block:
    if not layout.findings:
        return Prose("Findings", ("None. What the checks cannot see stays to be verified.",))
    rows = tuple(
        (str(n), f.severity, finding_words(f), INITIAL if f.severity != "note" else "")
        for n, f in enumerate(layout.findings, start=1)
    )
    return Table("Findings", (("", 0.06), ("", 0.09), ("finding, and what to do", 0.75), ("initial", 0.1)), rows)


INITIAL = "______"
"""Where the dealer puts initials."""


def finding_words(f: Finding) -> str:
    """Return a finding and its remedy as two sentences, in words for a reader who has no job file."""
    message, remedy = plain(f.message), plain(f.remedy)
    return f"{message[:1].upper()}{message[1:]}. {remedy[:1].upper()}{remedy[1:]}."


_PLAIN = (
    (
        r'\[shop\] seams = "way in" places the seams so, or a seam by hand( under \[\[\w+\]\])?',
        "a seam where it passes",
    ),
    (r",? and (list|give|say) (it|so|them|both walls)( |)(under|in|into|with)? ?\[\[?\w+\]\]?", ""),
    (r",? and say so under (\[\w+\]|\w+)", ""),
    (r",? and (give it|list it) under \[\[?\w+\]\]?", ""),
    (r" ?(under|by|with|in|into) \[\[?\w+\]\]?", ""),
    (r"\bwall_gap\b", "the gap at the wall"),
    (r" into top_height\b", ""),
    (r"\btop_height\b", "its heights"),
    (r"\b(max_length|max_width|min_piece|seam_clear|opening_clear|overhang_limit)\b", "the shop's limit"),
    (r" under corners\b", ""),
    (r'through = "(\w+)"( and beyond = "([^"]+)"?")?', r"\1 running through"),
)
"""What a job file's words become on a sheet."""


def plain(text: str) -> str:
    """Return a finding's words without those that only a job file has."""
    for pattern, words in _PLAIN:
        text = re.sub(pattern, words, text)
    return text


def _profiled(layout: Layout, piece: Piece) -> str:
    by_profile: dict[str, list[str]] = {}
    for side in piece.ring.sides():
        profile = side_profile(layout.job, piece, side)
        if profile != SQUARE and piece.sides[side].kind not in ("corner", "step"):
            by_profile.setdefault(profile, []).append(side_words(side))
    return "; ".join(f"{', '.join(sides)}: {profile}" for profile, sides in by_profile.items()) or "none"


def _pieces(layout: Layout) -> Block:
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


def _cutouts(layout: Layout) -> Block | None:
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


def _milled(layout: Layout) -> Block | None:
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


def _natural(layout: Layout) -> Block | None:
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


def _joints(layout: Layout) -> Block | None:
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


def _edges(layout: Layout) -> Block | None:
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


def _revisions(layout: Layout, told: Revised) -> Block | None:
    """The revisions as the job lists them, and the one this is, by what changed where the job does not say."""
    rows = [(c.letter, str(c.date or ""), c.note, c.by) for c in layout.job.revision]
    job = layout.job.job
    if told.letter and not any(c.letter == told.letter for c in layout.job.revision):
        rows.append((told.letter, str(job.date or ""), told.note, job.drawn_by))
    if not rows:
        return None
    heads = (("revision", 0.14), ("date", 0.18), ("what changed", 0.5), ("by", 0.18))
    return Table("Revisions", heads, tuple(rows))


def _included(layout: Layout) -> Block:
    """What the maker delivers, and what others do."""
    laid, job = layout.laid, layout.job
    finished = "unfinished" if job.wood.finish == "none" else "all six faces finished"
    ours = [f"tops in the pieces drawn, edges profiled, {finished}"]
    if laid.cutouts:
        held_ = [c.name for c in laid.cutouts if held(job, c)]
        ours.append("cutouts and holes as drawn" + (f" once proven ({', '.join(held_)} on HOLD)" if held_ else ""))
    if layout.divided.joints:
        ours.append("joints cut and fitted, with their fasteners")
    if layout.splashes:
        ours.append("splashes as listed")
    theirs: list[str] = []
    models = [
        job.cutout[c.index].model for c in laid.cutouts if not c.hole and c.parent is None and job.cutout[c.index].model
    ]
    kinds = [c.kind for c in laid.cutouts]
    if kinds:
        named = [f"{k}s" for k in ("sink", "cooktop") if k in kinds] + (["faucets"] if "hole" in kinds else [])
        theirs.append(
            (", ".join(named) or "what goes into the cutouts") + (f" ({'; '.join(models)})" if models else "")
        )
    if laid.supports:
        theirs.append(f"{', '.join(sorted({f'{s.kind}s' for s in laid.supports}))} as listed")
    theirs += ["cabinets level and fixed", "setting, screws and washers, sealant"]
    theirs.append("gas, electricity and water by licensed trades")
    return Prose("Included, and done by others", (f"Included: {'; '.join(ours)}.", f"By others: {'; '.join(theirs)}."))


def _planning(layout: Layout) -> Block | None:
    """What planning guidelines want and is not drawn so, and the seats; for information."""
    labels = layout.laid.labels
    rows = tuple(
        (
            fact.what,
            fact.guideline,
            " and ".join(labels.text(w) for w in fact.wanted),
            " and ".join(labels.text(d) for d in fact.drawn),
        )
        for fact in planning_facts(layout.laid)
        if fact.short or "seats" in fact.what or "knees" in fact.what
    )
    if not rows:
        return None
    seated = [t for t in layout.laid.tops if layout.job.top[t.index].seats]
    for top in seated:
        height = top_height(layout.laid, top)
        if not reachable(height):
            limits = (labels.text(inches * 25.4) for inches in ADA_HEIGHT)
            rows += (
                (
                    f"height of {top.name}, where it applies",
                    "ADA 2010, 902.3",
                    " to ".join(limits),
                    labels.text(height),
                ),
            )
    heads = (("for information, no approval", 0.38), ("guideline", 0.22), ("wanted", 0.2), ("drawn", 0.2))
    return Table("Planning", heads, rows)


def _tolerances(layout: Layout) -> Block:
    grade = layout.job.shop.grade
    site = (("joint made on site, gap", f"{FIELD_JOINT[grade]}, {grade} grade", "AWI 0620-2018, 3.4.1.1"),)
    rows = (*TOLERANCES, *site)
    return Table("Tolerances", (("", 0.3), ("at most", 0.42), ("by", 0.28)), rows)


def _overhangs(layout: Layout) -> Block | None:
    labels = layout.laid.labels
    limit = labels.fine(layout.job.shop.overhang_limit)
    rows = tuple(
        (o.top, side_words(o.side), labels.fine(o.amount), _verdict(layout, o), *_bends(layout, o), INITIAL)
        for carried in layout.laid.carried
        for o in carried.overhangs
        if o.amount > 0.01
    )
    if not rows:
        return None
    heads = (
        ("top", 0.18),
        ("side", 0.15),
        ("overhang", 0.11),
        (f"limit {limit}", 0.17),
        ("bends, of at most", 0.18),
        ("of strength", 0.11),
        ("initial", 0.1),
    )
    return Table("Overhangs beyond what carries them", heads, rows)


def _bends(layout: Layout, over: Overhang) -> tuple[str, str]:
    """Return an overhang's tip deflection under load with what is let pass, and its root's share of the strength."""
    of = stuff(layout.job)
    if of is None or over.amount <= LEAST:
        return ("", "")
    b = bent(layout.laid, of, over)
    if layout.job.job.units == "in":
        return (f'{b.deflection / 25.4:.3f}" of {b.limit / 25.4:.3f}"', f"{100 * b.stress_ratio:.0f} %, {b.bending}")
    return (f"{b.deflection:.2f} of {b.limit:.2f}", f"{100 * b.stress_ratio:.0f} %, {b.bending}")


def _verdict(layout: Layout, over: Overhang) -> str:
    if not over.supported:
        return "NOT CARRIED"
    return "within the limit" if over.amount <= float(layout.job.shop.overhang_limit) + 0.01 else "carried"


def _supports(layout: Layout) -> Block | None:
    laid, labels = layout.laid, layout.laid.labels
    if not laid.supports:
        return None
    rows = []
    for support in laid.supports:
        spec = layout.job.support[support.index]
        size = f"{labels.text(float(spec.size[0]))} x {labels.text(float(spec.size[1]))}"
        top = next(t for t in laid.tops if t.name == support.top)
        leg = top.leg(spec.wall)
        x0, y0, x1, y1 = support.ring.bounds(leg.frame if spec.wall else top.frame)
        if spec.wall:
            place = f"wall {spec.wall} {labels.text((x0 + x1) / 2)}, front {labels.text(y0 - leg.front)}"
        else:
            place = f"left {labels.text((x0 + x1) / 2)}, front {labels.text((y0 + y1) / 2)}"
        high = labels.text(top_height(laid, top) - float(layout.job.wood.thickness))
        rows.append((support.name, support.kind, support.top, size, place, high))
    heads = (("", 0.07), ("kind", 0.15), ("under", 0.17), ("size", 0.19), ("centre at", 0.28), ("its top at", 0.14))
    return Table("Supports", heads, tuple(rows))


_FITS = {
    "slide-in": "slide-in, its rim over the ends",
    "freestanding": "freestanding, between the ends",
    "drop-in": "drop-in, hung between the ends",
}


def _openings(layout: Layout) -> Block | None:
    labels = layout.laid.labels
    if not layout.divided.openings:
        return None
    rows = []
    for o in layout.divided.openings:
        spec = layout.job.appliance[o.index]
        wall = f"wall {o.leg.wall.name} " if o.leg.wall else ""
        what = "the run stops for it" if o.breaks else "below the top"
        if o.strip:
            what += f"; strip {labels.text(o.strip)} behind it, on a cleat at the wall"
        known: list[str] = [_FITS[spec.fit]] if spec.fit else []
        if spec.top_height:
            known.append(f"top at {labels.fine(spec.top_height[0])} to {labels.fine(spec.top_height[1])}")
        known.append(spec.model or "model not given")
        rows.append((o.kind, f"{wall}{labels.text(o.start)}", labels.text(o.end - o.start), what, ", ".join(known)))
    heads = (("opening", 0.2), ("left side at", 0.22), ("width", 0.14), ("", 0.22), ("appliance", 0.22))
    return Table("Appliances", heads, tuple(rows))


def _walls(layout: Layout) -> Block | None:
    labels, room = layout.laid.labels, layout.laid.room
    if not room.walls:
        return None
    rows = []
    for k, wall in enumerate(room.walls):
        corner = layout.job.wall[k].corner
        last = k == len(room.walls) - 1 and not room.closed
        how = (
            ""
            if last
            else "by angle"
            if isinstance(corner, float)
            else "by tapes"
            if isinstance(corner, tuple)
            else "by square"
        )
        bow = ", ".join(f"{labels.fine(b)} at {labels.text(s)}" for s, b in wall.bow)
        kind = "open line" if wall.open else "wall"
        rows.append((wall.name, kind, labels.text(wall.length), "" if last else f"{wall.corner:.2f}°", how, bow))
    heads = (("", 0.08), ("", 0.16), ("length", 0.2), ("corner to next", 0.2), ("got", 0.14), ("bow, back +", 0.22))
    return Table("Walls as measured", heads, tuple(rows))


def _at_walls(layout: Layout) -> Block | None:
    """How each back meets a wall that is not straight, or that it is scribed to, station by station."""
    laid, labels = layout.laid, layout.laid.labels
    rows = []
    for fit in wall_fits(layout.job, laid.tops, laid.divided.parts):
        wall = fit.leg.wall
        if wall is None or (not wall.bow and fit.back != "scribe"):
            continue
        stands = (
            f"{labels.fine(abs(fit.bow))} {'back' if fit.bow > 0 else 'proud'}" if abs(fit.bow) > 0.2 else "on its line"
        )
        off = f"take off {labels.fine(fit.take_off)}" if fit.take_off > 0.2 else "as made"
        rows.append((f"{fit.top}, {wall.name}", labels.text(fit.station), stands, off, labels.fine(fit.gap)))
    if not rows:
        return None
    heads = (("back along", 0.26), ("station", 0.18), ("the wall stands", 0.22), ("on site", 0.2), ("gap left", 0.14))
    return Table("Backs at walls", heads, tuple(rows))


_SPLASH_END = {"wall": "at the wall", "panel": "at the panel", "splash": "butts the next", "free": "free, eased"}


def _splashes(layout: Layout) -> Block | None:
    labels = layout.laid.labels
    rows = tuple(
        (
            s.top,
            f"along {s.side}" if s.side not in ("left", "right") else f"{s.side} end",
            labels.text(s.length),
            labels.fine(s.height),
            labels.fine(s.thickness),
            f"{_SPLASH_END[s.ends[0]]}; {_SPLASH_END[s.ends[1]]}",
        )
        for s in layout.splashes
    )
    if not rows:
        return None
    heads = (
        ("splash of", 0.18),
        ("side", 0.15),
        ("length", 0.17),
        ("height", 0.1),
        ("thickness", 0.1),
        ("left end; right end", 0.3),
    )
    return Table("Splashes, pieces of their own", heads, rows)


def _stations(layout: Layout) -> Block | None:
    """What stands where along each wall, from both hands, to hold against the sketch."""
    laid, labels = layout.laid, layout.laid.labels
    rows = []
    for wall in laid.room.walls:
        spots = _along(layout, wall.name)
        for k, (x, what) in enumerate(sorted(spots, key=lambda spot: (spot[0], spot[1]))):
            name = wall.name if k == 0 else ""
            rows.append((name, what, labels.text(x), labels.text(wall.length - x)))
    if not rows:
        return None
    heads = (("wall", 0.1), ("", 0.46), ("from the left", 0.22), ("from the right", 0.22))
    return Table("Stations", heads, tuple(rows))


def _along(layout: Layout, wall: str) -> list[tuple[float, str]]:
    """Return the stations of everything placed along a wall, mm, with what it is."""
    laid, job = layout.laid, layout.job
    out = [(c.station, f"{c.name} centre") for c in laid.cutouts if c.leg.wall is not None and c.leg.wall.name == wall]
    for opening in layout.divided.openings:
        if opening.leg.wall is not None and opening.leg.wall.name == wall:
            out += [(opening.start, f"{opening.kind}, left side"), (opening.end, f"{opening.kind}, right side")]
    for window in job.window:
        if window.wall == wall:
            x = station(laid.room, wall, float(window.at), window.from_)
            out += [
                (x, f"window {window.name}, left side"),
                (x + float(window.width), f"window {window.name}, right side"),
            ]
    out += [(j.station, f"{j.id}, seam") for j in layout.divided.joints if j.wall == wall and j.station is not None]
    for notch in job.notch:
        if notch.wall == wall:
            x = station(laid.room, wall, float(notch.at), notch.from_)
            out += [(x, "notch, left side"), (x + float(notch.width), "notch, right side")]
    for cabinet in job.cabinet:
        if cabinet.wall == wall:
            x = station(laid.room, wall, float(cabinet.at), cabinet.from_)
            out += [(x, "cabinet, left side"), (x + float(cabinet.width), "cabinet, right side")]
    return out


def _measures(layout: Layout) -> Block | None:
    labels, room = layout.laid.labels, layout.laid.room
    rows = [
        (
            f"{m.from_} to {m.to}",
            labels.text(m.measured),
            labels.text(m.computed),
            # of the figures as printed, so that the row adds up
            labels.of_ticks(labels.ticks(m.measured) - labels.ticks(m.computed)),
        )
        for m in room.measures
    ]
    if room.closure is not None:
        rows.append(("closing error of the walls", "", labels.fine(room.closure), ""))
    if not rows:
        return None
    heads = (("check measure", 0.4), ("taped", 0.2), ("as drawn", 0.2), ("difference", 0.2))
    return Table("Check measures", heads, tuple(rows))


def _material(layout: Layout) -> Block:
    job, labels = layout.job, layout.laid.labels
    wood, shop = job.wood, job.shop
    species = species_of(job)
    finish = {"none": "no finish, left to the owner"}.get(wood.finish, f"{wood.finish} on all six faces")
    botanical = f" ({species.botanical_name})" if species.botanical_name else ""
    lines = [
        f"{species.common_name}{botanical}, {wood.construction}, {labels.fine(wood.thickness)} thick, {wood.boards} boards, "
        f"sapwood {wood.sapwood}; {finish}.",
        f"Edges {wood.edge} where not said otherwise; sides at walls, appliances, panels and joints square.",
        NATURAL,
    ]
    for k, top in enumerate(job.top):
        lines.append(_top_line(layout, k, top.name))
    usual = "" if job.site.humidity else ", the usual figure"
    lines.append(
        f"Gap between top and walls {labels.fine(shop.wall_gap)}. Weights at {moisture(job):.1f} % moisture{usual}."
    )
    lines += _year(layout)
    lines.append(_measured(layout))
    lines += _templates(layout)
    lines += _site(layout)
    if job.job.customer or job.job.site:
        lines.append(f"For {', '.join(part for part in (job.job.customer, job.job.site) if part)}.")
    lines += list(job.job.notes)
    return Prose("Material and notes", tuple(lines))


def _year(layout: Layout) -> list[str]:
    """Say what the house does to the wood, by which figures, and how overhangs were tried."""
    job = layout.job
    year, moves, of = house(job), movement(job), stuff(job)
    low, high = year.humidity
    keeps = "the house keeps" if year.stated else "house not known, taken as"
    words = f"Moisture {year.low:.1f} to {year.high:.1f} % ({keeps} {low:g} to {high:g} % humidity), made at {year.middle:.1f} %"
    if moves is not None:
        words += f"; moves across the grain by {moves.coefficient:.5f} for each 1 %, {moves.basis}"
    out = [f"{words}.", *_sealant(layout, moves)]
    out += [f"{remark[:1].upper()}{remark[1:]}." for remark in year.remarks]
    if of is not None:
        load = job.load
        point = f"{load.point:g} lb" if job.job.units == "in" else f"{load.point * POUND_KG:.0f} kg"
        out.append(
            f"Overhangs tried with {point} on {layout.laid.labels.text(load.strip)} at the edge, weight by {load.creep:g}, "
            f"against twice their length by {load.deflection:g}: an aid, no approval; no published rule for wood tops was found."
        )
        out += [f"{words[:1].upper()}{words[1:]}." for words in of.fallback]
    total = sum(weight_kg(job, p.area) for p in layout.divided.pieces)
    whole = f"{total / POUND_KG:.0f} lb" if job.job.units == "in" else f"{total:.0f} kg"
    lift = f"{job.load.lift:g} lb" if job.job.units == "in" else f"{job.load.lift * POUND_KG:.0f} kg"
    out.append(f"All pieces together {whole}; carriers by {lift} each.")
    return out


def _sealant(layout: Layout, moves: Movement | None) -> list[str]:
    """Say how far the wood round each undermount sink moves against its bowl, which the sealant must take."""
    if moves is None:
        return []
    out = []
    for piece in layout.divided.pieces:
        for cut in (c for c in piece.cutouts if c.mount == "undermount"):
            _, y0, _, y1 = cut.ring.bounds(piece.frame)
            most = layout.laid.labels.fine(moves.year(y1 - y0))
            out.append(
                f"{cut.name}: its opening moves {most} across the grain over the year against the bowl; the sealant takes it."
            )
    return out


def _templates(layout: Layout) -> list[str]:
    """Say of each template what its size came out as, so that a slip of the unit is seen, and what was made of it."""
    labels = layout.laid.labels
    out = []
    for cut in layout.laid.cutouts:
        of = cut.template
        if of is None or cut.parent is not None:
            continue
        x0, y0, x1, y1 = of.ring.bounds()
        made = f"; {'; '.join(of.notes)}" if of.notes else ""
        words = f"{cut.name} is cut to template {of.file}, {labels.fine(x1 - x0)} x {labels.fine(y1 - y0)} as drawn there in {of.units}"
        out.append(f"{words} (SHA-256 {of.sha256[:12]}...){made}.")
    return out


def _measured(layout: Layout) -> str:
    field = layout.job.field
    who = f"Measured{f' by {field.by}' if field.by else ''}{f' on {field.date}' if field.date else ''}"
    if not field.by and not field.date:
        who = "Who measured, and when, is not said"
    state = f"walls {field.walls or 'not said how far'}, cabinets {field.cabinets or 'not said whether set'}"
    sure = field.walls == "finished" and field.cabinets == "set"
    return f"{who}; {state}.{'' if sure else ' VERIFY IN FIELD.'}"


def _top_line(layout: Layout, k: int, name: str) -> str:
    job, labels = layout.job, layout.laid.labels
    top = job.top[k]
    words = []
    if isinstance(top, RunTop):
        legs = layout.laid.tops[k].legs
        made = sorted({labels.text(g.back - g.front) for g in legs if not g.followed})
        made += ["following the wall"] if any(g.followed for g in legs) else []
        made = [f"{m} with the scribe wood" for m in made] if top.back == "scribe" else made
        depths = [top.depth[w] for w in top.along] if isinstance(top.depth, dict) else [top.depth]
        ordered = ", ".join(dict.fromkeys(labels.text(d) for d in depths))
        off = "off the wall" if top.depth_from == "wall" else "from its own back"
        words.append(f"ordered {ordered} deep {off}, made {', '.join(made)}")
        words.append(_splash_words(layout, top))
    if top.height is not None:
        words.append(f"{labels.fine(top.height)} above the floor")
    if top.seats:
        words.append(f"{top.seats} seats")
    words.append(
        f"on {'a solid deck' if top.below == 'solid deck' else 'a frame' if top.below == 'frame' else 'cabinets'}"
    )
    return f"{name}: {', '.join(w for w in words if w)}."


def _splash_words(layout: Layout, top: RunTop) -> str:
    labels = layout.laid.labels
    sides = list(dict.fromkeys(f"{labels.fine(s.height)} along {s.side}" for s in layout.splashes if s.top == top.name))
    return f"backsplash {', '.join(sides)}, {labels.fine(top.splash_thickness)} thick" if sides else "no backsplash"


def _site(layout: Layout) -> list[str]:
    site, labels = layout.job.site, layout.laid.labels
    words = []
    if site.humidity:
        words.append(f"the house keeps {site.humidity[0]:g} to {site.humidity[1]:g} % relative humidity")
    if site.temperature:
        words.append(site.temperature.replace("F", "°F").replace("C", "°C"))
    if site.door:
        words.append(f"tightest door {labels.text(site.door[0])} x {labels.text(site.door[1])}")
    if site.hall:
        words.append(f"tightest turn {labels.text(site.hall[0])} into {labels.text(site.hall[1])}")
    if site.ceiling:
        words.append(f"ceiling {labels.text(site.ceiling)}")
    if site.lift:
        words.append(f"lift {' x '.join(labels.text(d) for d in site.lift)}")
    way = way_in(layout.job, max(p.width for p in layout.divided.pieces))
    if way is not None:
        words.append(f"longest piece of the widest that gets in {labels.text(way.longest)}, by the {way.by}")
    return [f"Site: {', '.join(words)}."] if words else []
