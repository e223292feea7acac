"""``staveline schema``: the job file's JSON Schema, printed, and put beside a new job for editors."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Literal

from layout import folders
from layout.schema import WRITTEN, schema

NAME = "staveline.schema.json"
"""The schema's file beside a job."""
DIRECTIVE = f"#:schema {NAME}\n"
"""The line at the top of a job file by which editors find its schema."""
_MOST_BYTES = 2_000_000
"""A schema of ours is far smaller."""


def schema_text(*, prices: bool = False) -> str:
    """Return the schema of a job, or of a price book, as JSON: the same bytes each time while the models are the same."""
    if prices:
        from layout.prices import Book  # noqa: PLC0415

        made = schema(Book, "A price book of staveline")
    else:
        made = schema()
    return json.dumps(made, indent=2, ensure_ascii=False) + "\n"


def stands(path: Path) -> Literal["absent", "ours", "foreign"]:
    """Return what lies where the schema goes: nothing, a schema that this program wrote, or something else."""
    if path.is_symlink():
        return "foreign"
    try:
        if path.stat().st_size > _MOST_BYTES:
            return "foreign"
        found = json.loads(path.read_bytes())
    except FileNotFoundError:
        return "absent"
    except (OSError, ValueError, RecursionError):
        return "foreign"
    return "ours" if isinstance(found, dict) and found.get("$comment") == WRITTEN else "foreign"


def put(path: Path) -> bool:
    """Write the schema where none stands or an older one of ours, never over anything else; return whether it was written.

    Raises PacketError where it cannot be written.
    """
    data = schema_text().encode()
    found = stands(path)
    if found == "foreign" or (found == "ours" and path.read_bytes() == data):
        return False
    folders.write(path, data)
    return True
