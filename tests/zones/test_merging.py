"""Small areas go to the neighbour of the longest shared edge."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.zones.merging import merge_small


def merge(area, edges, least, kind=None, kept_apart=frozenset()):
    kind = np.arange(len(area)) if kind is None else np.array(kind)
    between, length = [edge[:2] for edge in edges], [edge[2] for edge in edges]
    return merge_small(np.array(area, float), np.array(between, int).reshape(-1, 2).T, np.array(length), least, kind, kept_apart).tolist()


def test_the_longest_edge_wins_over_the_larger_neighbour():
    assert merge([1, 100, 5], [(0, 1, 2), (0, 2, 3)], 2) == [2, 1, 2]


def test_of_equal_edges_the_larger_neighbour_then_the_earlier_one():
    assert merge([1, 100, 5], [(0, 1, 3), (0, 2, 3)], 2) == [1, 1, 2]
    assert merge([1, 5, 5], [(0, 1, 3), (0, 2, 3)], 2) == [1, 1, 2]


def test_the_smallest_goes_first_and_what_it_joins_may_be_large_enough_then():
    # 0 joins 1; together they have 2.5 and stay
    assert merge([1, 1.5, 50], [(0, 1, 2), (1, 2, 1)], 2) == [1, 1, 2]


def test_edges_add_up_when_neighbours_join():
    # after 0 has joined 1, area 3 shares 1 + 1 with them and only 1.5 with 2
    assert merge([1, 10, 10, 2], [(0, 1, 5), (0, 3, 1), (1, 3, 1), (2, 3, 1.5)], 3) == [1, 1, 2, 1]


def test_neighbours_of_one_class_are_one_area():
    assert merge([1, 1.5, 9], [(0, 1, 1), (1, 2, 1)], 2, kind=[7, 7, 8]) == [0, 0, 2]


def test_an_island_stays_however_small():
    assert merge([1, 9], [], 5) == [0, 1]


@settings(max_examples=60, deadline=None)
@given(st.integers(1, 8), st.data())
def test_nothing_is_lost_and_no_small_area_with_a_neighbour_is_left(count, data):
    area = data.draw(st.lists(st.floats(0.1, 5), min_size=count, max_size=count))
    pairs = st.tuples(st.integers(0, count - 1), st.integers(0, count - 1), st.floats(0.1, 3))
    edges = data.draw(st.lists(pairs, max_size=12))
    owner = np.array(merge(area, edges, 2.0))
    assert (owner[owner] == owner).all()
    total = np.bincount(owner, area, count)
    assert np.isclose(total.sum(), sum(area))
    for a, b, _ in edges:
        if owner[a] != owner[b]:
            assert total[owner[a]] >= 2.0 and total[owner[b]] >= 2.0


def test_a_small_area_joins_what_is_kept_apart_only_where_it_has_no_other_neighbour():
    edges = [(0, 1, 9), (0, 2, 1), (1, 3, 2)]
    assert merge([1, 50, 50, 1], edges, 2, kept_apart=frozenset({1})) == [2, 1, 2, 1]
    assert merge([1, 50, 50, 1], edges, 2) == [1, 1, 2, 1]
    assert merge([1, 50, 50, 1], edges, 60, kept_apart=frozenset({0, 1, 2})) == [0, 1, 2, 1]
