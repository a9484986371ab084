"""The depth of a lift from pits: every bound on its own side, none read as a value."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from geoprofile.intervals import absent_thickness, at_least, at_most, between, measured, unknown
from geoprofile.salvage.depths import choose_pits, depth_from_pits

# two-sided 90 % quantile of Student's t with 2 degrees of freedom (Student 1908; printed in any statistical table)
T_2 = 2.920


def values(*intervals) -> pd.DataFrame:
    return pd.DataFrame({
        "low": [np.nan if one.low is None else one.low for one in intervals],
        "high": [np.nan if one.high is None else one.high for one in intervals],
        "status": [one.status for one in intervals],
    })  # fmt: skip


def depth(*intervals):
    return depth_from_pits(choose_pits(values(*intervals), values(), values(), 1))


def half(*numbers) -> float:
    return T_2 * np.std(numbers, ddof=1) / 3**0.5


def test_at_most_lowers_the_low_limit_to_what_it_allows_and_keeps_a_high_one():
    """A pit with at most 30 may have 0: the low limit is that of 20, 22 and 0, the high one that of 20, 22 and 30."""
    got = depth(measured(20), measured(22), at_most(30))
    assert 14 - half(20, 22, 0) < 0 and got.low90_cm == 0, "a thickness is not below 0"
    assert got.high90_cm == pytest.approx(24 + half(20, 22, 30), abs=0.01)


def test_one_pit_without_a_high_limit_takes_it_from_the_mean_of_all():
    got = depth(measured(20), between(20, 24), at_least(30))
    assert np.isnan(got.high90_cm) and np.isnan(got.mean_cm)
    assert got.low90_cm == pytest.approx(70 / 3 - half(20, 20, 30), abs=0.01)


def test_absent_is_0_and_unknown_is_nobody():
    got = depth(measured(20), absent_thickness(), measured(10), unknown())
    assert got.mean_cm == pytest.approx(10) and got.basis.startswith("3 pits inside")
