"""Flow and wetness index (geostat.md 5.5)."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.terrain.water import (
    WAYS,
    cells_upstream,
    ends,
    fill,
    ground,
    in_steps,
    share_that_stays,
    steepest_directions,
    wetness,
)

# three pits of 2, 3 and 1 in a plateau of 6 with an outlet of 5 (after Garbrecht & Martz)
THREE_PITS = np.array([
    [9, 9, 9, 9, 9, 9, 9], [9, 6, 6, 6, 6, 6, 9], [8, 6, 2, 6, 3, 6, 9], [8, 6, 6, 6, 6, 6, 9],
    [7, 6, 6, 1, 6, 6, 8], [7, 6, 6, 6, 6, 6, 8], [7, 7, 5, 7, 7, 8, 8],
], float)  # fmt: skip

# filled grid of richdem's pit.dem as quoted in the reference (0 = no data there), with the pit dug again:
# eight cells of 5, as the volume of 8 says
ONE_PIT = np.array([
    [0, 0, 0, 0, 0, 0, 0, 0, 0, 0], [0, 9, 9, 9, 9, 9, 9, 9, 9, 0], [0, 9, 5, 5, 5, 5, 8, 9, 9, 0],
    [0, 9, 5, 5, 5, 5, 7, 8, 9, 0], [0, 9, 6, 6, 6, 6, 6, 7, 9, 0], [0, 0, 0, 0, 0, 0, 0, 0, 0, 0],
], float)  # fmt: skip
ONE_PIT[ONE_PIT == 0] = np.nan


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


def rough(seed: int, shape=(12, 15)) -> np.ndarray:
    rng = np.random.default_rng(seed)
    z = np.round(rng.normal(0, 2, shape), 1)
    z[rng.random(shape) < 0.05] = np.nan
    return z


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 2**32 - 1), st.sampled_from(["keep", "fill"]))
def test_every_cell_is_counted_once_at_its_outlet(seed, depressions):
    """geostat.md 5.5: the sum over outlets is the number of cells."""
    z = rough(seed)
    over = ground(z, depressions)
    counts, direction = cells_upstream(over), steepest_directions(over)
    assert counts[_last(direction)].sum() == np.count_nonzero(~np.isnan(z))
    assert np.array_equal(np.isnan(counts), np.isnan(z))


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 2**32 - 1), st.sampled_from(["keep", "fill"]), st.sampled_from(sorted(WAYS)))
def test_no_water_is_lost_or_made_however_it_is_shared(seed, depressions, way):
    over = ground(rough(seed), depressions)
    cells = cells_upstream(over, way)
    stays = (steepest_directions(over) == 0) & ~np.isnan(over.metres)
    assert cells[stays].sum() == pytest.approx(np.count_nonzero(~np.isnan(over.metres)), rel=1e-12)
    assert np.nanmin(cells) >= 1


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 2**32 - 1))
def test_the_steepest_way_gathers_what_pyflwdir_gathers(seed):
    import pyflwdir

    over = ground(rough(seed), "fill")
    theirs = pyflwdir.from_array(steepest_directions(over), ftype="d8", check_ftype=False).upstream_area("cell")
    mine = cells_upstream(over)
    known = ~np.isnan(mine)
    assert np.array_equal(mine[known], theirs[known])


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 2**32 - 1))
def test_the_filled_surface_is_the_lowest_one_from_which_all_water_leaves(seed):
    """Barnes, Lehman & Mulla 2014: never below the ground, and each raised cell no higher than its lowest way out."""
    z = in_steps(rough(seed))
    filled, _ = fill(z)
    known = ~np.isnan(z)
    lowest_way = np.where(known, np.inf, np.nan)
    padded = np.pad(known, 1)
    edge = known & ~np.all([np.roll(padded, (a, b), (0, 1)) for a in (-1, 0, 1) for b in (-1, 0, 1)], axis=0)[1:-1, 1:-1]
    lowest_way[edge] = z[edge]
    for _ in range(z.size):  # the same surface by patience instead of a queue
        wide = np.pad(np.where(known, lowest_way, np.inf), 1, constant_values=np.inf)
        around = np.min([wide[1 + a : wide.shape[0] - 1 + a, 1 + b : wide.shape[1] - 1 + b]
                         for a in (-1, 0, 1) for b in (-1, 0, 1) if a or b], axis=0)  # fmt: skip
        better = np.where(edge, z, np.maximum(z, around))
        if np.array_equal(better[known], lowest_way[known]):
            break
        lowest_way = np.where(known, better, np.nan)
    assert np.array_equal(filled[known], lowest_way[known])


def test_one_pit_beside_gaps_fills_from_5_to_6_with_a_volume_of_8():
    """geostat.md 5.5; cells beside a gap are an edge, where water leaves."""
    filled, _ = fill(ONE_PIT)
    assert np.nansum(filled - ONE_PIT) == 8
    assert set(filled[ONE_PIT == 5]) == {6}


def _last(direction: np.ndarray) -> np.ndarray:
    """Cells whose water goes no further: no direction, or off the raster or into a gap."""
    steps = {1: (0, 1), 2: (1, 1), 4: (1, 0), 8: (1, -1), 16: (0, -1), 32: (-1, -1), 64: (-1, 0), 128: (-1, 1)}
    last = np.zeros(direction.shape, bool)
    for (row, column), code in np.ndenumerate(direction):
        if code == 247:
            continue
        down, right = steps.get(int(code), (0, 0))
        y, x = row + down, column + right
        inside = 0 <= y < direction.shape[0] and 0 <= x < direction.shape[1]
        last[row, column] = code == 0 or not inside or direction[y, x] == 247
    return last


@pytest.mark.parametrize("way", ["steepest", "infinite"])
def test_a_plane_along_the_grid_gathers_one_cell_a_column(way):
    z = np.tile(-np.arange(6.0), (4, 1))
    assert np.array_equal(cells_upstream(ground(z), way), np.tile(np.arange(1.0, 7.0), (4, 1)))


def test_filled_potholes_let_water_through_and_kept_ones_do_not():
    kept, filled = (cells_upstream(ground(THREE_PITS, how)) for how in ("keep", "fill"))
    assert filled[6, 2] > kept[6, 2]
    assert kept[4, 3] > 8


@pytest.mark.parametrize("way", sorted(WAYS))
def test_the_share_that_stays_in_kept_potholes_is_what_never_reaches_the_edge(way):
    """A bowl in the middle of a plane that falls east: its rim of 9 by 9 cells keeps its water."""
    y, x = np.mgrid[-15:16, -15:16].astype(float)
    z = np.where(np.maximum(abs(x), abs(y)) <= 4, 50 + 0.1 * (x**2 + y**2), 100 - x)
    over = ground(z, "keep")
    cells = cells_upstream(over, way)
    assert ends(over).sum() == 1
    assert share_that_stays(over, cells) == pytest.approx(cells[15, 15] / z.size)
    assert share_that_stays(over, cells) >= 81 / z.size
    over = ground(z, "fill")
    assert share_that_stays(over, cells_upstream(over, way)) == 0


def test_a_flat_on_a_hillside_is_crossed_and_is_no_pothole():
    z = np.tile(-np.arange(12.0), (7, 1))
    z[2:5, 4:9] = z[3, 4]  # a terrace that spills to the east
    z[2:5, 9] = z[3, 4] - 0.5
    over = ground(z, "keep")
    assert not over.kept.any()
    assert share_that_stays(over, cells_upstream(over)) == 0


def test_potholes_shallower_than_stated_are_noise_and_filled_even_where_potholes_are_kept():
    z = np.tile(100 - np.arange(20.0), (9, 1))
    z[4, 5], z[4, 14] = z[4, 6] - 0.05, z[4, 15] - 2.0
    over = ground(z, "keep", least_depth_m=0.5)
    assert np.flatnonzero(over.kept.any(axis=0)).tolist() == [14]
    assert over.metres[4, 5] == pytest.approx(z[4, 6], abs=3e-4)
    assert over.metres[4, 14] == pytest.approx(z[4, 14], abs=3e-4)


def test_relief_of_more_than_4_km_is_filled_in_longer_steps():
    z = np.array([[6000.0, 6000, 6000], [6000, 0.25, 4500], [6000, 6000, 6000]])
    assert fill(z)[0][1, 1] == 4500


def test_a_raster_without_elevation_has_no_water():
    over = ground(np.full((4, 5), np.nan))
    assert np.isnan(cells_upstream(over)).all()
    assert share_that_stays(over, cells_upstream(over)) == 0


def test_500_m_of_ground_on_a_tangent_of_a_tenth_gives_8_517193():
    """ln(500 / 0.1), geostat.md 5.5: 50 cells of 10 m on a plane."""
    z = np.tile(-np.arange(60.0), (3, 1))
    slope = np.full(z.shape, np.degrees(np.arctan(0.1)))
    assert wetness(cells_upstream(ground(z)), slope, 10.0)[1, 49] == pytest.approx(8.517193, abs=1e-6)


def test_level_ground_uses_the_stated_least_tangent():
    flat = wetness(cells_upstream(ground(np.zeros((3, 3)))), np.zeros((3, 3)), 10.0, least_tangent=0.001)
    assert np.nanmin(flat) == pytest.approx(np.log(10 / 0.001))
    assert wetness(np.array([1.0]), np.array([0.0]), 10.0, 0.01)[0] == pytest.approx(np.log(10 / 0.01))
