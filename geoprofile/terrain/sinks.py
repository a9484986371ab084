"""Potholes as a list: how deep, how large, how much water they hold, how much ground they take in.

Potholes are real in young glacial ground, and they also come from noise; the list
is for the eye that tells them apart.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from ..grid import Grid
from .water import Ground, pothole_numbers

COLUMNS = ("sink", "x", "y", "bottom_m", "brim_m", "depth_m", "area_m2", "volume_m3", "catchment_m2", "kept")


def list_sinks(over: Ground, cells: np.ndarray, grid: Grid) -> pd.DataFrame:
    """One row a pothole, the deepest first.

    Parameters
    ----------
    over : from ``water.ground``.
    cells : number of cells upstream of each, by any way, over the same ground.

    Returns
    -------
    ``x``, ``y`` of the lowest cell (of several the most northern, then western);
    ``bottom_m`` its elevation, ``brim_m`` the elevation at which it spills,
    ``depth_m`` between them; area and volume of the water when full; ``catchment_m2``
    ground from which water comes and stays (0 where the pothole was filled).
    """
    number, count = pothole_numbers(over.depth)
    if count == 0:
        return pd.DataFrame({name: pd.Series(dtype=bool if name == "kept" else float) for name in COLUMNS})
    row, column = np.nonzero(number)
    label, depth = number[row, column] - 1, over.depth[row, column].astype(float)
    x, y = grid.centres()
    cell = grid.cell_m**2
    area = np.bincount(label, minlength=count) * cell
    volume = np.bincount(label, depth, minlength=count) * cell
    order = np.lexsort((column, row, -depth, label))
    deepest = order[np.unique(label[order], return_index=True)[1]]
    kept = over.kept[row[deepest], column[deepest]]
    # where kept, the ground is as it was; where filled, it stands at the brim
    brim = over.metres[row[deepest], column[deepest]] + np.where(kept, depth[deepest], 0.0)
    bottom_cells = (over.across[row, column] == 0) & _lowest_around(over.metres)[row, column] & over.kept[row, column]
    catchment = np.bincount(label, np.where(bottom_cells, cells[row, column], 0.0), minlength=count) * cell
    table = pd.DataFrame({
        "x": x[column[deepest]], "y": y[row[deepest]], "bottom_m": brim - depth[deepest], "brim_m": brim,
        "depth_m": depth[deepest], "area_m2": area, "volume_m3": volume, "catchment_m2": catchment, "kept": kept,
    })  # fmt: skip
    table = table.sort_values(["depth_m", "y", "x"], ascending=[False, False, True], kind="stable", ignore_index=True)
    table.insert(0, "sink", np.arange(1, count + 1))
    return table


def _lowest_around(z: np.ndarray) -> np.ndarray:
    """Cells without a lower neighbour."""
    from scipy.ndimage import minimum_filter

    return z <= minimum_filter(np.where(np.isnan(z), np.inf, z), 3, mode="nearest")
