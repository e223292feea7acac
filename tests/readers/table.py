"""Print the table of DEVELOPERS.md: how each reader that is here reads each way of writing a cut file.

``python tests/readers/table.py``, with ``NODE_READERS`` for those of npm.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

sys.path[:0] = [str(Path(__file__).resolve().parents[1]), str(Path(__file__).resolve().parents[2])]

from readers import Reading, gcode, gdal, librecad, node, openscad, own
from readers.pieces import CONTOURS, PIECES, UNITS, VERSIONS, cut_bytes, true_areas

READERS = (own, gdal, node.dxf_parser, node.dxf, librecad, gcode, openscad)
NEAR = 1e-4
"""Areas that agree to this share are the same area."""
_MM2 = {"in": 25.4**2, "mm": 1.0, "": 1.0}


def judged(reading: Reading, name: str, unit: str) -> tuple[float, str]:
    """The greater error of the two areas, as a share, and the unit that the reader took the file's numbers for.

    Where a reader gives sizes of its own (on paper), the unit is the one that they agree with.
    """
    read_as = reading.unit
    square = 1.0
    if read_as and read_as != unit:
        # are those true sizes in another unit, or our numbers in it?
        true = true_areas(name, read_as)[0]
        numbers = true_areas(name, unit)[0]
        if abs(reading.outline / true - 1) < abs(reading.outline / numbers - 1):
            read_as, square = unit, _MM2[unit] / _MM2[reading.unit]
    got = (reading.outline / square, reading.inside / square)
    return max(abs(g / t - 1) for g, t in zip(got, true_areas(name, unit), strict=True)), read_as


def rows():
    """Yield (reader, version, file version, contours, errors by unit, units as read by unit)."""
    for reader in READERS:
        version = reader.version()
        if version is None:
            print(f"{reader.NAME}: not here", file=sys.stderr)
            continue
        for file_version in VERSIONS:
            for contours in CONTOURS[file_version]:
                found = {unit: [one(reader, name, unit, file_version, contours) for name in PIECES] for unit in UNITS}
                errors = {unit: max(e for e, _ in found[unit]) for unit in UNITS}
                units = {unit: "/".join(sorted({u for _, u in found[unit]})) for unit in UNITS}
                yield reader.NAME, version, file_version, contours, errors, units


def one(reader, name, unit, version, contours):
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"piece-{unit}.dxf"
        path.write_bytes(cut_bytes(name, unit, version, contours))
        return judged(reader.read(path), name, unit)


def verdict(errors, units):
    if max(errors.values()) > NEAR:
        return "misread"
    if all(units[u] == u for u in UNITS):
        return "right"
    return "right; takes numbers as they stand" if not any(units.values()) else "size right, unit wrong"


def error_text(error):
    return f"{100 * error:.4f} %" if error < 0.5 else "lost" if error == 1 else f"{100 * error:.0f} %"


def main() -> None:
    print("| reader | file | contours | area error in, mm | unit read of in, mm | verdict |\n|---|---|---|---|---|---|")
    for name, version, file_version, contours, errors, units in rows():
        told = (", ".join(error_text(errors[u]) for u in UNITS), ", ".join(units[u] or "-" for u in UNITS))
        print(f"| {name} {version} | {file_version} | {contours} | {told[0]} | {told[1]} | {verdict(errors, units)} |")


if __name__ == "__main__":
    main()
