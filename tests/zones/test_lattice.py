"""Polygons traced on the lattice of squares, against noding every border with a general library."""

from __future__ import annotations

from unittest.mock import patch

import numpy as np
import pytest
import rasterio
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from rasterio.features import shapes

from geoprofile.grid import Grid
from geoprofile.zones import lattice
from geoprofile.zones.lattice import class_polygons, lattice_of
from geoprofile.zones.survey_share import NODE_M, share_of_survey

CODES = arrays(np.uint8, st.tuples(st.integers(1, 10), st.integers(1, 10)), elements=st.integers(0, 3))
CORNERS = st.lists(st.tuples(st.integers(-2, 22), st.integers(-2, 22)), min_size=3, max_size=7)
GRIDS = st.sampled_from([(10.0, 0.0), (7.3, 0.12345)])
"""Side of a square, and how far the grid's corner lies from a whole metre."""


def grid_of(codes, cell=10.0, off=0.0):
    return Grid("EPSG:3158", 600_000 + off, 5_700_000 + off, cell, *codes.shape)


def survey(corners, grid):
    """A polygon whose corners lie on half squares, so that it runs along borders and through their corners; or None."""
    hull = shapely.convex_hull(shapely.MultiPoint([(grid.west + x * grid.cell_m / 2, grid.north - y * grid.cell_m / 2) for x, y in corners]))
    return hull if hull.geom_type == "Polygon" and hull.intersects(shapely.box(*grid.bounds)) else None


def drawn(codes, grid, area):
    """Codes within the outline, and the outline in whole millimetres."""
    share = share_of_survey(area, grid)
    return np.where(share.read(grid.whole) > 0, codes, 0).astype(np.uint8), share.outline


def by_class(polygons, kinds):
    return {int(code): shapely.to_wkb(shapely.normalize(shapely.multipolygons(polygons[kinds == code]))) for code in np.unique(kinds)}


def noded_as_a_whole(codes, grid, outline):
    """All borders and the outline noded together by GEOS, rings by GDAL."""
    rings = [shapely.LinearRing(ring) for shape, code in shapes(codes, connectivity=4, transform=rasterio.Affine(*grid.transform))
             if code for ring in shape["coordinates"]]  # fmt: skip
    lines = shapely.union_all(np.array(rings + ([] if outline is None else [shapely.boundary(outline)]), object), grid_size=NODE_M)
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(lines)))
    inside = shapely.point_on_surface(faces)
    row, column, on_grid = grid.cells_of(shapely.get_x(inside), shapely.get_y(inside))
    kinds = np.where(on_grid if outline is None else on_grid & shapely.contains(outline, inside), codes[row, column], 0)
    parts = {code: shapely.get_parts(shapely.coverage_union_all(faces[kinds == code])) for code in np.unique(kinds[kinds > 0])}
    return {int(code): shapely.to_wkb(shapely.normalize(shapely.multipolygons(own))) for code, own in parts.items()}


@settings(max_examples=50, deadline=None)
@given(CODES, GRIDS)
def test_Z4_traced_polygons_are_those_of_noding_every_border(codes, grid):
    """To the last vertex; no gap and no overlap, and every square counts."""
    grid = grid_of(codes, *grid)
    polygons, kinds = class_polygons(codes, grid, None)
    assert by_class(polygons, kinds) == noded_as_a_whole(codes, grid, None)
    assert shapely.is_valid(polygons).all() and shapely.coverage_is_valid(polygons)
    # the corner of a square is moved by up to half a millimetre
    assert shapely.area(polygons).sum() == pytest.approx((codes > 0).sum() * grid.cell_m**2, abs=0.01 * codes.size)


@settings(max_examples=50, deadline=None)
@given(CODES, GRIDS, CORNERS)
def test_Z13_along_the_outline_they_are_those_of_noding_every_border_with_it(codes, grid, corners):
    grid = grid_of(codes, *grid)
    codes, outline = drawn(codes, grid, survey(corners, grid))
    assert by_class(*class_polygons(codes, grid, outline)) == noded_as_a_whole(codes, grid, outline)


@settings(max_examples=60, deadline=None)
@given(CODES, CORNERS, st.sampled_from([0.02, 8, 25, 1e4]), st.sampled_from([1, 9, 60]))
def test_polygons_are_the_same_however_many_squares_are_noded_and_polygons_made_at_once(codes, corners, near_m, vertices):
    grid = grid_of(codes)
    codes, outline = drawn(codes, grid, survey(corners, grid))
    owed = by_class(*class_polygons(codes, grid, outline))
    with patch.object(lattice, "PASSED_M", near_m), patch.object(lattice, "VERTICES_AT_ONCE", vertices):
        assert by_class(*class_polygons(codes, grid, outline)) == owed


def test_only_borders_along_the_outline_are_noded():
    """Noise of 90,000 squares: what is noded grows with the outline, not with the map."""
    codes = np.random.default_rng(1).integers(1, 4, (300, 300)).astype(np.uint8)
    grid = grid_of(codes)
    area = shapely.box(*grid.bounds).buffer(-42, join_style="mitre")
    codes, outline = drawn(codes, grid, area)
    real, noded = shapely.union_all, []
    with patch.object(shapely, "union_all", side_effect=lambda lines, **options: noded.append(len(lines)) or real(lines, **options)):
        polygons, _ = class_polygons(codes, grid, outline)
    passed = 4 * 292
    assert len(noded) == 1 and noded[0] < 4 * passed
    assert shapely.area(polygons).sum() == pytest.approx(area.area, abs=1e-3)


def test_the_corners_of_squares_are_found_again_in_whole_millimetres():
    grid = Grid("EPSG:3158", 600_000.12345, 5_700_000.98765, 7.3, 5, 4)
    own = lattice_of(grid)
    every = np.arange(30)
    np.testing.assert_array_equal(own.vertices(own.noded(every)), every)
    assert np.abs(own.noded(every) - own.points(every)).max() <= NODE_M / 2 + 1e-9
    assert own.vertices(own.noded(every) + [0.001, 0]).tolist() == [-1] * 30
