"""What the tables say of the room and what carries the tops: overhangs, supports, openings, walls, splashes, measures."""

from __future__ import annotations

from layout.check_strength import LEAST, bent
from layout.cutouts import station
from layout.fitting import wall_fits
from layout.pipeline import Layout
from layout.plain_words import INITIAL
from layout.planning import top_height
from layout.strength import stuff
from layout.support import Overhang
from layout.tabular import Block, Table
from layout.top_plans import side_words


def overhang_table(layout: Layout) -> Block | None:
    """Return the overhangs with what they bear; None without any."""
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


def support_table(layout: Layout) -> Block | None:
    """Return what carries the tops beside cabinets; None without any."""
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


def opening_table(layout: Layout) -> Block | None:
    """Return appliances, windows and other openings; None without any."""
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


def wall_table(layout: Layout) -> Block | None:
    """Return the walls as measured; None without any."""
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


def fit_table(layout: Layout) -> Block | None:
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


def splash_table(layout: Layout) -> Block | None:
    """Return the splashes; None without any."""
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


def station_table(layout: Layout) -> Block | None:
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


def measure_table(layout: Layout) -> Block | None:
    """Return the check measures beside what they come to; None without any."""
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
