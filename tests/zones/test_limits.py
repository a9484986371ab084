"""Pits below a limit, with every bound used and none read as a value."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from geoprofile.intervals import (
    absent_depth,
    absent_thickness,
    at_least,
    at_most,
    at_surface,
    between,
    measured,
    unknown,
)
from geoprofile.settings.base import LayerSource
from geoprofile.settings.zones import ZonesSettings
from geoprofile.zones.limits import count_below
from geoprofile.zones.stage import draw_zones


def count(*intervals, limit=25.0, kind="depth"):
    values = pd.DataFrame({
        "low": [np.nan if one.low is None else one.low for one in intervals],
        "high": [np.nan if one.high is None else one.high for one in intervals],
        "status": [one.status for one in intervals],
    })  # fmt: skip
    row = count_below(values, limit, kind)
    return row["below"], row["not_below"], row["undecided"], row["unknown"]


@pytest.mark.parametrize(
    ("interval", "owed"),
    [
        (measured(24.9), (1, 0, 0, 0)), (measured(25), (0, 1, 0, 0)), (at_surface(), (1, 0, 0, 0)),
        (at_least(60), (0, 1, 0, 0)), (at_least(25), (0, 1, 0, 0)), (at_least(20), (0, 0, 1, 0)),
        (at_most(20), (1, 0, 0, 0)), (at_most(25), (0, 0, 1, 0)), (between(15, 21), (1, 0, 0, 0)),
        (between(20, 30), (0, 0, 1, 0)), (absent_depth(), (0, 1, 0, 0)), (unknown(), (0, 0, 0, 1)),
    ],
)  # fmt: skip
def test_what_each_status_says_of_a_limit_of_25(interval, owed):
    assert count(interval) == owed


def test_an_absent_thickness_is_below_every_limit():
    assert count(absent_thickness(), kind="thickness") == (1, 0, 0, 0)


def test_the_interval_allows_for_the_undecided():
    values = pd.DataFrame(
        {"low": [10.0, 40, 20], "high": [10.0, 40, np.nan], "status": ["measured", "measured", "at_least"]}
    )
    row = count_below(values, 25, "depth")
    assert (row["share_least_percent"], row["share_most_percent"]) == (33.3, 66.7)
    # Clopper & Pearson 1934: 1 of 3 and 2 of 3 by quantiles of the beta distribution
    from scipy.stats import beta

    assert row["low90_percent"] == pytest.approx(100 * beta.ppf(0.05, 1, 3), abs=0.06)
    assert row["high90_percent"] == pytest.approx(100 * beta.ppf(0.95, 3, 1), abs=0.06)


def test_parcels_get_them_without_any_surface(make_context, a_record, make_pits, write_layer, block, at):
    write_layer("parcels.gpkg", [block(0, 0, 100, 100), block(100, 0, 200, 100)], parcel=["1", "2"])
    pits = make_pits(
        [
            ("a", at(10, 10), {"depth_to_carbonates": measured(10)}),
            ("b", at(20, 10), {"depth_to_carbonates": at_least(60)}),
        ]
    )
    settings = ZonesSettings(
        parcels=LayerSource(file="parcels.gpkg", id="parcel"), less_than_cm={"depth_to_carbonates": (25,)}
    )
    table = (
        draw_zones(*pits, None, None, settings, make_context(), a_record())
        .tables["parcel_pits_below"]
        .set_index("parcel_id")
    )
    assert table.loc["1", ["pits", "below", "not_below"]].tolist() == [2, 1, 1]
    assert table.loc["2", "pits"] == 0 and np.isnan(table.loc["2", "share_least_percent"])
