"""Which squares a line passes, and where borders of classes bend or end."""

from __future__ import annotations

import numpy as np
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.kernels.lattice import APART, bends, lines_apart, mark_passed

PLACES = st.tuples(st.integers(-4, 20), st.integers(-4, 16))


@settings(max_examples=60, deadline=None)
@given(st.lists(PLACES, min_size=2, max_size=5), st.sampled_from([0.5, 0.37]))
def test_every_square_that_a_line_comes_near_is_marked_and_none_far_from_it(places, step):
    """Against distances by a general library; lines lie on edges and corners of squares too, and beyond the raster."""
    points, state, away = np.array(places) * step, np.zeros((7, 9), np.uint8), 0.01
    mark_passed(state, points[:, 0], points[:, 1], away)
    line = shapely.LineString(points)
    row, column = np.indices(state.shape)
    distance = shapely.distance(shapely.box(column, row, column + 1, row + 1), line)
    assert (state[distance < away] == APART).all()
    assert (state[distance > 2 * away] == 0).all()


def test_two_lines_are_not_joined():
    x, y, state = np.array([0.5, 0.5, np.nan, 8.5, 8.5]), np.array([0.2, 0.8, np.nan, 0.2, 0.8]), np.zeros((1, 9), np.uint8)
    mark_passed(state, x, y, 0.01)
    assert state[0].tolist() == [1, 0, 0, 0, 0, 0, 0, 0, 1]


def test_borders_bend_at_corners_and_meet_where_a_third_class_begins():
    codes = np.array([[1, 1, 1], [1, 1, 2], [3, 3, 3]], np.uint8)
    found = {(row, column) for row in range(4) for column in range(4) if bends(codes, row, column)}
    corners_of_the_raster = {(0, 0), (0, 3), (3, 0), (3, 3)}
    # where class 2 begins in the north-west; where 1, 2 and 3 meet; and where borders reach the raster's edge
    assert found == corners_of_the_raster | {(1, 2), (2, 2), (1, 3), (2, 3), (2, 0)}


def test_squares_apart_have_lines_where_their_class_changes_and_where_it_goes_on():
    codes, state = np.array([[1, 1, 2]], np.uint8), np.array([[0, APART, 0]], np.uint8)
    begin, end = lines_apart(codes, state)
    vertices = {frozenset(pair) for pair in zip(begin.tolist(), end.tolist())}
    # vertices 0..3 along the top, 4..7 below: around the middle square, all four sides
    assert vertices == {frozenset(pair) for pair in ((1, 2), (5, 6), (1, 5), (2, 6))}
    begin, end = lines_apart(codes, np.zeros_like(state))
    assert len(begin) == len(end) == 0
