"""The sheets as a reader meets them: every text in the frame, none on another or on a piece's edge, nothing left out.

Measured on the drawing model with shapely and the advances of DejaVu Sans, the widest face a reader is likely to have.
Sizes and frames by ISO 5457:1999, ISO 216 and ASME Y14.1; scales by ISO 5455 and architects' practice; title block fields
by ISO 7200:2004; line widths of the ISO 128 series; lettering heights of ISO 3098.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path as File

import pytest
import samples_drawn
from rooms import random_job
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon, box

from layout.details import HeightsDetail, JointDetail, details
from layout.drawing import Circle, Dimension, Drawing, Item, Kind, Lines, Path, Sheet, Text, View
from layout.lettering import fold, text_width
from layout.natural import natural_sides
from layout.page import SCALES, SIZES, frame_area
from layout.pipeline import Layout, lay_text
from layout.sheets import ABOUT_LAYUP, ABOUT_PIECE, ABOUT_PLAN, _extent, draw

HERE = File(__file__).parent


def drawn(name: str) -> tuple[Layout, Drawing]:
    """Return a sample laid out and drawn."""
    return samples_drawn.laid(name), samples_drawn.drawn(name)


def on_paper(sheet: Sheet) -> Iterator[tuple[Item, float, float, float]]:
    """Yield every item of a sheet with its scale and shift, so that paper = model * scale + shift."""
    for view in sheet.views:
        for item in view.items:
            yield item, view.scale, view.at[0], view.at[1]
    for group in sheet.groups:
        for item in group.items:
            yield item, 1.0, 0.0, 0.0


def text_area(text: Text, scale: float, dx: float, dy: float, shrink: float = 0.05) -> Polygon:
    """Return the paper area that a line of text takes, from the font's descent to its ascent (DejaVu Sans: 0.236, 0.928 em)."""
    width = text_width(text.text, text.height, text.bold)
    left = {"start": 0.0, "middle": -width / 2, "end": -width}[text.anchor]
    em = text.height / 0.716
    area = box(left + shrink, -0.236 * em + shrink, left + width - shrink, 0.928 * em - shrink)
    turned = affinity.rotate(area, text.angle, origin=(0, 0))
    return affinity.translate(turned, text.at[0] * scale + dx, text.at[1] * scale + dy)


def texts(sheet: Sheet) -> list[tuple[Text, Polygon]]:
    out = []
    for item, scale, dx, dy in on_paper(sheet):
        text = item.label if isinstance(item, Dimension) else item
        if isinstance(text, Text) and text.text:
            out.append((text, text_area(text, scale, dx, dy)))
    return out


def line_of(path: Path, scale: float, dx: float, dy: float) -> LineString:
    points = path.ring.flattened(0.05 / scale) if path.closed else list(path.ring.points)
    if path.closed:
        points = [*points, points[0]]
    return LineString([(x * scale + dx, y * scale + dy) for x, y in points])


def faults(drawing: Drawing) -> list[str]:
    """Return every text that lies on another, on a piece's edge or a cutout's, or out of the frame."""
    found = []
    for sheet in drawing.sheets:
        inner = frame_area(sheet.size)
        frame = box(inner.x, inner.y, inner.x + inner.width, inner.y + inner.height)
        placed = texts(sheet)
        for k, (text, area) in enumerate(placed):
            if not frame.covers(area):
                found.append(f"sheet {sheet.number}: {text.text!r} leaves the frame")
            for other, there in placed[k + 1 :]:
                if area.intersects(there):
                    found.append(f"sheet {sheet.number}: {text.text!r} lies on {other.text!r}")
        edges = [
            (item, line_of(item, scale, dx, dy))
            for item, scale, dx, dy in on_paper(sheet)
            if isinstance(item, Path) and item.kind in (Kind.PIECE, Kind.CUTOUT)
        ]
        for text, area in placed:
            found += [
                f"sheet {sheet.number}: {text.text!r} lies on the edge of {path.name}"
                for path, line in edges
                if line.intersects(area)
            ]
    return found


