"""Pits made by hand."""

from __future__ import annotations

import geopandas as gpd
import pandas as pd
import pytest
from shapely.geometry import Point

from geoprofile.attributes.stage import derive_attributes
from geoprofile.problems import problems_frame
from geoprofile.products import HORIZON_COLUMNS, PIT_COLUMNS, READING_COLUMNS, Pits, typed
from geoprofile.record import Record
from geoprofile.settings.attributes import AttributesSettings


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


class Said:
    """One row of the values, read as a mapper writes it."""

    def __init__(self, row) -> None:
        self.low = None if pd.isna(row.low) else row.low
        self.high = None if pd.isna(row.high) else row.high
        self.status, self.presence, self.evidence = row.status, row.presence, row.evidence
        self.flags = [flag for flag in ("" if pd.isna(row.flags) else row.flags).split("; ") if flag]

    @property
    def text(self) -> str:
        from geoprofile.intervals import interval_text

        return interval_text(self.low, self.high, self.status, 1)

    def __eq__(self, other: object) -> bool:
        return (self.text, self.presence) == other

    def __repr__(self) -> str:
        return f"{self.text} {self.presence} ({self.evidence}) {self.flags}"


@pytest.fixture
def pits_of():
    """pits_of({pit_id: horizons}, {pit_id: facts}, readings) -> Pits; see make_pits."""
    return make_pits


@pytest.fixture
def derive(make_context):
    """derive(attribute, horizons, convention=..., settings={...}, readings=[...], **facts) -> Said, for one pit."""

    def one(attribute, horizons, *, convention="canadian", settings=None, readings=(), **facts) -> Said:
        pits = make_pits({"P1": list(horizons)}, {"P1": facts}, [{"pit_id": "P1", **reading} for reading in readings])
        used = AttributesSettings.model_validate({"use": [attribute], **(settings or {})})
        attributes = derive_attributes(pits, used, make_context(convention=convention), Record("attributes", {}))
        return Said(next(attributes.values.itertuples()))

    return one


@pytest.fixture
def derive_all(make_context):
    """derive_all(pits, convention=..., **settings) -> Attributes."""

    def all_of(pits, *, convention="canadian", **settings):
        used = AttributesSettings.model_validate(settings)
        return derive_attributes(pits, used, make_context(convention=convention), Record("attributes", {}))

    return all_of
