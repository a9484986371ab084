"""Laws that every kriging system keeps, whatever the data; and two other libraries on the same points."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.kernels.covariance import KINDS, Model, covariance
from geoprofile.kernels.kriging import NegativeVariance, predict_grid, predict_points, solve, weights

FEW = settings(max_examples=15, deadline=None)


def layout(seed, count=30, side=1000.0):
    rng = np.random.default_rng(seed)
    points = rng.uniform(0, side, (count, 2))
    return points, rng.normal(size=count) + points[:, 0] / 300


models = st.builds(
    Model,
    st.sampled_from(KINDS),
    st.floats(0.02, 2),
    st.floats(0.1, 5),
    st.floats(60, 900),
    st.floats(0, 360),
    st.sampled_from([1.0, 0.3, 0.6]),
)
X, Y = np.arange(13) * 77.0 + 7, 990 - np.arange(11) * 85.0


@FEW
@given(st.integers(0, 10**6), models)
def test_weights_sum_to_one_and_a_datum_is_returned(seed, model):
    points, values = layout(seed)
    system = solve(points, values, model)
    assert weights(system, np.array([[5.0, 5.0], [500.0, 480.0], [3000.0, 0.0]])).sum(axis=0) == pytest.approx(1.0)
    estimate, variance = predict_points(system, points)
    assert estimate == pytest.approx(values, abs=1e-7)
    assert variance == pytest.approx(np.zeros(len(points)), abs=1e-7 * model.sill)


@FEW
@given(st.integers(0, 10**6), models)
def test_a_shift_of_all_coordinates_changes_nothing(seed, model):
    """K4: 5,000,000 m more on every northing."""
    points, values = layout(seed)
    here = predict_grid(solve(points, values, model), X, Y)
    shift = np.array([500_000.0, 5_000_000.0])
    there = predict_grid(solve(points + shift, values, model), X + shift[0], Y + shift[1])
    assert there[0] == pytest.approx(here[0], abs=1e-6)
    assert there[1] == pytest.approx(here[1], abs=1e-6 * model.sill)


@FEW
@given(st.integers(0, 10**6), models, st.integers(1, 20), st.booleans())
def test_tiles_of_any_size_give_what_the_full_system_gives(seed, model, tile, with_drift):
    """K10: memory is bounded by the tile, and pits beyond a compact model's range are not even looked at."""
    points, values = layout(seed)
    points[0] = X[3], Y[4]  # a datum exactly at a cell's centre
    gx, gy = np.meshgrid(X, Y)
    drift, cells = (np.sin(points[:, :1] / 200), np.sin(gx[:, :, None] / 200)) if with_drift else (None, None)
    system = solve(points, values, model, drift)
    estimate, variance = predict_grid(system, X, Y, cells, tile=tile)
    full = predict_points(
        system, np.column_stack([gx.ravel(), gy.ravel()]), None if cells is None else cells.reshape(-1, 1)
    )
    assert estimate.ravel() == pytest.approx(full[0], abs=1e-8)
    assert variance.ravel() == pytest.approx(full[1], abs=1e-8 * model.sill)
    assert estimate[4, 3] == pytest.approx(values[0], abs=1e-7)


@FEW
@given(st.integers(0, 10**6), models, st.floats(0.01, 100), st.floats(-50, 50))
def test_other_units_of_the_values_give_the_same_map_in_those_units(seed, model, factor, offset):
    points, values = layout(seed)
    here = predict_grid(solve(points, values, model), X, Y)
    scaled = model._replace(nugget=model.nugget * factor**2, partial_sill=model.partial_sill * factor**2)
    there = predict_grid(solve(points, values * factor + offset, scaled), X, Y)
    assert there[0] == pytest.approx(here[0] * factor + offset, rel=1e-6, abs=1e-6 * factor)
    assert there[1] == pytest.approx(here[1] * factor**2, rel=1e-6, abs=1e-8 * factor**2)


def test_unwanted_tiles_are_skipped_and_stay_empty():
    points, values = layout(1)
    wanted = np.zeros((len(Y), len(X)), dtype=bool)
    wanted[0, 0] = True
    estimate, _ = predict_grid(solve(points, values, Model("spherical", 0.1, 1.0, 300.0)), X, Y, wanted=wanted, tile=4)
    assert np.isfinite(estimate[:4, :4]).all() and np.isnan(estimate[4:, :]).all() and np.isnan(estimate[:, 4:]).all()


