"""A DXF file with a model alone, on layers of its own: what a machine or another job reads.

All that such files have in common, some thousand tags that no reader of a contour asks for but that the format wants, ezdxf writes
once for each version, unit and choice of layers; a file is that form with its entities, extents and next free handle filled in.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from ezdxf.layouts.base import VirtualLayout
from ezdxf.lldxf.tagwriter import TagWriter
from ezdxf.tools.handle import HandleGenerator

from layout.units import Unit
from layout.writers.dxf_entities import Written
from layout.writers.dxf_file import Bounds, Version, document_bytes, new_document, set_extents

_BOUNDS = (-98765.4321, -87654.3219, 76543.2198, 65432.1987)
"""Extents of the form, which stand for those of a file: numbers that nothing else in it has."""
_ENTITIES = "999\nentities\n"
_FORMS = 64
"""Forms that are kept: a run over many jobs has few choices of layers."""


@dataclass(frozen=True, slots=True)
class _Form:
    """An empty file: what stands before its entities and after them."""

    head: str
    tail: str
    owner: str
    """Handle of what owns the entities."""
    free: str
    """The first handle that is free."""
    version: str
    encoding: str


def new_model() -> VirtualLayout:
    """Return a model to draw in."""
    # which has no types
    made: Any = VirtualLayout
    model: VirtualLayout = made()
    return model


def model_dxf(
    model: VirtualLayout,
    bounds: Bounds,
    layers: Sequence[str],
    version: Version,
    unit: Unit,
    *,
    defpoints: bool = False,
) -> bytes:
    """Return a file of the entities in ``model``, which takes ``bounds``; both in job units.

    ``layers``: all that it has beside 0, and the one of dimension points where ``defpoints`` asks for it. The entities are
    given their handles, so a model is written once.
    """
    form = _form(tuple(layers), version, unit, defpoints)
    handles = HandleGenerator(form.free)
    stream = io.StringIO()
    writer = TagWriter(stream, dxfversion=form.version)
    entity: Any
    for entity in model.entity_space:
        entity.dxf.handle = handles.next()
        if entity.dxftype() == "POLYLINE":
            entity.new_seqend()
            for part in (entity.seqend, *entity.vertices):
                part.dxf.handle = handles.next()
        entity.set_owner(form.owner)
        entity.export_dxf(writer)
    head = form.head.replace(_seed(form.free), _seed(str(handles)), 1)
    text = "".join((_extended(head, bounds), stream.getvalue(), _extended(form.tail, bounds)))
    return text.encode(form.encoding, errors="dxfreplace")


@lru_cache(maxsize=_FORMS)
def _form(layers: tuple[str, ...], version: Version, unit: Unit, defpoints: bool) -> _Form:
    doc = new_document(version, unit)
    if not defpoints:
        doc.layers.remove("Defpoints")
    for name in layers:
        doc.layers.add(name, color=7, linetype="Continuous")
    model = doc.modelspace()
    space: Any = model.entity_space
    space.entities.append(Written("", _ENTITIES))
    set_extents(model, _BOUNDS)
    head, tail = document_bytes(doc).decode(doc.output_encoding).split(_ENTITIES)
    return _Form(head, tail, model.block_record_handle, str(doc.entitydb.handles), doc.dxfversion, doc.output_encoding)


def _seed(handle: str) -> str:
    return f"$HANDSEED\n  5\n{handle}\n"


def _extended(text: str, bounds: Bounds) -> str:
    """Return a part of the form with the extents of a file in the place of its own."""
    for own, real in zip(_BOUNDS, bounds, strict=True):
        text = text.replace(f"\n{own}\n", f"\n{float(real)}\n")
    return text
