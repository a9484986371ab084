"""[zones]: draft polygons and the tables by zone, stratum, parcel, recorded soil and route."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from .base import LayerSource, Settings


class DraftSettings(Settings):
    """How draft zones are drawn."""

    from_: Literal["surface", "landform_elements", "clusters"] = Field(alias="from", description="what they are drawn from")
    attribute: str | None = Field(None, description="attribute whose surface is cut into classes")
    limits_cm: tuple[float, ...] | None = Field(None, description="class limits, ascending, cm")
    clusters: int = Field(5, ge=2, le=20, description="number of terrain clusters")
    use: tuple[str, ...] | None = Field(None, description="terrain rasters that clusters are made from")


class ZonesSettings(Settings):
    """[zones]"""

    draft: DraftSettings | None = Field(None, description="how draft zones are drawn; left out = none")
    map_scale: int | None = Field(None, gt=0, description="denominator of the map scale: sets least area")
    least_area_ha: float | None = Field(None, gt=0, description="smaller zones are merged; overrides map_scale")
    parcels: LayerSource | None = Field(None, description="parcels for the planner's table")
    route: LayerSource | None = Field(None, description="line along which pits are listed by chainage")
    route_within_m: float = Field(50.0, gt=0, description="pits nearer than this belong to the route")
