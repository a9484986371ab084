"""Small maps of the surfaces, side by side, and how a raster is read for print."""

from __future__ import annotations

import numpy as np

from ..areal import certainty
from ..grid import Grid
from ..products import Surface
from ..rasters import RasterFile
from .bundle import Bundle
from .class_order import in_order
from .columns import NO_SKILL
from .figures import drawing, new_figure, svg_bytes
from .map_colours import named_class_colours
from .palette import INK, PIT, RAMP

MOST_CELLS = 1200
"""A raster is read no finer than this many cells a side: more would not show in print."""
CELLS_A_MM = 10
"""Nor finer than this on paper, about 250 dots an inch."""


def surface_panels(bundle: Bundle, width_mm: float, most: int = 9) -> tuple[bytes, int] | None:
    """Small maps of the surfaces' estimates, those with skill first, each with its own colour scale.

    SVG and how many more there are; None where there are none.
    """
    surfaces = bundle.surfaces
    if surfaces is None or not surfaces.surfaces:
        return None
    chosen = sorted(surfaces.surfaces, key=lambda surface: NO_SKILL in surface.score)[:most]
    titles = [f"{s.title} ({s.unit})" + (", no skill" if NO_SKILL in s.score else "") for s in chosen]
    return _panels(bundle, [(s, s.estimate, title) for s, title in zip(chosen, titles)], width_mm), len(surfaces.surfaces) - len(chosen)


def presence_panels(bundle: Bundle, width_mm: float, most: int = 2) -> bytes | None:
    """Small maps of the probability of presence where nothing else could be drawn; None where there are none."""
    surfaces = bundle.surfaces
    chosen = [] if surfaces is None else [s for s in surfaces.presences if s.presence in surfaces.rasters][:most]
    if not chosen:
        return None
    return _panels(bundle, [(s, s.presence, f"{s.title}: is it there? (%)") for s in chosen], width_mm, probability=True)


def class_panels(bundle: Bundle, width_mm: float, most: int = 4) -> tuple[bytes, int] | None:
    """Small maps of the most probable class with a legend of the classes that there are on it.

    SVG and how many more there are; None where there are none.
    """
    from matplotlib.colors import BoundaryNorm, ListedColormap
    from matplotlib.patches import Patch

    surfaces = bundle.surfaces
    chosen = [] if surfaces is None else list(surfaces.classes[:most])
    if not chosen:
        return None
    west, south, east, north = surfaces.grid.bounds
    panel, rows = min((width_mm * 0.52) * (north - south) / (east - west), 62.0), len(chosen)
    with drawing():
        figure = new_figure(width_mm, rows * (panel + 8))
        for number, one in enumerate(chosen):
            raster = surfaces.rasters[one.most_probable]
            cells, sides = read_classes(bundle, raster, surfaces.grid)
            codes = sorted(raster.legend)
            cover = class_counts(bundle, raster)
            colours = named_class_colours([raster.legend[code] for code in codes], [cover[code] for code in codes])
            axes = figure.add_axes((0.005, 1 - ((number + 1) * (panel + 8) - 2) / (rows * (panel + 8)), 0.56, panel / (rows * (panel + 8))))
            axes.set_facecolor("#eceae6")
            limits = [code - 0.5 for code in codes] + [codes[-1] + 0.5]
            axes.imshow(np.ma.masked_equal(cells, 0), cmap=ListedColormap(colours), norm=BoundaryNorm(limits, len(codes)), extent=sides,
                        interpolation="nearest")  # fmt: skip
            axes.set_xticks([])
            axes.set_yticks([])
            axes.set_title(f"{one.title}, most probable class", fontsize=7.5, loc="left", pad=3, parse_math=False)
            ha = surfaces.grid.cell_ha
            order = in_order(raster.legend.values(), one.column, bundle.context.survey.convention)
            told = sorted(zip(codes, colours, strict=True), key=lambda row: order.index(raster.legend[row[0]]))
            labels = [f"{raster.legend[code]}: " + (f"{cover[code] * ha:,.1f} ha".replace(",", "\u202f") if cover[code] else "nowhere") for code, _ in told]
            legend = axes.legend(handles=[Patch(facecolor=colour, edgecolor=INK, linewidth=0.3, label=label) for (_, colour), label in zip(told, labels)],
                                 loc="upper left", bbox_to_anchor=(1.02, 1.02), fontsize=6.5, frameon=False, labelspacing=0.35)  # fmt: skip
            for text in legend.get_texts():
                text.set_parse_math(False)
        return svg_bytes(figure), len(surfaces.classes) - len(chosen)


