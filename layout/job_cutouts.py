"""What a job file has cut through the tops or let into them: cutouts, grooves, slots, recesses."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import Annotated, Literal

from pydantic import Discriminator, Field, Tag, model_validator

from layout.job_values import (
    Degrees,
    FileBeside,
    Filled,
    Hand,
    Line,
    MisfitError,
    Name,
    NotNegative,
    Pair,
    Positive,
    Table,
    Tape,
)
from layout.units import Unit

Centre = Annotated[
    Annotated[Pair, Tag("point")] | Annotated[Line, Tag("window")] | Annotated[Tape, Tag("station")],
    Discriminator(
        lambda v: (
            "point"
            if isinstance(v, list | tuple)
            else "window"
            if isinstance(v, str) and v.strip().startswith("window")
            else "station"
        )
    ),
]


class Ledge(Table):
    """A ledge below, round an undermount's opening, that its rim lies in: how wide and how deep."""

    width: Positive
    depth: Positive


class Cutout(Table):
    """[[cutout]]: placed by wall, centre station and setback on a run, by a point in its own frame elsewhere.

    Across an inside corner of a run it is placed by ``corner`` and its setback from the front there, on the corner's middle.
    ``template``: a DXF file beside the job file whose largest closed contour is the outline. The middle of its bounding box
    is the cutout's centre, up in the file is towards the back, and ``turn`` turns it. Of an undermount it is taken as the
    bowl's opening line, from which the cutout stands off by ``reveal``.
    """

    one_of = ("size", "diameter", "template")
    apart = (("diameter", "radius"), ("template", "radius"), ("corner", "wall"), ("corner", "from"))

    name: Name
    kind: Filled
    mount: Literal["undermount", "drop-in", "apron"] | None = None
    top: Name
    wall: Name | None = None
    corner: Line | None = None
    center: Centre | None = None
    setback: NotNegative | None = None
    size: tuple[Positive, Positive] | None = None
    diameter: Positive | None = None
    template: FileBeside | None = None
    template_units: Unit | None = None
    template_layer: Filled | None = None
    radius: NotNegative | None = None
    turn: Degrees = 0.0
    reveal: Tape | None = None
    ledge: Ledge | None = None
    model: Line = ""
    proof: Literal["template", "spec sheet", "sketch"] | None = None
    from_: Annotated[Hand, Field(alias="from")] = "left"

    @classmethod
    def misfits(cls, keys: Collection[str]) -> Iterator[MisfitError]:
        """Yield what is wrong with the keys that a cutout has: one of center and corner places it."""
        yield from super().misfits(keys)
        if "center" in keys and "corner" in keys:
            yield MisfitError("no center beside corner, which has one middle", "center")
        for key in ("template_units", "template_layer"):
            if key in keys and "template" not in keys:
                yield MisfitError(f"no {key} without a template", key)
        if "center" not in keys and "corner" not in keys:
            yield MisfitError("center, or corner for one across an inside corner of a run", "center", "corner")

    @model_validator(mode="after")
    def _shape_holds(self) -> Cutout:
        if self.mount is not None and self.kind != "sink":
            raise MisfitError('no mount, which is for kind = "sink" alone', "mount")
        if self.ledge is not None and self.mount != "undermount":
            raise MisfitError('no ledge, which is for mount = "undermount" alone', "ledge")
        if self.mount == "apron" and self.corner is not None:
            raise MisfitError("no corner for an apron sink, which opens a straight front edge", "corner")
        if self.mount == "apron" and self.template is not None:
            raise MisfitError("a size for an apron sink, which opens a straight front edge", "template")
        if self.mount == "apron" and (self.diameter is not None or self.turn):
            raise MisfitError("a size and no turn for an apron sink, square to the front", "diameter", "turn")
        if self.size is not None and self.radius is not None and 2 * self.radius.mm > min(s.mm for s in self.size):
            raise MisfitError("a radius of at most half the shorter side", "radius", "size")
        return self


class Milling(Table):
    """What is let into a face of a top, placed as a cutout is; ``face``: seen from above or from below."""

    apart = (("sink", "center"), ("sink", "wall"), ("sink", "setback"), ("sink", "turn"), ("sink", "from"))

    name: Name
    top: Name
    wall: Name | None = None
    center: Centre | None = None
    setback: NotNegative | None = None
    size: tuple[Positive, Positive]
    turn: Degrees = 0.0
    depth: Positive | None = None
    face: Literal["above", "below"] = "above"
    from_: Annotated[Hand, Field(alias="from")] = "left"


class Groove(Milling):
    """[[groove]]: parallel grooves with round ends, ``size`` of each [length, width], ``spacing`` from middle to middle.

    ``sink``: they drain to that sink and begin in its opening, on its ``side``. A ``rod``'s grooves are as wide as it is thick.
    """

    kind: Literal["drainer", "rod", "drip", "groove"] = "groove"
    sink: Name | None = None
    side: Hand | None = None
    count: Annotated[int, Field(ge=1, le=40)] = 1
    spacing: Positive | None = None

    @classmethod
    def misfits(cls, keys: Collection[str]) -> Iterator[MisfitError]:
        """Yield what is wrong with the keys that a groove has: a sink or a centre places it."""
        yield from super().misfits(keys)
        if "center" not in keys and "sink" not in keys:
            yield MisfitError("center, or sink and side for grooves that drain to one", "center", "sink")
        if ("sink" in keys) != ("side" in keys):
            yield MisfitError("sink and side together", "sink", "side")
        if "depth" not in keys:
            yield MisfitError("how deep it is", "depth")


class Slot(Milling):
    """[[slot]]: a slot with round ends, for knives or the like; without a depth it goes through."""

    @classmethod
    def misfits(cls, keys: Collection[str]) -> Iterator[MisfitError]:
        """Yield what is wrong with the keys that a slot has."""
        yield from super().misfits(keys)
        if "center" not in keys:
            yield MisfitError("where its middle is", "center")


class Recess(Slot):
    """[[recess]]: a tray let into a face, with rounded corners."""

    radius: NotNegative | None = None

    @classmethod
    def misfits(cls, keys: Collection[str]) -> Iterator[MisfitError]:
        """Yield what is wrong with the keys that a recess has."""
        yield from super().misfits(keys)
        if "depth" not in keys:
            yield MisfitError("how deep it is", "depth")

    @model_validator(mode="after")
    def _radius_fits(self) -> Recess:
        if self.radius is not None and 2 * self.radius.mm > min(s.mm for s in self.size):
            raise MisfitError("a radius of at most half the shorter side", "radius", "size")
        return self
