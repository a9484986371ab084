"""The report's map: drawn to a stated scale without a browser, with a bar that measures 100 mm on paper."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
import shapely

from .bundle import Bundle
from .figures import drawing, new_figure, svg_bytes
from .frames import has_place
from .ground import survey_bounds
from .palette import INK, PIT, QUIET, ROUTE, SALVAGE, category_colours
from .report_map_names import Box, name_areas, name_pits
from .report_panels import read_reduced

SCALES = tuple(
    int(step * 10**power) for power in range(2, 8) for step in (1, 1.5, 2, 2.5, 3, 4, 5, 6, 7.5, 8)
)  # fmt: skip
BAR_MM = 100.0
MARGIN_MM = 8.0
"""Room left of and below the frame for coordinates."""
FOOT_MM = 24.0
"""Room below the frame for the bar and the legend."""
RELIEF_A_MM = 4
"""Cells of the relief on a millimetre of paper: as many as the picture within the SVG shows."""
MOST_KEYS = 13
"""Zones named in the legend; the table has all."""


@dataclass(frozen=True)
class PaperMap:
    """An SVG of exactly ``width_mm`` by ``height_mm``, at one to ``scale``."""

    svg: bytes
    scale: int
    width_mm: float
    height_mm: float
    intended: int | None
    """The scale that the survey is meant for, where it says so."""
    pits_outside: int
    """Pits with a place that lies outside the frame."""


def scale_for(width_m: float, height_m: float, frame_mm: tuple[float, float], intended: int | None) -> int:
    """The scale's denominator: the intended one where it fits the frame, else the largest round scale that does."""
    needed = max(width_m / frame_mm[0], height_m / frame_mm[1]) * 1000
    if intended is not None and intended >= needed:
        return intended
    return next(scale for scale in SCALES if scale >= needed)


def bar_length(scale: int) -> tuple[float, str]:
    """Ground length of the bar of 100 mm: metres, and as text."""
    metres = BAR_MM / 1000 * scale
    return metres, f"{metres / 1000:g} km" if metres >= 2000 else f"{metres:g} m"


def paper_map(bundle: Bundle, width_mm: float, height_mm: float) -> PaperMap | None:
    """The map on a sheet of that size; None where nothing has a place."""
    bounds = survey_bounds(bundle)
    if bounds is None:
        return None
    frame_mm = (width_mm - MARGIN_MM, height_mm - MARGIN_MM - FOOT_MM)
    west, south, east, north = bounds
    pad = 0.04 * max(east - west, north - south, 50.0)
    intended = bundle.context.survey.map_scale
    scale = scale_for(east - west + 2 * pad, north - south + 2 * pad, frame_mm, intended)
    # a frame no taller than the land needs leaves room for text; the width stays that of the page
    tall = min(frame_mm[1], max((north - south + 2 * pad) / scale * 1000, 60.0))
    height_mm = tall + MARGIN_MM + FOOT_MM
    half = frame_mm[0] * scale / 2000, tall * scale / 2000
    middle = (west + east) / 2, (south + north) / 2
    window = (middle[0] - half[0], middle[1] - half[1], middle[0] + half[0], middle[1] + half[1])
    with drawing():
        figure = new_figure(width_mm, height_mm)
        axes = figure.add_axes(
            (MARGIN_MM / width_mm, (MARGIN_MM + FOOT_MM) / height_mm, frame_mm[0] / width_mm, tall / height_mm)
        )
        axes.set_xlim(window[0], window[2])  # first: where labels fit depends on it
        axes.set_ylim(window[1], window[3])
        _draw_ground(axes, bundle, scale)
        handles, outside = _draw_layers(axes, bundle, window)
        _finish_frame(axes, window, scale)
        _draw_bar(figure, width_mm, height_mm, scale)
        _draw_legend(figure, handles, width_mm, height_mm)
        return PaperMap(svg_bytes(figure), scale, width_mm, height_mm, intended, outside)


