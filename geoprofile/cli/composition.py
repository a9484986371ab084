"""``geoprofile composition``: polygons edited by hand, taken back."""

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

FOLDER = "composition"


def composition(
    polygons: Annotated[Path, typer.Argument(help="File of the edited polygons; it is read and never written.", show_default=False)],
    survey: SurveyPath = Path("."),
    layer: Annotated[str | None, typer.Option("--layer", help="Layer, where the file holds more than one.", show_default=False)] = None,
    id: Annotated[str | None, typer.Option("--id", help="Column that names each polygon.", show_default=False)] = None,
    map_unit: Annotated[str | None, typer.Option("--map-unit", help="Column of the map unit.", show_default=False)] = None,
    output: OutputOption = None,
    set_: SetOption = None,
    as_json: JsonOption = False,
    progress: ProgressOption = ShowProgress.auto,
) -> int:
    """Take hand-edited polygons back: hectares, pits inside, what each map unit is made of, gaps and overlaps."""
    from ..errors import InputError
    from ..layers import read_polygons
    from ..zones.composition import composition as compose
    from .summary import problem_lines

    if not polygons.exists():
        raise InputError("the file of the edited polygons is not there", where=str(polygons), remedy="check the path that you gave")
    settings, folder = survey_settings(survey, set_)
    run = run_with_progress(
        settings, folder, until="attributes", output=output, again=False, progress=progress, as_json=as_json
    )
    context, source = run.context, settings.survey.area_source
    area = None
    if source is not None:
        area = read_polygons(context.path(source.file), source.layer, crs=settings.survey.crs, what="the survey area").union_all()
    made = compose(
        polygons, layer, run.products["pits"], run.products["attributes"],
        crs=settings.survey.crs, id=id, map_unit=map_unit, area=area,
    )  # fmt: skip
    files = _write({**made.tables, "problems": made.problems}, context.output)
    for note in made.notes:
        say(note, as_json)
    for line in problem_lines(made.problems):
        say(line, as_json)
    for file in files:
        say(str(file), as_json)
    if as_json:
        print_json(
            {
                "ok": True,
                "command": "composition",
                "polygons": len(made.polygons),
                "area_ha": round(float(made.polygons["area_ha"].sum()), 4),
                "problems": len(made.problems),
                "files": [str(file) for file in files],
            }
        )
    return 0


def _write(tables: dict, output: Path) -> list[Path]:
    """The tables below ``output/composition``; a file there that is not ours is refused."""
    from ..errors import writing
    from ..outputs.tables import csv_bytes
    from ..written import place, refuse

    folder = output / FOLDER
    with writing(folder):
        folder.mkdir(parents=True, exist_ok=True)
    refuse(output, [f"{FOLDER}/{name}.csv" for name in tables])
    for name, table in tables.items():
        temporary = folder / f".{name}.csv"
        try:
            with writing(folder / f"{name}.csv"):
                temporary.write_bytes(csv_bytes(table))
            place(temporary, output, f"{FOLDER}/{name}.csv")
        finally:
            temporary.unlink(missing_ok=True)
    return [folder / f"{name}.csv" for name in tables]
