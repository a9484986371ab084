"""What is made of each tile: elevation in, every raster that needs only its surroundings out.

Everything of one analysis scale comes from one smoothed surface, read once. The
function of a tile is picklable, so that it runs in a thread or on another machine.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ..blocks import Tile
from ..grid import Grid
from ..kernels.terrain_radiation import radiation
from ..kernels.terrain_relief import height_within_relief
from ..kernels.terrain_shade import hillshade
from ..kernels.terrain_sums import cells_in, half_widths, halo_of, relative_elevation
from ..kernels.terrain_window import EVANS, HORN, derivatives
from ..rasters import CLASS, RasterToWrite
from ..settings.terrain import TerrainSettings
from .landform import LEGEND, landform_elements
from .relative_height import spread_counts
from .smoothing import reach, smooth

WEIGHTS = {"evans": EVANS, "horn": HORN}
SOURCES = {"evans": "Evans 1980", "horn": "Horn 1981"}
LAYERS_OF = {
    "slope": ("slope",),
    "aspect": ("aspect_sine", "aspect_cosine"),
    "profile_curvature": ("profile_curvature",),
    "plan_curvature": ("plan_curvature",),
    "tangential_curvature": ("tangential_curvature",),
    "mean_curvature": ("mean_curvature",),
}
"""Layers of the window of three by three cells that each wish of ``terrain.derive`` takes."""


@dataclass(frozen=True)
class Area:
    """The survey area, for counting its cells with elevation; ``wkb`` is its polygons in the grid's system."""

    wkb: bytes
    grid: Grid

    def inside(self, tile: Tile) -> np.ndarray:
        """(rows, columns) bool of the core: cells whose centre lies in the area."""
        import shapely
        from rasterio import Affine
        from rasterio.features import geometry_mask

        shape = tile.core.height, tile.core.width
        return geometry_mask([shapely.from_wkb(self.wkb)], shape, Affine(*self.grid.window_transform(tile.core)), invert=True)


