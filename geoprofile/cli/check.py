"""``geoprofile check``: what is wrong with the material, before anything is made of it."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from .shared import (
    JsonOption,
    OutputOption,
    ProgressOption,
    SetOption,
    ShowProgress,
    SurveyPath,
    print_json,
    run_with_progress,
    say,
    survey_settings,
)


def check(
    survey: SurveyPath = Path("."),
    every: Annotated[bool, typer.Option("--every", help="List every problem with its file and row.")] = False,
    show_reading: Annotated[
        bool, typer.Option("--show-reading", help="Print field notes with what was understood and what was left. Also for a bare text file.")
    ] = False,
    output: OutputOption = None,
    set_: SetOption = None,
    as_json: JsonOption = False,
    progress: ProgressOption = ShowProgress.auto,
) -> int:
    """Read the survey file and the descriptions, and list every problem once with what to do.

    Ends with 3 where one of them is an error: something that was not read or not used until it is corrected. Warnings and
    notes end with 0.
    """
    from ..errors import InputError
    from ..problems import counted
    from .stages import bare_survey
    from .summary import problem_lines, summary_document

    if show_reading:
        return _show_reading(survey, set_, as_json)

    settings, folder = survey_settings(survey, set_, bare_survey("check", survey))
    run = run_with_progress(
        settings, folder, until="attributes", output=output, again=False, progress=progress, as_json=as_json
    )
    pits = run.products["pits"]
    for note in pits.notes:  # the last of them counts pits, horizons and readings
        say(note, as_json)
    problems = run.problems
    if every:
        for row in problems.itertuples():
            say(_line(row), as_json)
    else:
        for line in problem_lines(problems):
            say(line, as_json)
    errors = int((problems["severity"] == "error").sum())
    if errors:
        say(f"{counted(errors, 'error')} to correct; what is in error was not used", as_json)
    code = InputError.exit_code if errors else 0
    if as_json:
        records = problems.astype(object).where(problems.notna(), None).to_dict("records")
        print_json(
            {
                "ok": not errors,
                "exit_code": code,
                "command": "check",
                "errors": errors,
                "problems": records,
                "stages": {name: summary_document(product) for name, product in run.products.items()},
            }
        )
    return code


def _show_reading(survey: Path, set_: list[str] | None, as_json: bool) -> int:
    """Print the notes of a survey, or of a bare text file, with what was read of them."""
    from ..pits.notes.reader import READER
    from ..pits.notes.show import reading_document, reading_lines
    from ..pits.opening import notes_path

    if survey.is_file() and survey.suffix.lower() in READER.suffixes:
        path, unit = survey, "cm"
    else:
        settings, folder = survey_settings(survey, set_, None)
        path, unit = notes_path(settings.pits, folder), settings.pits.depth_unit or "cm"
    notes = READER.read_notes(path, depth_unit=unit)
    for line in reading_lines(notes):
        say(line, as_json)
    if as_json:
        print_json({"ok": True, "command": "check", "reading": reading_document(notes)})
    return 0


def _line(row) -> str:
    number = "" if pd_missing(row.row) else f"row {row.row}"
    place = ", ".join(part for part in (text(row.file), text(row.sheet), number) if part)
    pit = f"pit {row.pit_id}: " if text(row.pit_id) else ""
    parts = [f"{row.severity}: {place}: {pit}{row.what}" if place else f"{row.severity}: {pit}{row.what}"]
    for label, said in (("found", row.found), ("allowed", row.allowed), ("do", row.remedy)):
        if text(said):
            parts.append(f"{label}: {said}")
    return "; ".join(parts)


def text(value: object) -> str:
    return value if isinstance(value, str) else ""


def pd_missing(value: object) -> bool:
    import pandas as pd

    return pd.isna(value)
