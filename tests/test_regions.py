"""Regions of one class: found window by window as if looked at whole."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy import ndimage

from geoprofile.grid import Grid
from geoprofile.regions import find_regions, recode

CODES = arrays(np.uint8, st.tuples(st.integers(1, 11), st.integers(1, 9)), elements=st.integers(0, 3))


class Held:
    """Codes in memory, read and written by windows."""

    def __init__(self, codes):
        self.codes = np.array(codes, np.uint8)

    def read(self, window):
        return self.codes[window.slices].copy()

    def write(self, window, cells):
        self.codes[window.slices] = cells


def labelled_whole(codes):
    """Number of each cell's region, by a general library, in order of first cells; and the class of each number."""
    label, begin = np.zeros(codes.shape, int), 0
    for code in (1, 2, 3):
        found, count = ndimage.label(codes == code)
        label[found > 0] = found[found > 0] + begin
        begin += count
    first = [int(np.flatnonzero(label.ravel() == one)[0]) for one in range(1, begin + 1)]
    order = np.zeros(begin + 1, int)
    order[1 + np.argsort(first)] = np.arange(1, begin + 1)
    return order[label], [0, *codes.ravel()[sorted(first)].tolist()]


@settings(max_examples=40, deadline=None)
@given(CODES, st.integers(1, 12))
def test_t13_regions_are_those_of_the_whole_whatever_the_windows(codes, tile):
    windows = list(Grid("EPSG:3158", 0, 0, 1.0, *codes.shape).windows(tile))
    labels = []
    found = find_regions(Held(codes), windows, codes.shape[1], labels.append)
    owed, kinds = labelled_whole(codes)
    assert found.kind.tolist() == kinds
    assert found.size.tolist() == np.bincount(owed.ravel(), minlength=len(kinds)).tolist()
    assert labels == sorted(labels) and labels[-1] == len(found.of_label) - 1
    sides, told = {}, {}
    for a, b in ((owed[:, 1:], owed[:, :-1]), (owed[1:], owed[:-1])):
        for pair in zip(a.ravel().tolist(), b.ravel().tolist()):
            if pair[0] != pair[1] and min(pair):
                sides[tuple(sorted(pair))] = sides.get(tuple(sorted(pair)), 0) + 1
    for one, other, number in zip(found.one.tolist(), found.other.tolist(), found.sides.tolist()):
        pair = min(one, other), max(one, other)
        told[pair] = told.get(pair, 0) + number
    assert told == sides

    # every region takes a class of its own: each cell shows which it was put into
    kind = np.arange(len(kinds), dtype=np.uint8)
    sink = Held(codes)
    changed = recode(sink, sink, windows, kind[found.of_label])
    np.testing.assert_array_equal(sink.codes, owed)
    assert changed == np.count_nonzero(owed != codes)


def test_a_region_that_winds_through_many_windows_is_one():
    """A spiral one cell wide: its ends lie far apart along it."""
    codes = np.zeros((15, 15), np.uint8)
    codes[::2] = 1
    codes[1::4, -1] = codes[3::4, 0] = 1
    found = find_regions(Held(codes), Grid("EPSG:3158", 0, 0, 1.0, 15, 15).windows(4), 15, lambda number: None)
    assert found.kind.tolist() == [0, 1] and found.size.tolist() == [15 * 15 - 127, 127]
