"""What is let into faces: places and depths by hand, pockets that meet across a joint, reliefs, natural edges."""

from __future__ import annotations

import io
import math

import ezdxf
import pytest
from ezdxf.math import bulge_to_arc

from layout.faults import JobError
from layout.files import packet_files
from layout.machining import Operation, operations, pocket_depth, relieved
from layout.natural import smooth
from layout.outline import Frame, Point, Ring, arc_of, edge_heading, edge_point, polygon_ring, rectangle
from layout.pieces import Piece
from layout.pipeline import Layout, lay_text
from layout.writers.cut_dxf import cut_dxf, mirrored

INCH = 25.4
HEAD = """
[job]
title = "Weir cottage"
number = "M-1"
units = "in"
[field]
walls = "finished"
cabinets = "set"
[wood]
species = "hard maple"
thickness = "1 1/2"
"""
SLAB = '[[top]]\nname = "slab"\nsize = ["60", "25"]\n'
ELL = """
[[wall]]
name = "A"
length = "96"
[[wall]]
name = "B"
length = "84"
[[top]]
name = "ell"
along = ["A", "B"]
depth = "25 1/2"
end = "70"
"""
SINK = (
    '[[cutout]]\nname = "S1"\nkind = "sink"\nmount = "undermount"\ntop = "ell"\n'
    'wall = "A"\ncenter = "36"\nsetback = "4"\nsize = ["28", "16"]\nradius = "1"\n'
    'reveal = "1/8"\nproof = "template"\n'
)


def lay(*parts: str) -> Layout:
    return lay_text(HEAD + "\n".join(parts))


def of(layout: Layout, name: str = "P1") -> tuple[Piece, tuple[Operation, ...]]:
    piece = next(p for p in layout.divided.pieces if p.id == name)
    return piece, operations(layout.laid, piece)


def box_in(ring: Ring) -> list[float]:
    return [round(v / INCH, 6) for v in ring.bounds()]


# --- grooves, slots, recesses ----------------------------------------------------------------------------------------


def test_a_slot_and_a_recess_lie_where_they_are_placed() -> None:
    layout = lay(
        SLAB,
        '[[slot]]\nname = "K"\ntop = "slab"\ncenter = ["30", "20"]\nsize = ["12", "3/8"]\n',
        (
            '[[recess]]\nname = "T"\ntop = "slab"\ncenter = ["20", "10"]\nsize = ["14", "9"]\n'
            'depth = "1/2"\nradius = "3/4"\n'
        ),
    )
    _, (slot, tray) = of(layout)
    assert (slot.layer, slot.depth) == ("CUT_INSIDE", None)
    assert box_in(slot.ring) == [24, 19.8125, 36, 20.1875]
    assert slot.ring.area / INCH**2 == pytest.approx((12 - 3 / 8) * 3 / 8 + math.pi * (3 / 16) ** 2)
    assert (tray.layer, tray.what) == ("POCKET_ABOVE", "T")
    assert tray.depth is not None
    assert tray.depth / INCH == pytest.approx(0.5)
    assert box_in(tray.ring) == [13, 5.5, 27, 14.5]
    assert tray.ring.area / INCH**2 == pytest.approx(14 * 9 - (4 - math.pi) * 0.75**2)


def test_grooves_are_parallel_at_their_spacing_and_turn_about_their_middle() -> None:
    text = (
        '[[groove]]\nname = "R"\nkind = "rod"\ntop = "slab"\ncenter = ["30", "12"]\n'
        'size = ["10", "1/4"]\ncount = 3\nspacing = "2"\ndepth = "1/8"\n'
    )
    _, found = of(lay(SLAB, text))
    assert [box_in(o.ring) for o in found] == [[25, y - 0.125, 35, y + 0.125] for y in (10, 12, 14)]
    _, turned = of(lay(SLAB, text + "turn = 90\n"))
    assert [box_in(o.ring)[0] for o in turned] == [32 - 0.125, 30 - 0.125, 28 - 0.125]


