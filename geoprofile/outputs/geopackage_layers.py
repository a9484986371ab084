"""What goes into survey.gpkg: each layer as an Arrow table with real types and real nulls, and its style."""

from __future__ import annotations

import re
from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd
import pyarrow as pa
import shapely

from ..errors import OutputError
from ..products import (
    HORIZON_COLUMNS,
    PIT_COLUMNS,
    READING_COLUMNS,
    SOIL_NAME_COLUMNS,
    SOIL_NAME_STEP_COLUMNS,
    VALUE_COLUMNS,
)
from . import frames
from .bundle import Bundle
from .columns import Column, describe
from .names import safe_names
from .palette import INK, PIT, QUIET, ROUTE, SALVAGE, category_colours
from .styles import Style

LAYERS = (
    "pits", "pits_without_place", "horizons", "readings", "attributes", "attribute_definitions", "soil_names",
    "soil_name_evidence", "zones", "salvage",
    "parcels", "strata", "route", "problems", "surfaces", "scores", "refusals", "record",
)  # fmt: skip
"""Every layer name that is ours. Any other layer in the file is somebody else's and is kept."""

_KINDS = {
    name: kind
    for columns in (PIT_COLUMNS, HORIZON_COLUMNS, READING_COLUMNS, VALUE_COLUMNS, SOIL_NAME_COLUMNS, SOIL_NAME_STEP_COLUMNS)
    for name, (kind, _) in columns.items()
}
_SINGULAR = {"parcels": "parcel", "strata": "stratum", "route": "route"}
_FULL_DATE = re.compile(r"\d{4}-\d{2}-\d{2}")


@dataclass(frozen=True)
class Layer:
    """One layer ready to write. ``geometry`` is Point, MultiPolygon, MultiLineString or empty for a table."""

    name: str
    title: str
    help: str
    table: pa.Table
    columns: dict[str, Column]
    style: Style
    geometry: str = ""
    crs: str = ""


def layers_of(bundle: Bundle) -> list[Layer]:
    """The layers of a run, in the order they are listed in."""
    pits = frames.wide_pits(bundle)
    placed = frames.has_place(pits)
    definitions = bundle.attributes.definitions

    def table(name: str, title: str, help: str, frame: pd.DataFrame) -> Layer:
        return _layer(name, title, help, frame, Style("table"), definitions=definitions)

    layers = [
        _layer("pits", "Pits", "one row a pit or inspection, with what it says of each attribute", pits[placed],
               Style("point", PIT, label="pit_id"), "Point", definitions),
        table("pits_without_place", "Pits without a place", "pits whose coordinates are not known",
              pits[~placed].drop(columns="geometry")),
        table("horizons", "Horizons", "one row a horizon, depths from the pit's datum", bundle.pits.horizons),
        table("readings", "Direct readings", "depths read in the field without a description", bundle.pits.readings),
        table("attributes", "Attributes", "one row a pit and attribute, with what it rests on",
              frames.attribute_values(bundle.attributes)),
        table("attribute_definitions", "Meaning of the attributes", "what each attribute means",
              frames.attribute_definitions(bundle.attributes)),
    ]  # fmt: skip
    if bundle.soil_names is not None:
        layers += [
            table("soil_names", "Soils named from the record", "advice, a qualified pedologist decides: how sure, what was supposed, "
                  "what is missing, the surveyor's name", bundle.soil_names.names),
            table("soil_name_evidence", "Evidence for the soil names", "what the key asks, what the record answers, where the rule is "
                  "printed", bundle.soil_names.steps),
        ]  # fmt: skip
    layers += _areas(bundle)
    layers += [
        table("problems", "Problems", "each fault found, with its place and what to do", frames.all_problems(bundle)),
        table("surfaces", "Surfaces and their files", "what each raster shows, in which file, by which method, and how good it is",
              frames.surface_register(bundle)),
        table("scores", "Scores of the surfaces", "how far the surfaces are from pits they had not seen",
              frames.scores_told(bundle)),
        table("refusals", "Attributes not drawn", "attributes whose depth or thickness is not drawn, why, and what is given instead", frames.refusals(bundle)),
        table("record", "Record", "settings, inputs, versions and hashes: how all this was made", frames.record_table(bundle)),
    ]  # fmt: skip
    return layers


