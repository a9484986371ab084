"""Polygons and lines of the user's: opened safely, checked, in the survey's system.

Files are only read. Where a file holds several layers, one must be named, and
the error lists them; a missing system is an error; polygons come back valid, as
MultiPolygon, with a text column ``id``.
"""

from __future__ import annotations

from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from . import environment as _environment  # noqa: F401
from .errors import InputError

SIDE_FILES = ("-wal", "-shm", "-journal")


def read_layer(path: Path, layer: str | None, *, id: str | None = None, crs: str, what: str) -> gpd.GeoDataFrame:
    """All features of one layer in ``crs``; ``id`` is the column that errors name features by.

    Raises InputError when the file is missing, holds several layers and none is
    named, has no system or one that its coordinates deny, is empty, or when a feature has no shape.
    """
    import pyogrio

    path = Path(path)
    if not path.exists():
        raise InputError(f"the file of {what} is not there", where=str(path), remedy="check the path in the survey file")
    wal = path.with_name(path.name + "-wal")
    if wal.exists() and wal.stat().st_size:
        raise InputError(
            f"the file of {what} is being edited: its latest edits lie in a side file",
            where=str(path), found=wal.name, remedy="save and close it in the other program, then run again",
        )
    try:
        names = [str(name) for name in pyogrio.list_layers(path)[:, 0]]
    except Exception as error:
        raise InputError(f"the file of {what} cannot be opened", where=str(path), found=str(error),
                         remedy="give a GeoPackage, GeoJSON, Shapefile or KML") from error
    names = [name for name in names if name != "layer_styles"]
    if layer is None:
        if len(names) != 1:
            raise InputError(f"the file of {what} holds several layers and none is named", where=str(path),
                             found=", ".join(names), remedy='name one, as { file = "...", layer = "..." }')
        layer = names[0]
    elif layer not in names:
        raise InputError(f"the file of {what} has no such layer", where=str(path), found=layer, allowed=", ".join(names))
    frame = gpd.read_file(path, layer=layer, engine="pyogrio")
    if not isinstance(frame, gpd.GeoDataFrame):
        raise InputError(f"the layer of {what} has no geometry", where=f"{path}, layer {layer}")
    if frame.crs is None:
        raise InputError(f"the layer of {what} does not say its coordinate system", where=f"{path}, layer {layer}",
                         remedy="set it in the file (assign, do not reproject), then run again")
    if frame.empty:
        raise InputError(f"the layer of {what} is empty", where=f"{path}, layer {layer}")
    bare = (frame.geometry.isna() | frame.geometry.is_empty).to_numpy()
    if bare.any():
        raise InputError(
            f"{what}: {_counted(bare)} no shape, so no sum could count it", where=f"{path}, layer {layer}",
            found=_features(frame, bare, id), remedy="draw it or delete it in the file, then run again",
        )  # fmt: skip
    return _in_system(frame.reset_index(drop=True), crs, f"{path}, layer {layer}", what)


def _in_system(frame: gpd.GeoDataFrame, crs: str, where: str, what: str) -> gpd.GeoDataFrame:
    """Reprojected; coordinates that the file's own system cannot have are an error."""
    west, south, east, north = frame.total_bounds
    found = f"{west:.10g} to {east:.10g}, {south:.10g} to {north:.10g}, said to be in {frame.crs.name}"
    remedy = "set the system that the coordinates are in (assign, do not reproject), then run again"
    if frame.crs.is_geographic and not (-360 <= west <= east <= 360 and -90.001 <= south <= north <= 90.001):
        if where.split(", layer ")[0].lower().endswith((".geojson", ".json")):
            remedy = ("a GeoJSON that names no system is in degrees (RFC 7946): save it as a GeoPackage with the system that the "
                      "coordinates are in, or in degrees")  # fmt: skip
        raise InputError(f"the coordinates of {what} are no degrees, though their system is in degrees", where=where,
                         found=found, remedy=remedy)
    moved = frame.to_crs(crs)
    if not np.isfinite(moved.total_bounds).all() or not np.isfinite(shapely.get_coordinates(moved.geometry.values)).all():
        raise InputError(f"{what} cannot be brought into the survey's system {crs}", where=where, found=found, remedy=remedy)
    return moved


def _counted(which: np.ndarray) -> str:
    return f"{which.sum()} of {len(which)} features {'has' if which.sum() == 1 else 'have'}"


