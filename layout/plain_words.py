"""Findings, cautions and weights in words for a reader who has no job file."""

from __future__ import annotations

import re

from layout.findings import Finding
from layout.pipeline import Layout
from layout.wood import POUND_KG, weight_kg

CAUTIONS = (
    "The checks on this drawing are an aid to whoever decides. They are no engineering approval.",
    "Appliance, sink and cooktop makers' instructions, local codes and licensed practice (gas, electricity, water) rule over this drawing.",
    "Hold down by screws and washers in slots across the grain, so that the top can move; no adhesive but the sealant round a sink.",
    "Air must reach the underside. Keep the room at 40 to 55 % relative humidity. Seal every site cut at once, all its faces.",
    "A piece over 51 lb (23 kg), the NIOSH limit for one person under ideal conditions, is lifted by two or more; carry tops on edge.",
)


NATURAL = "Grain, colour, sapwood and knots vary and change with light: none of it is a fault."


def weight_text(layout: Layout, area: float) -> str:
    """Return a weight as printed: whole pounds or kilograms."""
    kg = weight_kg(layout.job, area)
    return f"{kg / POUND_KG:.0f} lb" if layout.job.job.units == "in" else f"{kg:.0f} kg"


INITIAL = "______"
"""Where the dealer puts initials."""


def finding_words(f: Finding) -> str:
    """Return a finding and its remedy as two sentences, in words for a reader who has no job file."""
    message, remedy = plain(f.message), plain(f.remedy)
    return f"{message[:1].upper()}{message[1:]}. {remedy[:1].upper()}{remedy[1:]}."


_PLAIN = tuple(
    (re.compile(pattern), words)
    for pattern, words in (
        (
            r'\[shop\] seams = "way in" places the seams so, or a seam by hand( under \[\[\w+\]\])?',
            "a seam where it passes",
        ),
        (r",? and (list|give|say) (it|so|them|both walls)( |)(under|in|into|with)? ?\[\[?\w+\]\]?", ""),
        (r",? and say so under (\[\w+\]|\w+)", ""),
        (r",? and (give it|list it) under \[\[?\w+\]\]?", ""),
        (r" ?(under|by|with|in|into) \[\[?\w+\]\]?", ""),
        (r"\bwall_gap\b", "the gap at the wall"),
        (r" into top_height\b", ""),
        (r"\btop_height\b", "its heights"),
        (r"\b(max_length|max_width|min_piece|seam_clear|opening_clear|overhang_limit)\b", "the shop's limit"),
        (r" under corners\b", ""),
        (r'through = "(\w+)"( and beyond = "([^"]+)"?")?', r"\1 running through"),
    )
)
"""What a job file's words become on a sheet."""


def plain(text: str) -> str:
    """Return a finding's words without those that only a job file has."""
    for pattern, words in _PLAIN:
        text = pattern.sub(words, text)
    return text
