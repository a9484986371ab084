"""The chosen places as a table with points, as outputs/next_pits.py writes them."""

from __future__ import annotations

import geopandas as gpd
import numpy as np

from .. import environment as _environment  # noqa: F401
from .chosen import Chosen


def places_frame(chosen: Chosen, crs: str) -> gpd.GeoDataFrame:
    """One row a place: name (N-01 ...), x_m, y_m, gain, gain_percent (of the measure before it), measure, unit."""
    count = len(chosen.points)
    before = chosen.before - np.concatenate([[0.0], np.cumsum(chosen.gain)[:-1]])
    with np.errstate(invalid="ignore", divide="ignore"):
        percent = np.where(before > 0, 100 * chosen.gain / before, np.nan)
    return gpd.GeoDataFrame(
        {
            "name": [f"N-{number:02d}" for number in range(1, count + 1)],
            "x_m": chosen.points[:, 0].round(1),
            "y_m": chosen.points[:, 1].round(1),
            "gain": significant(chosen.gain),
            "gain_percent": percent.round(1),
            "measure": [chosen.measure] * count,
            "unit": [chosen.unit] * count,
        },
        geometry=gpd.points_from_xy(*chosen.points.T),
        crs=crs,
    )


def significant(values: np.ndarray, digits: int = 4) -> np.ndarray:
    """Rounded to so many significant digits, NaN and 0 as they are."""
    return np.array([float(f"{value:.{digits}g}") for value in np.atleast_1d(values)])
