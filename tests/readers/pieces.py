"""Pieces to try readers with, in every way that a cut file is written."""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path

from layout.pieces import Piece
from layout.pipeline import Layout, lay_file
from layout.units import UNIT_MM
from layout.writers.cut_dxf import cut_dxf

JOBS = Path(__file__).resolve().parents[2] / "samples" / "jobs"
PIECES = {
    "arcs": ("island-round-a-column", "P1"),
    "sink and hole": ("straight-run-between-walls", "P1"),
    "mitred": ("corner-two-degrees-open", "P2"),
}
UNITS = ("in", "mm")
VERSIONS = ("R2000", "R12")
CONTOURS = {
    "R2000": ("polylines", "heavy polylines", "lines and arcs"),
    # R12 has no other polylines than heavy ones
    "R12": ("polylines", "lines and arcs"),
}


@cache
def sample(name: str) -> tuple[Layout, Piece]:
    job, number = PIECES[name]
    layout = lay_file(JOBS / f"{job}.toml")
    return layout, next(p for p in layout.divided.pieces if p.id == number)


def cut_bytes(name: str, unit: str, version: str, contours: str) -> bytes:
    layout, piece = sample(name)
    job = layout.cut_as(version, contours).job
    return cut_dxf(piece, job.model_copy(update={"job": job.job.model_copy(update={"units": unit})}))


def true_areas(name: str, unit: str) -> tuple[float, float]:
    """The areas (outline, all inside it) of a piece in square units, arcs exact."""
    _, piece = sample(name)
    (outline,) = piece.cut_rings()
    inside = [
        cut.ring.area if cut.diameter is None else math.pi * cut.diameter**2 / 4
        for cut in piece.cutouts
        if not cut.opens_front
    ]
    square = float(UNIT_MM[unit]) ** 2
    return outline.area / square, sum(inside) / square
