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
from scipy.ndimage import correlate1d

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
    valid = ~np.isnan(z)
    level = float(z[valid].mean()) if valid.any() else 0.0
    filled = np.where(valid, z - level, 0.0)
    known = valid.astype(float)

    def total(array: np.ndarray, down: int, right: int) -> np.ndarray:
        rows = correlate1d(array, weight * away**down, axis=0, mode="constant")
        return correlate1d(rows, weight * away**right, axis=1, mode="constant")

    w, wz = total(known, 0, 0), total(filled, 0, 0)
    wy, wx = total(known, 1, 0), total(known, 0, 1)
    wyy, wxy, wxx = total(known, 2, 0), total(known, 1, 1), total(known, 0, 2)
    wzy, wzx = total(filled, 1, 0), total(filled, 0, 1)
    with np.errstate(invalid="ignore", divide="ignore"):
        mean, my, mx = wz / w, wy / w, wx / w
        syy, sxx, sxy = wyy / w - my * my, wxx / w - mx * mx, wxy / w - my * mx
        szy, szx = wzy / w - mean * my, wzx / w - mean * mx
        determinant = syy * sxx - sxy * sxy
        # neighbours in one line do not carry a plane; the mean is all they give
        carries = determinant > 1e-6 * deviation**4
        ky = (szy * sxx - szx * sxy) / determinant
        kx = (szx * syy - szy * sxy) / determinant
        fitted = np.where(carries, mean - ky * my - kx * mx, mean)
    return np.where(valid, fitted + level, np.nan)
