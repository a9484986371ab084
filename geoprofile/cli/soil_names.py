"""``geoprofile soil-names``: soils named from their records, as advice."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from .shared import (
    AgainOption,
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


def soil_names(
    survey: SurveyPath = Path("."),
    pit: Annotated[str | None, typer.Argument(metavar="[PIT]", help="Id of a pit: tells how its name came about.", show_default=False)] = None,
    output: OutputOption = None,
    set_: SetOption = None,
    again: AgainOption = False,
    as_json: JsonOption = False,
    progress: ProgressOption = ShowProgress.auto,
) -> int:
    """Name each soil from its record, as advice: how sure, by which evidence, what is missing, and whether the surveyor's
    name agrees. With a pit's id: the whole story of its name."""
    from ..errors import SettingsError
    from ..naming.story import story
    from .stages import bare_survey

    settings, folder = survey_settings(survey, set_, bare_survey("soil-names", survey))
    run = run_with_progress(settings, folder, until="soil_names", output=output, again=again, progress=progress, as_json=as_json)
    product = run.products.get("soil_names")
    if product is None:
        raise SettingsError("soils are not named: it is switched off", where="naming.use", remedy="set it to true, or leave it out")
    if pit is not None:
        lines = list(story(product, pit))
        for line in lines:
            say(line, as_json)
        if as_json:
            print_json({"ok": True, "command": "soil-names", "pit": pit, **_document(product, pit), "text": "\n".join(lines)})
        return 0
    for line in _table(product.names):
        say(line, as_json)
    for note in product.notes:
        say(note, as_json)
    if as_json:
        print_json({"ok": True, "command": "soil-names", "notes": list(product.notes), "names": product.names.to_dict("records")})
    return 0


def _table(names):
    """One line a pit that has horizons; names that tie and alternatives in words."""
    told = names[~names["sure"].str.startswith("not named: no horizons")]
    width = max((len(pit) for pit in told["pit_id"]), default=0)
    for row in told.itertuples():
        name = f"{row.subgroup}; {row.sure}" if row.sure.startswith("decided") else row.sure
        surveyor = f" | surveyor: {row.recorded_soil}, {row.agreement or 'not compared'}" if row.recorded_soil else ""
        yield f"{row.pit_id:<{width}}  {name}{surveyor}"
    silent = len(names) - len(told)
    if silent:
        yield f"{silent} without horizons are not named"
    yield ""


def _document(product, pit: str) -> dict:
    steps = product.steps[product.steps["pit_id"] == pit].drop(columns="pit_id")
    return {
        "name": product.names[product.names["pit_id"] == pit].iloc[0].to_dict(),
        "steps": [{**step, "step": int(step["step"])} for step in steps.to_dict("records")],
    }
