"""``geoprofile run``: the whole river."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from .shared import (
    AgainOption,
    JsonOption,
    OutputOption,
    ProgressOption,
    SchedulerOption,
    SetOption,
    ShowProgress,
    SurveyPath,
    on_scheduler,
    print_json,
    run_with_progress,
    say,
    survey_settings,
)


def run(
    survey: SurveyPath = Path("."),
    every_note: Annotated[bool, typer.Option("--every-note", help="Also print every choice made on the way.")] = False,
    output: OutputOption = None,
    set_: SetOption = None,
    again: AgainOption = False,
    as_json: JsonOption = False,
    progress: ProgressOption = ShowProgress.auto,
    scheduler: SchedulerOption = None,
) -> int:
    """Run everything: pits, attributes, terrain, surfaces, zones, salvage, outputs."""
    from .summary import problem_lines, summary_document, summary_lines

    settings, folder = survey_settings(survey, on_scheduler(set_, scheduler))
    done = run_with_progress(
        settings, folder, until="publish", output=output, again=again, progress=progress, as_json=as_json
    )
    say(settings.survey.name, as_json)
    for name, product in done.products.items():
        say(f"\n{name}" + (" (reused)" if name in done.reused else ""), as_json)
        for line in summary_lines(product, notes=every_note):
            say(f"  {line}", as_json)
    for name, reason in done.skipped.items():
        say(f"\n{name}: not made, {reason}", as_json)
    say("\nproblems", as_json)
    for line in problem_lines(done.problems):
        say(f"  {line}", as_json)
    if not every_note:
        say("\nchoices made on the way: tables/notes.csv, record.json, or --every-note", as_json)
    say(f"\nlook at: {done.context.output / 'map.html'}", as_json)
    if as_json:
        print_json(
            {
                "ok": True,
                "command": "run",
                "survey": settings.survey.name,
                "output": str(done.context.output),
                "reused": done.reused,
                "skipped": done.skipped,
                "stages": {name: summary_document(product) for name, product in done.products.items()},
            }
        )
    return 0