def _areas(bundle: Bundle) -> list[Layer]:
    layers = []
    zones = bundle.zones
    if zones is not None and len(zones.zones):
        names = zones.zones.sort_values("code")["name"] if "code" in zones.zones else zones.zones["name"]
        colours = category_colours(list(dict.fromkeys(names.astype(str))))
        style = Style("polygon", by="name", categories=tuple(colours.items()), label="name", opacity=0.55)
        layers.append(_layer("zones", "Zones", "draft zones: check and correct them in a copy", zones.zones, style, "MultiPolygon"))
    if bundle.salvage is not None and len(bundle.salvage.lifts):
        layers.append(_layer("salvage", "Salvage lifts", f"lifts by polygon; topsoil by the rule set: {bundle.salvage.rule_title or bundle.salvage.rule}", bundle.salvage.lifts,
                             Style("polygon", SALVAGE, opacity=0.35), "MultiPolygon"))  # fmt: skip
    outlines = {"parcels": ("Parcels", INK), "strata": ("Strata", QUIET), "route": ("Route", ROUTE)}
    for name, (title, colour) in outlines.items():
        frame = None if zones is None else getattr(zones, name)
        if frame is not None and len(frame):
            line = name == "route"
            label = next((key for key in ("id", f"{_SINGULAR[name]}_id") if key in frame), "")
            style = Style("line" if line else "polygon", colour, label=label, filled=False)
            layers.append(_layer(name, title, f"{title.lower()} as read", frame, style, "MultiLineString" if line else "MultiPolygon"))
    return layers


def _layer(
    name: str, title: str, help: str, frame: pd.DataFrame, style: Style, geometry: str = "", definitions: tuple = ()
) -> Layer:
    shapes = frame.geometry if geometry else None
    plain = pd.DataFrame(frame.drop(columns=frame.geometry.name) if geometry else frame).reset_index(drop=True)
    names = safe_names(plain.columns)
    columns = {new: describe(old, definitions, name) for old, new in names.items()}
    arrays = {new: arrow_column(plain[old], old) for old, new in names.items()}
    crs = ""
    if geometry:
        if frame.crs is None:
            raise OutputError(f"the layer {name} does not say its coordinate system", where="survey.gpkg")
        crs = frame.crs.to_string()
        arrays["geom"] = pa.array(shapely.to_wkb(_shaped(shapes, geometry)), pa.binary())
    return Layer(name, title, help, pa.table(arrays), columns, style, geometry, crs)


def _shaped(shapes: gpd.GeoSeries, geometry: str) -> np.ndarray:
    """Shapes all of one declared kind; two dimensions."""
    flat = shapely.force_2d(shapes.to_numpy())
    if geometry == "MultiPolygon":
        return np.array([shapely.MultiPolygon(_parts(shape, "Polygon")) for shape in flat], object)
    if geometry == "MultiLineString":
        return np.array([shapely.MultiLineString(_parts(shape, "LineString")) for shape in flat], object)
    return flat


def _parts(shape: shapely.Geometry, kind: str) -> list[shapely.Geometry]:
    return [part for part in getattr(shape, "geoms", [shape]) if part.geom_type == kind]


def arrow_column(values: pd.Series, name: str) -> pa.Array:
    """A column in the type it deserves: whole numbers stay whole, full ISO dates are dates, missing is null."""
    kind = _KINDS.get(name)
    if pd.api.types.is_bool_dtype(values.dtype) and kind != "text":
        return pa.array([None if pd.isna(value) else bool(value) for value in values], pa.bool_())
    if pd.api.types.is_integer_dtype(values.dtype):
        return pa.array([None if pd.isna(value) else int(value) for value in values], pa.int64())
    if pd.api.types.is_float_dtype(values.dtype):
        numbers = values.to_numpy(float, na_value=np.nan)
        return pa.array(numbers, pa.float64(), mask=~np.isfinite(numbers))
    if pd.api.types.is_datetime64_any_dtype(values.dtype):
        return pa.array([None if pd.isna(value) else value.isoformat() for value in values], pa.string())
    texts = [None if _is_missing(value) else plain_text(value) for value in values]
    if name == "date" and any(texts) and all(text is None or _FULL_DATE.fullmatch(text) for text in texts):
        dates = pd.to_datetime(pd.Series(texts, dtype="str"), format="%Y-%m-%d", errors="coerce")
        if dates.notna().sum() == sum(text is not None for text in texts):
            return pa.array([None if pd.isna(value) else value.date() for value in dates], pa.date32())
    return pa.array(texts, pa.string())


def _is_missing(value: object) -> bool:
    return value is None or (isinstance(value, str) and value == "") or (pd.api.types.is_scalar(value) and pd.isna(value))


def plain_text(value: object) -> str:
    """Text that a database and XML can hold: no NUL, no lone surrogates."""
    return str(value).replace("\0", "\N{REPLACEMENT CHARACTER}").encode("utf-8", "replace").decode("utf-8")
