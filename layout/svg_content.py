"""An SVG as content: what is drawn where on the paper, whichever editor wrote it.

Transforms are resolved to mm of the page (y down), path data to strokes, text is gathered with its white space made one
sort. Which element, group or attribute something was written with does not show, nor how it looks, but for whether it can
be seen and whether it covers something.
"""

from __future__ import annotations

import math
import xml.etree.ElementTree as ET
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from layout.outline import Point
from layout.svg_paths import Matrix, PathError, Plotter, length, transform, viewport
from layout.svg_reading import MOST_ELEMENTS, SVG, ReturnError, read_bytes, svg_tree
from layout.svg_style import DASHED, FAINT, HAIR, OPAQUE, Rule, Style, inked, paint, rules, seen, styled

OWN = "{urn:staveline}"
_LINK = "{http://www.w3.org/1999/xlink}href"
_SHAPES = {"path", "rect", "circle", "ellipse", "line", "polyline", "polygon", "image"}
_GROUPS = {"g", "a"}
_UNSEEN = {"defs", "title", "desc", "metadata", "symbol", "clipPath", "mask", "marker", "pattern", "style", "view"}
_UNSEEN |= {"linearGradient", "radialGradient", "filter", "font", "font-face", "color-profile", "cursor"}
_TEXTS = {"tspan", "textPath", "tref", "a"}
_RUNS = {"script", "foreignObject", "handler", "listener", "iframe", "audio", "video", "embed", "object"}
_STRANGE = {"animate", "set", "animateTransform", "animateMotion", "animateColor", "switch", "svg", "tbreak"}
MOST_TEXT = 2000
"""Characters of one text that are kept."""


class HostileError(ValueError):
    """Something that runs, or leads out of the file."""


@dataclass(frozen=True, slots=True)
class Drawn:
    """One thing that is drawn: a stroke (a subpath), a run of text set from one point, or a picture's outline.

    ``order``: its place in the order of drawing. ``element``: the number of the element it is of. ``cls`` and ``name``: class
    and data-name, its own or those of the group it is in. ``groups``: ids of the groups it lies in, outermost first.
    ``points``: the stroke in mm. ``ink``: whether it shows on white paper. ``cover``: whether it is filled so that nothing
    shows through. ``width``: of an opaque line, mm. ``odd``: what its writer has done that no comparison can follow.
    """

    sort: Literal["stroke", "text", "image"]
    order: int
    element: int
    tag: str
    id: str
    cls: str
    name: str
    groups: tuple[str, ...]
    parent: int
    points: tuple[Point, ...] = ()
    closed: bool = False
    text: str = ""
    at: Point = (0.0, 0.0)
    angle: float = 0.0
    size: float = 0.0
    anchor: str = "start"
    ink: bool = True
    cover: bool = False
    width: float = 0.0
    odd: tuple[str, ...] = ()
    arrows: tuple[bool, bool] = (False, False)
    box: tuple[float, float, float, float] = field(init=False)
    """What it takes, mm: of a text about what its letters take."""

    def __post_init__(self) -> None:
        """Measure it once."""
        points = self.points or self.corners()
        xs, ys = [p[0] for p in points], [p[1] for p in points]
        object.__setattr__(self, "box", (min(xs), min(ys), max(xs), max(ys)))

    def corners(self) -> tuple[Point, ...]:
        """Return the corners of a text's letters, about: a letter is taken to be half as wide as its size."""
        wide = 0.5 * self.size * max(1, len(self.text))
        left = {"middle": -wide / 2, "end": -wide}.get(self.anchor, 0.0)
        c, s = math.cos(math.radians(self.angle)), math.sin(math.radians(self.angle))
        own = ((left, 0.0), (left + wide, 0.0), (left + wide, -0.72 * self.size), (left, -0.72 * self.size))
        return tuple((self.at[0] + c * x - s * y, self.at[1] + s * x + c * y) for x, y in own)


@dataclass(frozen=True, slots=True)
class Content:
    """All that a sheet shows. ``facts``: what its metadata says, by name. ``foreign``: what no comparison can follow."""

    page: tuple[float, float]
    title: str
    facts: Mapping[str, str]
    places: tuple[Mapping[str, str], ...]
    drawn: tuple[Drawn, ...]
    foreign: tuple[str, ...]
    scales: Mapping[str, str]


