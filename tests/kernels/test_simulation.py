"""Simulated fields have the covariance they should, given the pits and without; the full matrix (Davis 1987) is the oracle."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.kernels.areal import areal_mean_variance, error_covariance, mean_variance_of_cells
from geoprofile.kernels.covariance import KINDS, Model, covariance_in_place, scaled_squares
from geoprofile.kernels.kriging import predict_points, solve
from geoprofile.kernels.simulation import Lattice, embed, error_fields, fast_length, lag_covariance, near_nodes

LATTICE = Lattice(600_005.0, 5_700_095.0, 5.0, 20, 30)
ROW, COLUMN = np.divmod(np.arange(600), 30)
MODELS = [
    Model("spherical", 1.0, 4.0, 50.0), Model("exponential", 1.0, 4.0, 20.0), Model("gaussian", 1.0, 4.0, 30.0),
    Model("matern", 1.0, 4.0, 15.0), Model("spherical", 1.0, 4.0, 60.0, 30.0, 0.4), Model("exponential", 0.5, 4.0, 40.0, 120.0, 0.5),
]  # fmt: skip


def smooth(model, a, b):
    return covariance_in_place(model.kind, model.partial_sill, scaled_squares(model, a, b))


def pits(seed=1, count=25):
    rng = np.random.default_rng(seed)
    places = rng.uniform([600_005, 5_700_000], [600_150, 5_700_095], (count, 2))
    places[1] = places[0] + [1.0, 0.5]  # two pits in one cell
    places[2] = LATTICE.nodes(4, 2)  # one on a node
    return places, rng.normal(30, 2, count)


@pytest.mark.parametrize("model", MODELS, ids=lambda model: f"{model.kind} {model.ratio:g}")
def test_the_torus_holds_exactly_the_covariances_of_the_lattice(model):
    """What the eigenvalues give back is the covariance at every lag of the lattice, in all directions."""
    found = embed(model, 5.0, 20, 30)
    assert found.clipped == 0
    held = np.fft.fft2(found.root**2).real
    east, north = 5.0 * np.arange(30), -5.0 * np.arange(20)
    assert held[:20, :30] == pytest.approx(lag_covariance(model, east, north), abs=1e-9)
    # westward lags: the other side of the torus
    assert held[:20, -29:] == pytest.approx(lag_covariance(model, -east[:0:-1], north), abs=1e-9)


def test_fields_have_that_covariance_and_two_of_a_pair_are_independent():
    model = MODELS[4]
    rng = np.random.default_rng(5)
    pairs = [embed(model, 5.0, 20, 30).fields(rng) for _ in range(2000)]
    one = np.array([first for first, _ in pairs])
    other = np.array([second for _, second in pairs])
    owed = lag_covariance(model, 5.0 * np.arange(-10, 20), -5.0 * np.arange(-8, 12))
    found = (one[:, 8, 10, None, None] * one).mean(axis=0)
    # standard error of a covariance of 2000 draws: at most sqrt(2) * 4 / sqrt(2000) = 0.13
    assert np.abs(found - owed).max() < 4 * 0.13
    assert np.sqrt(np.mean((found - owed) ** 2)) < 0.13
    assert np.sqrt(np.mean((one[:, 8, 10, None, None] * other).mean(axis=0) ** 2)) < 0.13


def test_a_range_far_beyond_the_lattice_tells_what_was_clipped():
    found = embed(Model("exponential", 0.0, 1.0, 2000.0), 5.0, 20, 30, most_nodes=20_000)
    assert 0 < found.clipped < 0.05
    assert np.fft.fft2(found.root**2).real[0, 0] == pytest.approx(1.0), "the variance at a node stays"


@pytest.mark.parametrize("model", MODELS, ids=lambda model: f"{model.kind} {model.ratio:g}")
def test_pits_between_nodes_have_the_covariance_they_should_with_each_other_and_with_the_nodes(model):
    places, _ = pits()
    wider, top, left = LATTICE.around(places)
    near = near_nodes(model, wider, places)
    nodes = wider.nodes(*np.divmod(np.arange(wider.height * wider.width), wider.width))
    spread = np.zeros((len(places), len(nodes)))
    spread[np.arange(len(places))[:, None], near.node] = near.weight
    between = smooth(model, nodes, nodes)
    found = spread @ between @ spread.T + near.lower @ near.lower.T
    # the window of 8 x 8 nodes leaves out next to nothing: half a percent of the sill at worst
    assert np.abs(found - smooth(model, places, places)).max() < 0.005 * 4
    assert np.abs(spread @ between - smooth(model, places, nodes)).max() < 0.005 * 4
    assert np.diag(near.lower)[2] < 1e-2, "the pit on a node follows from it"


@pytest.mark.parametrize("model", [MODELS[0], MODELS[5]], ids=lambda model: model.kind)
@pytest.mark.parametrize("with_drift", [False, True])
def test_errors_have_the_covariance_of_kriging_the_unknown_trend_included(model, with_drift):
    places, values = pits()
    nodes = LATTICE.nodes(ROW, COLUMN)
    drift = np.column_stack([np.sin(nodes[:, 0] / 30)]) if with_drift else None
    at_pits = np.column_stack([np.sin(places[:, 0] / 30)]) if with_drift else None
    system = solve(places, values, model, at_pits)
    rng = np.random.default_rng(2)
    found = np.concatenate(list(error_fields(system, LATTICE, ROW, COLUMN, 4000, rng, drift=drift, at_once=600 * 900)), axis=1)
    owed = error_covariance(system, nodes, drift)
    assert found.shape == (600, 4000)
    # standard errors of 4000 draws: a mean 1.6 % of its deviation, a variance 2.2 %; the largest of 600 within 4.5 of them
    assert np.abs(found.mean(axis=1) / np.sqrt(np.diag(owed))).max() < 4.5 * 0.016
    assert np.abs(found.var(axis=1) / np.diag(owed) - 1).max() < 4.5 * 0.023
    assert found.mean(axis=0).var() == pytest.approx(owed.mean(), rel=0.09)


def test_without_a_nugget_fields_are_exact_at_a_pit_on_a_node():
    places, values = pits()
    system = solve(places, values, Model("spherical", 0.0, 4.0, 50.0))
    errors = next(error_fields(system, LATTICE, np.array([4]), np.array([2]), 50, np.random.default_rng(1)))
    assert np.abs(errors).max() < 0.05


def test_bounded_pits_enter_by_draws_of_their_own():
    """The mean of fields whose pits are drawn is the kriging of the mean draw, and their spread is added."""
    places, values = pits()
    model = MODELS[1]
    system = solve(places, values, model)
    rng = np.random.default_rng(3)
    drawn = np.repeat(values[:, None], 3000, axis=1)
    drawn[5] += 6.0 + 3.0 * rng.standard_normal(3000)
    nodes = LATTICE.nodes(ROW, COLUMN)
    fields = np.concatenate(list(error_fields(system, LATTICE, ROW, COLUMN, 3000, rng, values=drawn)), axis=1)
    from geoprofile.kernels.kriging import weights

    weight = weights(system, nodes)[5]
    owed_mean = predict_points(system._replace(nugget_is_error=True), nodes)[0] + 6.0 * weight
    owed_variance = np.diag(error_covariance(system, nodes)) + 9.0 * weight**2
    assert np.abs(fields.mean(axis=1) - owed_mean).max() < 4.5 * np.sqrt(owed_variance.max() / 3000)
    assert np.abs(fields.var(axis=1) / owed_variance - 1).max() < 4.5 * 0.026


def test_batches_change_memory_and_not_the_fields_and_the_seed_gives_them_again():
    places, values = pits()
    system = solve(places, values, MODELS[0])

    def drawn(at_once):
        rng = np.random.default_rng(9)
        return np.concatenate(list(error_fields(system, LATTICE, ROW, COLUMN, 7, rng, at_once=at_once)), axis=1)

    np.testing.assert_allclose(drawn(600 * 2), drawn(600 * 100), atol=1e-9)


def test_the_mean_variance_of_cells_is_that_of_all_their_pairs():
    places, values = pits()
    rng = np.random.default_rng(4)
    cell = rng.choice(600, 200, replace=False)
    weight, drift = rng.random(200), rng.normal(size=(200, 1))
    nodes = LATTICE.nodes(ROW[cell], COLUMN[cell])
    for model in MODELS:
        system = solve(places, values, model, rng.normal(size=(25, 1)))
        found = mean_variance_of_cells(
            system, ROW[cell], COLUMN[cell], weight, LATTICE.west, LATTICE.north, LATTICE.spacing, drift
        )
        assert found == pytest.approx(areal_mean_variance(system, nodes, weight, drift), rel=1e-9)


@settings(max_examples=40, deadline=None)
@given(
    st.sampled_from(KINDS), st.floats(0.5, 60.0), st.floats(0.0, 179.0), st.floats(0.2, 1.0), st.integers(1, 25), st.integers(1, 25)
)
def test_whatever_the_model_no_negative_eigenvalue_is_used_and_the_variance_is_kept(kind, scale, azimuth, ratio, height, width):
    model = Model(kind, 0.0, 2.0, scale, azimuth, ratio)
    found = embed(model, 1.0, height, width)
    assert np.isfinite(found.root).all() and (found.root >= 0).all()
    assert (found.root**2).sum() == pytest.approx(2.0)
    if model.is_compact:
        assert found.clipped == 0
    if found.clipped == 0:
        held = np.fft.fft2(found.root**2).real[:height, :width]
        assert held == pytest.approx(lag_covariance(model, 1.0 * np.arange(width), -1.0 * np.arange(height)), abs=1e-6)


def test_fast_lengths_are_even_and_have_small_factors():
    assert [fast_length(n) for n in (1, 7, 31, 97, 513)] == [2, 8, 32, 100, 540]
