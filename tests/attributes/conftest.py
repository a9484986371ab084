"""Attributes of pits made by hand."""

from __future__ import annotations

import pandas as pd
import pytest

from geoprofile.attributes.stage import derive_attributes
from geoprofile.record import Record
from geoprofile.settings.attributes import AttributesSettings


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
def derive(make_context, pits_of):
    """derive(attribute, horizons, convention=..., settings={...}, readings=[...], **facts) -> Said, for one pit."""

    def one(attribute, horizons, *, convention="canadian", settings=None, readings=(), **facts) -> Said:
        pits = pits_of({"P1": list(horizons)}, {"P1": facts}, [{"pit_id": "P1", **reading} for reading in readings])
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
