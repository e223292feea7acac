"""What must be bought and made for a job, in one value: lay-ups, boards, yield, edges, cutouts, joints, finish, crate."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from layout.cut_list import CutList, Lot, cut_list
from layout.cut_offs import CutOff, cut_offs
from layout.facts import tidy
from layout.laid import layups_of
from layout.layup import LayUp
from layout.lumber import BOARD_FOOT_MM3, CUBIC_METRE_MM3, surface_measure
from layout.pipeline import Layout
from layout.splashes import Splash
from layout.takeoff import (
    Crate,
    CutoutCount,
    EdgeLength,
    JointCount,
    SupportCount,
    crate,
    cutout_counts,
    edge_lengths,
    finish_area,
    joint_counts,
    net_kg,
    splash_kg,
    support_counts,
)
from layout.units import UNIT_MM, Unit
from layout.wood import POUND_KG, species_of


@dataclass(frozen=True, slots=True)
class Materials:
    """A job's materials. Volumes mm3, areas mm2, weights kg; ``net``: as made, ``bought``: as boards come."""

    layups: tuple[LayUp, ...]
    cut: CutList
    offs: tuple[CutOff, ...]
    net: float
    edges: tuple[EdgeLength, ...]
    cutouts: tuple[CutoutCount, ...]
    joints: tuple[JointCount, ...]
    supports: tuple[SupportCount, ...]
    finish: float
    crate: Crate
    weight: float

    @property
    def bought(self) -> float:
        """The wood bought, mm3."""
        return sum(lot.bought for lot in self.cut.lots)

    @property
    def from_offs(self) -> frozenset[str]:
        """The pieces and splashes that are made of cut-offs and need no boards."""
        return frozenset(name for off in self.offs for name in off.used)


def materials(layout: Layout) -> Materials:
    """Return what a job takes."""
    job = layout.job
    layups = tuple(layups_of(layout.laid).values())
    offs = cut_offs(job, layout.divided.pieces, layups, layout.splashes)
    made = {name for off in offs for name in off.used}
    net = sum(p.area for p in layout.divided.pieces) * float(job.wood.thickness)
    net += sum(s.length * s.height * s.thickness for s in layout.splashes)
    return Materials(
        layups=layups,
        cut=cut_list(job, [u for u in layups if u.piece not in made], _splashes(layout, made)),
        offs=offs,
        net=net,
        edges=edge_lengths(layout),
        cutouts=cutout_counts(layout),
        joints=joint_counts(layout),
        supports=support_counts(layout),
        finish=finish_area(layout),
        crate=crate(layout),
        weight=net_kg(layout),
    )


def _splashes(layout: Layout, made: set[str]) -> list[tuple[str, Splash]]:
    """Return the splashes that need boards, each under its mark."""
    return [(f"BS{k}", s) for k, s in enumerate(layout.splashes, start=1) if f"BS{k}" not in made]


# --- for programs ----------------------------------------------------------------------------------------------------


class _Out:
    """Figures in the units of a job: lengths in job units, volumes in board feet or m3, weights in lb or kg."""

    def __init__(self, units: Unit) -> None:
        self.units = units
        self.unit = float(UNIT_MM[units])

    def length(self, mm: float) -> float:
        return tidy(mm / self.unit)

    def area(self, mm2: float) -> float:
        return tidy(mm2 / self.unit**2)

    def volume(self, mm3: float) -> float:
        return tidy(mm3 / (BOARD_FOOT_MM3 if self.units == "in" else CUBIC_METRE_MM3))

    def weight(self, kg: float) -> float:
        return tidy(kg / POUND_KG if self.units == "in" else kg)


def materials_report(layout: Layout, of: Materials) -> dict[str, Any]:
    """Return materials.json as a dict: lengths in job units, areas in their square, volumes in board feet (m3 where the
    job is in mm), weights in lb or kg."""
    out = _Out(layout.job.job.units)
    return {
        "job": {"number": layout.job.job.number, "revision": layout.job.job.revision, "units": out.units},
        "species": species_of(layout.job).common_name,
        "volume_unit": "board feet" if out.units == "in" else "m3",
        "boards": [_layup(u, out, of) for u in of.layups],
        "board_feet_net": out.volume(of.net),
        "board_feet": out.volume(of.bought),
        "yield": tidy(of.net / of.bought) if of.bought else None,
        "cut_list": [_lot(lot, out) for lot in of.cut.lots],
        "lacking": [{"name": n.name, "length": out.length(n.length), "why": n.why} for n in of.cut.lacking],
        "cut_offs": [
            {
                "piece": off.piece,
                "end": off.end,
                "length": out.length(off.length),
                "width": out.length(off.width),
                "used": list(off.used),
            }
            for off in of.offs
        ],
        "edges": [{"top": e.top, "profile": e.profile, "length": out.length(e.length)} for e in of.edges],
        "cutouts": [{"kind": c.kind, "count": len(c.names), "names": list(c.names)} for c in of.cutouts],
        "joints": [
            {
                "kind": j.kind,
                "count": len(j.names),
                "names": list(j.names),
                "length": out.length(j.length),
                "fasteners": j.fasteners,
            }
            for j in of.joints
        ],
        "supports": [{"kind": s.kind, "count": len(s.names), "names": list(s.names)} for s in of.supports],
        "splash": [
            {
                "name": f"BS{k}",
                "top": s.top,
                "side": s.side,
                "length": out.length(s.length),
                "height": out.length(s.height),
                "thickness": out.length(s.thickness),
                "weight": out.weight(splash_kg(layout.job, s)),
            }
            for k, s in enumerate(layout.splashes, start=1)
        ],
        "finish_area": out.area(of.finish),
        "crate": {
            "length": out.length(of.crate.length),
            "width": out.length(of.crate.width),
            "height": out.length(of.crate.height),
            "weight": out.weight(of.crate.own),
            "gross": out.weight(of.crate.gross),
        },
        "weight": out.weight(of.weight),
        "bound": {
            "bought": out.length(sum(lot.plan.bought * lot.tick for lot in of.cut.lots)),
            "least": out.length(sum(lot.plan.bound * lot.tick for lot in of.cut.lots)),
            "proven": all(lot.plan.proven for lot in of.cut.lots),
        },
    }


