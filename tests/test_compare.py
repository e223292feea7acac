"""What changed is told once, with both figures, whatever was renumbered; the other way round it reads the other way round."""

from __future__ import annotations

import copy
import json
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from rooms import fuller_job, random_job
from typer.testing import CliRunner

from cli.app import app
from layout.changes import Change
from layout.compare import compare
from layout.pipeline import lay_text
from layout.report import report
from layout.told import ToldError, read_report

SAMPLES = Path(__file__).resolve().parent.parent / "samples" / "jobs"
CORNER = (SAMPLES / "corner-two-degrees-open.toml").read_text(encoding="utf-8")
GROOVES = (SAMPLES / "grooves-and-a-natural-edge.toml").read_text(encoding="utf-8")
SLOT = '\ntop = "wash"\nwall = "B"\ncenter = "48"\nsetback = "20"\nsize = ["12", "3/8"]\n\n'
SEAM = '[[joint]]\ntop = "perimeter"\nwall = "A"\nat = "{at}"\n\n[[cutout]]\nname = "S1"'


def edited(text: str, *edits: tuple[str, str]) -> str:
    for old, new in edits:
        assert old in text, old
        text = text.replace(old, new, 1)
    return text


@cache
def told(text: str) -> dict[str, Any]:
    return report(lay_text(text))


def changed(text: str, *edits: tuple[str, str]) -> tuple[Change, ...]:
    return compare(told(text), told(edited(text, *edits)))


def words(found: tuple[Change, ...], what: str | None = None) -> list[str]:
    return [c.words for c in found if what in (None, c.what)]


def facts(found: tuple[Change, ...]) -> list[tuple[str, str, str, float | None, float | None]]:
    return [(c.what, c.name, c.kind, c.old, c.new) for c in found]


# --- each kind of change ---------------------------------------------------------------------------------------------


def test_a_wall_longer_by_a_sixteenth_is_told_with_the_piece_that_grows_and_nothing_else() -> None:
    found = changed(CORNER, ('length = "121 3/4"', 'length = "121 13/16"'))
    assert words(found) == ['Wall A is 121 13/16" long, was 121 3/4"', 'P1 is 121 9/16" long, was 121 1/2"']
    assert [(c.old, c.new) for c in found[:1]] == [(121.75, 121.8125)]
    assert found[1].piece == "P1"
    # the mitre is where P1 grew: wall B, its pieces and the cooktop only came along
    ends = [p for path in found[1].paths for p in path]
    assert sorted(ends) == [pytest.approx((97.187436, -25.5)), pytest.approx((121.691789, -0.125))]


def test_what_is_finer_than_the_printed_step_is_told_finer() -> None:
    assert words(changed(CORNER, ('length = "121 3/4"', 'length = "121 49/64"')), "wall") == [
        'Wall A is 121 49/64" long, was 121 3/4"'
    ]
    found = changed(CORNER, ('length = "121 3/4"', 'length = "121.751"'))
    assert words(found, "wall") == ['Wall A is 121.7510" long, was 121.7500"']


def test_a_wall_that_nothing_follows_is_told_alone() -> None:
    found = changed(CORNER, ('length = "98 1/2"', 'length = "99"'))
    assert facts(found) == [("wall", "B", "changed", 98.5, 99.0)]
    assert found[0].at == pytest.approx((125.205, -98.94), abs=1e-3)


def test_a_corner_is_told_in_degrees() -> None:
    found = changed(CORNER, ("corner = 92", "corner = 91"))
    assert words(found)[0] == "The corner at the end of wall A is 91°, was 92°"
    assert words(found, "joint")[1] == "J1 is cut at 45.5° and 45.5° to the grain, was at 46° and 46°"


def test_a_cutout_that_moved_is_measured_along_its_wall() -> None:
    found = changed(CORNER, ('center = "55"', 'center = "58"'), ('setback = "3 1/4"', 'setback = "3 1/2"'))
    assert words(found) == [
        'The centre of K1 is 58" along wall B, was 55"',
        'The centre of K1 is 12 5/16" off wall B, was 12 9/16"',
    ]
    assert {c.piece for c in found} == {"P2"} and found[0].old == 55.0 and found[0].new == 58.0


