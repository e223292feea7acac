"""Many jobs at once: which files they are, who draws or checks which, what is told of all of them together.

Nothing of the library is imported here before there is a need: with several processes this one only shares out and tells.
"""

from __future__ import annotations

import sys
import tomllib
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import AbstractContextManager, nullcontext
from functools import partial
from pathlib import Path
from typing import Any, cast, get_args

import typer

from cli.endings import DONE, INTERRUPTED, UNREADABLE
from cli.loading import collect_seldom, forget, load
from cli.outcome import Outcome, State, Wish, print_line
from cli.processes import Died, Interrupt, interruptible, share, wanted

_SAID: dict[State, str] = {
    "unreadable": "could not be read",
    "unwritten": "could not be written",
    "left": "left undone",
}
_NAMED = 10
"""So many files that are left undone are named; the others are counted."""


def files_of(named: Sequence[Path]) -> tuple[list[Path], bool]:
    """Return the job files that are named, each once, a folder's in order of their names; and whether to tell of them as many.

    A folder without any stays what it is: reading it says so.
    """
    paths: list[Path] = []
    folders = False
    for path in named:
        inside = sorted(p for p in path.glob("*.toml") if not p.name.startswith(".")) if path.is_dir() else []
        folders = folders or bool(inside)
        paths += inside or [path]
    paths = list(dict.fromkeys(paths))
    return paths, folders or len(paths) > 1


def lacks_pdf() -> bool:
    """Return whether what writes PDF is missing here."""
    from layout.writers.pdf import can_write  # noqa: PLC0415

    return not can_write()


def check_many(paths: Sequence[Path], jobs: int | None, *, as_json: bool = False) -> int:
    """Check every job, tell of all, and return the exit status, the greatest of all jobs'."""
    with interruptible() as interrupt:
        board = _Board(paths, "checking", as_json=as_json)
        board.run(_check, [(path, "") for path in paths], jobs, interrupt)
        return board.end(interrupt)


def draw_many(paths: Sequence[Path], wish: Wish, jobs: int | None, *, as_json: bool = False) -> int:
    """Draw every job, tell of all, and return the exit status, the greatest of all jobs'. Jobs that share a number are not drawn."""
    with interruptible() as interrupt:
        board = _Board(paths, "drawing", as_json=as_json)
        numbers = {path: _number_of(path) for path in paths}
        laid: set[Path] = set()
        # those that may share a number are laid out first: one that cannot be is nobody's rival
        while doubtful := [p for p in numbers if p not in laid and (numbers[p] is None or p in _alike(numbers))]:
            for place, one in share(
                _guarded(_check), [(p, "") for p in doubtful], wanted(len(doubtful), jobs), interrupt
            ):
                path = doubtful[place]
                if isinstance(one, Outcome) and one.state == "checked":
                    laid.add(path)
                    numbers[path] = one.number
                else:
                    board.take(path, one)
                    del numbers[path]
            if interrupt.asked:
                break
        for path, rivals in _alike(numbers).items():
            names = " and ".join(str(p) for p in rivals)
            fault = f"{path}: number {numbers[path]} is also that of another job here ({names}); give each its own"
            board.take(path, Outcome(str(path), "refused", UNREADABLE, numbers[path] or "", faults=(fault,)))
            del numbers[path]
        todo = [(path, number) for path, number in numbers.items() if number is not None]
        board.run(partial(_draw, wish), todo, jobs, interrupt)
        return board.end(interrupt)


def _alike(numbers: dict[Path, str | None]) -> dict[Path, list[Path]]:
    """Return the files whose job number another bears too, as a file system that folds case sees it, and all those."""
    by_number: dict[str, list[Path]] = {}
    for path, number in numbers.items():
        if number is not None:
            by_number.setdefault(number.casefold(), []).append(path)
    return {path: paths for paths in by_number.values() if len(paths) > 1 for path in paths}


def _number_of(path: Path) -> str | None:
    """Return the number that a file gives its job; None where that takes a closer look, which tells what is wrong too."""
    try:
        number = tomllib.loads(path.read_bytes().decode())["job"]["number"]
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return None
    return number if isinstance(number, str) else None


# --- one job, in whatever process ----------------------------------------------------------------------------------


def _check(task: tuple[Path, str]) -> Outcome:
    load("cli.checking")
    from cli.checking import check_one  # noqa: PLC0415

    return check_one(task[0])


def _draw(wish: Wish, task: tuple[Path, str]) -> Outcome:
    load("cli.drawing")
    from cli.drawing import draw_one  # noqa: PLC0415

    return draw_one(task[0], wish, expected=task[1])


def _guarded(work: Callable[[tuple[Path, str]], Outcome]) -> Callable[[tuple[Path, str]], Outcome]:
    return partial(_without_fail, work)


def _without_fail(work: Callable[[tuple[Path, str]], Outcome], task: tuple[Path, str]) -> Outcome:
    """Do a job; what nobody has foreseen costs this job and no other."""
    collect_seldom()
    try:
        return work(task)
    except Exception as error:
        what = " ".join(f"{type(error).__name__}: {error}".split())
        fault = f"{task[0]}: a fault of the program ({what}); by itself the job shows where"
        return Outcome(str(task[0]), "failed", UNREADABLE, task[1], faults=(fault,))
    finally:
        forget()


# --- all of them together ------------------------------------------------------------------------------------------


