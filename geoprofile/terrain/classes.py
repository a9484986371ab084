"""Class rasters for the stage that need more than their surroundings: a spread over the grid, or whole segments.

Relative height is measured in standard deviations of relative elevation over the
whole grid, so elevation is gone through twice: once to count (in whole numbers, so
that the result does not depend on blocks or workers), once to classify.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ..blocks import Layout, Reader, Tile, Workers, compute
from ..grid import Grid
from ..kernels.terrain_sums import half_widths, halo_of, relative_elevation
from ..kernels.terrain_window import EVANS, HORN, derivatives
from ..rasters import CLASS, StreamedRaster
from ..settings.terrain import TerrainSettings
from .relative_height import LEGEND, relative_height_classes, standard_deviation
from .segments import clean_segments
from .smoothing import reach, smooth

RELATIVE_HEIGHT = "relative_height_class"
TITLE = "Class of relative height (Weiss 2001)"
CLEANED = ("landform_element", RELATIVE_HEIGHT)


@dataclass(frozen=True)
class RelativeHeight:
    """Elevation of a tile to classes of relative height; the function of the blocks. ``deviation_m`` is the grid's."""

    settings: TerrainSettings
    cell_m: float
    deviation_m: float

    @property
    def halo(self) -> int:
        widths = half_widths(self.settings.relative_elevation_radius_m / self.cell_m)
        return reach(self.settings.analysis_scale_m, self.cell_m) + max(1, halo_of(widths))

    def __call__(self, tile: Tile, z: np.ndarray) -> tuple[list[np.ndarray], Counter]:
        surface = smooth(z, self.settings.analysis_scale_m, self.cell_m)
        relative, _ = relative_elevation(surface, half_widths(self.settings.relative_elevation_radius_m / self.cell_m))
        weight = HORN if self.settings.slope_method == "horn" else EVANS
        (slope,) = derivatives(surface, self.cell_m, weight, ("slope",))
        code = relative_height_classes(relative, slope, self.deviation_m, self.settings.flat_up_to_degrees)
        found = np.bincount(code[tile.inner].ravel(), minlength=len(LEGEND) + 1)
        return [code], Counter({f"height {k}": int(found[k]) for k in LEGEND})


def write_relative_height(
    reader: Reader, sink: StreamedRaster, grid: Grid, settings: TerrainSettings, counts: Counter, crew: Workers, key: str
) -> str:
    """Fill ``sink`` with classes of relative height; returns the sentence that says how.

    Parameters
    ----------
    counts : sums of ``relative_height.spread_counts`` over the grid.
    """
    step = RelativeHeight(settings, grid.cell_m, standard_deviation(counts))
    found = compute(step, [reader], [sink], Layout(grid, step.halo, crew.block), crew, dtypes=["uint8"], key=f"{key}-{RELATIVE_HEIGHT}")
    known = sum(found.values())
    shares = ", ".join(f"{name} {found[f'height {k}'] / known:.0%}" for k, name in LEGEND.items()) if known else "none"
    return (
        f"classes of relative height (Weiss 2001): elevation minus its mean within {settings.relative_elevation_radius_m:g} m, in "
        f"standard deviations of that over the whole raster ({step.deviation_m:.2f} m); another radius or another extent gives "
        f"other classes. Shares: {shares}"
    )


def clean(sink: StreamedRaster, grid: Grid, settings: TerrainSettings, check: Callable[[], None]) -> str:
    """Clean what ``sink`` holds; returns the sentence that says how, or raises InputError when memory is not there."""
    if sink.kind != CLASS:
        raise ValueError(f"{sink.name} is no class raster")
    known, changed = clean_segments(sink, grid, settings.least_segment_m2 / grid.cell_m**2, check)
    return (
        f"{sink.name}: segments of less than {settings.least_segment_m2:g} m2 joined the neighbour with the longest common border, the "
        f"smallest first; {changed / max(1, known):.1%} of the cells changed class"
    )
