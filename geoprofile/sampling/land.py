"""The land: which cells are to be known, in which of them a pit may be dug, and where pits are already."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely

from ..context import Context
from ..errors import InputError
from ..layers import read_polygons
from ..products import Pits, Terrain
from ..settings.base import LayerSource
from ..settings.sampling import SamplingSettings

AIM_CELLS = 20_000
MOST_CELLS = 500_000
"""Of larger land every second, third ... row and column of cells stands for all."""


@dataclass(frozen=True)
class Land:
    """``cells`` (m, 2) centres of the cells to be known, m; ``allowed`` (m,): a pit may be dug there; ``notes``: sentences."""

    cells: np.ndarray
    allowed: np.ndarray
    notes: tuple[str, ...] = ()


def read_land(terrain: Terrain | None, settings: SamplingSettings, context: Context) -> Land:
    """The cells of the survey area, or of the elevation raster where no area is named.

    Land without access stays land to be known: a pit beside it may still tell of it.
    Raises InputError where neither an area nor an elevation raster is named, or where no
    cell may be dug.
    """
    cells, step = _cells(terrain, context)
    allowed, notes = np.ones(len(cells), bool), []
    if step > 1:
        notes.append(f"of each {step} x {step} cells the north-western one stands for all, and pits are placed on those")
    for source, what, inside in ((settings.access, "the access", True), (settings.exclude, "the excluded land", False)):
        if source is None:
            continue
        shape = _union(source, what, context)
        found = shapely.contains_xy(shape, cells[:, 0], cells[:, 1])
        allowed &= found if inside else ~found
        notes.append(f"{what}: {shape.area / 10_000:.1f} ha of polygons in {source.file}")
    if len(allowed) and not allowed.any():
        raise InputError(
            "access and exclusion leave no cell in which a pit may be dug", where="sampling.access",
            found=f"0 of {len(cells)} cells", remedy="check that the polygons lie in the survey area, and which is which",
        )  # fmt: skip
    if notes:
        notes.append(f"pits may be dug on {100 * allowed.mean():.0f} % of the land")
    return Land(cells, allowed, tuple(notes))


def existing_points(pits: Pits) -> np.ndarray:
    """(n, 2) places of the pits that have one, m."""
    placed = pits.pits.geometry[pits.pits.geometry.notna()]
    return np.column_stack([placed.x, placed.y])


def _cells(terrain: Terrain | None, context: Context) -> tuple[np.ndarray, int]:
    """Centres (m, 2) of the land's cells, and how many rows and columns lie between them."""
    source = context.survey.area_source
    area = None if source is None else _union(source, "the survey area", context)
    if terrain is not None:
        centres, step = _cells_with_elevation(terrain, area, context)
    elif area is not None:
        centres, step = _lattice(area), 1
    else:
        raise InputError("there is no land to choose from", where="survey.area",
                         remedy="name the survey area ([survey] area) or an elevation raster ([terrain] elevation)")  # fmt: skip
    return (centres if area is None else centres[shapely.contains_xy(area, centres[:, 0], centres[:, 1])]), step


def _cells_with_elevation(terrain: Terrain, area: shapely.Geometry | None, context: Context) -> tuple[np.ndarray, int]:
    """The raster's own cells, row by row; of large land those of a coarse lattice, read window by window."""
    grid = terrain.grid
    box = shapely.box(*grid.bounds)
    bounds = box.bounds if area is None else shapely.intersection(shapely.box(*area.bounds), box).bounds
    if not bounds or np.isnan(bounds).any():
        return np.empty((0, 2)), 1
    west, south, east, north = bounds
    top, bottom = max(int((grid.north - north) // grid.cell_m), 0), min(int((grid.north - south) // grid.cell_m) + 1, grid.height)
    left, right = max(int((west - grid.west) // grid.cell_m), 0), min(int((east - grid.west) // grid.cell_m) + 1, grid.width)
    step = max(1, math.ceil(math.sqrt((bottom - top) * (right - left) / MOST_CELLS)))
    rows, columns = np.arange(top, bottom, step), np.arange(left, right, step)
    known = np.isfinite(terrain.rasters["elevation"].cells(context.output).every(rows, columns))
    x, y = grid.centres()
    down, across = np.nonzero(known)
    return np.column_stack([x[columns[across]], y[rows[down]]]), step


def _union(source: LayerSource, what: str, context: Context) -> shapely.Geometry:
    polygons = read_polygons(context.path(source.file), source.layer, crs=context.survey.crs, what=what)
    shape = polygons.union_all()
    shapely.prepare(shape)
    return shape


def _lattice(area: shapely.Geometry) -> np.ndarray:
    """Centres on a square lattice of about AIM_CELLS cells over the area's bounds."""
    west, south, east, north = area.bounds
    step = max(np.sqrt((east - west) * (north - south) / AIM_CELLS), 1.0)
    x, y = np.arange(west + step / 2, east, step), np.arange(south + step / 2, north, step)
    return np.column_stack([np.tile(x, len(y)), np.repeat(y, len(x))])