def test_beyond_the_range_of_every_pit_the_estimate_is_the_mean_and_the_variance_is_above_the_sill():
    points, values = layout(2)
    system = solve(points, values, Model("spherical", 0.1, 1.0, 200.0))
    estimate, variance = predict_grid(system, np.array([90_000.0]), np.array([90_000.0]))
    assert estimate[0, 0] == pytest.approx(system.coefficients[0])
    assert variance[0, 0] == pytest.approx(1.1 + system.coefficient_covariance[0, 0])


def test_a_negative_variance_is_an_error():
    """K9: a precision matrix that does not belong to its model is found out."""
    points, values = layout(3)
    system = solve(points, values, Model("exponential", 0.1, 1.0, 300.0))
    with pytest.raises(NegativeVariance):
        predict_points(system._replace(precision=system.precision * 5), points[:3] + 9.0)


@pytest.mark.parametrize("kind", KINDS)
def test_a_model_is_one_at_nothing_falls_steadily_and_is_down_to_a_twentieth_at_its_effective_range(kind):
    model = Model(kind, 0.5, 2.0, 100.0)
    distance = np.linspace(0, 600, 200)
    found = covariance(model, distance)
    assert found[0] == pytest.approx(2.5) and np.all(np.diff(found) <= 1e-12)
    least = 0.0 if kind == "spherical" else 0.05 * 2.0
    assert covariance(model, np.array([model.effective_range]))[0] == pytest.approx(least, abs=1e-6)


def test_semivariances_of_a_table_of_models():
    """Values at 50, 100 and 300 for sill 1 and scale 300, computed with R gstat 2.1-0."""
    from geoprofile.kernels.covariance import semivariance

    at = np.array([50.0, 100.0, 300.0])
    table = {
        "exponential": [0.153518, 0.283469, 0.632121],
        "gaussian": [0.027396, 0.105161, 0.632121],
        "spherical": [0.247685, 0.481481, 1.0],
        "matern": [0.012438, 0.044625, 0.264241],
    }
    for kind, values in table.items():
        assert semivariance(Model(kind, 0.0, 1.0, 300.0), at) == pytest.approx(values, abs=6e-7)


def test_what_other_programs_call_the_range_is_our_scale_times_a_number():
    """The same models under other names, at 50, 100 and 300 for a range of 300: each by its own formula.

    Who brings a range from one of them must convert it; what people are shown here is the effective range.
    """
    from geoprofile.kernels.covariance import semivariance

    at, range_m = np.array([50.0, 100.0, 300.0]), 300.0
    for kind, scale, owed in [
        ("matern", range_m / (2 * np.sqrt(1.5)), [0.063777, 0.197150, 0.702179]),  # gstat, Stein's form
        ("gaussian", range_m * 2 / np.sqrt(np.pi), [0.021580, 0.083567, 0.544062]),  # GSTools, length scale
        ("matern", range_m / np.sqrt(1.5), [0.018204, 0.063777, 0.346297]),  # GSTools
        ("exponential", range_m / 3, [0.393469, 0.632121, 0.950213]),  # PyKrige and scikit-gstat
        ("gaussian", range_m * 4 / 7, [0.081552, 0.288427, 0.953229]),  # PyKrige
        ("gaussian", range_m / 2, [0.105161, 0.358820, 0.981684]),  # scikit-gstat
        ("matern", range_m / (4 * np.sqrt(1.5)), [0.197150, 0.485661, 0.956028]),  # scikit-gstat
    ]:
        assert semivariance(Model(kind, 0.0, 1.0, scale), at) == pytest.approx(owed, abs=6e-7)


SAME = Model("spherical", 0.2, 1.1, 400.0)


def test_pykrige_gives_the_same_estimates_and_variances():
    ok = pytest.importorskip("pykrige.ok")
    uk = pytest.importorskip("pykrige.uk")
    points, values = layout(3, 40)
    parameters = {"psill": 1.1, "range": 400.0, "nugget": 0.2}
    other = ok.OrdinaryKriging(*points.T, values, variogram_model="spherical", variogram_parameters=parameters)
    theirs = other.execute("grid", X, Y)
    ours = predict_grid(solve(points, values, SAME), X, Y)
    assert ours[0] == pytest.approx(np.asarray(theirs[0]), abs=1e-9)
    assert ours[1] == pytest.approx(np.asarray(theirs[1]), abs=1e-9)
    other = uk.UniversalKriging(
        *points.T, values, variogram_model="spherical", variogram_parameters=parameters, drift_terms=["regional_linear"]
    )
    theirs = other.execute("grid", X, Y)
    ours = predict_grid(solve(points, values, SAME, points / 1000), X, Y, np.dstack(np.meshgrid(X, Y)) / 1000)
    assert ours[0] == pytest.approx(np.asarray(theirs[0]), abs=1e-9)
    assert ours[1] == pytest.approx(np.asarray(theirs[1]), abs=1e-9)


