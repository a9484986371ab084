"""Draws of areas: formulas where there are some, bounded pits and other scales where there are none."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import ndtr

from geoprofile.areal import area_draws, areal_mean, mean_of_all, model_of
from geoprofile.areal import draws as draws_module
from geoprofile.areal.area import Area, area_of_cells
from geoprofile.areal.draws import draws_of_bounded
from geoprofile.areal.means import BY_DRAWS, share_of_draws
from geoprofile.grid import Grid
from geoprofile.kernels.areal import error_covariance
from geoprofile.kernels.kriging import predict_points

GRID = Grid("EPSG:3158", 600_000.0, 5_700_000.0, 10.0, 20, 30)
BOUNDED = (1, 4, 7, 20, 22, 25)
ALL = np.arange(600)
SOME = np.flatnonzero((np.arange(600) % 30 < 12) & (np.arange(600) // 30 < 10))

def land(cells, weight=None, estimate=None) -> Area:
    """Cells of the grid as an area, whole where no weight is given."""
    weight = np.ones(len(cells)) if weight is None else weight
    return Area(cells, weight, np.zeros(len(cells))) if estimate is None else area_of_cells(cells, weight, estimate)


@pytest.fixture
def rebuilt(saved, make_context):
    """The model rebuilt from a saved surface, and the surface's estimate (flat)."""

    def rebuild(**how):
        context = make_context()
        surfaces = saved(context, **how)
        model = model_of(surfaces.surfaces[0], surfaces, context)
        assert model is not None
        return model, surfaces.rasters["e"].read(context.output).ravel()

    return rebuild


@pytest.mark.parametrize("cells", [SOME, np.arange(600)], ids=["cell by cell", "on a lattice"])
def test_drawn_means_have_the_mean_and_the_variance_of_the_formula(rebuilt, cells):
    model, estimate = rebuilt()
    weight = np.random.default_rng(1).random(len(cells))
    drawn = area_draws(model, [land(cells, weight)], draws=2000).mean[0]
    variance = model.mean_variance_of_cells(cells, weight)
    assert drawn.mean() == pytest.approx(weight @ estimate[cells] / weight.sum(), abs=4 * np.sqrt(variance / 2000) + 0.02)
    assert drawn.var() == pytest.approx(variance, rel=4 * np.sqrt(2 / 2000))


def test_bounded_pits_are_drawn_beyond_their_bound_and_what_they_leave_open_is_in_the_mean(rebuilt):
    model, _ = rebuilt(bounded=BOUNDED)
    part = model.parts[""]
    pits = draws_of_bounded(part, 2000, np.random.default_rng(2))
    assert (pits >= part.low[part.bounded][:, None]).all()
    # the propagation's mean of each is that of the draws (standard error with dependent draws: about 3 %)
    deviation = pits.std(axis=1)
    assert np.abs(pits.mean(axis=1) - part.completed().values[part.bounded]).max() < 0.15 * deviation.max()
    drawn = area_draws(model, [land(SOME)], draws=2000, seed=5).mean[0]
    exact = model.mean_variance_of_cells(SOME, np.ones(len(SOME)))
    assert drawn.var() == pytest.approx(exact, rel=0.15)
    assert drawn.mean() == pytest.approx(model.predict(GRID.centre_points()[SOME]).mean(), abs=0.2 * np.sqrt(exact))


def test_the_draws_of_bounded_pits_come_as_an_argument(rebuilt):
    model, _ = rebuilt(bounded=BOUNDED)
    part = model.parts[""]
    area = [land(SOME)]

    def at(shift):
        values = part.completed().values[part.bounded][:, None] + shift
        return area_draws(model, area, draws=50, bounded=lambda part, count, rng: np.repeat(values, count, axis=1)).mean[0]

    from geoprofile.kernels.kriging import weights

    owed = weights(part.completed(), GRID.centre_points()[SOME])[part.bounded].sum(axis=0).mean()
    assert at(10.0) - at(0.0) == pytest.approx(10 * owed)


def test_on_another_scale_the_mean_is_that_of_the_values_and_not_of_their_logarithms(rebuilt):
    model, estimate = rebuilt(power=0.0)
    drawn = area_draws(model, [land(ALL)], (30.0,), draws=2000, seed=3)
    points = GRID.centre_points()
    latent = model.latent(points)
    system = model.parts[""].system
    variance = np.diag(error_covariance(system, points)) + system.model.nugget
    owed = np.exp(latent + variance / 2).mean()
    assert drawn.mean[0].mean() == pytest.approx(owed, rel=0.01)
    assert drawn.mean[0].mean() == pytest.approx(estimate.mean(), rel=0.01)
    below = ndtr((np.log(30) - latent) / np.sqrt(variance)).mean()
    assert drawn.below[0, 0].mean() == pytest.approx(below, abs=0.02)
    mean = areal_mean(land(ALL, estimate=estimate), model, drawn=drawn.mean[0])
    assert mean.basis == BY_DRAWS and mean.low90 < mean.mean < mean.high90
    assert mean.probability_above(mean.low90) == pytest.approx(0.95, abs=0.01)


