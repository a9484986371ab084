"""Where the pits are, in the survey's system: stated, never guessed.

Points carry their file's system; columns of degrees are WGS 84 unless another
is stated (and a note says so); eastings and northings need a system or a zone
per row. The operation used and its accuracy are reported (R21).
"""

from __future__ import annotations

from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import shapely
from pyproj import CRS
from pyproj.exceptions import CRSError, ProjError

from ..context import Context
from ..errors import InputError, SettingsError
from ..layers import read_polygons
from ..problems import Problem
from .columns import Mapped
from .coordinates import Operation, Placed, parse_angle, place, place_utm
from .nowhere import NO_PLACE, short_name
from .values import by_text, numbers, plain

WGS84 = "EPSG:4326"


@dataclass(frozen=True)
class Positions:
    """Shapely points in the survey's system (None where not known), how each was fixed, and what was decided."""

    geometry: np.ndarray
    by: np.ndarray
    notes: tuple[str, ...] = ()


def survey_area(context: Context):
    """The survey area as one shape in the survey's system, or None where none is named."""
    source = context.survey.area_source
    if source is None:
        return None
    area = read_polygons(context.path(source.file), source.layer, id=source.id, crs=context.survey.crs, what="the survey area")
    return shapely.union_all(area.geometry.to_numpy())


def positions(mapped: Mapped, stated: str | None, context: Context, ids: np.ndarray, area=None) -> Positions:
    """Positions of the rows of a table; rows whose place cannot be known are listed and stay without.

    ``stated`` is the system that the survey file names; ``area`` the survey area, which must hold most of the points
    and, failing that, shows coordinates that were exchanged (R17).
    """
    count = len(ids)
    geometry, by = np.full(count, None, dtype=object), mapped.text("position_by").copy()
    bounds = None if area is None else area.bounds
    notes: list[str] = []
    if not (mapped.raw.geometry is not None or (mapped.has("longitude") and mapped.has("latitude"))
            or (mapped.has("easting") and mapped.has("northing"))):
        return Positions(geometry, by)
    in_plane = mapped.raw.geometry is None and not (mapped.has("longitude") and mapped.has("latitude"))
    if in_plane and mapped.has("utm_zone"):
        x, y = (numbers(mapped, mapped.columns[name][0], ids) for name in ("easting", "northing"))
        zones = [" ".join(pair).strip() for pair in zip(mapped.text("utm_zone"), mapped.text("hemisphere"), strict=True)]
        placed = place_utm(x, y, zones, datum=_datum(stated), survey=context.survey.crs, area=bounds)
        _take(mapped, placed, np.arange(count), np.isfinite(x) & np.isfinite(y), geometry, by, ids, notes)
        return Positions(geometry, by, tuple(notes))
    x, y, systems = _as_given(mapped, stated, context, ids, notes)
    for system in sorted(set(systems) - {""}):
        rows = np.flatnonzero(systems == system)
        try:
            placed = place(x[rows], y[rows], source=system, survey=context.survey.crs, area=bounds)
        except ProjError:  # systems of another planet, or without any way between the two
            for row in rows:
                mapped.problem(int(row), "error", "coordinate system", "there is no way from this system into the survey's", pit_id=ids[row],
                               field="crs", found=short_name(system), allowed=context.survey.crs)
            continue
        _take(mapped, placed, rows, np.ones(len(rows), bool), geometry, by, ids, notes)
    return Positions(geometry, by, tuple(notes))


def _take(mapped: Mapped, placed: Placed, rows, given, geometry, by, ids, notes: list[str]) -> None:
    here = np.isfinite(placed.x) & np.isfinite(placed.y)
    geometry[rows[here]] = shapely.points(placed.x[here], placed.y[here])
    short = {operation.text: _inshort_name(operation) for operation in placed.operations}
    by[rows[here]] = [
        f"{old}; {short.get(new, new)}" if old else short.get(new, new) for old, new in zip(by[rows[here]], placed.by[here], strict=True)
    ]
    for row, why in zip(rows[~here & given], placed.problem[~here & given], strict=True):
        mapped.problem(int(row), "error", "position", "the place cannot be used: " + why, pit_id=ids[row],
                       field="easting" if mapped.has("easting") else "longitude")
    notes.extend(f"{mapped.raw.file}: places by {_inshort_name(operation)}" for operation in placed.operations)


