"""The order of polygons and where their rings begin do not depend on how they were found."""

from __future__ import annotations

import numpy as np
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from geoprofile.grid import Grid
from geoprofile.zones.lattice import class_polygons
from geoprofile.zones.ring_order import begun_alike, from_north_west

CODES = arrays(np.uint8, st.tuples(st.integers(1, 9), st.integers(1, 9)), elements=st.integers(1, 2))


def turned(polygon, rng):
    """The same polygon: rings begun elsewhere, some the other way round, holes in another order."""

    def other(ring):
        points = np.roll(np.array(ring.coords)[:-1], rng.integers(9), axis=0)
        return shapely.LinearRing(points[:: rng.choice([-1, 1])])

    holes = [other(hole) for hole in polygon.interiors]
    return shapely.Polygon(other(polygon.exterior), [holes[place] for place in rng.permutation(len(holes))])


@settings(max_examples=60, deadline=None)
@given(CODES, st.integers(0, 2**32 - 1))
def test_polygons_and_rings_are_alike_whatever_their_order_was(codes, seed):
    rng = np.random.default_rng(seed)
    polygons, kinds = class_polygons(codes, Grid("EPSG:3158", 600_000, 5_700_000, 10.0, *codes.shape), None)
    shuffled = rng.permutation(len(polygons))
    others = np.array([turned(polygons[place], rng) for place in shuffled], object)
    one, one_kinds = from_north_west(polygons, kinds)
    other, other_kinds = from_north_west(others, kinds[shuffled])
    assert one_kinds.tolist() == other_kinds.tolist() == sorted(kinds.tolist())
    assert shapely.to_wkb(begun_alike(one)).tolist() == shapely.to_wkb(begun_alike(other)).tolist()
    assert shapely.equals(begun_alike(one), one).all()


def test_a_shell_begins_one_corner_clockwise_from_its_north_west_and_a_hole_two_the_other_way():
    polygon = shapely.Polygon([(0, 0), (9, 0), (9, 9), (0, 9)], [[(2, 2), (2, 4), (4, 4), (4, 2)]])
    (one,) = begun_alike(np.array([polygon], object))
    assert list(one.exterior.coords)[:2] == [(9, 9), (9, 0)]
    assert list(one.interiors[0].coords)[:2] == [(4, 2), (4, 4)]


def test_parts_follow_from_north_to_south_and_from_west_to_east_within_their_class():
    south, east, west = shapely.box(0, 0, 1, 1), shapely.box(5, 5, 6, 6), shapely.box(2, 5, 3, 6)
    parts, kinds = from_north_west(np.array([south, east, west], object), np.array([1, 2, 2]))
    assert parts.tolist() == [south, west, east] and kinds.tolist() == [1, 2, 2]