def _features(frame: pd.DataFrame, which: np.ndarray, id: str | None = None) -> str:
    """The features by number, as they stand in the file, with their names where they have any."""
    names = frame[id] if id in frame.columns else pd.Series(None, index=frame.index, dtype=object)
    told = [f"feature {place + 1}" + ("" if _nameless(names.iloc[place]) else f" ({names.iloc[place]})") for place in np.flatnonzero(which)]
    return ", ".join(told[:8]) + (f" and {len(told) - 8} more" if len(told) > 8 else "")


def _nameless(value: object) -> bool:
    return bool(pd.isna(value)) or not str(value).strip()


def refuse_nameless(frame: pd.DataFrame, id: str, path: Path, what: str) -> None:
    """Raise InputError naming the features whose column ``id`` is empty: none may enter a table under a name like nan."""
    nameless = np.array([_nameless(value) for value in frame[id]], dtype=bool)
    if nameless.any():
        raise InputError(f"{what}: {_counted(nameless)} no id", where=f"{path}, column {id}", found=_features(frame, nameless),
                         remedy="fill the column in the file, or leave id out: features are then numbered")


def read_polygons(path: Path, layer: str | None = None, *, id: str | None = None, crs: str, what: str) -> gpd.GeoDataFrame:
    """Polygons as valid MultiPolygons with a unique text column ``id`` and the source's other columns.

    ``id`` names the source's column; without one, features are numbered. Repair
    keeps the area within one part in a million or fails.
    """
    frame = read_layer(path, layer, id=id, crs=crs, what=what)
    kinds = set(frame.geom_type)
    if not kinds <= {"Polygon", "MultiPolygon"}:
        raise InputError(f"the layer of {what} must hold polygons", where=str(path), found=", ".join(sorted(kinds)))
    frame["id"] = ids_of(frame, id, path, what)
    frame = frame.set_geometry(_repaired(frame, path, what))
    return frame[["id", *[name for name in frame.columns if name not in ("id", "geometry")], "geometry"]]


def read_lines(path: Path, layer: str | None = None, *, id: str | None = None, crs: str, what: str) -> gpd.GeoDataFrame:
    """Lines with a unique text column ``id``."""
    frame = read_layer(path, layer, id=id, crs=crs, what=what)
    kinds = set(frame.geom_type)
    if not kinds <= {"LineString", "MultiLineString"}:
        raise InputError(f"the layer of {what} must hold lines", where=str(path), found=", ".join(sorted(kinds)))
    frame["id"] = ids_of(frame, id, path, what)
    return frame


def ids_of(frame: pd.DataFrame, id: str | None, path: Path, what: str) -> pd.Series:
    """The id column as trimmed text; a number-like id never gains ``.0``."""
    if id is None:
        return pd.Series([str(number) for number in range(1, len(frame) + 1)], index=frame.index, dtype="str")
    if id not in frame.columns:
        raise InputError(f"{what}: there is no column {id!r}", where=str(path), found=id,
                         allowed=", ".join(str(name) for name in frame.columns if name != "geometry"))
    refuse_nameless(frame, id, path, what)
    ids = [
        str(int(value)) if isinstance(value, (float, np.floating)) and float(value).is_integer() else str(value).strip()
        for value in frame[id]
    ]
    twice = sorted({value for value in ids if ids.count(value) > 1})
    if twice:
        raise InputError(f"{what}: ids must be unique", where=f"{path}, column {id}", found=", ".join(twice[:8]))
    return pd.Series(ids, index=frame.index, dtype="str")


def _repaired(frame: gpd.GeoDataFrame, path: Path, what: str) -> gpd.GeoSeries:
    geometry = frame.geometry.values
    ready = []
    for name, shape in zip(frame["id"], geometry, strict=True):
        if not shape.is_valid:
            fixed = shapely.make_valid(shape, method="structure", keep_collapsed=False)
            if abs(fixed.area - shape.area) > 1e-6 * max(shape.area, 1e-9):
                raise InputError(f"{what}: a polygon is not valid and cannot be repaired without changing its area",
                                 where=f"{path}, id {name}", found=shapely.is_valid_reason(shape),
                                 remedy="repair it by hand: an outline must not cross itself")
            shape = fixed
        parts = [part for part in getattr(shape, "geoms", [shape]) if part.geom_type == "Polygon"]
        ready.append(shapely.MultiPolygon(parts))
    return gpd.GeoSeries(ready, index=frame.index, crs=frame.crs)