def _panels(bundle: Bundle, wanted: list[tuple[Surface, str, str]], width_mm: float, *, probability: bool = False) -> bytes:
    """One panel a surface, raster key and title; probabilities share one scale from 0 to 100 %."""
    from matplotlib.colors import LinearSegmentedColormap

    surfaces = bundle.surfaces
    ramp = LinearSegmentedColormap.from_list("depth", [tuple(value / 255 for value in colour) for colour in RAMP])
    columns = 3 if len(wanted) > 4 else 2 if len(wanted) > 1 or probability else 1
    rows = -(-len(wanted) // columns)
    west, south, east, north = surfaces.grid.bounds
    panel = min((width_mm / columns - 14) * (north - south) / (east - west), 40.0 if rows > 1 or probability else 70.0)
    longest = panel * max(1.0, (east - west) / (north - south))
    with drawing():
        figure = new_figure(width_mm, rows * (panel + 8))
        figure.subplots_adjust(left=0.01, right=0.95, top=1 - 5 / (rows * (panel + 8)), bottom=0.01, wspace=0.16, hspace=0.16)
        for number, (surface, key, title) in enumerate(wanted, start=1):
            axes = figure.add_subplot(rows, columns, number)
            cells, sides = read_reduced(bundle, surfaces.rasters[key], surfaces.grid, round(CELLS_A_MM * longest))
            if probability:
                cells = cells * (100 / certainty(surfaces.rasters[key]))
            axes.set_facecolor("#eceae6")
            limits = {"vmin": 0, "vmax": 100} if probability else {}
            image = axes.imshow(cells, cmap=ramp, extent=sides, interpolation="nearest", **limits)
            used = surfaces.points[surfaces.points["attribute"] == surface.attribute]
            axes.plot(used["x"], used["y"], "o", color=PIT, markersize=1.8, markeredgecolor=INK, markeredgewidth=0.3)
            axes.set_xlim(west, east)
            axes.set_ylim(south, north)
            axes.set_xticks([])
            axes.set_yticks([])
            axes.set_title(title, fontsize=7.5, loc="left", pad=3, parse_math=False)
            bar = figure.colorbar(image, ax=axes, fraction=0.035, pad=0.015)
            if not np.isfinite(cells).any():
                bar.ax.set_visible(False)  # it keeps its room, so that the panels stay in line; a scale of nothing would read as data
                axes.text(0.5, 0.5, "not backed by the pits anywhere", transform=axes.transAxes, ha="center", va="center", fontsize=6.5,
                          bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.5})  # fmt: skip
                continue
            bar.outline.set_linewidth(0.4)
            bar.ax.tick_params(labelsize=6, length=2)
            if not probability and surface.unit == "cm" and "thickness" not in surface.attribute:
                bar.ax.invert_yaxis()
        return svg_bytes(figure)


def read_classes(bundle: Bundle, raster: RasterFile, grid: Grid) -> tuple[np.ndarray, tuple[float, float, float, float]]:
    """Codes (0 = none) no finer than MOST_CELLS a side, the nearest cell's; and west, east, south, north for drawing."""
    import rasterio

    with rasterio.open(bundle.context.output / raster.path) as source:
        cells = source.read(1, out_shape=_reduced(grid, MOST_CELLS))
    return cells, _sides(grid)


def class_counts(bundle: Bundle, raster: RasterFile) -> np.ndarray:
    """(256,) cells of each code, of the raster as it is and not of what is drawn of it."""
    import rasterio

    counts = np.zeros(256, np.int64)
    with rasterio.open(bundle.context.output / raster.path) as source:
        for _, window in source.block_windows(1):
            counts += np.bincount(source.read(1, window=window).ravel(), minlength=256)
    return counts


def read_reduced(
    bundle: Bundle, raster: RasterFile, grid: Grid, most: int = MOST_CELLS
) -> tuple[np.ndarray, tuple[float, float, float, float]]:
    """Means (NaN where there is nothing) no finer than ``most`` or MOST_CELLS cells a side; and west, east, south, north for drawing."""
    import rasterio
    from rasterio.enums import Resampling

    with rasterio.open(bundle.context.output / raster.path) as source:
        cells = source.read(1, out_shape=_reduced(grid, min(most, MOST_CELLS)), resampling=Resampling.average, masked=True)
    return cells.astype(float).filled(np.nan), _sides(grid)


def _reduced(grid: Grid, most: int) -> tuple[int, int]:
    step = max(1.0, max(grid.shape) / max(most, 1))
    return max(1, round(grid.height / step)), max(1, round(grid.width / step))


def _sides(grid: Grid) -> tuple[float, float, float, float]:
    west, south, east, north = grid.bounds
    return west, east, south, north
