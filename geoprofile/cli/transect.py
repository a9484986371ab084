"""``geoprofile transect``: a toposequence at true elevation."""

from __future__ import annotations

from pathlib import Path

from .shared import JsonOption, OutputOption, ProgressOption, SetOption, ShowProgress, SurveyPath
from .shared import print_json, run_with_progress, say, survey_settings


def transect(
    survey: SurveyPath = Path("."),
    output: OutputOption = None,
    set_: SetOption = None,
    as_json: JsonOption = False,
    progress: ProgressOption = ShowProgress.auto,
) -> int:
    """Draw the toposequence: profiles at true elevation with boundaries as described."""
    from ..outputs.bundle import Bundle
    from ..registry import plugins

    settings, folder = survey_settings(survey, set_)
    run = run_with_progress(settings, folder, until="zones", output=output, again=False, progress=progress, as_json=as_json)
    bundle = Bundle(settings.publish, run.context, **run.products)
    files = plugins("geoprofile.writers").get("transects").write(bundle)
    for file in files:
        say(f"{run.context.output / file.path}: {file.what}", as_json)
    if as_json:
        print_json({"ok": True, "command": "transect", "files": [str(run.context.output / file.path) for file in files]})
    return 0
