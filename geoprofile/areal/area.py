"""What a surface holds inside polygons, looked at window by window: memory is bounded, whatever they cover.

Sums over a polygon's land are of its cells, each by its exact share. How the errors of many
cells vary together is another matter: that needs to know where they lie. A polygon of few
cells keeps them; of more, squares of cells stand for them, at most about a quarter of a million in all,
which is finer than any error varies.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from math import ceil, log2, sqrt

import numpy as np
import shapely

from ..context import Context
from ..grid import Grid, Window
from ..overlay import Land
from ..products import Surface, Surfaces
from ..rasters import RasterCells

MOST_SQUARES = 250_000
"""Squares kept of all polygons together."""
MOST_IN_A_BOX = 500_000
"""Squares of the box around one polygon: the lags between its squares are counted in it."""
LEAST_SQUARES = 1_000
"""A polygon is not told by fewer squares for the sake of others, unless it has fewer cells."""

WINDOW = 512
"""Side of the windows that are looked at, cells: a power of two, so that no square lies in two of them."""

Tally = Callable[..., np.ndarray]
"""(estimate, low, high, *more) of cells with an estimate, each (m,) or None -> (q, m): what is summed over the land."""


@dataclass(frozen=True)
class Area:
    """The land of one polygon that has an estimate.

    Parameters
    ----------
    cell : (m,) the cells, none twice, or where ``side`` is above 1 the middle cell of each square of cells.
    weight : (m,) cells that each stands for, by their shares inside the polygon.
    estimate, low, high : (m,) means of them, in the surface's unit; low and high None where the surface has no limits.
    side : cells along a square.
    on_map : cells of the grid inside the polygon, with and without an estimate, by their shares.
    sums : (q,) what the tally gave, summed by share.
    """

    cell: np.ndarray
    weight: np.ndarray
    estimate: np.ndarray
    low: np.ndarray | None = None
    high: np.ndarray | None = None
    side: int = 1
    on_map: float = 0.0
    sums: np.ndarray | None = None

    def __len__(self) -> int:
        return len(self.cell)

    @property
    def backed(self) -> float:
        """Cells with an estimate, by their shares."""
        return float(self.weight.sum())


@dataclass(frozen=True)
class Layers:
    """The rasters of one surface, and whatever else a tally needs."""

    estimate: RasterCells
    low: RasterCells | None = None
    high: RasterCells | None = None
    more: tuple[RasterCells, ...] = ()

    def read(self, window: Window) -> list[np.ndarray | None]:
        return [None if one is None else one.read(window).ravel() for one in (self.estimate, self.low, self.high, *self.more)]


def layers_of(surface: Surface, surfaces: Surfaces, context: Context, more: Sequence[str] = ()) -> Layers:
    """The rasters of a surface, and ``more`` by their keys."""
    read = {key: surfaces.rasters[key].cells(context.output) for key in (surface.estimate, surface.low90, surface.high90, *more) if key}
    return Layers(read[surface.estimate], read.get(surface.low90), read.get(surface.high90), tuple(read[key] for key in more))


def area_of_cells(
    cell: np.ndarray, share: np.ndarray, estimate: np.ndarray, low: np.ndarray | None = None, high: np.ndarray | None = None
) -> Area:
    """The area of those cells (m,) of rasters in memory, flat and in the grid's order, that have an estimate."""
    share = np.asarray(share, float)
    backed = np.isfinite(estimate[cell])
    own = np.asarray(cell)[backed]
    limits = (None if limit is None else limit[own] for limit in (low, high))
    return Area(own, share[backed], estimate[own], *limits, on_map=float(share.sum()))


def areas_in(shapes: Sequence[shapely.Geometry], grid: Grid, layers: Layers, tally: Tally | None = None) -> list[Area]:
    """The land of each polygon, in their order. Shapes are in the grid's system."""
    sides = sides_of(shapes, grid)
    return [_area(Land(shape, grid), side, layers, tally) for shape, side in zip(shapes, sides, strict=True)]


