"""Parcels: hectares by class, shares below limits, how much is backed."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from geoprofile.areal import area
from geoprofile.intervals import measured
from geoprofile.kernels.covariance import Model
from geoprofile.kernels.kriging import predict_grid, solve
from geoprofile.settings.base import LayerSource
from geoprofile.settings.zones import DraftSettings, ZonesSettings
from geoprofile.zones.stage import draw_zones

SETTINGS = ZonesSettings(
    draft=DraftSettings(from_="surface", attribute="depth_to_carbonates", limits_cm=(25,)), least_area_ha=0,
    parcels=LayerSource(file="parcels.gpkg", id="parcel"),
)  # fmt: skip


@pytest.fixture
def run(make_context, a_record, make_pits, make_surfaces, write_layer, block, at):
    """Four parcels: whole, one cut through cells, one smaller than a cell, one half off the map."""
    write_layer("parcels.gpkg", [block(0, 0, 100, 100), block(95, 0, 205, 7), block(2, 2, 4, 4), block(250, 100, 350, 200)],
                parcel=["1", "2", "3", "4"])  # fmt: skip
    pits = make_pits(
        [
            ("a", at(50, 50), {"depth_to_carbonates": measured(20)}),
            ("b", at(310, 150), {"depth_to_carbonates": measured(20)}),
        ]
    )

    def go(**arrays):
        context = make_context()
        return draw_zones(*pits, None, make_surfaces(context, **arrays), SETTINGS, context, a_record()).tables

    return go


def test_Z7_Z8_every_parcel_has_hectares_by_class_that_sum_to_it(run):
    z = np.full((20, 30), 40.0)
    z[:, :10] = 10
    table = run(estimate=z)["parcel_classes"].set_index(["parcel_id", "class"])["area_ha"]
    assert table["1", "less than 25 cm"] == 1.0
    # parcel 2 is 110 m by 7 m; 5 m of its length lie on thin land
    assert table["2", "less than 25 cm"] == pytest.approx(0.0035) and table["2", "25 cm and more"] == pytest.approx(
        0.0735
    )
    assert table["3", "less than 25 cm"] == pytest.approx(0.0004)  # 2 m by 2 m, a 25th of a cell
    assert table["4", "off the map"] == pytest.approx(0.5)
    whole = table.groupby("parcel_id").sum()
    assert whole.to_dict() == pytest.approx({"1": 1.0, "2": 0.077, "3": 0.0004, "4": 1.0})


def test_Z9_Z10_backed_not_backed_and_off_the_map_are_three_shares(run):
    z = np.full((20, 30), 40.0)
    z[10:15, 25:] = np.nan
    table = run(estimate=z)["parcel_surfaces"].set_index("parcel_id")
    four = table.loc["4"]
    assert (four["backed_percent"], four["not_backed_percent"], four["off_the_map_percent"]) == (25, 25, 50)
    assert four["effective_cells"] == 25 and four["mean_estimate"] == 40
    assert table.loc["3", "effective_cells"] == 0.04


@pytest.mark.parametrize(("unit", "certain"), [("%", 100), ("", 1)])
def test_shares_below_a_limit_by_estimate_and_by_probability(run, unit, certain):
    """Probabilities are in the unit that their raster says."""
    z = np.full((20, 30), 40.0)
    z[:5, :10] = 10
    p = np.full((20, 30), 0.1)
    p[:5, :10] = 0.9
    table = run(estimate=z, below_25=certain * p, probability_unit=unit)["parcel_limits"].set_index("parcel_id")
    assert table["limit_cm"].unique().tolist() == [25]
    assert table.loc["1", "below_by_estimate_percent"] == 50 and table.loc["1", "below_by_estimate_ha"] == 0.5
    assert table.loc["1", "below_by_probability_percent"] == 50
    assert (table.loc["1", "expected_below_ha"], table.loc["1", "backed_ha"]) == (0.5, 1.0) and np.isnan(table.loc["1", "low90_ha"])
    assert table.loc["1", ["below_by_simulation_percent", "low90_percent"]].isna().all() and table.loc["1", "interval"].startswith("no interval")


def test_with_a_covariance_model_the_mean_and_the_share_have_intervals_of_their_own(
    make_context, a_record, make_pits, make_surfaces, write_layer, block, at, grid, monkeypatch
):
    write_layer("parcels.gpkg", [block(0, 0, 300, 200)], parcel=["all"])
    rng = np.random.default_rng(4)
    places = np.column_stack(
        [rng.uniform(grid.west, grid.west + 300, 40), rng.uniform(grid.north - 200, grid.north, 40)]
    )
    values = rng.normal(25, 8, 40)
    model = Model("exponential", 20.0, 40.0, 40.0)
    estimate, variance = predict_grid(solve(places, values, model), *grid.centres())
    context = make_context()
    surfaces = make_surfaces(
        context, estimate=estimate, low90=estimate - 1.645 * variance**0.5, high90=estimate + 1.645 * variance**0.5
    )
    points = pd.DataFrame({"attribute": "depth_to_carbonates", "pit_id": "p", "x": places[:, 0], "y": places[:, 1],
                           "low": values, "high": values, "status": "measured", "predicted": np.nan})  # fmt: skip
    told = {"kind": "exponential", "nugget": 20.0, "partial_sill": 40.0, "scale_m": 40.0, "nugget_is_error": False,
            "drift": [], "by_stratum": False}  # fmt: skip
    pits = make_pits([("a", at(50, 50), {"depth_to_carbonates": measured(20)})])

    def tables(parameters):
        surface = replace(surfaces.surfaces[0], parameters=parameters)
        return draw_zones(
            *pits, None, replace(surfaces, surfaces=(surface,), points=points), SETTINGS, context, a_record()
        ).tables

    known, widest = tables(told), tables({})
    width = [float(one["parcel_surfaces"].eval("mean_high90 - mean_low90").iloc[0]) for one in (known, widest)]
    assert 1.0 < width[0] < width[1] / 3
    share = known["parcel_limits"].iloc[0]
    assert share["low90_percent"] < share["high90_percent"] < 100 and "simulation" in share["interval"]
    assert share["low90_percent"] < share["below_by_simulation_percent"] < share["high90_percent"], "the interval holds its own mean"
    # 6 ha: what is to be expected, and its interval, are the same shares as hectares; they stand first, what is biased last
    assert share["backed_ha"] == 6.0
    for hectares, percent in (("expected_below_ha", "below_by_simulation_percent"), ("low90_ha", "low90_percent"), ("high90_ha", "high90_percent")):
        assert share[hectares] == pytest.approx(0.06 * share[percent], abs=0.009), hectares
    assert list(known["parcel_limits"])[3:6] == ["expected_below_ha", "low90_ha", "high90_ha"]
    assert list(known["parcel_limits"])[-1] == "below_by_estimate_ha"
    # where land has many cells, squares tell how its errors vary together
    monkeypatch.setattr(area, "MOST_IN_A_BOX", 200)
    squares = tables(told)
    assert squares["parcel_surfaces"]["interval"].iloc[0].endswith("on squares of 2 x 2 cells")
    for table, names in (("parcel_surfaces", ["mean_estimate", "mean_low90", "mean_high90"]), ("parcel_limits", ["low90_percent", "high90_percent"])):
        assert squares[table][names].to_numpy(float) == pytest.approx(known[table][names].to_numpy(float), rel=0.05)
    monkeypatch.undo()
    # a model that does not give back the surface's estimates is not believed
    wrong = tables(told | {"partial_sill": 400.0})
    assert "as if the errors of all cells were one" in wrong["parcel_surfaces"]["interval"].iloc[0]


def test_shares_below_a_limit_are_of_backed_land_and_a_value_at_the_limit_is_not_below():
    """Four cells, shares 1, 1, 1, 0.5: 10, 25, 40 and none. The probability of land without an estimate is not counted."""
    from geoprofile.areal.area import area_of_cells
    from geoprofile.zones.parcels import Shares

    z, share, chance = np.array([10.0, 25.0, 40.0, np.nan]), np.array([1.0, 1.0, 1.0, 0.5]), np.array([0.9, 0.5, 0.1, 1.0])
    for above in (False, True):
        tally = Shares((25.0,), {25.0: "key"}, frozenset({25.0} if above else ()))
        sums = tally(z[:3], None, None, 1 - chance[:3] if above else chance[:3]) @ share[:3]
        row = tally.below(replace(area_of_cells(np.arange(4), share, z), sums=sums), 25.0, 100.0)
        assert row["below_by_estimate_ha"] == pytest.approx(0.01)
        assert row["below_by_estimate_percent"] == pytest.approx(100 / 3, abs=0.01)
        assert row["below_by_probability_percent"] == pytest.approx(50.0)
    assert all(np.isnan(tally.below(area_of_cells(np.arange(4), share, z * np.nan), 25.0, 100.0)[f"below_by_{one}_percent"])
               for one in ("estimate", "probability"))
