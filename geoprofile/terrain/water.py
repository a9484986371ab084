"""Where water goes: depressions filled or kept, catchments, wetness index.

Elevations are taken in whole steps of 2^-12 m (0.24 mm). Everything here needs the
whole grid at once; :func:`memory_needed` says what that takes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..kernels.terrain_flow import (
    FREEMAN_EXPONENT,
    INFINITE,
    MULTIPLE_FREEMAN,
    MULTIPLE_QUINN,
    NO_ELEVATION,
    STEEPEST,
    catchment,
    steepest_neighbour,
)
from ..kernels.terrain_sums import STEPS_PER_METRE

WAYS = {
    "steepest": (STEEPEST, "all to the steepest of eight neighbours (O'Callaghan & Mark 1984)"),
    "infinite": (INFINITE, "along the steepest facet, shared between two neighbours (Tarboton 1997)"),
    "multiple_freeman": (MULTIPLE_FREEMAN, f"shared among all lower neighbours by tangent^{FREEMAN_EXPONENT:g} (Freeman 1991)"),
    "multiple_quinn": (MULTIPLE_QUINN, "shared among all lower neighbours by tangent times contour length (Quinn and others 1991)"),
}
"""Names of the ways to share water, as settings give them, and how a note says them."""

BYTES_PER_CELL = 90
"""Most that water takes at once beside the elevation itself, measured with everything asked for on ground of which a
third is potholes: 83 on 2,000 by 2,000 cells, 79 on 3,000 by 3,000 (ground alone 40, one way of sharing 32)."""


@dataclass(frozen=True)
class Ground:
    """Ground that water can be sent over.

    ``metres``: elevation in whole steps, potholes filled where they are to be; NaN = none.
    ``across``: direction (codes of ``kernels.terrain_flow``) over flats; 0 = water ends there.
    ``depth``: m of filling up to the brim that each cell of a pothole *would* take; 0 outside.
    ``kept``: cells of potholes in which water stays.
    """

    metres: np.ndarray
    across: np.ndarray
    depth: np.ndarray
    kept: np.ndarray


def memory_needed(cells: int) -> int:
    """Bytes that water on a grid of this many cells takes beside what is in memory already."""
    return BYTES_PER_CELL * cells


def ground(z: np.ndarray, depressions: str = "keep", least_depth_m: float = 0.0) -> Ground:
    """Prepare elevations for water.

    ``fill``: potholes are filled to the brim and water crosses them to the outlet
    (priority flood: Wang & Liu 2006, International Journal of Geographical
    Information Science 20:193-213, by pyflwdir). ``keep``: water that reaches the
    lowest cell of a pothole stays there. Potholes less deep than ``least_depth_m``
    are taken for noise and filled either way. Flats that are no pothole are crossed
    in the order in which they would be flooded.

    Parameters
    ----------
    z : (rows, columns), m, NaN = none; the whole grid.
    """
    metres = in_steps(z)
    filled, across = fill(metres)
    depth = np.where(np.isnan(metres), 0.0, filled - metres).astype(np.float32)
    across[~_inner(metres)] = 0  # at the edge of the data water leaves
    if depressions == "fill":
        return Ground(filled, across, depth, np.zeros(z.shape, bool))
    kept = depth > 0
    if least_depth_m > 0 and kept.any():
        kept = deep_enough(depth, least_depth_m)
        metres = np.where(kept, metres, filled)
    across[kept] = 0
    return Ground(metres, across, depth, kept)


def in_steps(z: np.ndarray) -> np.ndarray:
    """Elevation rounded to whole steps of 2^-12 m, float64 m."""
    return np.rint(z * float(STEPS_PER_METRE)) / STEPS_PER_METRE


def pothole_numbers(depth: np.ndarray) -> tuple[np.ndarray, int]:
    """Number of the pothole that each cell belongs to (0 = none), and how many there are.

    Cells that touch, corners included, belong together: they are filled to one level.
    """
    from scipy.ndimage import label

    return label(depth > 0, structure=np.ones((3, 3), int))


def deep_enough(depth: np.ndarray, least_depth_m: float) -> np.ndarray:
    """Cells of the potholes whose deepest cell is at least ``least_depth_m`` deep."""
    number, _ = pothole_numbers(depth)
    deepest = np.zeros(number.max() + 1)
    np.maximum.at(deepest, number.ravel(), depth.ravel())
    return (number > 0) & (deepest >= least_depth_m)[number]


def fill(z: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Elevation with every depression filled to its lowest outlet at the edge of the data, and directions over it."""
    import pyflwdir

    if np.isnan(z).all():
        return z.copy(), np.full(z.shape, NO_ELEVATION, np.uint8)
    # pyflwdir queues in single precision: whole steps above the lowest cell stay exact there up to 4 km of relief,
    # steps twice as long up to 8 km
    lowest = np.floor(np.nanmin(z))
    steps_per_metre = float(STEPS_PER_METRE)
    while (np.nanmax(z) - lowest) * steps_per_metre >= 2**24:
        steps_per_metre /= 2
    steps = np.rint((z - lowest) * steps_per_metre).astype(np.float32)
    filled, across = pyflwdir.fill_depressions(steps, outlets="edge", nodata=np.nan)
    return filled.astype(np.float64) / steps_per_metre + lowest, across


def steepest_directions(over: Ground) -> np.ndarray:
    """Direction of each cell: downhill where there is a fall, across flats by the order of flooding, else 0."""
    steep = steepest_neighbour(over.metres)
    return np.where(steep == 0, over.across, steep).astype(np.uint8)


def cells_upstream(over: Ground, way: str = "steepest") -> np.ndarray:
    """Number of cells that drain through each cell, itself included; NaN where there is no elevation.

    Parameters
    ----------
    way : one of :data:`WAYS`; but for ``steepest`` cells count in parts.
    """
    cells, circling = catchment(over.metres, over.across, WAYS[way][0], FREEMAN_EXPONENT)
    if circling:  # cannot happen: every share leads down, or over a flat to a cell that was flooded earlier
        raise RuntimeError(f"water goes in circles through {circling} cells")
    return cells


def wetness(cells: np.ndarray, slope_degrees: np.ndarray, cell_m: float, least_tangent: float = 0.001) -> np.ndarray:
    """ln(a / tan b) of Beven & Kirkby 1979 (Hydrological Sciences Bulletin 24:43-69); NaN where slope is not known.

    Parameters
    ----------
    cells : number of cells upstream; a = this times the cell's side, m (area per metre of contour).
    slope_degrees : slope; tan b is at least ``least_tangent``.
    """
    return np.log(cells * cell_m / np.maximum(np.tan(np.radians(slope_degrees)), least_tangent))


def ends(over: Ground) -> np.ndarray:
    """Cells in which water stays: no lower neighbour, no way across, and not at the edge of the data."""
    return _inner(over.metres) & (steepest_directions(over) == 0)


def _inner(z: np.ndarray) -> np.ndarray:
    """Cells with elevation all around."""
    from scipy.ndimage import binary_erosion

    return binary_erosion(~np.isnan(z), structure=np.ones((3, 3), bool))


def share_that_stays(over: Ground, cells: np.ndarray) -> float:
    """Share of the ground whose water stays in potholes and never reaches the edge of the data (0 to 1)."""
    known = np.count_nonzero(~np.isnan(over.metres))
    return float(cells[ends(over)].sum() / known) if known else 0.0
