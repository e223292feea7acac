"""Too many warnings is a fault too: everyday kitchens, and what an experienced drafter would want to be told of each.

Every finding listed here has its reason beside it; one that is not listed is noise, one that is missing is a gap.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from layout.pipeline import lay_file

ROOT = Path(__file__).resolve().parent
SAMPLES = ROOT.parent / "samples" / "jobs"
HEAT = ("heat-beside", "said on the drawing, with the fitter's barrier")

KITCHENS = {
    SAMPLES / "straight-run-between-walls.toml": [HEAT],
    SAMPLES / "corner-two-degrees-open.toml": [HEAT],
    SAMPLES / "run-broken-by-a-range.toml": [HEAT],
    SAMPLES / "metric-kitchen.toml": [HEAT],
    SAMPLES / "corner-sink-on-the-diagonal.toml": [HEAT],
    SAMPLES / "apron-sink-under-a-window.toml": [
        ("corner-too-tight", "the chase's square corners: the bit's radius, or cleaned out by hand"),
    ],
    ROOT / "everyday" / "galley.toml": [HEAT],
    ROOT / "everyday" / "first-sketch.toml": [
        ("cutout-unproven", "the sink is not chosen"),
        ("not-final-measure", "bare studs, no cabinets"),
        ("range-fit", "the range's sheet is not at hand"),
        HEAT,
        ("short-grain", "the piece right of the range is 22 along the grain and 25 3/8 across"),
    ],
    ROOT / "everyday" / "flat.toml": [HEAT],
}


@pytest.mark.parametrize("job", KITCHENS, ids=lambda p: p.stem)
def test_an_everyday_kitchen_raises_what_its_drafter_wants_to_hear_and_no_more(job: Path) -> None:
    assert [f.code for f in lay_file(job).findings] == [code for code, _ in KITCHENS[job]]


@pytest.mark.parametrize("job", KITCHENS, ids=lambda p: p.stem)
def test_one_cause_is_one_finding(job: Path) -> None:
    found = lay_file(job).findings
    assert len({(f.code, f.subject) for f in found}) == len(found)
    assert len({f.code for f in found}) == len(found)
