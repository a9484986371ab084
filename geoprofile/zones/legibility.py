"""What a map scale means on the ground: least area, smoothing, and what is too small to read."""

from __future__ import annotations

from dataclasses import dataclass

import geopandas as gpd
import shapely

from ..settings.zones import ZonesSettings
from .findings import Findings

LEAST_AREA_CM2 = 0.5
"""Least area of a delineation on the map, cm2 (Canadian practice, from memory)."""
LEGIBLE_SIDE_MM = 5.0
"""Side of the smallest square that can be read on a map, mm (statements printed on published soil maps)."""
DRAWN_MM = 0.5
"""Outlines are not drawn finer than this, mm of map (common practice, no source)."""


@dataclass(frozen=True)
class MapScale:
    """``denominator`` of the scale; least area in ha, smoothing in m; where they come from, in words."""

    denominator: int
    least_area_ha: float
    smoothing_m: float
    sentence: str

    @property
    def legible_ha(self) -> float:
        return (LEGIBLE_SIDE_MM / 1000 * self.denominator) ** 2 / 10_000


def least_area_ha(denominator: float, cm2: float = LEAST_AREA_CM2) -> float:
    """Hectares on the ground of ``cm2`` on a map of scale 1 : ``denominator``."""
    return cm2 * (denominator / 100) ** 2 / 10_000


def map_scale(settings: ZonesSettings, survey_scale: int | None, cell_m: float) -> MapScale:
    """The scale of [zones], else of [survey], else the one at which a cell is 0.5 mm wide."""
    denominator = settings.map_scale or survey_scale
    origin = f"the map scale is 1:{denominator}"
    if denominator is None:
        denominator = round(cell_m / DRAWN_MM * 1000)
        origin = f"no map scale is given, so a cell of {cell_m:g} m is taken as {DRAWN_MM:g} mm of map: 1:{denominator}"
    if settings.least_area_ha is not None:
        least, why = settings.least_area_ha, "as asked for"
    else:
        least, why = (
            least_area_ha(denominator),
            f"{LEAST_AREA_CM2:g} cm2 of map, a common least delineation, from memory",
        )
    smoothing = settings.smoothing_m
    if smoothing is None:
        smoothing = max(cell_m, DRAWN_MM / 1000 * denominator)
    return MapScale(denominator, least, smoothing, f"{origin}; least area {least:g} ha ({why})")


def legibility_warnings(zones: gpd.GeoDataFrame, scale: MapScale, findings: Findings) -> None:
    """One problem a zone that has parts too small to read at the scale."""
    for name, shape in zip(zones["name"], zones.geometry):
        area_ha = shapely.area(shapely.get_parts(shape)) / 10_000
        small = area_ha < scale.legible_ha
        if small.any():
            findings.problem(
                "warning", "smaller than legible",
                f"zone {name!r}: {int(small.sum())} of {len(area_ha)} parts are smaller than can be read at 1:{scale.denominator}",
                found=f"{area_ha[small].sum():.2f} ha, the smallest {area_ha.min():.3f} ha",
                allowed=f"{scale.legible_ha:g} ha, a square of {LEGIBLE_SIDE_MM:g} mm on the map",
                remedy="raise least_area_ha, or state the larger scale the map is meant for",
            )  # fmt: skip
