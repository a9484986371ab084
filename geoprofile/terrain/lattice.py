"""Onto one lattice: the survey's system, square cells, north up.

A raster that already lies so is left as it is, cell by cell. Any other is warped
once by bilinear interpolation, and it says so (T6, T7, T9).
"""

from __future__ import annotations

import numpy as np
from pyproj import CRS

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
    metres: np.ndarray,
    source: CRS,
    transform: tuple[float, float, float, float, float, float],
    crs: str,
    cell_m: float | None,
    where: str,
) -> tuple[Grid, np.ndarray, str]:
    """Grid in ``crs``, elevation on it, and the sentence that says what was done.

    Parameters
    ----------
    metres : (rows, columns) float64, NaN = none.
    source : system of the raster; transform : its six affine numbers.
    crs : the survey's projected system.
    cell_m : cell that the survey asks for; a warped raster gets a whole fraction of it.
    """
    target = CRS.from_user_input(crs)
    a, b, c, d, e, f = transform
    height, width = metres.shape
    straight = b == 0 == d and e < 0 < a
    square = straight and abs(a + e) * max(height, width) <= SQUARE * a
    same = same_system(source, target)
    if same and square:
        return Grid(crs, c, f, a, height, width), metres, f"elevation lies in {target.name} with cells of {a:.6g} m: used cell by cell"
    return _warped(metres, source, transform, crs, target, cell_m, same, where)


def _warped(metres, source, transform, crs, target, cell_m, same, where):
    from rasterio import Affine
    from rasterio.errors import RasterioError
    from rasterio.transform import array_bounds
    from rasterio.warp import calculate_default_transform

    height, width = metres.shape
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
    result = _bilinear(metres, ~affine, forward, grid)
    why = "its cells are not square and north up" if same else f"it lies in {source.name}"
    note = f"elevation reprojected by bilinear interpolation to {target.name}, cells of {cell:g} m, because {why}"
    return grid, result, note + operation


def _bilinear(metres: np.ndarray, to_cells, to_source, grid: Grid, rows: int = 256) -> np.ndarray:
    """Elevation at the cell centres of ``grid``: between four cell centres of the raster, never beyond them.

    Our own, because a warper that widens its window when cells grow does not give
    a plane back as a plane.
    """
    from scipy.ndimage import map_coordinates

    result = np.full(grid.shape, np.nan)
    for row in range(0, grid.height, rows):
        window = Window(row, 0, min(rows, grid.height - row), grid.width)
        x, y = grid.centre_points(window).T
        if to_source is not None:
            x, y = to_source.transform(x, y)
        column_at, row_at = to_cells.a * x + to_cells.b * y + to_cells.c - 0.5, to_cells.d * x + to_cells.e * y + to_cells.f - 0.5
        values = map_coordinates(metres, [row_at, column_at], order=1, mode="constant", cval=np.nan)
        result[window.slices] = values.reshape(window.height, window.width)
    return result


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
    return best, f" ({best.description}{accuracy}{lacking})"