def dimension_lines(sheet: Sheet) -> list[tuple[Dimension, LineString]]:
    out = []
    for item, scale, dx, dy in on_paper(sheet):
        if isinstance(item, Dimension):
            (ax, ay), (bx, by) = item.line
            out.append((item, LineString([(ax * scale + dx, ay * scale + dy), (bx * scale + dx, by * scale + dy)])))
    return out


def crossings(drawing: Drawing) -> list[str]:
    found = []
    for sheet in drawing.sheets:
        lines = dimension_lines(sheet)
        for k, (a, one) in enumerate(lines):
            for b, two in lines[k + 1 :]:
                if one.crosses(two):
                    found.append(f"sheet {sheet.number}: {a.label.text} ({a.name}) crosses {b.label.text} ({b.name})")
    return found


@pytest.mark.parametrize("name", samples_drawn.NAMES)
def test_no_text_on_text_nor_on_an_edge_nor_off_the_frame(name: str) -> None:
    assert faults(drawn(name)[1]) == []


@pytest.mark.parametrize("name", samples_drawn.NAMES)
def test_no_dimension_line_crosses_another(name: str) -> None:
    assert crossings(drawn(name)[1]) == []


@pytest.mark.parametrize("seed", range(9))
def test_random_rooms_are_legible(seed: int) -> None:
    drawing = draw(lay_text(random_job(seed)))
    assert faults(drawing) == []
    assert crossings(drawing) == []


@pytest.mark.sweep
@pytest.mark.parametrize("seed", range(100, 260))
def test_many_random_rooms_are_legible(seed: int) -> None:
    drawing = draw(lay_text(random_job(seed)))
    assert faults(drawing) == []
    assert crossings(drawing) == []


def test_the_measure_of_faults_sees_them() -> None:
    """A text moved onto another, or onto an edge, must show."""
    _, drawing = drawn("corner-two-degrees-open")
    sheet = drawing.sheets[0]
    view = sheet.views[0]
    piece = next(i for i in view.items if isinstance(i, Path) and i.kind is Kind.PIECE)
    stray = Text(Kind.LABEL, piece.ring.vertices[0].at, "stray", 2.5, "middle")
    bad = View(view.id, view.title, (*view.items, stray, stray), view.scale, view.label, view.at, view.bounds)
    worse = Sheet(1, 1, sheet.size, sheet.width, sheet.height, sheet.title, (bad,), sheet.groups)
    found = faults(Drawing("n", "t", "A", "in", (worse,)))
    assert any("lies on 'stray'" in f for f in found)
    assert any("lies on the edge" in f for f in found)


@pytest.mark.parametrize("name", samples_drawn.NAMES)
def test_everything_is_on_the_sheets(name: str) -> None:
    layout, drawing = drawn(name)
    words = [t.text for s in drawing.sheets for t, _ in texts(s)]
    plan = [t for t, _ in texts(drawing.sheets[0])]
    marks = {t.text for t in plan if t.kind in (Kind.MARK, Kind.FLAG)}
    divided = layout.divided
    wanted = [p.id for p in divided.pieces] + [j.id for j in divided.joints] + [c.name for c in layout.laid.cutouts]
    wanted += [str(n) for n, f in enumerate(layout.findings, 1) if f.at]
    assert [w for w in wanted if w not in marks] == []
    views = {v.id for s in drawing.sheets for v in s.views}
    called = details(layout.laid)
    pieces = [p.id for p in divided.pieces]
    maps = {f"lay-up-{name}" for name in pieces}
    assert views == {
        "plan",
        "setting",
        *maps,
        *(f"piece-{name}" for name in pieces),
        *(f"detail-{k}" for k, _ in called),
    }
    letters = {t.text for t in plan if t.kind is Kind.SECTION}
    assert {k for k, d in called if not isinstance(d, JointDetail | HeightsDetail)} <= letters
    unsure = any(f.code == "not-final-measure" for f in layout.findings)
    for wall in layout.laid.room.walls:
        noun = "open line" if wall.open else "wall"
        length = layout.laid.labels.text(wall.length)
        assert f"{noun} {wall.name} {length}{' verify in field' if unsure else ''}" in words
    assert [w for w in words if w.startswith("Setting, in order")]
    for title in ("Sheets", "Approval", "Cautions", "Material and notes", "Pieces"):
        assert title in words or f"{title}, more follows" in words
    grain = {i.name for i in drawing.sheets[0].views[0].items if isinstance(i, Lines) and i.kind is Kind.GRAIN}
    assert grain == {p.id for p in divided.pieces}
    for k, _ in enumerate(layout.findings, 1):
        assert str(k) in words


