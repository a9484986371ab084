"""Places brought into the survey's system, with the operation used and its accuracy.

Rows are arrays; a row that cannot be placed is NaN with its reason. Axes are always
x (east, longitude) before y (north, latitude). Nothing is swapped in silence (R17),
zones are per row (R20), and a shift between datums that is only a guess is refused
when it is worse than what is asked for (R21); the network is never used (C5).
"""

from __future__ import annotations

import warnings
from dataclasses import dataclass

import numpy as np

from .. import environment as _environment  # noqa: F401
from ..errors import InputError
from .angles import Angle, Utm, parse_angle, parse_utm, parse_zone, utm_problem
from .nowhere import why_nowhere

__all__ = [
    "Angle",
    "Operation",
    "Placed",
    "Utm",
    "operation_between",
    "parse_angle",
    "parse_utm",
    "parse_zone",
    "place",
    "place_utm",
    "utm_problem",
]

DEFAULT_NEED_M = 10.0
"""Accuracy asked of a change of datum when nothing else is stated, m."""

EARTH_CENTRED = ("GRS 1980", "WGS 84")
EARTH_CENTRED_M = 3.0
"""Datums on these ellipsoids lie within about this of one another, m (common practice, no source)."""


@dataclass(frozen=True)
class Operation:
    """A coordinate operation: what it is called, its accuracy in m (None = not known), grids that would better it."""

    name: str
    accuracy_m: float | None
    missing_grids: tuple[str, ...] = ()

    @property
    def text(self) -> str:
        known = "accuracy not known" if self.accuracy_m is None else f"accuracy {self.accuracy_m:g} m"
        grids = f"; {', '.join(self.missing_grids)} would better it" if self.missing_grids else ""
        return f"{self.name} ({known}{grids})"


@dataclass(frozen=True)
class Placed:
    """x, y (n,) in the survey's system, NaN where not placed; per row the operation ``by`` or the ``problem``."""

    x: np.ndarray
    y: np.ndarray
    by: np.ndarray
    problem: np.ndarray
    operations: tuple[Operation, ...] = ()


def place(x, y, *, source: str, survey: str, area=None, need_m: float = DEFAULT_NEED_M) -> Placed:
    """Points of one system in the survey's.

    Parameters
    ----------
    x, y : arrays (n,) of east and north (longitude and latitude), NaN where missing.
    source, survey : coordinate systems, such as ``EPSG:4326``.
    area : (west, south, east, north) of the survey area in the survey's system, or None.
    need_m : accuracy asked of the change of datum, m.

    Raises
    ------
    InputError when the two coordinates are exchanged in most rows (R17), or when no
    operation is as accurate as asked for (R21).
    """
    x, y = np.atleast_1d(np.asarray(x, dtype=float)), np.atleast_1d(np.asarray(y, dtype=float))
    here = np.isfinite(x) & np.isfinite(y)
    problem = np.where(here, "", "coordinates are missing").astype(object)
    by = np.full(len(x), "", dtype=object)
    out_x, out_y = np.full(len(x), np.nan), np.full(len(x), np.nan)
    if not here.any():
        return Placed(out_x, out_y, by, problem)
    _refuse_misplaced(x[here], y[here], source, survey, area)
    transformer, operation = operation_between(source, survey, _around(x[here], y[here], source), need_m)
    new_x, new_y = transformer.transform(x[here], y[here])
    ok = np.isfinite(new_x) & np.isfinite(new_y)
    rows = np.flatnonzero(here)
    out_x[rows[ok]], out_y[rows[ok]] = new_x[ok], new_y[ok]
    by[rows[ok]] = operation.text
    for row in rows[~ok]:
        problem[row] = why_nowhere(float(x[row]), float(y[row]), source, survey)
    return Placed(out_x, out_y, by, problem, (operation,))


