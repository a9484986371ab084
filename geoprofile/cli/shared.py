"""Options that several commands share, and how a run is started from them: written once."""

from __future__ import annotations

import json
import signal
import sys
import tomllib
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from ..errors import SettingsError


class ShowProgress(StrEnum):
    """auto: bars on a terminal, nothing elsewhere."""

    auto = "auto"
    none = "none"
    json = "json"


SurveyPath = Annotated[
    Path, typer.Argument(metavar="SURVEY", help="Survey file, or the folder of a survey.toml.", show_default=False)
]
JsonOption = Annotated[
    bool, typer.Option("--json", help="Print one machine-readable document; text for people goes to standard error.")
]
ProgressOption = Annotated[
    ShowProgress, typer.Option("--progress", help="auto: bars on a terminal; json: one line of JSON a step on standard error.")
]
OutputOption = Annotated[
    Path | None, typer.Option("--output", "-o", help="Folder for outputs, instead of survey.output.", show_default=False)
]
AgainOption = Annotated[bool, typer.Option("--again", help="Compute everything anew, reuse nothing.")]
SetOption = Annotated[
    list[str] | None,
    typer.Option(
        "--set", metavar="KEY=VALUE", help="Override one key of the survey file, as --set grid.cell_m=10.", show_default=False
    ),
]
SchedulerOption = Annotated[
    str | None,
    typer.Option(
        "--scheduler", metavar="ADDRESS", show_default=False,
        help="Work on a cluster: the address of a dask.distributed scheduler, as tcp://host:8786; see explain run.scheduler.",
    ),
]  # fmt: skip


def on_scheduler(overrides: list[str] | None, scheduler: str | None) -> list[str] | None:
    """Overrides with ``--scheduler`` among them."""
    return [*(overrides or []), f"run.scheduler={scheduler}"] if scheduler else overrides


def survey_settings(survey: Path, overrides: list[str] | None, bare: dict | None = None):
    """Settings and folder of a survey file with ``--set`` applied.

    ``bare`` stands for the survey file when a stage is run on a bare file.
    """
    from ..settings import SurveyFile, load_survey, mistake

    if bare is None and not overrides:
        return load_survey(survey), (survey if survey.is_dir() else survey.parent)
    if bare is not None:
        values, folder, where = bare, survey.parent, str(survey)
    else:
        path = survey / "survey.toml" if survey.is_dir() else survey
        load_survey(path)  # mistakes of the file itself are reported with their lines
        values, folder, where = tomllib.loads(path.read_text(encoding="utf-8-sig")), path.parent, str(path)
    for override in overrides or []:
        _apply(values, override)
    from pydantic import ValidationError

    try:
        return SurveyFile.model_validate(values), folder
    except ValidationError as error:
        first = error.errors()[0]
        if bare is not None and first["type"] == "missing":
            key = ".".join(str(part) for part in first["loc"])
            raise SettingsError(
                f"{key} is not known, and a bare file has no survey file to say it", where=where,
                remedy=f"add --set {key}=... (as --set survey.crs=EPSG:3158), or start a survey file with: geoprofile new FOLDER; "
                f"see: geoprofile explain {key}",
            ) from error
        raise mistake(first, "", "--set") from error


def _apply(values: dict, override: str) -> None:
    key, sign, text = override.partition("=")
    if not sign or not key.strip():
        raise SettingsError("an override must read KEY=VALUE", found=override, remedy="as --set grid.cell_m=10")
    try:
        value = tomllib.loads(f"value = {text}")["value"]
    except tomllib.TOMLDecodeError:
        value = text  # plain words need no quotes on a command line
    table = values
    *path, last = key.strip().split(".")
    for part in path:
        table = table.setdefault(part, {})
        if not isinstance(table, dict):
            raise SettingsError("an override goes through a key that is not a table", found=override)
    table[last] = value


def run_with_progress(settings, folder: Path, *, until: str, output: Path | None, again: bool, progress: ShowProgress, as_json: bool):
    """Call :func:`geoprofile.pipeline.run_survey` with progress shown and signals turned into a cancel."""
    from ..pipeline import run_survey
    from .log import library_messages
    from .progress_display import make_progress

    watcher = make_progress(progress, as_json)
    before = {}

    def stop(number, frame):
        watcher.cancel()
        signal.signal(number, before[number])  # asked twice, stop at once

    for number in (signal.SIGINT, signal.SIGTERM):
        before[number] = signal.signal(number, stop)
    place = Path(output or folder / settings.survey.output)
    try:
        with library_messages(place):
            return run_survey(settings, until=until, folder=folder, output=output, progress=watcher, again=again)
    finally:
        watcher.close()
        for number, handler in before.items():
            signal.signal(number, handler)


def say(text: str, as_json: bool) -> None:
    """A line for people: on standard output, or on standard error beside JSON."""
    typer.echo(text, err=as_json)


def print_json(document: dict) -> None:
    """The one document of ``--json``: strict JSON."""
    json.dump(document, sys.stdout, indent=2, ensure_ascii=False, allow_nan=False, default=str)
    sys.stdout.write("\n")