def value_of(text: str) -> Fraction:
    """Read a printed length back: inches with a fraction, or whole millimetres, with or without words before it."""
    match = re.search(r"(?:(\d+)(?: |$|\"))?(?:(\d+)/(\d+))?\"?$", text)
    assert match is not None
    whole, num, den = match.groups()
    assert whole or num
    return Fraction(int(whole or 0)) + (Fraction(int(num), int(den)) if num else 0)


@pytest.mark.parametrize("name", samples_drawn.NAMES)
def test_dimensions_print_what_they_measure_to_half_the_last_place(name: str) -> None:
    layout, drawing = drawn(name)
    inches = layout.job.job.units == "in"
    unit, place = (25.4, 1 / layout.job.sheet.denominator) if inches else (1.0, 1.0)
    seen = 0
    for sheet in drawing.sheets:
        for item, _ in dimension_lines(sheet):
            printed = float(value_of(item.label.text)) * unit
            # a chain's member is the difference of two rounded positions, so it may be off by a whole place
            assert abs(printed - item.value) <= place * unit + 1e-6, item
            seen += 1
    assert seen >= 4


@pytest.mark.parametrize("name", samples_drawn.NAMES)
def test_chains_add_up_to_what_is_printed(name: str) -> None:
    _, drawing = drawn(name)
    for sheet in drawing.sheets[:1]:
        dims = [d for d, _ in dimension_lines(sheet)]
        for label in {d.name for d in dims if d.name.endswith("stations")}:
            top = label.removesuffix(" stations")
            chain = [d for d in dims if d.name == label]
            by_end = {tuple(round(v, 6) for v in d.features[0]): d for d in chain}
            for whole in (d for d in dims if d.name == f"{top} length"):
                at = tuple(round(v, 6) for v in whole.features[0])
                total = Fraction(0)
                while at in by_end and at != tuple(round(v, 6) for v in whole.features[1]):
                    total += value_of(by_end[at].label.text)
                    at = tuple(round(v, 6) for v in by_end[at].features[1])
                if at == tuple(round(v, 6) for v in whole.features[1]):
                    assert total == value_of(whole.label.text)


