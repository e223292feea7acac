"""report.json: what was laid out and what was written, for programs (fixed by the format)."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from layout.facts import facts
from layout.identity import digest_of
from layout.pipeline import Layout
from layout.version import VERSION


def report(layout: Layout, files: Iterable[tuple[str, str]] = ()) -> dict[str, Any]:
    """Return report.json as a dict; ``files`` are (name, sha256) of what was written."""
    return {
        "staveline": VERSION,
        "digest": digest_of(layout),
        **facts(layout),
        "files": [{"name": name, "sha256": digest} for name, digest in files],
    }
