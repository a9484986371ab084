"""Labels of one window: in order of first cells, whatever the shape."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy import ndimage

from geoprofile.kernels.regions import first_cells, joined, label_regions, sides_between


def test_what_meets_only_below_or_at_its_end_has_one_label():
    """Two arms of a U, and a comb whose teeth meet in the last row."""
    label, cells = label_regions(np.array([[1, 0, 1], [1, 0, 1], [1, 1, 1]], np.uint8))
    assert label.tolist() == [[1, 0, 1], [1, 0, 1], [1, 1, 1]] and cells.tolist() == [2, 7]
    label, cells = label_regions(np.array([[1, 2, 1, 2, 1], [1, 2, 1, 2, 1], [1, 1, 1, 1, 1]], np.uint8))
    assert label[0].tolist() == [1, 2, 1, 3, 1] and cells.tolist() == [0, 11, 2, 2]


@settings(max_examples=40, deadline=None)
@given(arrays(np.uint8, st.tuples(st.integers(1, 14), st.integers(1, 14)), elements=st.integers(0, 2)))
def test_labels_are_those_of_a_general_library_in_order_of_first_cells(codes):
    label, cells = label_regions(codes)
    assert ((label > 0) == (codes > 0)).all()
    for code in (1, 2):
        owed, count = ndimage.label(codes == code)
        pairs = np.unique(np.stack([owed, label])[:, codes == code], axis=1)
        assert len(set(pairs[0])) == len(set(pairs[1])) == pairs.shape[1] == count
    first = first_cells(label, len(cells))[1:]
    assert (np.diff(first) > 0).all() and label.ravel()[first].tolist() == list(range(1, len(cells)))
    assert cells.tolist() == np.bincount(label.ravel(), minlength=len(cells)).tolist()


def test_each_shared_side_counts_once_and_what_has_no_class_has_none():
    keys = sides_between(np.array([[1, 2, 2], [1, 1, 0]], np.int32))
    assert sorted((key >> 32, key & 0xFFFFFFFF) for key in keys.tolist()) == [(1, 2), (1, 2)]


def test_labels_that_are_joined_by_others_take_the_least():
    assert joined(6, np.array([4, 2, 3], np.int32), np.array([5, 4, 5], np.int32)).tolist() == [0, 1, 2, 2, 2, 2]
