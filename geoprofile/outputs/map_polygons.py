"""Polygons and lines for the page: simplified together for display, in degrees, with what they say.

Neighbouring zones are simplified as one coverage, so that no gap and no overlap
appears; the files of the run keep every vertex.
"""

from __future__ import annotations

import re

import geopandas as gpd
import numpy as np
import shapely

from ..layers import read_polygons
from .bundle import Bundle
from .map_colours import class_colour, ramp
from .map_pits import plain_number, plain_text
from .map_places import Places
from .palette import NOT_BACKED, NOT_BACKED_GREY

HIDDEN = {"geometry", "id", "zone_id", "polygon_id", "code", "name", "parts", "smoothing_changed_area_percent"}
"""Known from the title, or of use only in the tables."""
LABELS = {
    "from": "drafted from",
    "area_percent": "share of the area",
    "area_by_cells_ha": "its class by cells, before merging",
}
UNITS = {"ha": "ha", "cm": "cm", "m": "m", "m2": "m²", "m3": "m³", "percent": "%"}


def vectors_plain(bundle: Bundle, places: Places, tolerance_m: float) -> list[dict]:
    """One entry a layer, in drawing order from below: area, zones, strata, parcels, salvage, route."""
    layers = []
    area = bundle.context.survey.area_source
    if area is not None:
        frame = read_polygons(
            bundle.context.path(area.file), area.layer, crs=bundle.context.survey.crs, what="the survey area"
        )
        layers.append(_layer("area", "Survey area", frame, [""] * len(frame), places, tolerance_m, shown=True))
    zones = bundle.zones
    if zones is not None:
        if len(zones.zones):
            frame = zones.zones
            titled = in_words(frame, bundle)
            zone_layer = _layer("zones", "Zones", titled, _names(frame), places, tolerance_m, legend=_legend(frame))
            layers.append(zone_layer | {"told": "; ".join(dict.fromkeys(titled.get("from", [])))})
        for name, title, frame in (("strata", "Strata", zones.strata), ("parcels", "Parcels", zones.parcels)):
            if frame is not None and len(frame):
                layers.append(_layer(name, title, frame, _names(frame), places, tolerance_m))
    if bundle.salvage is not None and len(bundle.salvage.lifts):
        frame = bundle.salvage.lifts
        layers.append(_layer("salvage", "Salvage polygons", frame, _names(frame), places, 0.0))
    if zones is not None and zones.route is not None and len(zones.route):
        layers.append(_layer("route", "Route", zones.route, _names(zones.route), places, 0.0, shown=True))
    return layers


def _names(frame: gpd.GeoDataFrame) -> list[str]:
    for name in ("name", "zone_id", "id", "polygon_id"):
        if name in frame.columns:
            return [plain_text(value) for value in frame[name]]
    return [str(k + 1) for k in range(len(frame))]


def in_words(zones: gpd.GeoDataFrame, bundle: Bundle) -> gpd.GeoDataFrame:
    """Zones whose ``from`` names the attribute as people do: 'surface of Depth to the Bt (cm)'."""
    if "from" not in zones:
        return zones
    titles = {f"surface of {d.name}": f"{d.title} ({d.unit})" if d.unit else d.title for d in bundle.attributes.definitions}
    return zones.assign(**{"from": [titles.get(str(text), plain_text(text)) for text in zones["from"]]})


def _legend(zones: gpd.GeoDataFrame) -> dict[int, dict]:
    """One colour a code."""
    legend: dict[int, dict] = {}
    for code, name, hectares in zip(zones["code"], zones["name"], zones["area_ha"], strict=True):
        row = legend.setdefault(int(code), {"label": plain_text(name), "ha": 0.0})
        row["ha"] += float(hectares)
    classes = [code for code in sorted(legend) if legend[code]["label"] != NOT_BACKED]
    ordered = all(re.search(r"\d", legend[code]["label"]) for code in classes)  # class limits: light to dark
    colours = ramp("depth", len(classes)) if ordered else [class_colour(k) for k in range(len(classes))]
    chosen = dict(zip(classes, colours))
    for code, row in legend.items():
        row.update(colour=chosen.get(code, NOT_BACKED_GREY), ha=plain_number(row["ha"], 3))
    return dict(sorted(legend.items()))


