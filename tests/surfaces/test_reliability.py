"""Where the pits back an estimate."""

from concurrent.futures import ThreadPoolExecutor
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.grid import Grid
from geoprofile.kernels.covariance import Model
from geoprofile.surfaces.reliability import BACKED, FAR, OUTSIDE, Backing, Reliability, backing_of, most_seen, reach_of

SQUARE = np.array([[x, y] for x in (0.0, 100.0, 200.0) for y in (0.0, 100.0, 200.0)])


def test_the_reach_is_the_models_range_within_reason():
    spacing = 200 / 3
    assert reach_of(SQUARE, 120.0, None) == 120.0
    assert reach_of(SQUARE, 5.0, None) == pytest.approx(1.5 * spacing), "an even layout has no holes"
    assert reach_of(SQUARE, None, None) == pytest.approx(1.5 * spacing)
    assert reach_of(SQUARE, 90_000.0, None) == pytest.approx(200 * np.sqrt(2) / 2), "half the layout at most"
    assert reach_of(SQUARE, 90_000.0, 33.0) == 33.0, "as set"


def test_pits_in_one_line_have_a_spacing_too():
    line = np.column_stack([np.arange(11) * 50.0, np.zeros(11)])
    assert reach_of(line, None, None) == pytest.approx(1.5 * 500 / 11)


def test_outside_the_hull_half_the_reach_counts_and_far_cells_are_not_backed():
    """K11"""
    grid = Grid("EPSG:3158", -200, 400, 10, 60, 60)
    x, y = grid.centres()
    backed = Backing(SQUARE, 80.0).near_cells(x, y, np.ones(grid.shape, bool))
    x, y = np.meshgrid(x, y)
    inside = (x > 0) & (x < 200) & (y > 0) & (y < 200)
    assert backed[inside].all()
    away = np.sqrt(((x[..., None] - SQUARE[:, 0]) ** 2 + (y[..., None] - SQUARE[:, 1]) ** 2).min(axis=2))
    assert np.array_equal(backed[~inside], away[~inside] <= 40)


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10_000), st.integers(1, 30), st.floats(1, 900), st.floats(1, 40), st.sampled_from([1.0, 0.6, 0.2]))
def test_squares_told_as_a_whole_are_those_of_their_cells(seed, pits, reach, cell, ratio):
    """Scattered pits, pits in a line, one pit: the short cut is the long way, cell by cell."""
    rng = np.random.default_rng(seed)
    points = rng.uniform(0, 1000, (pits, 2)) * (1, seed % 3 > 0) + 5_500_000
    grid = Grid("EPSG:3158", 5_499_800, 5_501_200, cell, 70, 97)
    own = rng.random(grid.shape) < 0.9
    backing = Backing(points, reach, None, 30.0, ratio)
    near = backing.near_cells(*grid.centres(), own)
    assert np.array_equal(near, own & backing.near(grid.centre_points()).reshape(grid.shape))


def test_the_reach_is_longer_the_way_the_model_says_and_an_even_layout_still_has_no_holes():
    """Reach 150 m along azimuth 90 degrees (east); across it 30 m, which gives way to one and a half mean spacings of 67 m."""
    part = SimpleNamespace(reach_m=150.0, system=SimpleNamespace(model=Model("spherical", 1.0, 9.0, 150.0, 90.0, 0.2)))
    one = np.array([[0.0, 0.0]])
    far = Backing(one, 150.0, None, 90.0, 0.2)
    assert far.near(np.array([[74.0, 0.0], [76.0, 0.0], [0.0, 14.0], [0.0, 16.0]])).tolist() == [True, False, True, False]
    backing = backing_of(part, SQUARE * 3, None)
    assert (backing.reach_m, backing.reach_m * backing.ratio) == pytest.approx((300.0, 300.0)), "spacing 200 m: no holes"
    backing = backing_of(part, SQUARE, None)
    assert (backing.reach_m, backing.azimuth) == (pytest.approx(200 * np.sqrt(2) / 2), 90.0)
    assert backing.reach_m * backing.ratio == pytest.approx(1.5 * 200 / 3)
    assert backing_of(part, SQUARE, 40.0).ratio == 1.0, "as set, all round"


def test_only_cells_of_the_stratum_are_looked_at_and_windows_agree_with_places():
    grid = Grid("EPSG:3158", 0, 200, 10, 20, 20)
    codes = np.zeros(grid.shape, np.uint8)
    codes[3:5] = 7
    reliability = Reliability({7: Backing(SQUARE, 50.0)})
    told = reliability.over(grid, grid.whole, codes)
    assert set(np.unique(told)) == {OUTSIDE, BACKED, FAR} and np.array_equal(told > 0, codes == 7)
    assert np.array_equal(told.ravel(), reliability.at(grid.centre_points(), codes.ravel()))


@pytest.mark.parametrize(
    ("low", "high", "seen"),
    [
        ([20, 40], [20, 40], np.inf),  # all measured: the model may pass the deepest a little
        ([20, 60], [20, np.nan], 60),
        ([20, 60], [90, np.inf], 90),
        ([np.nan, 20], [50, 20], np.inf),
    ],
)
def test_nobody_vouches_for_what_lies_beyond_the_deepest_pit(low, high, seen):
    assert most_seen(np.array(low, float), np.array(high, float)) == seen


def test_threads_may_ask_at_once():
    """A prepared polygon shared between threads ends the process."""
    grid, rng = Grid("EPSG:3158", 0, 960, 10, 96, 96), np.random.default_rng(1)
    x, y = grid.centres()
    for _ in range(60):
        backing = Backing(rng.uniform(0, 960, (200, 2)), 60.0)
        with ThreadPoolExecutor(4) as pool:
            found = list(pool.map(lambda _, one=backing: one.near_cells(x, y, np.ones(grid.shape, bool)), range(4)))
        assert all(np.array_equal(found[0], other) for other in found)
