"""Wetness index: how much ground drains through a cell against how fast it leaves.

ln(a / tan b) of Beven & Kirkby 1979 (Hydrological Sciences Bulletin 24:43-69); a
is the area that drains through a cell per metre of contour, taken as number of
cells times the cell's side, b the slope. Each cell drains to its steepest of
eight neighbours.
"""

from __future__ import annotations

import numpy as np

from ..kernels.terrain_flow import steepest_neighbour
from ..kernels.terrain_sums import STEPS_PER_METRE


def directions(z: np.ndarray, depressions: str) -> np.ndarray:
    """Flow direction of each cell, codes of ``kernels.terrain_flow``.

    ``keep``: water that reaches the lowest cell of a pothole stays there.
    ``fill``: potholes are filled to the brim first (Wang & Liu 2006, by pyflwdir)
    and water crosses them to the outlet.
    """
    if depressions == "keep":
        return steepest_neighbour(z)
    filled, across = fill(z)
    steep = steepest_neighbour(filled)
    # downhill where there is a fall; over the flat of a filled pothole by the order in which it was flooded
    return np.where(steep == 0, across, steep).astype(np.uint8)


def fill(z: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Elevation with every depression filled to its lowest outlet at the edge of the data, and directions over it."""
    import pyflwdir

    # pyflwdir queues in single precision: whole steps above the lowest cell stay exact there up to 4 km of relief
    lowest = np.floor(np.nanmin(z))
    steps = np.rint((z - lowest) * STEPS_PER_METRE).astype(np.float32)
    filled, across = pyflwdir.fill_depressions(steps, outlets="edge", nodata=np.nan)
    return filled.astype(np.float64) / STEPS_PER_METRE + lowest, across


def cells_upstream(direction: np.ndarray) -> np.ndarray:
    """Number of cells that drain through each cell, itself included; NaN where there is no elevation."""
    import pyflwdir

    flow = pyflwdir.from_array(direction, ftype="d8", check_ftype=False)
    counts = flow.upstream_area("cell").astype(np.float64)
    counts[counts < 0] = np.nan
    return counts


def wetness_index(
    z: np.ndarray, slope_degrees: np.ndarray, cell_m: float, depressions: str = "keep", least_tangent: float = 0.001
) -> np.ndarray:
    """ln(a / tan b), a in m, tan b at least ``least_tangent``; NaN where slope is not known.

    Parameters
    ----------
    z : (rows, columns) float64, m, NaN = none.
    slope_degrees : (rows, columns) float64.
    """
    area = cells_upstream(directions(z, depressions)) * cell_m
    return np.log(area / np.maximum(np.tan(np.radians(slope_degrees)), least_tangent))