def test_a_cutout_of_another_size_and_one_of_another_kind() -> None:
    found = changed(CORNER, ('size = ["30", "16"]', 'size = ["30 1/2", "16"]'))
    assert words(found) == ['S1 takes 30 1/2" x 16" along and across, was 30" x 16"']
    found = changed(CORNER, ('name = "F1"', 'name = "F2"'))
    assert facts(found) == [("cutout", "F2", "added", None, None), ("cutout", "F1", "removed", None, None)]


def test_what_is_let_into_a_face_is_told_by_where_how_large_how_deep_and_from_which_side() -> None:
    def let_in(*edits: tuple[str, str]) -> list[str]:
        found = changed(GROOVES, *edits)
        assert all(c.what in ("milled", "finding") for c in found)
        return words(found, "milled")

    rods, tray = 'center = ["54", "18"]', 'center = ["20", "19"]'
    # across the grain from where the natural front stands out furthest, 3/8 in behind the straight line it is typed from
    assert let_in((rods, 'center = ["50", "18 1/2"]')) == [
        'The centre of R1 is 50" along the grain of island from its end, was 54"',
        'The centre of R1 is 18 1/8" across the grain of island from its side, was 17 5/8"',
    ]
    assert let_in(('depth = "3/16"', 'depth = "1/4"')) == ['R1 is 1/4" deep, was 3/16"']
    assert let_in(("count = 4", "count = 5"))[0] == "R1 takes 5 cuts, was 4"
    assert let_in(('size = ["16", "11"]', 'size = ["16", "12"]')) == [
        'T1 takes 16" x 12" along and across, was 16" x 11"'
    ]
    # 16 by 11 less four corners, each (1 - pi / 4) r2: 175.14 and 175.52 sq in
    assert let_in(('radius = "3/4"\ndepth', 'radius = "1"\ndepth')) == [
        "The outline of T1 covers 1.2163 sq ft, was 1.2189 sq ft"
    ]
    assert let_in((f'{tray}\nsize = ["16", "11"]', f'{tray}\nface = "below"\nsize = ["16", "11"]')) == [
        "T1 is let in from below, was from above"
    ]


def test_a_slot_that_is_new_gone_or_no_longer_cut_through() -> None:
    slot = '[[slot]]                                    # through, for knives\nname = "K1"'
    twice = slot.replace("K1", "K2") + SLOT.replace('"48"', '"30"') + slot
    (found,) = changed(GROOVES, (slot, twice))
    assert (found.what, found.name, found.kind, found.piece) == ("milled", "K2", "added", "P2")
    assert found.words == "K2 is new, a slot in top wash, cut through" and len(found.paths) == 1
    (found,) = compare(told(edited(GROOVES, (slot, twice))), told(GROOVES))
    assert (found.kind, found.words) == ("removed", "K2 is gone, a slot in top wash, cut through")
    deep = changed(GROOVES, (slot, f'{slot}\ndepth = "1/2"'))
    assert words(deep, "milled") == ['K1 is 1/2" deep from above, was cut through']


@pytest.mark.parametrize(
    "edit", [("count = 4", "count = 5"), ('depth = "3/16"', 'depth = "1/4"'), ('depth = "3/8" }', 'depth = "1/2" }')]
)
def test_what_is_let_in_and_taken_back_is_told_the_other_way_round(edit: tuple[str, str]) -> None:
    was, now = told(GROOVES), told(edited(GROOVES, edit))
    assert mirrored(compare(was, now)) == as_told(compare(now, was)) != []


