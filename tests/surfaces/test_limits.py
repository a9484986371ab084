"""Chances of less and of more than a limit, and impossible values."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest
from scipy.stats import norm

from geoprofile.surfaces.limits import clip_counts, clip_sentence, probability_above, probability_below
from geoprofile.surfaces.methods.contract import Prediction
from geoprofile.surfaces.methods.two_part import together


def test_less_and_more_share_all_there_is():
    found = Prediction.normal(np.array([20.0, 25.0, 40.0, np.nan]), np.array([25.0, 4.0, 100.0, np.nan]))
    more = probability_above(found, 25.0)
    assert more[:3] == pytest.approx(norm.sf(25, [20, 25, 40], [5, 2, 10])) and np.isnan(more[3])
    assert (more + probability_below(found, 25.0))[:3] == pytest.approx(1)


def test_a_value_known_to_be_the_limit_is_neither_less_nor_more():
    found = Prediction.normal(np.array([25.0, 24.0, 26.0]), np.zeros(3))
    assert probability_below(found, 25.0).tolist() == [0, 1, 0] and probability_above(found, 25.0).tolist() == [0, 0, 1]


def test_where_it_is_absent_there_is_no_more():
    """Two-part form: the chance of more than a limit is the chance of presence times that of more where present."""
    thickness = Prediction.normal(np.array([30.0]), np.array([16.0]))
    found = together(thickness, np.array([0.6]))
    assert probability_above(found, 28.0) == pytest.approx(0.6 * norm.sf(28, 30, 4))


def test_cells_set_to_the_nearest_possible_value_are_counted_over_windows_in_any_order():
    raw, shown = np.array([-2.0, -0.125, 3.0, -9.0]), np.array([True, True, True, False])
    windows = [clip_counts(raw[part], np.maximum(raw[part], 0), shown[part]) for part in (slice(0, 1), slice(1, 3), slice(3, 4))]
    for order in (windows, windows[::-1]):
        counts = Counter()
        for one in order:
            counts.update(one)
        assert clip_sentence(counts, "cm").startswith("2 cells (66.7 %) had impossible estimates")
        assert clip_sentence(counts, "cm").endswith("the largest change was 2 cm")
    assert clip_sentence(windows[2], "cm") == "", "what is not shown does not count"
