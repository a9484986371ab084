"""From an elevation raster to named terrain rasters on the survey's grid.

    open safely -> one lattice -> aggregate -> smooth -> derive -> write

Everything that was assumed, converted or limited is a note of the product.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ..context import Context
from ..errors import InputError
from ..kernels.terrain_sums import STEPS_PER_METRE, circle_sums, half_widths, to_steps
from ..kernels.terrain_window import curvatures, slope_and_aspect
from ..layers import read_polygons
from ..problems import Problem, problems_frame
from ..products import Terrain
from ..rasters import CLASS, NUMBER, write_raster
from ..record import Record
from ..settings.base import require
from ..settings.terrain import TerrainSettings
from .elevation import Elevation, open_elevation
from .landform import LEGEND, landform_elements
from .smoothing import LEAST_CELLS, smooth
from .water import wetness_index

FOLDER = "terrain"
WEIGHTS = {"evans": 1.0, "horn": 2.0}
SOURCES = {"evans": "Evans 1980", "horn": "Horn 1981"}


@dataclass(frozen=True)
class Derived:
    """One raster before it is written."""

    name: str
    title: str
    unit: str
    cells: np.ndarray
    kind: str = NUMBER
    legend: dict[int, str] | None = None


def compute_terrain(settings: TerrainSettings, context: Context, record: Record) -> Terrain:
    """Terrain rasters under ``context.output/terrain``; ``elevation`` is always among them.

    Slopes are in degrees, curvatures in 1/m with convex positive, lengths in m.
    Derivatives need all eight neighbours: the outermost cells and those beside gaps
    have none.

    Raises
    ------
    InputError when the raster leaves its system, unit, band or no-data value open,
    does not fit the survey's grid, or does not reach the survey area.
    """
    require(settings.elevation, "terrain.elevation", "name an elevation raster, or leave terrain out")
    elevation = open_elevation(
        context.path(settings.elevation), settings, crs=context.survey.crs, cell_m=context.grid.cell_m
    )
    problems = [*_covering_the_area(elevation, context, settings.elevation), *_steps(elevation, settings)]
    smoothed = smooth(elevation.metres, settings.analysis_scale_m, elevation.grid.cell_m)
    notes = [*elevation.notes, _smoothing_note(settings, elevation.grid.cell_m)]
    rasters = {}
    with context.progress.task("computing terrain", 2 + len(settings.derive)) as task:
        for derived in _derive(elevation, smoothed, settings, notes):
            task.advance()
            rasters[derived.name] = write_raster(
                context.output, f"{FOLDER}/{derived.name}.tif", derived.cells, elevation.grid,
                name=derived.name, title=derived.title, unit=derived.unit, kind=derived.kind, legend=derived.legend,
            )  # fmt: skip
    return Terrain(record, elevation.grid, rasters, problems_frame(problems), tuple(notes))


def _derive(elevation: Elevation, z: np.ndarray, settings: TerrainSettings, notes: list[str]) -> Iterator[Derived]:
    """Each raster asked for, one after the other; ``z`` is the smoothed elevation."""
    cell, asked = elevation.grid.cell_m, set(settings.derive)
    yield Derived("elevation", "Elevation", "m", elevation.metres)

    method = SOURCES[settings.slope_method]
    slope, sine, cosine = slope_and_aspect(z, cell, WEIGHTS[settings.slope_method])
    if "slope" in asked:
        notes.append(f"slope in degrees, window of three by three cells ({method})")
        yield Derived("slope", f"Slope ({method})", "degrees", slope)
    if "aspect" in asked:
        notes.append("aspect is where the slope faces, clockwise from north, as sine (east) and cosine (north); level ground has none")
        yield Derived("aspect_sine", "Aspect, sine (1 faces east)", "1", sine)
        yield Derived("aspect_cosine", "Aspect, cosine (1 faces north)", "1", cosine)
    del sine, cosine

    if asked & {"profile_curvature", "plan_curvature", "tangential_curvature", "landform_element"}:
        profile, plan, tangential = curvatures(z, cell)
        notes.append(
            "curvatures in 1/m, convex positive (Evans 1980; formulas in geoprofile.kernels.terrain_window): profile down the "
            "slope, plan along the contour, tangential = plan times the sine of slope; level ground has none"
        )
        if "profile_curvature" in asked:
            yield Derived("profile_curvature", "Profile curvature (convex positive)", "1/m", profile)
        if "plan_curvature" in asked:
            yield Derived("plan_curvature", "Plan curvature (noses positive)", "1/m", plan)
        if "tangential_curvature" in asked:
            yield Derived("tangential_curvature", "Tangential curvature (noses positive)", "1/m", tangential)
        if "landform_element" in asked:
            code = landform_elements(
                slope, profile, plan,
                level_below_degrees=settings.level_below_degrees,
                profile_limit_degrees_per_m=settings.profile_limit_degrees_per_m,
            )  # fmt: skip
            notes.append(_landform_note(code, settings, cell))
            yield Derived("landform_element", "Landform element (Pennock, Zebarth & de Jong 1987)", "", code, CLASS, LEGEND)
        del profile, plan, tangential

    if "relative_elevation" in asked:
        radius = settings.relative_elevation_radius_m
        relative, cut = relative_elevation(z, radius, cell)
        notes.append(
            f"relative elevation = elevation minus its mean within {radius:g} m; "
            f"{cut:.0%} of the cells have a circle cut by the raster's edge or by gaps"
        )
        yield Derived("relative_elevation", f"Relative elevation within {radius:g} m", "m", relative)
    if "wetness_index" in asked:
        notes.append(
            "wetness index = ln(a / tan b) (Beven & Kirkby 1979), a = number of cells upstream times the cell's side in m, "
            f"each cell draining to its steepest neighbour; tan b at least {settings.least_tangent:g}; "
            + ("potholes kept: water stays in them" if settings.depressions == "keep" else "potholes filled: water crosses them")
            + "; ground beyond the raster is not counted"
        )
        wetness = wetness_index(z, slope, cell, settings.depressions, settings.least_tangent)
        yield Derived("wetness_index", "Wetness index ln(a / tan b)", "1", wetness)


def relative_elevation(z: np.ndarray, radius_m: float, cell_m: float) -> tuple[np.ndarray, float]:
    """Elevation minus its mean within ``radius_m``, m, and the share of cells whose circle is cut.

    Elevations are taken in whole steps of 2^-12 m, so that sums are exact.
    """
    valid = ~np.isnan(z)
    lowest = np.floor(np.nanmin(z))
    steps = to_steps(z - lowest)
    widths = half_widths(radius_m / cell_m)
    sums, counts = circle_sums(steps, valid, widths)
    whole = int(2 * (2 * widths + 1).sum() - (2 * widths[0] + 1))
    result = np.where(valid, (steps - sums / np.maximum(counts, 1)) / STEPS_PER_METRE, np.nan)
    return result, float(np.mean(counts[valid] < whole))


def _covering_the_area(elevation: Elevation, context: Context, file: str) -> list[Problem]:
    """Refuse a raster that does not reach the survey area; say how much of the area it misses."""
    from rasterio import Affine
    from rasterio.features import geometry_mask

    source = context.survey.area_source
    if source is None:
        return []
    area = read_polygons(context.path(source.file), source.layer, id=source.id, crs=context.survey.crs, what="the survey area")
    west, south, east, north = area.total_bounds
    left, bottom, right, top = elevation.grid.bounds
    if east <= left or west >= right or north <= bottom or south >= top:
        raise InputError(
            "the elevation raster does not reach the survey area", where=file,
            found=f"raster x {left:.0f} to {right:.0f}, y {bottom:.0f} to {top:.0f}; "
                  f"area x {west:.0f} to {east:.0f}, y {south:.0f} to {north:.0f} in {context.survey.crs}",
            remedy="check the systems of both files, or give the raster of this area",
        )  # fmt: skip
    inside = geometry_mask(area.geometry, elevation.grid.shape, Affine(*elevation.grid.transform), invert=True)
    covered = np.count_nonzero(inside & ~np.isnan(elevation.metres)) * elevation.grid.cell_m**2
    missing = 1 - covered / area.area.sum()
    if missing < 0.005:  # cells along a boundary are in or out by their centres
        return []
    return [Problem(
        "warning", "elevation_cover", "the elevation raster does not cover the whole survey area", file=file,
        found=f"{missing:.1%} of the area is without elevation", remedy="nothing is derived there; give a larger raster",
    )]  # fmt: skip


def _steps(elevation: Elevation, settings: TerrainSettings) -> list[Problem]:
    """Whole-metre elevations make stairs, not slopes."""
    z = elevation.metres[~np.isnan(elevation.metres)]
    if settings.analysis_scale_m or z.size < 9 or np.ptp(z) == 0 or not np.array_equal(z, np.rint(z)):
        return []
    return [Problem(
        "warning", "elevation_steps", "all elevations are whole metres: slopes come out as stairs", file=settings.elevation or "",
        found="no smoothing", remedy="set analysis_scale_m to five cells or more under [terrain]",
    )]  # fmt: skip


def _smoothing_note(settings: TerrainSettings, cell: float) -> str:
    scale = settings.analysis_scale_m or 0.0
    if scale / 2 / cell < LEAST_CELLS:
        return f"no smoothing before derivatives: they describe ground about {3 * cell:g} m across"
    return (
        f"smoothed to an analysis scale of {scale:g} m before any derivative: planes fitted with Gaussian weights of standard "
        f"deviation {scale / 2:g} m, cut at {1.5 * scale:g} m; the raster 'elevation' is not smoothed"
    )


def _landform_note(code: np.ndarray, settings: TerrainSettings, cell: float) -> str:
    known = code[code > 0]
    shares = ", ".join(f"{name} {np.mean(known == k):.0%}" for k, name in LEGEND.items()) if known.size else "none"
    scale = max(settings.analysis_scale_m or 0.0, cell)
    return (
        f"landform elements (Pennock, Zebarth & de Jong 1987): level up to {settings.level_below_degrees:g} degrees, profile limit "
        f"{settings.profile_limit_degrees_per_m:g} degrees per m. The limits were published for cells of about 10 m; here cells are "
        f"{cell:g} m and the analysis scale {scale:g} m: a larger scale gives more level ground and backslope. Shares: {shares}"
    )
