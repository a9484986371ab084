"""Kriging against worked examples of textbooks, solved again from their printed data."""

import csv

import numpy as np
import pytest

from geoprofile.kernels.covariance import Model, covariance, semivariance, squared_distances
from geoprofile.kernels.kriging import cross_covariance, leave_one_out, predict_grid, predict_points, solve, weights

# Isaaks & Srivastava 1989, chapter 12: seven samples of V around the place (65, 137); C(h) = 10 exp(-0.3 h).
# Weights as printed in the book, estimate 592.7 and variance 8.96; further digits computed from the same data.
SEVEN = np.array([[61, 139], [63, 140], [64, 129], [68, 128], [71, 140], [73, 141], [75, 128]], float)
V = np.array([477, 696, 227, 646, 606, 791, 783], float)
PLACE = np.array([[65.0, 137.0]])


def test_the_seven_samples_of_isaaks_and_srivastava_1989():
    system = solve(SEVEN, V, Model("exponential", 0.0, 10.0, 1 / 0.3))
    estimate, variance = predict_points(system, PLACE)
    assert estimate[0] == pytest.approx(592.7289428, abs=1e-6)
    assert variance[0] == pytest.approx(8.956052789, abs=1e-8)
    # distances and covariances to the place, as printed
    away = np.hypot(*(SEVEN - PLACE).T)
    assert away == pytest.approx([4.4721, 3.6056, 8.0623, 9.4868, 6.7082, 8.9443, 13.4536], abs=5e-5)
    right = cross_covariance(system, PLACE)[:, 0]
    assert right == pytest.approx([2.6142, 3.3903, 0.8904, 0.5807, 1.3366, 0.6834, 0.1767], abs=5e-5)
    # the multiplier: what the weights lack of the plain system; the book prints its size, 0.907
    data = covariance(system.model, np.hypot(*(SEVEN[:, None] - SEVEN).transpose(2, 0, 1)))
    assert np.abs(data @ weights(system, PLACE)[:, 0] - right) == pytest.approx(0.9066, abs=5e-5)
    printed = [0.1729, 0.3178, 0.1287, 0.0864, 0.1511, 0.0572, 0.0858]
    assert weights(system, PLACE)[:, 0] == pytest.approx(printed, abs=6e-5)


def test_with_covariances_rounded_to_two_digits_as_by_hand_the_answer_is_off_by_a_tenth(monkeypatch):
    """592.81 and 8.9557, computed apart from the rounded covariances."""
    from geoprofile.kernels import kriging

    exact = kriging.covariance_in_place
    monkeypatch.setattr(kriging, "covariance_in_place", lambda *given: np.round(exact(*given), 2))
    estimate, variance = predict_points(solve(SEVEN, V, Model("exponential", 0.0, 10.0, 1 / 0.3)), PLACE)
    assert (estimate[0], variance[0]) == (pytest.approx(592.81, abs=5e-3), pytest.approx(8.9557, abs=5e-5))


@pytest.mark.parametrize(
    "model, estimate, variance",
    [
        (Model("exponential", 5.0, 5.0, 1 / 0.3), 596.7770, 10.30585),  # half of the sill is nugget
        (Model("gaussian", 0.0, 10.0, 10 / np.sqrt(3)), 559.3700, 4.78060),  # 10 exp(-3 (h/10)^2)
        (Model("exponential", 0.0, 10.0, 2 / 0.3), 572.3899, 5.75850),  # range doubled
        (Model("exponential", 0.0, 20.0, 1 / 0.3), 592.7289428, 17.91211),  # sill doubled: same estimate
        (Model("exponential", 10.0, 0.0, 1 / 0.3), 603.7142857, 11.42857),  # pure nugget: the mean
    ],
)
def test_their_variants_of_the_model(model, estimate, variance):
    found = predict_points(solve(SEVEN, V, model), PLACE)
    assert found[0][0] == pytest.approx(estimate, abs=6e-5)
    assert found[1][0] == pytest.approx(variance, abs=6e-6)


