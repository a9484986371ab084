"""What the stage says while it works: notes in plain sentences, problems with their remedy."""

from __future__ import annotations

from ..problems import Problem


class Findings:
    """Collects; the stage freezes them into its product at the end."""

    def __init__(self) -> None:
        self.notes: list[str] = []
        self.problems: list[Problem] = []

    def note(self, text: str) -> None:
        if text not in self.notes:
            self.notes.append(text)

    def problem(self, severity: str, check: str, what: str, **fields) -> None:
        self.problems.append(Problem(severity, check, what, **fields))

    def refuse(self, what: str, remedy: str) -> None:
        """No draft zones: said once as a note and once as a problem."""
        self.note(f"no draft zones: {what}")
        self.problem("warning", "draft zones", f"no draft zones were drawn: {what}", remedy=remedy)
