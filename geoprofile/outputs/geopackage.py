"""Writer ``geopackage``: survey.gpkg, which a desktop GIS opens dressed.

    layers of the products  ->  a copy beside the file  ->  styles, headings, hashes  ->  proof  ->  one move

The file is byte-stable: no clock enters it, and running twice leaves it as it is.
"""

from __future__ import annotations

import sqlite3
import warnings
from contextlib import closing, contextmanager, nullcontext
from pathlib import Path

from .. import environment as _environment  # noqa: F401
from ..errors import OutputError
from ..products import OutputFile
from ..written import file_sha256
from . import geopackage_guard as guard
from .bundle import Bundle
from .geopackage_dress import dress, undress
from .geopackage_layers import Layer, layers_of
from .placing import move_into_place, temporary_folder

FILE = "survey.gpkg"
STAMP = "2000-01-01T00:00:00.000Z"
"""Stands where the format wants a time of change; a real one would make every run a new file."""

VERSION = "1.3"
"""Version of the GeoPackage standard: the newest that the programs in use open without remark."""

what = "survey.gpkg: pits, attributes, zones and tables, dressed for a desktop GIS"


def write(bundle: Bundle) -> tuple[OutputFile, ...]:
    """Write survey.gpkg; see the module. Raises OutputError, leaving an existing file untouched."""
    context = bundle.context
    target = context.output / FILE
    layers = layers_of(bundle)
    with temporary_folder(context) as folder:
        ready = folder / FILE
        with guard.held(target, bundle.settings.lock_wait_s) if target.exists() else nullcontext() as old:
            before = _start_from(old, ready) if old is not None else {}
            write_layers(ready, layers)
            _finish(ready, layers, before)
            if old is not None and not old.write_ahead and _same_content(ready, old.connection):
                ready = None
        if ready is not None:
            guard.refuse_side_files(target)
            return (move_into_place(context, ready, FILE, what, looked_after=True),)
    return (OutputFile(FILE, file_sha256(target), what),)


def _start_from(old: guard.Held, ready: Path) -> dict[str, tuple[int, str]]:
    """Begin with a copy that holds only what is not ours; returns that content for the proof."""
    guard.copy_whole(old, ready)
    with closing(sqlite3.connect(ready, isolation_level=None)) as copy:
        guard.refuse_hand_edits(copy, old.path)
        before = guard.foreign_content(copy)
        ours = guard.our_layers_in(copy)
        undress(copy)
    if not before:
        ready.unlink()  # nothing of anybody else's: a fresh file has the same bytes every time
        return before
    import fiona

    for name in ours:
        fiona.remove(str(ready), driver="GPKG", layer=name)
    return before


def write_layers(path: Path, layers: list[Layer]) -> None:
    """Append layers to ``path`` with the fixed time stamp."""
    import pyogrio

    with fixed_stamp(), warnings.catch_warnings():
        warnings.simplefilter("ignore")  # remarks of the driver about tables that are not ours
        for layer in layers:
            place = {"geometry_name": "geom", "geometry_type": layer.geometry, "crs": layer.crs} if layer.geometry else {}
            try:
                pyogrio.write_arrow(
                    layer.table, path, layer=layer.name, driver="GPKG", append=False,
                    dataset_options={"VERSION": VERSION} if not path.exists() else {},
                    layer_options={"IDENTIFIER": layer.title, "DESCRIPTION": layer.help}, **place,
                )
            except Exception as error:
                raise OutputError(f"the layer {layer.name} could not be written", where=FILE, found=str(error)) from error


@contextmanager
def fixed_stamp():
    """GDAL writes STAMP as the time of change."""
    import pyogrio

    name = "OGR_CURRENT_DATE"
    before = pyogrio.get_gdal_config_option(name)
    pyogrio.set_gdal_config_options({name: STAMP})
    try:
        yield
    finally:
        pyogrio.set_gdal_config_options({name: before})


def _finish(ready: Path, layers: list[Layer], before: dict[str, tuple[int, str]]) -> None:
    with closing(sqlite3.connect(ready, isolation_level=None)) as connection:
        connection.execute("BEGIN")
        dress(connection, layers, STAMP)
        connection.execute("COMMIT")
        connection.execute("VACUUM")
        rows = {layer.name: layer.table.num_rows for layer in layers if layer.name != "record"}
        guard.prove_whole(connection, ready, before, rows)


def _same_content(ready: Path, old: sqlite3.Connection) -> bool:
    """True when the new file says what the old one says, row by row: then there is nothing to replace."""
    with closing(sqlite3.connect(ready)) as new:
        return _everything(new) == _everything(old)


def _everything(connection: sqlite3.Connection) -> dict[str, tuple[int, str]]:
    """Rows and content of every table; those of the standard in a fixed order, since theirs has no meaning."""
    found = {}
    for name in guard.table_names(connection):
        if not name.startswith(("rtree_", "sqlite_")):
            order = " ORDER BY 1, 2" if name.startswith("gpkg_") else ""
            found[name] = guard.content_hash(connection, guard.select_all(name) + order)
    return found
