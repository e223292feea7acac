"""Imports for good: modules that the collector of garbage need not look through, then or later."""

from __future__ import annotations

import gc
import sys
from importlib import import_module

_SELDOM = (100_000, 10, 10)
"""After how many new objects more than old ones cycles are looked for; 700 by default."""
LEFT = 10_000
"""New objects from which on it pays to look for cycles between two jobs; a kitchen that was drawn leaves some two thousand."""


def collect_seldom() -> None:
    """Have the collector look for cycles less often: imports make none to speak of, and a job few."""
    gc.set_threshold(*_SELDOM)


def forget() -> None:
    """Look for cycles now, between two jobs, if the last ones left many: of those nothing is wanted any more."""
    if gc.get_count()[0] > LEFT:
        gc.collect()


def load(*names: str) -> None:
    """Import modules, where that is not done, with all that they import, and have the collector leave them alone from then on.

    What is imported stays as long as the program runs; looked through again and again it takes a tenth of drawing one job. What
    else there is at the time, such as the first of many jobs, stays as well.
    """
    if all(name in sys.modules for name in names):
        return
    gc.disable()
    try:
        for name in names:
            import_module(name)
    finally:
        gc.freeze()
        gc.enable()
