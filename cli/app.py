"""The staveline program: its commands, from ``new`` to ``returned``.

Exit status: 0 done; 1 the answer is no (a ``stop`` finding stands); 2 a job could not be read or laid out; 3 an output
could not be written; 130 Ctrl-C left something undone. Of many jobs the greatest counts. Only typer is imported here: each
command brings what it needs.
"""

# no `from __future__ import annotations` here: typer would evaluate the text of every option's type, twice each
import io
import os
import sys
from datetime import datetime
from pathlib import Path
from typing import Annotated, get_args

import typer

from cli.endings import DONE, NO, NO_PDF, UNREADABLE, UNWRITTEN, Contours
from cli.loading import collect_seldom, load

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
    """Write a commented starter job file, and beside it the schema by which editors complete and check it."""
    import shlex  # noqa: PLC0415

    from cli.samples import sample_names, sample_text, starter  # noqa: PLC0415
    from cli.schema import DIRECTIVE, NAME, put, stands  # noqa: PLC0415
    from layout.folders import PacketError  # noqa: PLC0415

    if like is not None and like not in sample_names():
        typer.echo(f"there is no sample {like!r}; there are: {', '.join(sample_names())}", err=True)
        raise typer.Exit(UNREADABLE)
    beside = file.parent / NAME
    foreign = stands(beside) == "foreign" or file.name == NAME
    text = ("" if foreign else DIRECTIVE) + (starter(file) if like is None else sample_text(like))
    try:
        _write_new(file, text.encode())
    except FileExistsError:
        typer.echo(_steady(f"{file} stands already and is left as it is; choose another name"), err=True)
        raise typer.Exit(UNWRITTEN) from None
    except OSError as error:
        typer.echo(_steady(f"{file} could not be written: {error.strerror or error}"), err=True)
        raise typer.Exit(UNWRITTEN) from None
    typer.echo(_steady(f"wrote {file}; draw it with: staveline draw {shlex.quote(str(file))}"))
    if foreign:
        typer.echo(
            _steady(f"{beside} is none of ours and is left as it is: {file} names no schema to editors"), err=True
        )
        return
    try:
        put(beside)
    except PacketError as error:
        typer.echo(_steady(str(error)), err=True)
        raise typer.Exit(UNWRITTEN) from None


@app.command()
def schema(
    prices: Annotated[bool, typer.Option("--prices", help="Print a price book's schema instead of a job's.")] = False,
) -> None:
    """Print the job file's JSON Schema, by which editors complete and check a job as it is typed."""
    from cli.schema import schema_text  # noqa: PLC0415

    # in bytes: JSON is UTF-8 whatever the terminal takes
    typer.echo(schema_text(prices=prices).encode(), nl=False)


def _steady(text: str) -> str:
    """Return a text whose signs a terminal shows and does not obey, without the library."""
    return "".join(c if c.isprintable() else "\ufffd" for c in text)


def _write_new(file: Path, data: bytes) -> None:
    """Write a file that does not stand yet, the whole of it or nothing."""
    with file.open("xb") as out:
        try:
            out.write(data)
            out.flush()
        except BaseException:
            file.unlink(missing_ok=True)
            raise


Jobs = Annotated[list[Path], typer.Argument(metavar="JOB...", help="Job files, or folders of them.")]
Processes = Annotated[
    int | None,
    typer.Option(
        "--jobs", metavar="N", min=1, help="Work on so many jobs at a time; left out, on as many as there are cores."
    ),
]


@app.command()
def check(
    jobs: Jobs,
    as_json: Annotated[
        bool, typer.Option("--json", help="Print what report.json would hold; of several jobs, a line each.")
    ] = False,
    processes: Processes = None,
) -> None:
    """Read a job, lay it out and print the findings; of several jobs, a table. Nothing is written."""
    from cli.batch import check_many, files_of  # noqa: PLC0415

    paths, several = files_of(jobs)
    if several:
        raise typer.Exit(check_many(paths, processes, as_json=as_json))
    load("cli.checking")
    from cli.checking import check_job  # noqa: PLC0415

    raise typer.Exit(check_job(paths[0], as_json=as_json))


