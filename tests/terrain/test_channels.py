"""Height above and way to the channel."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.terrain.channels import above_channels
from geoprofile.terrain.water import ground, steepest_directions


def valley(rows: int = 21, columns: int = 15) -> np.ndarray:
    """A straight valley that falls 0.1 m a cell to the south; its sides rise 1 m a cell."""
    y, x = np.mgrid[:rows, :columns].astype(float)
    return 100 - 0.1 * y + abs(x - columns // 2)


def test_in_a_straight_valley_the_channel_is_its_bottom_and_sides_stand_above_it():
    height, distance, channel = above_channels(ground(valley()), 10.0, 5_000.0)
    assert channel[10:, 7].all() and not channel[:, :5].any()
    assert height[15, 7] == 0 and distance[15, 7] == 0
    # four cells up the side water runs down the side: 10 m west for 1 m of fall beats 0.1 m south
    assert distance[15, 3] == pytest.approx(40, abs=30)
    assert height[15, 3] == pytest.approx(4, abs=0.5)


def test_ground_whose_water_reaches_no_channel_has_neither():
    height, distance, channel = above_channels(ground(valley()), 10.0, 1e9)
    assert not channel.any()
    assert np.isnan(height).all() and np.isnan(distance).all()


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 2**32 - 1), st.sampled_from(["keep", "fill"]))
def test_height_and_way_equal_those_of_pyflwdir_where_water_reaches_a_channel(seed, depressions):
    import pyflwdir

    z = np.round(np.random.default_rng(seed).normal(100, 3, (14, 17)), 1)
    over = ground(z, depressions)
    height, distance, channel = above_channels(over, 1.0, 6.0)
    flow = pyflwdir.from_array(steepest_directions(over), ftype="d8", check_ftype=False)
    known = ~np.isnan(height)
    np.testing.assert_allclose(height[known], flow.hand(channel, over.metres)[known], atol=1e-4)
    steps = flow.stream_distance(channel, unit="cell")[known]
    assert ((distance[known] >= steps - 1e-9) & (distance[known] <= steps * np.sqrt(2) + 1e-9)).all()
    assert channel[known].any() or not known.any()


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 2**32 - 1))
def test_with_potholes_filled_no_cell_lies_below_its_channel(seed):
    z = np.random.default_rng(seed).normal(100, 3, (14, 17))
    height, distance, _ = above_channels(ground(z, "fill"), 5.0, 200.0)
    assert np.nanmin(height) >= 0
    assert ((distance == 0) | np.isnan(distance) | (distance >= 5.0)).all()