def place_utm(
    easting, northing, zone=None, *, datum: str = "WGS 84", survey: str, area=None, need_m: float = DEFAULT_NEED_M
) -> Placed:
    """UTM points with a zone per row.

    Parameters
    ----------
    easting, northing : arrays (n,), m.
    zone : texts (n,) such as ``12N``; '' where a row has none. A row without a zone
        is placed only where all other rows are in one zone (R20).
    datum : as the register of systems names it: ``WGS 84``, ``NAD83``, ``NAD83(CSRS)``, ``NAD27``.
    """
    easting, northing = np.asarray(easting, dtype=float), np.asarray(northing, dtype=float)
    texts = ["" if text is None else str(text).strip() for text in (zone if zone is not None else [""] * len(easting))]
    north = _hemisphere(survey, area)
    read = [parse_zone(text, north) if text else Utm() for text in texts]
    zones = {(one.zone, one.north) for one in read if one.zone and not one.problem}
    problem = np.array([one.problem for one in read], dtype=object)
    x, y, by = np.full(len(easting), np.nan), np.full(len(easting), np.nan), np.full(len(easting), "", dtype=object)
    for row, text in enumerate(texts):
        if not text:
            if len(zones) == 1:
                read[row] = Utm(zone=next(iter(zones))[0], north=next(iter(zones))[1])
            else:
                problem[row] = (
                    f"no zone in this row, and the table has zones {', '.join(sorted(str(one) for one, _ in zones))}"
                    if zones
                    else "no row says its UTM zone"
                )
        if not problem[row] and np.isfinite(easting[row]) and np.isfinite(northing[row]):
            problem[row] = utm_problem(easting[row], northing[row])
    operations: list[Operation] = []
    for number, is_north in sorted(zones):
        rows = np.array(
            [not problem[row] and (one.zone, one.north) == (number, is_north) for row, one in enumerate(read)]
        )
        rows = np.flatnonzero(rows)
        if len(rows):
            name = f"{datum} / UTM zone {number}{'N' if is_north else 'S'}"
            part = place(easting[rows], northing[rows], source=_known(name), survey=survey, area=area, need_m=need_m)
            x[rows], y[rows], by[rows], problem[rows] = part.x, part.y, part.by, part.problem
            operations += part.operations
    return Placed(x, y, by, problem, tuple(dict.fromkeys(operations)))


def operation_between(source: str, target: str, around=None, need_m: float = DEFAULT_NEED_M):
    """(transformer, Operation): the best operation that needs no missing grid and no network.

    ``around`` is (west, south, east, north) in degrees. Raises InputError when its
    accuracy is worse than ``need_m``, naming the grids that would help.
    """
    from pyproj import CRS
    from pyproj.aoi import AreaOfInterest
    from pyproj.transformer import TransformerGroup

    first, second = CRS(source), CRS(target)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # what is missing is reported below
        group = TransformerGroup(
            first, second, always_xy=True, area_of_interest=AreaOfInterest(*around) if around is not None else None
        )
    if not group.transformers:
        raise InputError(
            f"there is no way from {source} to {target} on this machine", found=first.name, allowed=second.name
        )
    transformer = group.transformers[0]
    accuracy: float | None = transformer.accuracy if transformer.accuracy >= 0 else None
    guess = "ballpark" in transformer.description.lower()
    if guess and {first.ellipsoid.name, second.ellipsoid.name} <= set(EARTH_CENTRED):
        accuracy = EARTH_CENTRED_M
    grids = tuple(
        dict.fromkeys(
            grid.short_name
            for other in group.unavailable_operations
            if accuracy is None or 0 <= other.accuracy < accuracy
            for grid in other.grids
            if not grid.available
        )
    )
    operation = Operation(
        f"{first.name} to {second.name}{_steps(transformer.description, first, second)}", accuracy, grids
    )
    if accuracy is None or accuracy > need_m:
        raise InputError(
            "the change of datum is less accurate than what is asked for",
            where=f"{first.name} to {second.name}",
            found="a guess without a datum shift" if accuracy is None else f"{accuracy:g} m with what is installed",
            allowed=f"{need_m:g} m or better",
            remedy=(
                f"install the grid {' or '.join(grids)} for the projection library"
                if grids
                else "give the points in a system nearer to the survey's"
            )
            + ("" if accuracy is None else ", or ask for less accuracy if the map can bear it"),
        )
    return transformer, operation


