"""report.json: what was laid out and what was written, for programs (fixed by the format)."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from layout.facts import facts
from layout.identity import digest_of, stated
from layout.pipeline import Layout
from layout.version import VERSION


def report(
    layout: Layout, files: Iterable[tuple[str, str]] = (), since: Mapping[str, Any] | None = None, *, digest: str = ""
) -> dict[str, Any]:
    """Return report.json as a dict; ``files`` are (name, sha256) of what was written.

    The day stands in it, since sheets bear it and the digest does not; ``since``: the report of the issue since which the
    sheets cloud what changed. So what lies in a folder can be told from what would be drawn today. ``digest``: the layout's,
    where it is known.
    """
    told = facts(layout)
    date = layout.job.job.date
    clouded = {} if since is None else {"since": {"revision": since["job"]["revision"], "digest": since["digest"]}}
    return {
        "staveline": VERSION,
        "digest": digest or digest_of(layout, told),
        **told,
        "stated": stated(layout.job),
        "date": None if date is None else date.isoformat(),
        **clouded,
        "files": [{"name": name, "sha256": sha256} for name, sha256 in files],
    }
