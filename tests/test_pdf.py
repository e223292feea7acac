"""All sheets as one PDF, read back by pypdf and drawn by PDFium, neither of which wrote it."""

import hashlib
import io
import json
import math
import os
import re
import shutil
import subprocess
import sys
import unicodedata
import xml.etree.ElementTree as ET
from dataclasses import replace
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from pypdf import PdfReader
from pypdf.generic import ContentStream
from samples_drawn import NAMES
from test_sheets import drawn as sheets_of
from typer.testing import CliRunner

import cli
from cli.app import app
from layout import lettering
from layout.drawing import Circle, Dash, Dimension, Drawing, Group, Kind, Lines, Sheet, Text, View
from layout.drawing import Path as Line
from layout.outline import Ring, Vertex, circle, polygon_ring, rectangle
from layout.page import SIZES
from layout.version import VERSION
from layout.writers import pdf
from layout.writers.svg import svg_text
from layout.writers.svg_items import FONTS

ROOT = Path(__file__).resolve().parent.parent
FACES = ROOT / "layout" / "fonts"
JOBS = {path.stem: path for path in sorted((ROOT / "samples" / "jobs").glob("*.toml"))}
NS = "{http://www.w3.org/2000/svg}"
POINTS = 72 / 25.4


@pytest.fixture(scope="module")
def drawn():
    """Return a function that draws a sample, once each: its drawing and its PDF."""
    kept = {}

    def one(name):
        if name not in kept:
            _, drawing = sheets_of(name)
            kept[name] = (drawing, pdf.pdf_bytes(drawing))
        return kept[name]

    return one


def made(*items, width=200.0, height=100.0, **changes):
    """Return a drawing of one sheet with these items on it, in paper mm."""
    sheet = Sheet(1, 1, "A4", width, height, "Plan", (), (Group("frame", items),))
    return Drawing(**({"number": "F-1", "title": "Made", "revision": "A", "units": "mm", "sheets": (sheet,)} | changes))


def reader(data):
    return PdfReader(io.BytesIO(data), strict=True)


def bare(data):
    """Return a file without what its streams hold, in whose bytes anything may stand by chance."""
    return re.sub(rb"\bstream\r?\n.*?endstream\b", b"", data, flags=re.S)


def told(data):
    """Return the text of every page as PDFium reads it, without its white space, which is a reader's guess."""
    return [squeezed(page.get_textpage().get_text_range()) for page in pypdfium2.PdfDocument(data)]


def squeezed(text):
    return "".join(unicodedata.normalize("NFC", text).split())


def operations(data, page=0):
    """Return what is drawn on a page: (operator, operands)."""
    got = reader(data)
    stream = ContentStream(got.pages[page].get_contents(), got)
    return [(operator.decode(), operands) for operands, operator in stream.operations]


# --- the file and its pages ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", [name for name in NAMES if name in JOBS])
def test_a_page_for_each_sheet_and_each_of_its_size(name, drawn):
    drawing, data = drawn(name)
    pages = reader(data).pages
    assert len(pages) == len(drawing.sheets)
    for page, sheet in zip(pages, drawing.sheets, strict=True):
        size = [n * POINTS for n in SIZES[sheet.size]]
        for box in (page.mediabox, page.cropbox, page.trimbox):
            assert (float(box.left), float(box.bottom)) == (0, 0)
            assert [float(box.width), float(box.height)] == pytest.approx(size, abs=1e-3)
        assert page.rotation == 0
        assert page.get("/UserUnit", 1) == 1


@pytest.mark.parametrize("name", [name for name in NAMES if name in JOBS])
def test_every_text_of_the_sheets_can_be_selected(name, drawn):
    drawing, data = drawn(name)
    for sheet, text in zip(drawing.sheets, told(data), strict=True):
        texts = [e.text for e in ET.fromstring(svg_text(sheet, drawing)).iter(f"{NS}text")]
        assert len(texts) > 20
        for words in texts:
            assert squeezed(words) in text, words


