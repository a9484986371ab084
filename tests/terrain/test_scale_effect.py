"""Noise in elevation against the limits of landform elements."""

from __future__ import annotations

import numpy as np
import pytest

from geoprofile.kernels.terrain_window import EVANS, derivatives
from geoprofile.terrain.scale_effect import noise_sentence, profile_noise_degrees_per_m, shares_by_scale
from geoprofile.terrain.smoothing import smooth


def test_5_cm_of_noise_on_5_m_cells_swamps_the_published_limit():
    """Square root of 2 times 0.05 / 25 = 0.00283 per m = 0.162 degrees per m, against 0.10 (Pennock and others 1987)."""
    assert profile_noise_degrees_per_m(0.05, 5.0) == pytest.approx(np.degrees(np.sqrt(2) * 0.05 / 25), rel=1e-12)
    assert profile_noise_degrees_per_m(0.05, 5.0) > 0.10
    assert "elements are noise" in noise_sentence(5.0, None, 0.10)


def test_smoothing_to_25_m_takes_that_noise_to_a_fiftieth_of_the_limit():
    assert profile_noise_degrees_per_m(0.05, 5.0, 25.0) < 0.10 / 50
    assert "well below" in noise_sentence(5.0, 25.0, 0.10)


@pytest.mark.parametrize("scale", [0.0, 10.0, 25.0])
def test_the_figure_is_what_noise_on_a_slope_does(scale):
    """A plane of 6 degrees with 5 cm of noise on 5 m cells; the spread of its profile curvature."""
    rng = np.random.default_rng(1)
    z = np.tile(np.tan(np.radians(6)) * 5.0 * np.arange(260), (260, 1)) + rng.normal(0, 0.05, (260, 260))
    profile = derivatives(smooth(z, scale, 5.0), 5.0, EVANS, ["profile_curvature"])[0, 20:-20, 20:-20]
    assert np.degrees(profile.std()) == pytest.approx(profile_noise_degrees_per_m(0.05, 5.0, scale), rel=0.08)


def test_on_an_even_slope_noise_alone_makes_shoulders_and_footslopes_until_it_is_smoothed(capsys):
    rng = np.random.default_rng(2)
    z = np.tile(np.tan(np.radians(6)) * 5.0 * np.arange(160), (160, 1)) + rng.normal(0, 0.05, (160, 160))
    shares = shares_by_scale(z, 5.0, [0, 10, 25, 50]).set_index("scale_m")
    with capsys.disabled():
        print("\neven slope of 6 degrees, 5 m cells, 5 cm of noise: share of each element by analysis scale")
        print(shares.map(lambda share: f"{share:.0%}").to_string())
    backslope = shares["divergent backslope"] + shares["convergent backslope"]
    assert backslope[0] < 0.6
    assert backslope[25] > 0.999
    assert shares.sum(axis=1).to_numpy() == pytest.approx(1.0)
