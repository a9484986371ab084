"""Points of GeoPackage, GeoJSON and Shapefile, through fiona.

Several layers and none named is an error that lists them (G5). A GeoPackage's
own feature number is kept as ``source_fid``, never as our id (G6).
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import geopandas as gpd
import shapely
import shapely.geometry

from ...errors import InputError
from .raw import RawTable, table_of, text_of


class Vector:
    """A layer of points, or a table without geometry, of a GeoPackage, GeoJSON or Shapefile."""

    suffixes = (".gpkg", ".geojson", ".json", ".shp")

    def read(self, path: Path, *, sheet: str | None = None, header_row: int = 1) -> RawTable:
        import fiona

        path = Path(path)
        wal = path.with_name(path.name + "-wal")
        if wal.exists() and wal.stat().st_size:
            raise InputError("the file is being edited: its latest edits lie in a side file", where=str(path),
                             found=wal.name, remedy="save and close it in the other program, then run again")
        try:
            layers = [name for name in fiona.listlayers(path) if name != "layer_styles"]
        except Exception as error:  # fiona raises several kinds, none of them public in one place
            raise InputError("the file cannot be opened", where=str(path), found=str(error),
                             remedy="give a GeoPackage, GeoJSON or Shapefile") from error
        layer = choose_layer(layers, sheet, path)
        with fiona.open(path, layer=layer) as source:
            fields = list(source.schema["properties"])
            crs = source.crs.to_wkt() if source.crs else None
            numbered = source.driver == "GPKG"
            features = list(source)
        return features_table(features, fields, crs, layer, path, numbered=numbered)


def choose_layer(layers: list[str], asked: str | None, path: Path) -> str:
    """The layer asked for, or the only one; InputError lists them otherwise."""
    if asked is not None:
        if asked not in layers:
            raise InputError("the file has no such layer", where=str(path), found=asked, allowed=", ".join(layers))
        return asked
    if len(layers) != 1:
        raise InputError("the file holds several layers and none is named", where=str(path),
                         found=", ".join(layers), remedy='name one, as { file = "...", layer = "..." }')
    return layers[0]


def features_table(features, fields, crs, layer, path, *, numbered: bool = False) -> RawTable:
    """A RawTable of fiona features; what is not a single point is a fault of its row."""
    names = [*fields, *(["source_fid"] if numbered else [])]
    records, shapes, faults = [], [], {}
    spatial = any(feature.geometry is not None for feature in features)
    for number, feature in enumerate(features):
        record = [text_of(feature.properties[name]) for name in fields]
        records.append([*record, str(feature.id)] if numbered else record)
        if not spatial:
            continue
        shape = shapely.geometry.shape(feature.geometry) if feature.geometry is not None else None
        if shape is not None and shape.geom_type == "MultiPoint" and len(shape.geoms) == 1:
            shape = shape.geoms[0]
        if shape is not None and (shape.geom_type != "Point" or shape.is_empty):
            faults[(number, -1)] = ("a place must be one point", shape.geom_type, "give points, one a pit")
            shape = None
        shapes.append(None if shape is None else shapely.force_2d(shape))
    table = table_of(names, [record or [""] for record in records] if names else [], range(1, len(records) + 1),
                     sheet=layer, faults=faults if names else {})
    if not spatial:
        return table
    kept = gpd.GeoSeries([shapes[row - 1] for row in table.rows], crs=crs)
    return replace(table, geometry=kept)


READER = Vector()
