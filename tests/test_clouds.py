"""Revisions on the sheets: clouds round what changed, triangles that stay, and every text as legible as ever.

The measure of what is legible is that of the sheets' own tests; here no text may lie on a cloud either.
"""

from __future__ import annotations

import json
import math
import re
import xml.etree.ElementTree as ET
from fractions import Fraction
from functools import cache
from pathlib import Path as File
from typing import Any

import pytest
from raw_dxf import read, ring_area
from rooms import fuller_job, random_job
from samples_drawn import JOBS as FILES
from shapely.geometry import Point as Spot
from shapely.geometry import Polygon
from test_sheets import crossings, faults, line_of, on_paper, texts
from typer.testing import CliRunner

from cli.app import app
from layout.changes import Change
from layout.clouds import revision_note
from layout.compare import compare
from layout.drawing import Drawing, Kind, Path, Text, View
from layout.faults import JobError
from layout.pipeline import Layout, lay_text
from layout.report import report
from layout.sheets import draw
from layout.writers.shop_dxf import shop_dxf
from layout.writers.svg import svg_text

SAMPLES = {f.stem: f.read_text(encoding="utf-8") for f in FILES}
CORNER = SAMPLES["corner-two-degrees-open"]


# --- jobs as a drafter revises them ----------------------------------------------------------------------------------


def longer(text: str, table: str, key: str, inches: str, count: int = 0) -> str:
    """Return a job with a length of its tables of one kind longer by so much, or by as many times 25 mm."""
    metric = 'units = "mm"' in text
    by = Fraction(inches) * (25 if metric else 1)

    def written(found: re.Match[str]) -> str:
        value = sum((Fraction(part) for part in found[2].strip('"').split()), by)
        whole, rest = divmod(value, 1)
        return f"{found[1]}{float(value):g}" if metric else f'{found[1]}"{whole}{f" {rest}" if rest else ""}"'

    pattern = rf'(\[\[{table}\]\](?:(?!\n\[).)*?\n{key} = )("?\d[\d ./]*"?)(?=\s)'
    return re.sub(pattern, written, text, count=count, flags=re.S)


EDITS = {
    "a wall by a sixteenth": lambda t: longer(t, "wall", "length", "1/16", 1),
    "walls by an inch": lambda t: longer(t, "wall", "length", "1"),
    "cutouts moved": lambda t: longer(longer(t, "cutout", "center", "1"), "cutout", "setback", "1/4"),
    "deeper tops": lambda t: longer(t, "top", "depth", "1/2"),
    "ends moved": lambda t: longer(t, "top", "end", "1"),
    "another edge": lambda t: re.sub(r'\nedge = "[^"]+"', '\nedge = "square"', t),
}


@cache
def told(text: str) -> dict[str, Any]:
    return report(lay_text(text))


@cache
def drawn(text: str, edit: str) -> Drawing:
    found = revised_as(text, edit)
    assert found is not None
    return draw(found[0], changes=found[1])


@cache
def revised_as(text: str, edit: str) -> tuple[Layout, tuple[Change, ...]] | None:
    """Return a job after an edit, laid out, and what changed; None where the edit does not suit the job."""
    try:
        layout = lay_text(EDITS[edit](text))
    except JobError:
        return None
    found = compare(told(text), report(layout))
    return (layout, found) if found else None


def is_cloud(item: Any) -> bool:
    return isinstance(item, Path) and item.kind is Kind.REVISION and len(item.ring.vertices) > 3


def clouds(view: View) -> list[Path]:
    return [i for i in view.items if is_cloud(i)]


def letters(view: View) -> list[Text]:
    return [i for i in view.items if isinstance(i, Text) and i.kind is Kind.REVISION]


def on_clouds(drawing: Drawing) -> list[str]:
    """Return every text that a cloud runs through."""
    found = []
    for sheet in drawing.sheets:
        lines = [line_of(i, scale, dx, dy) for i, scale, dx, dy in on_paper(sheet) if is_cloud(i)]
        found += [f"sheet {sheet.number}: {t.text!r}" for t, area in texts(sheet) for c in lines if c.intersects(area)]
    return found


def hold_legible(drawing: Drawing) -> None:
    assert faults(drawing) == []
    assert crossings(drawing) == []
    assert on_clouds(drawing) == []


