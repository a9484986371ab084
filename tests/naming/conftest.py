"""Naming one pit made by hand."""

from __future__ import annotations

import pytest

from geoprofile.naming.stage import name_soils
from geoprofile.record import Record
from geoprofile.settings.naming import NamingSettings


@pytest.fixture
def name_all(pits_of, make_context):
    """name_all({pit: horizons}, {pit: facts}, convention=..., **settings) -> SoilNames."""

    def run(described, facts=None, convention="canadian", **settings):
        return name_soils(pits_of(described, facts), NamingSettings(**settings), make_context(convention=convention), Record("naming", {}))

    return run


@pytest.fixture
def name(name_all):
    """name(horizons, convention=..., settings={...}, **facts) -> the row of one pit."""

    def one(horizons, convention="canadian", settings=None, **facts):
        return next(name_all({"P1": list(horizons)}, {"P1": facts}, convention, **(settings or {})).names.itertuples())

    return one
