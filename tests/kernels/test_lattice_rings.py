"""Rings around regions, against labels and areas counted cell by cell."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy import ndimage

from geoprofile.kernels.lattice import APART
from geoprofile.kernels.lattice_rings import rings_of

CODES = arrays(np.uint8, st.tuples(st.integers(1, 12), st.integers(1, 12)), elements=st.integers(0, 2))


def traced(codes, state=None):
    """For each region its class and rings, each a list of (row, column)."""
    codes = np.asarray(codes, np.uint8)
    vertex, begin, region, _, kinds = rings_of(codes, np.zeros_like(codes) if state is None else state)
    regions = [(int(kind), []) for kind in kinds]
    for ring, own in enumerate(region.tolist()):
        row, column = np.divmod(vertex[begin[ring] : begin[ring + 1]], codes.shape[1] + 1)
        regions[own][1].append(list(zip(row.tolist(), column.tolist())))
    return regions


def cells_within(ring):
    """Signed: positive where the ring runs clockwise on the map."""
    return sum(c0 * r1 - c1 * r0 for (r0, c0), (r1, c1) in zip(ring, ring[1:] + ring[:1])) / 2


def rows(text):
    return np.array([[int(letter) for letter in row] for row in text.split("/")], np.uint8)


@settings(max_examples=60, deadline=None)
@given(CODES)
def test_regions_are_those_of_labels_and_their_rings_hold_their_cells(codes):
    found = traced(codes)
    owed = []
    for code in (1, 2):
        label, count = ndimage.label(codes == code)
        owed += [(code, int((label == one).sum())) for one in range(1, count + 1)]
    told = []
    for code, rings in found:
        areas = [cells_within(ring) for ring in rings]
        assert areas[0] > 0 and all(area < 0 for area in areas[1:])
        assert all(len(set(ring)) == len(ring) >= 4 for ring in rings), "a ring comes to no vertex twice"
        told.append((code, sum(areas)))
    assert sorted(told) == sorted(owed)


@settings(max_examples=60, deadline=None)
@given(CODES, st.integers(0, 2**32 - 1))
def test_cells_that_are_apart_are_left_out_and_the_state_is_as_it_was(codes, seed):
    state = (np.random.default_rng(seed).random(codes.shape) < 0.2).astype(np.uint8) * APART
    before = state.copy()
    found = traced(codes, state)
    np.testing.assert_array_equal(state, before)
    cells = np.bincount(codes[before == 0], minlength=3)
    told = np.bincount([code for code, _ in found], [sum(map(cells_within, rings)) for _, rings in found], 3)
    assert told[1:].tolist() == cells[1:].tolist()


@pytest.mark.parametrize(("codes", "areas"), [
    ("111/101/111", [[9, -1]]),
    ("1111/1001/1011/1111", [[16, -3]]),
    ("0110/1001/1001/0110", [[2], [2], [2], [2]]),  # four strokes that touch at corners only
])  # fmt: skip
def test_rings_of_shapes_drawn_by_hand(codes, areas):
    assert [[cells_within(ring) for ring in rings] for _, rings in traced(rows(codes))] == areas


def test_a_region_that_closes_around_land_at_a_corner_has_a_hole_that_touches_its_shell():
    # the one region of class 1 meets itself at the corner between its last cell and its first
    (one,) = [rings for code, rings in traced(rows("1111/1001/1001/1110")) if code == 1]
    assert [cells_within(ring) for ring in one] == [15, -4]
    shell, hole = map(set, one)
    assert shell & hole == {(3, 3)}


def test_holes_within_holes_go_to_the_region_around_them():
    codes = rows("1111111/1222221/1211121/1212121/1211121/1222221/1111111")
    areas = {code: [] for code in (1, 2)}
    for code, rings in traced(codes):
        areas[code].append([cells_within(ring) for ring in rings])
    assert areas == {1: [[49, -25], [9, -1]], 2: [[25, -9], [1]]}


def test_neighbours_share_the_vertex_where_a_third_begins():
    # the border of 1 runs straight on where 2 and 3 meet below it
    (shell,) = traced(rows("11/23"))[0][1]
    assert shell == [(0, 0), (0, 2), (1, 2), (1, 1), (1, 0)]
