"""Polygons from classes: valid, tiling, merged and smoothed without losing area."""

from __future__ import annotations

from unittest.mock import patch

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from geoprofile.grid import Grid
from geoprofile.overlay import points_in
from geoprofile.zones import lattice, regions
from geoprofile.zones.drawing import Drawing
from geoprofile.zones.outlines import outline_zones
from geoprofile.zones.survey_share import share_of_survey

WEST, NORTH = 600_000.0, 5_700_000.0
CLASSES = arrays(np.int64, st.tuples(st.integers(1, 9), st.integers(1, 9)), elements=st.integers(0, 3))


def draw(codes, area=None, **options):
    codes = np.asarray(codes)
    grid = Grid("EPSG:3158", WEST, NORTH, 10.0, *codes.shape)
    options = {"least_m2": 0, "smoothing_m": 0, "most_change": 0.05} | options
    return outline_zones(Drawing(1, codes.astype("uint8"), share_of_survey(area, grid)), **options)


def rows(text):
    return np.array([[int(letter) for letter in row] for row in text.split("/")])


@settings(max_examples=60, deadline=None)
@given(CLASSES, st.sampled_from([0, 150, 450]), st.sampled_from([0, 10, 30]))
def test_Z2_Z4_Z5_any_classes_give_valid_polygons_that_tile_and_keep_the_total(codes, least_m2, smoothing_m):
    found = draw(codes, least_m2=least_m2, smoothing_m=smoothing_m)
    assert shapely.is_valid(found.shapes).all() and shapely.coverage_is_valid(found.shapes)
    assert all(shape.geom_type == "MultiPolygon" for shape in found.shapes)
    total = (codes > 0).sum() * 100
    assert shapely.area(found.shapes).sum() == pytest.approx(total, abs=1e-3)
    if len(found.shapes):
        assert shapely.union_all(found.shapes).area == pytest.approx(total, abs=1e-3)  # no overlap
        assert np.abs(shapely.area(found.shapes) / found.unsmoothed_m2 - 1).max() <= 0.05 + 1e-9


@settings(max_examples=30, deadline=None)
@given(CLASSES, st.lists(st.tuples(st.integers(0, 18), st.integers(0, 18)), min_size=1, max_size=8))
def test_Z12_each_pit_is_in_exactly_one_zone_even_on_corners_and_edges(codes, halves):
    codes = np.maximum(codes, 1)
    height, width = codes.shape
    # every other position lies on an edge or a corner of a cell
    points = shapely.points([(WEST + 5 * min(i, 2 * width), NORTH - 5 * min(j, 2 * height)) for i, j in halves])
    found = draw(codes)
    places = points_in(points, found.shapes)
    assert (places.polygon >= 0).all()
    for pit, choices in places.ties.items():
        assert places.polygon[pit] == min(choices) and len(choices) > 1


@settings(max_examples=30, deadline=None)
@given(CLASSES, st.floats(0.15, 0.9), st.sampled_from([0, 200]))
def test_zones_end_at_the_survey_outline_and_sum_to_what_it_covers(codes, size, least_m2):
    codes = np.maximum(codes, 1)
    height, width = codes.shape
    area = shapely.Point(WEST + 5 * width, NORTH - 5 * height).buffer(5 * size * min(height, width), quad_segs=5)
    found = draw(codes, area, least_m2=least_m2, smoothing_m=10)
    assert shapely.coverage_is_valid(found.shapes)
    assert shapely.area(found.shapes).sum() == pytest.approx(area.area, abs=0.1)
    assert shapely.difference(shapely.union_all(found.shapes), area.buffer(0.002)).area == pytest.approx(0, abs=1e-6)


def test_a_cell_that_the_outline_cuts_and_that_has_no_class_takes_its_neighbours():
    area = shapely.box(WEST, NORTH - 30, WEST + 28, NORTH)
    found = draw(rows("110/110/220"), area)
    assert shapely.area(found.shapes).tolist() == pytest.approx([560, 280])
    assert found.outside_m2 == 0


def test_land_without_a_class_inside_the_area_is_left_out_and_told():
    area = shapely.box(WEST, NORTH - 30, WEST + 30, NORTH)
    found = draw(rows("111/101/111"), area)
    assert found.outside_m2 == pytest.approx(100)


def test_Z1_outlines_lose_their_stairs_and_the_change_of_area_is_bounded():
    y, x = np.mgrid[:40, :40]
    codes = np.where(x + 0.6 * y + 5 * np.sin(y / 5) < 25, 1, 2)
    stairs, smooth = draw(codes), draw(codes, smoothing_m=15)
    assert smooth.smoothing_m == 15
    assert shapely.get_num_coordinates(smooth.shapes).sum() < 0.5 * shapely.get_num_coordinates(stairs.shapes).sum()
    change = np.abs(shapely.area(smooth.shapes) / smooth.unsmoothed_m2 - 1)
    assert 0 < change.max() < 0.05
    strict = draw(codes, smoothing_m=15, most_change=change.max() / 10)
    assert strict.smoothing_m < 15  # lessened until the bound holds
    assert np.abs(shapely.area(strict.shapes) / strict.unsmoothed_m2 - 1).max() <= change.max() / 10