def sides_of(shapes: Sequence[shapely.Geometry], grid: Grid) -> list[int]:
    """Cells along the squares that stand for each polygon's land: powers of two, 1 where all have few cells."""
    area = shapely.box(*grid.bounds)
    inside = [shapely.intersection(shape, area) if not shape.is_empty else shape for shape in shapes]
    cells = [one.area / grid.cell_m**2 for one in inside]
    common = side_for(sum(cells), MOST_SQUARES)
    sides = []
    for one, own in zip(inside, cells, strict=True):
        if one.is_empty:
            sides.append(1)
            continue
        west, south, east, north = one.bounds
        box = (east - west + grid.cell_m) * (north - south + grid.cell_m) / grid.cell_m**2
        fewest = 2 ** max(0, int(log2(own / LEAST_SQUARES) / 2)) if own > LEAST_SQUARES else 1
        sides.append(max(side_for(box, MOST_IN_A_BOX), min(common, fewest)))
    return sides


def side_for(cells: float, most: int) -> int:
    """The least power of two such that squares of so many cells along their side are at most ``most``."""
    return 1 if cells <= most else 2 ** ceil(log2(sqrt(cells / most)))


def together(areas: Sequence[Area], grid: Grid) -> Area:
    """Several areas as one; shares of overlapping ones are added."""
    rows = np.concatenate([area.cell // grid.width for area in areas])
    columns = np.concatenate([area.cell % grid.width for area in areas])
    box = (np.ptp(rows) + 1.0) * (np.ptp(columns) + 1.0) if len(rows) else 0.0
    side = max([side_for(box, MOST_IN_A_BOX), *(area.side for area in areas)])
    weight = np.concatenate([area.weight for area in areas])
    estimate = np.concatenate([area.estimate for area in areas])
    cell, weight, (estimate,) = _squares(rows, columns, weight, [estimate], side, grid)
    return Area(cell, weight, estimate, side=side, on_map=sum(area.on_map for area in areas))


def square_lattice(grid: Grid, side: int) -> tuple[float, float, float]:
    """East and north of the middle cell of the square in the north-west corner, and the distance of squares, m."""
    away = (side // 2 + 0.5) * grid.cell_m
    return grid.west + away, grid.north - away, side * grid.cell_m


def _area(land: Land, side: int, layers: Layers, tally: Tally | None) -> Area:
    on_map, sums, found = 0.0, None, []
    for window, shares in _windows(land):
        on_map += float(shares.sum())
        inside = np.flatnonzero(shares)
        values = [None if one is None else one[inside] for one in layers.read(window)]
        backed = np.isfinite(values[0])
        if not backed.any():
            continue
        share = shares[inside[backed]]
        values = [None if one is None else one[backed] for one in values]
        if tally is not None:
            counted = tally(*values) @ share
            sums = counted if sums is None else sums + counted
        row, column = np.divmod(inside[backed], window.width)
        row, column = row + window.row, column + window.column
        if side == 1:
            found.append((row * land.grid.width + column, share, values[:3]))
        else:
            found.append(_squares(row, column, share, values[:3], side, land.grid))
    if not found:
        gone = np.zeros(0)
        return Area(np.zeros(0, np.intp), gone, gone, gone, gone, side, on_map)
    cell, weight, parts = zip(*found, strict=True)
    estimate, low, high = (None if one[0] is None else np.concatenate(one) for one in zip(*parts, strict=True))
    return Area(np.concatenate(cell), np.concatenate(weight), estimate, low, high, side, on_map, sums)


def _windows(land: Land) -> Iterator[tuple[Window, np.ndarray]]:
    """Windows with the flat shares of their cells."""
    for window in land.windows(WINDOW):
        yield window, land.shares(window).ravel()


def _squares(row, column, weight, values, side: int, grid: Grid) -> tuple[np.ndarray, np.ndarray, list[np.ndarray | None]]:
    """Middle cell, weight and mean values of the squares that cells or smaller squares lie in."""
    across = -(-grid.width // side)
    places, square = np.unique((row // side).astype(np.int64) * across + column // side, return_inverse=True)
    total = np.bincount(square, weight)
    means = [None if one is None else np.bincount(square, weight * one) / total for one in values]
    down, along = np.divmod(places, across)
    middle_row = np.minimum(down * side + side // 2, grid.height - 1)
    middle_column = np.minimum(along * side + side // 2, grid.width - 1)
    return middle_row * grid.width + middle_column, total, means