def test_drainer_grooves_begin_in_the_sink() -> None:
    text = (
        '[[groove]]\nname = "D"\nkind = "drainer"\ntop = "ell"\nsink = "S1"\nside = "{}"\n'
        'size = ["14", "1/2"]\ncount = 5\nspacing = "1 1/2"\ndepth = "1/4"\n'
    )
    layout = lay(ELL, SINK, text.format("right"))
    piece, found = of(layout)
    grooves = [o for o in found if o.what == "D"]
    # the sink ends at 36 + 14 = 50 of its wall; 14 in of each groove lie in the wood
    x = [piece.frame.from_plan(layout.laid.tops[0].legs[0].frame.to_plan((s * INCH, 0.0)))[0] / INCH for s in (50, 64)]
    assert [o.ring.bounds()[2] / INCH for o in grooves] == [pytest.approx(x[1])] * 5
    assert [o.ring.bounds()[0] / INCH for o in grooves] == [pytest.approx(x[0] - 0.5)] * 5
    left = [o for o in of(lay(ELL, SINK, text.format("left")))[1] if o.what == "D"]
    assert left[0].ring.bounds()[2] / INCH == pytest.approx(x[0] - 28 + 0.5)


@pytest.mark.parametrize(
    ("table", "words"),
    [
        (
            '[[groove]]\nname = "D"\ntop = "ell"\nsink = "S9"\nside = "left"\nsize = ["9", "1/2"]\ndepth = "1/4"\n',
            '"S1"',
        ),
        ('[[groove]]\nname = "D"\ntop = "ell"\nsink = "S1"\nsize = ["9", "1/2"]\ndepth = "1/4"\n', "sink and side"),
        (
            '[[groove]]\nname = "D"\ntop = "ell"\nwall = "A"\ncenter = "30"\nsetback = "2"\nsize = ["9", "1/2"]\n',
            "how deep",
        ),
        ('[[slot]]\nname = "D"\ntop = "ell"\nsize = ["9", "1/2"]\n', "where its middle is"),
        (
            (
                '[[recess]]\nname = "D"\ntop = "ell"\nwall = "A"\ncenter = "80"\nsetback = "2"\n'
                'size = ["9", "5"]\nradius = "3"\ndepth = "1/2"\n'
            ),
            "half the shorter side",
        ),
        ('[[slot]]\nname = "D"\ntop = "ell"\nwall = "A"\ncenter = "80"\nsize = ["9", "1"]\n', "setback"),
        ('[[slot]]\nname = "D"\ntop = "ell"\nwall = "C"\ncenter = "80"\nsetback = "3"\nsize = ["9", "1"]\n', "C"),
    ],
)
def test_what_is_let_in_wrongly_is_told(table: str, words: str) -> None:
    with pytest.raises(JobError) as caught:
        lay(ELL, SINK, table)
    assert words in str(caught.value)


# --- from below --------------------------------------------------------------------------------------------------------


def plan_rings(layout: Layout, name: str, what: str) -> list[Ring]:
    piece, found = of(layout, name)
    return [o.ring.moved(piece.frame.to_plan) for o in found if o.what == what]


def test_fasteners_have_a_pocket_in_either_piece_opposite_one_another() -> None:
    layout = lay(ELL)
    (joint,) = layout.divided.joints
    first, second = (plan_rings(layout, name, "J1") for name in joint.pieces)
    assert len(first) == len(second) == 4
    for a, b in zip(first, second, strict=True):
        (mx, my), (nx, ny) = (_heart(r) for r in (a, b))
        # the middle between the two round pockets lies on the joint, which is square to the way between them
        p, q = joint.points[0], joint.points[-1]
        length = math.dist(p, q)
        off = ((q[0] - p[0]) * ((my + ny) / 2 - p[1]) - (q[1] - p[1]) * ((mx + nx) / 2 - p[0])) / length
        assert off == pytest.approx(0.0, abs=1e-6)
        assert math.dist((mx, my), (nx, ny)) / INCH == pytest.approx(2 * 2.125)
        assert ((q[0] - p[0]) * (mx - nx) + (q[1] - p[1]) * (my - ny)) / length == pytest.approx(0.0, abs=1e-6)


