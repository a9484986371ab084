"""Landform elements of Pennock, Zebarth & de Jong 1987 on a hill and a pit whose derivatives are exact (geostat.md 5.3)."""

from __future__ import annotations

import numpy as np
import pytest

from geoprofile.kernels.terrain_window import curvatures, slope_and_aspect
from geoprofile.terrain.landform import LEGEND, landform_elements


def hill(radius: float, sign: float = 1.0):
    """Slope (degrees), profile and plan curvature of 50 exp(-r2/12800), or of the pit that mirrors it."""
    height = sign * 50 * np.exp(-(radius**2) / 12800)
    first = -height * radius / 6400
    second = -height / 6400 + height * radius**2 / 6400**2
    return (
        np.degrees(np.arctan(abs(first))),
        -second / (1 + first**2) ** 1.5,
        sign / radius,
    )


CHECKS = [
    # radius, slope, profile in degrees per m, on the hill, in the pit
    (20, 8.6116, 0.39313, "divergent shoulder", "convergent footslope"),
    (60, 19.4854, 0.12385, "divergent shoulder", "convergent footslope"),
    (80, 20.7608, 0.0, "divergent backslope", "convergent backslope"),
    (100, 19.6812, -0.09623, "divergent backslope", "convergent backslope"),
    (140, 13.3081, -0.18400, "divergent footslope", "convergent shoulder"),
    (200, 3.9273, -0.10253, "divergent footslope", "convergent shoulder"),
    (5, None, None, "level", "level"),
    (260, None, None, "level", "level"),
]


@pytest.mark.parametrize(("radius", "slope", "profile", "on_the_hill", "in_the_pit"), CHECKS)
def test_elements_at_the_published_check_radii(radius, slope, profile, on_the_hill, in_the_pit):
    for sign, expected in ((1.0, on_the_hill), (-1.0, in_the_pit)):
        values = hill(radius, sign)
        if slope is not None:
            assert values[0] == pytest.approx(slope, abs=5e-5)
            assert np.degrees(values[1]) == pytest.approx(sign * profile, abs=5e-6)
        code = landform_elements(*(np.array([[value]]) for value in values))
        assert LEGEND[int(code[0, 0])] == expected


def test_a_hill_on_cells_of_2_m_has_its_elements_in_rings():
    x = np.arange(-300, 301, 2.0)
    z = 50 * np.exp(-(x[None, :] ** 2 + x[:, None] ** 2) / 12800)
    slope, _, _ = slope_and_aspect(z, 2.0, 1.0)
    profile, plan, _ = curvatures(z, 2.0)
    code = landform_elements(slope, profile, plan)
    found = [LEGEND[int(code[150, 150 + radius // 2])] for radius in (20, 60, 100, 140, 200, 260)]
    assert found == [CHECKS[k][3] for k in (0, 1, 3, 4, 5, 7)]


def test_where_slope_is_not_known_there_is_no_element():
    code = landform_elements(np.array([[np.nan, 0.0]]), np.array([[np.nan, np.nan]]), np.array([[np.nan, np.nan]]))
    assert code.tolist() == [[0, 7]]


def test_limits_are_settings():
    values = [np.array([[value]]) for value in hill(100)]
    assert LEGEND[int(landform_elements(*values, profile_limit_degrees_per_m=0.05)[0, 0])] == "divergent footslope"
    assert LEGEND[int(landform_elements(*values, level_below_degrees=20)[0, 0])] == "level"
