"""The equal-area spline: the matrix form of the papers, our tridiagonal form of it, and means over intervals."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.kernels.depth_spline import fit_splines, mean_over

DEPTHS = np.array([0, 5, 15, 30, 60, 100.0])

CONTIGUOUS = [0, 15, 40, 70], [15, 40, 70, 110], [3.2, 1.8, 0.9, 0.4]
GAPS = [0, 30, 60, 90], [10, 40, 70, 110], [20, 32, 28, 24]

REFERENCE = [
    # No worked example is printed in the papers. These were computed with exact algebra from the published matrix form
    # and checked by minimising the stated objective by finite differences of 0.2 cm (to 5 decimals), apart from this code.
    (CONTIGUOUS, 0.1, [3.163044, 1.826950, 0.903626, 0.406380], [-0.092390, -0.025015, -0.015950],
     [3.394019, 2.701095, 1.233531, 0.619048], [3.3684, 3.0604, 2.1092, 1.1369, 0.5057]),
    (CONTIGUOUS, 1e-6, [3.2, 1.8, 0.9, 0.4], [-0.098042, -0.022266, -0.016657],
     [3.445104, 2.709790, 1.205944, 0.622098], [3.4179, 3.0911, 2.0881, 1.1198, 0.5032]),
    (GAPS, 0.1, [20.177717, 31.758109, 28.014865, 24.049309], [0.444292, -0.160435, -0.123272],
     [19.437230, 30.544528, 28.755103, 24.871123], [19.6224, 21.7513, 27.2123, 30.8257, 26.1450]),
]  # fmt: skip


def one(upper, lower, value, smoothing=0.1):
    start = np.array([0, len(upper)])
    return start, np.array(upper, float), np.array(lower, float), fit_splines(start, upper, lower, value, smoothing)


def means(upper, lower, value, smoothing, depths, **limits):
    start, upper, lower, curve = one(upper, lower, value, smoothing)
    depths = np.asarray(depths, float)
    return mean_over(start, upper, lower, curve, depths[None, :-1], depths[None, 1:], **limits)


@pytest.mark.parametrize(
    ("layers", "smoothing", "fitted", "at_upper", "depths", "averages"),
    [
        (([0, 20, 50, 80], [20, 50, 80, 120], [2.5, 1.8, 0.9, 0.4]), 0.1, [2.487462, 1.799277, 0.907501, 0.405760],
         [2.591946, 2.278493, 1.311024, 0.597747], [0, 5, 15, 30, 60, 100], [2.585416, 2.507053, 2.197284, 1.477582, 0.630584]),
        (([0, 20, 50, 80], [20, 50, 80, 120], [2.5, 1.8, 0.9, 0.4]), 1.0, [2.391455, 1.785990, 0.962636, 0.459918],
         [2.481909, 2.210546, 1.343922, 0.659647], [0, 5, 15, 30, 60, 100], [2.476256, 2.408415, 2.139524, 1.494826, 0.689529]),
        (([0, 10, 40], [10, 30, 70], [24.5, 35.2, 32.0]), 0.1, [24.823194, 34.805644, 32.071162],
         [23.027671, 28.414241, 34.443235], [0, 5, 15, 30, 60, 70], [23.476552, 28.501752, 36.129636, 33.608617, 31.016907]),
    ],
)  # fmt: skip
def test_a_second_solution_in_values_and_slopes_at_knots_is_the_same(layers, smoothing, fitted, at_upper, depths, averages):
    """Geostatistics 6.1: the quadratic programme in the values and slopes at layer ends, checked there against 4,000 nodes. The third
    has a gap from 30 to 40 cm and rises above its largest layer, 35.2, to a mean of 36.13."""
    assert one(*layers, smoothing)[3].fitted == pytest.approx(fitted, abs=6e-7)
    assert one(*layers, smoothing)[3].at_upper == pytest.approx(at_upper, abs=6e-7)
    assert means(*layers, smoothing, depths)[0][0] == pytest.approx(averages, abs=6e-7)


@pytest.mark.parametrize(("layers", "smoothing", "fitted", "slopes", "at_upper", "averages"), REFERENCE)
def test_the_reference_values_are_met(layers, smoothing, fitted, slopes, at_upper, averages):
    curve = one(*layers, smoothing)[3]
    assert curve.fitted == pytest.approx(fitted, abs=2e-6)
    assert curve.slope_lower[:-1] == pytest.approx(slopes, abs=1e-6) and curve.slope_lower[-1] == 0
    assert curve.at_upper == pytest.approx(at_upper, abs=1e-6)
    assert means(*layers, smoothing, DEPTHS)[0][0] == pytest.approx(averages, abs=1e-4)


def published(upper, lower, value, smoothing):
    """Fitted means and inner slopes by the matrices as the papers print them."""
    upper, lower, value = (np.asarray(part, float) for part in (upper, lower, value))
    n, thick, gap = len(value), lower - upper, upper[1:] - lower[:-1]
    r = np.diag(2 * (thick[:-1] + thick[1:]) + 6 * gap) + np.diag(thick[1:-1], 1) + np.diag(thick[1:-1], -1)
    q = np.eye(n - 1, n, 1) - np.eye(n - 1, n)
    fitted = np.linalg.solve(np.eye(n) + 6 * n * smoothing * q.T @ np.linalg.solve(r, q), value)
    return fitted, 6 * np.linalg.solve(r, q @ fitted)


@st.composite
def layered(draw):
    n = draw(st.integers(2, 9))
    thick = draw(st.lists(st.floats(1, 60), min_size=n, max_size=n))
    gaps = draw(st.lists(st.sampled_from([0.0, 0.0, 3.0, 25.0]), min_size=n, max_size=n))
    upper = np.round(np.cumsum(np.array(gaps)) + np.concatenate([[0], np.cumsum(thick)[:-1]]), 9)
    return upper, upper + thick, draw(st.lists(st.floats(0, 100), min_size=n, max_size=n))


@settings(max_examples=40, deadline=None)
@given(layered(), st.sampled_from([1e-5, 0.01, 0.1, 1.0, 10.0]))
def test_three_diagonals_give_what_the_published_matrices_give(layers, smoothing):
    curve = one(*layers, smoothing)[3]
    fitted, slopes = published(*layers, smoothing)
    assert curve.fitted == pytest.approx(fitted, abs=1e-7) and curve.slope_lower[:-1] == pytest.approx(slopes, abs=1e-7)


@settings(max_examples=40, deadline=None)
@given(layered())
def test_the_mean_over_a_layer_is_the_fitted_mean_whatever_else_is_asked(layers):
    start, upper, lower, curve = one(*layers)
    got, below, above = mean_over(start, upper, lower, curve, upper[None], lower[None])
    assert got[0] == pytest.approx(curve.fitted, abs=1e-6) and not (below | above).any()


def test_the_curve_is_smooth_where_layers_and_gaps_meet():
    upper, lower, value = GAPS
    curve = one(upper, lower, value)[3]
    thick, gap = np.subtract(lower, upper), np.subtract(upper[1:], lower[:-1])
    at_lower = curve.at_upper + thick * (curve.slope_upper + curve.slope_lower) / 2
    assert at_lower[:-1] + gap * curve.slope_lower[:-1] == pytest.approx(curve.at_upper[1:])
    assert curve.slope_upper[1:] == pytest.approx(curve.slope_lower[:-1])


def test_lambda_towards_zero_keeps_the_means_and_a_large_one_draws_them_together():
    assert one(*CONTIGUOUS, 0.0)[3].fitted == pytest.approx(CONTIGUOUS[2])
    assert one(*CONTIGUOUS, 1e9)[3].fitted == pytest.approx(np.mean(CONTIGUOUS[2]), abs=1e-3)


def test_one_layer_is_constant_and_no_layer_says_nothing():
    assert means([10], [30], [7.0], 0.1, [0, 15, 100])[0][0] == pytest.approx([7.0, 7.0])
    empty = fit_splines([0, 0], [], [], [])
    assert np.isnan(mean_over([0, 0], [], [], empty, [[0.0]], [[10.0]])[0]).all()


def test_nothing_is_invented_beyond_the_layers():
    got, *_ = means(*CONTIGUOUS, 0.1, [90, 110, 150, 200])
    assert got[0, 0] == pytest.approx(means(*CONTIGUOUS, 0.1, [90, 110])[0][0, 0]) and np.isnan(got[0, 1]) and np.isnan(got[0, 2])


def test_many_pits_at_once_are_the_same_as_each_alone():
    upper, lower, value = (np.concatenate([np.array(a, float), np.array(b, float), [5.0 + c]]) for a, b, c in zip(CONTIGUOUS, GAPS, (0, 20, 1)))
    start = [0, 4, 8, 9]
    curves = fit_splines(start, upper, lower, value)
    both, *_ = mean_over(start, upper, lower, curves, np.tile(DEPTHS[:-1], (3, 1)), np.tile(DEPTHS[1:], (3, 1)))
    assert both[0] == pytest.approx(means(*CONTIGUOUS, 0.1, DEPTHS)[0][0])
    assert both[1] == pytest.approx(means(*GAPS, 0.1, DEPTHS)[0][0])
    assert np.isnan(both[2]).tolist() == [True, False, False, True, True]


@settings(max_examples=40, deadline=None)
@given(layered(), st.floats(0, 50), st.floats(50, 100))
def test_clipping_is_point_by_point_and_said(layers, lowest, highest):
    start, upper, lower, curve = one(*layers, 0.001)
    depths = np.linspace(upper[0], lower[-1], 4)
    got, below, above = mean_over(start, upper, lower, curve, depths[None, :-1], depths[None, 1:], lowest, highest)
    fine = np.linspace(upper[0], lower[-1], 6001)
    fine = (fine[1:] + fine[:-1]) / 2
    k = np.searchsorted(upper, fine, side="right") - 1
    t, thick = fine - upper[k], (lower - upper)[k]
    bend = (curve.slope_lower - curve.slope_upper)[k] / (2 * thick)
    inside = curve.at_upper[k] + curve.slope_upper[k] * np.minimum(t, thick) + bend * np.minimum(t, thick) ** 2
    raw = inside + curve.slope_lower[k] * np.maximum(t - thick, 0)
    held = np.clip(raw, lowest, highest).reshape(3, 2000).mean(axis=1)
    assert got[0] == pytest.approx(held, abs=0.02 * (1 + np.abs(raw).max() / 100))
    raw = raw.reshape(3, 2000)
    for said, by in ((below[0], lowest - raw), (above[0], raw - highest)):
        assert said[(by > 1e-3).any(axis=1)].all() and not said[(by < -1e-3).all(axis=1)].any()


@pytest.mark.parametrize("wrong", [([0, 10], [15, 30], [1, 2]), ([0, 10], [10, 10], [1, 2]), ([20, 0], [30, 10], [1, 2])])
def test_layers_that_overlap_have_no_thickness_or_no_order_are_refused(wrong):
    with pytest.raises(ValueError, match="overlap"):
        one(*wrong)
    with pytest.raises(ValueError, match="lambda"):
        one(*CONTIGUOUS, -1.0)