ISLAND = (SAMPLES / "island-with-seating.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("text", "old", "new", "said"),
    [
        (GROOVES, 'width = "3/4", depth', 'width = "1", depth', ['Cutout S1, ledge width: 1", was 3/4"']),
        (GROOVES, 'ledge = {', '# ledge = {', ['Cutout S1, ledge width: left out, was 3/4"', 'Cutout S1, ledge depth: left out, was 3/8"']),
        (GROOVES, 'finish = "oil varnish"', 'finish = "mineral oil"', ["Wood, finish: mineral oil, was left out"]),
        (GROOVES, 'model = "Brook 28"', 'model = "Brook 30"', ["Cutout S1, model: Brook 30, was Brook 28"]),
        (GROOVES, 'splash = "4"', 'splash = "5"', ['Top wash, splash: 5", was 4"']),
        (GROOVES, "humidity = [38, 55]", "humidity = [38, 55]\nceiling = \"90\"", ['Site, ceiling: 90", was left out']),
        (GROOVES, "[wood]", '[shop]\nkerf = "3/16"\n[wood]', ['Shop, kerf: 3/16", was 1/8"']),
        (ISLAND, 'center = ["89"', 'center = ["90"', ['Support 5, center: 90", 33", was 89", 33"']),
        (
            ISLAND,
            '[[support]]',
            '[[support]]\ntop = "island"\nkind = "steel"\ncenter = ["20", "34"]\nsize = ["2", "8"]\n[[support]]',
            ['Support 1 is new: top island; kind steel; center 20", 34"; size 2", 8"'],
        ),
    ],
)  # fmt: skip
def test_what_no_measure_tells_is_told_as_the_job_file_says_it(text: str, old: str, new: str, said: list[str]) -> None:
    was, now = told(text), told(edited(text, (old, new)))
    assert words(compare(was, now), "stated") == said
    back = compare(now, was)
    assert [c.kind for c in back if c.what == "stated"] == [
        OTHER_WAY[c.kind] for c in compare(was, now) if c.what == "stated"
    ]


def test_whatever_changes_the_digest_is_told() -> None:
    """Each value of a full job file, changed alone, as the digest has them all: something is said of each."""
    full = json.loads(json.dumps(told(GROOVES)))
    seen = 0
    for table, held in full["stated"].items():
        for place in range(len(held)) if isinstance(held, list) else (None,):
            for key in held if place is None else held[place]:
                other = copy.deepcopy(full)
                one = other["stated"][table] if place is None else other["stated"][table][place]
                one[key] = "another"
                assert {c.what for c in compare(full, other)} == {"stated"}, (table, key)
                seen += 1
    assert seen > 80


def test_the_same_place_said_from_the_other_end_is_told_as_such() -> None:
    """P2 is as it was, and so is every sheet but for what is typed: the digest is another."""
    found = changed(CORNER, ('center = "55"', 'center = "43 1/2"\nfrom = "right"'))
    assert words(found) == ['Cutout K1, center: 43 1/2", was 55"', "Cutout K1, from: right, was left out"]


@pytest.mark.parametrize(
    "stated",
    [
        {"wall": [1]},
        {"shop": "x"},
        {"shop": {"kerf": {"mm": "1/0"}}},
        {"shop": {"kerf": {"mm": "1e999999999"}}},
        {"shop": {"kerf": {"mm": 3}}},
        {"job": {"notes": [[[[[[[[[[[[[["deep"]]]]]]]]]]]]]]}},
        {"support": [{}] * 2000},
    ],
    ids=lambda s: str(s)[:40],
)
def test_what_no_job_file_says_is_no_report(stated: dict[str, Any]) -> None:
    with pytest.raises(ToldError, match="stated"):
        compare({**told(CORNER), "stated": stated}, told(CORNER))


def test_a_table_where_a_list_was_is_told() -> None:
    one = {**told(CORNER), "stated": {**told(CORNER)["stated"], "field": [{"by": "x"}], "site": {"name": ["a"]}}}
    for found in (compare(one, told(CORNER)), compare(told(CORNER), one)):
        assert {c.what for c in found} == {"stated"}


