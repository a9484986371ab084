"""Input 14 of the field's list of small inputs that break naive tools: class rasters and zones."""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import pytest
import rasterio
import shapely

from geoprofile.grid import Grid
from geoprofile.overlay import Land
from geoprofile.rasters import CLASS, write_raster
from geoprofile.zones.drawing import Drawing
from geoprofile.zones.outlines import outline_zones
from geoprofile.zones.survey_share import share_of_survey

CHECKERBOARD = np.where((np.add.outer(np.arange(1024) // 37, np.arange(1024) // 37)) % 2 == 0, 10, 50)


def outlines(codes, grid, **options):
    options = {"least_m2": 0, "smoothing_m": 0, "most_change": 0.05} | options
    return outline_zones(Drawing(1, np.asarray(codes).astype("uint8"), share_of_survey(None, grid)), **options)


def test_T4_overviews_of_the_checkerboard_hold_no_new_codes(tmp_path):
    grid = Grid("EPSG:32632", 500_000, 5_400_000, 10, 1024, 1024)
    write_raster(tmp_path, "classes.tif", CHECKERBOARD, grid, name="classes", title="Classes", unit="", kind=CLASS,
                 legend={10: "ten", 50: "fifty"})  # fmt: skip
    with rasterio.open(tmp_path / "classes.tif") as source:
        factors = source.overviews(1)
    assert factors
    for level in range(len(factors)):
        with rasterio.open(tmp_path / "classes.tif", overview_level=level) as source:
            assert set(np.unique(source.read(1))) <= {0, 10, 50}


def test_Z2_the_checkerboards_corners_touch_and_its_polygons_are_valid():
    grid = Grid("EPSG:32632", 500_000, 5_400_000, 10, 1024, 1024)
    found = outlines(CHECKERBOARD, grid)
    assert found.codes.tolist() == [10, 50]
    assert shapely.is_valid(found.shapes).all() and shapely.coverage_is_valid(found.shapes)
    assert shapely.area(found.shapes).tolist() == [(CHECKERBOARD == 10).sum() * 100, (CHECKERBOARD == 50).sum() * 100]


def test_Z2_three_cells_on_a_diagonal_are_one_valid_multipolygon_of_three_cells():
    found = outlines(np.eye(3, dtype=int), Grid("EPSG:32632", 0, 3, 1, 3, 3))
    (diagonal,) = found.shapes
    assert diagonal.is_valid and diagonal.geom_type == "MultiPolygon" and len(diagonal.geoms) == 3
    assert diagonal.area == 3


@pytest.fixture
def zones():
    shapes = [shapely.box(0, 0, 5.5, 10), shapely.box(5.5, 0, 10, 10), shapely.box(2.1, 2.1, 2.3, 2.3),
              shapely.box(2.05, 0, 2.45, 10), shapely.box(2.3, 0, 2.7, 10)]  # fmt: skip
    return gpd.GeoSeries(shapes, crs="EPSG:32632")


def test_Z7_Z8_rectangles_sum_to_the_whole_and_strips_and_small_squares_have_their_cells(zones):
    grid, values = Grid("EPSG:32632", 0, 10, 1, 10, 10), np.arange(100.0).reshape(10, 10)
    shares = []
    for zone in zones:
        land, share = Land(zone, grid), np.zeros(grid.shape)
        for window in land.windows():
            share[window.slices] = land.shares(window)
        assert np.isfinite((share * values).sum() / share.sum())
        shares.append(share.sum())
    assert shares[0] + shares[1] == pytest.approx(100.0, abs=1e-6)
    assert shares[2] == pytest.approx(0.04, abs=1e-6)
    assert shares[3:] == pytest.approx([4.0, 4.0], abs=1e-5)