@dataclass(frozen=True)
class Derivation:
    """Elevation of a tile to its rasters, in the order of :meth:`outputs`; the function of the blocks.

    ``smoothed``: also give the smoothed surface (float64), last: water needs it.
    """

    settings: TerrainSettings
    cell_m: float
    latitude: float | None = None
    area: Area | None = None
    smoothed: bool = False

    @property
    def scales(self) -> tuple[float, ...]:
        """The analysis scale of everything, then the further ones for slope, aspect and curvatures."""
        return (self.settings.analysis_scale_m or 0.0, *self.settings.further_scales_m)

    @property
    def halo(self) -> int:
        """Cells needed around each cell."""
        own = [1]
        if {"relative_elevation", "relative_height_class"} & set(self.settings.derive):
            own.append(halo_of(half_widths(self.settings.relative_elevation_radius_m / self.cell_m)))
        if "height_within_relief" in self.settings.derive:
            own.append(halo_of(half_widths(self.settings.relief_radius_m / self.cell_m)))
        first, *further = (reach(scale, self.cell_m) for scale in self.scales)
        return max(first + max(own), *(cells + 1 for cells in further), 0)

    def outputs(self) -> list[RasterToWrite]:
        settings, asked = self.settings, set(self.settings.derive)
        method = SOURCES[settings.slope_method]
        made = [RasterToWrite("elevation", "Elevation", "m")]
        for number, scale in enumerate(self.scales):
            end, told = ("", "") if number == 0 else (f"_at_{scale:g}m", f", analysis scale {scale:g} m")
            if "slope" in asked:
                made.append(RasterToWrite(f"slope{end}", f"Slope ({method}){told}", "degrees"))
            if "aspect" in asked:
                made.append(RasterToWrite(f"aspect_sine{end}", f"Aspect, sine (1 faces east){told}", "1"))
                made.append(RasterToWrite(f"aspect_cosine{end}", f"Aspect, cosine (1 faces north){told}", "1"))
            for name, title in (
                ("profile_curvature", "Profile curvature (convex positive)"),
                ("plan_curvature", "Plan curvature (noses positive)"),
                ("tangential_curvature", "Tangential curvature (noses positive)"),
                ("mean_curvature", "Mean curvature (convex positive)"),
            ):
                if name in asked:
                    made.append(RasterToWrite(f"{name}{end}", f"{title}{told}", "1/m"))
        if "landform_element" in asked:
            made.append(RasterToWrite("landform_element", "Landform element (Pennock, Zebarth & de Jong 1987)", "", CLASS, LEGEND))
        if "relative_elevation" in asked:
            radius = settings.relative_elevation_radius_m
            made.append(RasterToWrite("relative_elevation", f"Relative elevation within {radius:g} m", "m"))
        if "height_within_relief" in asked:
            made.append(RasterToWrite("height_within_relief", f"Height within the relief of {settings.relief_radius_m:g} m", "percent"))
        if "radiation" in asked:
            day = settings.radiation_day_of_year
            told, unit = (", level ground = 1", "1") if settings.radiation_relative else ("", "MJ/m2")
            made.append(RasterToWrite("radiation", f"Potential incoming radiation on day {day} of the year{told}", unit))
        if "hillshade" in asked:
            made.append(RasterToWrite("hillshade", "Hillshade, light from the north-west 45 degrees high (1 dark, 255 light)", "1"))
        return made

    def __call__(self, tile: Tile, z: np.ndarray) -> tuple[list[np.ndarray], Counter]:
        counts: Counter = Counter()
        return list(self._made(tile, z, counts)), counts

    def _made(self, tile: Tile, z: np.ndarray, counts: Counter) -> Iterator[np.ndarray]:
        asked, cell, inner = set(self.settings.derive), self.cell_m, tile.inner
        core = z[inner]
        known = ~np.isnan(core)
        counts["known"] += int(np.count_nonzero(known))
        counts["whole_metres"] += int(np.count_nonzero(core == np.rint(core)))
        if self.area is not None:
            counts["covered"] += int(np.count_nonzero(known & self.area.inside(tile)))
        yield z

        layers = [layer for wish, layers in LAYERS_OF.items() if wish in asked for layer in layers]
        landform = "landform_element" in asked
        first = smooth(z, self.scales[0], cell)
        element = None
        for number, scale in enumerate(self.scales):
            surface = first if number == 0 else smooth(z, scale, cell)
            wanted = list(layers)
            if landform and number == 0:
                wanted += [name for name in ("slope", "profile_curvature", "plan_curvature") if name not in layers]
            if wanted:
                # classes are told from full precision; numbers are written in single precision anyway
                precision = np.float64 if landform and number == 0 else np.float32
                made = dict(zip(wanted, derivatives(surface, cell, WEIGHTS[self.settings.slope_method], wanted, precision)))
                yield from (made[name] for name in layers)
                if landform and number == 0:
                    element = self._element(made, inner, counts)
        if element is not None:
            yield element
        if asked & {"relative_elevation", "relative_height_class"}:
            widths = half_widths(self.settings.relative_elevation_radius_m / cell)
            relative, near = relative_elevation(first, widths)
            counts["cut"] += int(np.count_nonzero(near[inner][known] < cells_in(widths)))
            if "relative_height_class" in asked:
                counts.update(spread_counts(relative[inner]))
            if "relative_elevation" in asked:
                yield relative
        if "height_within_relief" in asked:
            yield height_within_relief(first, half_widths(self.settings.relief_radius_m / cell))
        if "radiation" in asked:
            yield radiation(
                first, cell, self.settings.radiation_day_of_year, self.latitude, relative=self.settings.radiation_relative
            )
        if "hillshade" in asked:
            yield hillshade(z, cell)
        if self.smoothed:
            yield first

    def _element(self, made: dict[str, np.ndarray], inner, counts: Counter) -> np.ndarray:
        element = landform_elements(
            made["slope"], made["profile_curvature"], made["plan_curvature"],
            level_below_degrees=self.settings.level_below_degrees,
            profile_limit_degrees_per_m=self.settings.profile_limit_degrees_per_m,
        )  # fmt: skip
        for code, number in enumerate(np.bincount(element[inner].ravel(), minlength=len(LEGEND) + 1)):
            counts[f"element {code}"] += int(number)
        return element
