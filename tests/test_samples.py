"""The samples: each draws without a stop, and the drawings kept beside them are those the program makes today.

Compared as parsed content with a tolerance, not as bytes, so that the last digit of another machine's arithmetic is no
fault. ``python tests/renew_drawings.py`` renews them.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest
from test_sheets import drawn

from layout.pipeline import lay_file
from layout.writers.svg import svg_text

SAMPLES = Path(__file__).resolve().parent.parent / "samples"
JOBS = sorted((SAMPLES / "jobs").glob("*.toml"))
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")


def parsed(text: str) -> list[tuple[str, tuple[tuple[str, str], ...], str, list[float]]]:
    """Return every element: tag, attributes without their numbers, text, and the numbers in order."""
    out = []
    for element in ET.fromstring(text).iter():
        attributes = sorted(element.attrib.items())
        numbers = [float(n) for _, value in attributes for n in NUMBER.findall(value)]
        plain = tuple((name, NUMBER.sub("#", value)) for name, value in attributes)
        out.append((element.tag, plain, (element.text or "").strip(), numbers))
    return out


@pytest.mark.parametrize("job", JOBS, ids=lambda p: p.stem)
def test_kept_drawings_are_those_drawn_today(job: Path) -> None:
    layout, drawing = drawn(job.stem)
    folder = SAMPLES / "drawings" / layout.job.job.number
    assert sorted(p.name for p in folder.iterdir()) == sorted(f"sheet-{s.number}.svg" for s in drawing.sheets)
    for sheet in drawing.sheets:
        kept = parsed((folder / f"sheet-{sheet.number}.svg").read_text(encoding="utf-8"))
        today = parsed(svg_text(sheet, drawing))
        assert [k[:3] for k in kept] == [t[:3] for t in today]
        for k, t in zip(kept, today, strict=True):
            assert t[3] == pytest.approx(k[3], abs=2e-3)


@pytest.mark.parametrize("job", JOBS, ids=lambda p: p.stem)
def test_a_good_drafter_is_content_with_the_samples(job: Path) -> None:
    """Nothing stands in the way, and what is asked is a question worth a dealer's time; notes are said on the drawing."""
    asked = {
        "bar-with-a-curved-front": ["exposed-corner"],
        # where the natural front meets the ends
        "grooves-and-a-natural-edge": ["exposed-corner"],
        # 210 lb of oak: five people at 50 lb each, or lifting gear
        "island-with-seating": ["too-heavy"],
        # the chase's square corners: the bench leaves the bit's radius or cleans them out
        "apron-sink-under-a-window": ["corner-too-tight"],
    }
    assert [f.code for f in lay_file(job).findings if f.severity != "note"] == asked.get(job.stem, [])


def test_there_are_twelve_and_each_is_told_of() -> None:
    assert len(JOBS) >= 12
    page = (SAMPLES / "README.md").read_text(encoding="utf-8")
    assert [j.name for j in JOBS if f"jobs/{j.name}" not in page] == []
    numbers = [lay_file(j).job.job.number for j in JOBS]
    assert len(set(numbers)) == len(numbers)
    assert {p.name for p in (SAMPLES / "drawings").iterdir()} == set(numbers)
