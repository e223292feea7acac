"""Files with a model alone: the same as ezdxf writes of a document of its own, but for the numbers of handles."""

from __future__ import annotations

import io
import re
from itertools import pairwise
from typing import Any

import ezdxf
import pytest
from ezdxf import recover
from ezdxf.enums import TextEntityAlignment

from layout.units import Unit
from layout.writers.dxf_entities import STANDARD, Lettering, Look, Plain
from layout.writers.dxf_file import Version, document_bytes, new_document, set_extents
from layout.writers.model_dxf import Model

LAYERS = ["CUT_OUTLINE", "NOTE"]
BOUNDS = (0.0, -1.5, 96.25, 25.5)
VERSIONS: list[Version] = ["R12", "R2000", "R2010"]
TEXT = "P1 UNIT: INCH"
SQUARE = [(0.0, -1.5, 0.0), (96.25, -1.5, 0.25), (96.25, 25.5, 0.0), (0.0, 25.5, -1.0)]


def drawn(plain: Plain, version: Version) -> None:
    """Put one of each kind of entity into a model, a polyline before and after others."""
    look = Look("CUT_OUTLINE")
    plain.heavy_polyline(SQUARE, look)
    if version != "R12":
        plain.polyline(SQUARE, look, closed=True, dashed=False)
    plain.line((1.0, 2.0), (3.0, 4.0), look)
    plain.arc((1.0, 2.0), 3.0, 10.0, 350.0, look)
    plain.circle((1.0, 2.0), 3.0, look)
    plain.heavy_polyline(SQUARE[:3], look)
    plain.text(Lettering(TEXT, (2.0, 2.0), 0.5, STANDARD), Look("NOTE"))
    plain.text(Lettering("100", (2.0, 3.0), 0.5, STANDARD, "end"), Look("NOTE"), 90.0)


def drawn_by_ezdxf(model: Any, version: Version) -> None:
    look = {"layer": "CUT_OUTLINE"}
    model.add_polyline2d(SQUARE, format="xyb", close=True, dxfattribs=look)
    if version != "R12":
        model.add_lwpolyline(SQUARE, format="xyb", close=True, dxfattribs=look)
    model.add_line((1.0, 2.0), (3.0, 4.0), dxfattribs=look)
    model.add_arc((1.0, 2.0), 3.0, 10.0, 350.0, dxfattribs=look)
    model.add_circle((1.0, 2.0), 3.0, dxfattribs=look)
    model.add_polyline2d(SQUARE[:3], format="xyb", close=True, dxfattribs=look)
    model.add_text(TEXT, height=0.5, dxfattribs={"layer": "NOTE"}).set_placement((2.0, 2.0))
    turned = model.add_text("100", height=0.5, rotation=90.0, dxfattribs={"layer": "NOTE"})
    turned.set_placement((2.0, 3.0), align=TextEntityAlignment.RIGHT)


def written(version: Version, unit: Unit) -> bytes:
    model = Model(version, unit)
    drawn(model.plain, version)
    return model.written(BOUNDS, LAYERS)


def by_ezdxf(version: Version, unit: Unit) -> bytes:
    doc = new_document(version, unit)
    doc.layers.remove("Defpoints")
    for name in LAYERS:
        doc.layers.add(name, color=7, linetype="Continuous")
    drawn_by_ezdxf(doc.modelspace(), version)
    set_extents(doc.modelspace(), BOUNDS)
    # vertices that are added to a polyline in a document are given its own owner, and that of SEQEND is the polyline
    for polyline in doc.modelspace().query("POLYLINE"):
        polyline.take_ownership()
    return document_bytes(doc)


def tags(data: bytes) -> list[tuple[int, str]]:
    lines = data.decode("ascii").split("\n")
    return [(int(code), value) for code, value in zip(lines[:-1:2], lines[1::2], strict=True)]


def renumbered(data: bytes) -> list[tuple[int, str]]:
    """Return the tags with handles numbered as they are met: which is which stays, the numbers do not."""
    met: dict[str, str] = {}
    pointers = {5, 105, *range(320, 370), 390, 480, 1005}
    # the next free one is no handle of anything
    seed = re.search(rb"  9\n\$HANDSEED\n  5\n(\w+)\n", data)
    assert seed
    free = seed[1].decode()
    return [
        (code, met.setdefault(value, f"#{len(met)}") if code in pointers and value not in ("0", free) else value)
        for code, value in tags(data.replace(seed[0], b""))
    ]


@pytest.mark.parametrize("unit", ["in", "mm"])
@pytest.mark.parametrize("version", VERSIONS)
def test_a_file_is_what_ezdxf_writes_whole(version: Version, unit: Unit) -> None:
    own, whole = (make(version, unit) for make in (written, by_ezdxf))
    assert len(own) > 4_000
    assert renumbered(own) == renumbered(whole)


@pytest.mark.parametrize("version", VERSIONS)
def test_every_handle_is_one_thing_and_below_the_next_free_one(version: Version) -> None:
    data = written(version, "mm")
    seed = dict(pairwise(tags(data)))[9, "$HANDSEED"][1]
    own = [value for (before, _), (code, value) in pairwise(tags(data)) if before == 0 and code == 5]
    assert len(own) >= 30
    assert len(set(own)) == len(own)
    assert max(int(handle, 16) for handle in own) < int(seed, 16)


@pytest.mark.parametrize("version", VERSIONS)
def test_files_made_one_after_another_share_nothing(version: Version) -> None:
    first = written(version, "in")
    empty = Model(version, "in").written((0.0, 0.0, 1.0, 1.0), LAYERS)
    assert written(version, "in") == first
    doc, auditor = recover.read(io.BytesIO(empty))
    assert not auditor.has_errors
    assert len(doc.modelspace()) == 0
    assert tuple(doc.header["$EXTMAX"])[:2] == (1.0, 1.0)


@pytest.mark.parametrize("version", VERSIONS)
def test_ezdxf_reads_it_without_a_fault(version: Version) -> None:
    doc = ezdxf.read(io.StringIO(written(version, "in").decode("ascii")))
    assert not doc.audit().has_issues
    kinds = [entity.dxftype() for entity in doc.modelspace()]
    assert kinds.count("POLYLINE") == 2
    assert kinds[-1] == "TEXT"
    assert tuple(doc.header["$EXTMIN"])[:2] == BOUNDS[:2]
    assert tuple(doc.header["$EXTMAX"])[:2] == BOUNDS[2:]
    for entity in doc.modelspace():
        if entity.dxftype() == "POLYLINE":
            assert len(list(entity.vertices)) in (3, 4)
            assert entity.seqend is not None
