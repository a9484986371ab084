"""The list of potholes on grids whose potholes are known."""

from __future__ import annotations

import numpy as np
import pytest

from geoprofile.grid import Grid
from geoprofile.terrain.sinks import COLUMNS, list_sinks
from geoprofile.terrain.water import cells_upstream, ground

from .test_water import THREE_PITS


def sinks_of(z, depressions="keep", cell=10.0, way="steepest", **more):
    over = ground(z, depressions, **more)
    return list_sinks(over, cells_upstream(over, way), Grid("EPSG:32632", 1000.0, 5000.0, cell, *z.shape))


def test_three_pits_are_listed_with_depth_area_and_volume():
    """geostat.md 5.5: pits of 2, 3 and 1 in a plateau of 6; volume 12 cells times metres."""
    table = sinks_of(THREE_PITS)
    assert tuple(table.columns) == COLUMNS
    assert table["depth_m"].tolist() == [5, 4, 3]
    assert table["bottom_m"].tolist() == [1, 2, 3]
    assert (table["brim_m"] == 6).all() and (table["area_m2"] == 100).all()
    assert table["volume_m3"].sum() == 1200
    assert table.loc[0, ["x", "y"]].tolist() == [1035.0, 4955.0]


def test_the_catchments_of_kept_potholes_are_the_ground_that_keeps_its_water():
    table = sinks_of(THREE_PITS)
    over = ground(THREE_PITS)
    cells = cells_upstream(over)
    assert table["catchment_m2"].tolist() == [100 * cells[4, 3], 100 * cells[2, 2], 100 * cells[2, 4]]


def test_a_pothole_with_a_flat_floor_counts_all_that_ends_on_it():
    z = np.full((7, 7), 8.0)
    z[2:5, 2:5] = 5.0
    z[0, 0] = 7.0
    table = sinks_of(z)
    assert len(table) == 1
    assert table.loc[0, ["depth_m", "area_m2", "volume_m3"]].tolist() == [3.0, 900.0, 2700.0]
    assert table.loc[0, "catchment_m2"] >= 2400  # the floor and the ring around it


def test_filled_potholes_are_listed_too_and_keep_no_water():
    table = sinks_of(THREE_PITS, "fill")
    assert table["depth_m"].tolist() == [5, 4, 3]
    assert not table["kept"].any() and (table["catchment_m2"] == 0).all()
    assert table["bottom_m"].tolist() == [1, 2, 3]


def test_shallow_ones_are_listed_as_filled_where_only_deep_ones_are_kept():
    table = sinks_of(THREE_PITS, least_depth_m=4.5)
    assert table["kept"].tolist() == [True, False, False]


@pytest.mark.parametrize("way", ["infinite", "multiple_freeman"])
def test_a_bowl_takes_in_the_same_ground_however_water_is_shared_inside_it(way):
    y, x = np.mgrid[-10:11, -10:11].astype(float)
    z = np.where(np.maximum(abs(x), abs(y)) <= 4, 50 + 0.1 * (x**2 + y**2), 60 - np.maximum(abs(x), abs(y)))
    table = sinks_of(z, way=way)
    assert len(table) == 1
    assert table.loc[0, "catchment_m2"] >= 81 * 100


def test_ground_without_potholes_gives_an_empty_list_of_the_same_columns():
    table = sinks_of(np.tile(-np.arange(6.0), (4, 1)))
    assert table.empty and tuple(table.columns) == COLUMNS
