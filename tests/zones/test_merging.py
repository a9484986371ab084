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


def one_after_the_other(area, edges, least, kind):
    """The rule in plain words: look for the smallest each time, and for its longest edge."""
    owner, area, kind = list(range(len(area))), list(area), list(kind)

    def join(one, into):
        area[into] += area[one]
        for other, its in enumerate(owner):
            if its == one:
                owner[other] = into

    def shared(one):
        found = {}
        for a, b, length in edges:
            if owner[a] != owner[b] and one in (owner[a], owner[b]):
                other = owner[b] if owner[a] == one else owner[a]
                found[other] = found.get(other, 0) + length
        return found

    done, stuck = False, set()
    while not done:
        done = True
        for one in sorted(set(owner)):
            for other in sorted(shared(one)):
                if kind[other] == kind[one]:
                    join(max(one, other), min(one, other))  # known by its first member: ties go by number
                    done = False
                    break
    while small := sorted((area[one], one) for one in set(owner) if area[one] < least and one not in stuck):
        one = small[0][1]
        beside = shared(one)
        if not beside:
            stuck.add(one)
            continue
        into = min(beside, key=lambda other: (-beside[other], -area[other], other))
        join(one, into)
        for other in beside:
            if other != into and kind[other] == kind[into]:
                join(other, into)
    return owner


@settings(max_examples=60, deadline=None)
@given(st.integers(2, 12), st.data())
def test_areas_of_whole_squares_go_where_looking_for_the_smallest_each_time_sends_them(count, data):
    """Whole numbers, so that sizes and edges are often equal."""
    area = data.draw(st.lists(st.integers(1, 4), min_size=count, max_size=count))
    kind = data.draw(st.lists(st.integers(1, 9), min_size=count, max_size=count))
    pairs = st.tuples(st.integers(0, count - 1), st.integers(0, count - 1), st.integers(1, 3))
    edges = [edge for edge in data.draw(st.lists(pairs, min_size=1, max_size=24)) if edge[0] != edge[1]]
    if edges:
        found, owed = np.array(merge(area, edges, 6, kind)), np.array(one_after_the_other(area, edges, 6, kind))
        np.testing.assert_array_equal(np.array(kind)[found], np.array(kind)[owed])
        assert (found[:, None] == found).tolist() == (owed[:, None] == owed).tolist()
