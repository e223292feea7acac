"""The job file's shape: what a drafter may type, as frozen models.

Lengths are read with the job's unit, which the reader passes as validation context. Cross-references (a cutout's wall,
a joint's corner) and defaults are the reader's affair (`reading.py`); past it every name resolves and every default is
set.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Collection, Iterator
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from typing import Annotated, Any, ClassVar, Literal, Self, get_args

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Discriminator,
    Field,
    Tag,
    ValidationInfo,
    model_validator,
)

from layout.rules import LOAD_CREEP, LOAD_DEFLECTION, LOAD_LIFT, LOAD_POINT, MOST_IN_A_NAME, MOST_LETTERS
from layout.units import Length, LengthError, Unit, parse_length

TURNS = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
"""Unicode's marks of direction (UAX 9): unseen, they turn round the letters and figures beside them on sheet and terminal."""
NAME = r"[A-Za-z0-9_-]+"
ZERO = Length(Fraction(0))


class MisfitError(ValueError):
    """Keys of one table that do not go together; the message is what is expected, ``keys`` are those concerned."""

    def __init__(self, expected: str, *keys: str) -> None:
        """Take what is expected, and the keys concerned."""
        super().__init__(expected)
        self.keys = keys


# A LengthError says what is wrong with "it"; every other ValueError raised here says what is expected instead.


def _length(value: Any, info: ValidationInfo) -> Any:
    if isinstance(value, Length):
        return value
    return parse_length(value, (info.context or {}).get("units", "in"))


def _positive(value: Length) -> Length:
    if value.mm <= 0:
        raise LengthError("it is not more than zero")
    return value


def _not_negative(value: Length) -> Length:
    if value.mm < 0:
        raise LengthError("it is negative")
    return value


def _number_between(low: int, high: int, what: str) -> BeforeValidator:
    def read(value: Any) -> Any:
        number = isinstance(value, int | float | Decimal) and not isinstance(value, bool)
        # comparing an exact number never overflows, as turning it into a float can
        if not number or value != value or not low <= value <= high:  # noqa: PLR0124
            raise ValueError(what)
        return float(value)

    return BeforeValidator(read)


def _whole(value: Any) -> Any:
    if not isinstance(value, int) or isinstance(value, bool):
        raise ValueError("a whole number")  # noqa: TRY004 (pydantic collects ValueErrors)
    return value


def _counted(value: Any) -> Any:
    if not isinstance(value, int) or isinstance(value, bool) or not 0 < value < 10**6:
        raise ValueError("the number of a mark, a whole one from 1")
    return value


def _name(value: str) -> str:
    if not re.fullmatch(NAME, value) or len(value) > MOST_IN_A_NAME:
        raise ValueError(f"a name of letters, digits, - and _, {MOST_IN_A_NAME} at most")
    return value


def _number(value: str) -> str:
    if not re.fullmatch(r"[A-Za-z0-9_-][A-Za-z0-9._-]*", value) or len(value) > 40:
        raise ValueError("a job number of letters, digits, -, _ and . (not first), 40 at most")
    return value


def _line(value: str) -> str:
    if any(ord(c) < 32 or 0x7F <= ord(c) < 0xA0 or c in "\u2028\u2029\ufffe\uffff" for c in value):
        raise ValueError("one line of text without control characters")
    if any(c in TURNS for c in value):
        raise ValueError("text without marks that turn the direction of what follows")
    if len(value) > MOST_LETTERS:
        raise ValueError(f"one line of at most {MOST_LETTERS:,} letters")
    return value.strip()


def _beside(value: str) -> str:
    steps = value.replace("\\", "/").split("/")
    if not value or ".." in steps or "" in steps or ":" in value:
        raise ValueError('the name of a file beside the job file, such as "sink.dxf"')
    return "/".join(steps)


Tape = Annotated[Length, BeforeValidator(_length)]
"""A length, either sign."""
Positive = Annotated[Length, BeforeValidator(_length), AfterValidator(_positive)]
NotNegative = Annotated[Length, BeforeValidator(_length), AfterValidator(_not_negative)]
Degrees = Annotated[float, _number_between(-360, 360, "an angle in degrees, a full turn at most")]
Name = Annotated[str, AfterValidator(_name)]
Line = Annotated[str, AfterValidator(_line)]
Filled = Annotated[str, AfterValidator(_line), Field(min_length=1)]
FileBeside = Annotated[str, AfterValidator(_line), AfterValidator(_beside)]
"""A file in the job file's folder or below it."""
Pair = tuple[Tape, Tape]


