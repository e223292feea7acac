"""How a command ends: exit statuses, and what several commands take and say alike."""

from typing import Literal

DONE, NO, UNREADABLE, UNWRITTEN, INTERRUPTED = 0, 1, 2, 3, 130
"""Done; the answer is no; a job could not be read; an output could not be written; Ctrl-C left something undone."""
NO_PDF = (
    "--pdf needs reportlab, which is not installed here; nothing was drawn. Get it with: pip install 'staveline[pdf]'"
)
Contours = Literal["polylines", "heavy polylines", "lines and arcs"]
"""What the contours of a cut file may be drawn of, as options name it."""