@app.command()
def draw(
    jobs: Jobs,
    out: Annotated[Path, typer.Option("--out", metavar="DIR", help="Where each job's folder goes.")] = Path("out"),
    pdf: Annotated[
        bool, typer.Option("--pdf", help="Also write all sheets as NUMBER.pdf; without this an earlier one is removed.")
    ] = False,
    r12: Annotated[
        bool, typer.Option("--r12", help="Write cut files as R12, the unit in their names, whatever the job says.")
    ] = False,
    contours: Annotated[
        Contours | None,
        typer.Option("--contours", metavar="KIND", help=f"Draw cut files of {', '.join(get_args(Contours))}."),
    ] = None,
    since: Annotated[
        Path | None,
        typer.Option(
            "--since", metavar="ISSUE", help="Cloud what changed since this issue (its folder or report.json)."
        ),
    ] = None,
    only_changed: Annotated[
        bool,
        typer.Option("--only-changed", help="Leave packets alone that are whole and tell of the job as it is now."),
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print a line of JSON for each job.")] = False,
    processes: Processes = None,
) -> None:
    """Draw the whole packet: sheets, shop.dxf, a cut file a piece, report.json."""
    from cli.batch import draw_many, files_of, lacks_pdf  # noqa: PLC0415
    from cli.outcome import Wish  # noqa: PLC0415

    if pdf and lacks_pdf():
        # said before a job is read: an output that cannot be written, and none of the others half wanted
        typer.echo(NO_PDF, err=True)
        raise typer.Exit(UNWRITTEN)
    paths, several = files_of(jobs)
    if since is not None and len(paths) > 1:
        typer.echo(f"--since {since} is an issue of one job; draw that one alone", err=True)
        raise typer.Exit(UNREADABLE)
    wish = Wish(out, pdf, "R12" if r12 else None, contours, only_changed)
    if several and since is None:
        raise typer.Exit(draw_many(paths, wish, processes, as_json=as_json))
    load("cli.drawing")
    from cli.drawing import draw_job  # noqa: PLC0415

    raise typer.Exit(draw_job(paths[0], wish, since, as_json=as_json))


@app.command(name="import")
def import_(
    file: Annotated[Path, typer.Argument(metavar="FILE.dxf", help="The drawing to read.")],
    out: Annotated[
        Path, typer.Option("--out", metavar="JOB.toml", help="The job file to write; one that stands is left alone.")
    ],
    units: Annotated[
        str | None,
        typer.Option("--units", metavar="in|mm", help="What its numbers are in, where its header does not say."),
    ] = None,
    tops: Annotated[
        str | None, typer.Option("--tops", metavar="LAYER", help="The layer of the tops' outlines.")
    ] = None,
    cutouts: Annotated[str | None, typer.Option("--cutouts", metavar="LAYER", help="The layer of the cutouts.")] = None,
    walls: Annotated[str | None, typer.Option("--walls", metavar="LAYER", help="The layer of the wall lines.")] = None,
    points: Annotated[
        str | None, typer.Option("--points", metavar="LAYER", help="The layer of measured points.")
    ] = None,
) -> None:
    """Turn a DXF of tops, cutouts and wall lines into a job file that draws the same outlines."""
    from cli.importing import import_drawing  # noqa: PLC0415

    raise typer.Exit(
        import_drawing(file, out, units, {"tops": tops, "cutouts": cutouts, "walls": walls, "points": points})
    )


@app.command()
def materials(
    job: Annotated[Path, typer.Argument(metavar="JOB", help="The job file.")],
    as_json: Annotated[bool, typer.Option("--json", help="Print what materials.json would hold.")] = False,
) -> None:
    """Say what must be bought and made: lay-up, boards, cut list, edges, joints, finish, crate; nothing is written."""
    from layout.faults import JobError  # noqa: PLC0415
    from layout.materials import materials as of_layout  # noqa: PLC0415
    from layout.materials import materials_report  # noqa: PLC0415
    from layout.pipeline import lay_file  # noqa: PLC0415

    try:
        layout = lay_file(job)
    except JobError as error:
        typer.echo(str(error), err=True)
        raise typer.Exit(UNREADABLE) from None
    of = of_layout(layout)
    if as_json:
        from layout.files import report_text  # noqa: PLC0415

        typer.echo(report_text(materials_report(layout, of)).encode(), nl=False)
    else:
        from cli.materials import materials_text  # noqa: PLC0415

        typer.echo(materials_text(layout, of))
    raise typer.Exit(NO if any(f.severity == "stop" for f in layout.findings) or of.cut.lacking else DONE)


@app.command()
def price(
    jobs: Annotated[list[Path], typer.Argument(metavar="JOB...", help="The job file; two of them are compared.")],
    book: Annotated[Path, typer.Option("--book", metavar="BOOK", help="The price book, a TOML file.")],
    compare: Annotated[
        Path | None, typer.Option("--compare", metavar="BOOK2", help="Say what differs by this book, line by line.")
    ] = None,
    date: Annotated[
        datetime | None,
        typer.Option("--date", formats=["%Y-%m-%d"], help="The day of the quote; left out, the job's date."),
    ] = None,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="DIR", help="Also write quote-*.svg and price.csv into DIR/NUMBER.")
    ] = None,
    pdf: Annotated[
        bool, typer.Option("--pdf", help="With --out: also all sheets of the quote as quote-all.pdf.")
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print the quote as JSON.")] = False,
) -> None:
    """Quote a job by a price book: lines, total, deposit, and the questions that the dealer must answer."""
    from cli.pricing import price_jobs  # noqa: PLC0415

    day = None if date is None else date.date()
    raise typer.Exit(price_jobs(jobs, book, compare=compare, day=day, out=out, pdf=pdf, as_json=as_json))


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


