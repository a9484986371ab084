"""Where the pits back an estimate."""

import numpy as np
import pytest

from geoprofile.grid import Grid
from geoprofile.surfaces.reliability import backed_by, most_seen, reach_of

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
    backed = backed_by(SQUARE, 80.0, grid, np.ones(grid.shape, bool))
    x, y = np.meshgrid(*grid.centres())
    inside = (x > 0) & (x < 200) & (y > 0) & (y < 200)
    assert backed[inside].all()
    away = np.sqrt(((x[..., None] - SQUARE[:, 0]) ** 2 + (y[..., None] - SQUARE[:, 1]) ** 2).min(axis=2))
    assert np.array_equal(backed[~inside], away[~inside] <= 40)


def test_only_wanted_cells_are_looked_at():
    grid = Grid("EPSG:3158", 0, 200, 10, 20, 20)
    wanted = np.zeros(grid.shape, bool)
    wanted[3:5] = True
    assert np.array_equal(backed_by(SQUARE, 500.0, grid, wanted), wanted)


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
