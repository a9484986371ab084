"""What every stage is told besides its own settings."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from .progress import Progress
from .settings.run import RunSettings
from .settings.survey import GridSettings, SurveySettings


@dataclass(frozen=True)
class Context:
    """The survey's frame: where its files are, its system, where outputs go, who watches.

    ``folder`` is the survey file's folder; relative paths of the survey file
    start there. ``output`` is the folder that outputs go to. ``run`` says who does
    the work; it changes no result.
    """

    survey: SurveySettings
    grid: GridSettings
    folder: Path
    output: Path
    progress: Progress = field(default_factory=Progress)
    run: RunSettings = field(default_factory=RunSettings)

    def path(self, name: str) -> Path:
        """A path of the survey file, made absolute."""
        return (self.folder / name).resolve()