class Table(BaseModel):
    """A table of the job file: frozen, no unknown keys, no silent conversions."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, arbitrary_types_allowed=True)

    one_of: ClassVar[tuple[str, ...]] = ()
    """Keys of which a table has exactly one."""
    apart: ClassVar[tuple[tuple[str, str], ...]] = ()
    """Keys of which the second is never given beside the first."""

    @model_validator(mode="before")
    @classmethod
    def _arrays_are_tuples(cls, data: Any) -> Any:
        """TOML arrays arrive as lists; a strict tuple field takes tuples only."""
        return {k: _tupled(v) for k, v in data.items()} if isinstance(data, dict) else data

    @classmethod
    def misfits(cls, keys: Collection[str]) -> Iterator[MisfitError]:
        """Yield what is wrong with the keys that a table has, whatever their values."""
        given = [key for key in cls.one_of if key in keys]
        if cls.one_of and len(given) != 1:
            *others, last = cls.one_of
            yield MisfitError(f"{', '.join(others)} or {last}, one of them", *cls.one_of)
        for key, other in cls.apart:
            if key in keys and other in keys:
                yield MisfitError(f"no {other} beside {key}", other)

    @model_validator(mode="after")
    def _keys_go_together(self) -> Self:
        for misfit in self.misfits([key for key in self.model_fields_set if getattr(self, key) is not None]):
            raise misfit
        return self


def _tupled(value: Any) -> Any:
    return tuple(_tupled(v) for v in value) if isinstance(value, list) else value


class JobHead(Table):
    """[job]."""

    title: Filled
    number: Annotated[str, AfterValidator(_number)]
    units: Unit
    maker: Line = ""
    dealer: Line = ""
    customer: Line = ""
    site: Line = ""
    drawn_by: Line = ""
    date: datetime.date | None = None
    return_by: datetime.date | None = None
    contact: Line = ""
    revision: Line = "A"
    notes: tuple[Line, ...] = ()


class FieldFacts(Table):
    """[field]: how the measures were got."""

    by: Line = ""
    date: datetime.date | None = None
    walls: Literal["finished", "bare studs", "tile to come"] | None = None
    cabinets: Literal["set", "not set"] | None = None


Construction = Literal["face grain", "edge grain", "end grain"]


class Wood(Table):
    """[wood]: what the tops are made of. ``species`` is the table's id once read."""

    species: Line
    construction: Construction = "edge grain"
    thickness: Positive
    finish: Literal["oil varnish", "mineral oil", "none"] = "oil varnish"
    edge: Line = "eased"
    boards: Literal["full length", "finger-jointed"] = "full length"
    sapwood: Literal["in", "out"] = "in"


class Web(Table):
    """Least wood left round a cutout, by what lies on the other side."""

    front: NotNegative
    back: NotNegative
    end: NotNegative
    between: NotNegative
    joint: NotNegative
    hole: NotNegative


CornerKind = Literal["mitre", "butt", "short mitre"]


class FastenerShape(Table):
    """[shop] fastener: where joint fasteners go and what is pocketed below for each, on either side of the joint.

    ``pocket``: the radius of a round pocket whose middle lies ``reach`` from the joint; ``channel``: the width of the way
    from it to the joint; ``depth``: of both; left out: to a quarter inch (6 mm) past the middle of the thickness.
    """

    pitch: Positive
    end: Positive
    reach: Positive
    pocket: Positive
    channel: Positive
    depth: Positive | None = None


class Shop(Table):
    """[shop]: the shop's limits; the reader fills in the defaults of `rules.py`."""

    max_length: Positive
    max_width: Positive
    min_piece: NotNegative
    seam_clear: NotNegative
    opening_clear: NotNegative
    web: Web
    overhang_limit: Positive
    support_span: NotNegative
    wall_gap: NotNegative
    corner_joint: CornerKind = "mitre"
    tool_diameter: Positive
    fastener: FastenerShape
    end_trim: NotNegative
    edge_trim: NotNegative
    kerf: NotNegative
    board_width: Positive
    strip: Positive | None = None
    stock: Annotated[tuple[Positive, ...], Field(min_length=1)]
    blanks: Literal["stepped", "square"] = "stepped"
    seams: Literal["boards", "way in"] = "boards"
    grade: Literal["premium", "custom", "economy"] = "custom"


SheetSize = Literal["A0", "A1", "A2", "A3", "A4", "ANSI A", "ANSI B", "ANSI C", "ANSI D", "ANSI E"]


class SheetChoice(Table):
    """[sheet]."""

    size: SheetSize
    denominator: Annotated[Literal[1, 2, 4, 8, 16, 32, 64], BeforeValidator(_whole)] = 16
    feet: bool = False