def test_the_weights_of_other_models():
    """Half of the sill nugget, range doubled, sill doubled; gaussian too, in whole."""
    for model, owed in [
        (Model("exponential", 5.0, 5.0, 1 / 0.3), [0.1790, 0.2262, 0.1314, 0.1117, 0.1368, 0.1038, 0.1110]),
        (Model("exponential", 0.0, 10.0, 2 / 0.3), [0.1782, 0.3790, 0.1423, 0.0654, 0.1980, 0.0029, 0.0343]),
        (Model("exponential", 0.0, 20.0, 1 / 0.3), [0.1729, 0.3178, 0.1287, 0.0864, 0.1511, 0.0572, 0.0858]),
        (Model("exponential", 10.0, 0.0, 1 / 0.3), [1 / 7] * 7),
        (Model("gaussian", 0.0, 10.0, 10 / np.sqrt(3)), [-0.0215, 0.6760, 0.1659, -0.0128, 0.4441, -0.2884, 0.0367]),
    ]:
        assert weights(solve(SEVEN, V, model), PLACE)[:, 0] == pytest.approx(owed, abs=6e-5)


def test_weights_can_be_negative_where_a_sample_is_screened():
    system = solve(SEVEN, V, Model("gaussian", 0.0, 10.0, 10 / np.sqrt(3)))
    found = weights(system, PLACE)[:, 0]
    assert found[[0, 3, 5]] == pytest.approx([-0.0215, -0.0128, -0.2884], abs=6e-5)
    assert found.sum() == pytest.approx(1.0)


def test_the_two_heads_of_kitanidis_1997_example_3_2():
    # gamma(h) = 0.006 h + 0.1: an unbounded linear variogram is the beginning of a spherical one with a very
    # long range, whose slope is 1.5 sill / range; at 100 km they differ here by a ten-millionth
    scale = 1e5
    points, heads = np.array([[9.7, 47.6], [43.8, 24.6]]), np.array([1.22, 2.822])
    system = solve(points, heads, Model("spherical", 0.1, 0.006 * scale / 1.5, scale))
    estimate, variance = predict_points(system, np.array([[18.8, 67.9], [43.8, 24.6]]))
    assert estimate[0] == pytest.approx(1.6363901, abs=2e-7)
    assert variance[0] == pytest.approx(0.4200995, abs=2e-7)
    assert weights(system, np.array([[18.8, 67.9]]))[:, 0] == pytest.approx([0.7400811, 0.2599189], abs=1e-6)
    assert (estimate[1], variance[1]) == (pytest.approx(2.822, abs=1e-6), pytest.approx(0.0, abs=1e-6))


@pytest.mark.shared
def test_four_cells_of_kt3d(shared):
    """Single numbers, beside the table below: ordinary kriging at three cells, a linear drift at one."""
    points = _table(shared / "reference/numbers/kt3d_points.csv")
    data = np.column_stack([points["x"], points["y"]])
    model = Model("exponential", 0.0, 500.0, 1000.0)
    cells = np.array([[1069775, 242684], [1071025, 243309], [1072225, 241459]], float)
    estimate, variance = predict_points(solve(data, points["z"], model), cells)
    assert estimate == pytest.approx([50.286416, 72.946823, 86.89391], abs=6e-6)
    assert variance == pytest.approx([227.698326, 81.075381, 304.058865], abs=6e-6)
    centre = data.mean(axis=0)
    drift = solve(data, points["z"], model, (data - centre) / 1000)
    estimate, variance = predict_points(drift, cells[2:], (cells[2:] - centre) / 1000)
    assert (estimate[0], variance[0]) == (pytest.approx(113.98505, abs=6e-6), pytest.approx(370.701336, abs=6e-6))


