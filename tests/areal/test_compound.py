"""Means of areas of surfaces made of two models, against formulas and against brute force."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import ndtri

from geoprofile.areal import areal_mean
from geoprofile.areal.area import Area, area_of_cells
from geoprofile.areal.compound import (
    LOG_RATIOS,
    TWO_PART,
    Compound,
    alikeness,
    compound_draws,
    presence_drawn,
    share_drawn,
)
from geoprofile.areal.model import ErrorModel, Part
from geoprofile.grid import Grid
from geoprofile.kernels.areal import error_covariance
from geoprofile.kernels.covariance import Model
from geoprofile.kernels.kriging import predict_points, solve
from geoprofile.kernels.log_ratios import to_shares

GRID = Grid("EPSG:3158", 600_000.0, 5_700_000.0, 10.0, 20, 30)
SOME = np.flatnonzero((np.arange(600) % 30 < 12) & (np.arange(600) // 30 < 10))
ALL = np.arange(600)


def whole(cells) -> Area:
    """Cells of the grid as an area, each of them whole."""
    return Area(cells, np.ones(len(cells)), np.zeros(len(cells)))


def one_model(values, places, model):
    system = solve(places, values, model)
    part = Part(system, values, values, np.zeros(len(values), bool), tuple(f"P{n}" for n in range(len(values))))
    return ErrorModel({"": part}, ("",), np.array([], object), GRID)


@pytest.fixture(scope="module")
def land():
    """Thickness about 20 cm, presence commoner in the west."""
    rng = np.random.default_rng(3)
    places = np.column_stack([600_000 + rng.uniform(0, 300, 60), 5_700_000 - rng.uniform(0, 200, 60)])
    present = (rng.random(60) < np.where(places[:, 0] < 600_150, 0.85, 0.4)).astype(float)
    thickness = one_model(rng.normal(20, 4, 60)[present > 0], places[present > 0], Model("exponential", 4.0, 12.0, 60.0))
    presence = one_model(present, places, Model("exponential", 0.08, 0.14, 50.0))
    return Compound(TWO_PART, thickness, presence)


def test_two_places_alike_are_both_present_as_sheppard_says():
    """At p = 1/2 the chance that both are is 1/4 + asin(c) / 2 pi (Sheppard 1899)."""
    c = np.array([0.1, 0.5, 0.9])
    assert alikeness(np.full(3, 0.5), np.arcsin(c) / (2 * np.pi)) == pytest.approx(c, abs=1e-6)


@pytest.mark.parametrize("chance", [0.08, 0.5, 0.9])
def test_drawn_shares_have_the_mean_and_the_variance_of_the_kriging_and_lie_within_0_and_1(chance):
    rng, variance = np.random.default_rng(1), 0.25 * chance * (1 - chance)
    drawn = presence_drawn(np.array([chance]), np.array([variance]), chance + np.sqrt(variance) * rng.standard_normal((1, 200_000)))
    assert drawn.min() >= 0 and drawn.max() <= 1
    assert drawn.mean() == pytest.approx(chance, abs=0.003) and drawn.var() == pytest.approx(variance, rel=0.02)


def test_a_chance_of_nothing_or_of_everything_is_sure():
    drawn = presence_drawn(np.array([-0.1, 0.0, 1.0, 1.2]), np.full(4, 0.05), np.random.default_rng(1).normal(0.5, 1, (4, 10)))
    assert (drawn == np.array([[0.0], [0], [1], [1]])).all()


@pytest.mark.parametrize("cells", [SOME, ALL], ids=["cell by cell", "on a lattice"])
def test_the_drawn_mean_of_thickness_is_chance_times_thickness(land, cells):
    estimate = land.predict(GRID.centre_points())
    drawn = compound_draws(land, [whole(cells)], (10.0,), seed=2)
    spread = drawn.mean[0].std()
    assert drawn.mean[0].mean() == pytest.approx(estimate[cells].mean(), abs=4 * spread / np.sqrt(500) + 0.02)
    assert 0 <= drawn.below[0, 0].min() and drawn.below[0, 0].max() <= 1
    found = areal_mean(area_of_cells(cells, np.ones(len(cells)), estimate), land, drawn=drawn.mean[0])
    assert found.low90 < found.mean < found.high90 and found.mean == pytest.approx(estimate[cells].mean())


def test_its_spread_is_that_of_brute_force_over_many_places_of_every_cell(land):
    """Presence and thickness of 120 places a cell drawn outright, with the nuggets in them."""
    cells, rng, count = SOME[::3], np.random.default_rng(8), 1500
    points = GRID.centre_points()[cells]
    thick, there = land.first.parts[""].system, land.second.parts[""].system

    def smooth(system):
        estimate = predict_points(system._replace(nugget_is_error=True), points)[0]
        covariance = error_covariance(system, points)
        root = np.linalg.cholesky(covariance + 1e-9 * np.eye(len(points)))
        return estimate, np.diag(covariance), root @ rng.standard_normal((len(points), count))

    p, variance, errors = smooth(there)
    p, level = np.clip(p, 1e-9, 1 - 1e-9), ndtri(np.clip(p, 1e-9, 1 - 1e-9))
    alike = alikeness(p, np.minimum(variance, 0.98 * p * (1 - p)))
    mean, _, thickness = smooth(thick)
    total, shallow = np.zeros(count), np.zeros(count)
    for _ in range(120):
        own = np.sqrt(alike)[:, None] * errors / np.sqrt(variance)[:, None] + np.sqrt(1 - alike)[:, None] * rng.standard_normal(errors.shape)
        value = np.where(own < -level[:, None], 0.0, mean[:, None] + thickness + 2.0 * rng.standard_normal(errors.shape))
        total += value.mean(axis=0) / 120
        shallow += (value < 10).mean(axis=0) / 120
    drawn = compound_draws(land, [whole(cells)], (10.0,), seed=5, draws=1500)
    assert drawn.mean[0].std() == pytest.approx(total.std(), rel=0.08)
    assert drawn.mean[0].mean() == pytest.approx(total.mean(), abs=0.25)
    assert drawn.below[0, 0].mean() == pytest.approx(shallow.mean(), abs=0.02)
    assert drawn.below[0, 0].std() == pytest.approx(shallow.std(), rel=0.1)


def test_where_every_pit_has_it_the_draws_agree_with_the_exact_variance(land):
    alone = Compound(TWO_PART, land.first, ErrorModel({}, ("",), np.array([], object), GRID))
    drawn = compound_draws(alone, [whole(SOME)], seed=4, draws=2000).mean[0]
    assert drawn.var() == pytest.approx(land.first.mean_variance_of_cells(SOME, np.ones(len(SOME))), rel=4 * np.sqrt(2 / 2000))


def test_presence_that_is_not_known_widens_the_interval(land):
    alone = Compound(TWO_PART, land.first, ErrorModel({}, ("",), np.array([], object), GRID))
    both, one = (compound_draws(model, [whole(SOME)], seed=4).mean[0] for model in (land, alone))
    assert both.std() / both.mean() > 1.5 * one.std() / one.mean()


def test_mean_shares_of_log_ratios_are_those_of_drawn_places():
    rng = np.random.default_rng(6)
    places = np.column_stack([600_000 + rng.uniform(0, 300, 40), 5_700_000 - rng.uniform(0, 200, 40)])
    ratios = [one_model(rng.normal(centre, 0.5, 40), places, Model("exponential", 0.1, 0.2, 60.0)) for centre in (0.4, 0.9)]
    models = [Compound(LOG_RATIOS, *ratios, which) for which in range(3)]
    area = [whole(SOME)]
    means = [compound_draws(model, area, seed=7) for model in models]
    assert sum(one.mean[0] for one in means) == pytest.approx(100)
    points = GRID.centre_points()[SOME]
    drawn = []
    for model in ratios:
        system = model.parts[""].system
        root = np.linalg.cholesky(error_covariance(system, points) + 1e-9 * np.eye(len(points)))
        drawn.append(predict_points(system._replace(nugget_is_error=True), points)[0][:, None] + root @ rng.standard_normal((len(points), 800)))
    places = [one[..., None] + np.sqrt(0.1) * rng.standard_normal((*one.shape, 12)) for one in drawn]
    owed = to_shares(np.stack(places, axis=-1)).mean(axis=(0, 2))
    for which, one in enumerate(means):
        assert one.mean[0].mean() == pytest.approx(owed[:, which].mean(), abs=4 * owed[:, which].std() * np.sqrt(1 / 500 + 1 / 800))
        assert one.mean[0].std() == pytest.approx(owed[:, which].std(), rel=0.15)
    assert models[0].mean_is_drawn
    found = areal_mean(area_of_cells(SOME, np.ones(len(SOME)), models[0].predict(GRID.centre_points())), models[0], drawn=means[0].mean[0])
    assert found.low90 < found.mean < found.high90 and found.mean == pytest.approx(means[0].mean[0].mean())


def test_a_share_over_nuggets_of_nothing_is_the_share_itself():
    first, second = np.array([[0.3]]), np.array([[-0.2]])
    assert share_drawn(first, second, [0.0, 0.0], 1)[0, 0] == pytest.approx(to_shares(np.array([0.3, -0.2]))[1])


def test_the_seed_gives_the_draws_again(land):
    one, two, other = (compound_draws(land, [whole(ALL)], seed=seed, draws=20).mean for seed in (3, 3, 4))
    assert np.array_equal(one, two) and not np.array_equal(one, other)