@app.command()
def compare(
    old: Annotated[
        Path, typer.Argument(metavar="OLD", help="A job file, an issue's or packet's folder, or a report.json.")
    ],
    new: Annotated[Path, typer.Argument(metavar="NEW", help="The same, later.")],
    as_json: Annotated[bool, typer.Option("--json", help="Print the changes for programs.")] = False,
) -> None:
    """Say what changed between two revisions, a line each; nothing is written."""
    from cli.comparing import compare_files  # noqa: PLC0415

    raise typer.Exit(compare_files(old, new, as_json=as_json))


@app.command()
def preview(
    job: Annotated[Path, typer.Argument(metavar="JOB", help="The job file.")],
    port: Annotated[
        int, typer.Option("--port", min=0, max=65535, metavar="N", help="The port of this machine; 0 takes a free one.")
    ] = 0,
    no_open: Annotated[bool, typer.Option("--no-open", help="Only print the address, open no browser.")] = False,
) -> None:
    """Show a job's sheets and findings on a page of this machine that follows the file as it is saved."""
    from importlib.util import find_spec  # noqa: PLC0415

    if any(find_spec(name) is None for name in ("starlette", "uvicorn", "watchfiles")):
        typer.echo(
            "preview needs starlette, uvicorn and watchfiles, which are not all installed here; get them with: "
            "pip install 'staveline[preview]'",
            err=True,
        )
        raise typer.Exit(UNWRITTEN)
    from cli.preview.command import preview_job  # noqa: PLC0415

    raise typer.Exit(preview_job(job, port, browser=not no_open))


@app.command()
def species(
    name: Annotated[str | None, typer.Argument(metavar="NAME", help="A wood; left out: all of them.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print the same for programs.")] = False,
) -> None:
    """Say which woods there are, their figures, and where each comes from."""
    from cli.species import species_json, species_sheet, species_table, unknown  # noqa: PLC0415

    if as_json:
        text = species_json(name)
    else:
        text = species_table() if name is None else species_sheet(name)
    if text is None:
        typer.echo(unknown(name or ""), err=True)
        raise typer.Exit(UNREADABLE)
    _tell(text, as_json=as_json)


@app.command()
def profiles(
    as_json: Annotated[bool, typer.Option("--json", help="Print the same for programs.")] = False,
) -> None:
    """Say which edge profiles a job may name, with their measures."""
    from cli.profiles import profiles_json, profiles_text  # noqa: PLC0415

    _tell(profiles_json() if as_json else profiles_text(), as_json=as_json)


@app.command()
def sizes(
    as_json: Annotated[bool, typer.Option("--json", help="Print the same for programs.")] = False,
) -> None:
    """Say which sheets, scales, lumber, limits and defaults there are, and whose numbers they are."""
    from cli.sizes import sizes_json, sizes_text  # noqa: PLC0415

    _tell(sizes_json() if as_json else sizes_text(), as_json=as_json)


def _tell(text: str, *, as_json: bool) -> None:
    """Print tables; JSON in bytes, for it is UTF-8 whatever the terminal takes."""
    typer.echo(text.encode() if as_json else text, nl=not as_json)


def main() -> None:
    """Run the program."""
    collect_seldom()
    # numpy comes with shapely and ezdxf, and would start threads on every core for an algebra that nobody asks it for
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            # where a terminal lacks a sign, or a file's name is no text, its code is shown instead of failing
            stream.reconfigure(errors="backslashreplace")
    app()