def _heart(ring: Ring) -> Point:
    """The middle of the one round pocket of a ring."""
    arcs = [arc for a, b in ring.edges() if (arc := arc_of(a, b))]
    assert {round(arc.radius / INCH, 6) for arc in arcs} == {0.75}
    return (arcs[0].cx, arcs[0].cy)


def test_pockets_go_past_the_middle_and_their_shape_is_the_shops() -> None:
    assert pocket_depth(lay(ELL).job) / INCH == pytest.approx(1.0)
    other = lay(ELL, '[shop.fastener]\nreach = "3"\npocket = "5/8"\nchannel = "3/8"\ndepth = "7/8"\npitch = "20"\n')
    found = [o for o in of(other)[1] if o.what == "J1"]
    assert len(found) == 3
    assert {round((o.depth or 0) / INCH, 6) for o in found} == {0.875}
    round_one = math.pi * 0.625**2
    # a channel of 3/8 from the pocket to 3/8 past the joint, less what the pocket takes of it
    half = 3 / 16
    segment = 0.625**2 * math.asin(half / 0.625) - half * math.sqrt(0.625**2 - half**2)
    channel = 3 / 8 * (3 - math.sqrt(0.625**2 - half**2) + 3 / 8)
    assert found[0].ring.area / INCH**2 == pytest.approx(round_one - segment + channel)


def test_a_ledge_and_pilots_are_cut_from_below() -> None:
    layout = lay(ELL, SINK + 'ledge = { width = "3/4", depth = "3/8" }\n', "[cut]\npilots = true\n")
    _, found = of(layout)
    (ledge,) = [o for o in found if o.what == "S1" and o.layer == "POCKET_BELOW"]
    (hole,) = [o for o in found if o.what == "S1" and o.layer == "CUT_INSIDE"]
    assert [b - a for a, b in zip(box_in(ledge.ring), box_in(hole.ring), strict=True)] == pytest.approx(
        [0.75, 0.75, -0.75, -0.75]
    )
    pilots = [o for o in found if o.what == "hold-down"]
    assert len(pilots) >= 4
    assert {o.layer for o in pilots} == {"DRILL"}
    assert {round((o.depth or 0) / INCH, 6) for o in pilots} == {0.75}


def drawn(data: bytes) -> dict[str, list[list[tuple[float, float, float]]]]:
    """Return the closed polylines and circles of a cut file by layer, as ezdxf reads them."""
    doc = ezdxf.read(io.StringIO(data.decode()))
    out: dict[str, list[list[tuple[float, float, float]]]] = {}
    for entity in doc.modelspace():
        if entity.dxftype() == "LWPOLYLINE":
            out.setdefault(entity.dxf.layer, []).append([(x, y, b) for x, y, b in entity.get_points("xyb")])  # type: ignore[attr-defined]
        elif entity.dxftype() == "CIRCLE":
            c, r = entity.dxf.center, entity.dxf.radius
            out.setdefault(entity.dxf.layer, []).append([(c.x - r, c.y, 1.0), (c.x + r, c.y, 1.0)])
    return out


