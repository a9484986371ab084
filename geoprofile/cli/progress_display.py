"""Who shows progress: bars on a terminal, JSON lines for another program, or nobody."""

from __future__ import annotations

import json
import sys

from ..progress import Progress, Task
from .shared import ShowProgress


class Quiet(Progress):
    """Says which product was reused, shows no bars."""

    def say(self, text: str) -> None:
        sys.stderr.write(f"{text}\n")

    def close(self) -> None:
        pass


class JsonLines(Progress):
    """One JSON object a line on standard error."""

    def show(self, task: Task) -> None:
        self._write({"task": task.title, "done": task.done, "total": task.total})

    def finish(self, task: Task) -> None:
        self._write({"task": task.title, "done": task.done, "total": task.total, "finished": True})

    def say(self, text: str) -> None:
        self._write({"message": text})

    def close(self) -> None:
        pass

    @staticmethod
    def _write(document: dict) -> None:
        sys.stderr.write(json.dumps(document) + "\n")
        sys.stderr.flush()


class Bars(Progress):
    """Bars on a terminal, on standard error."""

    def __init__(self) -> None:
        super().__init__()
        from rich.console import Console
        from rich.progress import BarColumn, MofNCompleteColumn, TextColumn, TimeRemainingColumn
        from rich.progress import Progress as RichProgress

        self._rich = RichProgress(
            TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn(),
            console=Console(stderr=True), transient=True,
        )  # fmt: skip
        self._ids: dict[int, int] = {}
        self._rich.start()

    def show(self, task: Task) -> None:
        if id(task) not in self._ids:
            self._ids[id(task)] = self._rich.add_task(task.title, total=task.total)
        self._rich.update(self._ids[id(task)], completed=task.done)

    def finish(self, task: Task) -> None:
        number = self._ids.pop(id(task), None)
        if number is not None:
            self._rich.remove_task(number)

    def say(self, text: str) -> None:
        self._rich.console.print(text, markup=False, highlight=False)

    def close(self) -> None:
        self._rich.stop()


def make_progress(wish: ShowProgress, as_json: bool) -> Quiet | JsonLines | Bars:
    if wish is ShowProgress.json:
        return JsonLines()
    if wish is ShowProgress.auto and sys.stderr.isatty():
        return Bars()
    return Quiet()
