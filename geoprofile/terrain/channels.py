"""Height above the channel that a cell drains to, and the water's way to it.

Height above the nearest drainage (Renno and others 2008, Remote Sensing of
Environment 112:3469-3481): nearest along the water's way, not as the crow flies. A
channel is where the steepest way gathers at least a stated area.
"""

from __future__ import annotations

import numpy as np

from ..kernels.terrain_flow import down_to_channel
from .water import Ground, cells_upstream, steepest_directions


def above_channels(
    over: Ground, cell_m: float, channel_area_m2: float
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Height above the channel and distance to it, m, and the channels.

    Parameters
    ----------
    over : from ``water.ground``. Where potholes are kept, their water reaches no channel
        unless they gather enough to be one.
    channel_area_m2 : least catchment of a channel, m2, by the steepest way.

    Returns
    -------
    height and distance (float64; NaN where the water reaches no channel), channels (bool).
    """
    cells = cells_upstream(over)
    with np.errstate(invalid="ignore"):
        channel = cells * cell_m**2 >= channel_area_m2
    height, distance = down_to_channel(steepest_directions(over), over.metres, channel, cell_m)
    return height, distance, channel
