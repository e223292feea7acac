"""The sheets as other people's renderers show them: resvg always, librsvg, CairoSVG and Chromium where they are.

None of them is ours, and none asks our table of widths. All set texts in the two font files that lie in layout/fonts,
so that a picture hangs on no machine. What is compared, and how closely, stands with each test.
"""

from __future__ import annotations

import html
import io
import json
import math
import os
import re
import shutil
import subprocess
import xml.etree.ElementTree as ET
from collections.abc import Callable, Iterable, Sequence
from functools import cache
from itertools import combinations
from pathlib import Path

import ezdxf
import numpy as np
import pytest
import resvg_py
import shapely
from ezdxf.addons.drawing import Frontend, RenderContext, config
from ezdxf.addons.drawing import layout as page_layout
from ezdxf.addons.drawing.svg import SVGBackend
from ezdxf.math import BoundingBox2d
from PIL import Image
from rooms import random_job
from shapely import LineString, MultiPoint, Polygon, STRtree
from shapely.geometry import box
from shapely.geometry.base import BaseGeometry
from test_svg_writer import SAMPLES, sample

from layout.pipeline import lay_text
from layout.sheets import draw
from layout.writers.shop_dxf import shop_dxf
from layout.writers.svg import svg_text

FACES = Path(__file__).resolve().parent.parent / "layout" / "fonts"
FILES = [str(FACES / name) for name in ("DejaVuSans.ttf", "DejaVuSans-Bold.ttf")]
NS = "{http://www.w3.org/2000/svg}"
PX = 5
"""Pixels to a mm of paper in the pictures that are compared: the narrowest line is wider than one, up to which some
engines draw another kind of line."""
FINE = 4
"""Pixels to a mm where inks are measured."""
DARK = 64
"""Two pixels differ where their greys do by more than this of 255: less is how an engine smooths an edge."""
EVERYDAY = ("bar-with-a-curved-front",)
"""The sample whose pixels are compared in every run; the others' in the sweep."""
BY_SAMPLE = BY_PIXELS = pytest.mark.parametrize(
    "name", [pytest.param(s, marks=[] if s in EVERYDAY else pytest.mark.sweep) for s in SAMPLES]
)
IN_SWEEPS = pytest.mark.parametrize("name", [pytest.param(s, marks=pytest.mark.sweep) for s in SAMPLES])

Grey = np.ndarray
CHROMIUM = next((p for p in map(shutil.which, ("chromium", "chromium-browser", "google-chrome")) if p), None)
RSVG = shutil.which("rsvg-convert")
needs_chromium = pytest.mark.skipif(
    CHROMIUM is None,
    reason="no Chromium here (Debian's chromium, 400 MB); resvg measures too",
)
needs_rsvg = pytest.mark.skipif(
    RSVG is None, reason="2026-11-25: no rsvg-convert here (librsvg2-bin); resvg and CairoSVG are compared all the same"
)


def sheets(name: str) -> list[str]:
    """The sheets of a sample as SVG."""
    drawing = sample(name)
    return [svg_text(page, drawing) for page in drawing.sheets]


# --- the renderers ---------------------------------------------------------------------------------------------------


def canvas(svg: str, px: int = PX) -> ET.Element:
    """A sheet on a canvas of whole pixels, so many to the mm."""
    root = ET.fromstring(svg.encode())
    wide, high = (math.ceil(float(v)) for v in root.attrib["viewBox"].split()[2:])
    root.set("viewBox", f"0 0 {wide} {high}")
    root.set("width", f"{wide * px}px")
    root.set("height", f"{high * px}px")
    return root


def without(root: ET.Element, *tags: str) -> ET.Element:
    for parent in list(root.iter()):
        for child in list(parent):
            if child.tag.removeprefix(NS) in tags:
                parent.remove(child)
    return root


def picture(png: bytes) -> Image.Image:
    return Image.open(io.BytesIO(png))


def grey(png: bytes) -> Grey:
    return np.asarray(picture(png).convert("L")).astype(int)


def by_resvg(root: ET.Element, *, smooth: bool = True) -> bytes:
    return bytes(
        resvg_py.svg_to_bytes(
            svg_string=ET.tostring(root, encoding="unicode"),
            background="white",
            dpi=96,
            skip_system_fonts=True,
            font_files=FILES,
            sans_serif_family="DejaVu Sans",
            text_rendering="geometric_precision" if smooth else "optimize_speed",
            shape_rendering="geometric_precision" if smooth else "crisp_edges",
        )
    )


