"""Segments below a stated size join a neighbour."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.terrain.segments import clean_segments, segment_sizes


def test_a_crumb_joins_the_neighbour_with_the_longest_border():
    code = np.array([[1, 1, 2, 2], [1, 3, 2, 2], [1, 1, 2, 2]], np.uint8)
    cleaned, changed = clean_segments(code, 2)
    assert cleaned[1, 1] == 1 and changed == 1


def test_of_equal_borders_the_larger_neighbour_wins():
    code = np.array([[1, 1, 3, 2, 2, 2]], np.uint8)
    assert clean_segments(code, 2)[0].tolist() == [[1, 1, 2, 2, 2, 2]]


def test_joining_a_crumb_can_make_one_of_two_segments():
    """Each half of class 1 alone is too small; together with the crumb between them they stay."""
    code = np.array([[1, 1, 2, 1, 1], [1, 1, 2, 1, 1], [3] * 5, [3] * 5], np.uint8)
    cleaned, changed = clean_segments(code, 5)
    assert cleaned.tolist() == [[1] * 5, [1] * 5, [3] * 5, [3] * 5] and changed == 2


def test_cells_without_a_class_stay_so_and_an_island_among_them_stays():
    code = np.zeros((5, 5), np.uint8)
    code[2, 2] = 4
    cleaned, changed = clean_segments(code, 10)
    assert np.array_equal(cleaned, code) and changed == 0


def test_sizes_are_of_cells_that_share_sides():
    assert segment_sizes(np.array([[1, 0], [0, 1]])).tolist() == [[1, 0], [0, 1]]
    assert segment_sizes(np.array([[2, 2], [1, 2]])).tolist() == [[3, 3], [1, 3]]


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 2**32 - 1), st.integers(2, 12), st.floats(0, 0.4))
def test_nothing_below_the_size_is_left_but_what_touches_nothing(seed, least, gaps):
    rng = np.random.default_rng(seed)
    code = rng.integers(1, 5, (14, 17)).astype(np.uint8)
    code[rng.random(code.shape) < gaps] = 0
    cleaned, changed = clean_segments(code, least)
    assert np.array_equal(cleaned == 0, code == 0)
    assert set(np.unique(cleaned)) <= set(np.unique(code))  # T4, T19: no class that was not there
    assert changed == np.count_nonzero(cleaned != code)
    sizes = segment_sizes(cleaned)
    islands = segment_sizes((code > 0).astype(np.uint8))
    small = (sizes < least) & (sizes > 0)
    assert np.array_equal(sizes[small], islands[small])
    assert np.array_equal(clean_segments(cleaned, least)[0], cleaned)


def test_large_segments_keep_their_cells():
    code = np.repeat(np.array([1, 2, 3], np.uint8), 20).reshape(3, 20)
    code[1, 10] = 1
    cleaned, _ = clean_segments(code, 5)
    assert (cleaned[0] == 1).all() and (cleaned[2] == 3).all()
