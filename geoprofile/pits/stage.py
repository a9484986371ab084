"""The first stage: from field tables to checked pits.

Tables are laid out as pits, horizons and readings; ids are joined; visits and
places are settled; depths are brought to their datum; what a record must carry is
completed; every profile is checked. Bad rows become problems, once; good rows go on.
"""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import pandas as pd

from ..context import Context
from ..problems import Problem, counted, problems_frame
from ..products import HORIZON_COLUMNS, PIT_COLUMNS, READING_COLUMNS, Pits, typed
from ..record import Record
from ..settings.pits import PitsSettings
from . import joining
from .check_places import FAR, check_places
from .check_readings import check_readings
from .check_values import without_impossible
from .checks import check_profiles
from .completing import blanks_are_missing, complete
from .inspections import add_inspections
from .layouts import lay_out
from .positions import check_area, survey_area
from .repeated_ids import settle_repeated_ids
from .set_aside import list_set_aside
from .settling_datum import settle_datum
from .unread import UNREAD, drop_impossible, with_open_ranges

COLOUR_NAME = "colour name"
"""The one check that readers make: names and notations stand together only in the source."""


def read_pits(settings: PitsSettings, context: Context, record: Record) -> Pits:
    """Read, join, settle and check the descriptions of a survey.

    Raises InputError for what makes a whole table unusable (no unit of depth, ambiguous
    dates, no id that matches, exchanged coordinates), SettingsError for a column map
    that names what is not there. Everything smaller is a problem of the product.
    """
    with context.progress.task("reading pits", 4) as task:
        area = survey_area(context)
        laid = lay_out(settings, context, area)
        task.advance()

        read = laid.horizons
        pits, horizons, readings, problems, notes = laid.pits, laid.horizons, laid.readings, laid.problems, laid.notes
        if pits is None:
            pits = laid.inspections.iloc[:0]
        pits = joining.drop_blank_ids(pits, "pits", problems)
        inspections = laid.inspections
        if laid.points is not None:
            points = joining.drop_blank_ids(laid.points, "points", problems)
            pits, inspections = _placed(pits, inspections, points, problems)
        pits, horizons, readings = settle_repeated_ids(pits, horizons, readings, settings, problems)
        if inspections is not None:
            pits, readings = add_inspections(pits, readings, inspections, settings, problems)
        horizons = joining.join_horizons(pits, horizons, problems)
        horizons = joining.drop_repeated_horizons(horizons, problems)
        pits, aside = joining.settle_places(pits, settings, problems)
        horizons = horizons[~horizons["pit_id"].isin(aside)]
        readings = readings[readings["pit_id"].isin(set(pits["pit_id"]))]
        problems += list_set_aside(read, horizons, problems)
        joining.list_undescribed(pits, horizons, readings, problems, read["pit_id"])
        task.advance()

        pits, horizons, found, said = settle_datum(pits, horizons, settings.organic_layers, context.survey.convention)
        problems += found
        notes += said
        readings, found = check_readings(pits, horizons, readings)
        problems += found
        # every horizon is checked, also those whose depths are impossible; only the others go on
        all_pits, all_horizons, _ = complete(pits, horizons)
        off = settings.checks_off
        problems = [problem for problem in problems if not (problem.check == COLOUR_NAME and COLOUR_NAME in off)]
        problems += check_profiles(all_pits, all_horizons.sort_values(["file", "row"], kind="stable"), context.survey.convention, off)
        horizons = without_impossible(drop_impossible(horizons))
        pits, horizons, said = complete(pits, with_open_ranges(horizons))
        notes += said
        task.advance()

        pits = _as_pits(pits, context)
        horizons = blanks_are_missing(horizons.drop(columns=["position", "open_below", "open_above", "visit"], errors="ignore"), HORIZON_COLUMNS)
        horizons = horizons.assign(**{UNREAD: horizons[UNREAD].astype(bool)}) if horizons[UNREAD].any() else horizons.drop(columns=UNREAD)
        horizons = typed(horizons, HORIZON_COLUMNS).reset_index(drop=True)
        readings = typed(readings, READING_COLUMNS, extra=False).reset_index(drop=True)
        problems += _without_place(pits, problems)
        outside = check_area(pits, context, area)
        problems += outside
        if FAR not in off:
            problems += check_places(pits, {problem.pit_id for problem in outside})
        task.advance()
    if settings.checks_off:
        notes.append(f"checks switched off in the survey file: {', '.join(settings.checks_off)}")
    notes.append(f"{counted(len(pits), 'pit')}, {counted(len(horizons), 'horizon')} and {counted(len(readings), 'direct reading')}; missing is written as {_words(settings)}")
    return Pits(record, pits, horizons, readings, problems_frame(problems), tuple(dict.fromkeys(notes)))


def _placed(pits: pd.DataFrame, inspections: pd.DataFrame | None, points: pd.DataFrame, problems: list[Problem]
            ) -> tuple[pd.DataFrame, pd.DataFrame | None]:
    """Pits, and inspections that bring no coordinates of their own, at the points of their ids."""
    if inspections is None or any(shape is not None for shape in inspections["geometry"]):
        return joining.join_points(pits, points, problems), inspections
    lines = joining.drop_blank_ids(inspections, "inspections", problems)
    filled = [frame for frame in (pits, lines) if len(frame)]
    both = joining.join_points(pd.concat(filled, ignore_index=True) if filled else pits, points, problems)
    return both.iloc[: len(pits)], both.iloc[len(pits):]


def _as_pits(pits: pd.DataFrame, context: Context) -> gpd.GeoDataFrame:
    shapes = gpd.GeoSeries(pits["geometry"].to_numpy(object), crs=context.survey.crs)
    pits = blanks_are_missing(pits.drop(columns=["geometry", "position", "visit"], errors="ignore"), PIT_COLUMNS)
    frame = typed(pits, PIT_COLUMNS).reset_index(drop=True)
    return gpd.GeoDataFrame(frame, geometry=shapes, crs=context.survey.crs)


def _without_place(pits: gpd.GeoDataFrame, listed: list[Problem]) -> list[Problem]:
    """Pits kept without a place; those that no point matched are listed already."""
    no_point = {problem.pit_id for problem in listed if problem.check == "no point"}
    return [
        joining.at(row, "warning", "no place", "the pit has no usable coordinates; it is kept for the tables and stays off the map",
                   pit_id=row["pit_id"], remedy="add its coordinates")
        for _, row in pits[np.array([shape is None for shape in pits.geometry], bool)].iterrows() if row["pit_id"] not in no_point
    ]


def _words(settings: PitsSettings) -> str:
    shown = ", ".join(repr(word) if word else "blank" for word in settings.missing) or "nothing"
    per = "; ".join(f"{name}: {', '.join(repr(word) if word else 'blank' for word in words) or 'nothing'}" for name, words in settings.missing_for.items())
    return shown + (f" ({per})" if per else "")
