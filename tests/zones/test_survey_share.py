"""Shares of squares in the survey: exact, and read by any window."""

from __future__ import annotations

from unittest.mock import patch

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.grid import Grid, Window
from geoprofile.zones import survey_share
from geoprofile.zones.survey_share import share_of_survey

WEST, NORTH = 600_000.0, 5_700_000.0
CELLS = Grid("EPSG:3158", WEST, NORTH, 5.0, 23, 31)


@settings(max_examples=25, deadline=None)
@given(st.floats(5, 90), st.integers(1, 4), st.integers(2, 9), st.data())
def test_any_window_reads_the_shares_that_overlay_gives(radius, side, held, data):
    area = shapely.Point(WEST + 70, NORTH - 60).buffer(radius, quad_segs=3)
    with patch.object(survey_share, "WINDOW", held):
        share = share_of_survey(area, CELLS, side)
        height, width = share.grid.shape
        row, column = data.draw(st.integers(0, height - 1)), data.draw(st.integers(0, width - 1))
        window = Window(row, column, data.draw(st.integers(1, height - row)), data.draw(st.integers(1, width - column)))
        found = share.read(window)
    x, y = np.meshgrid(WEST + 5 * side * np.arange(width), NORTH - 5 * side * np.arange(height))
    squares = shapely.box(x, y - 5 * side, x + 5 * side, y)
    within = shapely.intersection(area, shapely.box(*CELLS.bounds))
    owed = shapely.area(shapely.intersection(squares, within)) / (5 * side) ** 2
    # the outline was brought to whole millimetres
    np.testing.assert_allclose(found, owed[window.slices], atol=4e-4)
    assert share.asked_m2 == pytest.approx(area.area, abs=area.length * survey_share.NODE_M)


def test_without_a_survey_area_squares_count_as_far_as_there_are_cells():
    assert (share_of_survey(None, CELLS).read(CELLS.whole) == 1).all()
    last = share_of_survey(None, CELLS, 5).read(Window(4, 6, 1, 1))
    assert last == pytest.approx(3 * 1 / 25)  # 23 rows and 31 columns: three rows and one column of the last five
