"""``geoprofile next-pits``: where to dig next."""

from __future__ import annotations

from enum import StrEnum
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


class PurposeName(StrEnum):
    """What further pits are for."""

    gaps = "gaps"
    terrain = "terrain"
    doubt = "doubt"


STAGES_FOR = {"gaps": ("pits", "terrain"), "terrain": ("pits", "terrain"), "doubt": ("surfaces",)}


def next_pits(
    survey: SurveyPath = Path("."),
    purpose: Annotated[
        PurposeName | None,
        typer.Option(
            "--purpose",
            help="gaps: no land far from a pit; terrain: pits spread over what the terrain does; doubt: where a pit makes "
            "a surface surest, or with --limit which side of it the land lies on. Left out: sampling.purpose, else gaps.",
            show_default=False,
        ),
    ] = None,
    number: Annotated[
        int | None, typer.Option("--number", "-n", min=1, max=500, help="How many further pits; left out: sampling.number, else 10.",
                                 show_default=False)
    ] = None,
    attribute: Annotated[
        str | None, typer.Option("--attribute", help="For doubt: the attribute whose surface is to become surer.", show_default=False)
    ] = None,
    limit: Annotated[
        float | None, typer.Option("--limit", metavar="CM", help="For doubt: the limit a decision hangs on, in the attribute's unit.",
                                   show_default=False)
    ] = None,
    access: Annotated[
        Path | None, typer.Option("--access", metavar="FILE", help="Polygons in which pits may be dug.", show_default=False)
    ] = None,
    exclude: Annotated[
        Path | None, typer.Option("--exclude", metavar="FILE", help="Polygons in which no pit may be dug.", show_default=False)
    ] = None,
    seed: Annotated[
        int | None, typer.Option("--seed", min=0, help="Seed; the same seed gives the same places.", show_default=False)
    ] = None,
    output: OutputOption = None,
    set_: SetOption = None,
    as_json: JsonOption = False,
    progress: ProgressOption = ShowProgress.auto,
) -> int:
    """Say where to dig next, for one of three purposes; writes next_pits.gpx, .gpkg and .csv with the gain of each place."""
    from ..outputs.next_pits import refuse_before_work, write_places
    from ..sampling.chosen import CAUTION
    from ..sampling.places import places_frame
    from ..sampling.stage import choose_next_pits

    settings, folder = survey_settings(survey, set_)
    wish = _wish(settings.sampling, purpose, number, attribute, limit, access, exclude, seed)
    refuse_before_work(output or folder / settings.survey.output)
    products, context = {}, None
    for name in STAGES_FOR[wish.purpose]:
        if name == "terrain" and not settings.terrain.elevation:
            continue
        run = run_with_progress(settings, folder, until=name, output=output, again=False, progress=progress, as_json=as_json)
        products, context = products | run.products, run.context
    chosen = choose_next_pits(products["pits"], products.get("terrain"), products.get("surfaces"), wish, context)
    places = places_frame(chosen, context.survey.crs)
    files = write_places(places, CAUTION, context, settings.publish.lock_wait_s)
    for note in chosen.notes:
        say(note, as_json)
    say(f"{chosen.measure}: {_number(chosen.before, chosen.unit)} now, {_number(chosen.after, chosen.unit)} with all of these, lessened by:", as_json)
    for row in places.itertuples():
        share = f" ({row.gain_percent:g} %)" if row.gain_percent == row.gain_percent else ""
        say(f"{row.name}  {row.x_m:.0f} E {row.y_m:.0f} N  {_number(row.gain, row.unit)}{share}", as_json)
    say(CAUTION, as_json)
    for file in files:
        say(str(file), as_json)
    if as_json:
        rows = places.drop(columns="geometry").astype(object)
        print_json(
            {
                "ok": True,
                "command": "next-pits",
                "purpose": wish.purpose,
                "measure": chosen.measure,
                "unit": chosen.unit,
                "before": _or_none(chosen.before),
                "after": _or_none(chosen.after),
                "places": rows.where(rows.notna(), None).to_dict("records"),
                "files": [str(file) for file in files],
                "notes": list(chosen.notes),
                "caution": CAUTION,
            }
        )
    return 0


def _wish(settings, purpose, number, attribute, limit, access, exclude, seed):
    """[sampling] with what the command line says put in its place."""
    from ..settings.base import LayerSource

    def source(path: Path | None) -> LayerSource | None:
        # a path on the command line starts where the command was given, not at the survey file
        return None if path is None else LayerSource(file=str(path.resolve()))

    said = {
        "purpose": purpose and purpose.value, "number": number, "attribute": attribute, "limit": limit,
        "access": source(access), "exclude": source(exclude), "seed": seed,
    }  # fmt: skip
    said = {name: value for name, value in said.items() if value is not None}
    if purpose is None and "purpose" not in settings.model_fields_set and (attribute or limit is not None):
        said["purpose"] = "doubt"
    return settings.model_copy(update=said)


def _number(value: float, unit: str) -> str:
    return "not known" if value != value else f"{value:.4g} {unit}".rstrip()


def _or_none(value: float) -> float | None:
    return None if value != value else value
