"""Cut files as readers see them that are none of ours: areas and unit, every way of writing, as DEVELOPERS.md tells it.

A reader that is not on the machine is skipped; those that start a whole program per file run with the sweeps.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from readers import Reading, gcode, gdal, librecad, node, openscad, own, trimesh_path
from readers.pieces import UNITS, cut_bytes, true_areas
from readers.table import HEAD, NEAR, READERS, VARIANTS, judged, line, one, row

DEVELOPERS = Path(__file__).parent.parent / "DEVELOPERS.md"
PIECE = "arcs"
SMALL = (gdal, trimesh_path, node.dxf_parser, node.dxf, openscad, own)
LARGE = (librecad, gcode)
IN_PROCESS = (gdal, trimesh_path, own)
AT_FAULT = {
    # takes no bulge of an LWPOLYLINE, and no POLYLINE at all
    openscad.NAME: {("R2000", "polylines"), ("R2000", "heavy polylines"), ("R12", "polylines")},
    # gives a bulge of an LWPOLYLINE to the edge before its own
    gcode.NAME: {("R2000", "polylines")},
}


def told():
    """The table of DEVELOPERS.md: the cells of each row by reader."""
    text = DEVELOPERS.read_text(encoding="utf-8").split("## Who reads our cut files", 1)[1].split("\n## ", 1)[0]
    rows = [[c.strip() for c in r.strip("|").split("|")] for r in text.splitlines() if r.startswith("| ")]
    assert line(rows[0]) == line(HEAD)
    return {cells[0]: cells for cells in rows[1:]}


def here(reader):
    """Skip where a reader is not here, or where it is at fault and of another version than the one told of."""
    version = reader.version()
    if version is None:
        where = "; NODE_READERS names the folder where it is" if reader in (node.dxf_parser, node.dxf) else ""
        pytest.skip(f"{reader.NAME} is not installed here{where}")
    if reader.NAME in AT_FAULT and version != told()[reader.NAME][1]:
        pytest.skip(f"{reader.NAME} is {version} here; what is known of its faults is of {told()[reader.NAME][1]}")


def held(reader, pieces):
    found = row(reader, pieces)
    assert set(found.misread) == AT_FAULT.get(reader.NAME, set()), found
    # a reader that tells of a unit tells of the one that was written, also where it gets arcs wrong
    assert found.unit_text() == told()[reader.NAME][-2], found
    return found


@pytest.mark.parametrize("reader", SMALL, ids=lambda r: r.NAME)
def test_a_piece_with_arcs_is_read_as_large_as_it_is(reader):
    here(reader)
    held(reader, [PIECE])


@pytest.mark.sweep
@pytest.mark.parametrize("reader", SMALL + LARGE, ids=lambda r: r.NAME)
def test_every_reader_reads_as_the_table_says(reader):
    here(reader)
    cells = held(reader, ["arcs", "sink and hole", "mitred"]).cells()
    of = told()[reader.NAME]
    assert [cells[0], *cells[2:]] == [of[0], *of[2:]]


def test_each_way_of_writing_has_five_readers_that_are_not_ours():
    rows = told()
    assert set(rows) == {r.NAME for r in READERS}
    assert set(SMALL + LARGE) == set(READERS)
    for k, variant in enumerate(VARIANTS, start=2):
        right = {name for name, cells in rows.items() if cells[k].startswith("< ")}
        assert right == {name for name in rows if variant not in AT_FAULT.get(name, ())}
        assert len(right - {own.NAME}) >= 5
    for name, faults in AT_FAULT.items():
        # what works instead is said, and is no fault
        named = re.findall(r"`([^`]+)`", rows[name][-1])
        assert named
        assert not {("R2000", contours) for contours in named} & faults


# --- what would go wrong is seen ---------------------------------------------------------------------------------------


def read_changed(reader, folder, old, new, unit="mm"):
    data = cut_bytes(PIECE, unit, "R2000", "polylines")
    changed = re.sub(old, new, data)
    assert changed != data
    path = folder / "piece.dxf"
    path.write_bytes(changed)
    return judged(reader.read(path), PIECE, unit)


@pytest.mark.parametrize("reader", IN_PROCESS, ids=lambda r: r.NAME)
def test_arcs_made_straight_are_seen(reader, tmp_path):
    error, _ = read_changed(reader, tmp_path, rb"\n 42\n[-.\de]+", b"\n 42\n0.0")
    assert error > 10 * NEAR


@pytest.mark.parametrize("reader", IN_PROCESS, ids=lambda r: r.NAME)
def test_arcs_bent_the_other_way_are_seen(reader, tmp_path):
    # what an arc added to the wood, it bites out of it now
    error, _ = read_changed(reader, tmp_path, rb"\n 42\n(-?)", lambda m: b"\n 42\n" + (b"" if m[1] else b"-"))
    assert error > 10 * NEAR


@pytest.mark.parametrize("reader", [trimesh_path, own], ids=lambda r: r.NAME)
@pytest.mark.parametrize(("unit", "code", "other"), [("mm", b"4", "in"), ("in", b"1", "mm")])
def test_a_wrong_unit_in_the_header_is_seen(reader, unit, code, other, tmp_path):
    wrong = b"1" if code == b"4" else b"4"
    error, read_as = read_changed(reader, tmp_path, rb"(\$INSUNITS\n 70\n *)" + code, lambda m: m[1] + wrong, unit)
    assert error < NEAR
    assert read_as == other


def test_areas_that_differ_by_a_hundredth_of_a_percent_are_told_apart():
    for unit in UNITS:
        outline, inside = true_areas(PIECE, unit)
        assert judged(Reading(outline, inside, unit), PIECE, unit) == (0.0, unit)
        for off in (Reading(outline * 1.0002, inside, unit), Reading(outline, inside * 0.9998, unit)):
            assert judged(off, PIECE, unit)[0] > NEAR


def test_sizes_on_paper_tell_what_unit_the_numbers_were_taken_for():
    # an inch file shown in mm at its true size, and the same with its inches taken for mm
    outline, inside = true_areas(PIECE, "mm")
    assert judged(Reading(outline, inside, "mm"), PIECE, "in") == (pytest.approx(0.0, abs=1e-12), "in")
    outline, inside = true_areas(PIECE, "in")
    assert judged(Reading(outline, inside, "mm"), PIECE, "in")[1] == "mm"


def test_a_file_read_by_nobody_has_lost_its_area():
    class Blind:
        @staticmethod
        def read(path):
            assert path.read_bytes().endswith(b"EOF\n")
            return Reading(0.0, 0.0, "")

    assert one(Blind, PIECE, "mm", VARIANTS[0]) == (1.0, "")
