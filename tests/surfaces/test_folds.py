"""Parts that leave pits as far from the rest as the map is from its pits."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.grid import Grid
from geoprofile.surfaces.folds import Targets, location_parts, random_parts

SIDE = 1000.0


def cells(codes=1, cell_m=10.0):
    grid = Grid("EPSG:3158", 0, SIDE, cell_m, int(SIDE / cell_m), int(SIDE / cell_m))
    return Targets.of(grid, np.full(grid.shape, codes, np.uint8), np.ones(grid.shape, bool))


def parts(points, kind=location_parts, codes=None, targets=None, folds=10, split=False):
    codes = np.ones(len(points), int) if codes is None else codes
    return kind(points, codes, targets or cells(), folds, 1, split)


def nearest_other(points, labels):
    away = np.sqrt(((points[:, None] - points[None]) ** 2).sum(axis=2))
    return np.where(labels[:, None] == labels[None], np.inf, away).min(axis=1)


def clusters(count=15, each=6):
    rng = np.random.default_rng(5)
    return np.repeat(rng.uniform(0, SIDE, (count, 2)), each, axis=0) + rng.normal(0, 12, (count * each, 2))


def test_clusters_leave_whole_and_distances_come_to_match_those_of_the_cells():
    """Linnenbrink et al. 2024; K16."""
    points, targets = clusters(), cells()
    found, random = parts(points).labels, parts(points, random_parts).labels
    wanted = np.median(np.sqrt(((targets.points[:, None] - points[None]) ** 2).sum(axis=2)).min(axis=1))
    assert len(np.unique(found)) == 10
    assert np.median(nearest_other(points, random)) < 0.3 * wanted
    assert np.median(nearest_other(points, found)) > 0.6 * wanted
    own = np.repeat(np.arange(15), 6)
    assert np.mean([len(np.unique(found[own == cluster])) for cluster in range(15)]) < 1.5


def test_where_pits_lie_evenly_the_matching_parts_are_the_random_ones():
    points = np.random.default_rng(1).uniform(0, SIDE, (120, 2))
    assert np.array_equal(parts(points).labels, parts(points, random_parts).labels)


def test_how_the_parts_came_about_is_said_with_distances():
    words = parts(clusters()).words
    assert words.startswith("parts matched by distance: half of the pits lie within ") and words.endswith(" m of a pit")


@pytest.mark.parametrize("kind", [location_parts, random_parts])
def test_repeats_of_a_place_stay_together(kind):
    """K15"""
    rng = np.random.default_rng(2)
    points = np.repeat(rng.uniform(0, SIDE, (50, 2)), 2, axis=0) + rng.normal(0, 1, (100, 2))
    labels = parts(points, kind).labels
    assert (labels[::2] == labels[1::2]).all()


def test_a_coarse_map_does_not_chain_all_pits_into_one_part():
    x, y = np.meshgrid(np.arange(12) * 5.0, np.arange(12) * 5.0)
    assert len(parts(np.column_stack([x.ravel(), y.ravel()]), targets=cells(cell_m=50))) >= 8


def test_a_shift_of_all_northings_changes_nothing():
    """K4"""
    points, targets = clusters(), cells()
    far = Targets(targets.points + [0, 5_000_000], targets.codes, targets.cell_m)
    assert np.array_equal(parts(points).labels, parts(points + [0, 5_000_000], targets=far).labels)


def test_each_stratum_is_cut_by_itself_where_its_pits_alone_serve_it():
    points = np.random.default_rng(3).uniform(0, SIDE, (60, 2))
    codes = np.repeat([1, 2], [45, 15])
    labels = parts(points, codes=codes, split=True).labels
    assert len(np.unique(labels[codes == 1])) == 10 and len(np.unique(labels[codes == 2])) == 5


@settings(max_examples=20, deadline=None)
@given(st.integers(2, 60), st.integers(2, 12), st.integers(0, 1000))
def test_every_place_is_in_one_part_and_something_always_remains(count, folds, seed):
    points = np.random.default_rng(seed).uniform(0, SIDE, (count, 2))
    for kind in (location_parts, random_parts):
        labels = parts(points, kind, folds=folds).labels
        assert labels.shape == (count,) and 2 <= len(np.unique(labels)) <= max(2, folds)


def test_random_parts_are_of_nearly_one_size():
    sizes = np.bincount(parts(np.random.default_rng(4).uniform(0, SIDE, (83, 2)), random_parts, targets=cells(cell_m=1)).labels)
    assert sizes.max() - sizes.min() <= 2 and sizes.sum() == 83
