"""Details: what is computed for them, and that they show it. Figures worked out by hand beside each check."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from rooms import fuller_job
from samples_drawn import EVERY, laid
from test_sheets import crossings, drawn, faults
from test_sheets import texts as texts_on

from layout import region
from layout.details import (
    LETTERS,
    BackSection,
    EdgeSection,
    FrontSection,
    HeightsDetail,
    JointDetail,
    OverhangSection,
    SinkSection,
    details,
    letter,
)
from layout.drawing import Dimension, Drawing, Lines, Text, View
from layout.drawing import Path as Path_
from layout.fasteners import fasteners, spaced
from layout.hold_downs import hold_downs
from layout.lettering import NO_BREAK, fold
from layout.pipeline import Layout, lay_text
from layout.profiles import profile_ring, profile_size
from layout.rules import PROFILES
from layout.sheets import draw

ROOT = Path(__file__).resolve().parent
SAMPLES = sorted((ROOT.parent / "samples" / "jobs").glob("*.toml"))
INCH = 25.4


def sample(name: str) -> Layout:
    return laid(name)


def words_in(view: View) -> list[str]:
    """Return the texts of a view."""
    return [i.text for i in view.items if isinstance(i, Text)]


def words(drawing: Drawing) -> list[str]:
    return [text.text for sheet in drawing.sheets for text, _ in texts_on(sheet)]


# --- edge profiles -------------------------------------------------------------------------------------------------

T, REACH = 1.5 * INCH, 3 * INCH
QUARTER = 1 - math.pi / 4
# what each profile takes off the square section of 3 by 1 1/2 in, in square inches
TAKEN = {
    "square": 0.0,
    "eased": 2 * QUARTER * (1 / 8) ** 2,
    "eased 1/4": 2 * QUARTER * (1 / 4) ** 2,
    "roundover 1/2": QUARTER * (1 / 2) ** 2,
    "bevel 1/4": (1 / 4) ** 2 / 2,
    "cove 1/4": math.pi / 4 * (1 / 4) ** 2,
    # two quarters of 1/4: hollow below, round above; together half of the square of 1/2
    "ogee 1/2": (1 / 2) ** 2 / 2,
    "bullnose": 2 * QUARTER * (3 / 4) ** 2,
    "bullnose 1/2": 2 * QUARTER * (1 / 2) ** 2,
}


@pytest.mark.parametrize("profile", TAKEN)
def test_a_profile_in_section_takes_off_what_its_size_says(profile: str) -> None:
    ring = profile_ring(profile, T, REACH, "in")
    assert ring.area / INCH**2 == pytest.approx(3 * 1.5 - TAKEN[profile], abs=1e-9)
    x0, y0, x1, y1 = ring.bounds()
    assert (x0, y0, x1, y1) == pytest.approx((-REACH, 0, 0, T), abs=1e-9)
    assert region.is_simple(ring)


def test_every_profile_has_a_section() -> None:
    assert {p.partition(" ")[0] for p in TAKEN} == set(PROFILES)


def test_a_profile_never_takes_more_than_there_is() -> None:
    assert profile_size("bullnose 2", T, "in") == T / 2
    assert profile_size("roundover 3", T, "in") == T


# --- fasteners -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("length", "stations"),
    [
        # shop default, unsourced: max(3, one in 10 in), first and last 3 1/2 in from the ends
        (25.5, [3.5, 12.75, 22.0]),
        (36.0625, [3.5, 3.5 + 29.0625 / 3, 3.5 + 2 * 29.0625 / 3, 32.5625]),
        (40.0, [3.5, 14.5, 25.5, 36.5]),
        # in 12 in three would stand 2 1/2 apart: two do
        (12.0, [3.5, 8.5]),
        (6.0, [3.0]),
        (3.0, []),
    ],
)
def test_fasteners_stand_evenly_in_a_joint(length: float, stations: list[float]) -> None:
    job = sample("corner-two-degrees-open").job
    assert [s / INCH for s in spaced(job, 0.0, length * INCH)] == pytest.approx(stations, abs=1e-9)


def test_fasteners_keep_clear_of_a_column() -> None:
    layout = sample("island-round-a-column")
    (joint,) = layout.divided.joints
    placed = fasteners(layout.job, joint, layout.laid.cutouts, layout.divided.pieces)
    column = next(c for c in layout.laid.cutouts if c.kind == "column")
    shape = region.area_of(column.ring)
    # the joint runs from the back (43 1/2) to the front; the column takes 18 5/8 to 25 3/8, two inches more either way
    low, high = 43.5 - 25.375 - 2, 43.5 - 18.625 + 2
    stations = [f.station / INCH for f in placed]
    assert len(stations) >= 3
    assert all(s <= low or s >= high for s in stations)
    assert all(shape.distance(region.spot(f.at)) >= 2 * INCH - 1e-6 for f in placed)


@pytest.mark.parametrize("job", SAMPLES, ids=lambda p: p.stem)
def test_fasteners_lie_on_their_joint_and_one_place_serves_both_pieces(job: Path) -> None:
    layout = laid(job.stem)
    for joint in layout.divided.joints:
        for f in fasteners(layout.job, joint, layout.laid.cutouts, layout.divided.pieces):
            assert region.path(joint.points).distance(region.spot(f.at)) < 1e-6
            assert math.dist(joint.points[0], f.at) == pytest.approx(f.station, abs=1e-6)


# --- hold-downs ----------------------------------------------------------------------------------------------------


def test_a_line_that_is_taken_whole_has_no_stretch_left() -> None:
    lines = region.paths([[(10.0, 5.0), (20.0, 5.0)], [(10.0, 50.0), (20.0, 50.0)]])
    low, both = (region.polygon([(0, 0), (30, 0), (30, high), (0, high)]) for high in (10, 60))
    assert region.paths_of(lines.difference(low)) == [[(10.0, 50.0), (20.0, 50.0)]]
    assert (
        region.paths_of(lines.difference(both))
        == region.paths_of(region.path([(10, 5), (20, 5)]).difference(low))
        == []
    )


def test_a_piece_without_room_for_a_screw_is_laid_out_all_the_same() -> None:
    assert hold_downs(lay_text(fuller_job(143)).laid)


@pytest.mark.parametrize("job", SAMPLES, ids=lambda p: p.stem)
def test_hold_downs_go_through_cabinets_and_never_near_a_cutout(job: Path) -> None:
    layout = laid(job.stem)
    built = {t.name: c.built for t, c in zip(layout.laid.tops, layout.laid.carried, strict=True)}
    placed = hold_downs(layout.laid)
    for piece in layout.divided.pieces:
        mine = [h for h in placed if h.piece == piece.id]
        assert mine, piece.id
        for h in mine:
            at_bracket = any(region.area_of(s.ring).contains(region.spot(h.at)) for s in layout.laid.supports)
            assert at_bracket or built[piece.top].covers(region.spot(h.at))
            assert not (at_bracket and h.fixed and not built[piece.top].covers(region.spot(h.at)))
            assert piece.ring.contains(h.at)
            for cut in layout.laid.cutouts:
                # rounded off by chords: a hair less
                clear = 2 * INCH if layout.job.job.units == "in" else 50.0
                assert region.area_of(cut.ring).distance(region.spot(h.at)) >= clear - 0.3
            for opening in (o for o in layout.divided.openings if o.leg == piece.leg and not o.breaks):
                x, _ = opening.leg.frame.from_plan(h.at)
                assert not opening.start - 49.9 < x < opening.end + 49.9
            for joint in (j for j in layout.divided.joints if piece.id in j.pieces):
                assert region.path(joint.points).distance(region.spot(h.at)) >= 49.7
        # all that are fixed lie in one line along the grain: the piece moves freely across it
        across = {round(piece.frame.from_plan(h.at)[1], 6) for h in mine if h.fixed}
        assert len(across) <= 1
        assert all(h.across > 0 for h in mine if not h.fixed)


# --- which details, with which measures ----------------------------------------------------------------------------


def test_letters_skip_what_can_be_misread() -> None:
    # I, O, Q, S, X and Z, as for revisions (US Navy Engineering Aid manual, revision block)
    assert not set(LETTERS) & set("IOQSXZ")
    assert [letter(k) for k in (0, 7, 8, 19, 20)] == ["A", "H", "J", "Y", "AA"]


def test_the_details_of_a_peninsula() -> None:
    found = [d for _, d in details(sample("peninsula-with-stools").laid)]
    assert [type(d) for d in found] == [
        EdgeSection, FrontSection, OverhangSection, SinkSection, BackSection, JointDetail, HeightsDetail,
    ]  # fmt: skip
    front = next(d for d in found if isinstance(d, FrontSection))
    assert front.overhang / INCH == pytest.approx(1.5)  # 25 1/2 off the wall, cabinets 24
    over = next(d for d in found if isinstance(d, OverhangSection))
    # 10 in beyond the line, brackets of 8 in that start on it: 2 in short
    assert (over.overhang / INCH, over.short / INCH, over.kind) == (pytest.approx(10), pytest.approx(2), "bracket")
    sink = next(d for d in found if isinstance(d, SinkSection))
    assert (sink.mount, sink.rail / INCH) == ("drop-in", pytest.approx(3.25))
    back = next(d for d in found if isinstance(d, BackSection))
    assert [g / INCH for g in back.gap] == pytest.approx([1 / 8, 1 / 8])
    heights = next(d for d in found if isinstance(d, HeightsDetail))
    assert heights.height / INCH == pytest.approx(36)


def test_a_reveal_is_said_in_words() -> None:
    text = (ROOT.parent / "samples" / "jobs" / "corner-two-degrees-open.toml").read_text(encoding="utf-8")
    for typed, said in (
        ("1/8", 'top 1/8" over the bowl'),
        ("0", "top flush with the bowl"),
        ("-1/4", 'top 1/4" back from the bowl'),
    ):
        job = text.replace('reveal = "1/8"', f'reveal = "{typed}"')
        assert sum(said in w for w in words(draw(lay_text(job)))) >= 2  # in the section and in the table


@pytest.mark.parametrize("job", EVERY)
def test_sections_print_the_measures_they_are_drawn_by(job: Path) -> None:
    layout, drawing = drawn(job.stem)
    views = {v.id: v for s in drawing.sheets for v in s.views}
    labels = layout.laid.labels
    thick = labels.fine(layout.job.wood.thickness)
    for mark, detail in details(layout.laid):
        items = views[f"detail-{mark}"].items
        printed = {i.label.text for i in items if isinstance(i, Dimension)}
        said = " ".join(i.text for i in items if isinstance(i, Text))
        for i in items:
            if isinstance(i, Dimension):
                assert i.label.text == labels.fine(i.value)
        if isinstance(detail, JointDetail):
            count = len(detail.fasteners)
            assert f"{count} fastener" in said
            first = detail.joint.points[0]
            assert all(labels.text(math.dist(first, f.at)) in said for f in detail.fasteners)
        elif isinstance(detail, HeightsDetail):
            assert labels.fine(detail.height) in printed
            assert all(labels.fine(h) in said for h, _ in detail.marks)
        else:
            assert thick in printed
        if isinstance(detail, FrontSection | OverhangSection):
            assert labels.fine(detail.overhang) in printed
        if isinstance(detail, BackSection):
            assert f"room to move {labels.fine(detail.gap[0])}" in said


# --- crowded tops --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("size", ["ANSI A", "ANSI B", "A4", "A3", "A2"])
def test_a_crowded_top_overlaps_nothing_and_drops_nothing(size: str) -> None:
    """Three cutouts in a 60 in leg, five faucet holes over one sink, two seams near another."""
    text = (ROOT / "crowded" / "three-cutouts-in-60.toml").read_text(encoding="utf-8")
    layout = lay_text(f'{text}\n[sheet]\nsize = "{size}"\n')
    drawing = draw(layout)
    assert faults(drawing) == []
    assert crossings(drawing) == []
    plan = drawing.sheets[0].views[0]
    on_plan = {i.name for i in plan.items if isinstance(i, Dimension)}
    views = [v for s in drawing.sheets for v in s.views]
    for top, wall in plan.crowded:
        # what the plan has no room for is said there, and stands in a view of its own, every cutout in it
        said = next(
            i.text for i in plan.items if isinstance(i, Text) and i.text.startswith(f"stations of {top} along {wall}")
        )
        own = next(v for v in views if v.id == f"detail-{said.rsplit(maxsplit=1)[-1]}")
        labels = layout.laid.labels
        figures = {i.label.text for i in own.items if isinstance(i, Dimension)}
        here = [c for c in layout.laid.cutouts if c.leg.wall is not None and c.leg.wall.name == wall]
        assert {labels.text(c.station) for c in here} <= figures
    assert plan.crowded or "kitchen stations" in on_plan
    marks = {t.text for t, _ in texts_on(drawing.sheets[0])}
    assert {c.name for c in layout.laid.cutouts} | {"P1", "P2", "P3", "P4", "J1", "J2", "J3"} <= marks


def test_the_index_names_every_sheet_from_three_on() -> None:
    drawing = draw(sample("u-longer-than-a-board"))
    said = words(drawing)
    assert "Sheets" in said and "1" in said
    kinds = dict.fromkeys(s.title.split()[0].rstrip("s") for s in drawing.sheets)
    assert all(any(w.startswith(kind) for w in said) for kind in kinds)


def test_a_sinks_ledge_is_cut_out_of_its_section_and_said() -> None:
    layout = sample("grooves-and-a-natural-edge")
    view = next(v for s in draw(layout).sheets for v in s.views if "S1, undermount sink" in " ".join(words_in(v)))
    (wood,) = [i for i in view.items if isinstance(i, Path_) and i.kind == "piece"]
    # 3/4 in wide and 3/8 in deep are taken off the lower corner at the cut face; eased edges take off far less
    _, y0, x1, _ = wood.ring.bounds()
    corners = {(round(x1 - v.x, 3), round(v.y - y0, 3)) for v in wood.ring.vertices}
    assert {(0.0, 9.525), (19.05, 9.525), (19.05, 0.0)} <= corners
    assert (0.0, 0.0) not in corners
    assert 'ledge 3/4" wide, 3/8" deep,' in words_in(view)
    # the rim lies in it, the bowl hangs from there
    rims = [i.ring.bounds() for i in view.items if isinstance(i, Path_) and i.kind == "appliance"]
    assert max(b[3] for b in rims) == pytest.approx(y0 + 9.525)
    assert all(b[0] > x1 - 19.05 for b in rims)


def test_a_natural_front_is_cut_where_it_stands_out_most() -> None:
    layout = sample("grooves-and-a-natural-edge")
    front = next(d for _, d in layout.details if isinstance(d, FrontSection) and d.most)
    listed = next(o.amount for c in layout.laid.carried if c.top == "island" for o in c.overhangs if o.side == "front")
    assert front.overhang == pytest.approx(listed, abs=0.05)
    (plan,) = [v for s in draw(layout).sheets for v in s.views if v.id == "plan"]
    mark = next(m for m, d in layout.details if d is front)
    (stroke,) = [i for i in plan.items if isinstance(i, Lines) and i.name == f"section {mark}"]
    ((a, b),) = stroke.strokes
    # across the edge, where that is: no leader from afar
    assert abs(math.remainder(math.atan2(b[1] - a[1], b[0] - a[0]) - front.outward, math.pi)) < 0.1
    assert min(math.dist(a, front.at), math.dist(b, front.at)) * plan.scale < 12.0


def test_a_fraction_stays_with_its_whole_number() -> None:
    text = 'P1-3 68 3/4", P2-3 54 1/4"; 2 x 3/4" of 8/4 16 ft'
    for width in range(14, 60):
        lines = fold(text, width, 2.5)
        assert " ".join(lines) == text
        assert not any(line.startswith(('3/4",', '1/4"')) for line in lines)
    held = f"P3-2{NO_BREAK}73 1/2, P3-3{NO_BREAK}8"
    assert fold(held, 24, 2.5) == ["P3-2 73 1/2,", "P3-3 8"]
    assert fold(f"one two{NO_BREAK}three", 200, 2.5) == ["one two three"]


def test_a_table_that_goes_on_elsewhere_says_so() -> None:
    _, drawing = drawn("apron-sink-under-a-window")
    titles = [w for w in words(drawing) if w.startswith("Sheets")]
    assert titles == ["Sheets, more follows", "Sheets, continued"]
