"""A reader of DXF of the tests' own: tags, sections, entities, header. It shares nothing with what writes the files."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

Tag = tuple[int, str]
Point = tuple[float, float]


@dataclass
class Entity:
    kind: str
    tags: list[Tag] = field(default_factory=list)

    def all(self, code: int) -> list[str]:
        return [value for c, value in self.tags if c == code]

    def text(self, code: int, default: str = "") -> str:
        return next(iter(self.all(code)), default)

    def number(self, code: int, default: float = 0.0) -> float:
        return float(self.text(code, str(default)))

    def point(self, code: int = 10) -> Point:
        return (self.number(code), self.number(code + 10))

    @property
    def layer(self) -> str:
        return self.text(8)

    @property
    def on_paper(self) -> bool:
        return self.text(67, "0").strip() == "1"

    @property
    def closed(self) -> bool:
        return bool(int(self.text(70, "0")) & 1)

    def vertices(self) -> list[tuple[float, float, float]]:
        """The vertices of an LWPOLYLINE: a bulge belongs to the vertex it follows."""
        out: list[list[float]] = []
        for code, value in self.tags:
            if code == 10:
                out.append([float(value), 0.0, 0.0])
            elif code == 20:
                out[-1][1] = float(value)
            elif code == 42:
                out[-1][2] = float(value)
        return [(x, y, b) for x, y, b in out]

    def ends(self) -> tuple[Point, Point]:
        """The ends of a LINE, or of an ARC as it runs counter-clockwise."""
        if self.kind == "LINE":
            return self.point(10), self.point(11)
        (cx, cy), r = self.point(10), self.number(40)
        first, last = math.radians(self.number(50)), math.radians(self.number(51))
        return (cx + r * math.cos(first), cy + r * math.sin(first)), (cx + r * math.cos(last), cy + r * math.sin(last))


@dataclass
class Dxf:
    tags: list[Tag]
    header: dict[str, list[Tag]]
    tables: list[Entity]
    blocks: dict[str, list[Entity]]
    entities: list[Entity]
    objects: list[Entity]

    def var(self, name: str) -> str:
        return self.header[name][0][1]

    def table(self, kind: str) -> list[Entity]:
        return [e for e in self.tables if e.kind == kind]

    def of(self, kind: str, layer: str | None = None) -> list[Entity]:
        return [e for e in self.entities if e.kind == kind and layer in (None, e.layer)]


def read(data: bytes) -> Dxf:
    lines = data.decode("utf-8").split("\n")
    assert lines.pop() == "", "the last line ends"
    assert len(lines) % 2 == 0, "codes and values come in pairs"
    tags = [(int(lines[k]), lines[k + 1]) for k in range(0, len(lines), 2)]
    assert tags[-1] == (0, "EOF")
    sections: dict[str, list[Tag]] = {}
    current: list[Tag] | None = None
    for k, (code, value) in enumerate(tags):
        if (code, value) == (0, "SECTION"):
            current = sections.setdefault(tags[k + 1][1], [])
        elif (code, value) == (0, "ENDSEC"):
            current = None
        elif current is not None:
            current.append((code, value))
    return Dxf(
        tags,
        _header(sections["HEADER"][1:]),
        _entities(sections["TABLES"][1:]),
        _blocks(_entities(sections["BLOCKS"][1:])),
        _entities(sections["ENTITIES"][1:]),
        _entities(sections.get("OBJECTS", [])[1:]),
    )


def _header(tags: list[Tag]) -> dict[str, list[Tag]]:
    out: dict[str, list[Tag]] = {}
    for code, value in tags:
        if code == 9:
            name = value
            out[name] = []
        else:
            out[name].append((code, value))
    return out


def _entities(tags: list[Tag]) -> list[Entity]:
    out: list[Entity] = []
    for code, value in tags:
        if code == 0:
            out.append(Entity(value))
        else:
            out[-1].tags.append((code, value))
    return out


def _blocks(entities: list[Entity]) -> dict[str, list[Entity]]:
    out: dict[str, list[Entity]] = {}
    for entity in entities:
        if entity.kind == "BLOCK":
            inside = out[entity.text(2)] = []
        elif entity.kind != "ENDBLK":
            inside.append(entity)
    return out


def ring_area(vertices: list[tuple[float, float, float]]) -> float:
    """The area inside a closed polyline: chords by the shoelace, and for each arc its segment."""
    total = 0.0
    for (x, y, bulge), (u, v, _) in zip(vertices, vertices[1:] + vertices[:1], strict=True):
        total += (x * v - u * y) / 2
        if bulge:
            sweep = 4 * math.atan(bulge)
            radius = math.hypot(u - x, v - y) / (2 * math.sin(abs(sweep) / 2))
            total += radius**2 * (sweep - math.sin(sweep)) / 2
    return total


def chained_area(entities: list[Entity]) -> tuple[float, float]:
    """(area, widest gap) of LINEs and ARCs that stand one after the other round a contour."""
    total = gap = 0.0
    runs: list[tuple[Point, Point, float]] = []
    for entity in entities:
        a, b = entity.ends()
        sweep = 0.0
        if entity.kind == "ARC":
            sweep = math.radians((entity.number(51) - entity.number(50)) % 360.0)
        runs.append((a, b, sweep))
    following = [runs[0]]
    for a, b, sweep in runs[1:]:
        end = following[-1][1]
        following.append((a, b, sweep) if math.dist(a, end) <= math.dist(b, end) else (b, a, -sweep))
    for k, (a, b, sweep) in enumerate(following):
        gap = max(gap, math.dist(b, following[(k + 1) % len(following)][0]))
        total += (a[0] * b[1] - b[0] * a[1]) / 2
        if sweep:
            radius = math.dist(a, b) / (2 * math.sin(abs(sweep) / 2))
            total += radius**2 * (sweep - math.sin(sweep)) / 2
    return total, gap