def test_Z4_three_wavy_polygons_at_a_junction_stay_a_coverage():
    # reference: simplifying one by one leaves overlaps and gaps, as a coverage neither
    y, x = np.mgrid[:60, :60]
    wave = 4 * np.sin(x / 4)
    codes = np.where(y < 30 + wave, np.where(x < 30 + 4 * np.sin(y / 4), 1, 2), 3)
    found = draw(codes, smoothing_m=25, most_change=0.2)
    assert shapely.coverage_is_valid(found.shapes)
    assert shapely.area(found.shapes).sum() == pytest.approx(360_000)
    alone = shapely.simplify(draw(codes).shapes, 25)
    assert shapely.area(alone).sum() != pytest.approx(360_000, abs=1) or not shapely.coverage_is_valid(alone)


def test_results_do_not_depend_on_the_run():
    codes = np.random.default_rng(2).integers(1, 5, (30, 30))
    one, two = (draw(codes, least_m2=900, smoothing_m=10) for _ in range(2))
    assert shapely.to_wkb(one.shapes).tolist() == shapely.to_wkb(two.shapes).tolist()


def test_Z6_a_hole_is_filled_below_the_stated_area_and_kept_above_it_and_filled_ones_are_counted():
    """Cells are 100 m2: a hole of one cell goes at 150 m2, the inclusion of four stays."""
    codes = rows("11111111/12111111/11111111/11113311/11113311/11111111")
    found = draw(codes, least_m2=150)
    assert found.codes.tolist() == [1, 3] and (found.merged, found.merged_m2) == (1, pytest.approx(100))
    assert shapely.area(found.shapes).tolist() == pytest.approx([4400, 400])
    assert len(shapely.get_parts(found.shapes[0])[0].interiors) == 1
    assert draw(codes, least_m2=0).codes.tolist() == [1, 2, 3]


def test_Z13_Z14_clipping_to_an_outline_of_slivers_loses_nothing():
    """The survey area has a cut 2 mm wide and an edge a tenth of a millimetre off the cells' edges; areas still add up."""
    corners = [(0, -60), (60, -60), (60, -30), (60.0001, -30), (59.9999, 0), (31, 0), (30.001, -55), (29.999, -55), (29, 0), (0, 0)]
    area = shapely.Polygon([(WEST + x, NORTH + y) for x, y in corners])
    found = draw(np.tile([1, 1, 2, 2, 1, 2], (6, 1)), area)
    assert found.codes.tolist() == [1, 2]
    assert shapely.area(found.shapes).sum() + found.outside_m2 == pytest.approx(area.area, abs=0.5)
    assert found.outside_m2 < 0.5
    assert shapely.coverage_is_valid(found.shapes) and shapely.is_valid(found.shapes).all()
    again = draw(np.tile([1, 1, 2, 2, 1, 2], (6, 1)), shapely.union_all(found.shapes))
    assert shapely.area(again.shapes) == pytest.approx(shapely.area(found.shapes), abs=0.5), "overlaid a second time"


@settings(max_examples=40, deadline=None)
@given(CLASSES, st.integers(1, 40), st.booleans())
def test_zones_are_the_same_for_any_strip_of_rows_and_any_number_of_vertices_at_once(codes, squares, has_area):
    """Bit for bit: shapes, what was merged, what lies outside."""
    height, width = codes.shape
    area = shapely.Point(WEST + 4 * width, NORTH - 6 * height).buffer(4.3 * max(height, width), quad_segs=3) if has_area else None
    options = {"least_m2": 250, "smoothing_m": 12, "most_change": 0.3, "kept_apart": frozenset({3})}
    owed = draw(codes, area, **options)
    with patch.object(regions, "STRIP_SQUARES", squares), patch.object(lattice, "VERTICES_AT_ONCE", squares):
        found = draw(codes, area, **options)
    assert shapely.to_wkb(found.shapes).tolist() == shapely.to_wkb(owed.shapes).tolist()
    assert (found.merged, found.merged_m2, found.outside_m2) == (owed.merged, owed.merged_m2, owed.outside_m2)


def test_parts_of_just_the_least_area_are_not_smaller_than_it():
    """Squares of 7.3 m whose corners are no whole millimetres: measured, one has a little less than 7.3 x 7.3 m2."""
    codes = np.indices((4, 4)).sum(axis=0) % 2 + 1
    grid = Grid("EPSG:3158", WEST + 0.12345, NORTH + 0.54321, 7.3, 4, 4)
    found = outline_zones(Drawing(1, codes.astype("uint8"), share_of_survey(None, grid)), least_m2=7.3**2, smoothing_m=0, most_change=0.05)
    assert found.merged == 0 and [len(shape.geoms) for shape in found.shapes] == [8, 8]