@pytest.mark.parametrize("name", samples_drawn.NAMES)
def test_every_vertex_of_a_piece_is_printed_from_the_datum(name: str) -> None:
    """Along the grain and from the front, every vertex, hole centre and cutout side stands in the piece's own view."""
    layout, drawing = drawn(name)
    labels = layout.laid.labels
    views = {v.id: v for s in drawing.sheets for v in s.views}
    for piece in layout.divided.pieces:
        dims = [i for i in views[f"piece-{piece.id}"].items if isinstance(i, Dimension)]
        along = {labels.ticks(d.features[1][0]) for d in dims if d.name == f"{piece.id} x"} | {0}
        up = {labels.ticks(d.features[1][1]) for d in dims if d.name != f"{piece.id} x"} | {0}
        natural = natural_sides(layout.job, piece.top)
        for ring in piece.cut_rings():
            for n, v in enumerate(ring.vertices):
                if v.side in natural and ring.vertices[n - 1].side == v.side:
                    continue  # the solver's tests hold the table of these
                assert labels.ticks(v.x) in along, (piece.id, v)
                assert labels.ticks(v.y) in up, (piece.id, v)
        for cut in piece.cutouts:
            if cut.opens_front:
                continue
            x, y = piece.frame.from_plan(cut.center)
            assert labels.ticks(x) in along
            x0, y0, x1, y1 = cut.ring.moved(piece.frame.from_plan).bounds()
            turned = cut.diameter is None and abs(math.sin(2 * (cut.angle - piece.frame.angle))) > 1e-9
            if cut.diameter is None and not cut.hole and not turned:
                assert {labels.ticks(x0), labels.ticks(x1)} <= along
                assert {labels.ticks(y0), labels.ticks(y1)} <= up
            else:
                assert labels.ticks(y) in up
            if turned:
                own = {labels.ticks(d.value) for d in dims if d.name == f"{piece.id} {cut.name}"}
                assert {labels.ticks(s) for s in cut.size} <= own


def test_sheet_sizes_and_frames() -> None:
    # ISO 216 trimmed sizes and ASME Y14.1 inch sizes, lying
    assert {k: SIZES[k] for k in ("A0", "A1", "A2", "A3", "A4")} == {
        "A0": (1189, 841), "A1": (841, 594), "A2": (594, 420), "A3": (420, 297), "A4": (297, 210),
    }  # fmt: skip
    inches = {"ANSI A": (11, 8.5), "ANSI B": (17, 11), "ANSI C": (22, 17), "ANSI D": (34, 22), "ANSI E": (44, 34)}
    for name, (w, h) in inches.items():
        assert SIZES[name] == (pytest.approx(w * 25.4), pytest.approx(h * 25.4))
    # ISO 5457:1999: 20 mm at the left, 10 mm on the other sides, so the drawing space of A0 to A3 is as tabled
    for name, space in {"A0": (1159, 821), "A1": (811, 574), "A2": (564, 400), "A3": (390, 277)}.items():
        area = frame_area(name)
        assert (area.x, area.y, area.width, area.height) == (20, 10, *space)


def test_scales_are_standard() -> None:
    # architects' scales: the ratio is 12 over the inches to the foot
    for ratio, text in SCALES["in"]:
        whole, part = re.match(r"(?:(\d+)(?: |\"))?(?:(\d+/\d+))?", text).groups()  # type: ignore[union-attr]
        assert 12 / (Fraction(whole or 0) + Fraction(part or 0)) == ratio
    # ISO 5455: 1:2, 1:5, 1:10 and their tenfolds
    for ratio, text in SCALES["mm"]:
        assert text == f"1:{ratio}"
        assert ratio / 10 ** int(math.log10(ratio)) in (1, 2, 5)
    # a 120 in run at 1 in to the foot is 10 in on paper
    assert 120 / {t: r for r, t in SCALES["in"]}['1" = 1\'-0"'] == 10


@pytest.mark.parametrize("name", samples_drawn.NAMES)
def test_title_block_lines_and_lettering_keep_the_standards(name: str) -> None:
    layout, drawing = drawn(name)
    of = len(drawing.sheets)
    for n, sheet in enumerate(drawing.sheets, 1):
        assert (sheet.number, sheet.of) == (n, of)
        assert (sheet.width, sheet.height) == SIZES[layout.job.sheet.size]
        # ISO 7200:2004, the mandatory fields: owner, number, date of issue, sheet, title, approval, creator, document type
        mandatory = ("owner", "number", "date of issue", "sheet", "title", "approved by", "drawn", "document")
        assert [f for f in mandatory if not sheet.fields[f].strip()] == []
        assert sheet.fields["sheet"] == f"{n} of {of}"
        block = next(g for g in sheet.groups if g.id == "title-block")
        outer = next(i for i in block.items if isinstance(i, Path))
        inner = frame_area(sheet.size)
        x0, y0, x1, _ = outer.ring.bounds()
        assert (x1, y0) == (pytest.approx(inner.x + inner.width), pytest.approx(inner.y))
        assert x1 - x0 <= 180 + 1e-9
        for item, *_ in on_paper(sheet):
            text = item.label if isinstance(item, Dimension) else item
            if isinstance(text, Text):
                assert text.height in (1.8, 2.5, 3.5, 5, 7, 10, 14, 20)
                if isinstance(item, Dimension):
                    assert text.height >= 2.5
            elif isinstance(item, Path | Lines | Circle):
                assert item.width in (0.13, 0.18, 0.25, 0.35, 0.5, 0.7, 1, 1.4, 2)


