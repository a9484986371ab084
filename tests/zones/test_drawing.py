"""Squares that zones are drawn on: how wide, which class, and the same whatever the blocks."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from geoprofile.blocks import Threads
from geoprofile.errors import InputError
from geoprofile.grid import Grid
from geoprofile.settings.zones import ZonesSettings
from geoprofile.zones import drawing
from geoprofile.zones.classes import HeldCells
from geoprofile.zones.draft import Draft
from geoprofile.zones.drawing import cells_a_side, draw, land_kept, majority
from geoprofile.zones.legibility import map_scale
from geoprofile.zones.outlines import outline_zones

WEST, NORTH, CELL = 600_000.0, 5_700_000.0, 5.0
CODES = arrays(np.uint8, st.tuples(st.integers(1, 14), st.integers(1, 14)), elements=st.integers(0, 4))


def grid_of(codes):
    return Grid("EPSG:3158", WEST, NORTH, CELL, *np.shape(codes))


def draft_of(codes):
    return Draft(grid_of(codes), HeldCells(np.asarray(codes, np.uint8)), {one: str(one) for one in range(1, 5)}, "test")


def scale_of(cells, **options):
    """The map scale at which half a millimetre is so many cells."""
    return map_scale(ZonesSettings(**options), int(cells * CELL / 0.0005), CELL)


def rows(text):
    return np.array([[int(letter) for letter in row] for row in text.split("/")], np.uint8)


@pytest.mark.parametrize(("scale", "cells"), [(5_000, 1), (10_000, 1), (19_000, 1), (20_000, 2), (50_000, 5), (None, 1)])
def test_a_square_is_the_whole_cells_within_half_a_millimetre_of_map(scale, cells):
    # 0.5 mm at 1:50,000 is 25 m, five cells of 5 m
    assert cells_a_side(grid_of([[1]]), map_scale(ZonesSettings(), scale, CELL)) == cells


@pytest.mark.parametrize(("options", "cells"), [
    ({"smoothing_m": 12}, 2),  # outlines are asked for finer than the map shows
    ({"smoothing_m": 0}, 1),  # the edges of the cells themselves
    ({"least_area_ha": 0.25}, 2),  # a zone of 50 m by 50 m is five squares of 10 m across
    ({"least_area_ha": 0}, 1),  # every cell is to be kept
])  # fmt: skip
def test_a_square_is_never_wider_than_the_smoothing_or_a_fifth_of_the_smallest_zone(options, cells):
    assert cells_a_side(grid_of([[1]]), scale_of(5, **options)) == cells


@settings(max_examples=60, deadline=None)
@given(CODES, st.integers(1, 5))
def test_T4_the_class_of_a_square_is_that_of_most_of_its_mapped_cells_and_of_equals_the_smallest(codes, side):
    """Against counting square by square; codes are never averaged."""
    own, mapped = majority(codes, side)
    for (row, column), code in np.ndenumerate(own):
        part = codes[row * side : (row + 1) * side, column * side : (column + 1) * side]
        counts = Counter(part[part > 0].tolist())
        owed = min(counts, key=lambda one: (-counts[one], one)) if counts else 0
        assert (code, mapped[row, column]) == (owed, counts.total())


def test_a_square_has_no_class_where_less_than_half_of_its_land_has_one():
    codes = rows("1100/1200/0011/0010")
    # 4 cells of 4 have a class, none, none, 3 of 4
    drawn, _ = draw(draft_of(codes), None, scale_of(2), Threads(1))
    assert drawn.codes.tolist() == [[1, 0], [0, 1]]
    drawn, _ = draw(draft_of(rows("10/00")), None, scale_of(2), Threads(1))
    assert drawn.codes.tolist() == [[0]]  # one of four
    corner = shapely.box(WEST, NORTH - 5, WEST + 10, NORTH)
    drawn, _ = draw(draft_of(rows("10/00")), corner, scale_of(2), Threads(1))
    assert drawn.codes.tolist() == [[1]]  # one of the two that are in the survey


def test_a_strip_of_survey_narrower_than_a_square_is_drawn():
    """A corridor 10 m wide at 1:50,000, squares of 25 m: what lies outside has no say."""
    codes = np.zeros((20, 20), np.uint8)
    codes[:, 6:8] = np.repeat([1, 2], 10)[:, None]
    corridor = shapely.box(WEST + 30, NORTH - 100, WEST + 40, NORTH)
    drawn, _ = draw(draft_of(codes), corridor, scale_of(5), Threads(1))
    found = outline_zones(drawn, least_m2=0, smoothing_m=0, most_change=0.05)
    assert found.codes.tolist() == [1, 2] and shapely.area(found.shapes).tolist() == pytest.approx([500, 500])
    assert found.outside_m2 == 0


def _numbers(kept):
    return kept.share, *kept.by_cells_m2.values()


@settings(max_examples=25, deadline=None)
@given(CODES, st.integers(1, 4), st.integers(1, 3), st.integers(1, 9), st.booleans())
def test_zones_are_the_same_for_any_tile_and_block_and_number_of_workers(codes, side, block, tile, has_area):
    """Bit for bit: outlines, what was merged, and the share of the land that keeps its class."""
    height, width = codes.shape
    area = shapely.Point(WEST + 2 * width, NORTH - 3 * height).buffer(2.3 * max(height, width)) if has_area else None

    def zones(tile_side, crew):
        patch = pytest.MonkeyPatch()
        patch.setattr(drawing, "TILE", tile_side)
        try:
            drawn, told = draw(draft_of(codes), area, scale_of(side), crew)
            found = outline_zones(drawn, least_m2=60, smoothing_m=CELL, most_change=0.2)
            return drawn.codes.tolist(), shapely.to_wkb(found.shapes).tolist(), found.merged_m2, list(_numbers(land_kept(draft_of(codes), drawn, crew))), told
        finally:
            patch.undo()

    whole, cut = zones(512, Threads(1)), zones(tile, Threads(2, block))
    assert whole[:3] == cut[:3] and whole[4] == cut[4]
    assert whole[3] == pytest.approx(cut[3], abs=1e-12)


def test_zones_on_squares_still_end_at_the_outline_and_at_the_last_cell():
    """13 cells are two squares of five and three cells: what lies beyond the raster is not mapped."""
    codes = np.ones((13, 13), np.uint8)
    drawn, told = draw(draft_of(codes), None, scale_of(5), Threads(1))
    found = outline_zones(drawn, least_m2=0, smoothing_m=0, most_change=0.05)
    assert shapely.union_all(found.shapes).bounds == pytest.approx((WEST, NORTH - 65, WEST + 65, NORTH))
    assert "5 x 5 cells (25 m)" in told and drawn.codes.shape == (3, 3)
    triangle = shapely.Polygon([(WEST, NORTH), (WEST + 61, NORTH), (WEST, NORTH - 47)])
    drawn, _ = draw(draft_of(codes), triangle, scale_of(5), Threads(1))
    found = outline_zones(drawn, least_m2=0, smoothing_m=0, most_change=0.05)
    assert shapely.union_all(found.shapes).area == pytest.approx(triangle.area, abs=0.1) and found.outside_m2 < 0.1


def test_the_share_of_land_that_keeps_its_class_counts_cells_not_squares():
    # squares of two cells: 3 of 4 in the first, 4 of 4 in the second, 2 of 2 mapped in the third
    codes = rows("112233/122200")
    drawn, _ = draw(draft_of(codes), None, scale_of(2), Threads(1))
    assert drawn.codes.tolist() == [[1, 2, 3]]
    kept = land_kept(draft_of(codes), drawn, Threads(1))
    assert kept.share == pytest.approx(9 / 10)
    # cells of 25 m2: three of class 1, five of 2, two of 3, none of 4
    assert kept.by_cells_m2 == pytest.approx({1: 75, 2: 125, 3: 50, 4: 0})


def test_what_does_not_fit_in_memory_is_refused_before_a_cell_is_read(monkeypatch):
    class Unread:
        def read(self, window):
            raise AssertionError("a cell was read")

    large = Draft(Grid("EPSG:3158", WEST, NORTH, CELL, 40_000, 40_000), Unread(), {1: "one"}, "test")
    monkeypatch.setattr("geoprofile.memory.memory_free", lambda: 4_000_000_000)
    with pytest.raises(InputError, match="drawing zones needs more memory") as refused:
        draw(large, None, scale_of(1), Threads(1))
    assert "1,600,000,000 cells" in str(refused.value) and "smaller map scale" in str(refused.value)


def test_more_corners_than_memory_holds_are_refused(monkeypatch):
    drawn, _ = draw(draft_of(np.indices((20, 20)).sum(axis=0) % 2 + 1), None, scale_of(1), Threads(1))
    monkeypatch.setattr("geoprofile.memory.memory_free", lambda: 100_000)
    with pytest.raises(InputError, match="corners needs more memory"):
        outline_zones(drawn, least_m2=0, smoothing_m=0, most_change=0.05)


def test_many_squares_say_what_memory_they_take(monkeypatch):
    monkeypatch.setattr(drawing, "STATED_FROM", 4)
    _, told = draw(draft_of(np.ones((2, 2))), None, scale_of(1), Threads(1))
    assert "of memory" in told
    _, told = draw(draft_of(np.ones((1, 3))), None, scale_of(1), Threads(1))
    assert told == "zones were drawn cell by cell, cells of 5 m"