def test_the_file_from_below_registers_with_the_one_from_above() -> None:
    layout = lay(ELL, SINK + 'ledge = { width = "3/4", depth = "3/8" }\n')
    files = packet_files(layout)
    assert {"cut/P1.dxf", "cut/P1-below.dxf", "cut/P2.dxf", "cut/P2-below.dxf"} <= set(files)
    above, below = drawn(files["cut/P1.dxf"]), drawn(files["cut/P1-below.dxf"])
    assert "POCKET_BELOW" not in above
    assert set(below) == {"REFERENCE", "POCKET_BELOW"}
    right = max(x for x, _, _ in above["CUT_OUTLINE"][0])
    back = [[(right - x, y) for x, y, _ in ring] for ring in below["REFERENCE"]]
    for wanted in (*above["CUT_OUTLINE"], *above["CUT_INSIDE"]):
        points = {(round(x, 6), round(y, 6)) for x, y, _ in wanted}
        assert any({(round(x, 6), round(y, 6)) for x, y in ring} == points for ring in back)
    # the ledge lies round the sink as seen from above
    ledge = max(below["POCKET_BELOW"], key=len)
    xs = [right - x for x, _, _ in ledge]
    sink = [x for x, _, _ in above["CUT_INSIDE"][0]]
    assert (min(sink) - min(xs), max(xs) - max(sink)) == (pytest.approx(0.75), pytest.approx(0.75))
    assert b"TURNED OVER LEFT TO RIGHT" in files["cut/P1-below.dxf"]
    assert b"POCKET BELOW S1: 3/8" in files["cut/P1-below.dxf"]
    assert b"REFERENCE IS NOT CUT" in files["cut/P1-below.dxf"]


def test_turning_over_twice_is_nothing() -> None:
    ring = Ring(tuple(rectangle(0, 0, 10, 4).vertices))
    assert mirrored(mirrored(ring, 10.0), 10.0).area == pytest.approx(ring.area)
    assert mirrored(polygon_ring([(0, 0), (6, 0), (0, 4)]), 6.0).area == pytest.approx(12.0)


def test_a_job_with_nothing_below_has_no_file_for_it() -> None:
    assert not [name for name in packet_files(lay(SLAB)) if "below" in name]


# --- reliefs -----------------------------------------------------------------------------------------------------------


def test_a_square_corner_is_relieved_by_the_bits_own_circle() -> None:
    job = lay(SLAB).job
    ring = relieved(job, rectangle(0.0, 0.0, 100.0, 60.0), hole=True)
    bit = 0.25 * INCH
    arcs = [(a, b, arc) for a, b in ring.edges() if (arc := arc_of(a, b))]
    assert len(arcs) == 4
    for a, b, arc in arcs:
        assert arc.radius == pytest.approx(bit)
        corner = min(((0, 0), (100, 0), (100, 60), (0, 60)), key=lambda c: math.dist(c, a.at))
        # the circle passes through the corner, so that a square thing fits; its middle lies in the waste
        assert math.dist((arc.cx, arc.cy), corner) == pytest.approx(bit)
        assert 0 < arc.cx < 100
        assert 0 < arc.cy < 60
        assert math.dist(edge_point(a, b, 0.5), corner) == pytest.approx(0.0, abs=1e-9)
    # at each corner half a circle over the chord less the triangle between chord and corner
    grown = 4 * (math.pi * bit**2 / 2 - bit**2)
    assert ring.area == pytest.approx(6000 + grown)


def test_wood_is_relieved_at_its_inside_corners_alone() -> None:
    job = lay(SLAB).job
    notch = polygon_ring([(0, 0), (200, 0), (200, 100), (120, 100), (120, 60), (80, 60), (80, 100), (0, 100)])
    ring = relieved(job, notch, hole=False)
    bit = 0.25 * INCH
    assert ring.area == pytest.approx(notch.area - 2 * (math.pi * bit**2 / 2 - bit**2))
    blunt = polygon_ring([(0, 0), (200, 0), (200, 100), (150, 100), (100, 80), (50, 100), (0, 100)])
    assert relieved(job, blunt, hole=False) == blunt
    assert relieved(lay(SLAB, '[cut]\nrelief = "none"\n').job, notch, hole=False) == notch


