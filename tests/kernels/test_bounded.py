"""Distribution of values that are partly known only within limits."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.kernels.bounded import mass_intervals, mean_limits, median_allowed, median_limits

# Weeks in remission of 21 leukaemia patients on 6-mercaptopurine, + = still in remission (Freireich et al. 1963,
# Blood 21:699-716, as reprinted in textbooks of survival analysis; values from memory).
WEEKS = "6 6 6 6+ 7 9+ 10 10+ 11+ 13 16 17+ 19+ 20+ 22 23 25+ 32+ 32+ 34+ 35+".split()
LOW = np.array([float(week.strip("+")) for week in WEEKS])
HIGH = np.array([np.inf if week.endswith("+") else float(week) for week in WEEKS])


def test_with_exact_and_at_least_it_is_the_product_limit_estimator():
    # Kaplan & Meier 1958 on these data: .857 .807 .753 .690 .627 .538 .448, median 23 (textbook values, from memory)
    left, right, mass = mass_intervals(LOW, HIGH)
    assert left[:7].tolist() == right[:7].tolist() == [6, 7, 10, 13, 16, 22, 23]
    assert 1 - np.cumsum(mass)[:7] == pytest.approx([0.857, 0.807, 0.753, 0.690, 0.627, 0.538, 0.448], abs=6e-4)
    assert (left[7], right[7]) == (35, np.inf)
    assert median_limits(left, right, mass) == (23, 23)


def test_at_least_60_does_not_contain_60_itself():
    left, right, mass = mass_intervals(np.array([60.0, 60.0]), np.array([60.0, np.inf]))
    assert left.tolist() == [60, 60] and right.tolist() == [60, np.inf] and mass == pytest.approx([0.5, 0.5])


def test_between_and_at_most_share_what_exact_values_tell():
    # one pit at 7 lies within two of the limits and takes their mass; the other stays between 0 and 5
    left, right, mass = mass_intervals(np.array([0.0, 7, 6, -np.inf]), np.array([7.0, 8, 10, 5]))
    assert list(zip(left, right)) == [(0, 5), (7, 7)] and mass == pytest.approx([1 / 3, 2 / 3], abs=1e-6)


def test_the_median_is_an_interval_where_half_lies_below():
    assert median_limits(*mass_intervals(np.array([1.0, 2, 3, 9]), np.array([1.0, 2, 3, np.inf]))) == (2, 3)
    assert median_limits(*mass_intervals(np.array([1.0, 60, 60]), np.array([1.0, np.inf, np.inf]))) == (60, np.inf)


def test_the_mean_has_only_limits_when_a_value_has():
    assert mean_limits(np.array([10.0, 60]), np.array([10.0, np.inf])) == (35, np.inf)
    assert mean_limits(np.array([10.0, -np.inf]), np.array([10.0, 30])) == (5, 20)


@settings(max_examples=50, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 60), st.sampled_from(["exact", "more", "wide"])), min_size=1, max_size=15))
def test_masses_sum_to_one_and_agree_with_every_observation(rows):
    low = np.array([float(value) for value, _ in rows])
    high = np.array([value if kind == "exact" else value + 10 if kind == "wide" else np.inf for value, kind in rows])
    left, right, mass = mass_intervals(low, high)
    assert mass.sum() == pytest.approx(1) and (np.diff(left) >= 0).all() and (left <= right).all()
    for a, b in zip(low, high):
        assert mass[(left >= a) & (right <= b)].sum() > 0
    exact = np.sort(low[low == high])
    if len(exact) == len(rows):
        assert median_limits(left, right, mass) == (exact[(len(exact) - 1) // 2], exact[len(exact) // 2])


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.floats(0, 100), st.floats(0, 100), st.floats(0, 1)), min_size=1, max_size=9))
def test_no_values_within_the_limits_have_a_median_outside_what_the_limits_allow(triples):
    """A law: the median grows with each value."""
    low, width, place = np.array(triples).T
    value = low + place * width
    least, most = median_allowed(low, low + width)
    assert least - 1e-9 <= np.median(value) <= most + 1e-9
    assert median_allowed(np.append(low, low), np.append(low + width, np.full(len(low), np.inf)))[1] == np.inf
