"""Windows of cells: what a method says of a window is what it says of its places."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
import pytest

from geoprofile.surfaces.methods.bounded import BoundedKriging
from geoprofile.surfaces.methods.cells import on_cells, spread
from geoprofile.surfaces.methods.contract import MethodSettings, Observations, Prediction
from geoprofile.surfaces.methods.log_ratios import LogRatios
from geoprofile.surfaces.methods.near_pits import near_only
from geoprofile.surfaces.methods.simple import InverseDistance

X, Y = 5.0 + 10 * np.arange(70), 695.0 - 10 * np.arange(40)
WANTED = np.random.default_rng(2).random((40, 70)) < 0.6
SETTINGS = MethodSettings(absent_as="two_part")


def observed(invented, share_absent=0.3, count=60):
    points = invented.scattered(count, side=700.0) - invented.ORIGIN
    values = np.maximum(invented.field(points, model=("spherical", 2, 30, 300), mean=20), 1).round(1)
    absent = points[:, 0] < np.quantile(points[:, 0], share_absent) if share_absent else np.zeros(count, bool)
    values = np.where(absent, 0.0, values)
    return Observations(points, values, values, "cm", absent=absent)


def shares_of(observations):
    sand = 30 + observations.low
    return replace(observations, absent=None, together=np.column_stack([sand, 60 - 0.5 * sand, 40 - 0.5 * sand]))


def fitted(kind, invented):
    rng = np.random.default_rng(1)
    two_part = BoundedKriging().fit(observed(invented), SETTINGS, rng)
    if kind == "two parts":
        return two_part
    if kind == "two parts, near pits only":
        return near_only(two_part, replace(SETTINGS, nearest_pits=9))
    if kind == "hardly there":
        return BoundedKriging().fit(observed(invented, 0.95), SETTINGS, rng)
    if kind == "shares together":
        return LogRatios(BoundedKriging()).fit(shares_of(observed(invented, 0)), SETTINGS, rng)
    return InverseDistance().fit(observed(invented, 0), SETTINGS, rng)


@pytest.mark.parametrize("kind", ["two parts", "two parts, near pits only", "hardly there", "shares together", "inverse distance"])
def test_a_window_says_what_its_places_say(kind, invented):
    method = fitted(kind, invented)
    x, y = np.meshgrid(X, Y)
    alone = method.predict(np.column_stack([x[WANTED], y[WANTED]]))
    window = on_cells(method, X, Y, None, WANTED)
    for field in fields(Prediction):
        one, other = getattr(alone, field.name), getattr(window, field.name)
        assert (one is None) == (other is None), field.name
        if one is not None:
            assert other[WANTED] == pytest.approx(one, rel=1e-7, abs=1e-7, nan_ok=True), field.name


def test_cells_that_are_not_asked_for_stay_empty():
    flat = np.ones(int(WANTED.sum()))
    assert np.array_equal(np.isfinite(spread(Prediction(flat, flat, flat, flat), WANTED).estimate), WANTED)