@pytest.fixture(scope="session")
def surroundings(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """An environment in which fontconfig knows the two font files and nothing else."""
    folder = tmp_path_factory.mktemp("fonts")
    (folder / "fonts.conf").write_text(
        '<?xml version="1.0"?><!DOCTYPE fontconfig SYSTEM "urn:fontconfig:fonts.dtd"><fontconfig>'
        f"<dir>{FACES}</dir><cachedir>{folder}/cache</cachedir></fontconfig>"
    )
    return {**os.environ, "FONTCONFIG_FILE": str(folder / "fonts.conf")}


def by_rsvg(root: ET.Element, surroundings: dict[str, str]) -> bytes:
    run = [str(RSVG), "--background-color=white"]
    return subprocess.run(
        run, input=ET.tostring(root), env=surroundings, check=True, capture_output=True, timeout=60
    ).stdout


def by_chromium(
    roots: Iterable[ET.Element], script: str, surroundings: dict[str, str], folder: Path, *options: str
) -> str:
    """Show SVGs one below the other in one page, run a script in it, and return what it leaves in the page."""
    shown = "".join(f"<div>{ET.tostring(root, encoding='unicode')}</div>" for root in roots)
    (folder / "sheets.xhtml").write_text(
        '<html xmlns="http://www.w3.org/1999/xhtml"><head><title>sheets</title>'
        "<style>body { margin: 0 } svg { display: block }</style></head>"
        f"<body>{shown}<pre></pre><script><![CDATA[{script}]]></script></body></html>",
        encoding="utf-8",
    )
    quiet = ("quic", "background-networking", "component-update", "sync", "gpu", "dev-shm-usage")
    run = [
        str(CHROMIUM),
        "--headless",
        "--no-first-run",
        "--hide-scrollbars",
        *(f"--disable-{name}" for name in quiet),
        *(["--no-sandbox"] if os.geteuid() == 0 else []),
        f"--user-data-dir={folder / 'profile'}",
        *options,
        (folder / "sheets.xhtml").as_uri(),
    ]
    page = subprocess.run(run, env=surroundings, check=True, capture_output=True, text=True, timeout=120).stdout
    told = re.search(r"<pre[^>]*>(.*)</pre>", page, re.DOTALL)
    return html.unescape(told[1]) if told else ""


# --- texts: on one another, on a piece's outline, off the frame -------------------------------------------------------


class Measured:
    """Where a renderer shows the texts of a sheet, the outlines of its pieces and its frame, mm from the upper left."""

    def __init__(
        self, texts: Sequence[tuple[str, BaseGeometry]], outlines: Sequence[BaseGeometry], frame: Polygon
    ) -> None:
        self.texts, self.outlines, self.frame = texts, outlines, frame

    def faults(self) -> list[str]:
        areas = [area for _, area in self.texts]
        pairs = {tuple(sorted(pair)) for pair in STRtree(areas).query(areas, predicate="intersects").T.tolist()}
        found = [f"{self.texts[a][0]!r} lies on {self.texts[b][0]!r}" for a, b in pairs if a != b]
        over = STRtree(self.outlines).query(areas, predicate="intersects")[0] if self.outlines else []
        found += [f"{self.texts[k][0]!r} lies on a piece's outline" for k in set(map(int, over))]
        return sorted(
            found + [f"{text!r} leaves the frame" for text, area in self.texts if not self.frame.covers(area)]
        )


def frame_of(root: ET.Element) -> Polygon:
    """The frame: the closed path of that class."""
    (data,) = (p.attrib["d"] for p in root.iter(f"{NS}path") if p.get("class") == "frame" and p.attrib["d"][-1] == "Z")
    numbers = [float(n) for n in re.findall(r"[\d.]+", data)]
    return box(min(numbers[::2]), min(numbers[1::2]), max(numbers[::2]), max(numbers[1::2]))


@cache
def ink(svg: str) -> Measured:
    """What resvg paints: each text in a colour of its own, unsmoothed, as the hull of its pixels.

    Texts are a tenth of a mm bolder all round, so that no stroke slips through between pixels. The sheet is painted
    twice, the second time the other way round, so that what is covered the one time is seen the other.
    """
    root = canvas(svg, FINE)
    texts = [e for e in root.iter(f"{NS}text") if (e.text or "").strip()]
    outlines = [e for e in root.iter(f"{NS}path") if e.get("class") == "piece"]
    for k, element in enumerate(texts):
        element.set("fill", f"#{k + 1:06x}")
        element.set("stroke", f"#{k + 1:06x}")
        element.set("stroke-width", "0.2")
    for element in outlines:
        element.set("fill", "none")
        element.set("stroke", "#fe0000")
    seen: dict[int, list[np.ndarray]] = {}
    for painted in ([*outlines, *texts], [*reversed(texts), *outlines]):
        page = ET.Element(root.tag, {k: root.attrib[k] for k in ("width", "height", "viewBox")})
        page.extend(painted)
        rgb = np.asarray(picture(by_resvg(page, smooth=False)).convert("RGB")).astype(int)
        colours = (rgb[..., 0] << 16) | (rgb[..., 1] << 8) | rgb[..., 2]
        rows, columns = np.nonzero(colours != 0xFFFFFF)
        order = np.argsort(colours[rows, columns], kind="stable")
        values, starts = np.unique(colours[rows, columns][order], return_index=True)
        middles = np.column_stack((columns, rows))[order] / FINE + 0.5 / FINE
        for value, part in zip(values, np.split(middles, starts[1:]), strict=True):
            seen.setdefault(int(value), []).append(part)
    known = {0xFE0000, *range(1, len(texts) + 1)}
    assert seen.keys() <= known, "a colour that was not given: something was smoothed"
    assert known - seen.keys() <= ({0xFE0000} if not outlines else set()), "a text that is not painted"
    hulls = [
        (e.text or "", MultiPoint(np.concatenate(seen[k])).convex_hull.buffer(0.5 / FINE))
        for k, e in enumerate(texts, 1)
    ]
    painted_lines = np.unique(np.concatenate(seen[0xFE0000]), axis=0) if outlines else np.empty((0, 2))
    return Measured(hulls, list(shapely.points(painted_lines)), frame_of(root))


LOOK = """
const all = [];
for (const svg of document.querySelectorAll("svg")) {
  const paper = svg.getScreenCTM().inverse();
  const place = (e, p) => { const q = p.matrixTransform(paper.multiply(e.getScreenCTM())); return [q.x, q.y]; };
  const corners = (e) => {
    const b = e.getBBox();
    return [[0, 0], [1, 0], [1, 1], [0, 1]].map(([u, v]) =>
      place(e, new DOMPoint(b.x + u * b.width, b.y + v * b.height)));
  };
  const along = (e) => {
    const count = Math.max(2, Math.ceil(e.getTotalLength() * 4)), points = [];
    for (let k = 0; k <= count; k++) points.push(place(e, e.getPointAtLength(e.getTotalLength() * k / count)));
    return points;
  };
  all.push({
    texts: [...svg.querySelectorAll("text")].map((e) => [e.textContent, corners(e)]),
    outlines: [...svg.querySelectorAll("path.piece")].map(along),
  });
}
document.querySelector("pre").textContent = JSON.stringify(all);
"""


def boxes(svgs: Sequence[str], surroundings: dict[str, str], folder: Path, px: int = 0) -> list[Measured]:
    """What Chromium tells of sheets: of each text its box as a line of its font, ascent to descent.

    At their own size, or at ``px`` pixels to the mm: it rounds each letter's advance to a pixel.
    """
    roots = [canvas(svg, px) if px else ET.fromstring(svg.encode()) for svg in svgs]
    told = json.loads(by_chromium(roots, LOOK, surroundings, folder, "--dump-dom"))
    out = []
    for root, page in zip(roots, told, strict=True):
        lines = []
        for points in page["outlines"]:
            # samples are a quarter of a mm apart, and a path may set down again elsewhere
            lines += [LineString([p, q]) for p, q in zip(points, points[1:], strict=False) if math.dist(p, q) < 0.3]
        texts = [(text, Polygon(corners)) for text, corners in page["texts"] if text.strip()]
        out.append(Measured(texts, lines, frame_of(root)))
    return out


@pytest.fixture(scope="module")
def chromium_boxes(
    surroundings: dict[str, str], tmp_path_factory: pytest.TempPathFactory
) -> Callable[[str], list[Measured]]:
    """A function that returns a sample's sheets measured, all of them in one page."""

    def measured(name: str) -> list[Measured]:
        return list(boxes(sheets(name), surroundings, tmp_path_factory.mktemp("page")))

    return measured


@IN_SWEEPS
def test_no_text_is_painted_on_another_nor_on_a_piece_nor_off_the_frame(name: str) -> None:
    for number, svg in enumerate(sheets(name), 1):
        measured = ink(svg)
        assert len(measured.texts) > 10
        assert measured.faults() == [], f"sheet {number}"


@pytest.mark.sweep
@pytest.mark.parametrize("seed", [3, 7, 11, 19, 101])
def test_no_text_of_a_random_room_is_painted_on_another_nor_on_a_piece_nor_off_the_frame(seed: int) -> None:
    drawing = draw(lay_text(random_job(seed)))
    for sheet in drawing.sheets:
        assert ink(svg_text(sheet, drawing)).faults() == [], f"sheet {sheet.number}"


@needs_chromium
@BY_SAMPLE
def test_in_a_browser_no_text_lies_on_another_nor_on_a_piece_nor_off_the_frame(
    name: str, chromium_boxes: Callable[[str], list[Measured]]
) -> None:
    for number, measured in enumerate(chromium_boxes(name), 1):
        assert len(measured.texts) > 10
        assert measured.faults() == [], f"sheet {number}"


@needs_chromium
@IN_SWEEPS
def test_two_renderers_show_a_text_in_the_same_place(name: str, surroundings: dict[str, str], tmp_path: Path) -> None:
    """Where its pixels are small enough to be rounded to, the browser's box holds resvg's ink to within half a mm and
    0.3 % of its length; 0.35 mm of that is how the ink is measured."""
    pages = sheets(name)
    for svg, there in zip(pages, boxes(pages, surroundings, tmp_path, px=20), strict=True):
        for (text, area), (other, line) in zip(ink(svg).texts, there.texts, strict=True):
            assert text == other
            assert line.buffer(0.5 + 0.0015 * line.length).covers(area), text


def spoiled(svg: str) -> str:
    """A sheet with a stray text on a piece's corner and on another text, and one in the margin."""
    root = ET.fromstring(svg.encode())
    outline = next(e for e in root.iter(f"{NS}path") if e.get("class") == "piece")
    corner = re.findall(r"[\d.]+", outline.attrib["d"])[:2]
    other = next(e for e in root.iter(f"{NS}text") if e.text == "approved")
    for x, y, words in (
        (corner[0], str(float(corner[1]) + 1.0), "stray"),
        (other.attrib["x"], other.attrib["y"], "covering"),
        ("12", "100", "margin"),
    ):
        ET.SubElement(root, f"{NS}text", {**other.attrib, "x": x, "y": y, "text-anchor": "middle"}).text = words
    return ET.tostring(root, encoding="unicode")


STRAY = [
    "'approved' lies on 'covering'",
    "'margin' leaves the frame",
    "'stray' lies on a piece's outline",
]


def test_the_painted_texts_show_faults() -> None:
    assert [f for f in ink(spoiled(sheets("metric-kitchen")[0])).faults() if f in STRAY] == STRAY


@needs_chromium
def test_the_browsers_boxes_show_faults(surroundings: dict[str, str], tmp_path: Path) -> None:
    (measured,) = boxes([spoiled(sheets("metric-kitchen")[0])], surroundings, tmp_path)
    assert [f for f in measured.faults() if f in STRAY] == STRAY


# --- the same picture by every engine ---------------------------------------------------------------------------------


def differing(a: Grey, b: Grey) -> float:
    """The share of pixels that are not the same grey, smoothing apart."""
    assert a.shape == b.shape
    return float((np.abs(a - b) > DARK).mean())


def shots(roots: Sequence[ET.Element], surroundings: dict[str, str], folder: Path) -> list[Grey]:
    """Chromium's pictures of sheets of one size."""
    wide, high = (int(roots[0].attrib[side][:-2]) for side in ("width", "height"))
    window = f"--window-size={wide},{high * len(roots)}"
    by_chromium(roots, "", surroundings, folder, window, f"--screenshot={folder / 'shot.png'}")
    whole = grey((folder / "shot.png").read_bytes())
    return [whole[k * high : (k + 1) * high, :wide] for k in range(len(roots))]


@IN_SWEEPS
def test_every_engine_draws_the_same_lines(name: str, surroundings: dict[str, str], tmp_path: Path) -> None:
    """Without texts, which each engine sets in its own way, no two engines differ in a thousandth of the pixels."""
    roots = [without(canvas(svg), "text") for svg in sheets(name)]
    pictures = {"resvg": [grey(by_resvg(root)) for root in roots]}
    try:
        import cairosvg  # noqa: PLC0415

        pictures["CairoSVG"] = [grey(cairosvg.svg2png(ET.tostring(root), background_color="white")) for root in roots]
    except OSError:  # the wheel brings no Cairo
        pass
    if RSVG:
        pictures["librsvg"] = [grey(by_rsvg(root, surroundings)) for root in roots]
    if CHROMIUM:
        pictures["Chromium"] = shots(roots, surroundings, tmp_path)
    assert (pictures["resvg"][0] < 128).mean() > 0.002, "something is drawn"
    for one, other in combinations(pictures, 2):
        for number, (a, b) in enumerate(zip(pictures[one], pictures[other], strict=True), 1):
            assert differing(a, b) <= 0.001, f"sheet {number}: {one} and {other}"
    if len(pictures) < 3:
        pytest.skip(
            f"2026-11-25: of resvg, CairoSVG, librsvg and Chromium only {', '.join(pictures)} here, which agree"
        )


@needs_rsvg
@IN_SWEEPS
def test_with_the_same_font_two_engines_draw_the_same_sheet(name: str, surroundings: dict[str, str]) -> None:
    """Whole sheets, texts and all; the others round advances to pixels, so their texts are compared by box above."""
    for number, svg in enumerate(sheets(name), 1):
        root = canvas(svg)
        assert differing(grey(by_resvg(root)), grey(by_rsvg(root, surroundings))) <= 0.001, f"sheet {number}"


# --- the shop DXF's layouts beside the sheets -------------------------------------------------------------------------


def layout_pictures(data: bytes) -> list[Grey]:
    """The layouts of a DXF as ezdxf's drawing add-on shows them, without texts, its lines solid: it scales dashes by
    the viewport whatever $PSLTSCALE says."""
    doc = ezdxf.read(io.StringIO(data.decode()))
    how = config.Configuration(
        background_policy=config.BackgroundPolicy.WHITE,
        text_policy=config.TextPolicy.IGNORE,
        line_policy=config.LinePolicy.SOLID,
    )
    out = []
    for name in doc.layout_names_in_taborder()[1:]:
        space = doc.paperspace(name)
        mm = 25.4 if space.dxf.plot_paper_units == 0 else 1.0
        backend = SVGBackend()
        Frontend(RenderContext(doc), backend, config=how).draw_layout(space)
        page = page_layout.Page.from_dxf_layout(space)
        svg = backend.get_string(
            page,
            settings=page_layout.Settings(fit_page=False, scale=mm),
            render_box=BoundingBox2d([(0, 0), (page.width / mm, page.height / mm)]),
        )
        out.append(on_canvas_of(svg, page.width, page.height))
    return out


def on_canvas_of(svg: str, width: float, height: float) -> Grey:
    """A picture of an SVG whose viewBox is all of a page so many mm wide and high."""
    root = ET.fromstring(svg)
    _, _, wide, high = (float(v) for v in root.attrib["viewBox"].split())
    columns, rows = math.ceil(width), math.ceil(height)
    root.set("viewBox", f"0 0 {wide / width * columns} {high / height * rows}")
    root.set("width", f"{columns * PX}px")
    root.set("height", f"{rows * PX}px")
    return grey(by_resvg(root))


def strays(a: Grey, b: Grey) -> float:
    """The share of pixels black in one picture and in the other, them and those beside them, no more than grey."""
    stray = np.zeros(a.shape, bool)
    for one, other in ((a, b), (b, a)):
        padded = np.pad(other, 1, mode="edge")
        high, wide = one.shape
        beside = [np.abs(one - padded[y : y + high, x : x + wide]) for y in range(3) for x in range(3)]
        stray |= np.minimum.reduce(beside) > 2 * DARK
    return float(stray.mean())


def bare(svg: str) -> ET.Element:
    """A sheet as ``layout_pictures`` shows layouts: without texts, lines solid with round ends."""
    root = without(canvas(svg), "text")
    root.set("stroke-linecap", "round")
    for element in root.iter():
        element.attrib.pop("stroke-dasharray", None)
    return root


@BY_PIXELS
def test_a_layout_of_the_dxf_shows_what_its_sheet_shows(name: str) -> None:
    """Lines, fills and what marks hide: within a pixel, 0.2 mm. Texts are compared one by one in test_shop_dxf.py."""
    shown = layout_pictures(shop_dxf(sample(name)))
    pages = sheets(name)
    assert len(shown) == len(pages)
    for number, (there, svg) in enumerate(zip(shown, pages, strict=True), 1):
        here = grey(by_resvg(bare(svg)))
        assert strays(here, there) == 0, f"sheet {number}"
        assert differing(here, there) <= 0.0001, f"sheet {number}"


@pytest.mark.sweep
def test_a_line_too_many_would_be_seen() -> None:
    drawn = sample("bar-with-a-curved-front")
    root = bare(svg_text(drawn.sheets[1], drawn))
    whole = grey(by_resvg(root))
    for kind in ("centre", "dimension-extension", "mark"):
        kept = ET.fromstring(ET.tostring(root))
        parent, child = next((p, c) for p in kept.iter() for c in p if c.get("class") == kind)
        parent.remove(child)
        assert strays(grey(by_resvg(kept)), whole) > 0, kind
