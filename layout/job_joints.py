"""What a job file says of joints, supports and edges: what is settled by hand."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import AfterValidator, Field, WithJsonSchema

from layout.job_cutouts import Centre
from layout.job_shop import CornerKind
from layout.job_values import (
    AtMost,
    Hand,
    Line,
    Name,
    Need,
    NotNegative,
    Only,
    Pair,
    Positive,
    Profile,
    Table,
    Tape,
    rising,
)
from layout.rules import MOST_STATIONS


class JointChoice(Table):
    """[[joint]]: a corner overruled, or a seam by hand.

    ``beyond``: a butt lies so far past the through leg's front line, out along the other leg.
    """

    one_of = ("corner", "at")
    apart = (
        ("at", "kind"),
        ("at", "through"),
        ("at", "length"),
        ("at", "beyond"),
        ("corner", "wall"),
        ("corner", "from"),
    )

    of_kind: ClassVar[tuple[Only, ...]] = (
        Only("length", (("kind", "short mitre"),), 'no length but for kind = "short mitre"'),
        Only("beyond", (("kind", "butt"),), 'no beyond but for kind = "butt"'),
    )
    """Keys of a corner for one kind alone, which may be the shop's; so the checks across tables heed them."""

    top: Name
    """The top that is joined."""
    corner: Line | None = None
    """A corner whose joint is settled here: its two walls, such as "A/B"."""
    kind: CornerKind | None = None
    """How that corner is joined; left out: as the shop does."""
    through: Name | None = None
    """The wall whose leg runs through a butt or a short mitre."""
    length: Positive | None = None
    """Length of a short mitre along each edge; a length; only for `kind = "short mitre"`."""
    beyond: NotNegative | None = None
    """How far past the through leg's front a butt lies; a length; only for `kind = "butt"`."""
    wall: Name | None = None
    """On a run: the wall along which a seam is placed by hand."""
    at: Tape | None = None
    """Where that seam is; a length."""
    from_: Annotated[Hand, Field(alias="from")] = "left"
    """Which end of the wall `at` is counted from."""


class Support(Table):
    """[[support]]: something below the top that carries it."""

    top: Name
    """The top that it carries."""
    kind: Literal["bracket", "post", "panel", "steel", "knee wall"]
    """What it is."""
    name: Name | None = None
    """Its name, one of its own."""
    wall: Name | None = None
    """On a run: the wall that it is placed along."""
    center: Centre
    """Where its middle is: on a run a station along the wall or "window W1", elsewhere a point [x, y]."""
    setback: NotNegative | None = None
    """On a run: from the front edge to its front side; a length."""
    size: tuple[Positive, Positive]
    """[along the wall, across]; lengths."""
    from_: Annotated[Hand, Field(alias="from")] = "left"
    """Which end of the wall `center` is counted from."""


Side = Annotated[Line, WithJsonSchema({"anyOf": [{"kind": "line"}, {"type": "integer", "minimum": 1}]})]
"""The name of a side; an outline's edge is a number, with quotes or without."""


class Edge(Table):
    """[[edge]]: another profile on one side, or a side left as the tree grew.

    ``natural``: [station, depth] pairs along the side from its left end: how far the edge lies inside the straight side.
    """

    needs = (Need(("profile", "natural"), "profile, or natural, or both"),)

    top: Name
    """The top whose side it is."""
    side: Side
    """The side: "A front" of a run, "left", "right", "front", "back", or the number of an outline's edge."""
    profile: Profile | None = None
    """Its profile, in place of `[wood] edge`, with a size after it or not."""
    natural: Annotated[tuple[Pair, ...], Field(min_length=2), AfterValidator(rising), AtMost(MOST_STATIONS)] | None = (
        None
    )
    """[station, depth] pairs from its left end: how far the edge, left as the tree grew, lies inside the straight side."""
