"""The files of the demonstration, the same bytes each time they are made: no clock, no random order."""

from __future__ import annotations

import csv
import io
import zipfile
from datetime import datetime
from pathlib import Path
from xml.sax.saxutils import escape

import geopandas as gpd
import numpy as np
import shapely

from .ground import CRS, Ground

STAMP = datetime(2025, 1, 1)


def write_elevation(path: Path, ground: Ground) -> None:
    """Heights to a centimetre, single precision, band unit m."""
    import rasterio

    with rasterio.open(
        path, "w", driver="GTiff", height=ground.grid.height, width=ground.grid.width, count=1, dtype="float32", crs=CRS,
        transform=rasterio.Affine(*ground.grid.transform), nodata=float("nan"), compress="deflate", predictor=3, zlevel=9,
        tiled=True, blockxsize=256, blockysize=256,
    ) as sink:  # fmt: skip
        sink.write(ground.elevation.astype("float32"), 1)
        sink.units = ("m",)
        sink.set_band_description(1, "Elevation (invented)")


def write_workbook(path: Path, sheets: dict[str, list[dict]]) -> None:
    """Plain sheets, all ids and depths that are text as text; the archive's clock is set."""
    from openpyxl import Workbook
    from openpyxl.styles import Font
    from openpyxl.utils import get_column_letter

    book = Workbook()
    book.remove(book.active)
    for title, rows in sheets.items():
        sheet = book.create_sheet(title)
        headings = list(rows[0])
        sheet.append(headings)
        for row in rows:
            sheet.append([row.get(heading) for heading in headings])
        for number, heading in enumerate(headings, start=1):
            sheet.cell(1, number).font = Font(bold=True)
            sheet.column_dimensions[get_column_letter(number)].width = max(9, len(heading) + 2)
        sheet.freeze_panes = "B2"
    book.properties.creator = "invented"
    book.properties.created = book.properties.modified = STAMP
    memory = io.BytesIO()
    book.save(memory)
    with zipfile.ZipFile(memory) as source, zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as sink:
        for item in sorted(source.infolist(), key=lambda item: item.filename):
            text = source.read(item)
            if item.filename == "docProps/core.xml":
                text = _without_clock(text)
            entry = zipfile.ZipInfo(item.filename, (2025, 1, 1, 0, 0, 0))
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.create_system = 3
            sink.writestr(entry, text)


def _without_clock(text: bytes) -> bytes:
    """openpyxl writes the time of saving whatever was set."""
    import re

    return re.sub(rb"(<dcterms:modified[^>]*>)[^<]*", rb"\g<1>2025-01-01T00:00:00Z", text)


def write_waypoints(path: Path, points: list[tuple[str, float, float, str]]) -> None:
    """GPX 1.1 waypoints: name, longitude, latitude, comment."""
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        '<gpx version="1.1" creator="invented" xmlns="http://www.topografix.com/GPX/1/1">',
    ]
    for name, longitude, latitude, comment in points:
        remark = f"<cmt>{escape(comment)}</cmt>" if comment else ""
        lines.append(f'  <wpt lat="{latitude:.7f}" lon="{longitude:.7f}"><name>{escape(name)}</name>{remark}</wpt>')
    path.write_text("\n".join([*lines, "</gpx>", ""]), encoding="utf-8")


def write_rows(path: Path, rows: list[dict]) -> None:
    with open(path, "w", encoding="utf-8", newline="") as sink:
        writer = csv.DictWriter(sink, list(rows[0]), lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


def write_layers(path: Path, layers: dict[str, dict[str, list]]) -> None:
    """GeoPackage layers: name -> columns, one of them ``geometry``. Polygons become MultiPolygon."""
    import pyogrio

    path.unlink(missing_ok=True)
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": "2025-01-01T00:00:00.000Z"})
    try:
        for number, (name, columns) in enumerate(layers.items()):
            shapes = [shapely.MultiPolygon([shape]) if shape.geom_type == "Polygon" else shape for shape in columns["geometry"]]
            frame = gpd.GeoDataFrame({key: value for key, value in columns.items() if key != "geometry"}, geometry=shapes, crs=CRS)
            pyogrio.write_dataframe(frame, path, layer=name, driver="GPKG", append=number > 0)
    finally:
        pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": None})


def to_degrees(x, y, crs: str = CRS) -> tuple[np.ndarray, np.ndarray]:
    """Longitude and latitude as a receiver shows them (WGS 84)."""
    from pyproj import Transformer

    return Transformer.from_crs(crs, "EPSG:4326", always_xy=True).transform(np.asarray(x, float), np.asarray(y, float))