class _Board:
    """What has become of each job so far: a bar while it runs, lines of JSON as they are due, a table at the end."""

    def __init__(self, paths: Sequence[Path], act: str, *, as_json: bool) -> None:
        self.paths = list(paths)
        self.act = act
        self.as_json = as_json
        self.done: dict[Path, Outcome] = {}
        self.printed = 0

    def run(
        self,
        work: Callable[[tuple[Path, str]], Outcome],
        tasks: Sequence[tuple[Path, str]],
        jobs: int | None,
        interrupt: Interrupt,
    ) -> None:
        """Do the work on every task, and keep what comes of it."""
        with self._bar() as bar:
            for place, one in share(_guarded(work), tasks, wanted(len(tasks), jobs), interrupt):
                self.take(tasks[place][0], one)
                if bar is not None:
                    bar.current_item = tasks[place][0].name
                    bar.update(1)

    def take(self, path: Path, one: Outcome | Died) -> None:
        """Keep what became of a job, and print the lines that are due: those before which none is missing."""
        if isinstance(one, Died):
            fault = f"{path}: not finished, {one.how}; by itself the job may show why"
            one = Outcome(str(path), "failed", UNREADABLE, faults=(fault,))
        self.done[path] = one
        if self.as_json:
            while self.printed < len(self.paths) and (due := self.done.get(self.paths[self.printed])):
                self._line(due)

    def _line(self, one: Outcome) -> None:
        self.printed += 1
        print_line(one)

    def _bar(self) -> AbstractContextManager[Any]:
        # lines of JSON on the same terminal would run into it
        if len(self.paths) < 2 or not sys.stderr.isatty() or (self.as_json and sys.stdout.isatty()):
            return nullcontext()
        bar: Any = typer.progressbar(
            length=len(self.paths),
            label=self.act,
            show_pos=True,
            show_percent=True,
            file=sys.stderr,
            item_show_func=lambda name: str(name or ""),
        )
        bar.update(len(self.done))
        return cast("AbstractContextManager[Any]", bar)

    def end(self, interrupt: Interrupt) -> int:
        """Tell of all jobs and return the exit status."""
        left = [path for path in self.paths if path not in self.done]
        rows = [self.done.get(path) or Outcome(str(path), "left", INTERRUPTED) for path in self.paths]
        # nothing is told within the bar: it holds the terminal's line
        for state in ("refused", "unreadable", "failed", "unwritten"):
            for one in rows:
                if one.state == state:
                    _say(one.faults, err=True)
        for one in rows:
            if one.state in ("drawn", "checked", "unchanged"):
                _say(one.faults, err=True)
        if self.as_json:
            for one in rows[self.printed :]:
                self._line(one)
        else:
            _say(_table(rows, drawn=self.act == "drawing"))
            _say([remark for one in rows for remark in one.remarks])
        if left:
            names = ", ".join(str(path) for path in left[:_NAMED])
            names += f" and {len(left) - _NAMED} more" if len(left) > _NAMED else ""
            again = "; the same with --only-changed draws what is left" if self.act == "drawing" else ""
            _say([f"interrupted: {len(self.done)} of {len(rows)} jobs finished, left: {names}{again}"], err=True)
        if interrupt.asked and left:
            return INTERRUPTED
        return max((one.status for one in rows), default=DONE)


def _say(texts: Iterable[str], *, err: bool = False) -> None:
    from layout.faults import printable  # noqa: PLC0415

    for text in texts:
        for line in text.split("\n"):
            typer.echo(printable(line), err=err)


def _table(rows: Sequence[Outcome], *, drawn: bool) -> Iterator[str]:
    """Yield the lines of the table of all jobs, and the sum of them."""
    from layout.faults import printable  # noqa: PLC0415

    head = ["number", "file", "sheets", "pieces", "stop", "ask", "note", "status", "where"]
    cells = [head, *([printable(cell) for cell in _cells(one)] for one in rows)]
    if not drawn:
        cells = [[*row[:2], *row[3:8]] for row in cells]
    widths = [max(len(row[k]) for row in cells) for k in range(len(head) if drawn else len(head) - 2)]
    numbers = range(2, 7 if drawn else 6)
    for row in cells:
        shown = [f"{c:>{w}}" if k in numbers else f"{c:{w}}" for k, (c, w) in enumerate(zip(row, widths, strict=True))]
        yield "  ".join(shown).rstrip()
    counts = {state: sum(one.state == state for one in rows) for state in get_args(State)}
    said = {**_SAID, "unchanged": "unchanged (skipped)"}
    told = [f"{n} {said.get(state, state)}" for state, n in counts.items() if n]
    told += [f"{n} {kind}" for kind in ("stop", "ask", "note") if (n := sum(getattr(one, kind) for one in rows))]
    yield f"{len(rows)} jobs: {', '.join(told)}"


def _cells(one: Outcome) -> list[str]:
    status = _SAID.get(one.state, one.state)
    if one.state not in ("drawn", "checked", "unchanged"):
        return [one.number or "-", one.file, *["-"] * 5, status, "-"]
    if one.withheld:
        status += f", {one.withheld} cut file{'' if one.withheld == 1 else 's'} withheld"
    if one.held:
        status += ", held from release"
    figures = (one.sheets, one.pieces, one.stop, one.ask, one.note)
    return [one.number, one.file, *map(str, figures), status, one.folder or "-"]
