"""Placemarks of a KML file: name, description and data fields, nothing else (G15).

Read through pyogrio, whose driver keeps extended data and needs no setting.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import geopandas as gpd
import shapely

from ...errors import InputError
from .raw import RawTable, table_of, text_of
from .vector import choose_layer

OWN_FIELDS = {
    "id", "timestamp", "begin", "end", "altitudemode", "tessellate", "extrude", "visibility", "draworder", "icon",
    "snippet",
}
"""Fields that the format adds to every placemark (OGC KML 2.3, 2015)."""


class Kml:
    """Points of a KML or KMZ file."""

    suffixes = (".kml", ".kmz")

    def read(self, path: Path, *, sheet: str | None = None, header_row: int = 1) -> RawTable:
        import pyogrio

        path = Path(path)
        try:
            layers = [str(name) for name in pyogrio.list_layers(path)[:, 0]]
        except Exception as error:  # pyogrio raises several kinds
            raise InputError("the KML file cannot be opened", where=str(path), found=str(error)) from error
        layer = choose_layer(layers, sheet, path)
        frame = pyogrio.read_dataframe(path, layer=layer)
        names = [name for name in frame.columns if name != "geometry" and name.lower() not in OWN_FIELDS]
        renamed = [{"Name": "name", "Description": "description"}.get(name, name) for name in names]
        records = [[text_of(value) for value in row] for row in frame[names].astype(object).where(frame[names].notna(), None).to_numpy()]
        points = frame.geometry.geom_type == "Point"
        faults = {
            (number, -1): ("a place must be one point", str(kind), "give points, one a pit")
            for number, kind in enumerate(frame.geometry.geom_type) if not points.iloc[number]
        }
        table = table_of(renamed, records, range(1, len(records) + 1), sheet=layer, faults=faults)
        shapes = [shapely.force_2d(frame.geometry.iloc[row - 1]) if points.iloc[row - 1] else None for row in table.rows]
        return replace(table, geometry=gpd.GeoSeries(shapes, crs="EPSG:4326"))


READER = Kml()