def test_the_other_reader_finds_them_too(drawn):
    drawing, data = drawn("metric-kitchen")
    for sheet, page in zip(drawing.sheets, reader(data).pages, strict=True):
        text = squeezed(page.extract_text())
        for element in ET.fromstring(svg_text(sheet, drawing)).iter(f"{NS}text"):
            assert squeezed(element.text) in text


@pytest.mark.parametrize("name", [name for name in NAMES if name in JOBS])
def test_nothing_on_a_page_is_an_image_and_every_face_comes_along(name, drawn):
    _, data = drawn(name)
    names = set()
    for page in reader(data).pages:
        resources = page["/Resources"]
        assert "/XObject" not in resources
        assert list(page.images) == []
        for font in resources["/Font"].values():
            descriptor = font.get_object()["/FontDescriptor"]
            assert len(descriptor["/FontFile2"].get_object().get_data()) > 1000
            assert "/ToUnicode" in font.get_object()
            names.add(descriptor["/FontName"])
    assert names == {"/AAAAAA+DejaVuSans", "/AAAAAA+DejaVuSans-Bold"}
    assert b"/Image" not in re.sub(rb"/Image[BCI]", b"", bare(data))
    assert {type(o).__name__ for p in pypdfium2.PdfDocument(data) for o in p.get_objects()} <= {
        "PdfObject",
        "PdfTextObj",
    }


def test_the_file_tells_what_it_is_and_no_time(drawn):
    drawing, data = drawn("metric-kitchen")
    facts = dict(reader(data).metadata)
    assert facts.pop("/Producer")
    assert facts == {
        "/Title": f"{drawing.number} {drawing.title}",
        "/Subject": f"revision {drawing.revision}",
        "/Creator": f"staveline {VERSION}",
    }
    assert reader(data).viewer_preferences.print_scaling == "/None"
    titles = [entry.title for entry in reader(data).outline]
    assert titles == [f"{sheet.number} {sheet.title}" for sheet in drawing.sheets]
    assert b"Date" not in bare(data)


def test_nothing_in_the_file_runs_or_is_fetched(drawn):
    for name in JOBS:
        _, data = drawn(name)
        assert b"/Catalog" in bare(data)
        assert not re.search(rb"/(JavaScript|JS|OpenAction|AA|URI|Launch|EmbeddedFile|AcroForm|Annots)\b", bare(data))


# --- the same bytes --------------------------------------------------------------------------------------------------


def test_the_same_drawing_gives_the_same_bytes_whatever_was_drawn_before(drawn):
    for name in JOBS:
        drawing, data = drawn(name)
        assert pdf.pdf_bytes(drawing) == data


def test_a_file_has_an_id_of_its_content(drawn):
    _, data = drawn("metric-kitchen")
    one = made(Text(Kind.LABEL, (5, 5), "one"))
    other = replace(one, sheets=made(Text(Kind.LABEL, (5, 5), "two")).sheets)
    ids = [
        reader(file).trailer["/ID"] for file in (data, *map(pdf.pdf_bytes, (one, other, replace(one, revision="B"))))
    ]
    assert len({str(first) for first, _ in ids}) == 4
    assert all(first == second for first, second in ids)


@pytest.mark.sweep
def test_another_process_at_another_time_gives_the_same_bytes(tmp_path, drawn):
    home = str(Path(cli.__file__).resolve().parent.parent)
    job = JOBS["metric-kitchen"]
    for n, more in enumerate(({"PYTHONHASHSEED": "1", "TZ": "UTC"}, {"TZ": "Asia/Tokyo", "SOURCE_DATE_EPOCH": "1"})):
        done = subprocess.run(
            [sys.executable, "-m", "cli", "draw", str(job), "--pdf", "--out", str(tmp_path / str(n))],
            env=os.environ | {"PYTHONPATH": home} | more,
            capture_output=True,
            timeout=100,
            check=False,
        )
        assert done.returncode == 0, done.stderr.decode()
        drawing, data = drawn("metric-kitchen")
        assert (tmp_path / str(n) / drawing.number / f"{drawing.number}.pdf").read_bytes() == data


# --- lines -----------------------------------------------------------------------------------------------------------


