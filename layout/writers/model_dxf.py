"""A DXF file with a model alone, on layers of its own: what a machine or another job reads.

All that such files have in common, some thousand tags that no reader of a contour asks for but that the format wants, ezdxf writes
once for each version and unit; a file is that form with its layers, entities, extents and next free handle filled in.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

from ezdxf.lldxf.tagwriter import TagWriter
from ezdxf.tools.handle import HandleGenerator

from layout.units import Unit
from layout.writers.dxf_entities import Plain, Written
from layout.writers.dxf_file import Bounds, Version, document_bytes, new_document, set_extents

_BOUNDS = (-98765.4321, -87654.3219, 76543.2198, 65432.1987)
"""Extents of the form, which stand for those of a file: numbers that nothing else in it has."""
_LAYER = "A_LAYER"
"""The layer of the form that stands for those of a file,"""
_ENTITIES = "999\nentities\n"
"""and what stands for its entities."""


@dataclass(frozen=True, slots=True)
class _Form:
    """A file of no entities and one layer, as text."""

    before_layer: str
    layer: str
    before_entities: str
    rest: str
    owner: str
    """Handle of what owns the entities."""
    handle: str
    """Handle of its layer."""
    free: str
    """The first handle that is free."""
    encoding: str


class Model:
    """A model to draw in, and the file of it."""

    def __init__(self, version: Version, unit: Unit) -> None:
        """Begin one for a file of a version."""
        self._form = form = _form(version, unit)
        self._handles = HandleGenerator(form.free)
        self._space: list[Written] = []
        self.plain = Plain(self._space, form.owner, self._handles.next, old=version == "R12")
        """What puts entities into it, coordinates in job units."""

    def written(self, bounds: Bounds, layers: Sequence[str]) -> bytes:
        """Return the file, once all is drawn. ``bounds``: what the model takes; ``layers``: the names of all but 0, each once."""
        form = self._form
        named = [_told_layer(form.layer, form.handle, self._handles.next(), name) for name in layers]
        # beside the form's layer there is 0
        head = form.before_layer.replace(_number_of_layers(2), _number_of_layers(len(layers) + 1), 1)
        head = head.replace(_next_handle(form.free), _next_handle(str(self._handles)), 1)
        entities = [part for one in self._space for part in one.parts]
        text = "".join((head, *named, form.before_entities, *entities, form.rest))
        for own, real in zip(_BOUNDS, bounds, strict=True):
            text = text.replace(f"\n{own}\n", f"\n{float(real)}\n")
        return text.encode(form.encoding, errors="dxfreplace")


@cache
def _form(version: Version, unit: Unit) -> _Form:
    doc = new_document(version, unit)
    doc.layers.remove("Defpoints")
    layer = doc.layers.add(_LAYER, color=7, linetype="Continuous")
    model = doc.modelspace()
    space: Any = model.entity_space
    space.entities.append(Written([_ENTITIES]))
    set_extents(model, _BOUNDS)
    text = document_bytes(doc).decode(doc.output_encoding)
    stream = io.StringIO()
    layer.export_dxf(TagWriter(stream, dxfversion=doc.dxfversion))
    before_layer, after = text.split(stream.getvalue())
    before_entities, rest = after.split(_ENTITIES)
    return _Form(
        before_layer=before_layer,
        layer=stream.getvalue(),
        before_entities=before_entities,
        rest=rest,
        owner=model.block_record_handle,
        handle=layer.dxf.handle,
        free=str(doc.entitydb.handles),
        encoding=doc.output_encoding,
    )


def _told_layer(form: str, own: str, handle: str, name: str) -> str:
    """Return the form's layer, whose handle is ``own``, with another handle and name."""
    return form.replace(f"  5\n{own}\n", f"  5\n{handle}\n", 1).replace(f"  2\n{_LAYER}\n", f"  2\n{name}\n", 1)


def _number_of_layers(number: int) -> str:
    return f" 70\n{number}\n  0\nLAYER\n"


def _next_handle(handle: str) -> str:
    return f"$HANDSEED\n  5\n{handle}\n"
