"""The relief under everything: shading of the survey's own elevation."""

from __future__ import annotations

import numpy as np

from .map_rasters import Cells

AZIMUTHS = ((315.0, 0.5), (270.0, 0.2), (0.0, 0.2), (225.0, 0.1))
"""Light from the north-west, softened from three more sides (after the practice of Imhof 1982)."""
ALTITUDE = 45.0
STEEP_DEGREES = 32.0
MOST_EXAGGERATION = 12.0
LEVELS = 200
ROWS = 128
"""Shaded at a time."""
FLAT = 1 + round(0.5**0.5 * (LEVELS - 1))
"""The shade of level ground under a light 45 degrees high."""


def shaded(elevation: Cells) -> tuple[Cells, float]:
    """Shade 1 (dark) .. 200 (light), 0 where there is no elevation, and the exaggeration used.

    Subdued ground is exaggerated until its steeper twentieth looks 32 degrees
    steep, never more than twelvefold; the page states the factor.
    """
    height = elevation.array.astype(np.float64)
    if min(height.shape) < 2:
        return Cells(elevation.grid, np.zeros(height.shape, np.uint8), 0.0), 1.0
    north, east = np.gradient(height, elevation.grid.cell_m)
    north = -north  # rows count southward
    slope = np.hypot(north, east)
    steep = float(np.nanpercentile(slope, 95)) if np.isfinite(slope).any() else 0.0
    factor = float(np.clip(np.tan(np.radians(STEEP_DEGREES)) / steep, 1.0, MOST_EXAGGERATION)) if steep > 0 else 1.0
    factor = round(factor, 1)
    shade = np.empty(height.shape, np.uint8)
    for top in range(0, len(height), ROWS):
        rows = slice(top, top + ROWS)
        light = _light(north[rows], east[rows], slope[rows], factor)
        level = 1 + np.clip(np.round(light * (LEVELS - 1)), 0, LEVELS - 1)
        # Cells beside a gap have no slope: they take the shade of level ground.
        shade[rows] = np.where(np.isfinite(height[rows]), np.where(np.isfinite(light), level, FLAT), 0)
    return Cells(elevation.grid, shade, 0.0), factor


def _light(north: np.ndarray, east: np.ndarray, slope: np.ndarray, factor: float) -> np.ndarray:
    """0 to 1, NaN where there is no slope."""
    low = np.radians(ALTITUDE)
    light = np.zeros(slope.shape)
    for azimuth, weight in AZIMUTHS:
        toward = np.radians(azimuth)
        facing = (np.sin(low) - factor * np.cos(low) * (east * np.sin(toward) + north * np.cos(toward))) / np.sqrt(
            1 + (factor * slope) ** 2
        )
        light += weight * np.clip(facing, 0, 1)
    return light