def _draw_ground(axes, bundle: Bundle, scale: int) -> None:
    """Hillshade of the survey's own elevation, light from the north-west."""
    if bundle.terrain is None:
        return
    from matplotlib.colors import LightSource

    grid = bundle.terrain.grid
    most = round(max(grid.shape) * grid.cell_m / scale * 1000 * RELIEF_A_MM)
    cells, sides = read_reduced(bundle, bundle.terrain.rasters["elevation"], grid, most)
    cell = (sides[1] - sides[0]) / cells.shape[1]
    relief = np.nanmax(cells) - np.nanmin(cells) if np.isfinite(cells).any() else 0.0
    # low land needs exaggeration to show at all; a fifteenth of the width as relief reads well
    raised = float(np.clip((sides[1] - sides[0]) / 15 / max(relief, 0.1), 1, 15))
    shade = LightSource(315, 45).hillshade(cells, vert_exag=raised, dx=cell, dy=cell)
    axes.imshow(shade, cmap="gray", vmin=-1.3, vmax=1.05, extent=sides, interpolation="bilinear", zorder=0)


def _draw_layers(axes, bundle: Bundle, window) -> tuple[list, int]:
    """Zones, strata, parcels, salvage, route, pits; returns what the legend shows, and how many pits lie outside."""
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    handles: list = []
    zones = bundle.zones
    if zones is not None and len(zones.zones):
        ordered = zones.zones.sort_values("code", kind="stable") if "code" in zones.zones else zones.zones
        colours = category_colours(list(dict.fromkeys(ordered["name"].astype(str))))
        for name, colour in colours.items():
            _fill(axes, ordered[ordered["name"].astype(str) == name].geometry, colour, 0.6)
            if len(handles) < MOST_KEYS:
                handles.append(Patch(facecolor=colour, edgecolor=INK, linewidth=0.4, alpha=0.6, label=_short(name)))
        if len(colours) > MOST_KEYS:
            handles.append(Patch(facecolor="none", label=f"and {len(colours) - MOST_KEYS} more zones"))
    outlines = (
        ("strata", "strata", QUIET, (0, (4, 2)), 0.9), ("parcels", "parcels", INK, "solid", 1.0),
    )  # fmt: skip
    for field, label, colour, style, width in outlines:
        frame = None if zones is None else getattr(zones, field)
        if frame is not None and len(frame):
            _outline(axes, frame.geometry.boundary, colour, style, width)
            handles.append(Line2D([], [], color=colour, linestyle=style, linewidth=width, label=label))
    if bundle.salvage is not None and len(bundle.salvage.lifts):
        _outline(axes, bundle.salvage.lifts.geometry.boundary, SALVAGE, "solid", 1.4)
        handles.append(Line2D([], [], color=SALVAGE, linewidth=1.4, label="areas to be stripped"))
    if zones is not None and zones.route is not None and len(zones.route):
        _outline(axes, zones.route.geometry, ROUTE, "solid", 1.6)
        handles.append(Line2D([], [], color=ROUTE, linewidth=1.6, label="route"))
    pits = bundle.pits.pits[has_place(bundle.pits.pits)]
    west, south, east, north = window
    shown = pits[pits.geometry.x.between(west, east) & pits.geometry.y.between(south, north)]
    taken: list[Box] = []
    if bundle.salvage is not None and len(bundle.salvage.lifts):
        areas = bundle.salvage.lifts.drop_duplicates("polygon_id")
        taken = name_areas(axes, areas["polygon_id"].astype(str).tolist(), areas.geometry, shown.geometry, SALVAGE)
    return handles + _draw_pits(axes, shown, taken), len(pits) - len(shown)


def _draw_pits(axes, placed: pd.DataFrame, taken: list[Box]) -> list:
    """Marks and names of the pits, no name over a box of ``taken``; returns what the legend shows."""
    from matplotlib.lines import Line2D

    described = ~placed["kind"].isin(["inspection"])
    look = {"linestyle": "none", "markeredgecolor": INK, "markeredgewidth": 0.5}
    handles = []
    for chosen, label, marker, size in ((placed[described], "pits", "o", 4.2), (placed[~described], "inspections", "s", 3.0)):
        if len(chosen):
            axes.plot(chosen.geometry.x, chosen.geometry.y, marker, color=PIT, markersize=size, zorder=5, **look)
            handles.append(Line2D([], [], marker=marker, color=PIT, markersize=size, label=label, **look))
    if len(placed) <= 150:
        name_pits(axes, placed["pit_id"].astype(str).tolist(), placed.geometry, taken)
    return handles


