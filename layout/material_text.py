"""What the material paragraph says: the wood and its year, sealant, templates, each top, the site."""

from __future__ import annotations

from layout.access import way_in
from layout.job_tops import RunTop
from layout.moisture import house, moisture
from layout.movement import Movement, movement
from layout.pipeline import Layout
from layout.plain_words import NATURAL
from layout.strength import stuff
from layout.tabular import Block, Prose
from layout.wood import POUND_KG, species_of, weight_kg


def material_text(layout: Layout) -> Block:
    """Return what the tops are made of and how they are finished, measured and delivered, as lines."""
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
