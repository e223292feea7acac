"""Imports for good: modules that the collector of garbage need not look through, then or later."""

from __future__ import annotations

import gc
import sys
from importlib import import_module


def load(name: str) -> None:
    """Import a module, if that is not done, with all that it imports, and have the collector leave them alone from then on.

    What is imported stays as long as the program runs; looked through again and again it takes a tenth of drawing one job. Not
    for use while jobs are at hand: what they leave behind would stay as well.
    """
    if name in sys.modules:
        return
    gc.disable()
    try:
        import_module(name)
    finally:
        gc.freeze()
        gc.enable()