@pytest.mark.parametrize("name", samples_drawn.NAMES)
def test_views_lie_in_the_frame_clear_of_the_title_block(name: str) -> None:
    _, drawing = drawn(name)
    for sheet in drawing.sheets:
        inner = frame_area(sheet.size)
        frame = box(inner.x, inner.y, inner.x + inner.width, inner.y + inner.height)
        block = box(inner.x + inner.width - 180, inner.y, inner.x + inner.width, inner.y + 47)
        areas = []
        for view in sheet.views:
            x0, y0, x1, y1 = (b * view.scale for b in view.bounds)
            areas.append(box(x0 + view.at[0], y0 + view.at[1], x1 + view.at[0], y1 + view.at[1]))
        for k, area in enumerate(areas):
            assert frame.covers(area)
            assert area.intersection(block).area < 1e-6
            assert all(area.intersection(b).area < 1e-6 for b in areas[k + 1 :])


@pytest.mark.parametrize("name", samples_drawn.NAMES)
def test_no_scale_is_passed_over_that_would_do(name: str) -> None:
    """Round each view stands what is counted on before it is drawn, and no less."""
    layout, drawing = drawn(name)
    room = _extent(layout)
    for view in (view for sheet in drawing.sheets for view in sheet.views):
        kind, _, piece_id = view.id.replace("lay-up", "layup").partition("-")
        about = {"plan": ABOUT_PLAN, "piece": ABOUT_PIECE, "layup": ABOUT_LAYUP}.get(kind)
        if about is None:
            continue
        piece = next((p for p in layout.divided.pieces if p.id == piece_id), None)
        width, height = room if piece is None else (piece.length, piece.width)
        x0, y0, x1, y1 = view.bounds
        assert (x1 - x0 - width) * view.scale >= about[0] and (y1 - y0 - height) * view.scale >= about[1], view.id


def test_first_dimension_line_is_ten_millimetres_off_and_the_next_eight() -> None:
    # ASME Y14.5 gives 10 mm and 6 mm as least distances; the drawing keeps 10 and 8
    _, drawing = drawn("island-with-seating")
    sheet = drawing.sheets[0]
    view = sheet.views[0]
    piece = next(i for i in view.items if isinstance(i, Path) and i.kind is Kind.PIECE)
    outline = Polygon([(x * view.scale, y * view.scale) for x, y in piece.ring.flattened(0.01)])
    for item in view.items:
        if isinstance(item, Dimension):
            middle = Point(*((a + b) / 2 * view.scale for a, b in zip(*item.line, strict=True)))
            assert middle.distance(outline) >= 9.0 - 1e-6


def test_lettering_measures_as_the_font_does() -> None:
    # advances of DejaVu Sans at an em of 3.5, summed by a font library once: 22.210
    assert text_width('8\'-0" 96 1/2"', 3.5 * 0.716) == pytest.approx(22.210, abs=0.01)
    lines = fold("one two three four five six seven eight nine ten", 30, 2.5)
    assert " ".join(lines) == "one two three four five six seven eight nine ten"
    assert all(text_width(line, 2.5) <= 30 for line in lines)
    assert "".join(fold("x" * 200, 30, 2.5)) == "x" * 200
