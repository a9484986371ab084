"""Pits made by hand, for tests that start from described horizons."""

from __future__ import annotations

import geopandas as gpd
import pandas as pd
from shapely.geometry import Point

from geoprofile.problems import problems_frame
from geoprofile.products import HORIZON_COLUMNS, PIT_COLUMNS, READING_COLUMNS, Pits, typed
from geoprofile.record import Record


def make_pits(described: dict[str, list], facts: dict[str, dict] | None = None, readings: list[dict] = ()) -> Pits:
    """Pits by id: horizons as (designation, upper, lower) or (designation, upper, lower, {column: value})."""
    facts = facts or {}
    rows = []
    for pit_id, horizons in described.items():
        for number, (designation, upper, lower, *more) in enumerate(horizons, start=1):
            row = {"pit_id": pit_id, "order": number, "designation": designation, "upper_cm": upper, "lower_cm": lower}
            rows.append({**row, **(more[0] if more else {})})
    table = pd.DataFrame([{"pit_id": pit_id, "place_id": pit_id, "kind": "pit", **facts.get(pit_id, {})} for pit_id in described])
    points = gpd.GeoSeries([Point(500_000 + 10 * n, 5_900_000) for n in range(len(table))], crs="EPSG:3158")
    return Pits(
        record=Record("pits", {}),
        pits=gpd.GeoDataFrame(typed(table, PIT_COLUMNS), geometry=points),
        horizons=typed(pd.DataFrame(rows, columns=None if rows else ["pit_id"]), HORIZON_COLUMNS),
        readings=typed(pd.DataFrame(list(readings), columns=None if readings else ["pit_id"]), READING_COLUMNS),
        problems=problems_frame([]),
    )