def test_a_report_from_before_these_were_told_is_read() -> None:
    old = {key: value for key, value in told(GROOVES).items() if key != "milled"}
    assert {c.kind for c in compare(old, told(GROOVES)) if c.what == "milled"} == {"added"}


def test_a_seam_is_new_and_the_rest_only_has_other_numbers() -> None:
    found = changed(CORNER, ('[[cutout]]\nname = "S1"', SEAM.format(at="20")))
    assert words(found)[:6] == [
        "Pieces are renumbered: P1 is now P2, P2 is now P3",
        'P1 is new, 19 7/8" x 25 3/8" in top perimeter',
        'P2 is 101 5/8" long, was 121 1/2"',
        "Joints are renumbered: J1 is now J2",
        "J1 is new, a seam between P1 and P2",
        "Note short-grain (P1) is new: P1 shorter along the grain than across",
    ]
    assert len(found) == 6


def test_a_seam_that_moved_is_one_seam() -> None:
    one = edited(CORNER, ('[[cutout]]\nname = "S1"', SEAM.format(at="20")))
    found = changed(one, ('at = "20"', 'at = "24"'))
    assert words(found, "joint") == ['J1 stands 24" along wall A, was 20"']
    assert words(found, "piece") == ['P1 is 23 7/8" long, was 19 7/8"', 'P2 is 97 5/8" long, was 101 5/8"']


def test_tops_in_another_order_are_a_renumbering_and_nothing_more() -> None:
    top = '[[top]]\nname = "{0}"\nsize = ["40", "25"]\nat = ["{1}", "0"]\n'
    head = CORNER[: CORNER.index("[[wall]]")]
    one, two = top.format("one", "0"), top.format("two", "80")
    found = compare(told(head + one + two), told(head + two + one))
    assert words(found) == ["Pieces are renumbered: P2 is now P1, P1 is now P2"]


def test_another_species_and_thickness() -> None:
    found = changed(CORNER, ("black walnut", "hard maple"), ('thickness = "1 1/2"', 'thickness = "1 3/8"'))
    assert words(found) == [
        "The wood is Hard (sugar) maple, was Black walnut",
        'The tops are 1 3/8" thick, were 1 1/2"',
    ] + [
        f'Ask milling-too-deep ({joint}) is new: {joint} is 15/16" deep: only 7/16" of wood is left under it; 1/2" is wanted'
        for joint in ("J1",)
    ]


def test_another_edge_profile_is_told_of_its_side() -> None:
    edge = '[[edge]]\ntop = "perimeter"\nside = "B front"\nprofile = "square"\n\n'
    found = changed(CORNER, ('[[cutout]]\nname = "S1"', edge + '[[cutout]]\nname = "S1"'))
    assert words(found) == ["The edge of perimeter, B front, is square, was eased"]


def test_findings_come_and_go() -> None:
    found = changed(CORNER, ('walls = "finished"', 'walls = "bare studs"'))
    assert facts(found) == [
        ("finding", "not-final-measure field", "added", None, None),
        ("stated", "field walls", "changed", None, None),
    ]
    assert words(found, "stated") == ["Field, walls: bare studs, was finished"]
    back = compare(told(edited(CORNER, ('walls = "finished"', 'walls = "bare studs"'))), told(CORNER))
    assert facts(back)[0] == ("finding", "not-final-measure field", "removed", None, None)


def test_a_deeper_top_tells_its_overhangs() -> None:
    found = changed(CORNER, ('depth = "25 1/2"', 'depth = "26"'))
    assert words(found, "overhang") == [
        'The overhang of perimeter, A front, is 2", was 1 1/2"',
        'The overhang of perimeter, B front, is 2", was 1 1/2"',
    ]


def test_a_check_measure_and_the_head_of_the_job() -> None:
    found = changed(CORNER, ('length = "159 3/8"', 'length = "159 1/4"'), ('revision = "B"', 'revision = "C"'))
    assert words(found) == [
        "The job's revision is C, was B",
        'The check measure A start to B end is 159 1/4", was 159 3/8"',
    ]


