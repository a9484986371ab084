"""Flow and wetness index (geostat.md 5.5)."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.terrain.water import cells_upstream, directions, fill, wetness_index

# three pits of 2, 3 and 1 in a plateau of 6 with an outlet of 5 (after Garbrecht & Martz)
THREE_PITS = np.array([
    [9, 9, 9, 9, 9, 9, 9], [9, 6, 6, 6, 6, 6, 9], [8, 6, 2, 6, 3, 6, 9], [8, 6, 6, 6, 6, 6, 9],
    [7, 6, 6, 1, 6, 6, 8], [7, 6, 6, 6, 6, 6, 8], [7, 7, 5, 7, 7, 8, 8],
], float)  # fmt: skip

# richdem's pit.dem, as quoted in the reference
ONE_PIT = np.array([
    [0, 0, 0, 0, 0, 0, 0, 0, 0, 0], [0, 9, 9, 9, 9, 9, 9, 9, 9, 0], [0, 9, 6, 6, 6, 6, 8, 9, 9, 0],
    [0, 9, 6, 5, 5, 6, 7, 8, 9, 0], [0, 9, 6, 5, 5, 6, 6, 7, 9, 0], [0, 0, 0, 0, 0, 0, 0, 0, 0, 0],
], float)  # fmt: skip


def test_three_pits_fill_to_6_with_a_volume_of_12():
    filled, _ = fill(THREE_PITS)
    assert (filled - THREE_PITS).sum() == 12
    assert filled[2, 2] == filled[2, 4] == filled[4, 3] == 6


def test_the_filled_surface_is_never_below_and_filling_twice_changes_nothing():
    z = np.round(np.random.default_rng(5).normal(500, 4, (30, 25)), 2)
    z = np.rint(z * 4096) / 4096
    filled, _ = fill(z)
    assert (filled >= z).all()
    assert np.array_equal(fill(filled)[0], filled)


def test_a_block_with_a_deep_floor_fills_to_its_channel():
    """Block of 8 with floor 1 and channel 7: fills to 7, volume 54 (geostat.md 5.5)."""
    z = np.full((5, 5), 8.0)
    z[1:4, 1:4], z[2, 4] = 1.0, 7.0
    filled, _ = fill(z)
    assert (filled[1:4, 1:4] == 7).all()
    assert (filled - z).sum() == 54


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 2**32 - 1), st.sampled_from(["keep", "fill"]))
def test_every_cell_is_counted_once_at_its_outlet(seed, depressions):
    rng = np.random.default_rng(seed)
    z = np.round(rng.normal(0, 2, (12, 15)), 1)
    z[rng.random(z.shape) < 0.05] = np.nan
    direction = directions(z, depressions)
    counts = cells_upstream(direction)
    ends = _ends(direction)
    assert counts[ends].sum() == np.count_nonzero(~np.isnan(z))
    assert np.array_equal(np.isnan(counts), np.isnan(z))


def _ends(direction: np.ndarray) -> np.ndarray:
    """Cells whose water goes no further: no direction, or off the raster or into a gap."""
    steps = {1: (0, 1), 2: (1, 1), 4: (1, 0), 8: (1, -1), 16: (0, -1), 32: (-1, -1), 64: (-1, 0), 128: (-1, 1)}
    ends = np.zeros(direction.shape, bool)
    for (row, column), code in np.ndenumerate(direction):
        if code == 247:
            continue
        down, right = steps.get(int(code), (0, 0))
        y, x = row + down, column + right
        inside = 0 <= y < direction.shape[0] and 0 <= x < direction.shape[1]
        ends[row, column] = code == 0 or not inside or direction[y, x] == 247
    return ends


def test_a_plane_along_the_grid_gathers_one_cell_a_column():
    z = np.tile(-np.arange(6.0), (4, 1))
    assert np.array_equal(cells_upstream(directions(z, "keep")), np.tile(np.arange(1.0, 7.0), (4, 1)))


def test_filled_potholes_let_water_through_and_kept_ones_do_not():
    kept, filled = (cells_upstream(directions(THREE_PITS, how)) for how in ("keep", "fill"))
    assert filled[6, 2] > kept[6, 2]
    assert kept[4, 3] > 8


def test_500_m_of_ground_on_a_tangent_of_a_tenth_gives_8_517193():
    """ln(500 / 0.1), geostat.md 5.5: 50 cells of 10 m on a plane."""
    z = np.tile(-np.arange(60.0), (3, 1))
    slope = np.full(z.shape, np.degrees(np.arctan(0.1)))
    assert wetness_index(z, slope, 10.0)[1, 49] == pytest.approx(8.517193, abs=1e-6)


def test_level_ground_uses_the_stated_least_tangent():
    flat = wetness_index(np.zeros((3, 3)), np.zeros((3, 3)), 10.0, least_tangent=0.001)
    assert flat[1, 1] == pytest.approx(np.log(10 / 0.001))