def test_lines_are_as_long_and_wide_on_paper_as_the_model_says():
    line = Line(Kind.PIECE, polygon_ring([(10, 20), (160, 20)]), closed=False, width=0.7, dash=Dash.CHAIN)
    (shape,) = pypdfium2.PdfDocument(pdf.pdf_bytes(made(line)))[0].get_objects()
    left, bottom, right, top = shape.get_bounds()
    assert (left + right) / 2 == pytest.approx(85 * POINTS, abs=1e-2)
    # a reader's box holds the ends' caps too
    assert 150 * POINTS <= right - left < 152 * POINTS
    assert (top + bottom) / 2 == pytest.approx(20 * POINTS, abs=1e-2)
    done = operations(pdf.pdf_bytes(made(line)))
    assert [float(n) for n in next(o for k, o in done if k == "w")] == [0.7]
    assert [float(n) for n in next(o for k, o in done if k == "d")[0]] == [8.0, 1.5, 0.5, 1.5]
    assert [float(n) for n in next(o for k, o in done if k == "cm" and float(o[0]) > 1)] == pytest.approx(
        [POINTS, 0, 0, POINTS, 0, 0], abs=1e-6
    )
    assert [(k, [float(n) for n in o]) for k, o in done if k in "ml"] == [("m", [10, 20]), ("l", [160, 20])]


def curve_points(done):
    """Return points along a page's path, many to each curve."""
    here, points = (0.0, 0.0), []
    for operator, operands in done:
        n = [float(v) for v in operands] if operator in ("m", "l", "c") else []
        if operator in ("m", "l"):
            here = (n[0], n[1])
            points.append(here)
        elif operator == "c":
            for k in range(1, 33):
                t = k / 32
                w = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
                xs, ys = (here[0], n[0], n[2], n[4]), (here[1], n[1], n[3], n[5])
                points.append(
                    (sum(a * b for a, b in zip(w, xs, strict=True)), sum(a * b for a, b in zip(w, ys, strict=True)))
                )
            here = (n[4], n[5])
    return points


@pytest.mark.parametrize("bulge", [1.0, -1.0, 0.41421356, -0.2, 1.8, -3.0, 0.01, 1e-4])
def test_an_arc_keeps_to_its_circle_from_end_to_end(bulge):
    a, b = Vertex(60.0, 40.0, bulge), Vertex(110.0, 52.0)
    done = operations(pdf.pdf_bytes(made(Line(Kind.CUTOUT, Ring((a, b)), closed=False))))
    points = curve_points(done)
    assert points[0] == pytest.approx(a.at, abs=1e-4)
    assert points[-1] == pytest.approx(b.at, abs=1e-4)
    chord = math.dist(a.at, b.at)
    radius = chord * (1 + bulge**2) / (4 * abs(bulge))
    # the side of the chord, and how far the arc rises over it
    across = [((b.x - a.x) * (y - a.y) - (b.y - a.y) * (x - a.x)) / chord for x, y in points]
    assert max(-math.copysign(1, bulge) * d for d in across) == pytest.approx(chord * abs(bulge) / 2, abs=1e-3)
    middle = ((a.x + b.x) / 2, (a.y + b.y) / 2)
    k = (1 / bulge - bulge) / 4
    centre = (middle[0] - k * (b.y - a.y), middle[1] + k * (b.x - a.x))
    for point in points:
        assert math.dist(point, centre) == pytest.approx(radius, abs=2e-4 + 6e-6 * radius)


BULGES = st.one_of(st.just(0.0), st.floats(1e-4, 1.0), st.floats(-1.0, -1e-4))


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.tuples(st.floats(0, 3000), st.floats(0, 800), BULGES), min_size=2, max_size=8),
    st.sampled_from([0.02, 0.1, 1.0]),
)
def test_any_ring_keeps_its_area(vertices, scale):
    ring = Ring(tuple(Vertex(*v) for v in vertices))
    view = View("plan", "Plan", (Line(Kind.PIECE, ring),), scale, "", (30.0, 20.0), (0, 0, 1, 1))
    sheet = replace(made().sheets[0], views=(view,), groups=())
    points = curve_points(operations(pdf.pdf_bytes(made(sheets=(sheet,)))))
    chords = sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, points[1:] + points[:1], strict=True)) / 2
    # 32 chords a curve, each of at most an eighth of a turn, lie this far within the arcs
    reach = sum(math.dist(a.at, b.at) * (1 + abs(a.bulge)) * scale for a, b in ring.edges())
    assert chords == pytest.approx(ring.area * scale**2, abs=1e-3 + 1e-3 * reach + 1e-4 * reach**2)


