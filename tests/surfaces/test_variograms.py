"""The sample variogram that goes with each surface."""

import numpy as np
import pytest

from geoprofile.surfaces.methods.contract import Observations
from geoprofile.surfaces.variograms import COLUMNS, variogram_table

FOUR = np.array([[0.0, 0], [10, 0], [0, 10], [10, 10]])


def table(points, low, high=None, codes=None, use="", **more):
    observations = Observations(points, low, low if high is None else high, **more)
    return variogram_table("t", observations, np.ones(len(points), int) if codes is None else codes, use, {1: "till", 2: "sand"})


def test_half_the_mean_squared_difference_by_hand():
    """Twelve pits on a line 10 m apart, values 0 1 0 1 ...: neighbours differ by 1, the next by 0 (K5: none beyond a third)."""
    found = table(np.column_stack([np.arange(12) * 10.0, np.zeros(12)]), np.arange(12) % 2.0)
    assert list(found.columns) == list(COLUMNS)
    assert list(found["distance_m"]) == [10, 20, 30] and list(found["semivariance"]) == [0.5, 0, 0.5]
    assert list(found["pairs"]) == [11, 10, 9]


def test_a_bound_has_no_difference_to_anything():
    points = np.column_stack([np.arange(12) * 10.0, np.zeros(12)])
    values, high = np.arange(12) % 2.0, np.arange(12) % 2.0
    values[3], high[3] = 60, np.inf
    assert table(points, values, high)["semivariance"].max() == 0.5


def test_what_the_drift_explains_is_taken_away_first():
    rng = np.random.default_rng(1)
    points, drift = rng.uniform(0, 500, (60, 2)), rng.normal(300, 5, (60, 1))
    found = table(points, 3 * drift[:, 0] + 10, drift=drift, drift_names=("elevation",))
    assert found["semivariance"].max() == pytest.approx(0, abs=1e-9)


def test_strata_with_models_of_their_own_have_variograms_of_their_own():
    points = np.random.default_rng(1).uniform(0, 500, (60, 2))
    codes = np.repeat([1, 2], 30)
    values = np.where(codes == 2, 500.0, 0.0)
    split, shared = table(points, values, codes=codes, use="split"), table(points, values, codes=codes, use="stop")
    assert set(split["stratum"]) == {"till", "sand"} and set(shared["stratum"]) == {""}
    assert split["semivariance"].max() == shared["semivariance"].max() == 0, "no pair joins two strata"


def test_two_pits_have_no_variogram():
    assert table(FOUR[:2], np.array([1.0, 2.0])).empty
