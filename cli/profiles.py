"""``staveline profiles``: the edge profiles that a job may name, as their sections draw them."""

from __future__ import annotations

from typing import Any, get_args

from cli.reference_tables import columns, json_text, prose
from layout.profiles import SQUARE, least_thickness, profile_size, section_words
from layout.rules import PROFILE_SIZES, PROFILES
from layout.units import Labels, Unit

SPELLING = (
    "A job names one as [wood] edge or [[edge]] profile, in capitals or small. A size of its own may follow the name, in the "
    'job\'s unit or with a mark: "roundover 1/2", "roundover 12 mm".'
)
THINNER = (
    "Thinner wood than stated is not refused: its section is drawn as large as the wood lets it be, and so it is made."
)
UNKNOWN = "Any other name is refused with the nearest one (exit 2), never taken as text."
HALF = "t/2"
"""Half the thickness, as a bullnose has it where no size is given."""


def profile_facts() -> list[dict[str, Any]]:
    """Return every profile as plain values: by unit its size where none is given, its section in words, the least thickness."""
    return [
        {
            "name": name,
            **{unit: _measures(name, unit) for unit in get_args(Unit)},
            "source": PROFILE_SIZES[name].source if name in PROFILE_SIZES else "what meets something is so in any case",
        }
        for name in PROFILES
    ]


def profiles_text() -> str:
    """Return the profiles as a table, with how they are spelt."""
    table = [("", "", "size", "section", "t least", "what the size is, and whose number")]
    for row in profile_facts():
        for k, unit in enumerate(get_args(Unit)):
            of = row[unit]
            ends = ("", "") if k else (row["name"], row["source"])
            table.append((ends[0], unit, of["size"], of["section"], of["least_thickness"] or "any", ends[1]))
    lines = ["edge profiles, each with the size that it has where a job gives none", "", *columns(table, "<<<<<<"), ""]
    return "\n".join(
        [
            *lines,
            *prose("t: the thickness of the wood; in, mm: jobs in inches, jobs in mm.", "  "),
            "",
            *prose(SPELLING),
            *prose(THINNER),
            *prose(UNKNOWN),
        ]
    )


def profiles_json() -> str:
    """Return the profiles as JSON."""
    return json_text({"profiles": profile_facts(), "spelling": SPELLING, "thinner": THINNER, "unknown": UNKNOWN})


def _measures(name: str, unit: Unit) -> dict[str, Any]:
    least, text = least_thickness(name, unit), Labels(unit).fine
    if name == SQUARE:
        size, words = "none", "as cut"
    elif least == 0:  # its size follows the wood's
        size, words = HALF, section_words(name, 0.0, lambda _: HALF)
    else:
        drawn = profile_size(name, least, unit)
        size, words = text(drawn), section_words(name, drawn, text)
    return {
        "size": size,
        "section": words,
        "least_thickness": text(least) if least else "",
        "least_thickness_mm": least,
    }
