"""A process that dies at a chosen step of its work on disk, for tests: from then on it does nothing more."""

from __future__ import annotations

import os
from typing import Any

from layout import folders

STEPS = ("open", "write", "fsync", "rename", "replace", "mkdir", "rmdir", "unlink")
"""What writing consists of; ``open`` for reading alone counts too, which does no harm."""


class DeathError(BaseException):
    """The process is gone. No handler of an Exception sees it."""


class Mortal:
    """Counts the steps that a run takes on disk and lets it die before the one of a given number, half way in a write."""

    def __init__(self, monkeypatch: Any) -> None:
        self.patch = monkeypatch
        self.last: int | None = None
        self.taken = 0
        for name in STEPS:
            # nobody pulls the plug, so waiting for the disk is counted and left out
            real = (lambda _: None) if name == "fsync" else getattr(os, name)
            self.patch.setattr(os, name, self._step(name, real))
        self.patch.setattr(folders, "_exchanged", self._step("exchange", folders._exchanged))

    def _step(self, name: str, real: Any) -> Any:
        def step(*args: Any, **named: Any) -> Any:
            self.taken += 1
            if self.last is not None and self.taken >= self.last:
                if name == "write" and self.taken == self.last:
                    real(args[0], bytes(args[1])[: len(args[1]) // 2])
                raise DeathError
            return real(*args, **named)

        return step

    def run(self, work: Any, last: int | None = None) -> bool:
        """Do some work, dying before step ``last``; return whether it was done to its end."""
        self.taken, self.last = 0, last
        try:
            work()
        except DeathError:
            return False
        finally:
            self.last = None
        return True
