"""What the page tells of a thing that was clicked: its data in the job's units, and its line in the job file."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from layout.facts import facts
from layout.faults import KeyPath, path_text, printable
from layout.pipeline import Layout
from layout.places import cutout_told, finding_told, joint_told, milled_told, piece_told
from layout.source import Source
from layout.units import UNIT_MM

Rows = list[tuple[str, str]]


def cards(layout: Layout, source: Source) -> dict[str, Any]:
    """Return what can be clicked, by ``kind:name`` (a finding's name is its number): title, rows of data, line."""
    tell = _Tell(layout)
    told = facts(layout)
    laid, divided = layout.laid, layout.divided
    found: list[tuple[str, str, str, Rows, KeyPath]] = []
    for piece, fact in zip(divided.pieces, told["pieces"], strict=True):
        found.append(("piece", piece.id, f"Piece {piece.id}", tell.piece(fact), piece_told(layout.job, piece)))
    for joint, fact in zip(divided.joints, told["joints"], strict=True):
        found.append(("joint", joint.id, f"Joint {joint.id}", tell.joint(fact), joint_told(layout, joint)))
    for cut, fact in zip(laid.cutouts, told["cutouts"], strict=True):
        found.append(("cutout", cut.name, f"Cutout {cut.name}", tell.cutout(fact), cutout_told(layout.job, cut)))
    for item, fact in zip(laid.milled, told["milled"], strict=True):
        title = f"{item.kind.capitalize()} {item.name}"
        found.append(("milled", item.name, title, tell.milled(fact), milled_told(item)))
    for number, (finding, fact) in enumerate(zip(layout.findings, told["findings"], strict=True), 1):
        title = f"Finding {number}: {finding.code}"
        found.append(("finding", str(number), title, tell.finding(fact), finding_told(layout, finding)))
    return {
        f"{kind}:{name}": {
            "kind": kind,
            "name": name,
            "title": printable(title),
            "rows": [(label, text if label == "paste" else printable(text)) for label, text in rows],
            "told": _told(source, path),
        }
        for kind, name, title, rows, path in found
    }


def _told(source: Source, path: KeyPath) -> dict[str, Any] | None:
    """Return the line at a key path, counted from 1, with its text; None where nothing in the file tells it."""
    if not path or not source.has(path):
        return None
    place = source.place(path)
    # a table that has a name is found by its name sooner than by its header
    named = source.place((*path, "name")) if source.has((*path, "name")) else None
    lines = [place.line, *([named.line] if named and named.line != place.line else [])]
    return {
        "line": place.line,
        "label": printable(source.label(path) if named else path_text(path)),
        "text": [(n, printable(source.lines[n - 1])) for n in lines],
    }


class _Tell:
    """The facts of a report in words, lengths as the job prints them."""

    def __init__(self, layout: Layout) -> None:
        self.labels = layout.laid.labels
        self.units = layout.job.job.units
        self.mm = float(UNIT_MM[self.units])
        self.bounds = {c.name: c.ring.bounds() for c in layout.laid.cutouts}
        self.kinds = {c.name: c for c in layout.job.cutout}

    def length(self, value: float) -> str:
        """Return a length that a report holds as the job prints it."""
        return self.labels.text(value * self.mm)

    def fine(self, value: float) -> str:
        return self.labels.fine(value * self.mm)

    def area(self, value: float) -> str:
        return f"{value / 144.0:.2f} sq ft" if self.units == "in" else f"{value / 1e6:.3f} m²"

    def point(self, at: Sequence[float]) -> str:
        return f"{self.length(at[0])}, {self.length(at[1])}"

    def piece(self, fact: dict[str, Any]) -> Rows:
        rows = [
            ("top", fact["top"]),
            ("length", self.length(fact["length"])),
            ("width", self.length(fact["width"])),
            ("thickness", self.fine(fact["thickness"])),
            ("area", self.area(fact["area"])),
            ("weight", f"{fact['weight']:.0f} {'lb' if self.units == 'in' else 'kg'}"),
            ("people to carry it", str(fact["lift"])),
            ("grain", f"{fact['grain']:.1f}° to the plan"),
        ]
        moves = fact["movement"]
        if moves is not None:
            parts = moves if isinstance(moves, list) else [moves]
            rows.append(("moves over the year", " and ".join(self.fine(m) for m in parts)))
        return rows

    def joint(self, fact: dict[str, Any]) -> Rows:
        angles = " and ".join(f"{a:.2f}°" for a in fact["angles"])
        rows = [
            ("kind", fact["kind"]),
            ("top", fact["top"]),
            ("pieces", " and ".join(fact["pieces"])),
            ("length", self.length(fact["length"])),
            ("to the grain", angles),
        ]
        if fact["opening"] is not None:
            rows.append(("opens over the year", self.fine(fact["opening"])))
        return rows

    def cutout(self, fact: dict[str, Any]) -> Rows:
        x0, y0, x1, y1 = self.bounds[fact["name"]]
        rows = [("kind", fact["kind"]), ("top", fact["top"]), ("piece", fact["piece"] or "over a joint")]
        rows += [
            ("takes in plan", f"{self.labels.text(x1 - x0)} x {self.labels.text(y1 - y0)}"),
            ("centre in plan", self.point(fact["center"])),
            ("area", self.area(fact["area"])),
        ]
        spec = self.kinds.get(fact["name"])
        if spec is not None:
            rows += [(label, text) for label, text in (("model", spec.model), ("proof", spec.proof)) if text]
        if "template" in fact:
            rows.append(("template", fact["template"]["file"]))
        if "parent" in fact:
            rows.append(("comes with", fact["parent"]))
        return rows

    def milled(self, fact: dict[str, Any]) -> Rows:
        depth = "through" if fact["depth"] is None else self.fine(fact["depth"])
        return [
            ("kind", fact["kind"]),
            ("top", fact["top"]),
            ("from", fact["face"]),
            ("depth", depth),
            ("centre in plan", self.point(fact["center"])),
        ]

    def finding(self, fact: dict[str, Any]) -> Rows:
        return list(self._finding(fact))

    def _finding(self, fact: dict[str, Any]) -> Iterator[tuple[str, str]]:
        yield "grade", fact["severity"]
        yield "about", fact["subject"]
        yield "found", fact["message"]
        remedy, _, paste = fact["remedy"].partition(". Add to the job file:\n")
        yield "do", remedy
        if paste:
            yield "paste", "\n".join(printable(line) for line in paste.rstrip().splitlines())
        if fact["at"] is not None:
            yield "place in plan", self.point(fact["at"])