def _inshort_name(operation: Operation) -> str:
    """The operation, its accuracy, and at most two of the grids that would better it."""
    known = "accuracy not known" if operation.accuracy_m is None else f"accuracy {operation.accuracy_m:g} m"
    grids = operation.missing_grids
    if grids:
        known += f"; not installed here: {', '.join(grids[:2])}" + (f" and {len(grids) - 2} more grids" if len(grids) > 2 else "")
    return f"{operation.name} ({known})"


def _as_given(mapped: Mapped, stated, context: Context, ids, notes) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """x, y as written, and the system of each row ('' where there is no place)."""
    count = len(ids)
    x, y, systems = np.full(count, np.nan), np.full(count, np.nan), np.full(count, "", dtype=object)
    if mapped.raw.geometry is not None:
        _from_geometry(mapped, stated, x, y, systems)
    elif mapped.has("longitude") and mapped.has("latitude"):
        system = _geographic(stated)
        if system is None:
            system = WGS84
            notes.append(f"{mapped.raw.file}: longitude and latitude are read as WGS 84; say crs in [pits] if they are not")
        _from_angles(mapped, "longitude", "latitude", x, y, ids)
        systems[np.isfinite(x) & np.isfinite(y)] = system
    else:
        _from_plane(mapped, stated, context, x, y, systems, ids, notes)
    return x, y, systems


def _datum(stated: str | None) -> str:
    """Datum of zones, as the register names it: that of the stated system, else WGS 84."""
    if stated is None:
        return "WGS 84"
    return CRS.from_user_input(stated).geodetic_crs.name


def check_area(pits: gpd.GeoDataFrame, context: Context, area) -> list[Problem]:
    """Pits outside the survey area, or far from where the survey's system is meant, are listed; they stay in the product."""
    known = pits[pits.geometry.notna()]
    if known.empty:
        return []
    crs = CRS.from_user_input(context.survey.crs)
    if area is not None:
        inside = shapely.covers(area, known.geometry.to_numpy())
        what, allowed = "the pit lies outside the survey area", context.survey.area_source.file
    else:
        use = crs.area_of_use
        if use is None:
            return []
        lon_lat = known.geometry.to_crs("EPSG:4326")
        inside = within_use(lon_lat.x.to_numpy(), lon_lat.y.to_numpy(), use)
        what, allowed = "the pit lies outside the region that the survey's system is made for", f"{context.survey.crs}: {use.name.rstrip('.')}"
    return [
        Problem("warning", "outside the area", what, pit_id=row.pit_id, file=row.file, sheet=row.sheet, row=int(row.row),
                found=f"{row.geometry.x:.0f} E, {row.geometry.y:.0f} N", allowed=allowed, remedy="check the coordinates, their zone and system")
        for row in known[~inside].itertuples()
    ]


def within_use(lon: np.ndarray, lat: np.ndarray, use) -> np.ndarray:
    """Whether places lie in a system's region of use (which may cross the date line)."""
    across = use.west > use.east
    east_west = ((lon >= use.west) | (lon <= use.east)) if across else ((lon >= use.west) & (lon <= use.east))
    return east_west & (lat >= use.south) & (lat <= use.north)


def _from_geometry(mapped: Mapped, stated: str | None, x, y, systems) -> None:
    shapes = mapped.raw.geometry
    system = shapes.crs.to_wkt() if shapes.crs is not None else stated
    if system is None:
        raise InputError("the points do not say their coordinate system", where=f"{mapped.raw.file}, {mapped.raw.sheet}",
                         remedy='state it, as points = { file = "...", crs = "EPSG:..." }')
    known = shapes.notna().to_numpy()
    x[known], y[known] = shapes[known].x.to_numpy(), shapes[known].y.to_numpy()
    systems[known] = system