def test_gstools_gives_the_same_estimates_and_variances():
    gstools = pytest.importorskip("gstools")
    points, values = layout(4, 40)
    other = gstools.krige.Ordinary(
        gstools.Spherical(dim=2, var=1.1, len_scale=400.0, nugget=0.2), points.T, values, exact=True
    )
    theirs = other.structured([X, Y])
    ours = predict_grid(solve(points, values, SAME), X, Y)
    assert ours[0] == pytest.approx(theirs[0].T, abs=1e-9)
    assert ours[1] == pytest.approx(theirs[1].T, abs=1e-9)
    model = Model("exponential", 0.2, 1.1, 150.0)
    other = gstools.krige.Universal(
        gstools.Exponential(dim=2, var=1.1, len_scale=150.0, nugget=0.2), points.T, values, "linear", exact=True
    )
    theirs = other.structured([X, Y])
    ours = predict_grid(solve(points, values, model, points / 1000), X, Y, np.dstack(np.meshgrid(X, Y)) / 1000)
    assert ours[0] == pytest.approx(theirs[0].T, abs=1e-8)
    assert ours[1] == pytest.approx(theirs[1].T, abs=1e-8)


def test_memory_does_not_hold_pits_times_cells():
    """K10: 300 pits on 90,000 cells would be 216 MB in one matrix; the results themselves are 1.4 MB."""
    import tracemalloc

    points, values = layout(5, 300)
    system = solve(points, values, Model("exponential", 0.2, 1.0, 200.0))
    x = np.linspace(0, 1000, 300)
    tracemalloc.start()
    predict_grid(system, x, x[::-1])
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 30e6


def test_the_long_axis_of_anisotropy_is_an_azimuth_clockwise_from_north():
    """K13: one pit that says 1 in a field of 0; the ellipse around it points to the azimuth on the map."""
    points = np.array([[0.0, 0.0], *[[900.0 * np.sin(a), 900.0 * np.cos(a)] for a in np.linspace(0, 6, 12)]])
    values = np.array([1.0, *[0.0] * 12])
    for azimuth in (0.0, 30.0, 90.0, 150.0):
        system = solve(points, values, Model("exponential", 0.0, 1.0, 120.0, azimuth, 0.4))
        angles = np.deg2rad(np.arange(0, 180, 15))
        ring = 80 * np.column_stack([np.sin(angles), np.cos(angles)])  # east by sine, north by cosine of an azimuth
        assert 15 * np.argmax(predict_points(system, ring)[0]) == azimuth % 180
        side = np.arange(-200.0, 201.0, 20.0)
        cells = predict_grid(system, side, -side)[0]  # rows from north to south
        gx, gy = np.meshgrid(side, -side)
        with_weight = np.where(cells > 0.5, 1.0, 0.0)
        found = 0.5 * np.arctan2(2 * (with_weight * gx * gy).sum(), (with_weight * (gy**2 - gx**2)).sum())
        assert (np.rad2deg(found) - azimuth + 90) % 180 - 90 == pytest.approx(0, abs=4)


def test_a_reading_with_an_error_weighs_less_and_is_not_returned_at_its_place():
    points, values = layout(3)
    model = Model("spherical", 0.1, 1.0, 400.0)
    exact, vague = solve(points, values, model), solve(points, values, model, error_variance=np.eye(30)[4] * 1e9)
    without = np.arange(30) != 4
    alone = solve(points[without], values[without], model)
    place = points[4:5] + 20
    assert weights(vague, place)[4, 0] == pytest.approx(0, abs=1e-6) and weights(exact, place)[4, 0] > 0.3
    for got, want in zip(predict_points(vague, points[4:5]), predict_points(alone, points[4:5])):
        assert got == pytest.approx(want, abs=1e-6), "a reading that says nothing is as good as none"
