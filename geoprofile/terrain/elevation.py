"""An elevation raster opened safely: every doubt is a refusal or a stated conversion.

What a raster does not say about itself (no-data value, unit, system, band) is
asked for by the name of the setting that answers it, never guessed.
"""

from __future__ import annotations

import warnings
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from .. import environment as _environment  # noqa: F401
from ..errors import InputError
from ..grid import Grid
from ..kernels.terrain_sums import block_means
from ..settings.terrain import TerrainSettings
from .lattice import on_survey_lattice
from .missing import masked
from .vertical_unit import METRES, metres_per_unit


@dataclass(frozen=True)
class Elevation:
    """Elevation in metres on a grid in the survey's system; NaN = none."""

    grid: Grid
    metres: np.ndarray
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Band:
    """One band as it lies in its file, rows from north to south; values still in the file's unit."""

    values: np.ndarray
    crs: object
    transform: tuple[float, float, float, float, float, float]
    unit: str
    where: str


def open_elevation(path: Path, settings: TerrainSettings, *, crs: str, cell_m: float | None = None) -> Elevation:
    """Read a raster as elevation in metres in ``crs``, aggregated to ``cell_m``.

    Parameters
    ----------
    path : anything GDAL reads.
    settings : answers to what the raster does not say.
    crs : projected system in metres.
    cell_m : cell of the result, m; None keeps the raster's own.

    Raises
    ------
    InputError when the file is no raster, or its band, system, position, unit or
    no-data value is not known, or ``cell_m`` is no whole multiple of its cell.
    """
    notes: list[str] = []
    band = _read_band(path, settings, notes)
    values = masked(band.values, settings.elevation_nodata, band.where)
    factor, unit_note = metres_per_unit(band.unit, band.crs, settings.elevation_unit, band.where)
    notes.append(unit_note)
    metres = values * factor if factor != METRES else values
    grid, metres, lattice_note = on_survey_lattice(metres, band.crs, band.transform, crs, cell_m, band.where)
    notes.append(lattice_note)
    times = 1 if cell_m is None else grid.factor_to(cell_m)
    if times > 1:
        metres = block_means(metres, times)
        grid = grid.coarser(times)
        notes.append(
            f"elevation aggregated from {grid.cell_m / times:g} to {grid.cell_m:g} m: mean of {times} by {times} cells "
            "from the raster's north-west corner, where at least half of them have elevation"
        )
    return Elevation(grid, np.ascontiguousarray(metres), tuple(notes))


def _read_band(path: Path, settings: TerrainSettings, notes: list[str]) -> Band:
    import rasterio
    from rasterio.errors import NotGeoreferencedWarning, RasterioError, RasterioIOError

    where = path.name
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", NotGeoreferencedWarning)
            source = rasterio.open(path)
    except (RasterioError, RasterioIOError) as error:
        raise InputError(
            "the elevation raster cannot be opened", where=str(path), found=str(error),
            remedy="give a GeoTIFF of elevations",
        ) from error  # fmt: skip
    with source:
        band = _band_number(source, settings.band, where)
        system = _system(source, settings.elevation_crs, where)
        if source.transform.is_identity:
            raise InputError(
                "the elevation raster does not say where it lies", where=where,
                found="no position: cells are counted from 0, 0", remedy="georeference it, then run again",
            )  # fmt: skip
        _refuse_what_does_not_fit(source, where)
        values = source.read(band).astype(np.float64)
        gaps = source.read_masks(band) == 0
        scale, offset = source.scales[band - 1], source.offsets[band - 1]
        unit, transform, nodata = source.units[band - 1] or "", source.transform, source.nodatavals[band - 1]
    values[gaps] = np.nan
    if settings.elevation_nodata is not None:
        values[values == settings.elevation_nodata] = np.nan
        if nodata is not None and nodata != settings.elevation_nodata:
            notes.append(f"no data: {nodata:g} as the raster says, and {settings.elevation_nodata:g} as elevation_nodata says")
    if (scale, offset) != (1.0, 0.0):
        values = values * scale + offset
        notes.append(f"elevation = stored value times {scale:g} plus {offset:g}, as the raster says")
    if transform.e > 0 and transform.b == transform.d == 0:  # stored from south to north
        values = values[::-1]
        transform = type(transform)(transform.a, 0, transform.c, 0, -transform.e, transform.f + transform.e * values.shape[0])
    return Band(values, system, tuple(transform)[:6], unit, where)


def _band_number(source, asked: int | None, where: str) -> int:
    if asked is None and source.count > 1:
        names = [f"{k}{f' ({name})' if name else ''}" for k, name in enumerate(source.descriptions, start=1)]
        raise InputError(
            "the elevation raster has several bands and none is named", where=where, found=f"bands {', '.join(names)}",
            remedy="set band = ... under [terrain]",
        )  # fmt: skip
    if asked is not None and asked > source.count:
        raise InputError("there is no such band", where=f"{where}, terrain.band", found=str(asked), allowed=f"1 to {source.count}")
    return asked or 1


def _system(source, stated: str | None, where: str):
    """The raster's own system, or the stated one where it has none; two that differ are refused (G9)."""
    from pyproj import CRS
    from pyproj.exceptions import CRSError

    from .lattice import same_system

    told = None
    if stated is not None:
        try:
            told = CRS.from_user_input(stated)
        except CRSError as error:
            raise InputError(
                "the system is not known", where="terrain.elevation_crs", found=stated, remedy="give an EPSG code, as EPSG:3158"
            ) from error
    if source.crs is None:
        if told is None:
            raise InputError(
                "the elevation raster does not say its coordinate system", where=where,
                remedy='ask who made it, then set elevation_crs = "EPSG:..." under [terrain]',
            )  # fmt: skip
        return told
    own = CRS.from_wkt(source.crs.to_wkt())
    if told is not None and not same_system(own, told):
        raise InputError(
            "the raster says another system than the survey file", where=f"{where}, terrain.elevation_crs",
            found=f"{own.name} in the raster, {told.name} in elevation_crs",
            remedy="take elevation_crs out; if the raster is wrong, correct the raster",
        )  # fmt: skip
    return own


BYTES_A_CELL = 300
"""Peak of the whole computation: 250 bytes measured on 4 million cells, with potholes filled."""


def _refuse_what_does_not_fit(source, where: str) -> None:
    """State the need before the work (T15)."""
    need = source.width * source.height * BYTES_A_CELL
    free = _free_memory()
    if free is not None and need > free:
        raise InputError(
            "the elevation raster does not fit in memory", where=where,
            found=f"{source.width:,} by {source.height:,} cells need {need / 1e9:.1f} GB, {free / 1e9:.1f} GB are free",
            remedy="cut the raster to the survey area with some hundreds of metres around it, or make its cells coarser",
        )  # fmt: skip


def _free_memory() -> int | None:
    try:
        with open("/proc/meminfo", encoding="ascii") as lines:
            return next(int(line.split()[1]) * 1024 for line in lines if line.startswith("MemAvailable"))
    except (OSError, StopIteration):
        return None  # not a Linux machine: nothing is known, nothing is refused
