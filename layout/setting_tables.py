"""What whoever sets the tops reads: hold-downs, the order of setting, care."""

from __future__ import annotations

from layout.hold_downs import HoldDown, hold_downs, slots
from layout.job_tops import RunTop
from layout.pipeline import Layout
from layout.plain_words import CAUTIONS
from layout.planning import top_height
from layout.rules import HOLD_DOWN_SLOT
from layout.tabular import Block, Prose, Table
from layout.wood import POUND_KG, carriers


def setting_blocks(layout: Layout) -> list[Block]:
    """Return what stands beside the setting plan: hold-downs, the order of setting, cautions, care."""
    care = Prose("Care", (CARE[layout.job.wood.finish], CARE_ALWAYS))
    return [hold_down_table(layout), setting_order(layout), Prose("Cautions", CAUTIONS), care]


def hold_down_table(layout: Layout) -> Table:
    """Return how each piece is held down, line by line from its front: where the screws stand, which slide in what slots."""
    labels = layout.laid.labels
    length = dict(slots(layout.laid))
    units = layout.job.job.units
    usual = HOLD_DOWN_SLOT.size(units)
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
