"""What a surface holds inside polygons: exact sums, and squares of cells that tell how errors vary together."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from geoprofile.areal import area as module
from geoprofile.areal.area import Layers, areas_in, side_for, sides_of, together
from geoprofile.areal.model import ErrorModel, Part
from geoprofile.areal.near import NearModel
from geoprofile.grid import Grid
from geoprofile.kernels.covariance import Model
from geoprofile.kernels.kriging import solve
from geoprofile.rasters import write_raster

GRID = Grid("EPSG:3158", 600_000.0, 5_700_000.0, 10.0, 200, 300)
EAST, NORTH = 600_000.0, 5_700_000.0


def shape(*corners) -> shapely.Polygon:
    """Corners in cells from the north-west."""
    return shapely.Polygon([(EAST + 10 * x, NORTH - 10 * y) for x, y in corners])


FIELD = shape((10.3, 12.2), (250.7, 3.4), (290.1, 150.9), (120.5, 190.2))
STRIP = shape((100.2, 20.1), (103.4, 20.3), (103.9, 60.8), (100.6, 60.2))
BEYOND = shape((280, 180), (340, 180), (340, 230), (280, 230))


@pytest.fixture(scope="module")
def layers(tmp_path_factory):
    folder, rng = tmp_path_factory.mktemp("rasters"), np.random.default_rng(4)
    estimate = 20 + np.add.outer(np.linspace(0, 8, 200), np.sin(np.arange(300) / 20)) + rng.normal(0, 1, GRID.shape)
    estimate[60:110, 90:140] = np.nan
    width = rng.uniform(3, 5, GRID.shape)
    files = [
        write_raster(folder, f"{name}.tif", values, GRID, name=name, title=name, unit="cm")
        for name, values in (("e", estimate), ("l", estimate - width), ("h", estimate + width))
    ]
    return Layers(*(file.cells(folder) for file in files)), [file.read(folder).ravel() for file in files]


def thin(estimate, low, high):
    return np.array([estimate < 22, np.ones(len(estimate))], float)


def means(area):
    return [float(area.weight @ one / area.backed) for one in (area.estimate, area.low, area.high)]


def test_sums_are_of_cells_by_their_exact_share_whatever_the_windows_and_the_squares(layers, monkeypatch):
    read, (estimate, low, high) = layers
    (plain,) = areas_in([FIELD], GRID, read, thin)
    backed = plain.backed * 100
    assert plain.side == 1 and plain.on_map * 100 == pytest.approx(FIELD.area, rel=1e-6)
    hole = shapely.box(EAST + 900, NORTH - 1100, EAST + 1400, NORTH - 600)
    assert backed == pytest.approx(FIELD.difference(hole).area, rel=1e-6)
    assert plain.sums[1] == pytest.approx(plain.backed) and 0 < plain.sums[0] < plain.backed
    assert plain.sums[0] == pytest.approx(plain.weight @ (estimate[plain.cell] < 22))
    assert means(plain) == pytest.approx([float(plain.weight @ one[plain.cell] / plain.backed) for one in (estimate, low, high)])
    monkeypatch.setattr(module, "MOST_IN_A_BOX", 900)
    monkeypatch.setattr(module, "WINDOW", 64)
    (coarse,) = areas_in([FIELD], GRID, read, thin)
    assert coarse.side == 8 and len(coarse) < len(plain) / 40
    assert means(coarse) == pytest.approx(means(plain), rel=1e-9)
    assert [coarse.backed, coarse.on_map, *coarse.sums] == pytest.approx([plain.backed, plain.on_map, *plain.sums], rel=1e-9)


def test_land_off_the_map_and_land_without_an_estimate_are_told_apart(layers):
    off, empty, gone = areas_in([BEYOND, shape((95, 65), (99, 65), (99, 69), (95, 69)), shape((400, 0), (410, 0), (410, 9))], GRID, layers[0], thin)
    assert off.on_map == pytest.approx(20 * 20) and off.backed == pytest.approx(400)
    assert len(empty) == 0 and empty.on_map == pytest.approx(16) and empty.sums is None
    assert len(gone) == 0 and gone.on_map == 0


def model(near=False):
    rng = np.random.default_rng(2)
    places = np.column_stack([EAST + rng.uniform(0, 3000, 60), NORTH - rng.uniform(0, 2000, 60)])
    values = rng.normal(20, 4, 60)
    system = solve(places, values, Model("exponential", 3.0, 12.0, 300.0))
    whole = ErrorModel({"": Part(system, values, values, np.zeros(60, bool), ("P",) * 60)}, ("",), np.array([], object), GRID)
    return NearModel(whole, 12, np.inf, 3) if near else whole


@pytest.mark.parametrize("near", [False, True], ids=["all pits", "near pits"])
def test_squares_give_the_interval_of_the_mean_that_cells_give(layers, monkeypatch, near):
    (plain,) = areas_in([FIELD], GRID, layers[0])
    monkeypatch.setattr(module, "MOST_IN_A_BOX", 8_000)
    (coarse,) = areas_in([FIELD], GRID, layers[0])
    assert (plain.side, coarse.side) == (1, 4)
    exact, found = (model(near).mean_variance_of_cells(one.cell, one.weight, one.side) for one in (plain, coarse))
    assert found == pytest.approx(exact, rel=0.01)


def test_a_small_polygon_keeps_its_cells_where_many_large_ones_are_told_by_squares(monkeypatch):
    monkeypatch.setattr(module, "MOST_SQUARES", 2_000)
    monkeypatch.setattr(module, "LEAST_SQUARES", 100)
    assert sides_of([FIELD, STRIP, shape((400, 0), (410, 0), (410, 9)), shapely.Polygon()], GRID) == [8, 1, 1, 1]
    monkeypatch.undo()
    assert sides_of([FIELD, STRIP], GRID) == [1, 1]


def test_squares_are_a_power_of_two_and_no_more_than_allowed():
    for cells in (1, 100, 101, 399, 400, 401, 64_000_000):
        side = side_for(cells, 100)
        assert cells / side**2 <= 100 and side & (side - 1) == 0 and (side == 1 or cells / (side / 2) ** 2 > 100)


def test_areas_together_are_one_and_overlaps_count_twice(layers, monkeypatch):
    field, strip = areas_in([FIELD, STRIP], GRID, layers[0])
    both = together([field, strip], GRID)
    assert both.side == 1 and both.backed == pytest.approx(field.backed + strip.backed)
    assert both.weight @ both.estimate == pytest.approx(field.weight @ field.estimate + strip.weight @ strip.estimate)
    assert len(np.unique(both.cell)) == len(both) and both.weight.max() == pytest.approx(2)
    monkeypatch.setattr(module, "MOST_IN_A_BOX", 500)
    coarse = together([field, strip], GRID)
    assert coarse.side == 16 and coarse.backed == pytest.approx(both.backed)
    assert coarse.weight @ coarse.estimate == pytest.approx(both.weight @ both.estimate)
