"""Writing without harm: what must hold before an existing GeoPackage may be replaced, and after.

An existing file is refused, untouched, when it is not a whole GeoPackage, when
side files lie beside it, when another program holds it, or when one of our
layers in it was edited by hand. Layers that are not ours come through whole:
rows and content are compared before and after.
"""

from __future__ import annotations

import errno
import hashlib
import os
import shutil
import sqlite3
import struct
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from ..errors import OutputError, not_written
from ..layers import SIDE_FILES
from .geopackage_layers import LAYERS

OWNER = "geoprofile"
CONTENT_ITEM = "content of layer "
"""Rows of the record table that hold the hash of a layer as we wrote it."""

_SAFE = "the file is untouched"


@dataclass(frozen=True)
class Held:
    """A GeoPackage that nobody else can change while we look at it."""

    path: Path
    connection: sqlite3.Connection
    source: BinaryIO
    write_ahead: bool
    """The file is in write-ahead mode, closed: its next writer would leave side files beside it."""


@contextmanager
def held(path: Path, wait_s: float) -> Iterator[Held]:
    """The existing file, proven whole and locked against every other program until the block ends.

    Raises OutputError naming the file; nothing is written to it.
    """
    refuse_side_files(path)
    in_wal_mode = _check_header(path)
    # Opened before and closed after the lock: closing any handle of a file drops all POSIX locks of the process on it.
    with open(path, "rb") as source:
        if in_wal_mode:
            # No side files beside a file in this mode: nobody has it open. Asking for a lock would make side files.
            with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro&immutable=1", uri=True)) as connection:
                yield Held(path, connection, source, True)
                refuse_side_files(path)
            return
        with closing(sqlite3.connect(path, timeout=0, isolation_level=None)) as connection:
            _lock(connection, path, wait_s)
            yield Held(path, connection, source, False)


def refuse_side_files(path: Path) -> None:
    beside = [path.name + ending for ending in SIDE_FILES if path.with_name(path.name + ending).exists()]
    if beside:
        raise OutputError(
            f"the GeoPackage is open in another program, or was left with unsaved edits; {_SAFE}", where=str(path),
            found=f"{', '.join(beside)} beside it", remedy="save and close it there, then run again",
        )


def _check_header(path: Path) -> bool:
    """True when the file is in write-ahead mode; raises where it is not a whole SQLite file."""
    if path.is_dir():
        raise not_written(IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR)), path)
    size = path.stat().st_size if path.is_file() else 0
    head = _head(path)
    remedy = "move it away or restore it from a copy, then run again"
    if len(head) < 100 or not head.startswith(b"SQLite format 3\0"):
        raise OutputError(f"the file in the way is not a GeoPackage; {_SAFE}", where=str(path), remedy=remedy)
    page = struct.unpack(">H", head[16:18])[0]
    page = 65536 if page == 1 else page
    pages = struct.unpack(">I", head[28:32])[0]
    if head[24:28] == head[92:96] and pages * page > size:
        raise OutputError(f"the GeoPackage is cut short; {_SAFE}", where=str(path),
                          found=f"{size} bytes", allowed=f"{pages * page} bytes by its own header", remedy=remedy)
    return 2 in (head[18], head[19])


def _head(path: Path) -> bytes:
    if not path.is_file():
        return b""
    with open(path, "rb") as source:
        return source.read(100)


def _lock(connection: sqlite3.Connection, path: Path, wait_s: float) -> None:
    deadline = time.monotonic() + wait_s
    while True:
        try:
            connection.execute("BEGIN EXCLUSIVE")
            return
        except sqlite3.OperationalError as error:
            if "locked" in str(error) and time.monotonic() < deadline:
                time.sleep(0.05)
                continue
            raise OutputError(
                f"the GeoPackage is held by another program; {_SAFE}", where=str(path),
                found=f"{error}, after waiting {wait_s:g} s", remedy="close it there, then run again",
            ) from error
        except sqlite3.DatabaseError as error:
            raise _damaged(path, error) from error


def copy_whole(old: Held, copy: Path) -> None:
    """Copy under the lock, then let SQLite check the copy and that it is a GeoPackage."""
    path = old.path
    with open(copy, "wb") as sink:
        old.source.seek(0)
        shutil.copyfileobj(old.source, sink, 1 << 20)
    try:
        with closing(sqlite3.connect(copy, isolation_level=None)) as target:
            target.execute("PRAGMA journal_mode = DELETE")
            verdict = target.execute("PRAGMA quick_check(1)").fetchone()[0]
            if verdict != "ok":
                raise _damaged(path, verdict)
            if "gpkg_contents" not in table_names(target):
                raise OutputError(f"the file in the way is not a GeoPackage; {_SAFE}", where=str(path),
                                  found="an SQLite file without a list of contents", remedy="move it away, then run again")
    except sqlite3.DatabaseError as error:
        raise _damaged(path, error) from error


