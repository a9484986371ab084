"""Smoothing to the analysis scale, before any derivative.

Gaussian weights with a standard deviation of half the scale, cut at three of
them. The value of a cell is that of the plane fitted with these weights to the
cells around it that have elevation (local linear regression, Cleveland 1979,
Journal of the American Statistical Association 74:829-836). In the open this is
the weighted mean; at edges and gaps it does not flatten slopes as a mean does: a
plane stays a plane. Cells without elevation stay without. Halo: :func:`reach` cells.
"""

from __future__ import annotations

import numpy as np

from ..kernels.terrain_smoothing import local_plane

CUT = 3.0
LEAST_CELLS = 0.3
"""A standard deviation below this many cells weighs neighbours less than 0.5 %: nothing to smooth."""


def reach(scale_m: float | None, cell_m: float) -> int:
    """Cells that smoothing needs around each cell; 0 where there is nothing to smooth."""
    deviation = (scale_m or 0.0) / 2.0 / cell_m
    return 0 if deviation < LEAST_CELLS else max(1, int(np.ceil(CUT * deviation)))


def smooth(z: np.ndarray, scale_m: float | None, cell_m: float) -> np.ndarray:
    """Elevation smoothed to ``scale_m``.

    Parameters
    ----------
    z : (rows, columns) float64, m, NaN = none.
    scale_m : two standard deviations of the weights, m; None or 0 = no smoothing.
    """
    cells = reach(scale_m, cell_m)
    if cells == 0:
        return z
    deviation = scale_m / 2.0 / cell_m
    away = np.arange(-cells, cells + 1, dtype=float)
    weight = np.exp(-0.5 * (away / deviation) ** 2)
    weight /= weight.sum()
    return local_plane(z, weight, deviation)