def read_svg(path: Path) -> tuple[Content, bytes]:
    """Return a sheet's content, and the file's bytes. Raises ReturnError where it cannot be read or is no SVG."""
    data = read_bytes(path)
    return svg_content(data, str(path)), data


def svg_content(data: bytes, file: str) -> Content:
    """Return the content of an SVG. Raises ReturnError where it cannot be read, is no SVG, or is larger than any sheet."""
    root = svg_tree(data, file)
    try:
        return _Walk(root).content()
    except HostileError as error:
        raise ReturnError(
            f"{file} is not read: {error}; save it as plain SVG with nothing but the drawing in it"
        ) from error
    except PathError as error:
        raise ReturnError(f"{file} cannot be read as a drawing: {error}") from error
    except RecursionError as error:
        raise ReturnError(f"{file} lies too deep in itself; no sheet does") from error


@dataclass(frozen=True, slots=True)
class _Place:
    """Where an element lies: its matrix, style, groups, and what its group is called."""

    m: Matrix
    style: Style
    groups: tuple[str, ...] = ()
    cls: str = ""
    name: str = ""
    parent: int = 0


class _Walk:
    """One way through a tree, in the order of drawing."""

    def __init__(self, root: ET.Element) -> None:
        self.root = root
        self.matrix, self.page = viewport(root.attrib)
        self.plotter = Plotter()
        self.drawn: list[Drawn] = []
        self.foreign: list[str] = []
        self.scales: dict[str, str] = {}
        self.elements = 0
        self.by_id: dict[str, ET.Element] = {}
        self.rules: list[Rule] = []
        styles = []
        for element in root.iter():
            if "id" in element.attrib:
                self.by_id.setdefault(element.attrib["id"], element)
            self._look(element)
            if element.tag == f"{SVG}style":
                styles.append("".join(element.itertext()))
        self.rules, clever = rules("\n".join(styles))
        if clever:
            self.foreign.append("a stylesheet that cannot be followed")

    def content(self) -> Content:
        """Return all of it."""
        facts: dict[str, str] = {}
        places: list[dict[str, str]] = []
        for fact in self.root.iterfind(f"{SVG}metadata/*"):
            name = str(fact.tag).removeprefix(OWN)
            if fact.tag == f"{OWN}place":
                places.append({**fact.attrib, "view": (fact.text or "").strip()})
            elif str(fact.tag).startswith(OWN):
                facts.setdefault(name, (fact.text or "").strip()[:200])
        self._inside(self.root, _Place(self.matrix, styled(Style(), "svg", self.root.attrib, self.rules)), ())
        title = " ".join((self.root.findtext(f"{SVG}title") or "").split())[:500]
        return Content(
            self.page, title, facts, tuple(places), tuple(self.drawn), tuple(self.foreign[:200]), self.scales
        )

    def _look(self, element: ET.Element) -> None:
        """Refuse what runs or leads out of the file, and note what no comparison can follow."""
        tag = str(element.tag)
        if not tag.startswith(SVG):
            return
        tag = tag.removeprefix(SVG)
        if tag in _RUNS:
            raise HostileError(f"it holds <{tag}>, which is no drawing")
        if tag in _STRANGE and element is not self.root:
            self.foreign.append(tag)
        for name, value in element.attrib.items():
            short = name.rpartition("}")[2]
            if short.lower().startswith("on") and "}" not in name:
                raise HostileError(f"{short} of <{tag}> would be run")
            leads = short in ("href", "src") and value.strip() and not value.strip().startswith(("#", "data:image/"))
            if leads or ("url(" in value and not _only_inside(value)):
                raise HostileError(f"{short} of <{tag}> leads out of the file, to {value.strip()[:80]}")
        if tag == "style" and (text := "".join(element.itertext())) and ("@import" in text or not _only_inside(text)):
            raise HostileError("its stylesheet leads out of the file")

    # --- the way through

    def _count(self) -> None:
        self.elements += 1
        if self.elements > MOST_ELEMENTS:
            raise PathError(f"it draws more than {MOST_ELEMENTS} elements")

    def _inside(self, element: ET.Element, place: _Place, uses: tuple[str, ...]) -> None:
        for child in element:
            self._one(child, place, uses)

    def _one(self, element: ET.Element, place: _Place, uses: tuple[str, ...]) -> None:
        tag = str(element.tag)
        if not tag.startswith(SVG) or tag.removeprefix(SVG) in _UNSEEN:
            return
        tag = tag.removeprefix(SVG)
        self._count()
        here = self._placed(element, tag, place)
        if here is None:
            return
        if tag in _GROUPS or tag in ("switch", "svg"):
            if "data-scale" in element.attrib and "id" in element.attrib:
                self.scales[element.attrib["id"]] = element.attrib["data-scale"]
            self._inside(element, here, uses)
        elif tag == "use":
            self._use(element, here, uses)
        elif tag == "text":
            self._text(element, here)
        elif tag in _SHAPES:
            self._shape(element, tag, here)

    def _placed(self, element: ET.Element, tag: str, place: _Place) -> _Place | None:
        """Return where an element lies, or None where nothing of it can be seen whatever is in it."""
        style = styled(place.style, tag, element.attrib, self.rules)
        if not style.shown or style.opacity < FAINT:
            return None
        m = place.m
        if "transform" in element.attrib:
            m = m @ transform(element.attrib["transform"])
            if not m.finite:
                raise PathError("a transform leads off every sheet")
        groups, cls, name, parent = place.groups, place.cls, place.name, place.parent
        if tag in _GROUPS or tag in ("svg", "switch"):
            groups = (*groups, element.attrib["id"]) if "id" in element.attrib else groups
            cls = element.attrib.get("class", cls)
            name = element.attrib.get("data-name", name) if "data-scale" not in element.attrib else name
            parent = self.elements
        return _Place(m, style, groups, cls, name, parent)

    def _use(self, element: ET.Element, here: _Place, uses: tuple[str, ...]) -> None:
        target = element.attrib.get("href", element.attrib.get(_LINK, "")).strip()
        found = self.by_id.get(target[1:]) if target.startswith("#") else None
        if found is None or target in uses or len(uses) > 16:
            return
        x, y = (length(element.attrib.get(k), whole) for k, whole in (("x", self.page[0]), ("y", self.page[1])))
        moved = _Place(here.m @ Matrix(e=x, f=y), here.style, here.groups, here.cls, here.name, here.parent)
        if found.tag == f"{SVG}symbol":
            self._inside(found, moved, (*uses, target))
        else:
            self._one(found, moved, (*uses, target))

    def _add(self, here: _Place, element: ET.Element, tag: str, **values: object) -> None:
        self.drawn.append(
            Drawn(
                order=len(self.drawn),
                element=self.elements,
                tag=tag,
                id=element.attrib.get("id", ""),
                cls=element.attrib.get("class", here.cls)[:100],
                name=element.attrib.get("data-name", here.name)[:200],
                groups=here.groups,
                parent=here.parent,
                **values,  # type: ignore[arg-type]
            )
        )

    def _shape(self, element: ET.Element, tag: str, here: _Place) -> None:
        strokes = self.plotter.shape(tag, element.attrib, here.m, self.page)
        style = here.style
        if not strokes or not seen(style):
            return
        fill, white = paint(style, "fill", "black")
        line, pale = paint(style, "stroke", "none")
        width = length(style.get("stroke-width", "1"), self.page[0], 1.0) * here.m.scale
        drawn = line >= FAINT and width >= HAIR and inked(style) >= DASHED
        if tag == "image":
            fill, white, drawn = style.opacity, False, False
        filled = fill >= FAINT and tag != "line" and any(len(points) > 2 for points, _ in strokes)
        if not (drawn or filled):
            return
        ends = tuple(style_has(element, f"marker-{end}") for end in ("start", "end"))
        for points, closed in strokes:
            self._add(
                here,
                element,
                tag,
                sort="image" if tag == "image" else "stroke",
                points=tuple(points),
                closed=closed,
                ink=(drawn and not pale) or (filled and not white),
                cover=filled and fill >= OPAQUE,
                width=width if drawn and line >= OPAQUE else 0.0,
                odd=tuple(sorted(set(style.odd))),
                arrows=ends,
            )

    # --- texts

    def _text(self, element: ET.Element, here: _Place) -> None:
        """Take a text in runs, each set from a point of its own, as SVG sets it (10.4, 10.5)."""
        runs: list[_Run] = []
        self._gather(element, here.style, runs, here.m)
        for run in runs:
            words = " ".join("".join(run.words).split())[:MOST_TEXT]
            if not words:
                continue
            m = here.m
            self._add(
                here,
                element,
                "text",
                sort="text",
                text=words,
                at=m.at(*run.at),
                angle=math.degrees(math.atan2(m.b, m.a)),
                size=run.size,
                anchor=run.anchor,
                ink=True,
                odd=tuple(sorted(set(run.odd))),
            )

    def _gather(self, element: ET.Element, style: Style, runs: list[_Run], m: Matrix) -> None:
        """Add what an element of text says to the runs, new ones where it is set anew."""
        odd = list(style.odd)
        at: dict[str, list[float]] = {}
        for key in ("x", "y", "dx", "dy", "rotate"):
            if key in element.attrib:
                words = element.attrib[key].replace(",", " ").split()
                at[key] = [length(w, self.page[0]) for w in words[:MOST_TEXT]]
        if any(len(v) > 1 for k, v in at.items() if k in "xy") or any(at.get("rotate", [])):
            odd.append("letters set one by one")
        if any(v for k in ("dx", "dy") for v in at.get(k, [])[1:]) or "textLength" in element.attrib:
            odd.append("letters set one by one")
        flip = m.a * m.d - m.b * m.c <= 0
        if flip or not 0.98 < math.hypot(m.a, m.b) / max(math.hypot(m.c, m.d), 1e-12) < 1.02:
            odd.append("letters that are mirrored or stretched")
        size = length(style.get("font-size", "16"), 16.0, 16.0) * m.scale
        x0, y0 = runs[-1].at if runs else (0.0, 0.0)
        x, y = at.get("x", [x0])[0] if at.get("x") else x0, at.get("y", [y0])[0] if at.get("y") else y0
        shift = [at[k][0] if at.get(k) else 0.0 for k in ("dx", "dy")]
        if not runs or at.get("x") or at.get("y") or any(shift):
            anchor = style.get("text-anchor", "start")
            if runs and not runs[-1].says:
                # a text that says nothing before its first line only gives that line a place
                runs.pop()
            runs.append(_Run((x + shift[0], y + shift[1]), size, anchor, [], odd))
        several = "letters of several sizes"
        fill, white = paint(style, "fill", "black")
        line, pale = paint(style, "stroke", "none")
        visible = seen(style) and ((fill >= FAINT and not white) or (line >= FAINT and not pale))

        def say(text: str | None) -> None:
            if text and visible:
                run = runs[-1]
                run.words.append(text)
                if text.strip():
                    if not run.says:
                        run.size, run.says = size, True
                    elif abs(size - run.size) > 0.02 * size and several not in run.odd:
                        run.odd.append(several)
                run.odd.extend(o for o in odd if o not in run.odd)

        say(element.text)
        for child in element:
            tag = str(child.tag)
            if tag.startswith(SVG) and tag.removeprefix(SVG) in _TEXTS:
                self._count()
                below = styled(style, tag.removeprefix(SVG), child.attrib, self.rules)
                if "transform" in child.attrib:
                    raise PathError("a part of a text has a transform of its own")
                self._gather(child, below, runs, m)
            say(child.tail)


@dataclass(slots=True)
class _Run:
    """Text set from one point while it is gathered."""

    at: Point
    size: float
    anchor: str
    words: list[str]
    odd: list[str]
    says: bool = False


def style_has(element: ET.Element, name: str) -> bool:
    """Whether an element's attributes or style give a property a value other than none."""
    for found in (element.attrib.get(name, ""), *_values(element.attrib.get("style", ""), name)):
        if found.strip() not in ("", "none"):
            return True
    return False


def _values(style: str, name: str) -> Iterator[str]:
    for part in style.split(";"):
        key, _, value = part.partition(":")
        if key.strip() == name:
            yield value


def _only_inside(value: str) -> bool:
    """Whether each url() of a value leads to something in the same file."""
    return all(part.lstrip(" \t\"'").startswith(("#", "data:image/", "data:font/")) for part in value.split("url(")[1:])
