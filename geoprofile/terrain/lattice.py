"""Onto one lattice: the survey's system, square cells, north up.

A raster that already lies so is left as it is, cell by cell. Any other is warped
once by bilinear interpolation, and it says so (T6, T7, T9).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from pyproj import CRS

from ..blocks import Reader
from ..errors import InputError
from ..grid import Grid, Window

SQUARE = 0.001
"""Cells count as square when their two sides drift apart by less than this share of a cell over the whole raster."""


def same_system(one: CRS, other: CRS) -> bool:
    """Whether two systems give the same place the same coordinates, heights aside."""
    one, other = (crs.sub_crs_list[0] if crs.is_compound else crs for crs in (one, other))
    if one.equals(other, ignore_axis_order=True):
        return True
    codes = one.to_epsg(min_confidence=70), other.to_epsg(min_confidence=70)
    return None not in codes and codes[0] == codes[1]


def on_survey_lattice(
    source: Reader,
    shape: tuple[int, int],
    system: CRS,
    transform: tuple[float, float, float, float, float, float],
    crs: str,
    cell_m: float | None,
    where: str,
) -> tuple[Grid, Reader, str]:
    """Grid in ``crs``, what reads elevation on it, and the sentence that says what is done.

    Parameters
    ----------
    source : reads windows of the raster's own rows and columns; ``shape`` is its extent.
    system : system of the raster; transform : its six affine numbers.
    crs : the survey's projected system.
    cell_m : cell that the survey asks for; a warped raster gets a whole fraction of it.
    """
    target = CRS.from_user_input(crs)
    a, b, c, d, e, f = transform
    height, width = shape
    straight = b == 0 == d and e < 0 < a
    square = straight and abs(a + e) * max(height, width) <= SQUARE * a
    same = same_system(system, target)
    if same and square:
        return Grid(crs, c, f, a, height, width), source, f"elevation lies in {target.name} with cells of {a:.6g} m: used cell by cell"
    return _warped(source, shape, system, transform, crs, target, cell_m, same, where)


def _warped(reader, shape, source, transform, crs, target, cell_m, same, where):
    from rasterio import Affine
    from rasterio.errors import RasterioError
    from rasterio.transform import array_bounds
    from rasterio.warp import calculate_default_transform

    height, width = shape
    affine = Affine(*transform)
    bounds = array_bounds(height, width, affine)
    try:
        default, wide, high = calculate_default_transform(source.to_wkt(), target.to_wkt(), width, height, *bounds)
    except RasterioError as error:
        raise InputError(
            "the elevation raster cannot be brought into the survey's system", where=where,
            found=f"{source.name} to {target.name}: {error}", remedy="check the system of the raster and of the survey",
        ) from error  # fmt: skip
    own = abs(default.a)
    cell = float(f"{own:.3g}") if cell_m is None else cell_m / max(1, round(cell_m / own))
    west = np.floor(default.c / cell) * cell
    north = np.ceil(default.f / cell) * cell
    columns = int(np.ceil((default.c + wide * default.a - west) / cell))
    rows = int(np.ceil((north - (default.f + high * default.e)) / cell))
    grid = Grid(crs, float(west), float(north), float(cell), rows, columns)
    forward, operation = _operation(source, target, same)
    why = "its cells are not square and north up" if same else f"it lies in {source.name}"
    note = f"elevation reprojected by bilinear interpolation to {target.name}, cells of {cell:g} m, because {why}"
    return grid, Warped(reader, (height, width), tuple(~affine)[:6], forward, grid), note + operation


@dataclass(frozen=True)
class Warped:
    """Elevation at the cell centres of ``grid``: between four cell centres of the raster, never beyond them.

    Our own, because a warper that widens its window when cells grow does not give
    a plane back as a plane.
    """

    source: Reader
    shape: tuple[int, int]
    to_cells: tuple[float, float, float, float, float, float]
    to_source: object | None
    grid: Grid

    def read(self, window: Window) -> np.ndarray:
        """The same to the last bit for any window: places are found in whole rows and columns of the raster."""
        from scipy.ndimage import map_coordinates

        x, y = self.grid.centre_points(window).T
        if self.to_source is not None:
            x, y = self.to_source.transform(x, y)
        a, b, c, d, e, f = self.to_cells
        column_at, row_at = a * x + b * y + c - 0.5, d * x + e * y + f - 0.5
        part = _cells_about(row_at, column_at, self.shape)
        if part is None:
            return np.full((window.height, window.width), np.nan)
        cells = self.source.read(part)
        values = map_coordinates(cells, [row_at - part.row, column_at - part.column], order=1, mode="constant", cval=np.nan)
        return values.reshape(window.height, window.width)


def _cells_about(row_at: np.ndarray, column_at: np.ndarray, shape: tuple[int, int]) -> Window | None:
    """The raster's cells that places lie between; None when none lies within the raster."""
    near = (row_at >= 0) & (row_at <= shape[0] - 1) & (column_at >= 0) & (column_at <= shape[1] - 1)
    if not near.any():
        return None
    top, left = int(row_at[near].min()), int(column_at[near].min())
    bottom, right = int(row_at[near].max()) + 2, int(column_at[near].max()) + 2
    return Window(top, left, min(bottom, shape[0]) - top, min(right, shape[1]) - left)


def _operation(source: CRS, target: CRS, same: bool):
    """The transformer from ``target`` back to ``source``, and a remark on which it is and how good it is (R21)."""
    from pyproj import Transformer
    from pyproj.transformer import TransformerGroup

    if same:
        return None, ""
    if source.is_compound:
        source = source.sub_crs_list[0]
    group = TransformerGroup(target, source, always_xy=True)
    if not group.transformers:
        return Transformer.from_crs(target, source, always_xy=True), ""
    best = group.transformers[0]
    accuracy = f", accuracy {best.accuracy:g} m" if best.accuracy >= 0 else ", accuracy not known"
    lacking = "" if group.best_available else "; a better operation needs a grid file that is not installed"
    # written out, the operation can be sent to other threads and machines
    return Transformer.from_pipeline(best.definition), f" ({best.description}{accuracy}{lacking})"