def test_circles_marks_hatches_and_fills():
    view = View(
        "plan",
        "Plan",
        (
            Circle(Kind.MARK, (200.0, 200.0), 4.0, paper=True, fill="white"),
            Circle(Kind.SUPPORT, (400.0, 200.0), 60.0, fill="grey"),
            Lines(Kind.WALL, (((0, 0), (10, 10)), ((20, 0), (30, 10)))),
            Line(Kind.EDGE, rectangle(500, 100, 600, 200), fill="black"),
        ),
        0.1,
        "1:10",
        (30.0, 20.0),
        (0, 0, 1, 1),
    )
    data = pdf.pdf_bytes(made(sheets=(replace(made().sheets[0], views=(view,), groups=()),)))
    boxes = [[n / POINTS for n in shape.get_bounds()] for shape in pypdfium2.PdfDocument(data)[0].get_objects()]
    assert boxes[0] == pytest.approx([46, 36, 54, 44], abs=0.3)
    assert boxes[1] == pytest.approx([64, 34, 76, 46], abs=0.3)
    done = operations(data)
    assert [k for k, _ in done if k in ("S", "s", "B", "b", "f")] == ["B", "B", "S", "B"]
    assert [round(float(o[0]), 3) for k, o in done if k == "g"] == [1.0, round(0xD0 / 0xFF, 3), 0.0]
    assert sum(k == "m" for k, _ in done) == 5


def test_a_dimension_is_drawn_with_its_arrows_and_its_text():
    label = Text(Kind.DIMENSION, (50.0, 31.0), "80", anchor="middle")
    item = Dimension(((10, 20), (90, 20)), ((10, 30), (90, 30)), label, 80.0, extensions=(((10, 21), (10, 32)),))
    done = operations(pdf.pdf_bytes(made(item)))
    assert [k for k, _ in done if k in ("S", "f", "Tj")] == ["S", "S", "f", "f", "Tj"]


# --- texts -----------------------------------------------------------------------------------------------------------

EUROPE = 'Müller & Søn <"Café"> (x) \\ 90° – ½ × ⌀ ′ ″ Łódź Žďár Győr İzmir Ærø Þór Ωμέγα Мария Ђурђа Հայ'


@pytest.mark.parametrize("bold", [False, True])
def test_the_names_of_europe_are_set_and_read_back(bold):
    drawing = made(Text(Kind.TITLE, (5, 50), EUROPE, bold=bold), width=400.0)
    assert pdf.lacking(drawing) == ""
    (page,) = told(pdf.pdf_bytes(drawing))
    assert page == squeezed(EUROPE)
    assert squeezed(reader(pdf.pdf_bytes(drawing)).pages[0].extract_text()) == squeezed(EUROPE)


def test_the_face_has_every_sign_that_the_layout_knows_the_width_of():
    for bold, table in ((False, lettering._REGULAR), (True, lettering._BOLD)):
        drawing = made(*(Text(Kind.LABEL, (5, 5), signs, bold=bold) for signs in table.values()))
        assert pdf.lacking(drawing) == ""


def test_a_letter_and_its_accent_are_one_sign():
    drawing = made(Text(Kind.LABEL, (5, 5), unicodedata.normalize("NFD", "Küche Łódź")))
    assert told(pdf.pdf_bytes(drawing)) == ["KücheŁódź"]