CutLayer = Literal["CUT_OUTLINE", "CUT_INSIDE", "DRILL", "POCKET_ABOVE", "POCKET_BELOW", "REFERENCE", "NOTE"]

CutVersion = Literal["R2000", "R12"]
CutContours = Literal["polylines", "heavy polylines", "lines and arcs"]
"""What contours are drawn of; heavy ones keep each corner as an entity, and R12 has no others."""


def _layer(value: str) -> str:
    if not re.fullmatch(r"[A-Za-z0-9_-]{1,31}", value):
        raise ValueError("a layer name of letters, digits, - and _, 31 at most")
    return value


def _one_name_each(layers: dict[CutLayer, str]) -> dict[CutLayer, str]:
    names = [layers.get(k, k).upper() for k in get_args(CutLayer)]
    if len(set(names)) < len(names):
        raise ValueError("a layer name of its own for each operation")
    return layers


class Cut(Table):
    """[cut]: how the cut files are written."""

    version: CutVersion = "R2000"
    contours: CutContours = "polylines"
    relief: Literal["round", "none"] = "round"
    pilots: bool = False
    layers: Annotated[dict[CutLayer, Annotated[str, AfterValidator(_layer)]], AfterValidator(_one_name_each)] = {}


def _temperature(value: Any) -> Any:
    match = re.fullmatch(r"\s*(-?\d+(?:[.,]\d+)?)\s*°?\s*([FC])\s*", value) if isinstance(value, str) else None
    if not match:
        raise ValueError('a temperature with its scale, such as "70 F" or "21 C"')
    return value.strip()


Percent = Annotated[float, _number_between(1, 99, "a relative humidity from 1 to 99 %")]


def _low_first(pair: tuple[float, float]) -> tuple[float, float]:
    if pair[0] > pair[1]:
        raise ValueError("[low, high]")
    return pair


class Site(Table):
    """[site]: the house the top goes into."""

    humidity: Annotated[tuple[Percent, Percent], AfterValidator(_low_first)] | None = None
    temperature: Annotated[str, BeforeValidator(_temperature)] | None = None
    door: tuple[Positive, Positive] | None = None
    hall: tuple[Positive, Positive] | None = None
    ceiling: Positive | None = None
    lift: tuple[Positive, Positive, Positive] | None = None


def pounds(value: Any) -> Any:
    """A load as typed, in pounds: ``"100 lb"`` or ``"45 kg"``."""
    match = re.fullmatch(r"\s*(\d+(?:[.,]\d+)?)\s*(lb|kg)\s*", value) if isinstance(value, str) else None
    number = float(match[1].replace(",", ".")) if match else 0.0
    if not match or not 0.0 < number < 1e5:
        raise ValueError('a load with its unit, such as "100 lb" or "45 kg"')
    return number if match[2] == "lb" else number / 0.45359237


Pounds = Annotated[float, BeforeValidator(pounds)]


class Load(Table):
    """[load]: what overhangs are tried with, and what a person carries; pounds once read."""

    point: Pounds = LOAD_POINT
    strip: Positive
    deflection: Annotated[float, _number_between(50, 2000, "a number between 50 and 2000")] = LOAD_DEFLECTION
    creep: Annotated[float, _number_between(1, 4, "a number between 1 and 4")] = LOAD_CREEP
    lift: Pounds = LOAD_LIFT


Figure = Annotated[float, _number_between(0, 10**7, "a figure above zero")]


class OwnSpecies(Table):
    """[[species]]: a wood of the job's own, or figures in place of the table's.

    Density in kg/m3 at 12 %; moduli and strength in MPa; shrinkage in % [radial, tangential, volumetric]; movement a
    share for each 1 % of moisture [radial, tangential]; stiffness across as a share of that along [E_T, E_R].
    """

    name: Filled
    like: Line | None = None
    density: Figure | None = None
    moe: Figure | None = None
    tension_across: Figure | None = None
    shrinkage: tuple[Figure, Figure] | tuple[Figure, Figure, Figure] | None = None
    movement: tuple[Figure, Figure] | None = None
    stiffness_across: tuple[Figure, Figure] | None = None
    source: Filled


class SquareReading(Table):
    """A corner read with a framing square: off square by ``open`` at ``in`` along its blade; negative: closed."""

    open: Tape
    in_: Annotated[Positive, Field(alias="in")]


def _corner_form(value: Any) -> str:
    if isinstance(value, list | tuple):
        return "tapes"
    if isinstance(value, dict | SquareReading):
        return "square"
    return "degrees"


