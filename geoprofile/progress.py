"""Progress and clean cancel, seen from the stages.

A stage calls ``with context.progress.task("kriging", total) as task: task.advance()``.
Who shows it (a bar, JSON lines, nothing) is decided by the command line.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from threading import Event

from .errors import Cancelled


class Task:
    """One piece of work with a known or unknown number of steps."""

    def __init__(self, progress: Progress, title: str, total: int | None) -> None:
        self.progress, self.title, self.total, self.done = progress, title, total, 0

    def advance(self, steps: int = 1) -> None:
        """Count steps; raises :class:`Cancelled` when the user has asked to stop."""
        self.done += steps
        self.progress.check()
        self.progress.show(self)


class Progress:
    """Shows nothing, but can be cancelled. Subclasses override :meth:`show` and :meth:`finish`."""

    def __init__(self) -> None:
        self._stop = Event()

    def cancel(self) -> None:
        self._stop.set()

    def check(self) -> None:
        if self._stop.is_set():
            raise Cancelled("stopped as asked; nothing half-written is left")

    @contextmanager
    def task(self, title: str, total: int | None = None) -> Iterator[Task]:
        self.check()
        task = Task(self, title, total)
        self.show(task)
        try:
            yield task
        finally:
            self.finish(task)

    def show(self, task: Task) -> None:
        """Called at each step."""

    def finish(self, task: Task) -> None:
        """Called once when the task ends, well or not."""

    def say(self, text: str) -> None:
        """One line for the person watching, such as which product was reused."""