def test_what_the_face_cannot_set_is_a_box_and_can_still_be_selected():
    """The face has no Chinese; Hebrew it has, but here no text is put in order from right to left."""
    words = ("Li 李", "שלום", "plain")
    drawing = made(*(Text(Kind.TITLE, (20, 20 + 20 * n), w) for n, w in enumerate(words)))
    assert pdf.lacking(drawing) == "".join(sorted({*"שלום李"}))
    data = pdf.pdf_bytes(drawing)
    (page,) = told(data)
    assert all(squeezed(w) in page for w in words)
    shown = reader(data).pages[0].extract_text(0)
    assert "□" in shown
    assert b"EMC" in reader(data).pages[0].get_contents().get_data()


@settings(max_examples=60, deadline=None)
@given(st.text(st.characters(min_codepoint=32, exclude_categories=("C",)), min_size=1, max_size=30), st.booleans())
def test_any_text_can_be_drawn(words, bold):
    drawing = made(Text(Kind.LABEL, (5, 5), words, bold=bold), title=words)
    assert len(reader(pdf.pdf_bytes(drawing)).pages) == 1


@pytest.mark.parametrize("name", [name for name in NAMES if name in JOBS])
def test_no_text_is_wider_than_the_layout_allows_it(name, drawn):
    """Room was kept by the width that each text has in this face."""
    drawing, _ = drawn(name)
    for text in pdf._texts(drawing):
        face = pdf._face(text.bold)
        width = face.stringWidth(text.text, text.height / lettering.CAP_HEIGHT)
        assert width <= lettering.text_width(text.text, text.height, text.bold) * 1.001


@pytest.mark.parametrize(("anchor", "left"), [("start", 100.0), ("middle", 90.0), ("end", 80.0)])
def test_a_text_stands_at_its_point(anchor, left):
    # twenty mm of text: five figures of 636 thousandths
    height = 20.0 / 5 / 0.636 * lettering.CAP_HEIGHT
    page = pypdfium2.PdfDocument(pdf.pdf_bytes(made(Text(Kind.LABEL, (100, 40), "00000", height, anchor))))[0]
    (shape,) = page.get_objects()
    box = [n / POINTS for n in shape.get_bounds()]
    assert (box[0], box[2]) == (pytest.approx(left, abs=0.5), pytest.approx(left + 20, abs=0.5))
    assert box[1] == pytest.approx(40, abs=0.15)
    assert box[3] == pytest.approx(40 + height, rel=0.06)


def test_a_turned_text_turns_about_its_point():
    item = Text(Kind.LABEL, (100, 40), "00000", 4.0, "end", 90.0)
    (shape,) = pypdfium2.PdfDocument(pdf.pdf_bytes(made(item)))[0].get_objects()
    left, bottom, right, top = (n / POINTS for n in shape.get_bounds())
    assert (right, top) == (pytest.approx(100, abs=0.15), pytest.approx(40, abs=0.5))
    assert top - bottom > 3 * (right - left)


@pytest.mark.parametrize("bad", [math.nan, math.inf])
def test_a_number_that_is_none_is_refused(bad):
    for item in (
        Text(Kind.LABEL, (bad, 0), "x"),
        Text(Kind.LABEL, (0, 0), "x", angle=bad),
        Line(Kind.PIECE, polygon_ring([(0, 0), (bad, 0), (1, 1)])),
        Line(Kind.PIECE, Ring((Vertex(0, 0, bad), Vertex(9, 0), Vertex(9, 9)))),
        Circle(Kind.MARK, (0, 0), bad),
    ):
        with pytest.raises(ValueError, match="cannot hold"):
            pdf.pdf_bytes(made(item))


# --- the picture -----------------------------------------------------------------------------------------------------

DPI = 100
APART, LONELY = 2.0, 0.05
"""Percent of a page's pixels. Measured over all pages of the samples: at most 1.3 differ by half of the way from white to
black (edges that one renderer rounds up and the other down), and at most 0.022 are ink that has none of the other's
within a pixel (small letters, which librsvg hints)."""


def pixels(png):
    return np.asarray(Image.open(io.BytesIO(png)).convert("L")).astype(int)


