"""``staveline import``: a DXF that others made becomes a job file that draws the same outlines, tried before it is written."""

from __future__ import annotations

import shlex
import tempfile
from collections.abc import Mapping
from pathlib import Path

import typer

from cli.endings import DONE, UNREADABLE, UNWRITTEN
from cli.terminal import count
from layout.cutouts import place_cutouts
from layout.drawing_in import Imported, Layers, job_from_drawing
from layout.drawn_shapes import agrees
from layout.faults import LayoutError, TemplateError, printable
from layout.job import Job
from layout.readers.dxf import read_dxf
from layout.reading import read_located
from layout.room import plan_room
from layout.tops import lay_tops
from layout.units import UNIT_NAMES, Labels, Unit
from layout.writers.template_dxf import template_dxf

_UNITS: dict[str, Unit] = {"in": "in", "mm": "mm"}


def import_drawing(file: Path, out: Path, units: str | None, layers: Mapping[str, str | None]) -> int:
    """Write the job that a drawing makes, with the templates it needs beside it; return the exit status."""
    if units is not None and units not in _UNITS:
        typer.echo(f"--units: found {units!r}; expected in or mm", err=True)
        return UNREADABLE
    try:
        drawn = read_dxf(file, unit=_UNITS.get(units or ""), layer=None, by_layer=True)
        made = job_from_drawing(drawn, file.name, out.stem, Layers(**layers))
        unit = drawn.said_in
        files = {name: template_dxf(ring, unit) for name, ring in made.templates.items()}
        files[out.name] = made.text.encode()
        job = _tried(files, out.name, made, file.name)
    except LayoutError as error:
        typer.echo(str(error), err=True)
        return UNREADABLE
    for note in made.notes:
        typer.echo(f"{file.name}: {note}", err=True)
    if (status := _write(out.parent, files)) != DONE:
        return status
    inch, mm = Labels("in", 64), Labels("mm")
    overall = [
        f"{label.fine(made.size[0])} x {label.fine(made.size[1])}{mark}" for label, mark in ((inch, ""), (mm, " mm"))
    ]
    typer.echo(
        f"its numbers are {UNIT_NAMES[drawn.unit]} ({drawn.unit_from}): {overall[0]} overall = {overall[1]}; is that its size?"
    )
    parts = [(len(made.tops), "top"), (len(made.cutouts), "cutout"), (len(job.wall), "wall")]
    beside = f", with {', '.join(made.templates)}" if made.templates else ""
    typer.echo(f"wrote {printable(str(out))}{beside}: {', '.join(count(n, noun) for n, noun in parts if n)}")
    typer.echo(
        f"species, thickness and more are not in a drawing: go through it, then staveline draw {shlex.quote(str(out))}"
    )
    return DONE


def _tried(files: Mapping[str, bytes], job: str, made: Imported, name: str) -> Job:
    """Return the job as read back from a folder of its own.

    Raises LayoutError where it cannot be read, or where its tops and cutouts are not those of the drawing.
    """
    with tempfile.TemporaryDirectory() as folder:
        for file, data in files.items():
            (Path(folder) / file).write_bytes(data)
        try:
            found = read_located(Path(folder) / job)
            room = plan_room(found.job)
            tops = lay_tops(found.job, room)
            cutouts = place_cutouts(found.job, room, tops, found.templates)
        except LayoutError as error:
            reason = " ".join(str(error).replace(f"{folder}/", "").split())
            raise TemplateError(name, f"outlines that make no job ({reason})", "plainer outlines") from None
    drawn = {t.name: t.ring for t in tops} | {c.name: c.ring for c in cutouts}
    for what, ring in (made.tops | made.cutouts).items():
        if not agrees(ring, drawn[what]):
            raise TemplateError(name, f"{what}, which a job would not draw to 0.001 mm", "a plainer outline")
    return found.job


def _write(folder: Path, files: Mapping[str, bytes]) -> int:
    """Write new files, all of them or none; the job file comes last."""
    standing = [name for name in files if (folder / name).exists() or (folder / name).is_symlink()]
    if standing:
        typer.echo(f"{folder / standing[0]} stands already and is left as it is; choose another name", err=True)
        return UNWRITTEN
    written: list[Path] = []
    try:
        for name, data in files.items():
            path = folder / name
            with path.open("xb") as stream:
                written.append(path)
                stream.write(data)
    except OSError as error:
        for path in written:
            path.unlink(missing_ok=True)
        typer.echo(f"{folder / name} could not be written: {error.strerror or error}", err=True)
        return UNWRITTEN
    return DONE