# --- legible, and round what changed -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "edit"),
    [
        ("corner-two-degrees-open", "a wall by a sixteenth"),
        ("corner-two-degrees-open", "cutouts moved"),
        ("run-broken-by-a-range", "another edge"),
        ("metric-kitchen", "deeper tops"),
        ("island-with-seating", "another edge"),
        ("apron-sink-under-a-window", "walls by an inch"),
        ("straight-run-between-walls", "cutouts moved"),
    ],
)
def test_a_revised_sample_is_legible_and_clouded_where_it_changed(name: str, edit: str) -> None:
    found = revised_as(SAMPLES[name], edit)
    assert found is not None
    layout, changes = found
    drawing = drawn(SAMPLES[name], edit)
    hold_legible(drawing)
    plan = drawing.sheets[0].views[0]
    areas = [Polygon(c.ring.flattened(0.5)) for c in clouds(plan)]
    assert areas and len(letters(plan)) == len(areas)
    unit = 25.4 if layout.job.job.units == "in" else 1.0
    for change in changes:
        for path in change.paths:
            for x, y in path:
                assert any(a.contains(Spot(x * unit, y * unit)) for a in areas), change.words
    # what is not round a change has no cloud: each goes round some place
    places = [Spot(x * unit, y * unit) for c in changes for path in c.paths for x, y in path]
    if not any(c.what in ("edge", "overhang") for c in changes):
        assert [a for a in areas if not any(a.contains(p) for p in places)] == []
    for change in changes:
        if change.what == "piece" and change.piece is not None:
            view = next(v for s in drawing.sheets for v in s.views if v.id == f"piece-{change.piece}")
            assert clouds(view) and letters(view), change.words


@pytest.mark.sweep
@pytest.mark.parametrize("name", SAMPLES)
def test_every_sample_is_legible_whatever_was_revised(name: str) -> None:
    suited = [found for edit in EDITS if (found := revised_as(SAMPLES[name], edit)) is not None]
    assert suited
    for layout, changes in suited:
        hold_legible(draw(layout, changes=changes))


@pytest.mark.sweep
@pytest.mark.parametrize("seed", range(60))
def test_random_rooms_are_legible_whatever_was_revised(seed: int) -> None:
    """Also against a room that has nothing to do with it: there is no more to cloud than everything."""
    for make in (random_job, fuller_job):
        layout = lay_text(make(seed))
        hold_legible(draw(layout, changes=compare(report(lay_text(make(seed + 1))), report(layout))))
        found = revised_as(make(seed), "walls by an inch")
        if found is not None:
            hold_legible(draw(found[0], changes=found[1]))


def test_the_measure_sees_a_text_on_a_cloud() -> None:
    drawing = drawn(CORNER, "a wall by a sixteenth")
    view = drawing.sheets[0].views[0]
    stray = Text(Kind.LABEL, clouds(view)[0].ring.vertices[0].at, "stray", 2.5, "middle")
    bad = View(view.id, view.title, (*view.items, stray), view.scale, view.label, view.at, view.bounds)
    sheet = drawing.sheets[0]
    worse = type(sheet)(1, 1, sheet.size, sheet.width, sheet.height, sheet.title, (bad,), sheet.groups)
    assert any("'stray'" in f for f in on_clouds(Drawing("n", "t", "A", "in", (worse,))))


def test_a_cloud_is_of_arcs_that_bulge_outwards() -> None:
    for cloud in clouds(drawn(CORNER, "cutouts moved").sheets[0].views[0]):
        assert cloud.closed and all(v.bulge > 0.2 for v in cloud.ring.vertices)
        chords = Polygon([v.at for v in cloud.ring.vertices])
        assert chords.exterior.is_ccw and chords.is_valid
        assert cloud.ring.area > chords.area


# --- the writers -----------------------------------------------------------------------------------------------------


def test_svg_and_dxf_show_the_same_clouds() -> None:
    drawing = drawn(CORNER, "cutouts moved")
    dxf = read(shop_dxf(drawing))
    seen = [e for e in dxf.entities if e.layer == "REVISION" and e.kind == "LWPOLYLINE" and len(e.vertices()) > 3]
    wanted = [c for s in drawing.sheets for v in s.views for c in clouds(v)]
    assert len(seen) == len(wanted) > 2
    for entity, cloud in zip(seen, wanted, strict=True):
        assert len(entity.vertices()) == len(cloud.ring.vertices) and entity.closed
        assert ring_area(entity.vertices()) * 25.4**2 == pytest.approx(cloud.ring.area, rel=1e-6)
    said = [e.text(1) for e in dxf.entities if e.layer == "REVISION" and e.kind == "TEXT"]
    assert said and set(said) == {"B"}
    arcs = []
    for sheet in drawing.sheets:
        for element in ET.fromstring(svg_text(sheet, drawing)).iter("{http://www.w3.org/2000/svg}path"):
            if element.get("class") == "revision" and " A " in element.get("d", ""):
                arcs.append(element.get("d", "").count("A "))
    assert arcs == [len(c.ring.vertices) for c in wanted]


def test_without_an_earlier_issue_nothing_of_it_is_drawn() -> None:
    drawing = draw(lay_text(CORNER))
    assert not [i for s in drawing.sheets for i, *_ in on_paper(s) if i.kind is Kind.REVISION]
    assert "REVISION" not in {e.text(2) for e in read(shop_dxf(drawing)).table("LAYER")}
    assert 'class="revision"' not in svg_text(drawing.sheets[0], drawing)


# --- letters and rows --------------------------------------------------------------------------------------------------