def svg_picture(sheet, drawing, folder):
    """Return a sheet's SVG as librsvg draws it in the face that the PDF has."""
    faces = folder / "faces.conf"
    faces.write_text(f"<fontconfig><dir>{FACES}</dir><cachedir>{folder}</cachedir></fontconfig>", encoding="utf-8")
    done = subprocess.run(
        ["rsvg-convert", "-d", str(DPI), "-p", str(DPI), "-b", "white"],
        input=svg_text(sheet, drawing).replace(FONTS, "DejaVu Sans").encode(),
        env=os.environ | {"FONTCONFIG_FILE": str(faces)},
        capture_output=True,
        timeout=100,
        check=True,
    )
    return pixels(done.stdout)


def pdf_pictures(data):
    for page in pypdfium2.PdfDocument(data):
        yield np.asarray(page.render(scale=DPI / 72).to_pil().convert("L")).astype(int)


def spread(ink):
    """Return ink and the pixels about it."""
    out = ink.copy()
    for dy in (-1, 0, 1):
        for dx in (-1, 0, 1):
            out |= np.roll(np.roll(ink, dy, 0), dx, 1)
    return out


def differences(one, other):
    """Return the share of pixels that differ, and of ink that has none of the other's beside it, in percent."""
    assert abs(one.shape[0] - other.shape[0]) <= 1
    assert abs(one.shape[1] - other.shape[1]) <= 1
    height, width = (min(sizes) for sizes in zip(one.shape, other.shape, strict=True))
    a, b = one[:height, :width], other[:height, :width]
    apart = (abs(a - b) > 128).mean()
    lonely = max(((a < 128) & ~spread(b < 230)).mean(), ((b < 128) & ~spread(a < 230)).mean())
    return 100 * apart, 100 * lonely


needs_rsvg = pytest.mark.skipif(shutil.which("rsvg-convert") is None, reason="rsvg-convert is not installed here")


@needs_rsvg
@pytest.mark.parametrize(
    "name",
    [pytest.param(n, marks=[] if n == "metric-kitchen" else pytest.mark.sweep) for n in JOBS],
)
def test_a_page_looks_as_its_svg_does(name, drawn, tmp_path):
    drawing, data = drawn(name)
    for sheet, picture in zip(drawing.sheets, pdf_pictures(data), strict=True):
        apart, lonely = differences(svg_picture(sheet, drawing, tmp_path), picture)
        assert apart < APART
        assert lonely < LONELY


@needs_rsvg
def test_that_comparison_would_show_what_is_missing_or_moved(drawn, tmp_path):
    drawing, _ = drawn("metric-kitchen")
    first = drawing.sheets[0]
    picture = svg_picture(first, drawing, tmp_path)

    def lonely(sheet):
        (other,) = pdf_pictures(pdf.pdf_bytes(replace(drawing, sheets=(sheet,))))
        return differences(picture, other)[1]

    assert lonely(first) < LONELY
    (plan, *others) = first.views
    lost = replace(plan, items=tuple(i for i in plan.items if i.kind is not Kind.PIECE or not isinstance(i, Line)))
    assert lonely(replace(first, views=(lost, *others))) > LONELY
    moved = replace(plan, at=(plan.at[0] + 1.0, plan.at[1]))
    assert lonely(replace(first, views=(moved, *others))) > LONELY
    round_corners = tuple(replace(i, ring=circle(0, 0, 50)) if isinstance(i, Line) else i for i in plan.items)
    assert lonely(replace(first, views=(replace(plan, items=round_corners), *others))) > LONELY


# --- the command -----------------------------------------------------------------------------------------------------


def run(*args):
    return CliRunner().invoke(app, [str(arg) for arg in args])


def inside(folder):
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


SLAB = """\
[job]
title = "Slab"
number = "{number}"
units = "in"
customer = "{customer}"
[field]
walls = "finished"
cabinets = "set"
[wood]
species = "cherry"
thickness = "1 1/2"
[[top]]
name = "slab"
size = ["40", "25"]
"""