def test_the_share_below_a_limit_holds_the_nugget_without_drawing_it(rebuilt):
    model, _ = rebuilt()
    points = GRID.centre_points()
    variance = np.diag(error_covariance(model.parts[""].system, points)) + model.nugget(points)
    owed = ndtr((28 - model.latent(points)) / np.sqrt(variance)).mean()
    drawn = area_draws(model, [land(ALL)], (28.0,), draws=2000)
    assert drawn.below[0, 0].mean() == pytest.approx(owed, abs=0.01)
    ((_, low, high),) = share_of_draws(drawn, 0)
    assert low < owed < high


def test_a_coarser_lattice_says_the_same_within_its_error(rebuilt, monkeypatch):
    """Memory is bounded by coarsening, never beyond a quarter of the model's scale."""
    model, _ = rebuilt()
    monkeypatch.setattr(draws_module, "MOST_NODES", 160)
    assert draws_module.coarsening(model) == 2
    drawn = area_draws(model, [land(ALL)], (28.0,), draws=2000)
    monkeypatch.undo()
    fine = area_draws(model, [land(ALL)], (28.0,), draws=2000)
    assert drawn.mean[0].var() == pytest.approx(fine.mean[0].var(), rel=0.15)
    assert drawn.below.mean() == pytest.approx(fine.below.mean(), abs=0.01)


def test_several_areas_are_drawn_together_so_that_they_share_their_errors(rebuilt):
    model, _ = rebuilt()
    west, east = np.flatnonzero(np.arange(600) % 30 < 21), np.flatnonzero(np.arange(600) % 30 >= 9)
    drawn = area_draws(model, [land(west), land(east)], draws=1000)
    assert np.corrcoef(drawn.mean)[0, 1] > 0.3


def test_the_interval_of_a_total_is_from_all_errors_together(rebuilt):
    model, estimate = rebuilt()
    halves = [land(np.flatnonzero(one), estimate=estimate) for one in (np.arange(600) % 30 < 15, np.arange(600) % 30 >= 15)]
    both = mean_of_all(halves, GRID, model)
    whole = areal_mean(land(ALL, estimate=estimate), model)
    assert (both.low90, both.mean, both.high90) == pytest.approx((whole.low90, whole.mean, whole.high90))
    parts = [areal_mean(half, model) for half in halves]
    widths = [part.high90 - part.low90 for part in parts]
    assert both.high90 - both.low90 < sum(widths) / 2, "narrower than if errors were one"
    assert both.high90 - both.low90 > np.hypot(*widths) / 2 * 0.95, "not narrower than if they were independent"


def test_land_that_the_model_does_not_know_has_no_draws(rebuilt):
    model, _ = rebuilt()
    drawn = area_draws(model, [land(np.zeros(0, int)), land(ALL)], draws=10)
    assert np.isnan(drawn.mean[0]).all() and np.isfinite(drawn.mean[1]).all()


def test_the_probability_of_more_than_a_value_is_that_of_the_formula(rebuilt):
    model, estimate = rebuilt()
    mean = areal_mean(land(ALL, estimate=estimate), model)
    assert mean.probability_above(mean.mean) == pytest.approx(0.5)
    assert mean.probability_above(mean.high90) == pytest.approx(0.05)
    assert np.isnan(areal_mean(land(ALL, estimate=estimate), None).probability_above(3.0))


def test_the_seed_gives_the_draws_again(rebuilt):
    model, _ = rebuilt(bounded=BOUNDED)
    one, two, other = (area_draws(model, [land(ALL)], draws=20, seed=seed).mean for seed in (3, 3, 4))
    assert np.array_equal(one, two) and not np.array_equal(one, other)


def test_a_latent_estimate_is_the_estimate_without_the_jump_at_pits(rebuilt):
    model, estimate = rebuilt()
    points = GRID.centre_points()
    np.testing.assert_allclose(model.latent(points), estimate, rtol=1e-5)
    system = model.parts[""].system
    at_pits = predict_points(system, system.points)[0]
    assert np.abs(model.latent(system.points) - at_pits).max() > 0.1
