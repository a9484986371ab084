"""Rasters of water for the stage: what needs the whole grid at once, stated and refused before it starts (T15)."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial

import numpy as np
import pandas as pd

from ..blocks import Layout, Threads, Tile, compute
from ..grid import Grid, Window
from ..kernels.terrain_window import derivatives
from ..memory import require_memory
from ..rasters import RasterToWrite
from ..settings.terrain import TerrainSettings
from .channels import above_channels
from .derive import WEIGHTS
from .sinks import list_sinks
from .water import WAYS, Ground, cells_upstream, ground, memory_needed, share_that_stays, wetness

WISHES = ("wetness_index", "catchment_area", "height_above_channel", "distance_to_channel")
SURFACE_BYTES = 8
"""A cell of the smoothed surface, which is kept whole while water is computed."""


@dataclass(frozen=True)
class Whole:
    """A grid in memory that blocks are written to and read from."""

    cells: np.ndarray

    def write(self, window: Window, cells: np.ndarray) -> None:
        self.cells[window.slices] = cells

    def read(self, window: Window) -> np.ndarray:
        return self.cells[window.slices]


def outputs(settings: TerrainSettings) -> list[RasterToWrite]:
    """Rasters of water that are asked for."""
    titles = {
        "wetness_index": ("Wetness index ln(a / tan b)", "1"),
        "catchment_area": ("Catchment area", "m2"),
        "height_above_channel": ("Height above the channel that water goes to", "m"),
        "distance_to_channel": ("Way of water to its channel", "m"),
    }
    return [RasterToWrite(name, *titles[name]) for name in WISHES if name in settings.derive]


def memory_note(grid: Grid) -> str:
    """What water takes; raises InputError before anything is computed when it is not there."""
    cells = grid.height * grid.width
    return require_memory(
        memory_needed(cells) + SURFACE_BYTES * cells, cells, "water (wetness index, catchments, channels)",
        "leave these out of derive, make grid.cell_m larger, or cut the raster to the survey area and its catchment",
    )  # fmt: skip


def water_rasters(
    surface: Whole, grid: Grid, settings: TerrainSettings, threads: int, notes: list[str]
) -> tuple[Iterator[tuple[str, Callable]], pd.DataFrame]:
    """Each raster as (name, function that fills a sink), one after the other, and the list of potholes."""
    over = ground(surface.cells, settings.depressions, settings.least_pothole_depth_m)
    cells = cells_upstream(over, settings.water_way)
    notes.append(_note(over, cells, settings))
    sinks = list_sinks(over, cells, grid)
    return _each(surface, over, cells, grid, settings, threads, notes), sinks


def _each(surface, over, cells, grid, settings, threads, notes):
    if "wetness_index" in settings.derive:
        notes.append(
            "wetness index = ln(a / tan b) (Beven & Kirkby 1979), a = number of cells upstream times the cell's side in m, "
            f"tan b at least {settings.least_tangent:g}"
        )
        step = partial(_wetness, settings=settings, cell_m=grid.cell_m)
        yield "wetness_index", lambda sink: compute(
            step, [surface, Whole(cells)], [sink], Layout(grid, 1), Threads(threads), dtypes=["float32"]
        )
    if "catchment_area" in settings.derive:
        yield "catchment_area", lambda sink: sink.write(grid.whole, cells * grid.cell_m**2)
    if {"height_above_channel", "distance_to_channel"} & set(settings.derive):
        height, distance, channel = above_channels(over, grid.cell_m, settings.channel_area_m2)
        notes.append(
            f"channels are where the steepest way gathers {settings.channel_area_m2:g} m2 or more ({np.count_nonzero(channel):,} cells); "
            "height and distance are counted along the water's way, and have no value where water reaches no channel"
        )
        for name, made in (("height_above_channel", height), ("distance_to_channel", distance)):
            if name in settings.derive:
                yield name, lambda sink, made=made: sink.write(grid.whole, made)


def _wetness(tile: Tile, z: np.ndarray, cells: np.ndarray, settings: TerrainSettings, cell_m: float):
    (slope,) = derivatives(z, cell_m, WEIGHTS[settings.slope_method], ("slope",))
    return [wetness(cells, slope, cell_m, settings.least_tangent)], {}


def _note(over: Ground, cells: np.ndarray, settings: TerrainSettings) -> str:
    way = WAYS[settings.water_way][1]
    least = settings.least_pothole_depth_m
    small = f"; those less than {least:g} m deep filled as noise" if least and settings.depressions == "keep" else ""
    potholes = (
        f"potholes kept: water stays in them{small}, {share_that_stays(over, cells):.0%} of the ground drains only into them"
        if settings.depressions == "keep"
        else "potholes filled: water crosses them"
    )
    return f"water goes {way}; {potholes}; ground beyond the raster is not counted"