def as_c(text: str) -> str:
    return EDITS["cutouts moved"](text).replace('revision = "B"', 'revision = "C"')


def words_of(drawing: Drawing) -> str:
    return " ".join(t.text for s in drawing.sheets for t, _ in texts(s))


def test_the_current_row_says_what_changed_unless_the_job_does() -> None:
    layout = lay_text(as_c(CORNER))
    changes = compare(told(CORNER), report(layout))
    said = words_of(draw(layout, changes=changes))
    assert "The centre of K1 is 56" in said and "revised" in said
    row = '[[revision]]\nletter = "C"\nnote = "cooktop as the owner likes it"\n\n[field]'
    own = words_of(draw(lay_text(as_c(CORNER).replace("[field]", row, 1)), changes=changes))
    assert "cooktop as the owner likes it" in own and "The centre of K1" not in own
    assert "The centre of K1" not in words_of(draw(layout))


def test_a_note_is_short_whatever_changed() -> None:
    many = tuple(Change("piece", f"P{k}", "changed", f"P{k} is longer than it was " * 5) for k in range(40))
    assert len(revision_note(many)) < 400 and "more change" in revision_note(many)
    assert revision_note(()) == "nothing changed"
    long = (Change("job", "title", "changed", "x" * 5000),)
    assert revision_note(long) == "1 change"


def test_triangles_of_earlier_revisions_stay_and_their_clouds_go(tmp_path: File) -> None:
    """What `draw --since` prints goes into the job; the next revision shows its triangles near where its clouds were."""
    issue, job = tmp_path / "issue-B", tmp_path / "job.toml"
    issue.mkdir()
    (issue / "report.json").write_text(json.dumps(told(CORNER)), encoding="utf-8")
    job.write_text(as_c(CORNER), encoding="utf-8")
    result = CliRunner().invoke(app, ["draw", str(job), "--since", str(issue), "--out", str(tmp_path / "out")])
    assert result.exit_code == 0, result.output
    printed = result.stdout.partition("put into the job file:\n")[2].splitlines()
    lines = [line[2:] for line in printed[: next(k for k, line in enumerate(printed) if not line.startswith("  "))]]
    assert lines[:2] == ["[[revision]]", 'letter = "C"'] and lines[-1].startswith("at = [[")
    pasted = as_c(CORNER).replace("[field]", "\n".join([*lines, "", "[field]"]), 1)
    # drawn since B once more, the current letter's triangles come with its clouds, not twice
    first = draw(lay_text(pasted), changes=compare(told(CORNER), told(pasted)))
    before = [Polygon(c.ring.flattened(0.5)) for c in clouds(first.sheets[0].views[0])]
    after = lay_text(pasted.replace('revision = "C"', 'revision = "D"'))
    drawing = draw(after)
    plan = drawing.sheets[0].views[0]
    assert clouds(plan) == []
    assert [t.text for t in letters(plan)] == ["C"] * len(before)
    for triangle in letters(plan):
        assert min(math.dist(triangle.at, (a.centroid.x, a.centroid.y)) for a in before) * plan.scale < 60
    hold_legible(drawing)
    assert [t.text for t in letters(first.sheets[0].views[0])] == ["C"] * len(before)


def test_a_row_that_stands_is_given_its_places_only(tmp_path: File) -> None:
    (tmp_path / "report.json").write_text(json.dumps(told(CORNER)), encoding="utf-8")
    row = '[[revision]]\nletter = "C"\nnote = "cooktop as the owner likes it"\n\n[field]'
    job = tmp_path / "job.toml"
    job.write_text(as_c(CORNER).replace("[field]", row, 1), encoding="utf-8")
    result = CliRunner().invoke(app, ["draw", str(job), "--since", str(tmp_path), "--out", str(tmp_path / "out")])
    said = result.stdout.partition("put into the [[revision]] of C:\n")[2]
    assert said.startswith("  at = [[") and "letter" not in said
    # a letter that stays is a slip that is told
    job.write_text(as_c(CORNER).replace('revision = "C"', 'revision = "B"'), encoding="utf-8")
    result = CliRunner().invoke(app, ["draw", str(job), "--since", str(tmp_path), "--out", str(tmp_path / "out")])
    assert 'still says revision = "B"' in result.stdout


def test_an_issue_is_of_one_job_and_of_this_one(tmp_path: File) -> None:
    (tmp_path / "report.json").write_text(json.dumps(told(CORNER)), encoding="utf-8")
    jobs = [str(f) for f in FILES if f.stem in ("corner-two-degrees-open", "metric-kitchen")]
    for args, said in ((jobs, "an issue of one job"), (jobs[1:], "is an issue of job 'F-202'")):
        result = CliRunner().invoke(app, ["draw", *args, "--since", str(tmp_path), "--out", str(tmp_path / "out")])
        assert result.exit_code == 2 and said in result.stderr
    assert not (tmp_path / "out").exists()