def _triangle(tapes: tuple[Length, Length, Length]) -> tuple[Length, Length, Length]:
    a, b, c = (tape.mm for tape in tapes)
    if not abs(a - b) < c < a + b:
        raise ValueError("a diagonal between the difference and the sum of the other two")
    return tapes


def _rising(bow: tuple[tuple[Length, Length], ...]) -> tuple[tuple[Length, Length], ...]:
    if any(before[0].mm >= after[0].mm for before, after in pairwise(bow)):
        raise ValueError("[station, depth] pairs whose stations rise along the wall")
    return bow


class Change(Table):
    """[[revision]]: one revision of the drawing, for the block that lists them; ``at``: where in plan its triangles stand."""

    letter: Filled
    date: datetime.date | None = None
    note: Filled
    by: Line = ""
    at: tuple[Pair, ...] = ()


class Wall(Table):
    """[[wall]], listed left to right as one faces it from the room."""

    name: Name
    length: Positive
    corner: Annotated[
        Annotated[float, _number_between(10, 350, "an inside angle between 10 and 350 degrees"), Tag("degrees")]
        | Annotated[tuple[Positive, Positive, Positive], AfterValidator(_triangle), Tag("tapes")]
        | Annotated[SquareReading, Tag("square")],
        Discriminator(_corner_form),
    ] = 90.0
    bow: Annotated[tuple[Pair, ...], AfterValidator(_rising)] = ()
    open: bool = False

    @model_validator(mode="after")
    def _bow_on_wall(self) -> Wall:
        if any(not 0 <= station.mm <= self.length.mm for station, _ in self.bow):
            raise MisfitError("stations on the wall", "bow", "length")
        return self


Hand = Literal["left", "right"]


class Window(Table):
    """[[window]]."""

    name: Name
    wall: Name
    at: Tape
    width: Positive
    sill: NotNegative | None = None
    from_: Annotated[Hand, Field(alias="from")] = "left"


class Measure(Table):
    """[[measure]]: a check measure between two points on walls."""

    from_: Annotated[Line, Field(alias="from")]
    to: Line
    length: Positive


class Cabinet(Table):
    """[[cabinet]]: one box of a string; a wall with one is carried by the listed ones only."""

    wall: Name
    at: NotNegative
    width: Positive
    depth: Positive
    from_: Annotated[Hand, Field(alias="from")] = "left"


class CornerCut(Table):
    """How a corner is taken off: by a radius or a clip (one leg, or [along the front or back edge, along the end])."""

    one_of = ("radius", "clip")

    radius: Positive | None = None
    clip: (
        Annotated[
            Annotated[Positive, Tag("one")] | Annotated[tuple[Positive, Positive], Tag("two")],
            Discriminator(lambda v: "two" if isinstance(v, list | tuple) else "one"),
        ]
        | None
    ) = None


class InsideCut(Table):
    """The front's inside corner of a run: a diagonal, so far back along each leg, or a radius."""

    one_of = ("diagonal", "radius")

    diagonal: Positive | None = None
    radius: Positive | None = None


BoxCorner = Literal["front left", "front right", "back left", "back right"]
EndKind = Literal["wall", "exposed", "appliance", "panel"]
ByWall = Annotated[
    Annotated[Positive, Tag("one")] | Annotated[dict[str, Positive], Tag("by wall")],
    Discriminator(lambda v: "by wall" if isinstance(v, dict) else "one"),
]
BySide = Annotated[
    Annotated[NotNegative, Tag("one")] | Annotated[dict[str, NotNegative], Tag("by side")],
    Discriminator(lambda v: "by side" if isinstance(v, dict) else "one"),
]


class AnyTop(Table):
    """What the three shapes of a top share."""

    name: Name
    height: Positive | None = None
    below: Literal["cabinets", "frame", "solid deck"] = "cabinets"
    seats: Annotated[int, Field(ge=0, le=100)] = 0


class RunTop(AnyTop):
    """[[top]] along walls. ``start`` is a station on the first wall, ``end`` on the last; None: its length."""

    along: Annotated[tuple[Name, ...], Field(min_length=1)]
    depth: ByWall
    depth_from: Literal["wall", "top back"] = "wall"
    start: Tape = ZERO
    end: Positive | None = None
    left_end: EndKind | None = None
    right_end: EndKind | None = None
    cabinet_depth: Positive
    back_overhang: NotNegative = ZERO
    left_overhang: NotNegative = ZERO
    right_overhang: NotNegative = ZERO
    back: Literal["straight", "scribe", "follow"] = "straight"
    scribe: NotNegative | None = None
    splash: BySide = ZERO
    splash_thickness: Positive
    corners: dict[BoxCorner, CornerCut] = {}
    inside: dict[str, InsideCut] = {}


