"""``geoprofile describe``: one pit as a publishable description."""

from __future__ import annotations

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
    survey_settings,
)


def describe(
    survey: SurveyPath,
    pit: Annotated[str, typer.Argument(metavar="PIT", help="Id of the pit.", show_default=False)],
    output: OutputOption = None,
    set_: SetOption = None,
    as_json: JsonOption = False,
    progress: ProgressOption = ShowProgress.auto,
) -> int:
    """Print the description of a pit in the order that the manuals of its convention print; field notes read it back."""
    from difflib import get_close_matches

    from ..errors import SettingsError
    from ..pits.describe import describe as write
    from .stages import bare_survey

    settings, folder = survey_settings(survey, set_, bare_survey("pits", survey))
    run = run_with_progress(settings, folder, until="pits", output=output, again=False, progress=progress, as_json=as_json)
    pits = run.products["pits"]
    ids = list(pits.pits["pit_id"])
    if pit not in ids:
        near = get_close_matches(pit, ids, 3, 0.5)
        raise SettingsError("there is no such pit", found=pit, allowed=f"{len(ids)} pits, such as {', '.join(ids[:5])}",
                            remedy=f"did you mean {' or '.join(near)}?" if near else "give an id of the survey")  # fmt: skip
    text = write(pits, pit, settings.survey.convention)
    if as_json:
        print_json({"ok": True, "command": "describe", "pit": pit, "text": text})
    else:
        typer.echo(text, nl=False)
    return 0
