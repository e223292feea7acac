"""What an SVG's styles leave to be seen: whether a thing has ink, whether it covers what lies below it.

Looks are nobody's business here but for that. Attributes, style="" and plain rules of <style> count in the order of CSS;
a rule too clever for that, and a property that moves, clips or filters, is told of and not guessed at.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

FAINT = 0.15
"""What is less opaque than this counts as not there."""
OPAQUE = 0.8
"""What is at least so opaque covers what is below it; a highlighter is less."""
DASHED = 0.3
"""A line of whose length its dashes leave less counts as not there; the thinnest of ours leave two thirds."""
HAIR = 0.03
"""A line thinner than this (mm on paper) counts as not there."""
_INHERITED = (
    "fill",
    "stroke",
    "stroke-width",
    "stroke-dasharray",
    "fill-opacity",
    "stroke-opacity",
    "visibility",
    "color",
    "font-size",
    "text-anchor",
)
_OWN = ("display", "opacity")
_ODD: tuple[str, ...] = (
    "clip-path",
    "mask",
    "filter",
    "clip",
    "transform",
    "translate",
    "rotate",
    "scale",
    "offset-path",
    "zoom",
    "d",
)
_ODD += ("marker", "marker-start", "marker-mid", "marker-end", "letter-spacing", "word-spacing", "baseline-shift")
_ODD += ("x", "y", "cx", "cy", "r", "rx", "ry", "width", "height", "content-visibility", "writing-mode", "direction")
_ODD += ("mix-blend-mode",)
_HARMLESS = {
    "",
    "none",
    "auto",
    "normal",
    "0",
    "1",
    "0px",
    "baseline",
    "visible",
    "ltr",
    "lr-tb",
    "horizontal-tb",
    "lr",
}
_AS_ATTRIBUTE = {
    "clip-path",
    "mask",
    "filter",
    "clip",
    "marker",
    "marker-start",
    "marker-mid",
    "marker-end",
    "letter-spacing",
    "word-spacing",
    "baseline-shift",
    "writing-mode",
    "direction",
    "mix-blend-mode",
}
"""Properties that are also attributes; the others of _ODD move things only from a style."""
_WHITES = {"white", "snow", "ivory", "ghostwhite", "floralwhite", "azure", "mintcream", "honeydew", "whitesmoke"}
_WHITES |= {"aliceblue", "seashell", "lightyellow", "lightcyan", "oldlace", "lavenderblush", "linen", "cornsilk"}
_RULE = re.compile(r"([^{}]*)\{([^{}]*)\}")
_PLAIN = re.compile(r"([a-zA-Z]+|\*)?((?:[.#][\w-]+)*)")
_COMMENT = re.compile(r"/\*.*?\*/", re.DOTALL)
MOST_RULES = 200


@dataclass(frozen=True, slots=True)
class Rule:
    """A plain rule of a stylesheet: what it is for, and its declarations."""

    tag: str
    classes: frozenset[str]
    ids: frozenset[str]
    declared: tuple[tuple[str, str], ...]
    rank: tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class Style:
    """What holds for an element: inherited properties, opacity so far, and what is odd about it or what it lies in."""

    inherited: Mapping[str, str] = field(default_factory=dict)
    opacity: float = 1.0
    shown: bool = True
    odd: tuple[str, ...] = ()

    def get(self, name: str, default: str) -> str:
        """Return an inherited property."""
        return self.inherited.get(name, default)


def declarations(text: str) -> list[tuple[str, str]]:
    """Return the declarations of a style attribute or rule, those marked important last."""
    plain: list[tuple[str, str]] = []
    important: list[tuple[str, str]] = []
    for part in _COMMENT.sub(" ", text).split(";"):
        name, colon, value = part.partition(":")
        if colon:
            pair = (name.strip().lower(), value.replace("!important", "").strip())
            (important if "!important" in value else plain).append(pair)
    return plain + important


def rules(text: str) -> tuple[list[Rule], bool]:
    """Return a stylesheet's plain rules by rank, and whether there was more to it than those."""
    text = _COMMENT.sub(" ", text)
    out: list[Rule] = []
    clever = "@" in _RULE.sub("", text) or "\\" in text or len(text) > 1_000_000
    for found in _RULE.finditer(text):
        declared = tuple(declarations(found.group(2)))
        for selector in found.group(1).split(","):
            plain = _PLAIN.fullmatch(selector.strip())
            if not plain or not selector.strip() or len(out) >= MOST_RULES:
                clever = True
                continue
            names = re.findall(r"[.#][\w-]+", plain.group(2))
            classes = frozenset(n[1:] for n in names if n[0] == ".")
            ids = frozenset(n[1:] for n in names if n[0] == "#")
            tag = "" if plain.group(1) in (None, "*") else plain.group(1)
            out.append(Rule(tag, classes, ids, declared, (len(ids), len(classes), bool(tag))))
    return sorted(out, key=lambda r: r.rank), clever


