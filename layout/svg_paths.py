"""Where an SVG puts things: transforms, lengths, path data and plain shapes, as strokes of points.

Curves are flattened finely enough (paper mm) that two ways to write one arc give the same stroke, which is what a
comparison of drawings wants: ink, not commands. Grammar and arc conversion: SVG 1.1 second edition, 8.3, 7.6, F.6.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from layout.outline import Point

FLAT = 0.002
"""How far a flattened curve may stand off the curve, paper mm."""
MOST_POINTS = 200_000
"""Points that are read from one file."""
MOST_CALLS = 50
"""Steps of one transform attribute."""
_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")
_COMMAND = re.compile(r"[\s,]*([MmLlHhVvCcSsQqTtAaZz])")
_SPACE = re.compile(r"[\s,]*")
_FLAG = re.compile(r"[01]")
_CALL = re.compile(r"[\s,]*(matrix|translate|scale|rotate|skewX|skewY)\s*\(([^()]*)\)")
_UNITS = {"": 1.0, "px": 1.0, "in": 96.0, "mm": 96 / 25.4, "cm": 96 / 2.54, "pt": 96 / 72, "pc": 16.0, "q": 96 / 101.6}
"""CSS: 96 px are an inch."""
MM_A_PX = 25.4 / 96


class PathError(ValueError):
    """A number, transform or path that cannot be read."""


@dataclass(frozen=True, slots=True)
class Matrix:
    """x' = a x + c y + e, y' = b x + d y + f."""

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    def __matmul__(self, o: Matrix) -> Matrix:
        """Return the matrix that applies ``o`` first."""
        return Matrix(
            self.a * o.a + self.c * o.b,
            self.b * o.a + self.d * o.b,
            self.a * o.c + self.c * o.d,
            self.b * o.c + self.d * o.d,
            self.a * o.e + self.c * o.f + self.e,
            self.b * o.e + self.d * o.f + self.f,
        )

    def at(self, x: float, y: float) -> Point:
        """Return where a point goes."""
        return (self.a * x + self.c * y + self.e, self.b * x + self.d * y + self.f)

    @property
    def scale(self) -> float:
        """By how much lengths grow, in the mean."""
        return math.sqrt(abs(self.a * self.d - self.b * self.c))

    @property
    def finite(self) -> bool:
        """Whether all of it is finite and of a size that a sheet has."""
        return all(math.isfinite(v) and abs(v) < 1e9 for v in (self.a, self.b, self.c, self.d, self.e, self.f))


def numbers(text: str, most: int = 1000) -> list[float]:
    """Return the numbers of a list. Raises PathError where something else stands in it or they are too many."""
    out: list[float] = []
    at = _SPACE.match(text).end()  # type: ignore[union-attr]
    while at < len(text):
        found = _NUMBER.match(text, at)
        if not found or len(out) >= most:
            raise PathError(f"{text[:40]!r} is no list of numbers")
        out.append(_finite(found.group()))
        at = _SPACE.match(text, found.end()).end()  # type: ignore[union-attr]
    return out


def _finite(text: str) -> float:
    value = float(text)
    if not abs(value) < 1e9:
        raise PathError(f"{text[:40]} is no number of a sheet")
    return value


def length(text: str | None, whole: float = 0.0, default: float = 0.0) -> float:
    """Return a length in user units (px); a percentage is of ``whole``. Raises PathError for what is no length."""
    if text is None or text.strip() in ("", "auto"):
        return default
    found = re.fullmatch(rf"\s*({_NUMBER.pattern})\s*(%|[a-zA-Z]*)\s*", text[:100])
    if not found:
        raise PathError(f"{text[:40]!r} is no length")
    value, unit = _finite(found.group(1)), found.group(2).lower()
    if unit == "%":
        return value * whole / 100.0
    if unit in ("em", "rem", "ex"):
        return value * 16.0
    if unit not in _UNITS:
        raise PathError(f"{text[:40]!r} has no unit that is known")
    return value * _UNITS[unit]


def transform(text: str) -> Matrix:
    """Return a transform attribute as one matrix. Raises PathError where it cannot be read."""
    out = Matrix()
    at = _SPACE.match(text).end()  # type: ignore[union-attr]
    left = MOST_CALLS
    while at < len(text):
        found = _CALL.match(text, at)
        left -= 1
        if not found or left < 0:
            raise PathError(f"{text[:40]!r} is no transform")
        out = out @ _called(found.group(1), numbers(found.group(2), 6))
        at = _SPACE.match(text, found.end()).end()  # type: ignore[union-attr]
    return out


def _called(name: str, given: list[float]) -> Matrix:  # noqa: PLR0911 (one return for each kind)
    match name, given:
        case "matrix", [a, b, c, d, e, f]:
            return Matrix(a, b, c, d, e, f)
        case "translate", [x]:
            return Matrix(e=x)
        case "translate", [x, y]:
            return Matrix(e=x, f=y)
        case "scale", [x]:
            return Matrix(a=x, d=x)
        case "scale", [x, y]:
            return Matrix(a=x, d=y)
        case "rotate", [angle]:
            c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
            return Matrix(c, s, -s, c)
        case "rotate", [angle, x, y]:
            return Matrix(e=x, f=y) @ _called("rotate", [angle]) @ Matrix(e=-x, f=-y)
        case "skewX", [angle]:
            return Matrix(c=math.tan(math.radians(angle)))
        case "skewY", [angle]:
            return Matrix(b=math.tan(math.radians(angle)))
        case _:
            raise PathError(f"{name} has {len(given)} numbers")


def viewport(attributes: Mapping[str, str]) -> tuple[Matrix, tuple[float, float]]:
    """Return how a root's user units become mm on the page, and the page's size (mm). Raises PathError."""
    box = numbers(attributes.get("viewBox", ""), 4)
    if box and (len(box) != 4 or box[2] <= 0 or box[3] <= 0):
        raise PathError("its viewBox is none")
    width = length(attributes.get("width"), box[2] if box else 0.0, box[2] if box else 0.0)
    height = length(attributes.get("height"), box[3] if box else 0.0, box[3] if box else 0.0)
    if width <= 0 or height <= 0:
        raise PathError("it has no size")
    page = (width * MM_A_PX, height * MM_A_PX)
    if not box:
        return Matrix(a=MM_A_PX, d=MM_A_PX), page
    kx, ky = page[0] / box[2], page[1] / box[3]
    how = attributes.get("preserveAspectRatio", "xMidYMid meet").split()
    if how[:1] != ["none"]:
        kx = ky = max(kx, ky) if "slice" in how else min(kx, ky)
    across = {"xMin": 0.0, "xMid": 0.5, "xMax": 1.0}.get(how[0][:4] if how else "", 0.5)
    down = {"YMin": 0.0, "YMid": 0.5, "YMax": 1.0}.get(how[0][4:] if how else "", 0.5)
    e = (page[0] - kx * box[2]) * across - kx * box[0]
    f = (page[1] - ky * box[3]) * down - ky * box[1]
    return Matrix(a=kx, d=ky, e=e, f=f), page


# --- strokes ---------------------------------------------------------------------------------------------------------

Stroke = tuple[list[Point], bool]
"""A line through points in mm, and whether it is closed."""


class Plotter:
    """Reads shapes into strokes in mm, and counts points over the whole of a file."""

    def __init__(self) -> None:
        """Begin with nothing plotted."""
        self.points = 0

    def shape(self, tag: str, attributes: Mapping[str, str], m: Matrix, page: tuple[float, float]) -> list[Stroke]:
        """Return the strokes of a path or plain shape. Raises PathError where it cannot be read."""
        x = {k: length(attributes.get(k), page[0]) for k in ("x", "cx", "x1", "x2", "width") if k in attributes}
        y = {k: length(attributes.get(k), page[1]) for k in ("y", "cy", "y1", "y2", "height") if k in attributes}
        match tag:
            case "path":
                return self.path(attributes.get("d", ""), m)
            case "line":
                data = f"M{x.get('x1', 0.0)} {y.get('y1', 0.0)}L{x.get('x2', 0.0)} {y.get('y2', 0.0)}"
            case "polyline" | "polygon":
                listed = numbers(attributes.get("points", ""), MOST_POINTS)
                data = "M" + " ".join(map(repr, listed[: len(listed) // 2 * 2])) if len(listed) > 1 else ""
                data += "Z" if data and tag == "polygon" else ""
            case "circle" | "ellipse":
                r = length(attributes.get("r"), page[0])
                rx, ry = (r, r) if tag == "circle" else (length(attributes.get(k), page[0]) for k in ("rx", "ry"))
                cx, cy = x.get("cx", 0.0), y.get("cy", 0.0)
                half = f"A{rx!r} {ry!r} 0 0 1"
                data = f"M{cx - rx!r} {cy!r}{half} {cx + rx!r} {cy!r}{half} {cx - rx!r} {cy!r}Z" if rx > 0 < ry else ""
            case "rect" | "image":
                data = _rectangle(attributes, x, y)
            case _:
                data = ""
        return self.path(data, m)

    def path(self, data: str, m: Matrix) -> list[Stroke]:
        """Return path data as strokes. Raises PathError where it cannot be read; nothing of it is drawn then."""
        strokes: list[Stroke] = []
        here = start = control = (0.0, 0.0)
        last = ""
        points: list[Point] = []

        def done(closed: bool) -> None:
            if len(points) > 1 or closed:
                strokes.append((points.copy(), closed))
            points.clear()

        for letter, given in _steps(data):
            self.points += 1
            if self.points > MOST_POINTS:
                raise PathError("it has more points than any sheet")
            upper = letter.upper()
            if upper == "Z":
                done(closed=True)
                here = control = start
                last = "Z"
                continue
            values = given if letter == upper else _absolute(upper, given, here)
            if upper == "M":
                done(closed=False)
                here = start = control = (values[0], values[1])
                points.append(m.at(*here))
                last = "M"
                continue
            if not points:
                points.append(m.at(*here))
            end = _end(upper, values, here)
            if upper == "L" or upper in "HV":
                points.append(m.at(*end))
                control = end
            elif upper == "A":
                self._arc(points, here, values, end, m)
                control = end
            else:
                ctrl, control = _controls(upper, values, here, control, last)
                self._cubic(points, [m.at(*p) for p in (here, *ctrl, end)])
            here, last = end, upper
        done(closed=False)
        return strokes

    def _take(self, count: int) -> None:
        self.points += count
        if self.points > MOST_POINTS:
            raise PathError("it has more points than any sheet")

    def _cubic(self, points: list[Point], p: list[Point]) -> None:
        """Flatten a cubic in mm: the bound on its second differences says into how many parts."""
        bend = max(
            math.hypot(p[k][0] - 2 * p[k + 1][0] + p[k + 2][0], p[k][1] - 2 * p[k + 1][1] + p[k + 2][1]) for k in (0, 1)
        )
        parts = max(1, min(400, math.ceil(math.sqrt(0.75 * bend / FLAT))))
        self._take(parts)
        for n in range(1, parts + 1):
            t = n / parts
            u = 1 - t
            w = (u * u * u, 3 * u * u * t, 3 * u * t * t, t * t * t)
            points.append(
                (sum(k * q[0] for k, q in zip(w, p, strict=True)), sum(k * q[1] for k, q in zip(w, p, strict=True)))
            )

    def _arc(self, points: list[Point], a: Point, given: list[float], b: Point, m: Matrix) -> None:
        rx, ry, turn, large, way = abs(given[0]), abs(given[1]), math.radians(given[2]), given[3] != 0, given[4] != 0
        if a == b:
            return
        if rx == 0 or ry == 0:
            points.append(m.at(*b))
            return
        c, s = math.cos(turn), math.sin(turn)
        dx, dy = (a[0] - b[0]) / 2, (a[1] - b[1]) / 2
        x, y = c * dx + s * dy, -s * dx + c * dy
        over = (x / rx) ** 2 + (y / ry) ** 2
        if over > 1:
            rx, ry = rx * math.sqrt(over), ry * math.sqrt(over)
        root = math.sqrt(max(0.0, 1 / ((x / rx) ** 2 + (y / ry) ** 2) - 1)) * (-1 if large == way else 1)
        cx, cy = root * rx * y / ry, -root * ry * x / rx
        first = math.atan2((y - cy) / ry, (x - cx) / rx)
        sweep = math.atan2((-y - cy) / ry, (-x - cx) / rx) - first
        sweep += 2 * math.pi if way and sweep < 0 else -2 * math.pi if not way and sweep > 0 else 0.0
        size = max(rx, ry) * max(m.scale, 1e-9)
        step = 2 * math.acos(max(-1.0, 1 - FLAT / size)) if size > FLAT else math.pi
        parts = max(2, min(2000, math.ceil(abs(sweep) / max(step, 1e-6))))
        self._take(parts)
        mx, my = (a[0] + b[0]) / 2, (a[1] + b[1]) / 2
        for n in range(1, parts):
            angle = first + sweep * n / parts
            px, py = cx + rx * math.cos(angle), cy + ry * math.sin(angle)
            points.append(m.at(c * px - s * py + mx, s * px + c * py + my))
        points.append(m.at(*b))


def _rectangle(attributes: Mapping[str, str], x: Mapping[str, float], y: Mapping[str, float]) -> str:
    left, top, wide, high = x.get("x", 0.0), y.get("y", 0.0), x.get("width", 0.0), y.get("height", 0.0)
    if wide <= 0 or high <= 0:
        return ""
    given = [length(attributes.get(k), wide, -1.0) for k in ("rx", "ry")]
    rx, ry = (given[0] if given[0] >= 0 else given[1]), (given[1] if given[1] >= 0 else given[0])
    rx, ry = min(max(rx, 0.0), wide / 2), min(max(ry, 0.0), high / 2)
    if rx <= 0 or ry <= 0:
        return f"M{left!r} {top!r}H{left + wide!r}V{top + high!r}H{left!r}Z"
    arc = f"A{rx!r} {ry!r} 0 0 1"
    return (
        f"M{left + rx!r} {top!r}H{left + wide - rx!r}{arc} {left + wide!r} {top + ry!r}V{top + high - ry!r}"
        f"{arc} {left + wide - rx!r} {top + high!r}H{left + rx!r}{arc} {left!r} {top + high - ry!r}V{top + ry!r}"
        f"{arc} {left + rx!r} {top!r}Z"
    )


_COUNTS = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}


def _steps(data: str) -> Iterator[tuple[str, list[float]]]:
    """Yield each command with its numbers, repeats that are implied spelt out."""
    at = 0
    letter = ""
    size = len(data)
    while True:
        at = _SPACE.match(data, at).end()  # type: ignore[union-attr]
        if at >= size:
            return
        found = _COMMAND.match(data, at)
        if found:
            letter, at = found.group(1), found.end()
            if letter in "Zz":
                yield letter, []
                letter = ""
                continue
        elif not letter:
            raise PathError(f"path data cannot be read at {data[at : at + 20]!r}")
        given: list[float] = []
        for k in range(_COUNTS[letter.upper()]):
            at = _SPACE.match(data, at).end()  # type: ignore[union-attr]
            # the flags of an arc may stand without anything between
            flag = letter in "Aa" and k in (3, 4)
            number = (_FLAG if flag else _NUMBER).match(data, at)
            if not number:
                raise PathError(f"path data cannot be read at {data[at : at + 20]!r}")
            given.append(_finite(number.group()))
            at = number.end()
        yield letter, given
        letter = {"M": "L", "m": "l"}.get(letter, letter)


def _absolute(upper: str, given: list[float], here: Point) -> list[float]:
    if upper == "H":
        return [given[0] + here[0]]
    if upper == "V":
        return [given[0] + here[1]]
    if upper == "A":
        return [*given[:5], given[5] + here[0], given[6] + here[1]]
    return [v + here[k % 2] for k, v in enumerate(given)]


def _end(upper: str, values: list[float], here: Point) -> Point:
    if upper == "H":
        return (values[0], here[1])
    if upper == "V":
        return (here[0], values[0])
    return (values[-2], values[-1])


def _controls(upper: str, v: list[float], here: Point, control: Point, last: str) -> tuple[list[Point], Point]:
    """Return a curve's two control points as a cubic's, and the one that a smooth curve after it mirrors."""
    mirrored = (2 * here[0] - control[0], 2 * here[1] - control[1])
    end = (v[-2], v[-1])
    if upper == "C":
        return [(v[0], v[1]), (v[2], v[3])], (v[2], v[3])
    if upper == "S":
        return [mirrored if last in ("C", "S") else here, (v[0], v[1])], (v[0], v[1])
    q = (v[0], v[1]) if upper == "Q" else mirrored if last in ("Q", "T") else here
    cubic = [(p[0] + 2 / 3 * (q[0] - p[0]), p[1] + 2 / 3 * (q[1] - p[1])) for p in (here, end)]
    return cubic, q
