"""DXF as tags, entities and header variables: a plain reader for the lint, which shares nothing with what writes the files."""

from __future__ import annotations

import math
import re
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

Tag = tuple[int, str]
_CODE = re.compile(r"[ \t]*-?[0-9]{1,5}[ \t]*")
_CODES = re.compile(rf"(?:{_CODE.pattern}\n)*")


class UnreadableError(Exception):
    """What cannot be read as DXF at all; the message is one for people."""


@dataclass(slots=True)
class Entity:
    """One entity: what it is, and its tags."""

    kind: str
    tags: list[Tag] = field(default_factory=list)

    def text(self, code: int, default: str = "") -> str:
        """Return the first value of a group code, or the default."""
        return next((value for c, value in self.tags if c == code), default).strip()

    def number(self, code: int, default: float | None = None) -> float:
        """Return the first value of a group code as a number. Raises UnreadableError where there is none."""
        text = self.text(code)
        if not text and default is not None:
            return default
        return number_of(text, f"group {code} of {self.kind}")

    @property
    def layer(self) -> str:
        """Its layer."""
        return self.text(8, "0")


def number_of(text: str, where: str) -> float:
    """Return a finite number. Raises UnreadableError, which says where another stands."""
    try:
        number = float(text)
    except ValueError:
        raise UnreadableError(f"{where} should be a number and is {text!r}") from None
    if not math.isfinite(number):
        raise UnreadableError(f"{where} is {text.strip()}, which is no place")
    return number


def sections_of(text: str, wanted: Collection[str]) -> dict[str, list[Tag]]:
    """Return the tags of each section that is wanted by its name. Raises UnreadableError where the text is no whole file."""
    lines = text.splitlines()
    if len(lines) % 2:
        raise UnreadableError("it ends in the middle of a tag")
    codes = lines[::2]
    if not _CODES.fullmatch("".join([f"{line}\n" for line in codes])):
        bad = next(k for k, line in enumerate(codes) if not _CODE.fullmatch(line))
        raise UnreadableError(f"line {2 * bad + 1} should be a group code and is {codes[bad]!r}")
    values = lines[1::2]
    if not values or values[-1] != "EOF" or int(codes[-1]):
        raise UnreadableError("it does not end with EOF, so part of it may be missing")
    sections: dict[str, list[Tag]] = {}
    # one more at the end, for a section that nothing ends
    marks = [k for k, value in enumerate(values) if value in ("SECTION", "ENDSEC") and not int(codes[k])]
    for mark, end in pairwise([*marks, len(values)]):
        begun = mark + 1
        if values[mark] == "SECTION" and values[begun] in wanted:
            tags = zip(map(int, codes[begun:end]), values[begun:end], strict=True)
            sections.setdefault(values[begun], []).extend(tags)
    for name in ("HEADER", "ENTITIES"):
        if name not in sections:
            raise UnreadableError(f"it has no {name} section")
    return sections


def entities_of(tags: Sequence[Tag]) -> list[Entity]:
    """Return the entities of a section, whose name comes first."""
    out: list[Entity] = []
    for tag in tags[1:]:
        if tag[0] == 0:
            out.append(Entity(tag[1]))
        elif out:
            out[-1].tags.append(tag)
    return out


def variables_of(tags: Sequence[Tag]) -> dict[str, dict[int, str]]:
    """Return the header's variables, each as values by group code."""
    out: dict[str, dict[int, str]] = {}
    values: dict[int, str] = {}
    for code, value in tags[1:]:
        if code == 9:
            values = out.setdefault(value, {})
        else:
            values[code] = value
    return out


def with_vertices(entities: Sequence[Entity]) -> Iterator[tuple[Entity, list[Entity]]]:
    """Yield each entity with the VERTEX entities that are its own, if it is a POLYLINE.

    Raises UnreadableError where they do not end with SEQEND.
    """
    rest = iter(entities)
    for entity in rest:
        vertices: list[Entity] = []
        if entity.kind == "POLYLINE":
            for after in rest:
                if after.kind == "SEQEND":
                    break
                if after.kind != "VERTEX":
                    raise UnreadableError(f"a POLYLINE on {entity.layer} runs into {after.kind} without its SEQEND")
                vertices.append(after)
            else:
                raise UnreadableError(f"a POLYLINE on {entity.layer} has no SEQEND")
        yield entity, vertices


def corners_of(entity: Entity, vertices: Sequence[Entity], mm: float) -> list[tuple[float, float, float]]:
    """Return a polyline's corners, mm, each with the bulge of the edge that leaves it."""
    if entity.kind == "POLYLINE":
        return [(v.number(10) * mm, v.number(20) * mm, v.number(42, 0.0)) for v in vertices]
    out: list[list[float]] = []
    for code, value in entity.tags:
        if code == 10:
            out.append([number_of(value, "a corner's x") * mm, math.nan, 0.0])
        elif code in (20, 42) and out:
            number = number_of(value, "a corner's y" if code == 20 else "a bulge")
            out[-1][1 if code == 20 else 2] = number * mm if code == 20 else number
    if any(math.isnan(y) for _, y, _ in out):
        raise UnreadableError(f"a corner of a LWPOLYLINE on {entity.layer} has no y")
    return [(x, y, b) for x, y, b in out]
