"""Revision letters: A, B, ... without those that are read for figures or for other letters.

Which are left out is the practice of ASME Y14.35 (from memory: I, O, Q, S, X, Z); after Y comes AA.
"""

from __future__ import annotations

LETTERS = "ABCDEFGHJKLMNPRTUVWY"
"""The letters in order: I, O, Q, S, X and Z are left out."""


def rank(revision: str) -> int | None:
    """Return a revision's place in order, A being 1; None for what is no revision letter."""
    if not 1 <= len(revision) <= 3 or any(c not in LETTERS for c in revision):
        return None
    place = 0
    for c in revision:
        place = place * len(LETTERS) + LETTERS.index(c) + 1
    return place


def next_letter(revision: str) -> str:
    """Return the letter after a revision's: B after A, J after H, AA after Y. Raises ValueError for what is no revision."""
    place = rank(revision)
    if place is None:
        raise ValueError(f"{revision!r} is no revision letter")
    out = ""
    while place >= 0:
        place, n = divmod(place, len(LETTERS))
        out = LETTERS[n] + out
        place -= 1
    return out