def test_an_island_that_stands_elsewhere_and_one_that_is_new() -> None:
    top = '\n[[top]]\nname = "block"\nsize = ["40", "25"]\nat = ["{0}", "-80"]\n'
    with_one = CORNER + top.format("20")
    found = compare(told(CORNER), told(with_one))
    assert ("top", "block", "added") in {(c.what, c.name, c.kind) for c in found}
    assert not [c for c in found if c.what in ("piece", "overhang", "joint")], "told with the top"
    found = compare(told(with_one), told(CORNER + top.format("26")))
    assert [c.what for c in found] == ["top"]
    assert found[0].words.startswith("Top block stands elsewhere: the lower left of its outline is at 26")


def test_a_top_that_comes_along_with_its_wall_has_not_moved() -> None:
    only_b = edited(CORNER, ('along = ["A", "B"]', 'along = ["B"]'))
    only_b = only_b[: only_b.index("[[cutout]]")]
    found = changed(only_b, ('length = "121 3/4"', 'length = "126 3/4"'))
    assert words(found, "wall") == ['Wall A is 126 3/4" long, was 121 3/4"']
    assert not [c for c in found if c.what in ("top", "piece", "joint")]


def test_other_units_are_said_and_lengths_compared_all_the_same() -> None:
    head = '[job]\ntitle = "S"\nnumber = "S-1"\nunits = "{0}"\n[wood]\nspecies = "cherry"\nthickness = "38.1 mm"\n'
    top = '[[top]]\nname = "slab"\nsize = ["{0} mm", "635 mm"]\n'
    was, now = (told(head.format(unit) + top.format("1016")) for unit in ("in", "mm"))
    assert "The job's units are millimetres, was inches" in words(compare(was, now))
    assert not [c for c in compare(was, now) if c.what in ("top", "piece", "wood", "edge")]
    longer = told(head.format("mm") + top.format("1020"))
    assert words(compare(was, longer), "piece") == ["P1 is 1020 long, was 1016"]
    assert [(c.old, c.new) for c in compare(was, longer) if c.what == "piece"] == [(1016.0, 1020.0)]


# --- either way round ------------------------------------------------------------------------------------------------

OTHER_WAY = {"added": "removed", "removed": "added", "changed": "changed"}


def mirrored(found: tuple[Change, ...]) -> list[str]:
    return sorted(repr((c.what, OTHER_WAY[c.kind], c.new, c.old)) for c in found)


def as_told(found: tuple[Change, ...]) -> list[str]:
    return sorted(repr((c.what, c.kind, c.old, c.new)) for c in found)


def hold_either_way(seeds: range) -> None:
    rooms = [told(make(seed)) for seed in seeds for make in (random_job, fuller_job)]
    seen = 0
    for k, one in enumerate(rooms):
        assert compare(one, copy.deepcopy(one)) == ()
        for other in rooms[k + 1 : k + 4]:
            if one["job"]["units"] == other["job"]["units"]:
                found = compare(one, other)
                assert mirrored(found) == as_told(compare(other, one))
                # a room that the fuller one added nothing to is the same room
                assert bool(found) == (one != other)
                seen += 1
    assert seen >= len(rooms) / 2


def test_random_rooms_compare_alike_either_way() -> None:
    hold_either_way(range(5))


@pytest.mark.sweep
def test_many_random_rooms_compare_alike_either_way() -> None:
    hold_either_way(range(100, 200))


@pytest.mark.parametrize(
    "edit",
    [
        ('length = "121 3/4"', 'length = "122 1/4"'),
        ('[[cutout]]\nname = "S1"', SEAM.format(at="20")),
        ('center = "55"', 'center = "58"'),
        ("black walnut", "hard maple"),
    ],
    ids=lambda e: e[1][:20],
)
def test_an_edit_taken_back_is_told_the_other_way_round(edit: tuple[str, str]) -> None:
    was, now = told(CORNER), told(edited(CORNER, edit))
    assert mirrored(compare(was, now)) == as_told(compare(now, was)) != []


