"""The land that a survey is about, so that one pit with a wrong zone does not shrink the map to a dot."""

from __future__ import annotations

import geopandas as gpd
import numpy as np

from ..errors import InputError
from ..layers import read_polygons
from .bundle import Bundle
from .frames import has_place

Bounds = tuple[float, float, float, float]


def survey_bounds(bundle: Bundle) -> Bounds | None:
    """West, south, east, north of the land, m; None where neither land nor pits have a place.

    From the survey's area; without one from zones, parcels, routes and areas to be
    stripped; without these from the elevation raster; without it from the pits.
    """
    area = _area(bundle)
    if area is not None:
        return _around([area])
    layers = [] if bundle.zones is None else [bundle.zones.zones, bundle.zones.parcels, bundle.zones.route]
    layers += [] if bundle.salvage is None else [bundle.salvage.lifts]
    found = _around([layer for layer in layers if layer is not None and len(layer)])
    if found is not None:
        return found
    if bundle.terrain is not None:
        return bundle.terrain.grid.bounds
    pits = bundle.pits.pits
    return _around([pits[has_place(pits)]])


def pits_on_the_land(bundle: Bundle) -> np.ndarray:
    """True for pits with a place no farther from the land than half its larger side."""
    pits = bundle.pits.pits
    placed = has_place(pits)
    bounds = survey_bounds(bundle)
    if bounds is None:
        return placed
    west, south, east, north = bounds
    reach = max(east - west, north - south, 100.0) / 2
    x, y = np.full(len(pits), np.nan), np.full(len(pits), np.nan)
    x[placed], y[placed] = pits.geometry[placed].x, pits.geometry[placed].y
    return placed & (x >= west - reach) & (x <= east + reach) & (y >= south - reach) & (y <= north + reach)


def _area(bundle: Bundle) -> gpd.GeoDataFrame | None:
    source = bundle.context.survey.area_source
    if source is None:
        return None
    try:
        return read_polygons(bundle.context.path(source.file), source.layer, crs=bundle.context.survey.crs, what="the survey area")
    except InputError:  # earlier stages have said so; the outputs then show what there is
        return None


def _around(layers: list[gpd.GeoDataFrame]) -> Bounds | None:
    bounds = np.array([layer.total_bounds for layer in layers if len(layer)])
    if not len(bounds) or not np.isfinite(bounds).all():
        return None
    return float(bounds[:, 0].min()), float(bounds[:, 1].min()), float(bounds[:, 2].max()), float(bounds[:, 3].max())
