"""The rows of a table that say something of a whole pit: where it is and what its record must carry."""

from __future__ import annotations

import numpy as np
import pandas as pd

from ..context import Context
from ..products import PIT_COLUMNS
from ..settings.pits import PitsSettings
from .columns import Mapped
from .horizons import list_faulty_cells, read_column
from .positions import positions

_PLACE = {"pit_id", "longitude", "latitude", "easting", "northing", "utm_zone", "hemisphere", "crs", "depth_unit", "position_by"}


def read_places(mapped: Mapped, settings: PitsSettings, context: Context, *, stated_crs: str | None, one_row_a_pit: bool,
                kind: str = "unknown", accuracy_m: float | None = None, area=None) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """PIT_COLUMNS known from the table, geometry (shapely or None), ``position`` (row of the table), and notes.

    With ``one_row_a_pit`` False the rows of an id (and date) are one pit: each field is the first that says
    something, and rows that say something else are listed.
    """
    ids = mapped.text("pit_id")
    if one_row_a_pit:
        list_faulty_cells(mapped, ids, {column.heading for columns in mapped.columns.values() for column in columns})
    frame = pd.DataFrame({"pit_id": ids, "position": np.arange(len(ids))})
    for name, columns in mapped.columns.items():
        field = columns[0].field
        if name in _PLACE or field.kind == "reading" or field.tables == ("horizons",):
            continue
        if not one_row_a_pit and name == "remarks":
            continue  # in a table of horizons the remark belongs to the horizon
        for column, values in read_column(mapped, columns[0], context.survey.convention, settings, ids).items():
            frame[column] = values
    found = positions(mapped, stated_crs, context, ids, area)
    frame["geometry"], frame["position_by"] = found.geometry, found.by
    if accuracy_m is not None and "position_accuracy_m" not in frame:
        frame["position_accuracy_m"] = accuracy_m
    for name, (what, _) in PIT_COLUMNS.items():
        if name not in frame.columns:
            frame[name] = "" if what == "text" else np.nan
    frame.loc[frame["kind"] == "", "kind"] = kind
    frame.loc[frame["stopped_by"] == "", "stopped_by"] = "unknown"
    frame["file"], frame["sheet"], frame["row"] = mapped.raw.file, mapped.raw.sheet, mapped.raw.rows
    frame["visit"] = frame["date"]
    frame = frame[~mapped.raw.shifted_rows]
    if not one_row_a_pit:
        frame = _one_row_a_pit(frame[frame["pit_id"] != ""], mapped, settings)
    return frame.reset_index(drop=True), found.notes


def visits_by_date(ids: pd.Series, dates: pd.Series) -> np.ndarray:
    """The date of each row's visit: its own, that of the row above in the same pit, or the pit's first."""
    known = dates.astype(object).where(dates != "", None)
    return known.groupby(ids).ffill().groupby(ids).bfill().fillna("").to_numpy(object)


def _one_row_a_pit(rows: pd.DataFrame, mapped: Mapped, settings: PitsSettings) -> pd.DataFrame:
    """Rows of one pit drawn together. Two dates under one id are two visits; a blank date follows the row above."""
    rows = rows.assign(visit=visits_by_date(rows["pit_id"], rows["date"]))
    keys = rows.groupby(["pit_id", "visit"], sort=False).ngroup().to_numpy()
    count = keys.max() + 1 if len(keys) else 0
    ready: dict[str, np.ndarray] = {}
    for name in rows.columns:
        values = rows[name].to_numpy(object)
        says = np.array([value is not None and value != "" and not (isinstance(value, float) and np.isnan(value)) for value in values], bool)
        out = np.full(count, None, dtype=object)
        where = np.flatnonzero(says)[::-1]
        out[keys[where]] = values[where]  # written from the last to the first, so that the first stands
        ready[name] = out
        if name in ("position", "row", "visit", "date", "kind", "stopped_by", "position_by"):
            continue
        for at in np.flatnonzero(says):
            first, here = out[keys[at]], values[at]
            differs = first.distance(here) > settings.same_place_m if name == "geometry" else first != here
            if differs:
                mapped.problem(int(rows["position"].iloc[at]), "warning", "two values", "rows of one pit say different things; the first is used",
                               field=name, pit_id=rows["pit_id"].iloc[at], found=f"{here}, before it {first}")
    frame = pd.DataFrame(ready)
    for name, (what, _) in PIT_COLUMNS.items():
        frame[name] = frame[name].where(frame[name].notna(), "") if what == "text" else pd.to_numeric(frame[name])
    frame["row"], frame["position"] = frame["row"].astype(int), frame["position"].astype(int)
    return frame