# --- from files ------------------------------------------------------------------------------------------------------


def run(*args: str | Path) -> Any:
    return CliRunner().invoke(app, [str(a) for a in args])


def test_jobs_folders_and_reports_are_compared(tmp_path: Path) -> None:
    old, new = tmp_path / "old.toml", tmp_path / "new.toml"
    old.write_text(CORNER, encoding="utf-8")
    new.write_text(edited(CORNER, ('center = "55"', 'center = "58"')), encoding="utf-8")
    (tmp_path / "issue-A").mkdir()
    (tmp_path / "issue-A" / "report.json").write_text(json.dumps(told(CORNER)), encoding="utf-8")
    line = 'cutouts\n  The centre of K1 is 58" along wall B, was 55"\n'
    for before in (old, tmp_path / "issue-A", tmp_path / "issue-A" / "report.json"):
        result = run("compare", before, new)
        assert (result.exit_code, result.stdout) == (0, line)
        assert run("compare", before, old).stdout == "nothing changed\n"
    found = json.loads(run("compare", old, new, "--json").stdout)
    (change,) = found["changes"]
    assert (change["what"], change["name"], change["kind"], change["old"], change["new"]) == (
        "cutout", "K1", "changed", 55.0, 58.0,
    )  # fmt: skip
    assert json.loads(run("compare", old, old, "--json").stdout) == {"changes": []}


def spoilt(**parts: Any) -> str:
    return json.dumps({**told(CORNER), **parts})


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ("", "not JSON"),
        ("[" * 100_000, "not JSON"),
        ("[]", "not a report"),
        ("{}", "not a report of this program, at job"),
        (spoilt(pieces=[{}]), "at pieces.0.id"),
        (spoilt(tops=[{"name": "t", "part": 1, "outline": [[0, 0, 0], [1, 0, 0]], "edges": []}]), "three corners"),
        (spoilt(wood={"species": "x", "coefficient": float("nan"), "basis": None, "moisture": [1, 2]}), "not JSON"),
        (spoilt(wood={"species": "x", "coefficient": 1e300, "basis": None, "moisture": [1, 2]}), "at wood.coefficient"),
    ],
)
def test_what_is_no_report_is_told_and_ends_with_two(content: str, said: str, tmp_path: Path) -> None:
    file = tmp_path / "report.json"
    file.write_text(content, encoding="utf-8")
    job = SAMPLES / "corner-two-degrees-open.toml"
    for args in (("compare", file, job), ("compare", job, tmp_path), ("draw", job, "--since", file, "--out", tmp_path)):
        result = run(*args)
        assert result.exit_code == 2, result.output
        assert said in result.stderr and "Traceback" not in result.output
        assert str(file) in result.stderr
    assert [p.name for p in tmp_path.iterdir()] == ["report.json"]
    with pytest.raises(ToldError):
        read_report(file)


def test_what_is_not_there_or_no_job_is_told_and_ends_with_two(tmp_path: Path) -> None:
    job = SAMPLES / "corner-two-degrees-open.toml"
    (tmp_path / "bad.toml").write_text("[job]\n", encoding="utf-8")
    for missing in (tmp_path / "none", tmp_path, tmp_path / "bad.toml", tmp_path / "none.toml"):
        result = run("compare", missing, job)
        assert result.exit_code == 2 and str(missing) in result.stderr


def test_a_finding_of_a_piece_that_is_gone_is_not_taken_for_one_of_its_numbers_heir() -> None:
    """Seeds from the sweep: P2 is parted off between P1 and what was P2; both rooms ask something of "P1, P2"."""
    one, other = told(fuller_job(157)), told(random_job(158))
    assert mirrored(compare(one, other)) == as_told(compare(other, one))
    gone = [c for c in compare(other, one) if c.what == "finding" and "movement-needs-room" in c.name]
    assert {(c.kind, c.name) for c in gone} == {
        ("added", "movement-needs-room P1, P2"),
        ("removed", "movement-needs-room P1, former P2"),
    }
