"""What a surface records is enough to give means of areas their interval, however it was made."""

import numpy as np
import pytest

from geoprofile.areal import BY_DRAWS, BY_MODEL, WIDEST, areal_mean, draws_over, land_model, mean_of_all, why_no_model
from geoprofile.areal.area import area_of_cells
from geoprofile.areal.compound import Compound
from geoprofile.areal.model import ErrorModel
from geoprofile.areal.near import NearModel

THICK = "a_e_thickness"
SHARES = ("sand_0_30", "silt_0_30", "clay_0_30")


def of_half(surfaces, context, surface):
    """Model, and the mean of the western half of the land that has an estimate."""
    estimate, low, high = (surfaces.rasters[key].read(context.output).ravel() for key in (surface.estimate, surface.low90, surface.high90))
    model = land_model(surface, surfaces, context)
    x = surfaces.grid.centre_points()[:, 0]
    cells = np.flatnonzero(np.isfinite(estimate) & (x < np.median(x)))
    area = area_of_cells(cells, np.ones(len(cells)), estimate, low, high)
    drawn = None if model is None or model.is_normal else draws_over(model, [area]).mean[0]
    why = "" if model else why_no_model(surface)
    return model, areal_mean(area, model, drawn=drawn, why=why), mean_of_all([area], surfaces.grid, model)


@pytest.fixture
def thinning(invented):
    points = invented.scattered(70)
    truth = invented.field(points, model=("exponential", 8, 90, 130), mean=6)
    values = [
        (float(value), float(value), "measured", "present") if value > 0 else (0.0, 0.0, "absent", "absent") for value in truth
    ]
    return invented.products(points, {THICK: values}, [invented.definition(THICK)])


@pytest.fixture
def plain(invented):
    points = invented.scattered(60)
    values = np.exp(invented.field(points, model=("exponential", 0.02, 0.1, 150), mean=3))
    return invented.products(points, {THICK: invented.measured(values)}, [invented.definition(THICK)])


def test_whether_and_how_thick(thinning, map_it):
    surfaces, context = map_it(thinning, {"model": "exponential", "absent_as": "two_part"})
    (surface,) = surfaces.surfaces
    model, mean, total = of_half(surfaces, context, surface)
    assert isinstance(model, Compound) and mean.basis == BY_DRAWS and total.basis == BY_DRAWS
    assert 0 < mean.low90 < mean.mean < mean.high90
    assert mean.probability_above(mean.high90) == pytest.approx(0.05, abs=0.01)


@pytest.mark.parametrize("transform", ["log", "square_root", "box_cox"])
def test_other_scales(plain, map_it, transform):
    surfaces, context = map_it(plain, {"model": "exponential", "transform": transform})
    model, mean, total = of_half(surfaces, context, surfaces.surfaces[0])
    assert isinstance(model, ErrorModel) and not model.is_normal
    assert mean.basis == total.basis == BY_DRAWS and mean.low90 < mean.mean < mean.high90


def test_near_pits(plain, map_it):
    surfaces, context = map_it(plain, {"model": "exponential", "nearest_pits": 8})
    model, mean, _ = of_half(surfaces, context, surfaces.surfaces[0])
    assert isinstance(model, NearModel) and mean.basis == BY_MODEL
    surfaces, context = map_it(plain, {"model": "exponential"})
    whole, owed, _ = of_half(surfaces, context, surfaces.surfaces[0])
    assert isinstance(whole, ErrorModel) and owed.high90 - owed.low90 == pytest.approx(mean.high90 - mean.low90, rel=0.2)


def test_near_pits_on_another_scale_and_methods_without_a_model_say_why_there_is_only_the_widest(plain, map_it):
    surfaces, context = map_it(plain, {"model": "exponential", "nearest_pits": 8, "transform": "log"})
    model, mean, _ = of_half(surfaces, context, surfaces.surfaces[0])
    assert model is None and mean.basis == f"{WIDEST}; on this scale, with only near pits asked, the errors of its cells have no common model"
    surfaces, context = map_it(plain, {"method": "inverse_distance"})
    model, mean, _ = of_half(surfaces, context, surfaces.surfaces[0])
    assert model is None and mean.basis == f"{WIDEST}; its method has no covariance model of its errors"


def test_shares_of_one_whole_add_to_one_hundred_over_an_area_too(invented, map_it):
    points = invented.scattered(40)
    ratios = np.column_stack([invented.field(points, seed=seed, model=("exponential", 0.05, 0.15, 150)) for seed in (2, 3)])
    from geoprofile.kernels.log_ratios import to_shares

    shares = to_shares(ratios + [0.3, 0.6])
    columns = {name: invented.measured(np.round(one, 1)) for name, one in zip(SHARES, shares.T, strict=True)}
    definitions = [invented.definition(name, "average", False, "%") for name in SHARES]
    surfaces, context = map_it(invented.products(points, columns, definitions), {"model": "exponential"})
    means = [of_half(surfaces, context, surface) for surface in surfaces.surfaces]
    assert all(isinstance(model, Compound) and mean.basis == BY_DRAWS for model, mean, _ in means)
    assert sum(mean.mean for _, mean, _ in means) == pytest.approx(100, abs=1e-6)
    assert all(mean.low90 < mean.mean < mean.high90 for _, mean, _ in means)
