"""Windows of three by three cells against exact surfaces and published worked windows."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.kernels.terrain_window import EVANS, HORN, LAYERS, curvatures, derivatives, slope_and_aspect

CELL = 10.0


def surface(function, x0: float, y0: float, cell: float = CELL) -> np.ndarray:
    """Three by three cells about (x0, y0), row 1 north."""
    x = x0 + cell * np.array([-1.0, 0.0, 1.0])
    y = y0 + cell * np.array([1.0, 0.0, -1.0])
    return function(*np.meshgrid(x, y))


def middle(arrays) -> list[float]:
    return [float(array[1, 1]) for array in arrays]


def azimuth(sine: float, cosine: float) -> float:
    return float(np.degrees(np.arctan2(sine, cosine)) % 360)


# geostat.md 5.2: exact derivatives of quadratics, which the least-squares window reproduces
QUADRATICS = {
    "plane": (lambda x, y: 0.3 * x - 0.2 * y + 500, 50, 50, 19.827029, 303.690068, 0, 0, 0),
    "bowl": (lambda x, y: 0.0005 * (x**2 + y**2) + 100, 100, 120, 8.878142, 219.805571, -9.64485e-4, -6.40184e-3, -9.88019e-4),
    "elliptic": (
        lambda x, y: 0.0008 * x**2 + 0.0002 * y**2 + 0.0003 * x * y + 0.05 * x + 100,
        50, 50, 8.483934, 256.429566, -1.61654e-3, -2.20705e-3, -3.25611e-4,
    ),
    "saddle": (
        lambda x, y: 0.0005 * (x**2 - y**2) + 0.1 * x + 0.05 * y + 100,
        100, 120, 11.963795, 289.290046, -7.31895e-4, 3.68925e-3, 7.64757e-4,
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", QUADRATICS)
def test_a_quadratic_surface_gives_its_exact_slope_aspect_and_curvatures(name):
    function, x, y, slope, facing, profile, plan, tangential = QUADRATICS[name]
    z = surface(function, x, y)
    found_slope, sine, cosine = middle(slope_and_aspect(z, CELL, 1.0))
    assert found_slope == pytest.approx(slope, abs=1e-6)
    assert azimuth(sine, cosine) == pytest.approx(facing, abs=1e-6)
    assert middle(curvatures(z, CELL)) == pytest.approx([profile, plan, tangential], rel=5e-6, abs=1e-12)


@pytest.mark.parametrize("name", QUADRATICS)
def test_horn_gives_the_exact_slope_of_a_quadratic_too(name):
    function, x, y, slope, *_ = QUADRATICS[name]
    assert middle(slope_and_aspect(surface(function, x, y), CELL, 2.0))[0] == pytest.approx(slope, abs=1e-6)


def hill(x, y):
    return 100 + 50 * np.exp(-(x**2 + y**2) / 12800)


def test_a_gaussian_hill_at_10_m_gives_the_values_of_both_windows():
    """geostat.md 5.2, last line: Evans 20.3087, Horn 20.3235; exact 20.4953."""
    z = surface(hill, 50, 50)
    evans, sine, cosine = middle(slope_and_aspect(z, CELL, 1.0))
    assert evans == pytest.approx(20.3087, abs=5e-5)
    assert middle(slope_and_aspect(z, CELL, 2.0))[0] == pytest.approx(20.3235, abs=5e-5)
    assert azimuth(sine, cosine) == pytest.approx(45)
    assert middle(curvatures(z, CELL)) == pytest.approx([9.638e-4, 1.41659e-2, 4.917e-3], rel=2e-4)


def test_a_bowl_is_concave_in_every_curvature_and_a_hill_convex():
    """geostat.md 5.1: a name without formula and sign is useless; the bowl settles the sign."""
    bowl = surface(lambda x, y: 0.0005 * (x**2 + y**2), 100, 120)
    assert all(value < 0 for value in middle(curvatures(bowl, CELL)))
    assert all(value > 0 for value in middle(curvatures(-bowl, CELL)))


# worked windows published in 'How slope works' and 'How aspect works' (geostat.md 5.1)
SLOPE_WINDOW = np.array([[50, 45, 50], [30, 30, 30], [8, 10, 10]], float)
ASPECT_WINDOW = np.array([[101, 92, 85], [101, 92, 85], [101, 91, 84]], float)
SHADE_WINDOW = np.array([[2450, 2461, 2483], [2452, 2461, 2483], [2447, 2455, 2477]], float)


def test_the_published_slope_window_gives_75_25762_degrees():
    """Printed as 75.25762, exactly 75.2576577."""
    slope, sine, cosine = middle(slope_and_aspect(SLOPE_WINDOW, 5.0, 2.0))
    assert slope == pytest.approx(75.2576577, abs=1e-6)
    assert azimuth(sine, cosine) == pytest.approx(180.7538, abs=1e-4)


def test_the_published_aspect_window_faces_92_64_degrees():
    _, sine, cosine = middle(slope_and_aspect(ASPECT_WINDOW, 1.0, 2.0))
    assert azimuth(sine, cosine) == pytest.approx(92.642545, abs=1e-6)


def test_the_published_hillshade_window_gives_shade_154():
    """Slope and aspect together: light from the north-west, 45 degrees high."""
    slope, sine, cosine = middle(slope_and_aspect(SHADE_WINDOW, 5.0, 2.0))
    assert np.radians(slope) == pytest.approx(1.265110, abs=1e-6)
    steep, facing, sun = np.radians(slope), np.arctan2(sine, cosine), np.radians(315)
    shade = 255 * (np.sqrt(0.5) * np.cos(steep) + np.sqrt(0.5) * np.sin(steep) * np.cos(sun - facing))
    assert shade == pytest.approx(154.0287, abs=1e-4)


def test_level_ground_has_slope_0_and_faces_nowhere():
    """geostat.md 5.1: flat is no data, not north."""
    slope, sine, cosine = middle(slope_and_aspect(np.full((3, 3), 250.0), CELL, 1.0))
    assert slope == 0
    assert np.isnan([sine, cosine]).all()
    assert np.isnan(middle(curvatures(np.full((3, 3), 250.0), CELL))).all()


def test_aspects_of_350_and_10_degrees_average_to_north():
    """T18: as sine and cosine the mean of 350 and 10 is 0, not 180."""
    means = []
    for degrees in (350.0, 10.0):
        away = np.radians(degrees)
        z = surface(lambda x, y, a=away: -0.1 * (np.sin(a) * x + np.cos(a) * y), 0, 0)
        means.append(middle(slope_and_aspect(z, CELL, 1.0))[1:])
    sine, cosine = np.mean(means, axis=0)
    assert np.degrees(np.arctan2(sine, cosine)) == pytest.approx(0, abs=1e-9)


def test_a_window_that_lacks_a_cell_has_no_value():
    z = surface(hill, 50, 50)
    for row, column in np.ndindex(3, 3):
        gap = z.copy()
        gap[row, column] = np.nan
        assert np.isnan(middle(slope_and_aspect(gap, CELL, 1.0))).all()
        assert np.isnan(middle(curvatures(gap, CELL))).all()


@settings(max_examples=25, deadline=None)
@given(
    st.integers(0, 2**32 - 1), st.integers(1, 3),
)  # fmt: skip
def test_turning_the_ground_turns_aspect_and_leaves_the_rest(seed, quarters):
    z = np.random.default_rng(seed).normal(0, 3, (5, 6))
    slope, sine, cosine = slope_and_aspect(z, CELL, 1.0)
    turned_slope, turned_sine, turned_cosine = slope_and_aspect(np.rot90(z, quarters).copy(), CELL, 1.0)
    np.testing.assert_allclose(turned_slope, np.rot90(slope, quarters), rtol=1e-9)
    facing = np.arctan2(sine, cosine) - quarters * np.pi / 2  # rot90 turns counter-clockwise
    np.testing.assert_allclose(turned_sine, np.rot90(np.sin(facing), quarters), atol=1e-9)
    np.testing.assert_allclose(turned_cosine, np.rot90(np.cos(facing), quarters), atol=1e-9)
    for one, other in zip(curvatures(z, CELL), curvatures(np.rot90(z, quarters).copy(), CELL), strict=True):
        np.testing.assert_allclose(other, np.rot90(one, quarters), rtol=1e-6, atol=1e-12)


@pytest.mark.parametrize(("name", "mean"), [("plane", 0), ("bowl", -9.76252e-4), ("elliptic", -9.71073e-4), ("saddle", 1.6431e-5)])
def test_a_quadratic_surface_gives_its_exact_mean_curvature(name, mean):
    """numbers/terrain/surf.txt, column H; mean curvature of a bowl is that of its level middle too."""
    function, x, y, *_ = QUADRATICS[name]
    assert derivatives(surface(function, x, y), CELL, EVANS, ["mean_curvature"])[0, 1, 1] == pytest.approx(mean, rel=5e-6, abs=1e-12)
    bottom = derivatives(surface(QUADRATICS["bowl"][0], 0, 0), CELL)[:, 1, 1]
    assert bottom[LAYERS.index("mean_curvature")] == pytest.approx(-0.001)
    assert np.isnan(bottom[LAYERS.index("plan_curvature")])


def test_tangential_is_plan_times_the_sine_of_slope():
    z = np.random.default_rng(7).normal(500, 3, (12, 13))
    layer = dict(zip(LAYERS, derivatives(z, CELL), strict=True))
    np.testing.assert_allclose(layer["tangential_curvature"], layer["plan_curvature"] * np.sin(np.radians(layer["slope"])), rtol=1e-9)


@pytest.mark.parametrize("weight", [EVANS, HORN])
def test_layers_come_in_the_order_asked_for_and_are_the_same_alone(weight):
    z = np.random.default_rng(6).normal(500, 3, (12, 13))
    z[4, 4] = np.nan
    together = dict(zip(LAYERS, derivatives(z, CELL, weight), strict=True))
    for name, alone in zip(LAYERS[::-1], derivatives(z, CELL, weight, LAYERS[::-1]), strict=True):
        np.testing.assert_array_equal(alone, together[name])
        np.testing.assert_array_equal(derivatives(z, CELL, weight, [name])[0], together[name])
        np.testing.assert_array_equal(
            derivatives(z, CELL, weight, [name], np.float32)[0], together[name].astype(np.float32)
        )


def test_a_raster_of_less_than_three_cells_has_no_derivative():
    assert np.isnan(derivatives(np.zeros((2, 9)), CELL)).all()


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 2**32 - 1), st.integers(0, 8), st.integers(0, 8), st.integers(3, 11), st.integers(3, 21))
def test_any_window_cut_out_of_a_raster_gives_the_same_bits(seed, row, column, height, width):
    """T13: no seam, whatever the block; gaps included."""
    rng = np.random.default_rng(seed)
    z = rng.normal(500, 3, (20, 30))
    z[rng.random(z.shape) < 0.05] = np.nan
    whole = derivatives(z, CELL, HORN)
    part = derivatives(z[row : row + height, column : column + width], CELL, HORN)
    inside = whole[:, row + 1 : row + height - 1, column + 1 : column + width - 1]
    np.testing.assert_array_equal(part[:, 1:-1, 1:-1][:, : inside.shape[1], : inside.shape[2]], inside)
