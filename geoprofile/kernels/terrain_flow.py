"""Where water goes from each cell: the steepest of eight neighbours.

Directions are powers of two from east, clockwise: 1 E, 2 SE, 4 S, 8 SW, 16 W,
32 NW, 64 N, 128 NE; 0 = no lower neighbour; 247 = no elevation.
"""

from __future__ import annotations

import numpy as np
from numba import njit

NO_ELEVATION = 247


@njit(cache=True)
def steepest_neighbour(z):
    """Direction of the steepest fall; of equal falls the first from east, clockwise.

    O'Callaghan & Mark 1984 (Computer Vision, Graphics, and Image Processing 28:323-344).

    Parameters
    ----------
    z : (rows, columns) float64, square cells, NaN = none.

    Returns
    -------
    (rows, columns) uint8, codes as in the module.
    """
    rows, columns = z.shape
    down = np.array([0, 1, 1, 1, 0, -1, -1, -1])
    right = np.array([1, 1, 0, -1, -1, -1, 0, 1])
    shorter = 1.0 / np.sqrt(2.0)
    code = np.full(z.shape, NO_ELEVATION, np.uint8)
    for row in range(rows):
        for column in range(columns):
            here = z[row, column]
            if np.isnan(here):
                continue
            code[row, column] = 0
            best = 0.0
            for k in range(8):
                y, x = row + down[k], column + right[k]
                if y < 0 or y >= rows or x < 0 or x >= columns:
                    continue
                fall = here - z[y, x]
                if k % 2 == 1:
                    fall *= shorter
                if fall > best:
                    best = fall
                    code[row, column] = 1 << k
    return code