def _fill(axes, shapes, colour: str, alpha: float) -> None:
    from matplotlib.collections import PathCollection
    from matplotlib.path import Path

    paths = []
    for shape in shapely.orient_polygons(np.asarray(shapes, object)):  # what a path fills follows the direction of its rings
        rings = [ring for part in shapely.get_parts(shape) for ring in (part.exterior, *part.interiors)]
        corners = [shapely.get_coordinates(ring) for ring in rings]
        codes = [np.r_[Path.MOVETO, np.full(len(ring) - 2, Path.LINETO), Path.CLOSEPOLY] for ring in corners]
        if corners:
            paths.append(Path(np.concatenate(corners), np.concatenate(codes)))
    axes.add_collection(PathCollection(paths, facecolor=colour, edgecolor=INK, linewidth=0.4, alpha=alpha, zorder=1), autolim=False)


def _outline(axes, shapes, colour: str, style, width: float) -> None:
    from matplotlib.collections import LineCollection

    lines = [shapely.get_coordinates(part) for shape in shapes for part in shapely.get_parts(shape)]
    axes.add_collection(LineCollection(lines, colors=colour, linestyles=[style], linewidths=width, zorder=3), autolim=False)


def _finish_frame(axes, window, scale: int) -> None:
    west, south, east, north = window
    axes.set_xlim(west, east)
    axes.set_ylim(south, north)
    step = next(size for size in SCALES if size >= 0.04 * scale)  # lines about every 40 mm or more
    axes.set_xticks(np.arange(np.ceil(west / step), np.floor(east / step) + 1) * step)
    axes.set_yticks(np.arange(np.ceil(south / step), np.floor(north / step) + 1) * step)
    axes.ticklabel_format(useOffset=False, style="plain")
    axes.tick_params(labelsize=5.5, direction="in", length=3)
    for label in axes.get_yticklabels():
        label.set_rotation(90)
        label.set_verticalalignment("center")
    axes.annotate("N", (0.975, 0.985), (0.975, 0.925), xycoords="axes fraction", textcoords="axes fraction", ha="center", va="center",
                  fontsize=8, weight="bold", zorder=9,
                  arrowprops={"arrowstyle": "-|>", "color": INK, "linewidth": 1.0},
                  bbox={"boxstyle": "round,pad=0.15", "facecolor": "white", "edgecolor": "none", "alpha": 0.7})  # fmt: skip


def _draw_bar(figure, width_mm: float, height_mm: float, scale: int) -> None:
    """A bar of exactly 100 mm in five parts, its ground lengths beside it."""
    from matplotlib.patches import Rectangle

    metres, _ = bar_length(scale)
    kilometres = metres >= 2000
    left, base = MARGIN_MM, 17.0
    for part in range(5):
        figure.add_artist(
            Rectangle(
                ((left + part * BAR_MM / 5) / width_mm, base / height_mm), BAR_MM / 5 / width_mm, 1.8 / height_mm,
                transform=figure.transFigure, facecolor=INK if part % 2 == 0 else "white", edgecolor=INK, linewidth=0.5,
                gid=f"scale-bar-{part}",
            )
        )  # fmt: skip
    for part in range(6):
        value = metres * part / 5
        text = f"{value / 1000 if kilometres else value:g}" + ((" km" if kilometres else " m") if part == 5 else "")
        figure.text((left + part * BAR_MM / 5) / width_mm, (base + 2.4) / height_mm, text, ha="center", va="bottom", fontsize=6)
    figure.text((width_mm - 2) / width_mm, (base + 1.2) / height_mm, f"1:{scale:,}".replace(",", "\u202f"), fontsize=11, weight="bold",
                ha="right", va="center")  # fmt: skip


def _draw_legend(figure, handles: list, width_mm: float, height_mm: float) -> None:
    figure.legend(handles=handles, loc="upper left", bbox_to_anchor=((MARGIN_MM - 3) / width_mm, 15.5 / height_mm), ncols=5,
                  fontsize=6, frameon=False, handlelength=1.6, columnspacing=1.4, labelspacing=0.35)  # fmt: skip


def _short(text: str, most: int = 26) -> str:
    return text if len(text) <= most else text[: most - 1] + "…"
