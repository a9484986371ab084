"""A conditioned Latin hypercube (Minasny & McBratney 2006): one pit in each stratum of each raster."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.kernels.design import objective
from geoprofile.sampling.terrain_spread import TerrainOfCells, spread_over_terrain

AXIS = (np.arange(60) + 0.5) * 10
LAND = np.stack(np.meshgrid(AXIS, AXIS), axis=-1).reshape(-1, 2)


def terrain(columns, classes=None, seed=1):
    rng = np.random.default_rng(seed)
    waves = [np.sin(LAND @ rng.normal(0, 0.02, 2)) + 0.1 * rng.normal(size=len(LAND)) for _ in range(columns)]
    return TerrainOfCells(np.column_stack(waves), classes, tuple(f"raster {n}" for n in range(columns)))


def nothing(columns, classes=False):
    return TerrainOfCells(np.empty((0, columns)), np.empty(0, int) if classes else None, ())


def counts(found, ground, number, existing=None):
    chosen = [int(np.flatnonzero((LAND == point).all(axis=1))[0]) for point in found.points]
    values = ground.numbers[chosen] if existing is None else np.vstack([existing, ground.numbers[chosen]])
    edges = np.quantile(ground.numbers, np.arange(1, len(values)) / len(values), axis=0)
    return [np.bincount(np.searchsorted(edges[:, j], values[:, j], side="right"), minlength=len(values))
            for j in range(values.shape[1])]  # fmt: skip


@pytest.mark.parametrize("columns", [1, 2])
def test_with_one_or_two_rasters_every_stratum_can_have_its_pit(columns):
    """The first part of the objective reaches 0 for one or two continuous covariates (reference 6.2)."""
    ground = terrain(columns)
    found = spread_over_terrain(LAND, ground, nothing(columns), 12, seed=2)
    assert all((one == 1).all() for one in counts(found, ground, 12))


def test_a_random_layout_misses_strata_as_often_as_the_binomial_says_and_the_design_far_less():
    """Expected for random sites: n k E|Binomial(n, 1/n) - 1|, about .736 n k (reference 6.2)."""
    number, columns = 30, 3
    rng, ground = np.random.default_rng(4), terrain(3)
    ranks = ground.numbers.argsort(axis=0).argsort(axis=0) * number // len(LAND)
    misfits = []
    for _ in range(400):
        some = rng.choice(len(LAND), number, replace=False)
        misfits.append(sum(np.abs(np.bincount(ranks[some, j], minlength=number) - 1).sum() for j in range(columns)))
    from scipy.stats import binom

    owed = number * columns * sum(binom.pmf(k, number, 1 / number) * abs(k - 1) for k in range(number + 1))
    assert owed == pytest.approx(0.736 * number * columns, rel=0.03)
    assert np.mean(misfits) == pytest.approx(owed, rel=0.03)
    found = spread_over_terrain(LAND, ground, nothing(3), number, seed=1)
    assert sum(np.abs(one - 1).sum() for one in counts(found, ground, number)) < 0.2 * owed


def test_pits_that_are_there_count_and_new_ones_fill_the_strata_they_left():
    ground = terrain(1)
    low = np.sort(ground.numbers[:, 0])[: len(LAND) // 2]
    existing = np.quantile(low, (np.arange(6) + 0.5) / 6)[:, None]
    found = spread_over_terrain(LAND, ground, TerrainOfCells(existing, None, ()), 6, seed=3)
    assert all((one == 1).all() for one in counts(found, ground, 6, existing))
    assert found.before == pytest.approx(6), "half of twelve strata are empty"
    assert found.after == pytest.approx(0) and found.gain.sum() == pytest.approx(6)


def test_classes_get_the_share_that_they_have_on_the_land():
    classes = np.where(LAND[:, 0] < 120, 1, np.where(LAND[:, 0] < 300, 2, 3))  # 20, 30 and 50 %
    ground = terrain(1, classes)
    found = spread_over_terrain(LAND, ground, nothing(1, True), 10, seed=1)
    own = np.where(found.points[:, 0] < 120, 1, np.where(found.points[:, 0] < 300, 2, 3))
    assert np.bincount(own, minlength=4)[1:].tolist() == [2, 3, 5]


def test_no_pit_goes_where_none_may_be_dug_or_where_terrain_is_not_known():
    ground = terrain(2)
    ground.numbers[LAND[:, 1] > 400] = np.nan
    allowed = LAND[:, 0] < 250
    found = spread_over_terrain(LAND, ground, nothing(2), 8, seed=1, allowed=allowed)
    assert (found.points[:, 0] < 250).all() and (found.points[:, 1] <= 400).all()


@settings(max_examples=10, deadline=None)
@given(st.integers(1, 8), st.integers(0, 6), st.integers(0, 1000), st.integers(1, 3))
def test_gains_add_up_and_the_seed_gives_the_same_places(number, pits, seed, columns):
    ground = terrain(columns, seed=seed)
    existing = TerrainOfCells(ground.numbers[:: len(LAND) // 7][:pits], None, ())
    one, two = (spread_over_terrain(LAND, ground, existing, number, seed) for _ in range(2))
    assert np.array_equal(one.points, two.points)
    assert len({tuple(point) for point in one.points}) == number
    assert one.gain.sum() == pytest.approx(one.before - one.after)


def test_the_objective_by_hand():
    # two columns, three strata, two sites: column 0 has strata 0 and 2, column 1 has stratum 1 twice
    counted = np.array([[1.0, 0, 1], [0, 2, 0]])
    parts = objective(counted, np.array([2.0, 0.0]), np.zeros(2), np.eye(2), 2, np.array([0.5, 0.5]), np.eye(2))
    assert parts.tolist() == [1 + 3, 1 + 1, 0]