@pytest.mark.shared
def test_kt3d_of_of_the_geostatistical_software_library_ordinary_and_with_linear_drift(shared):
    """Deutsch & Journel 1998, program kt3d: 15 points; answers published with their own rounding of 8 digits."""
    points = _table(shared / "reference/numbers/kt3d_points.csv")
    answers = _table(shared / "reference/numbers/kt3d_check.csv")
    data = np.column_stack([points["x"], points["y"]])
    cells = np.column_stack([answers["x"], answers["y"]])
    centre = data.mean(axis=0)
    model = Model("exponential", 0.0, 500.0, 1000.0)
    estimate, variance = predict_points(solve(data, points["z"], model), cells)
    assert estimate == pytest.approx(answers["kt3d_ok"], abs=6e-6)
    assert variance == pytest.approx(answers["my_ok_var"], abs=1e-7)
    drift = solve(data, points["z"], model, (data - centre) / 1000)
    estimate, variance = predict_points(drift, cells, (cells - centre) / 1000)
    assert estimate == pytest.approx(answers["kt3d_uk_lin"], abs=6e-6)
    assert variance == pytest.approx(answers["my_uk_var"], abs=1e-6)


def _table(path):
    rows = list(csv.DictReader(path.open()))
    return {name: np.array([float(row[name]) for row in rows]) for name in rows[0]}


def test_a_datum_is_returned_with_variance_zero_though_there_is_a_nugget():
    """K8: the nugget is variation over short distance unless said otherwise."""
    system = solve(SEVEN, V, Model("exponential", 5.0, 5.0, 1 / 0.3))
    estimate, variance = predict_points(system, SEVEN)
    assert estimate == pytest.approx(V, abs=1e-9)
    assert variance == pytest.approx(np.zeros(7), abs=1e-9)
    on_grid = predict_grid(system, np.array([61.0, 62.0]), np.array([140.0, 139.0]))
    assert on_grid[0][1, 0] == pytest.approx(477) and on_grid[1][1, 0] == pytest.approx(0, abs=1e-9)
    assert on_grid[1][0, 1] > 5


def test_a_nugget_that_is_measurement_error_is_filtered_and_leaves_the_variance():
    """K8: off the data the estimate is the same and the variance less by exactly the nugget."""
    model = Model("exponential", 5.0, 5.0, 1 / 0.3)
    plain, error = solve(SEVEN, V, model), solve(SEVEN, V, model, nugget_is_error=True)
    assert predict_points(error, PLACE)[0] == pytest.approx(predict_points(plain, PLACE)[0])
    assert predict_points(error, PLACE)[1] == pytest.approx(predict_points(plain, PLACE)[1] - 5.0)
    assert np.all(np.abs(predict_points(error, SEVEN)[0] - V) > 1)


def test_leaving_one_out_by_formula_equals_leaving_it_out():
    """The formula of Dubrule 1983 against solving seven times, with and without a drift."""
    model = Model("spherical", 1.0, 9.0, 12.0)
    for drift in (None, SEVEN[:, :1] / 10):
        predicted, variance = leave_one_out(solve(SEVEN, V, model, drift))
        for i in range(7):
            rest = np.arange(7) != i
            other = solve(SEVEN[rest], V[rest], model, None if drift is None else drift[rest])
            alone = predict_points(other, SEVEN[[i]], None if drift is None else drift[[i]])
            assert predicted[i] == pytest.approx(alone[0][0])
            assert variance[i] == pytest.approx(alone[1][0])


def test_dependent_drift_columns_are_an_error_and_not_a_guess():
    with pytest.raises(np.linalg.LinAlgError, match="depend on each other"):
        solve(SEVEN, V, Model("spherical", 1.0, 9.0, 12.0), np.ones((7, 1)))


