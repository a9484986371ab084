"""[zones]: draft polygons and the tables by zone, stratum, parcel, recorded soil and route."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from .base import LayerSource, Settings


class DraftSettings(Settings):
    """How draft zones are drawn."""

    from_: Literal["surface", "landform_elements", "clusters"] = Field(
        alias="from", description="what they are drawn from"
    )
    attribute: str | None = Field(None, description="attribute whose surface is cut into classes")
    limits_cm: tuple[float, ...] | None = Field(
        None,
        min_length=1,
        description="class limits, ascending, cm; a value equal to a limit belongs to the class above it",
    )
    limits: tuple[float, ...] | None = Field(
        None, min_length=1, description="class limits of an attribute that is not in cm, in its own unit"
    )
    not_backed: Literal["zone", "leave_out"] = Field(
        "zone", description="land that the pits do not back: a zone of its own, or left out and its hectares told"
    )
    clusters: int = Field(5, ge=2, le=20, description="number of terrain clusters")
    use: tuple[str, ...] | None = Field(None, description="terrain rasters that clusters are made from")

    @model_validator(mode="after")
    def _complete(self):
        if self.from_ == "surface":
            if not self.attribute:
                raise ValueError('zones from a surface need attribute = "..."')
            if (self.limits_cm is None) == (self.limits is None):
                raise ValueError(
                    "zones from a surface need limits_cm = [10, 25, 50] (or limits, where the unit is not cm)"
                )
        for limits in (self.limits_cm, self.limits):
            if limits and any(b <= a for a, b in zip(limits, limits[1:])):
                raise ValueError("class limits must ascend, each greater than the one before")
        return self


class ZonesSettings(Settings):
    """[zones]"""

    draft: DraftSettings | None = Field(None, description="how draft zones are drawn; left out = none")
    map_scale: int | None = Field(
        None, gt=0,
        description="denominator of the map scale: sets least area and smoothing; left out = that of the survey, else a cell is taken as 0.5 mm of map",
    )  # fmt: skip
    least_area_ha: float | None = Field(
        None, ge=0, description="smaller zones are merged, ha; overrides map_scale; 0 = none are merged"
    )
    smoothing_m: float | None = Field(
        None,
        ge=0,
        description="how much shared outlines are simplified, m; left out = 0.5 mm of map, at least a cell; 0 = cell edges stay",
    )
    most_area_change_percent: float = Field(
        5.0, gt=0, le=50, description="smoothing is lessened until no zone's area changes by more than this, %"
    )
    less_than_cm: dict[str, tuple[float, ...]] = Field(
        default_factory=dict,
        description="limits by attribute, cm: how many pits of a zone, stratum or parcel lie below; left out = those of the surfaces and of the draft",
    )
    seed: int = Field(1, ge=0, description="seed of the clusters and of simulations")
    parcels: LayerSource | None = Field(None, description="parcels for the planner's table")
    route: LayerSource | None = Field(None, description="line along which pits are listed by chainage")
    route_within_m: float = Field(50.0, gt=0, description="pits nearer than this belong to the route, m")
