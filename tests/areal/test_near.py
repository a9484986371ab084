"""The exact variance of a mean to which only near pits speak."""

from __future__ import annotations

import numpy as np
import pytest

from geoprofile.areal.model import ErrorModel, Part
from geoprofile.areal.near import NearModel
from geoprofile.grid import Grid
from geoprofile.kernels.covariance import Model, covariance_in_place, scaled_squares
from geoprofile.kernels.kriging import solve
from geoprofile.kernels.neighbours import mean_weights, predict_near

GRID = Grid("EPSG:3158", 600_000.0, 5_700_000.0, 10.0, 20, 30)
SOME = np.flatnonzero((np.arange(600) % 30 < 12) & (np.arange(600) // 30 < 10))
MODEL = Model("exponential", 6.0, 30.0, 50.0)


@pytest.fixture(scope="module")
def land():
    rng = np.random.default_rng(5)
    places = np.column_stack([600_000 + rng.uniform(0, 300, 50), 5_700_000 - rng.uniform(0, 200, 50)])
    values = rng.normal(40, 6, 50)
    part = Part(solve(places, values, MODEL), values, values, np.zeros(50, bool), tuple(f"P{n}" for n in range(50)))
    return ErrorModel({"": part}, ("",), np.array([], object), GRID)


def test_with_all_pits_near_it_is_the_variance_of_the_whole_system(land):
    weight = np.random.default_rng(1).random(len(SOME))
    near = NearModel(land, 50, np.inf, 3)
    assert near.mean_variance_of_cells(SOME, weight) == pytest.approx(land.mean_variance_of_cells(SOME, weight), rel=1e-9)
    assert near.predict(GRID.centre_points()) == pytest.approx(land.predict(GRID.centre_points()), rel=1e-9)


def test_with_few_near_pits_it_is_that_of_brute_force(land):
    """Fields and pits drawn together 6,000 times; the same near weights every time."""
    system, near = land.parts[""].system, NearModel(land, 6, np.inf, 3)
    points = np.vstack([system.points, GRID.centre_points()[SOME]])
    matrix = covariance_in_place(MODEL.kind, MODEL.partial_sill, scaled_squares(MODEL, points, points))
    rng = np.random.default_rng(2)
    drawn = np.linalg.cholesky(matrix + 1e-9 * np.eye(len(points))) @ rng.standard_normal((len(points), 6000))
    shown = drawn[:50] + np.sqrt(MODEL.nugget) * rng.standard_normal((50, 6000))
    weight = np.full(len(SOME), 1 / len(SOME))
    among = mean_weights(system, GRID.centre_points()[SOME], None, weight, most=6)
    assert among.sum() == pytest.approx(1) and among @ system.values == pytest.approx(near.predict(GRID.centre_points())[SOME].mean())
    errors = weight @ drawn[50:] - among @ shown
    owed = near.mean_variance_of_cells(SOME, weight)
    assert errors.var() == pytest.approx(owed, rel=4 * np.sqrt(2 / 6000))
    assert owed >= land.mean_variance_of_cells(SOME, weight) * (1 - 1e-9), "no weights do better than those of all pits"


def test_where_too_few_pits_are_near_there_is_no_interval(land):
    lonely = NearModel(land, 40, 1.0, 3)
    assert np.isnan(lonely.mean_variance_of_cells(SOME, np.ones(len(SOME))))


def test_weights_of_near_pits_give_back_their_estimate(land):
    system = land.parts[""].system
    one = GRID.centre_points()[[77]]
    assert mean_weights(system, one, None, np.ones(1), most=5) @ system.values == pytest.approx(predict_near(system, one, most=5)[0][0])