def _layup(u: LayUp, out: _Out, of: Materials) -> dict[str, Any]:
    return {
        "piece": u.piece,
        "construction": u.construction,
        "count": len(u.strips),
        "seen": out.length(u.seen),
        "block": out.length(u.block) if u.block else None,
        "rip": out.length(u.rip),
        "rough": u.quarter.name if u.quarter else None,
        "blank": {"length": out.length(u.length), "width": out.length(u.width), "thickness": out.length(u.rough)},
        "stepped": u.stepped,
        "from_cut_off": u.piece in of.from_offs,
        "strips": [
            {"number": s.number, "from": out.length(s.x0), "to": out.length(s.x1), "length": out.length(s.length)}
            | ({"blocks": s.blocks} if s.blocks else {})
            for s in u.strips
        ],
    }


def _lot(lot: Lot, out: _Out) -> dict[str, Any]:
    plan = lot.plan
    return {
        "rough": lot.quarter.name,
        "rip": out.length(lot.rip),
        "board_width": out.length(lot.board),
        "strips_per_board": lot.per_board,
        "finger_jointed": lot.joined,
        "boards": [
            {"length": out.length(length), "count": count, "surface_measure": surface_measure(lot.board, length)}
            for length, count in lot.boards
        ],
        "board_feet": out.volume(lot.bought),
        "lanes": [
            {
                "stock": out.length(lane.stock * lot.tick),
                "parts": [{"name": lot.needs[k].name, "length": out.length(lot.needs[k].length)} for k in lane.parts],
            }
            for lane in plan.lanes
            if lane.parts
        ],
        "bought": out.length(plan.bought * lot.tick),
        "least": out.length(plan.bound * lot.tick),
        "proven": plan.proven,
        "method": plan.method,
    }


def materials_csv(layout: Layout, of: Materials) -> str:
    """Return the buying and cutting list as CSV (RFC 4180): a row a board size, a strip, an edge, a cutout kind and so on."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(("what", "name", "count", "length", "width", "thickness", "amount", "unit", "note"))
    writer.writerows(tuple(safe(cell) for cell in row) for row in _rows(layout, of))
    return text.getvalue()


def safe(cell: object) -> object:
    """Return a cell that no spreadsheet takes for a formula."""
    return f"'{cell}" if isinstance(cell, str) and cell[:1] in ("=", "+", "-", "@", "\t", "\r") else cell


def _rows(layout: Layout, of: Materials) -> Iterator[tuple[object, ...]]:
    out = _Out(layout.job.job.units)
    volume = "board feet" if out.units == "in" else "m3"
    square = f"{out.units}2"
    weight = "lb" if out.units == "in" else "kg"
    species = species_of(layout.job).common_name
    for lot in of.cut.lots:
        for length, count in lot.boards:
            amount = out.volume(lot.quarter.rough * lot.board * length * count)
            size = (out.length(length), out.length(lot.board), lot.quarter.name)
            yield (
                "boards",
                species,
                count,
                *size,
                amount,
                volume,
                f"surface measure {surface_measure(lot.board, length)} each",
            )
    for lot in of.cut.lots:
        homes = {k: n for n, lane in enumerate(lot.plan.lanes, start=1) for k in lane.parts}
        for k, need in enumerate(lot.needs):
            note = f"lane {homes[k]}" if k in homes else "finger-jointed"
            yield ("strip", need.name, 1, out.length(need.length), out.length(lot.rip), lot.quarter.name, "", "", note)
    for lack in of.cut.lacking:
        yield ("lacking", lack.name, 1, out.length(lack.length), "", "", "", "", lack.why)
    for edge in of.edges:
        yield ("edge", edge.profile, "", out.length(edge.length), "", "", "", "", edge.top)
    for cutout in of.cutouts:
        yield ("cutout", cutout.kind, len(cutout.names), "", "", "", "", "", " ".join(cutout.names))
    for joint in of.joints:
        note = f"{' '.join(joint.names)}; {joint.fasteners} fasteners"
        yield ("joint", joint.kind, len(joint.names), out.length(joint.length), "", "", "", "", note)
    for support in of.supports:
        yield ("support", support.kind, len(support.names), "", "", "", "", "", " ".join(support.names))
    for k, s in enumerate(layout.splashes, start=1):
        yield (
            "splash",
            f"BS{k}",
            1,
            out.length(s.length),
            out.length(s.height),
            out.length(s.thickness),
            "",
            "",
            f"{s.top} {s.side}",
        )
    yield ("finish", "all six faces", "", "", "", "", out.area(of.finish), square, "")
    inside = (out.length(of.crate.length), out.length(of.crate.width), out.length(of.crate.height))
    yield ("crate", "inside", 1, *inside, out.weight(of.crate.gross), weight, "gross weight")
    yield ("wood", "net", "", "", "", "", out.volume(of.net), volume, "")
    yield ("wood", "bought", "", "", "", "", out.volume(of.bought), volume, "")
