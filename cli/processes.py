"""Work shared out among processes: one job at a time to each, what it gave as soon as it is done, an end on request.

Processes are started anew (``spawn``), on every system alike: a fork would copy a process in which numpy's threads run, and
what all would share of imports is little beside the work. Each has a pipe of its own. So one that dies, of memory or of a
library's fault, takes its one job with it and no other, and one whose parent is gone finds its pipe closed and ends.
"""

from __future__ import annotations

import os
import signal
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from multiprocessing import get_context
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from types import FrameType
from typing import Generic, TypeVar

Task = TypeVar("Task")
Result = TypeVar("Result")
_LOOKS = 0.2
"""Seconds between two looks at whether someone wants an end."""
_JOBS_EACH = 4
"""A process more for so many jobs: below that its imports take longer than it saves."""


@dataclass(frozen=True, slots=True)
class Died:
    """The process that had a job is gone; how it ended, in words."""

    how: str


class Interrupt:
    """Whether someone asked for an end (Ctrl-C): what is being worked on is finished first; asked twice, nothing is."""

    def __init__(self) -> None:
        """Nobody has asked yet."""
        self.asked = False

    def ask(self, _signal: int = 0, _frame: FrameType | None = None) -> None:
        """Take the request. Raises KeyboardInterrupt the second time."""
        if self.asked:
            raise KeyboardInterrupt
        self.asked = True


@contextmanager
def interruptible() -> Iterator[Interrupt]:
    """Let Ctrl-C ask for an end instead of breaking off what runs, within the block."""
    interrupt = Interrupt()
    if threading.current_thread() is not threading.main_thread():
        # signals are the main thread's affair
        yield interrupt
        return
    before = signal.signal(signal.SIGINT, interrupt.ask)
    try:
        yield interrupt
    finally:
        signal.signal(signal.SIGINT, before)


def cores() -> int:
    """Return how many processors this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def wanted(tasks: int, asked: int | None) -> int:
    """Return how many processes some tasks are shared among: as asked for, else all cores where there is work for them."""
    return max(1, min(tasks, asked) if asked else min(cores(), tasks // _JOBS_EACH))


def share(
    work: Callable[[Task], Result], tasks: Sequence[Task], processes: int, interrupt: Interrupt
) -> Iterator[tuple[int, Result | Died]]:
    """Yield each task's place and result as it is done; fewer than there are tasks once an end was asked for.

    With one process the work is done in this one. ``work`` must be a function that another process can import, or a partial
    of one, and must raise nothing.
    """
    if processes == 1:
        for place, task in enumerate(tasks):
            if interrupt.asked:
                return
            yield place, work(task)
        return
    todo = iter(enumerate(tasks))
    crew = _Crew(work)
    try:
        for _ in range(processes):
            crew.give(todo, interrupt)
        while crew.at_work:
            for pipe in wait([*crew.at_work], _LOOKS):
                assert isinstance(pipe, Connection)
                yield crew.take(pipe)
                crew.give(todo, interrupt, pipe)
    finally:
        crew.dismiss()


class _Crew(Generic[Task, Result]):
    """The processes, each behind its pipe, and which task each is at."""

    def __init__(self, work: Callable[[Task], Result]) -> None:
        self.work = work
        self.processes: dict[Connection, BaseProcess] = {}
        self.at_work: dict[Connection, int] = {}

    def give(self, todo: Iterator[tuple[int, Task]], interrupt: Interrupt, pipe: Connection | None = None) -> None:
        """Hand the next task to a process, to a new one where there is none or the last has died; nothing once asked to end."""
        if interrupt.asked or (item := next(todo, None)) is None:
            return
        if pipe is None or pipe not in self.processes:
            pipe = self._hire()
        self.at_work[pipe] = item[0]
        # a pipe whose other end is gone shows when the result is wanted
        with suppress(EOFError, OSError):
            pipe.send(item)

    def take(self, pipe: Connection) -> tuple[int, Result | Died]:
        """Return what a process has done: its task's place and the result, or how the process died."""
        place = self.at_work.pop(pipe)
        try:
            done: tuple[int, Result] = pipe.recv()
        except (EOFError, OSError):
            process = self.processes.pop(pipe)
            process.join()
            pipe.close()
            return place, Died(_ending(process.exitcode))
        return done

    def _hire(self) -> Connection:
        context = get_context("spawn")
        ours, theirs = context.Pipe()
        process = context.Process(target=_serve, args=(theirs, self.work), daemon=True)
        with _deaf():
            process.start()
        theirs.close()
        self.processes[ours] = process
        return ours

    def dismiss(self) -> None:
        """End all processes: at once those that are still at work, which only are where nobody waits for them."""
        for pipe, process in self.processes.items():
            if pipe in self.at_work:
                process.terminate()
            pipe.close()
        for process in self.processes.values():
            process.join()


def _serve(pipe: Connection, work: Callable[[Task], Result]) -> None:
    """Do what comes through the pipe until it is closed; in a process of its own."""
    # a Ctrl-C goes to all processes of a terminal; when to end is the parent's affair
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    with suppress(EOFError, OSError):
        while True:
            place, task = pipe.recv()
            pipe.send((place, work(task)))


@contextmanager
def _deaf() -> Iterator[None]:
    """Let a process that is started here know no Ctrl-C, not even while it imports."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


def _ending(code: int | None) -> str:
    if code is None or code >= 0:
        return f"its process ended with {code}"
    try:
        name = signal.Signals(-code).name
    except ValueError:
        name = f"signal {-code}"
    return f"its process was ended by {name}"