def _layer(
    name: str,
    title: str,
    frame: gpd.GeoDataFrame,
    names: list[str],
    places: Places,
    tolerance_m: float,
    *,
    shown: bool = False,
    legend: dict[int, dict] | None = None,
) -> dict:
    shapes = _simplified(frame.geometry.values, tolerance_m)
    codes = [int(code) for code in frame["code"]] if legend else [None] * len(frame)
    kept = [column for column in frame.columns if column not in HIDDEN and column != frame.geometry.name]
    features: dict[bytes, dict] = {}
    for k, shape in enumerate(shapes):
        says = _says(frame.iloc[k], kept)
        key = names[k].encode() + shapely.to_wkb(shape)
        if key in features:  # lifts of one polygon share its outline
            features[key]["says"].append(says)
            continue
        paths, closed = _paths(shape, places)
        features[key] = {
            "name": names[k],
            "says": [says],
            "paths": paths,
            "closed": closed,
            "colour": legend[codes[k]]["colour"] if legend else None,
            "label": _label_point(shape, places),
        }
    return {
        "name": name,
        "title": title,
        "shown": shown,
        "features": list(features.values()),
        "legend": list(legend.values()) if legend else [],
    }


def _simplified(shapes: np.ndarray, tolerance_m: float) -> np.ndarray:
    if tolerance_m <= 0 or not all(shape.geom_type in ("Polygon", "MultiPolygon") for shape in shapes):
        return shapes
    if not shapely.coverage_is_valid(shapes):
        return shapes
    # The tolerance of a coverage is the root of the area that may be cut off a vertex.
    simple = shapely.coverage_simplify(shapes, tolerance_m)
    return np.where(shapely.is_empty(simple), shapes, simple)


def _label_point(shape: shapely.Geometry, places: Places) -> list[float]:
    """A point well inside the largest part."""
    largest = max(getattr(shape, "geoms", [shape]), key=lambda part: (part.area, part.length))
    inside = (
        largest.representative_point()
        if largest.area == 0
        else shapely.maximum_inscribed_circle(largest).interpolate(0)
    )
    return _flat(np.array([[inside.x, inside.y]]), places)


def _paths(shape: shapely.Geometry, places: Places) -> tuple[list, bool]:
    """Polygons as a list of parts, each a list of rings; a ring is flat latitude, longitude, latitude ..."""
    closed = shape.geom_type in ("Polygon", "MultiPolygon")
    parts = []
    for part in getattr(shape, "geoms", [shape]):
        rings = [part.exterior, *part.interiors] if closed else [part]
        parts.append([_flat(np.asarray(ring.coords)[: -1 if closed else None, :2], places) for ring in rings])
    return parts, closed


def _flat(points: np.ndarray, places: Places) -> list[float]:
    latitude, longitude = places.latitude_longitude(points[:, 0], points[:, 1])
    return np.column_stack([latitude, longitude]).ravel().tolist()


def _says(row, columns: list[str]) -> list[list[str]]:
    """Label and text of every filled column."""
    says = []
    for column in columns:
        value = row[column]
        label, _, last = str(column).rpartition("_")
        unit = UNITS.get(last, "")
        label = (label if unit and label else str(column)).replace("_", " ")
        label = LABELS.get(str(column), label)
        if isinstance(value, (int, float, np.number)) and not isinstance(value, (bool, np.bool_)):
            number = plain_number(value, 4)
            text = "" if number is None else f"{number:,}".replace(",", " ")
        else:
            text = plain_text(value)
        if text:
            says.append([label, f"{text} {unit}".strip()])
    return says
