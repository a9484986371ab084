"""Segments below a stated size join a neighbour."""

from __future__ import annotations

from unittest.mock import patch

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import ndimage

from geoprofile.errors import Cancelled, InputError
from geoprofile.grid import Grid
from geoprofile.terrain import segments


class Held:
    """Codes in memory, read and written by windows."""

    def __init__(self, codes):
        self.codes = np.array(codes, np.uint8)

    def read(self, window):
        return self.codes[window.slices].copy()

    def write(self, window, cells):
        self.codes[window.slices] = cells


def clean_segments(code, least, window=segments.WINDOW):
    held = Held(code)
    with patch.object(segments, "WINDOW", window):
        known, changed = segments.clean_segments(held, Grid("EPSG:3158", 0, 0, 1.0, *held.codes.shape), least)
    assert known == np.count_nonzero(code) and changed == np.count_nonzero(held.codes != code)
    return held.codes, changed


def segment_sizes(code):
    """Number of cells of the segment that each cell belongs to; 0 where there is no class."""
    sizes = np.zeros(code.shape, int)
    for kind in np.unique(code[code > 0]):
        label, _ = ndimage.label(code == kind)
        sizes += np.where(label > 0, np.bincount(label.ravel())[label], 0)
    return sizes


def cleaned_one_by_one(code, least):
    """The rule in sets of cells: the smallest that has a neighbour joins, then everything is looked at again."""
    place = {}  # segment, known by its first cell -> its cells
    for kind in np.unique(code[code > 0]):
        label, count = ndimage.label(code == kind)
        for one in range(1, count + 1):
            cells = [tuple(cell) for cell in np.argwhere(label == one).tolist()]
            place[cells[0]] = set(cells)
    kind = {first: code[first] for first in place}
    while True:
        of_cell = {cell: first for first, cells in place.items() for cell in cells}
        small = sorted((len(cells), first) for first, cells in place.items() if len(cells) < least)
        for _, one in small:
            around = {}
            for row, column in place[one]:
                for beside in ((row - 1, column), (row + 1, column), (row, column - 1), (row, column + 1)):
                    other = of_cell.get(beside, one)
                    if other != one:
                        around[other] = around.get(other, 0) + 1
            if around:
                into = min(around, key=lambda other: (-around[other], -len(place[other]), other))
                for other in [one, *(other for other in around if other != into and kind[other] == kind[into])]:
                    place[into] |= place.pop(other)
                break
        else:
            break
    cleaned = np.zeros_like(code)
    for first, cells in place.items():
        cleaned[tuple(np.array(sorted(cells)).T)] = kind[first]
    return cleaned


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


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 2**32 - 1), st.integers(1, 12), st.floats(0, 0.4), st.integers(2, 4), st.integers(1, 20))
def test_t13_any_window_gives_what_the_whole_gives_and_the_rule_says(seed, least, gaps, kinds, window):
    rng = np.random.default_rng(seed)
    code = rng.integers(1, kinds + 1, (13, 16)).astype(np.uint8)
    code[ndimage.zoom(rng.random((5, 6)), 3)[:13, :16] < gaps] = 0  # gaps of any outline, as where elevation is missing
    code[rng.random(code.shape) < gaps / 4] = 0
    cleaned, _ = clean_segments(code, least, window)
    np.testing.assert_array_equal(cleaned, clean_segments(code, least)[0])
    np.testing.assert_array_equal(cleaned, cleaned_one_by_one(code, least))


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 2**32 - 1), st.integers(2, 12), st.floats(0, 0.4))
def test_nothing_below_the_size_is_left_but_what_touches_nothing(seed, least, gaps):
    rng = np.random.default_rng(seed)
    code = rng.integers(1, 5, (14, 17)).astype(np.uint8)
    code[rng.random(code.shape) < gaps] = 0
    cleaned, _ = clean_segments(code, least)
    assert np.array_equal(cleaned == 0, code == 0)
    assert set(np.unique(cleaned)) <= set(np.unique(code))  # T4, T19: no class that was not there
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


def test_t15_more_segments_than_memory_holds_are_refused_before_anything_is_changed(monkeypatch):
    monkeypatch.setattr("geoprofile.memory.memory_free", lambda: 50 * segments.BYTES_PER_SEGMENT)
    ragged = (np.indices((12, 12)).sum(axis=0) % 2 + 1).astype(np.uint8)
    held = Held(ragged)
    with pytest.raises(InputError, match="more memory than there is") as refused:
        segments.clean_segments(held, Grid("EPSG:3158", 0, 0, 1.0, 12, 12), 2)
    assert "segments" in str(refused.value) and "least_segment_m2" in str(refused.value)
    assert np.array_equal(held.codes, ragged)
    assert clean_segments(np.ones((12, 12), np.uint8), 2)[1] == 0


def test_stopping_it_changes_nothing():
    ragged = (np.indices((12, 12)).sum(axis=0) % 2 + 1).astype(np.uint8)
    held = Held(ragged)

    def stop():
        raise Cancelled("stopped as asked")

    with pytest.raises(Cancelled):
        segments.clean_segments(held, Grid("EPSG:3158", 0, 0, 1.0, 12, 12), 2, stop)
    assert np.array_equal(held.codes, ragged)
