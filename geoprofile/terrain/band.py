"""One band of one raster file, read window by window: what the file says of it, every doubt refused.

A window read twice is the same twice, and a window is the same whatever else is
read with it.
"""

from __future__ import annotations

import threading
import warnings
from collections import OrderedDict
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from .. import environment as _environment  # noqa: F401
from ..errors import InputError
from ..grid import Window
from ..settings.terrain import TerrainSettings
from .vertical_unit import METRES, metres_per_unit

HANDLES = 8
"""Files that a thread keeps open: a file that is opened anew for each window is decoded anew."""


@dataclass(frozen=True)
class Band:
    """Elevation in metres as it lies in its file, rows from north to south.

    ``upward``: the file's rows run from south to north. ``marks``: values that mean no
    data. ``factor``: metres a unit. ``crs`` is the system's text (WKT).
    """

    path: str
    number: int
    crs: str
    transform: tuple[float, float, float, float, float, float]
    height: int
    width: int
    upward: bool
    own_mark: float | None
    marks: tuple[float, ...]
    masked_otherwise: bool
    scale: float
    offset: float
    factor: float

    @property
    def where(self) -> str:
        return Path(self.path).name

    def read(self, window: Window) -> np.ndarray:
        """(rows, columns) float64, m, NaN = none."""
        from rasterio.windows import Window as RasterioWindow

        row = self.height - window.row - window.height if self.upward else window.row
        part = RasterioWindow(window.column, row, window.width, window.height)
        source = _opened(self.path)
        stored = source.read(self.number, window=part)
        values = stored.astype(np.float64)
        if self.own_mark is not None:
            values[stored == self.own_mark] = np.nan
        if self.masked_otherwise:
            values[source.read_masks(self.number, window=part) == 0] = np.nan
        for mark in self.marks:  # a marker may have been rounded to the file's type: 3.4e38 is never exact
            values[np.abs(values - mark) <= 1e-6 * abs(mark)] = np.nan
        if stored.dtype.kind == "f":
            values[np.isinf(values)] = np.nan
        if (self.scale, self.offset) != (1.0, 0.0):
            values = values * self.scale + self.offset
        if self.factor != METRES:
            values *= self.factor
        return values[::-1] if self.upward else values


_here = threading.local()


def _opened(path: str):
    """The file, opened once a thread: GDAL's handles are not for several threads."""
    import rasterio

    status = Path(path).stat()
    key = path, status.st_mtime_ns, status.st_size
    handles = _here.__dict__.setdefault("handles", OrderedDict())
    if key not in handles:
        handles[key] = rasterio.open(path)
        while len(handles) > HANDLES:
            handles.popitem(last=False)[1].close()
    handles.move_to_end(key)
    return handles[key]


def open_band(path: Path, settings: TerrainSettings, notes: list[str]) -> Band:
    """What a file says of its band; what was assumed or converted is added to ``notes``.

    Raises InputError when the file is no raster, or its band, system, place or unit is not known.
    """
    import rasterio
    from pyproj import CRS
    from rasterio.enums import MaskFlags
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
        number = _band_number(source, settings.band, where)
        _refuse_classes(source, number, where)
        system = _system(source, settings.elevation_crs, where)
        if source.transform.is_identity:
            raise InputError(
                "the elevation raster does not say where it lies", where=where,
                found="no position: cells are counted from 0, 0", remedy="georeference it, then run again",
            )  # fmt: skip
        factor, unit_note = metres_per_unit(source.units[number - 1] or "", CRS.from_wkt(system), settings.elevation_unit, where)
        scale, offset = source.scales[number - 1], source.offsets[number - 1]
        nodata, confirmed = source.nodatavals[number - 1], settings.elevation_nodata
        flags = set(source.mask_flag_enums[number - 1])
        transform = source.transform
        upward = transform.e > 0 and transform.b == transform.d == 0
        if upward:
            transform = type(transform)(transform.a, 0, transform.c, 0, -transform.e, transform.f + transform.e * source.height)
        band = Band(
            str(path), number, system, tuple(transform)[:6], source.height, source.width, upward,
            None if nodata is None or np.isnan(nodata) else nodata, () if confirmed is None else (confirmed,),
            not flags <= {MaskFlags.all_valid, MaskFlags.nodata}, scale, offset, factor,
        )  # fmt: skip
    if confirmed is not None and nodata is not None and nodata != confirmed:
        notes.append(f"no data: {nodata:g} as the raster says, and {confirmed:g} as elevation_nodata says")
    if (scale, offset) != (1.0, 0.0):
        notes.append(f"elevation = stored value times {scale:g} plus {offset:g}, as the raster says")
    notes.append(unit_note)
    return band


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


def _refuse_classes(source, number: int, where: str) -> None:
    """Codes of classes are not elevations: they would be averaged and sloped into nonsense (T19)."""
    from rasterio.enums import ColorInterp

    if source.colorinterp[number - 1] == ColorInterp.palette:
        raise InputError(
            "the raster holds classes, not elevations", where=where, found="a colour table for its codes",
            remedy="name the raster of elevations",
        )  # fmt: skip


def _system(source, stated: str | None, where: str) -> str:
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
        return told.to_wkt()
    own = CRS.from_wkt(source.crs.to_wkt())
    if told is not None and not same_system(own, told):
        raise InputError(
            "the raster says another system than the survey file", where=f"{where}, terrain.elevation_crs",
            found=f"{own.name} in the raster, {told.name} in elevation_crs",
            remedy="take elevation_crs out; if the raster is wrong, correct the raster",
        )  # fmt: skip
    return own.to_wkt()
