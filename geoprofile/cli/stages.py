"""The stage commands: ``pits``, ``attributes``, ``terrain``, ``surfaces``, ``zones``, ``salvage``, ``publish``.

They differ only in where the river stops, so one function makes them all.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
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

HELP = {
    "pits": "Read the pit descriptions, check them and list what is wrong.",
    "attributes": "Summarise each pit: thicknesses, depths and averages, each as an interval.",
    "terrain": "Compute terrain from the elevation raster. Also runs on a bare raster: geoprofile terrain dem.tif -o out",
    "surfaces": "Map the attributes on the survey grid, with 90 % intervals and scores.",
    "zones": "Draw draft zones, and the tables by zone, stratum, parcel, recorded soil and route.",
    "salvage": "Topsoil to strip by polygon: depth, area and bank volume with intervals.",
    "publish": "Write the GeoPackage, tables, transects, report and map. Runs what is missing before it.",
}


def commands() -> Iterator[tuple[str, Callable]]:
    """(name, function) of every stage command."""
    for name, help_text in HELP.items():
        yield name, surfaces if name == "surfaces" else _command(name, help_text)


def surfaces(
    survey: SurveyPath = Path("."),
    output: OutputOption = None,
    set_: SetOption = None,
    again: AgainOption = False,
    explain: Annotated[
        tuple[float, float] | None,
        typer.Option("--explain", metavar="X Y", help="Tell why the map has its value at this easting and northing: the pits that "
                     "weigh most and what each says. Nothing is fitted again.", show_default=False),
    ] = None,
    attribute: Annotated[
        str | None, typer.Option("--attribute", help="For --explain: the attribute; left out: all that are mapped.", show_default=False)
    ] = None,
    compare: Annotated[
        bool,
        typer.Option("--compare", help="Score every installed method on every attribute, by location and refitted in each part, and "
                     "print the table. Takes minutes."),
    ] = False,
    as_json: JsonOption = False,
    progress: ProgressOption = ShowProgress.auto,
    scheduler: SchedulerOption = None,
) -> int:
    settings, folder = survey_settings(survey, on_scheduler(set_, scheduler))
    run = run_with_progress(settings, folder, until="surfaces", output=output, again=again, progress=progress, as_json=as_json)
    if explain is not None:
        from .explain_surface import explain_place

        return explain_place(run, attribute, explain, as_json)
    if compare:
        from .compare_surfaces import compare as compare_methods

        return compare_methods(run, progress, as_json)
    return report("surfaces", run, as_json)


surfaces.__doc__ = HELP["surfaces"]


def _command(name: str, help_text: str) -> Callable:
    def command(
        survey: SurveyPath = Path("."),
        output: OutputOption = None,
        set_: SetOption = None,
        again: AgainOption = False,
        as_json: JsonOption = False,
        progress: ProgressOption = ShowProgress.auto,
        scheduler: SchedulerOption = None,
    ) -> int:
        bare = bare_survey(name, survey)
        settings, folder = survey_settings(survey, on_scheduler(set_, scheduler), bare)
        run = run_with_progress(
            settings, folder, until=name, output=output, again=again, progress=progress, as_json=as_json
        )
        return report(name, run, as_json)

    command.__name__ = name
    command.__doc__ = help_text
    return command


def report(name: str, run, as_json: bool) -> int:
    """Print what stage ``name`` made, as text and, where asked, as JSON."""
    from ..errors import InputError
    from .summary import problem_lines, summary_document, summary_lines

    if name not in run.products:
        raise InputError(f"{name} could not be made: {run.skipped[name]}", where="survey.toml",
                         remedy=f"add it to the survey file; see: geoprofile explain {name}")  # fmt: skip
    for line in summary_lines(run.products[name]):
        say(line, as_json)
    problems = getattr(run.products[name], "problems", None)
    if problems is not None and len(problems):
        say("", as_json)
        for line in problem_lines(problems):
            say(line, as_json)
    if as_json:
        print_json(
            {
                "ok": True,
                "command": name,
                "survey": run.settings.survey.name,
                "output": str(run.context.output),
                "reused": run.reused,
                "skipped": run.skipped,
                "stages": {stage: summary_document(product) for stage, product in run.products.items()},
            }
        )
    return 0


def bare_survey(name: str, path: Path) -> dict | None:
    """Settings for a bare file instead of a survey file, or None. Keys it lacks come with ``--set``."""
    suffix = path.suffix.lower()
    if path.is_dir() or suffix == ".toml":
        return None
    if name == "terrain" and suffix in (".tif", ".tiff", ".img", ".vrt", ".asc"):
        survey = {"name": path.stem, "crs": _raster_crs(path)}
        return {"format": 1, "survey": survey, "terrain": {"elevation": path.name}}
    if name in ("pits", "attributes", "check", "soil-names") and suffix in (".csv", ".tsv", ".txt", ".md", ".xlsx", ".xls", ".ods"):
        return {"format": 1, "survey": {"name": path.stem}, "pits": {"horizons": {"file": path.name}}}
    return None


def _raster_crs(path: Path) -> str:
    from .. import environment as _environment  # noqa: F401
    from ..errors import InputError

    import rasterio

    try:
        with rasterio.open(path) as source:
            if source.crs is None:
                raise InputError("the raster does not say its coordinate system", where=str(path),
                                 remedy="add --set survey.crs=EPSG:... and --set terrain.elevation_crs=EPSG:...")  # fmt: skip
            return source.crs.to_string()
    except rasterio.errors.RasterioIOError as error:
        raise InputError("the raster cannot be opened", where=str(path), found=str(error)) from error