def styled(above: Style, tag: str, attributes: Mapping[str, str], sheet: Sequence[Rule]) -> Style:
    """Return the style of an element below ``above``."""
    known: dict[str, str] = {n: attributes[n] for n in (*_INHERITED, *_OWN) if n in attributes}
    odd = [n for n in _AS_ATTRIBUTE if n in attributes and attributes[n].strip() not in _HARMLESS]
    classes = set(attributes.get("class", "").split())
    declared: list[tuple[str, str]] = []
    for rule in sheet:
        if rule.tag in ("", tag) and rule.classes <= classes and (not rule.ids or rule.ids == {attributes.get("id")}):
            declared += rule.declared
    if "style" in attributes:
        declared += declarations(attributes["style"])
    for name, value in declared:
        if name in _INHERITED or name in _OWN:
            known[name] = value
        elif name == "font" or (name in _ODD and value not in _HARMLESS):
            odd.append(name)
    inherited = {
        **above.inherited,
        **{n: v.strip() for n, v in known.items() if n in _INHERITED and v.strip() not in ("inherit", "unset")},
    }
    return replace(
        above,
        inherited=inherited,
        opacity=above.opacity * _share(known.get("opacity", "1")),
        shown=above.shown and known.get("display", "").strip() != "none",
        odd=(*above.odd, *odd),
    )


def _share(text: str) -> float:
    """Return an opacity between 0 and 1; what cannot be read is opaque, as renderers have it."""
    text = text.strip()
    try:
        value = float(text[:-1]) / 100 if text.endswith("%") else float(text)
    except ValueError:
        return 1.0
    return min(1.0, max(0.0, value)) if value == value else 1.0  # noqa: PLR0124


def seen(style: Style) -> bool:
    """Whether anything of an element can be seen at all."""
    return style.shown and style.opacity >= FAINT and style.get("visibility", "visible") not in ("hidden", "collapse")


def paint(style: Style, what: str, default: str) -> tuple[float, bool]:
    """Return how opaque a fill or stroke is, and whether it is so light that it is no ink on white paper."""
    text = style.get(what, default).strip().lower()
    if text == "currentcolor":
        text = style.get("color", "black").strip().lower()
    alpha, light = _colour(text)
    return alpha * style.opacity * _share(style.get(f"{what}-opacity", "1")), light


def inked(style: Style) -> float:
    """Return which share of a line its dashes leave; 1 for a line without, and for dashes that cannot be read."""
    text = style.get("stroke-dasharray", "none")
    found = re.findall(r"[\d.]+(?:[eE][+-]?\d+)?", text[:1000])
    try:
        dashes = [float(n) for n in found]
    except ValueError:
        return 1.0
    if len(dashes) % 2:
        dashes += dashes
    return sum(dashes[::2]) / sum(dashes) if sum(dashes) > 0 else 1.0


def _colour(text: str) -> tuple[float, bool]:
    if text in ("none", "transparent"):
        return 0.0, True
    if text in _WHITES:
        return 1.0, True
    found = re.fullmatch(r"#([0-9a-f]{3,4}|[0-9a-f]{6}|[0-9a-f]{8})", text)
    if found:
        digits = found.group(1)
        if len(digits) < 6:
            digits = "".join(d * 2 for d in digits)
        parts = [int(digits[k : k + 2], 16) / 255 for k in range(0, len(digits), 2)]
        return (parts[3] if len(parts) == 4 else 1.0), _light(parts)
    found = re.fullmatch(r"rgba?\(([^()]*)\)", text)
    if found:
        listed = [p for p in re.split(r"[\s,/]+", found.group(1).strip()) if p]
        try:
            parts = [float(p[:-1]) / 100 if p.endswith("%") else float(p) / 255 for p in listed[:3]]
        except ValueError:
            return 1.0, False
        if len(parts) == 3:
            return (_share(listed[3]) if len(listed) > 3 else 1.0), _light(parts)
    return 1.0, False


def _light(parts: Sequence[float]) -> bool:
    """Whether a colour is near the paper's; by the weights of Rec. 709 on the coded values."""
    return 0.2126 * parts[0] + 0.7152 * parts[1] + 0.0722 * parts[2] > 0.88
