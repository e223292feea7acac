"""The staveline program: its commands, from ``new`` to ``returned``.

Exit status: 0 done; 1 the answer is no (a ``stop`` finding stands); 2 a job could not be read or laid out; 3 an output
could not be written. Only typer is imported here: each command brings what it needs.
"""

from __future__ import annotations

import io
import shlex
import sys
from pathlib import Path
from typing import Annotated

import typer

DONE, NO, UNREADABLE, UNWRITTEN = 0, 1, 2, 3

app = typer.Typer(
    name="staveline",
    help="From a field sketch to dimensioned shop drawings and cut files for solid-wood tops.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)


def _version(wanted: bool) -> None:
    if wanted:
        from layout.version import VERSION  # noqa: PLC0415

        typer.echo(f"staveline {VERSION}")
        raise typer.Exit(DONE)


@app.callback()
def _staveline(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version.")
    ] = False,
) -> None:
    """Lay out tops of solid wood. The checks are an aid, not an approval: appliance instructions, local codes and licensed
    practice rule."""


@app.command()
def new(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The job file to write; one that stands is left alone.")],
    like: Annotated[str | None, typer.Option("--like", metavar="SAMPLE", help="Start from this sample.")] = None,
) -> None:
    """Write a commented starter job file."""
    from cli.samples import sample_names, sample_text, starter  # noqa: PLC0415

    if like is not None and like not in sample_names():
        typer.echo(f"there is no sample {like!r}; there are: {', '.join(sample_names())}", err=True)
        raise typer.Exit(UNREADABLE)
    text = starter(file) if like is None else sample_text(like)
    try:
        _write_new(file, text.encode())
    except FileExistsError:
        typer.echo(f"{file} stands already and is left as it is; choose another name", err=True)
        raise typer.Exit(UNWRITTEN) from None
    except OSError as error:
        typer.echo(f"{file} could not be written: {error.strerror or error}", err=True)
        raise typer.Exit(UNWRITTEN) from None
    typer.echo(f"wrote {file}; draw it with: staveline draw {shlex.quote(str(file))}")


def _write_new(file: Path, data: bytes) -> None:
    """Write a file that does not stand yet, the whole of it or nothing."""
    with file.open("xb") as out:
        try:
            out.write(data)
            out.flush()
        except BaseException:
            file.unlink(missing_ok=True)
            raise


@app.command()
def check(
    job: Annotated[Path, typer.Argument(metavar="JOB", help="The job file.")],
    as_json: Annotated[bool, typer.Option("--json", help="Print what report.json would hold.")] = False,
) -> None:
    """Read a job, lay it out and print the findings; nothing is written."""
    from cli.terminal import findings_text, summary_text  # noqa: PLC0415
    from layout.faults import JobError  # noqa: PLC0415
    from layout.pipeline import lay_file  # noqa: PLC0415

    try:
        layout = lay_file(job)
    except JobError as error:
        typer.echo(str(error), err=True)
        raise typer.Exit(UNREADABLE) from None
    if as_json:
        from layout.files import report_text  # noqa: PLC0415
        from layout.report import report  # noqa: PLC0415

        # in bytes: JSON is UTF-8 whatever the terminal takes
        typer.echo(report_text(report(layout)).encode(), nl=False)
    else:
        typer.echo(summary_text(layout))
        typer.echo(findings_text(layout))
    raise typer.Exit(NO if any(f.severity == "stop" for f in layout.findings) else DONE)


@app.command()
def draw(
    jobs: Annotated[list[Path], typer.Argument(metavar="JOB...", help="Job files.")],
    out: Annotated[Path, typer.Option("--out", metavar="DIR", help="Where each job's folder goes.")] = Path("out"),
    pdf: Annotated[
        bool, typer.Option("--pdf", help="Also write all sheets as NUMBER.pdf; without this an earlier one is removed.")
    ] = False,
) -> None:
    """Draw the whole packet: sheets, shop.dxf, a cut file a piece, report.json."""
    from cli.drawing import draw_jobs  # noqa: PLC0415

    raise typer.Exit(draw_jobs(jobs, out, pdf=pdf))


@app.command()
def explain(
    code: Annotated[str | None, typer.Argument(metavar="CODE", help="A finding's code; left out: all of them.")] = None,
) -> None:
    """Say what a finding means, by which number, whose number that is, and what to do."""
    from cli.terminal import rule_text, rules_text  # noqa: PLC0415
    from layout.rule_table import RULES, nearest  # noqa: PLC0415

    if code is None:
        typer.echo(rules_text())
        return
    if code not in RULES:
        close = nearest(code)
        hint = f"the nearest is {close}" if close else "staveline explain lists them all"
        typer.echo(f"there is no finding {code!r}; {hint}", err=True)
        raise typer.Exit(UNREADABLE)
    typer.echo(rule_text(code))


@app.command()
def issue(
    job: Annotated[Path, typer.Argument(metavar="JOB", help="The job file.")],
    out: Annotated[Path, typer.Option("--out", metavar="DIR", help="Where the job's folder lies.")] = Path("out"),
    pdf: Annotated[bool, typer.Option("--pdf", help="Also write all sheets as one PDF.")] = False,
) -> None:
    """Freeze the revision that a job stands at and write what goes out for sign-off."""
    from cli.issue import issue_job  # noqa: PLC0415

    raise typer.Exit(issue_job(job, out, pdf=pdf))


@app.command()
def release(
    job: Annotated[Path, typer.Argument(metavar="JOB", help="The job file.")],
    returned: Annotated[Path, typer.Option("--returned", metavar="FILE", help="The signed file that came back.")],
    issued: Annotated[
        Path | None, typer.Option("--issue", metavar="DIR", help="The issue that was signed; left out: the job's own.")
    ] = None,
    out: Annotated[Path, typer.Option("--out", metavar="DIR", help="Where the job's folder lies.")] = Path("out"),
) -> None:
    """Let the shop cut: write cut files and stamped sheets of what was signed, and of nothing else."""
    from cli.release import release_job  # noqa: PLC0415

    raise typer.Exit(release_job(job, returned, issued, out))


@app.command()
def register(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Where the jobs' folders lie.")],
    as_json: Annotated[bool, typer.Option("--json", help="Print the list for programs.")] = False,
) -> None:
    """List jobs: drawn, issued, returned, released, or stale."""
    from cli.register import list_jobs  # noqa: PLC0415

    raise typer.Exit(list_jobs(folder, as_json=as_json))


@app.command()
def returned(
    files: Annotated[list[Path], typer.Argument(metavar="FILE...", help="Marked-up sheets, or what the page saved.")],
    issued: Annotated[
        Path | None, typer.Option("--issue", metavar="DIR", help="The issue they are of; left out: looked for.")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print what returned.json holds.")] = False,
) -> None:
    """Read what came back from sign-off: the decision, every mark with its place, and whether the drawing was altered."""
    from cli.returned import read_files  # noqa: PLC0415

    raise typer.Exit(read_files(files, issued, as_json=as_json))


def main() -> None:
    """Run the program."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            # where a terminal lacks a sign, or a file's name is no text, its code is shown instead of failing
            stream.reconfigure(errors="backslashreplace")
    app()
