"""Samples and field sketches laid out, bought for and drawn, once each for all tests of a process: what comes of it is frozen."""

from functools import cache
from pathlib import Path

import pytest

from layout.drawing import Drawing
from layout.materials import Materials, materials
from layout.pipeline import Layout, lay_file
from layout.sheets import draw

TESTS = Path(__file__).resolve().parent
JOBS = sorted([*(TESTS.parent / "samples" / "jobs").glob("*.toml"), *(TESTS / "field_sketches").glob("*.toml")])
"""The samples, and the field sketches of the tests."""

EVERY = [pytest.param(path, id=path.stem) for path in JOBS if path.parent.name == "jobs"]
NAMES = [path.stem for path in JOBS]


@cache
def laid(name: str) -> Layout:
    """Return a sample laid out, by its file's name without the ending."""
    return lay_file(next(path for path in JOBS if path.stem == name))


@cache
def bought(name: str) -> Materials:
    """Return what a sample is made of. The search for the best boards takes seconds for some."""
    return materials(laid(name))


@cache
def drawn(name: str) -> Drawing:
    """Return all sheets of a sample."""
    return draw(laid(name), bought(name))