@pytest.fixture
def place(tmp_path, monkeypatch):
    """Return an empty folder, which is the current one."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


def job(place, number="J-1", customer="Quillon"):
    path = place / f"{number}.toml"
    path.write_text(SLAB.format(number=number, customer=customer), encoding="utf-8")
    return path


def test_the_packet_with_a_pdf_is_the_packet_and_the_pdf(place):
    path = job(place)
    assert run("draw", path).exit_code == 0
    before = inside(place / "out" / "J-1")
    result = run("draw", path, "--pdf")
    assert result.exit_code == 0
    assert re.match(r"J-1: \d sheets, J-1\.pdf, shop\.dxf, 1 cut file, ", result.stdout)
    after = inside(place / "out" / "J-1")
    assert after.keys() == before.keys() | {"J-1.pdf"}
    assert {n: d for n, d in after.items() if n not in ("J-1.pdf", "report.json")} == {
        n: d for n, d in before.items() if n != "report.json"
    }
    listed = {f["name"]: f["sha256"] for f in json.loads(after["report.json"])["files"]}
    assert listed == {n: hashlib.sha256(d).hexdigest() for n, d in after.items() if n != "report.json"}
    sheets = [n for n in after if n.startswith("sheet-")]
    assert len(reader(after["J-1.pdf"]).pages) == len(sheets)


def test_a_pdf_of_an_earlier_run_goes_and_other_pdfs_stay(place):
    path = job(place)
    folder = place / "out" / "J-1"
    run("draw", path, "--pdf")
    theirs = {"order.pdf": b"1", "J-1 signed.pdf": b"2", "J-2.pdf": b"3", "cut/J-1.pdf.txt": b"4"}
    for name in ("order.pdf", "J-1 signed.pdf", "J-2.pdf"):
        (folder / name).write_bytes(theirs[name])
    result = run("draw", path)
    assert "pdf" not in result.stdout
    after = inside(folder)
    assert "J-1.pdf" not in after
    assert {n: after[n] for n in ("order.pdf", "J-1 signed.pdf", "J-2.pdf")} == {
        n: theirs[n] for n in ("order.pdf", "J-1 signed.pdf", "J-2.pdf")
    }
    assert not any(f["name"].endswith(".pdf") for f in json.loads(after["report.json"])["files"])


def test_a_pdf_that_cannot_be_written_ends_with_three_and_leaves_no_report(place):
    folder = place / "out" / "J-1"
    (folder / "J-1.pdf").mkdir(parents=True)
    result = run("draw", job(place), "--pdf")
    assert result.exit_code == 3
    assert "J-1.pdf" in result.stderr
    assert "report.json" not in inside(folder)


def test_several_jobs_have_a_pdf_each(place):
    paths = [job(place, f"J-{n}") for n in (1, 2, 3)]
    result = run("draw", *paths, "--pdf")
    assert result.exit_code == 0
    for n in (1, 2, 3):
        data = (place / "out" / f"J-{n}" / f"J-{n}.pdf").read_bytes()
        assert all(f"J-{n}" in page for page in told(data))
    # each is what it is when drawn alone
    alone = run("draw", paths[1], "--pdf", "--out", "alone")
    assert alone.exit_code == 0
    assert inside(place / "alone" / "J-2") == inside(place / "out" / "J-2")


def test_a_job_with_signs_that_the_face_lacks_is_drawn_and_they_are_told(place):
    result = run("draw", job(place, customer="Müller 李"), "--pdf")
    assert result.exit_code == 0
    said = [line for line in result.stdout.splitlines() if "box" in line]
    assert said == ["J-1.pdf shows a box for each of 李: its face cannot set them; the other files hold them"]
    assert "box" not in run("draw", job(place, customer="Müller 李")).stdout
    assert "box" not in run("draw", job(place, customer="Müller"), "--pdf").stdout


@pytest.mark.parametrize("missing", ["reportlab", "reportlab.pdfgen.canvas", "reportlab.pdfbase.ttfonts"])
def test_without_the_extra_it_says_how_to_get_it_before_anything_is_read_or_written(missing, place, monkeypatch):
    monkeypatch.setitem(sys.modules, missing, None)
    result = run("draw", job(place), place / "none.toml", "--pdf")
    assert result.exit_code == 3
    (line,) = result.stderr.splitlines()
    assert "--pdf needs reportlab" in line
    assert "pip install 'staveline[pdf]'" in line
    assert result.stdout == ""
    assert not (place / "out").exists()
    assert run("draw", job(place)).exit_code == 0