def _steps(description: str, first, second) -> str:
    """The changes of datum in an operation's description; what only projects or turns axes is left out."""
    plain = {crs.coordinate_operation.name for crs in (first, second) if crs.coordinate_operation}
    steps = [
        step
        for step in description.split(" + ")
        if not step.startswith("axis order")
        and step.removeprefix("Inverse of ") not in plain
        and step != "Null geographic offset"
    ]
    return f" by {' + '.join(steps)}" if steps else ""


def _refuse_misplaced(x: np.ndarray, y: np.ndarray, source: str, survey: str, area) -> None:
    """Raise InputError where most points lie outside of the area, and inside when exchanged or turned west (R17)."""
    west, south, east, north = _area_in(source, survey, area)
    pad_x, pad_y = 0.05 * (east - west), 0.05 * (north - south)

    def inside(one: np.ndarray, other: np.ndarray) -> float:
        fits = (one >= west - pad_x) & (one <= east + pad_x) & (other >= south - pad_y) & (other <= north + pad_y)
        return float(fits.mean())

    as_given, exchanged = inside(x, y), inside(y, x)
    if as_given < 0.5 <= exchanged:
        raise InputError(
            "the two coordinates look exchanged: nothing was changed",
            found=f"{as_given:.0%} of the points lie in the area as given, {exchanged:.0%} with x and y exchanged",
            remedy="exchange the two columns in [pits.columns] (x is east or longitude, y is north or latitude)",
        )
    if as_given < 0.5 <= inside(-x, y):
        raise InputError(
            "the points lie on the other side of the globe: west is written without its minus sign or W",
            found=f"{as_given:.0%} of the points lie in the area as given, {inside(-x, y):.0%} with x turned negative",
            remedy="write longitudes west of Greenwich with a minus sign or a W",
        )


def _area_in(source: str, survey: str, area) -> tuple[float, float, float, float]:
    """Bounds of the survey area in ``source``; without an area, where the survey's system may be used."""
    from pyproj import CRS, Transformer

    if area is not None:
        return Transformer.from_crs(survey, source, always_xy=True).transform_bounds(*area, densify_pts=5)
    use = CRS(survey).area_of_use
    bounds = (use.west, use.south, use.east, use.north) if use else (-180.0, -90.0, 180.0, 90.0)
    return Transformer.from_crs("OGC:CRS84", source, always_xy=True).transform_bounds(*bounds, densify_pts=5)


def _around(x: np.ndarray, y: np.ndarray, source: str) -> tuple[float, float, float, float] | None:
    """Bounds of the points in degrees, good enough to choose an operation."""
    from pyproj import Transformer

    longitude, latitude = Transformer.from_crs(source, "OGC:CRS84", always_xy=True).transform(x, y)
    ok = np.isfinite(longitude) & np.isfinite(latitude)
    if not ok.any():
        return None
    return (longitude[ok].min(), latitude[ok].min(), longitude[ok].max(), latitude[ok].max())


def _hemisphere(survey: str, area) -> bool | None:
    """Whether the survey area proves north (True) or south (False)."""
    _, south, _, north = _area_in("OGC:CRS84", survey, area)
    return True if south >= 0 else False if north <= 0 else None


def _known(name: str) -> str:
    from pyproj import CRS
    from pyproj.exceptions import CRSError

    try:
        CRS(name)
    except CRSError as error:
        raise InputError(
            "there is no such UTM system",
            found=name,
            allowed="WGS 84, NAD83, NAD83(CSRS), NAD27, ETRS89 ... with zone",
            remedy="state the datum of the coordinates",
        ) from error
    return name
