"""Clothes of the GeoPackage: styles, readable headings with units, and the hash of each layer as written.

Styles lie in the table ``layer_styles``, the convention of general desktop GIS;
it is not listed among the contents, so that no program offers it as a layer.
Headings lie in ``gpkg_data_columns`` (OGC 12-128r19, schema extension).
"""

from __future__ import annotations

import sqlite3

from .geopackage_guard import CONTENT_ITEM, OWNER, layer_hash, table_names
from .geopackage_layers import LAYERS, Layer
from .styles import qml, sld

STYLE_NAME = "geoprofile"

_STYLES = """
CREATE TABLE layer_styles (
    id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
    f_table_catalog TEXT(256), f_table_schema TEXT(256), f_table_name TEXT(256), f_geometry_column TEXT(256),
    styleName TEXT(30), styleQML TEXT, styleSLD TEXT, useAsDefault BOOLEAN, description TEXT, owner TEXT(30),
    ui TEXT(30), update_time DATETIME
)"""

# Annex A of OGC 12-128r19; the two tables belong together.
_DATA_COLUMNS = """
CREATE TABLE gpkg_data_columns (
    table_name TEXT NOT NULL, column_name TEXT NOT NULL, name TEXT, title TEXT, description TEXT, mime_type TEXT,
    constraint_name TEXT,
    CONSTRAINT pk_gdc PRIMARY KEY (table_name, column_name),
    CONSTRAINT gdc_tn UNIQUE (table_name, name)
)"""
_CONSTRAINTS = """
CREATE TABLE gpkg_data_column_constraints (
    constraint_name TEXT NOT NULL, constraint_type TEXT NOT NULL, value TEXT, min NUMERIC, min_is_inclusive BOOLEAN,
    max NUMERIC, max_is_inclusive BOOLEAN, description TEXT,
    CONSTRAINT gdcc_ntv UNIQUE (constraint_name, constraint_type, value)
)"""
_EXTENSION = "http://www.geopackage.org/spec121/#extension_schema"


def undress(connection: sqlite3.Connection) -> None:
    """Take our styles and headings out; those of others stay."""
    marks = ", ".join("?" * len(LAYERS))
    here = table_names(connection)
    if "layer_styles" in here:
        connection.execute(f"DELETE FROM layer_styles WHERE f_table_name IN ({marks}) AND owner IS ?", (*LAYERS, OWNER))
    if "gpkg_data_columns" in here:
        connection.execute(f"DELETE FROM gpkg_data_columns WHERE table_name IN ({marks})", LAYERS)


def dress(connection: sqlite3.Connection, layers: list[Layer], stamp: str) -> None:
    """Add styles, headings and content hashes of ``layers``; ``stamp`` stands for the time of change."""
    here = table_names(connection)
    if "layer_styles" not in here:
        connection.execute(_STYLES)
    if "gpkg_data_columns" not in here:
        connection.execute(_DATA_COLUMNS)
        connection.execute(_CONSTRAINTS)
        connection.executemany(
            "INSERT INTO gpkg_extensions VALUES (?, NULL, 'gpkg_schema', ?, 'read-write')",
            [("gpkg_data_columns", _EXTENSION), ("gpkg_data_column_constraints", _EXTENSION)],
        )
    first = connection.execute("SELECT coalesce(max(id), 0) + 1 FROM layer_styles").fetchone()[0]
    for number, layer in enumerate(layers, start=first):
        _add_style(connection, layer, number, stamp)
        _add_headings(connection, layer)
    _add_hashes(connection, layers)


def _add_style(connection: sqlite3.Connection, layer: Layer, number: int, stamp: str) -> None:
    aliases = [("fid", "Feature number"), *((name, column.heading) for name, column in layer.columns.items())]
    # a default that somebody chose for the layer is kept; ours then waits behind it
    taken = connection.execute(
        "SELECT count(*) FROM layer_styles WHERE f_table_name = ? AND useAsDefault", (layer.name,)
    ).fetchone()[0]
    connection.execute(
        "INSERT INTO layer_styles VALUES (?, '', '', ?, ?, ?, ?, ?, ?, ?, ?, NULL, ?)",
        (
            number, layer.name, "geom" if layer.geometry else "", STYLE_NAME, qml(layer.style, aliases),
            sld(layer.style, layer.name, layer.title), not taken, layer.title, OWNER, stamp,
        ),
    )  # fmt: skip


def _add_headings(connection: sqlite3.Connection, layer: Layer) -> None:
    rows = [("fid", "Feature number", "number of the row in this file; not an id of ours")]
    rows += [(name, column.heading, column.help or column.heading) for name, column in layer.columns.items()]
    if layer.geometry:
        rows.append(("geom", "Geometry", layer.geometry))
    names: set[str] = set()
    for name, heading, help in rows:
        alias = heading if heading not in names else f"{heading} [{name}]"  # the standard wants them unique in a layer
        names.add(alias)
        connection.execute(
            "INSERT INTO gpkg_data_columns VALUES (?, ?, ?, ?, ?, NULL, NULL)", (layer.name, name, alias, heading, help)
        )


def _add_hashes(connection: sqlite3.Connection, layers: list[Layer]) -> None:
    rows = [
        ("outputs", CONTENT_ITEM + layer.name, layer_hash(connection, layer.name)) for layer in layers if layer.name != "record"
    ]
    connection.executemany("INSERT INTO record (stage, item, content) VALUES (?, ?, ?)", rows)