def test_coincident_data_are_an_error_and_not_a_pseudo_inverse():
    """K1: merging is the affair of who prepares the data; measurements with error may differ at one place."""
    twice, values = np.vstack([SEVEN, SEVEN[:1]]), np.append(V, 500.0)
    model = Model("exponential", 5.0, 5.0, 1 / 0.3)
    with pytest.raises(np.linalg.LinAlgError, match="merge them first"):
        solve(twice, values, model)
    distance = np.hypot(*(twice[:, None] - twice[None]).transpose(2, 0, 1))
    bordered = np.block([[5 * np.exp(-0.3 * distance) + 5 * np.eye(8), np.ones((8, 1))], [np.ones((1, 8)), np.zeros((1, 1))]])
    right = np.append(5 * np.exp(-0.3 * np.hypot(*(twice - PLACE).T)), 1.0)
    by_hand = np.linalg.solve(bordered, right)[:8] @ values
    assert predict_points(solve(twice, values, model, nugget_is_error=True), PLACE)[0][0] == pytest.approx(by_hand)


def test_what_is_added_to_a_diagonal_is_told():
    """A gaussian model without nugget is singular in floating point where data are close."""
    close = np.column_stack([np.arange(40) * 0.5, np.zeros(40)])
    system = solve(close, np.sin(close[:, 0]), Model("gaussian", 0.0, 1.0, 30.0))
    assert 0 < system.jitter <= 1e-6


def test_davis_2002_water_table_by_a_straight_variogram():
    """Points and semivariance 4 h from memory, weights and estimate recomputed; 4 h as an exponential model of endless range."""
    at, values, place = np.array([[3.0, 4.0], [6.3, 3.4], [2.0, 1.3]]), np.array([120.0, 103.0, 142.0]), np.array([[3.0, 3.0]])
    scale = 1e6
    system = solve(at, values, Model("exponential", 0.0, 4 * scale, scale))
    assert weights(system, place)[:, 0] == pytest.approx([0.60390, 0.08677, 0.30933], abs=2e-5)
    estimate, variance = predict_points(system, place)
    assert estimate[0] == pytest.approx(125.33033, abs=1e-3) and variance[0] == pytest.approx(5.28302, abs=2e-3)


def test_five_points_by_a_spherical_model_with_a_nugget():
    """Layout of Burrough & McDonnell 1998, from memory; exact solution recomputed (the book's print is not cited)."""
    at = np.array([[2, 2], [3, 7], [9, 9], [6, 5], [5, 3]], float)
    system = solve(at, np.array([3.0, 4, 2, 4, 6]), Model("spherical", 2.5, 7.5, 10.0))
    place = np.array([[5.0, 5.0]])
    owed = [6.98659, 5.59713, 8.18514, 3.62125, 4.72]
    assert semivariance(system.model, np.hypot(*(at - place).T)) == pytest.approx(owed, abs=6e-6)
    assert weights(system, place)[:, 0] == pytest.approx([0.07345, 0.21150, 0.04984, 0.43064, 0.23457], abs=6e-6)
    estimate, variance = predict_points(system, place)
    assert estimate[0] == pytest.approx(4.29601, abs=6e-6) and variance[0] == pytest.approx(4.93270, abs=6e-6)


def test_two_variables_with_one_mean_have_the_published_mean():
    """R gstat, its own test `merge`: exponential of scale 1, cross-covariance half of it; mean 2.5 with variance 0.308139."""
    places = np.array([[0.0, 0.0], [2.0, 0.0], [0.0, 2.0], [2.0, 2.0]])
    alike = covariance(Model("exponential", 0.0, 1.0, 1.0), np.sqrt(squared_distances(places, places)))
    variable = np.array([0, 0, 1, 1])
    weight = np.linalg.solve(np.where(variable[:, None] == variable, alike, alike / 2), np.ones(4))
    assert weight @ [0, 1, 4, 5] / weight.sum() == pytest.approx(2.5, abs=1e-12)
    assert 1 / weight.sum() == pytest.approx(0.308139, abs=5e-7)