def _damaged(path: Path, why: object) -> OutputError:
    return OutputError(f"the GeoPackage is damaged; {_SAFE}", where=str(path), found=str(why),
                       remedy="move it away or restore it from a copy, then run again")


def table_names(connection: sqlite3.Connection) -> list[str]:
    return [name for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name")]


def our_layers_in(connection: sqlite3.Connection) -> list[str]:
    return [name for name in LAYERS if name in set(table_names(connection))]


def foreign_tables_in(connection: sqlite3.Connection, layers: tuple[str, ...] = LAYERS) -> list[str]:
    """Tables of other people: neither ours (``layers``), nor of the standard, nor SQLite's own."""
    ours = set(layers)
    plain = [
        name
        for name in table_names(connection)
        if name not in ours and not name.startswith(("sqlite_", "gpkg_")) and name != "layer_styles"
        and not any(name == f"rtree_{layer}_geom" or name.startswith(f"rtree_{layer}_geom_") for layer in ours)
    ]  # fmt: skip
    virtual = {
        name for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE sql LIKE 'CREATE VIRTUAL%'")
    }
    return [name for name in plain if name not in virtual]


def content_hash(connection: sqlite3.Connection, query: str, values: tuple = ()) -> tuple[int, str]:
    """Number of rows and SHA-256 of their content, in the order of the query."""
    digest, count = hashlib.sha256(), 0
    for row in connection.execute(query, values):
        digest.update(repr(row).encode("utf-8", "surrogatepass"))
        count += 1
    return count, digest.hexdigest()


def select_all(table: str) -> str:
    return 'SELECT * FROM "{}"'.format(table.replace('"', '""'))


def layer_hash(connection: sqlite3.Connection, layer: str) -> str:
    return content_hash(connection, f'SELECT * FROM "{layer}" ORDER BY 1')[1]


def foreign_content(connection: sqlite3.Connection, layers: tuple[str, ...] = LAYERS) -> dict[str, tuple[int, str]]:
    """What must be the same afterwards: every foreign table, and its rows in the tables of the standard."""
    found = {}
    for name in foreign_tables_in(connection, layers):
        found[name] = content_hash(connection, select_all(name))
    marks = ", ".join("?" * len(layers))
    here = set(table_names(connection))
    for table, column in (("gpkg_contents", "table_name"), ("gpkg_geometry_columns", "table_name"),
                          ("gpkg_data_columns", "table_name")):  # fmt: skip
        if table in here:
            query = f"SELECT * FROM {table} WHERE {column} NOT IN ({marks}) ORDER BY 1, 2"
            found[table] = content_hash(connection, query, layers)
    if "layer_styles" in here:
        query = f"SELECT * FROM layer_styles WHERE NOT (f_table_name IN ({marks}) AND owner IS ?) ORDER BY id"
        found["layer_styles"] = content_hash(connection, query, (*layers, OWNER))
    return {name: value for name, value in found.items() if value[0] or name not in _STANDARD}


_STANDARD = ("gpkg_contents", "gpkg_geometry_columns", "gpkg_data_columns", "layer_styles")


def refuse_hand_edits(connection: sqlite3.Connection, path: Path) -> None:
    """Refuse when a layer with one of our names is not as we wrote it."""
    here = our_layers_in(connection)
    told = {}
    if "record" in here:
        try:
            told = dict(connection.execute("SELECT item, content FROM record WHERE stage = 'outputs'"))
        except sqlite3.DatabaseError:
            told = {}
    changed = [
        name for name in here if name != "record" and told.get(CONTENT_ITEM + name) != layer_hash(connection, name)
    ]  # fmt: skip
    if changed:
        raise OutputError(
            f"a layer was edited by hand since it was written, and would be overwritten; {_SAFE}", where=str(path),
            found=", ".join(changed),
            remedy="save the edited layer under a name of its own (such as zones_edited), delete the old one or move the "
            "file away, then run again",
        )


def prove_whole(
    connection: sqlite3.Connection, path: Path, before: dict[str, tuple[int, str]], rows: dict[str, int],
    layers: tuple[str, ...] = LAYERS,
) -> None:
    """What was written is all there, and what was there before is as it was."""
    verdict = connection.execute("PRAGMA integrity_check(1)").fetchone()[0]
    counts = {name: connection.execute(f'SELECT count(*) FROM "{name}"').fetchone()[0] for name in rows}
    after = foreign_content(connection, layers) if before else {}
    lost = [name for name, content in before.items() if after.get(name) != content]
    short = [name for name, count in rows.items() if counts[name] != count]
    if verdict != "ok" or lost or short:
        raise OutputError(
            f"the new GeoPackage did not come out whole; {_SAFE}", where=str(path),
            found=f"{verdict}; changed: {', '.join([*lost, *short]) or 'nothing'}", remedy="report this: it is our fault",
        )
