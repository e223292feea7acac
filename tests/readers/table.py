"""How each reader that is here reads each way of writing a cut file: the table of DEVELOPERS.md.

``python tests/readers/table.py`` prints it, with ``NODE_READERS`` for the readers of npm.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

sys.path[:0] = [str(Path(__file__).resolve().parents[1]), str(Path(__file__).resolve().parents[2])]

from readers import Reading, gcode, gdal, librecad, node, openscad, own, trimesh_path  # noqa: E402
from readers.pieces import CONTOURS, PIECES, UNITS, VERSIONS, cut_bytes, true_areas  # noqa: E402

READERS = (gdal, trimesh_path, node.dxf_parser, node.dxf, openscad, librecad, gcode, own)
VARIANTS = tuple((version, contours) for version in VERSIONS for contours in CONTOURS[version])
NEAR = 1e-4
"""Areas that agree to this share are the same area."""
HEAD = ("reader", "version", *(f"{v} {c}" for v, c in VARIANTS), "unit read", "verdict")
_MM2 = {"in": 25.4**2, "mm": 1.0}


@dataclass(frozen=True)
class Row:
    """What a reader made of all files: the greatest error of an area (a share) by variant, and the units read by unit."""

    name: str
    version: str
    errors: dict[tuple[str, str], float]
    units: dict[str, set[str]]

    @property
    def misread(self) -> list[tuple[str, str]]:
        return [variant for variant, error in self.errors.items() if error > NEAR]

    def cells(self) -> list[str]:
        return [
            self.name,
            self.version,
            *(error_text(self.errors[v]) for v in VARIANTS),
            self.unit_text(),
            self.verdict(),
        ]

    def unit_text(self) -> str:
        if not any(any(found) for found in self.units.values()):
            return "none"
        return "as written" if all(found == {unit} for unit, found in self.units.items()) else "wrong"

    def verdict(self) -> str:
        if not self.misread:
            return "reads all"
        right = [f"`{c}`" for v, c in VARIANTS if v == "R2000" and (v, c) not in self.misread]
        return f"misreads; write {' or '.join(right)} for it" if right else "misreads"


def judged(reading: Reading, name: str, unit: str) -> tuple[float, str]:
    """The greater error of the two areas, as a share, and the unit that the reader took the file's numbers for.

    A reader that measures in a unit of its own (on paper) took the numbers for the unit that its areas are true in.
    """
    read_as, square = reading.unit, 1.0
    if read_as and read_as != unit:
        true = true_areas(name, read_as)[0]
        numbers = true_areas(name, unit)[0]
        if abs(reading.outline / true - 1) < abs(reading.outline / numbers - 1):
            read_as, square = unit, _MM2[unit] / _MM2[reading.unit]
    got = (reading.outline / square, reading.inside / square)
    return max(abs(g / t - 1) for g, t in zip(got, true_areas(name, unit), strict=True)), read_as


def one(reader, name: str, unit: str, variant: tuple[str, str]) -> tuple[float, str]:
    """Have a file written and read; return what `judged` returns."""
    with tempfile.TemporaryDirectory() as folder:
        # some readers choke on a blank
        path = Path(folder) / f"piece-{unit}.dxf"
        path.write_bytes(cut_bytes(name, unit, *variant))
        return judged(reader.read(path), name, unit)


def row(reader, pieces: Iterable[str] = PIECES) -> Row:
    """Return a row of the table; ValueError where the reader is not here."""
    version = reader.version()
    if version is None:
        raise ValueError(f"{reader.NAME} is not here")
    found = {(v, unit, n): one(reader, n, unit, v) for v in VARIANTS for unit in UNITS for n in pieces}
    errors = {v: max(e for (of, _, _), (e, _) in found.items() if of == v) for v in VARIANTS}
    return Row(reader.NAME, version, errors, {u: {r for (_, of, _), (_, r) in found.items() if of == u} for u in UNITS})


def error_text(error: float) -> str:
    """Return an area's error as the table has it; what is right is told to a thousandth of a percent."""
    if error > 0.999:
        return "**lost**"
    if error > NEAR:
        return f"**{100 * error:.1f} %**"
    return "< 0.001 %" if error < 1e-5 else "< 0.01 %"


def line(cells: Iterable[str]) -> str:
    return f"| {' | '.join(cells)} |"


def main() -> None:
    print(line(HEAD))
    print("|---" * len(HEAD) + "|")
    for reader in READERS:
        if reader.version() is None:
            print(f"{reader.NAME}: not here", file=sys.stderr)
        else:
            print(line(row(reader).cells()))


if __name__ == "__main__":
    main()