class Notch(Table):
    """[[notch]]: a chase, pilaster or post in the back of a run; ``gap`` left out: the shop's wall_gap."""

    top: Name
    wall: Name
    at: Tape
    width: Positive
    depth: Positive
    gap: NotNegative | None = None
    from_: Annotated[Hand, Field(alias="from")] = "left"


class Overhangs(Table):
    """How far a rectangle stands beyond its cabinets, by side."""

    front: NotNegative = ZERO
    back: NotNegative = ZERO
    left: NotNegative = ZERO
    right: NotNegative = ZERO


class RectTop(AnyTop):
    """[[top]], a rectangle: ``size`` finished, along the grain and across, or ``base`` with overhangs that make it."""

    one_of = ("size", "base")

    size: tuple[Positive, Positive] | None = None
    base: tuple[Positive, Positive] | None = None
    overhang: Overhangs = Overhangs()
    corners: dict[BoxCorner, CornerCut] = {}
    at: Pair | None = None
    turn: Degrees = 0.0


class OutlineTop(AnyTop):
    """[[top]], any outline, counter-clockwise; edges and points are numbered from 1."""

    outline: Annotated[tuple[Pair, ...], Field(min_length=3)]
    rise: dict[str, Tape] = {}
    corners: dict[str, CornerCut] = {}
    grain: Degrees = 0.0
    support: Annotated[tuple[Pair, ...], Field(min_length=3)] | None = None
    at: Pair | None = None
    turn: Degrees = 0.0


def top_shape(value: Any) -> str | None:
    """Return which shape of a top was meant: ``run``, ``rectangle`` or ``outline``; None where nothing tells."""
    keys = set(value) if isinstance(value, dict) else set(getattr(type(value), "model_fields", ()))
    if "outline" in keys:
        return "outline"
    if "along" in keys:
        return "run"
    if keys & {"size", "base"}:
        return "rectangle"
    return None


Top = Annotated[
    Annotated[RunTop, Tag("run")] | Annotated[RectTop, Tag("rectangle")] | Annotated[OutlineTop, Tag("outline")],
    Discriminator(top_shape),
]


class Appliance(Table):
    """[[appliance]]: what breaks a run, or an opening below it. ``breaks`` is set by the reader where left out.

    ``strip``: the depth of wood that goes on behind a slide-in range, wall_gap off the wall.
    """

    kind: Filled
    top: Name
    wall: Name
    at: Tape
    width: Positive
    breaks: bool
    fit: Literal["slide-in", "freestanding", "drop-in"] | None = None
    top_height: tuple[Positive, Positive] | None = None
    strip: Positive | None = None
    model: Line = ""
    from_: Annotated[Hand, Field(alias="from")] = "left"


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
    natural: Annotated[tuple[Pair, ...], Field(min_length=2), AfterValidator(_rising)] | None = None

    @classmethod
    def misfits(cls, keys: Collection[str]) -> Iterator[MisfitError]:
        """Yield what is wrong with the keys that an edge has: it says at least one thing."""
        yield from super().misfits(keys)
        if "profile" not in keys and "natural" not in keys:
            yield MisfitError("profile, or natural, or both", "profile", "natural")


class Answer(Table):
    """[[answer]]: what was done about a mark of the drawing that came back; marks are numbered from 1."""

    mark: Annotated[int, BeforeValidator(_counted)]
    answer: Filled
    by: Line = ""


class Room(Table):
    """[room]."""

    closed: bool = False


class Job(Table):
    """A whole job file, checked, with its defaults in place."""

    job: JobHead
    field: FieldFacts = FieldFacts()
    wood: Wood
    shop: Shop
    sheet: SheetChoice
    cut: Cut = Cut()
    site: Site = Site()
    load: Load
    species: tuple[OwnSpecies, ...] = ()
    revision: tuple[Change, ...] = ()
    room: Room = Room()
    wall: tuple[Wall, ...] = ()
    window: tuple[Window, ...] = ()
    measure: tuple[Measure, ...] = ()
    cabinet: tuple[Cabinet, ...] = ()
    top: Annotated[tuple[Top, ...], Field(min_length=1)]
    appliance: tuple[Appliance, ...] = ()
    cutout: tuple[Cutout, ...] = ()
    notch: tuple[Notch, ...] = ()
    joint: tuple[JointChoice, ...] = ()
    support: tuple[Support, ...] = ()
    edge: tuple[Edge, ...] = ()
    groove: tuple[Groove, ...] = ()
    slot: tuple[Slot, ...] = ()
    recess: tuple[Recess, ...] = ()
    answer: tuple[Answer, ...] = ()
