"""Onto one lattice: the survey's system, square cells, north up.

A raster that already lies so is left as it is, cell by cell. Any other is warped
once by bilinear interpolation, and it says so (T6, T7, T9).
"""

from __future__ import annotations

import numpy as np
from pyproj import CRS

from ..errors import InputError
from ..grid import Grid

SQUARE = 1e-6
"""Cells count as square when their sides differ by less than this share of a cell over the whole raster."""


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
    square = straight and abs(a + e) * max(height, width) <= SQUARE * a * max(height, width) and abs(a + e) * max(height, width) < 0.01 * a
    same = same_system(source, target)
    if same and square:
        return Grid(crs, c, f, a, height, width), metres, f"elevation lies in {target.name} with cells of {a:.6g} m: used cell by cell"
    return _warped(metres, source, transform, crs, target, cell_m, same, where)


def _warped(metres, source, transform, crs, target, cell_m, same, where):
    from rasterio import Affine
    from rasterio.errors import RasterioError
    from rasterio.transform import array_bounds
    from rasterio.warp import Resampling, calculate_default_transform, reproject

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
    result = np.full(grid.shape, np.nan)
    reproject(
        metres, result, src_transform=affine, src_crs=source.to_wkt(), src_nodata=np.nan, dst_transform=Affine(*grid.transform),
        dst_crs=target.to_wkt(), dst_nodata=np.nan, resampling=Resampling.bilinear, tolerance=0.0, num_threads=1,
    )  # fmt: skip
    why = "its cells are not square and north up" if same else f"it lies in {source.name}"
    note = f"elevation reprojected by bilinear interpolation to {target.name}, cells of {cell:g} m, because {why}"
    return grid, result, note + ("" if same else _operation(source, target))


def _operation(source: CRS, target: CRS) -> str:
    """Which shift between datums is used and how good it is (R21)."""
    from pyproj.transformer import TransformerGroup

    group = TransformerGroup(source, target, always_xy=True)
    if not group.transformers:
        return ""
    best = group.transformers[0]
    accuracy = f", accuracy {best.accuracy:g} m" if best.accuracy >= 0 else ", accuracy not known"
    lacking = "; a better operation needs a grid file that is not installed" if not group.best_available else ""
    return f" ({best.description}{accuracy}{lacking})"
