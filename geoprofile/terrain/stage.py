"""From an elevation raster to named terrain rasters on the survey's grid.

    open safely -> one lattice -> aggregate -> smooth -> derive -> write

All of it window by window, in memory that does not grow with the raster; only
water needs the whole grid. Everything that was assumed, converted or limited is a
note of the product.
"""

from __future__ import annotations

import os
from collections import Counter
from contextlib import ExitStack

import numpy as np
import pandas as pd

from ..blocks import Layout, compute, workers
from ..context import Context
from ..errors import InputError
from ..grid import Grid
from ..layers import read_polygons
from ..problems import Problem, problems_frame
from ..products import Terrain
from ..progress import Task
from ..rasters import CLASS, RasterFile, RasterToWrite, StreamedRaster
from ..record import Record
from ..settings.base import require
from ..settings.terrain import TerrainSettings
from . import classes, hydrology
from .derive import Area, Derivation
from .elevation import Elevation, open_elevation
from .notes import derivation_notes
from .relative_height import LEGEND as RELATIVE_HEIGHTS

FOLDER = "terrain"


def compute_terrain(settings: TerrainSettings, context: Context, record: Record) -> Terrain:
    """Terrain rasters under ``context.output/terrain``; ``elevation`` is always among them.

    Slopes are in degrees, curvatures in 1/m with convex positive, lengths in m.
    Derivatives need all eight neighbours: the outermost cells and those beside gaps
    have none.

    Raises
    ------
    InputError when the raster leaves its system, unit, band or no-data value open,
    does not fit the survey's grid, does not reach the survey area, or water needs
    more memory than there is.
    """
    require(settings.elevation, "terrain.elevation", "name an elevation raster, or leave terrain out")
    files = (settings.elevation,) if isinstance(settings.elevation, str) else settings.elevation
    with workers(context.run, context.output) as crew, ExitStack() as open_rasters:
        elevation = open_elevation(
            [context.path(file) for file in files], settings, crs=context.survey.crs, cell_m=context.grid.cell_m, workers=crew,
            progress=context.progress,
        )  # fmt: skip
        grid, notes = elevation.grid, list(elevation.notes)
        area, area_m2 = _survey_area(grid, context, files[0])
        wet = hydrology.outputs(settings)
        if wet:
            notes.append(hydrology.memory_note(grid))
        latitude = _latitude(grid) if "radiation" in settings.derive else None
        derivation = Derivation(settings, grid.cell_m, latitude, area, smoothed=bool(wet))
        made = derivation.outputs()
        sinks = {output.name: open_rasters.enter_context(output.streamed(context.output, FOLDER, grid)) for output in made}
        surface = [hydrology.Whole(np.empty(grid.shape))] if wet else []
        layout = Layout(grid, derivation.halo, crew.block)
        with context.progress.task("computing terrain", len(layout) + len(made) + len(wet)) as task:
            counts = compute(
                derivation, [elevation.reader], [*sinks.values(), *surface], layout, crew, task=task, key=record.id,
                dtypes=[output.dtype for output in made] + ["float64"] * len(surface),
            )  # fmt: skip
            notes += derivation_notes(derivation, counts, grid)
            if classes.RELATIVE_HEIGHT in settings.derive:
                output = RasterToWrite(classes.RELATIVE_HEIGHT, classes.TITLE, "", CLASS, RELATIVE_HEIGHTS)
                sinks[output.name] = sink = open_rasters.enter_context(output.streamed(context.output, FOLDER, grid))
                notes.append(classes.write_relative_height(elevation.reader, sink, grid, settings, counts, crew, record.id))
            if settings.least_segment_m2:
                ragged = [sinks[name] for name in classes.CLEANED if name in sinks]
                notes += [classes.clean(sink, grid, settings, context.progress.check) for sink in ragged]
            rasters = {name: _finished(sink, task) for name, sink in sinks.items()}
            potholes = _add_water(rasters, surface, wet, grid, settings, context, task, notes) if wet else None
    problems = [*_cover(counts, area_m2, grid, files[0]), *_steps(elevation, counts, settings, files[0])]
    return Terrain(record, grid, rasters, problems_frame(problems), tuple(notes), potholes)


def _finished(raster: StreamedRaster, task: Task) -> RasterFile:
    file = raster.finish()
    task.advance()
    return file


def _add_water(
    rasters: dict[str, RasterFile], surface: list[hydrology.Whole], wet: list[RasterToWrite], grid: Grid, settings: TerrainSettings,
    context: Context, task: Task, notes: list[str],
) -> pd.DataFrame:  # fmt: skip
    """Put the rasters of water beside the others; returns the list of potholes."""
    outputs = {output.name: output for output in wet}
    threads = context.run.threads or os.cpu_count() or 1
    filled, potholes = hydrology.water_rasters(surface[0], grid, settings, threads, notes)
    for name, fill in filled:
        with outputs[name].streamed(context.output, FOLDER, grid) as sink:
            fill(sink)
            rasters[name] = _finished(sink, task)
    return potholes


def _survey_area(grid: Grid, context: Context, file: str) -> tuple[Area | None, float]:
    """The survey area and its m2; refuses a raster that does not reach it."""
    source = context.survey.area_source
    if source is None:
        return None, 0.0
    area = read_polygons(context.path(source.file), source.layer, id=source.id, crs=context.survey.crs, what="the survey area")
    west, south, east, north = area.total_bounds
    left, bottom, right, top = grid.bounds
    if east <= left or west >= right or north <= bottom or south >= top:
        raise InputError(
            "the elevation raster does not reach the survey area", where=file,
            found=f"raster x {left:.0f} to {right:.0f}, y {bottom:.0f} to {top:.0f}; "
                  f"area x {west:.0f} to {east:.0f}, y {south:.0f} to {north:.0f} in {context.survey.crs}",
            remedy="check the systems of both files, or give the raster of this area",
        )  # fmt: skip
    return Area(area.geometry.union_all().wkb, grid), float(area.area.sum())


def _latitude(grid: Grid) -> float:
    """Latitude of the middle of the grid, degrees."""
    from pyproj import Transformer

    west, south, east, north = grid.bounds
    to_degrees = Transformer.from_crs(grid.crs, "EPSG:4326", always_xy=True)
    return float(to_degrees.transform((west + east) / 2, (south + north) / 2)[1])


def _cover(counts: Counter, area_m2: float, grid: Grid, file: str) -> list[Problem]:
    """How much of the survey area the raster misses."""
    missing = 1 - counts["covered"] * grid.cell_m**2 / area_m2 if area_m2 else 0.0
    if missing < 0.005:  # cells along a boundary are in or out by their centres
        return []
    return [Problem(
        "warning", "elevation_cover", "the elevation raster does not cover the whole survey area", file=file,
        found=f"{missing:.1%} of the area is without elevation", remedy="nothing is derived there; give a larger raster",
    )]  # fmt: skip


def _steps(elevation: Elevation, counts: Counter, settings: TerrainSettings, file: str) -> list[Problem]:
    """Whole-metre elevations make stairs, not slopes."""
    if settings.analysis_scale_m or counts["known"] < 9 or elevation.level or counts["whole_metres"] < counts["known"]:
        return []
    return [Problem(
        "warning", "elevation_steps", "all elevations are whole metres: slopes come out as stairs", file=file,
        found="no smoothing", remedy="set analysis_scale_m to five cells or more under [terrain]",
    )]  # fmt: skip
