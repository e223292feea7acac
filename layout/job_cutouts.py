"""What a job file has cut through the tops or let into them: cutouts, grooves, slots, recesses."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Discriminator, Field, Tag, model_validator

from layout.job_values import (
    Degrees,
    FileBeside,
    Filled,
    Hand,
    Line,
    MisfitError,
    Name,
    Need,
    Never,
    NotNegative,
    Only,
    Pair,
    Positive,
    Table,
    Tape,
    kind,
)
from layout.units import Unit

Centre = Annotated[
    Annotated[Pair, Tag("point")] | Annotated[Line, kind("window"), Tag("window")] | Annotated[Tape, Tag("station")],
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
    """How wide the ledge is; a length."""
    depth: Positive
    """How deep the ledge is let in; a length."""


class Cutout(Table):
    """[[cutout]]: placed by wall, centre station and setback on a run, by a point in its own frame elsewhere.

    Across an inside corner of a run it is placed by ``corner`` and its setback from the front there, on the corner's middle.
    ``template``: a DXF file beside the job file whose largest closed contour is the outline. The middle of its bounding box
    is the cutout's centre, up in the file is towards the back, and ``turn`` turns it. Of an undermount it is taken as the
    bowl's opening line, from which the cutout stands off by ``reveal``.
    """

    one_of = ("size", "diameter", "template")
    apart = (
        ("diameter", "radius"),
        ("template", "radius"),
        ("corner", "center"),
        ("corner", "wall"),
        ("corner", "from"),
    )
    beside = (("template_units", "template"), ("template_layer", "template"))
    needs = (Need(("center", "corner"), "center, or corner for one across an inside corner of a run"),)
    only = (
        Only("mount", (("kind", "sink"),), 'no mount, which is for kind = "sink" alone'),
        Only("ledge", (("mount", "undermount"),), 'no ledge, which is for mount = "undermount" alone'),
    )
    never = (
        Never(("mount", "apron"), ("corner",), "no corner for an apron sink, which opens a straight front edge"),
        Never(("mount", "apron"), ("template",), "a size for an apron sink, which opens a straight front edge"),
        Never(("mount", "apron"), ("diameter", "turn"), "a size and no turn for an apron sink, square to the front"),
    )

    name: Name
    """The cutout's name, one of its own."""
    kind: Filled
    """What it is for: "sink", "cooktop", "hole", "outlet", "column" or another word."""
    mount: Literal["undermount", "drop-in", "apron"] | None = None
    """How a sink is set."""
    top: Name
    """The top that it is in."""
    wall: Name | None = None
    """On a run: the wall that it is placed along."""
    corner: Line | None = None
    """Across an inside corner of a run: its two walls, such as "A/B"; then `center` and `wall` are left out."""
    center: Centre | None = None
    """Where its middle is: on a run a station along the wall or "window W1", elsewhere a point [x, y]."""
    setback: NotNegative | None = None
    """On a run: from the front edge to its front side; a length."""
    size: tuple[Positive, Positive] | None = None
    """[along the wall, across]; lengths."""
    diameter: Positive | None = None
    """Diameter of a round one; a length."""
    template: FileBeside | None = None
    """A DXF file beside the job file, whose largest closed contour is the outline; its middle is the cutout's."""
    template_units: Unit | None = None
    """What the template's numbers are in, where the file does not say."""
    template_layer: Filled | None = None
    """The template's layer that holds the outline."""
    radius: NotNegative | None = None
    """Radius of its inside corners; a length, at most half of the shorter side."""
    turn: Degrees = 0.0
    """By how many degrees it is turned, counter-clockwise."""
    reveal: Tape | None = None
    """By how much the top stands over an undermount's bowl; a length; negative: the bowl shows."""
    ledge: Ledge | None = None
    """A ledge below, round an undermount's opening, that its rim lies in."""
    model: Line = ""
    """Its maker's name for it."""
    proof: Literal["template", "spec sheet", "sketch"] | None = None
    """Where its size comes from; left out: not known, or the template where there is one."""
    from_: Annotated[Hand, Field(alias="from")] = "left"
    """Which end of the wall `center` is counted from."""

    @model_validator(mode="after")
    def _radius_fits(self) -> Cutout:
        if self.size is not None and self.radius is not None and 2 * self.radius.mm > min(s.mm for s in self.size):
            raise MisfitError("a radius of at most half the shorter side", "radius", "size")
        return self


class Milling(Table):
    """What is let into a face of a top, placed as a cutout is; ``face``: seen from above or from below."""

    apart = (("sink", "center"), ("sink", "wall"), ("sink", "setback"), ("sink", "turn"), ("sink", "from"))

    name: Name
    """Its name, one of its own."""
    top: Name
    """The top that it is in."""
    wall: Name | None = None
    """On a run: the wall that it is placed along."""
    center: Centre | None = None
    """Where its middle is: on a run a station along the wall or "window W1", elsewhere a point [x, y]."""
    setback: NotNegative | None = None
    """On a run: from the front edge to its front side; a length."""
    size: tuple[Positive, Positive]
    """[length, width] of each; lengths."""
    turn: Degrees = 0.0
    """By how many degrees it is turned, counter-clockwise."""
    depth: Positive | None = None
    """How deep it is; a length."""
    face: Literal["above", "below"] = "above"
    """The face that it is let into."""
    from_: Annotated[Hand, Field(alias="from")] = "left"
    """Which end of the wall `center` is counted from."""


class Groove(Milling):
    """[[groove]]: parallel grooves with round ends, ``size`` of each [length, width], ``spacing`` from middle to middle.

    ``sink``: they drain to that sink and begin in its opening, on its ``side``. A ``rod``'s grooves are as wide as it is thick.
    """

    together = (("sink", "side"),)
    needs = (
        Need(("center", "sink"), "center, or sink and side for grooves that drain to one"),
        Need(("depth",), "how deep it is"),
    )

    kind: Literal["drainer", "rod", "drip", "groove"] = "groove"
    """What the grooves are for; a rod's are as wide as the rod is thick."""
    sink: Name | None = None
    """The sink that they drain to, in whose opening they begin; then `center` is left out."""
    side: Hand | None = None
    """The side of the sink that they lie on."""
    count: Annotated[int, Field(ge=1, le=40)] = 1
    """How many grooves lie beside one another."""
    spacing: Positive | None = None
    """From the middle of one groove to the middle of the next; a length; left out: two and a half widths."""


class Slot(Milling):
    """[[slot]]: a slot with round ends, for knives or the like; without a depth it goes through."""

    needs: ClassVar[tuple[Need, ...]] = (Need(("center",), "where its middle is"),)


class Recess(Slot):
    """[[recess]]: a tray let into a face, with rounded corners."""

    needs = (*Slot.needs, Need(("depth",), "how deep it is"))

    radius: NotNegative | None = None
    """Radius of its corners; a length."""

    @model_validator(mode="after")
    def _radius_fits(self) -> Recess:
        if self.radius is not None and 2 * self.radius.mm > min(s.mm for s in self.size):
            raise MisfitError("a radius of at most half the shorter side", "radius", "size")
        return self
