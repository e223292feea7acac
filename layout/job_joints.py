"""What a job file says of joints, supports and edges: what is settled by hand."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import Annotated, Literal

from pydantic import AfterValidator, Field

from layout.job_cutouts import Centre
from layout.job_shop import CornerKind
from layout.job_values import Hand, Line, MisfitError, Name, NotNegative, Pair, Positive, Table, Tape, rising


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

    top: Name
    corner: Line | None = None
    kind: CornerKind | None = None
    through: Name | None = None
    length: Positive | None = None
    beyond: NotNegative | None = None
    wall: Name | None = None
    at: Tape | None = None
    from_: Annotated[Hand, Field(alias="from")] = "left"


class Support(Table):
    """[[support]]: something below the top that carries it."""

    top: Name
    kind: Literal["bracket", "post", "panel", "steel", "knee wall"]
    name: Name | None = None
    wall: Name | None = None
    center: Centre
    setback: NotNegative | None = None
    size: tuple[Positive, Positive]
    from_: Annotated[Hand, Field(alias="from")] = "left"


class Edge(Table):
    """[[edge]]: another profile on one side, or a side left as the tree grew.

    ``natural``: [station, depth] pairs along the side from its left end: how far the edge lies inside the straight side.
    """

    top: Name
    side: Line
    profile: Line | None = None
    natural: Annotated[tuple[Pair, ...], Field(min_length=2), AfterValidator(rising)] | None = None

    @classmethod
    def misfits(cls, keys: Collection[str]) -> Iterator[MisfitError]:
        """Yield what is wrong with the keys that an edge has: it says at least one thing."""
        yield from super().misfits(keys)
        if "profile" not in keys and "natural" not in keys:
            yield MisfitError("profile, or natural, or both", "profile", "natural")