def _from_angles(mapped: Mapped, east: str, north: str, x, y, ids) -> None:
    _refuse_exchanged_columns(mapped, east, north)
    for name, target, axis in ((east, x, "longitude"), (north, y, "latitude")):
        column = mapped.columns[name][0]
        texts = np.array([plain(text, mapped.raw.decimal) for text in mapped.text_in(column)], dtype=object)
        angles = by_text(texts, lambda text: parse_angle(text, axis) if text else None)  # noqa: B023 - used at once
        for position, angle in enumerate(angles):
            if angle is None:
                continue
            if angle.problem or angle.degrees is None:
                mapped.problem(position, "error", "position", f"this is no {axis}: {angle.problem}", field=name, pit_id=ids[position],
                               found=texts[position], allowed="degrees, or degrees, minutes and seconds")
                continue
            target[position] = angle.degrees


def _refuse_exchanged_columns(mapped: Mapped, east: str, north: str) -> None:
    """Raise InputError where most latitudes can only be longitudes, while the longitudes could be latitudes (R17)."""
    texts = [plain(text, mapped.raw.decimal) for text in mapped.text_in(mapped.columns[north][0])]
    others = [plain(text, mapped.raw.decimal) for text in mapped.text_in(mapped.columns[east][0])]
    given = [(one, other) for one, other in zip(texts, others, strict=True) if one and other]

    def fit(north_first: bool) -> int:
        pairs = given if north_first else [(other, one) for one, other in given]
        return sum(not parse_angle(one, "latitude").problem and not parse_angle(other, "longitude").problem for one, other in pairs)

    as_given = fit(True)
    if as_given < len(given) / 2 <= fit(False):
        raise InputError(
            "latitude and longitude look exchanged: nothing was changed", where=f"{mapped.raw.file}, columns {mapped.columns[north][0].heading!r} "
            f"and {mapped.columns[east][0].heading!r}", found=f"{as_given} of {len(given)} rows are places as they stand",
            remedy="exchange the two headings under [pits.columns], or correct the file",
        )


def _from_plane(mapped: Mapped, stated, context: Context, x, y, systems, ids, notes) -> None:
    geographic = _geographic(stated)
    if geographic is not None:
        _from_angles(mapped, "easting", "northing", x, y, ids)
        systems[np.isfinite(x) & np.isfinite(y)] = geographic
        return
    system = stated
    if system is None:
        system = context.survey.crs
        notes.append(f"{mapped.raw.file}: coordinates are read in the survey's system, {system}; say crs in [pits] if they are not")
    x[:] = numbers(mapped, mapped.columns["easting"][0], ids)
    y[:] = numbers(mapped, mapped.columns["northing"][0], ids)
    per_row = mapped.text("crs")
    known = np.isfinite(x) & np.isfinite(y)
    for position in np.flatnonzero(known):
        if x[position] == y[position] == 0:
            mapped.problem(position, "error", "position", NO_PLACE, pit_id=ids[position], field="easting", found="0, 0",
                           allowed=f"metres in {short_name(system)}", remedy="write its coordinates, or leave both cells blank")
            x[position] = y[position] = np.nan
            continue
        if abs(x[position]) <= 180 and abs(y[position]) <= 90:
            mapped.problem(position, "error", "coordinate system", "the coordinates look like degrees, not metres", pit_id=ids[position],
                           field="easting", found=f"{x[position]:g}, {y[position]:g}", allowed=f"metres in {short_name(system)}",
                           remedy="put degrees under longitude and latitude, or say the system of the column")
            x[position] = y[position] = np.nan
            continue
        systems[position] = _per_row_system(per_row[position], system, mapped, position, ids)


def _per_row_system(text: str, default: str, mapped: Mapped, position: int, ids) -> str:
    if not text:
        return default
    try:
        CRS.from_user_input(int(text) if text.isdigit() else text)
        return f"EPSG:{text}" if text.isdigit() else text
    except (CRSError, ValueError):
        mapped.problem(position, "error", "coordinate system", "the coordinate system is not known", field="crs", pit_id=ids[position], found=text,
                       allowed="a code such as EPSG:3158")
        return ""


def _geographic(stated: str | None) -> str | None:
    if stated is None:
        return None
    try:
        return stated if CRS.from_user_input(stated).is_geographic else None
    except CRSError as error:
        raise SettingsError("the coordinate system is not known", where="[pits] crs", found=stated,
                            allowed="a code such as EPSG:4326") from error
