"""``geoprofile next-pits``: where to dig next."""

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


def next_pits(
    survey: SurveyPath = Path("."),
    number: Annotated[int, typer.Option("--number", "-n", min=1, max=500, help="How many further pits.")] = 10,
    seed: Annotated[int, typer.Option("--seed", min=0, help="Seed; the same seed gives the same places.")] = 1,
    output: OutputOption = None,
    set_: SetOption = None,
    as_json: JsonOption = False,
    progress: ProgressOption = ShowProgress.auto,
) -> int:
    """Say where to dig next so that no land lies far from a pit; writes next_pits.gpx and next_pits.csv."""
    from ..sampling.next_pits import CAUTION
    from ..sampling.next_pits import next_pits as choose
    from ..sampling.places import existing_points, land_cells, places_frame, write_places

    settings, folder = survey_settings(survey, set_)
    until = "terrain" if settings.terrain.elevation else "pits"
    runs = [
        run_with_progress(settings, folder, until=name, output=output, again=False, progress=progress, as_json=as_json)
        for name in dict.fromkeys(("pits", until))
    ]
    products = {name: product for run in runs for name, product in run.products.items()}
    context = runs[-1].context
    cells = land_cells(products.get("terrain"), products["pits"], context)
    chosen = choose(cells, existing_points(products["pits"]), number, seed)
    places = places_frame(chosen, context.survey.crs)
    files = write_places(places, context.output)
    for row in places.itertuples():
        say(f"{row.name}  {row.x_m:.0f} E {row.y_m:.0f} N  mean squared distance to a pit falls by {row.gain_m2:g} m2", as_json)
    say(f"mean squared distance to the nearest pit: {chosen.before_m2:.0f} m2 now, {chosen.after_m2:.0f} m2 then", as_json)
    say(CAUTION, as_json)
    for file in files:
        say(str(file), as_json)
    if as_json:
        rows = places.drop(columns="geometry")
        print_json(
            {
                "ok": True,
                "command": "next-pits",
                "places": rows.astype(object).where(rows.notna(), None).to_dict("records"),
                "files": [str(file) for file in files],
                "caution": CAUTION,
            }
        )
    return 0