def test_the_relief_is_in_the_cut_file_and_said_in_its_note() -> None:
    square = (
        '[[cutout]]\nname = "F"\nkind = "flange"\ntop = "slab"\ncenter = ["30", "12"]\n'
        'size = ["10", "6"]\nradius = 0\nproof = "template"\n'
    )
    layout = lay(SLAB, square)
    piece, found = of(layout)
    data = cut_dxf(piece, layout.job, found)
    (ring,) = drawn(data)["CUT_INSIDE"]
    assert sum(abs(b) > 0.9 for _, _, b in ring) == 4
    assert b"SQUARE CORNERS RELIEVED BY A 1/2" in data
    (told,) = [f for f in layout.findings if f.code == "corner-too-tight"]
    assert "relief" in told.message
    center, start, end, radius = (
        bulge_to_arc(ring[1][:2], ring[2][:2], ring[1][2])
        if abs(ring[1][2]) > 0.9
        else bulge_to_arc(ring[0][:2], ring[1][:2], ring[0][2])
    )
    assert radius == pytest.approx(0.25)
    assert start != end
    assert 0 < center.x < 60


# --- natural edges -----------------------------------------------------------------------------------------------------

LIVE = (
    '[[edge]]\ntop = "slab"\nside = "{side}"\n'
    'natural = [["0", "0"], ["15", "1 1/4"], ["30", "1/2"], ["48", "2"], ["60", "1"]]\n'
)


def test_a_natural_edge_runs_through_every_measure_smoothly() -> None:
    layout = lay(SLAB, LIVE.format(side="front"))
    ring = layout.divided.pieces[0].ring
    measured = [(0, 0), (15, 1.25), (30, 0.5), (48, 2), (60, 1)]
    spots = [(v.x / INCH, v.y / INCH) for v in ring.vertices]
    for x, y in measured:
        assert min(math.dist((x, y), s) for s in spots) < 1e-9
    edges = list(ring.edges())
    inner = [k for k, (a, _) in enumerate(edges) if a.side == "front" and edges[k - 1][0].side == "front"]
    assert len(inner) == 7
    for k in inner:
        (p, q), (a, b) = edges[k - 1], edges[k]
        turn = math.remainder(edge_heading(a, b, 0.0) - edge_heading(p, q, 1.0), 2 * math.pi)
        assert turn == pytest.approx(0.0, abs=1e-9)


def test_a_back_is_measured_from_its_left_too() -> None:
    ring = lay(SLAB, LIVE.format(side="back")).divided.pieces[0].ring
    spots = [(v.x / INCH, v.y / INCH) for v in ring.vertices]
    for x, y in [(0, 25), (15, 23.75), (30, 24.5), (48, 23), (60, 24)]:
        assert min(math.dist((x, y), s) for s in spots) < 1e-9


def test_points_of_a_circle_give_the_circle() -> None:
    points = [(300 * math.cos(t), 300 * math.sin(t)) for t in (0.0, 0.3, 0.5, 0.9, 1.2)]
    for a, b in zip(path := smooth(points), path[1:], strict=False):
        arc = arc_of(a, b)
        assert arc is not None
        assert math.dist((arc.cx, arc.cy), (0, 0)) < 1e-6
        assert arc.radius == pytest.approx(300)


@pytest.mark.parametrize(
    ("stations", "words"),
    [
        ('[["0", "0"], ["50", "1"]]', "stations from 0 to the whole side"),
        ('[["0", "-1"], ["60", "1"]]', "below zero"),
        ('[["0", "0"], ["0", "1"], ["60", "0"]]', "rise"),
        ('[["0", "26"], ["60", "0"]]', "away from its corner"),
    ],
)
def test_a_natural_edge_that_cannot_be_is_told(stations: str, words: str) -> None:
    with pytest.raises(JobError) as caught:
        lay(SLAB, f'[[edge]]\ntop = "slab"\nside = "front"\nnatural = {stations}\n')
    assert words in str(caught.value)


def test_frames_of_pieces_do_not_matter() -> None:
    """A pocket turns with its piece."""
    layout = lay(ELL)
    for name in ("P1", "P2"):
        piece, found = of(layout, name)
        for o in found:
            x0, y0, x1, y1 = o.ring.bounds()
            assert -2 * INCH < x0 < x1 < piece.length + 2 * INCH
            assert -2 * INCH < y0 < y1 < piece.width + 2 * INCH
            assert o.ring.area > 0
    assert Frame() == Frame(0.0, 0.0, 0.0)
