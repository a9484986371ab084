"""The places of ``geoprofile next-pits`` as files: waypoints for a hand-held receiver, points for a desktop GIS, a table.

People write into next_pits.gpkg in the field. Layers of theirs in it come through whole, and our layer is replaced
only while it is as we wrote it.
"""

from __future__ import annotations

import hashlib
import sqlite3
from contextlib import closing
from pathlib import Path

import geopandas as gpd

from .. import environment as _environment  # noqa: F401
from .. import written
from ..context import Context
from ..errors import OutputError
from . import geopackage_guard as guard
from .placing import move_into_place, temporary_folder, write_file

LAYER = "next_pits"
GEOPACKAGE = f"{LAYER}.gpkg"
FILES = (f"{LAYER}.gpx", GEOPACKAGE, f"{LAYER}.csv")

_CONTENT = f"{GEOPACKAGE}, layer {LAYER}"
"""Under this name the notes of what we wrote hold the hash of the layer: the file may hold more than ours."""


def refuse_before_work(output: Path) -> None:
    """Raise OutputError where a file in the way is not ours; layers of others in the GeoPackage are no hindrance."""
    written.refuse_before_work(output, [file for file in FILES if file != GEOPACKAGE])


def write_places(places: gpd.GeoDataFrame, caution: str, context: Context, lock_wait_s: float = 10.0) -> list[Path]:
    """next_pits.gpx, .gpkg and .csv, each whole or not at all; the same bytes twice.

    ``places`` as sampling.places gives them; ``caution`` is said in the GeoPackage's and the receiver's words.
    Raises OutputError, with what is there untouched.
    """
    said = [f"gain {row.gain:g} {row.unit}".strip() + f": {row.measure}; {caution}" for row in places.itertuples()]
    waypoints = gpd.GeoDataFrame(
        {"name": places["name"], "desc": said}, geometry=places.geometry, crs=places.crs
    ).to_crs("EPSG:4326")  # fmt: skip
    with temporary_folder(context) as folder:
        ready = folder / FILES[0]
        waypoints.to_file(ready, driver="GPX", layer="waypoints", engine="pyogrio")
        gpx = ready.read_bytes()
    table = places.drop(columns="geometry").to_csv(index=False).encode()
    for file, content in ((FILES[0], gpx), (FILES[2], table)):  # all or none: none may be in the way when the first is written
        written.refuse(context.output, [file], hashlib.sha256(content).hexdigest())
    _write_geopackage(places, context, lock_wait_s)  # first: the one that people may hold open
    write_file(context, FILES[0], gpx, "waypoints")
    write_file(context, FILES[2], table, "table")
    return [context.output / file for file in FILES]


def _write_geopackage(places: gpd.GeoDataFrame, context: Context, lock_wait_s: float) -> None:
    target = context.output / GEOPACKAGE
    with temporary_folder(context) as folder:
        alone, ready = folder / "alone.gpkg", folder / GEOPACKAGE
        _write_layer(places, alone)
        new = _layer_hash(alone)
        if not target.exists():
            ready = alone
        else:
            with guard.held(target, lock_wait_s) as old:
                guard.copy_whole(old, ready)
                with closing(sqlite3.connect(ready)) as copy:
                    before = guard.foreign_content(copy, (LAYER,))
                    ours = LAYER in guard.table_names(copy)
                now = _layer_hash(ready) if ours else None
                if now is not None and now != new and now not in written.known(context.output).get(_CONTENT, ()):
                    raise OutputError(
                        "the layer next_pits was edited by hand since it was written, and would be overwritten; the file is untouched",
                        where=str(target), found=f"layer {LAYER}",
                        remedy="save the layer under a name of its own and delete the old one, or move or rename the file, then run again",
                    )  # fmt: skip
                if now == new:
                    ready = None
                elif not before:
                    ready = alone  # nothing of anybody else's: a fresh file has the same bytes every time
                else:
                    _replace_layer(places, ready, ours, before, target)
        written.note(context.output, _CONTENT, new)
        if ready is not None:
            guard.refuse_side_files(target)
            move_into_place(context, ready, GEOPACKAGE, "points", looked_after=True)


def _replace_layer(places: gpd.GeoDataFrame, ready: Path, ours: bool, before: dict, target: Path) -> None:
    import fiona

    if ours:
        fiona.remove(str(ready), driver="GPKG", layer=LAYER)
    _write_layer(places, ready)
    with closing(sqlite3.connect(ready)) as connection:
        guard.prove_whole(connection, target, before, {LAYER: len(places)}, (LAYER,))


def _layer_hash(path: Path) -> str:
    with closing(sqlite3.connect(path)) as connection:
        return guard.layer_hash(connection, LAYER)


def _write_layer(places: gpd.GeoDataFrame, path: Path) -> None:
    from .geopackage import fixed_stamp

    with fixed_stamp():
        places.to_file(path, driver="GPKG", layer=LAYER, engine="pyogrio")
