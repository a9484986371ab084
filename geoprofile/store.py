"""Products to disk and back without loss: tables as Parquet, the rest as JSON.

A product folder appears whole or not at all; a half-written one is never read.
"""

from __future__ import annotations

import dataclasses
import json
import os
import shutil
import tempfile
from pathlib import Path
from typing import TypeVar

import geopandas as gpd
import pandas as pd
from pydantic import TypeAdapter

from .errors import OutputError
from .rasters import RasterFile
from .record import Record
from .written import file_sha256

FORMAT = 1
Product = TypeVar("Product")


def save(product: object, folder: Path) -> Path:
    """Write a product into ``folder``, replacing an older one at the end in one step."""
    folder = Path(folder)
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        new = Path(tempfile.mkdtemp(dir=folder.parent, prefix=f".{folder.name}-"))
    except OSError as error:
        raise OutputError(
            "the output folder cannot be written", where=str(folder.parent.parent), found=error.strerror or str(error),
            remedy="choose another with -o FOLDER or [survey] output, or make it a folder you may write to",
        ) from error
    try:
        plain = {"format": FORMAT, "product": type(product).__name__, "_tables": {}}
        for field in dataclasses.fields(product):
            value = getattr(product, field.name)
            if isinstance(value, pd.DataFrame):
                plain["_tables"][field.name] = _write_table(value, new / f"{field.name}.parquet")
            elif isinstance(value, dict) and value and all(isinstance(v, pd.DataFrame) for v in value.values()):
                plain["_tables"][field.name] = {
                    key: _write_table(table, new / f"{field.name}.{number}.parquet")
                    for number, (key, table) in enumerate(value.items())
                }
            else:
                plain[field.name] = TypeAdapter(type(value)).dump_python(value, mode="json")
        (new / "product.json").write_text(json.dumps(plain, indent=1), encoding="utf-8")
        old = None
        if folder.exists():
            old = folder.with_name(f".{folder.name}-old-{os.getpid()}")
            os.replace(folder, old)
        os.replace(new, folder)
        if old:
            shutil.rmtree(old, ignore_errors=True)
    except OSError as error:
        shutil.rmtree(new, ignore_errors=True)
        raise OutputError("a product could not be saved", where=str(folder), found=str(error)) from error
    return folder


def load(kind: type[Product], folder: Path) -> Product:
    """The inverse of :func:`save`."""
    folder = Path(folder)
    plain = json.loads((folder / "product.json").read_text(encoding="utf-8"))
    hints = _hints(kind)
    values = {}
    for field in dataclasses.fields(kind):
        table = plain["_tables"].get(field.name)
        if isinstance(table, str):
            values[field.name] = _read_table(folder / table)
        elif isinstance(table, dict):
            values[field.name] = {key: _read_table(folder / name) for key, name in table.items()}
        elif field.name in plain:
            value = plain[field.name]
            holds_table = value is None or (value == {} and "DataFrame" in str(hints[field.name]))
            values[field.name] = value if holds_table else TypeAdapter(hints[field.name]).validate_python(value)
    return kind(**values)


def load_if_whole(kind: type[Product], folder: Path) -> Product | None:
    """The product, or None where one of its files is missing, truncated or otherwise unreadable: it is made anew then."""
    try:
        return load(kind, folder)
    except (OSError, ValueError, KeyError, TypeError):
        return None


def saved_record(folder: Path) -> Record | None:
    """The record of a saved product, or None where there is no whole product."""
    try:
        plain = json.loads((Path(folder) / "product.json").read_text(encoding="utf-8"))
        if plain.get("format") != FORMAT:
            return None
        return TypeAdapter(Record).validate_python(plain["record"])
    except (OSError, ValueError, KeyError):
        return None


def rasters_are_whole(rasters: dict[str, RasterFile], output: Path) -> bool:
    """True when every raster a product names is there with the hash it had."""
    return all(
        (Path(output) / raster.path).is_file() and file_sha256(Path(output) / raster.path) == raster.sha256
        for raster in rasters.values()
    )


def _write_table(table: pd.DataFrame, path: Path) -> str:
    table.to_parquet(path)
    return path.name


def _read_table(path: Path) -> pd.DataFrame:
    import pyarrow.parquet

    if b"geo" in (pyarrow.parquet.read_schema(path).metadata or {}):
        return gpd.read_parquet(path)
    return pd.read_parquet(path)


def _hints(kind: type) -> dict[str, object]:
    import typing

    return typing.get_type_hints(kind)
