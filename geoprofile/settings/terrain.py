"""[terrain]: the elevation raster and what is made of it."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from .base import Settings

Derivative = Literal[
    "slope",
    "aspect",
    "profile_curvature",
    "plan_curvature",
    "tangential_curvature",
    "mean_curvature",
    "relative_elevation",
    "height_within_relief",
    "radiation",
    "hillshade",
    "wetness_index",
    "catchment_area",
    "height_above_channel",
    "distance_to_channel",
    "landform_element",
    "relative_height_class",
]


class TerrainSettings(Settings):
    """[terrain]"""

    elevation: str | tuple[str, ...] | None = Field(
        None,
        description="elevation raster, or a list of rasters that lie on one lattice of cells",
        json_schema_extra={"is_file": True},
    )
    elevation_unit: Literal["m", "ft"] | None = Field(
        None, description="unit of elevation, m or ft (0.3048 m); needed when the raster's band does not say"
    )
    elevation_nodata: float | None = Field(None, description="value that means no data, when the raster does not say")
    elevation_crs: str | None = Field(None, description="system of the raster, when it does not say")
    band: int | None = Field(None, ge=1, description="band to read, where there are several; 1 = first")
    analysis_scale_m: float | None = Field(
        None, ge=0, description="width of the smoothing before any derivative, m (two standard deviations); 0 = none"
    )
    further_scales_m: tuple[float, ...] = Field(
        (), description="further analysis scales for slope, aspect and curvatures, m; rasters are named as slope_at_50m"
    )
    derive: tuple[Derivative, ...] = Field(
        (
            "slope",
            "aspect",
            "profile_curvature",
            "plan_curvature",
            "tangential_curvature",
            "relative_elevation",
            "wetness_index",
            "landform_element",
        ),
        description="rasters to make; aspect gives two, its sine and its cosine",
    )
    slope_method: Literal["evans", "horn"] = Field(
        "evans", description="window for slope and aspect: evans (least-squares quadratic, 1980) or horn (1981)"
    )
    relative_elevation_radius_m: float = Field(
        100.0, gt=0, description="radius of relative elevation and of classes of relative height, m"
    )
    flat_up_to_degrees: float = Field(
        5.0, ge=0, description="relative height: of the ground at middle height, this slope or less is flat, degrees"
    )
    relief_radius_m: float = Field(200.0, gt=0, description="radius of the relief that height_within_relief refers to, m")
    radiation_day_of_year: int = Field(172, ge=1, le=366, description="day of potential radiation; 172 = 21 June")
    radiation_relative: bool = Field(
        False, description="radiation as a multiple of that of level ground (true), or in MJ per m2 and day (false)"
    )
    depressions: Literal["keep", "fill"] = Field(
        "keep", description="whether potholes keep their water or are filled to the brim so that it crosses them"
    )
    least_pothole_depth_m: float = Field(0.0, ge=0, description="potholes less deep than this are taken for noise and filled, m")
    water_way: Literal["steepest", "infinite", "multiple_freeman", "multiple_quinn"] = Field(
        "steepest",
        description="how water is shared: steepest of eight neighbours (1984), infinite directions (Tarboton 1997), or among all "
        "lower neighbours (Freeman 1991, Quinn and others 1991)",
    )
    channel_area_m2: float = Field(
        50_000.0, gt=0, description="least catchment of a channel, m2, for height above and distance to channels"
    )
    least_tangent: float = Field(
        0.001, gt=0, description="least tangent of slope in the wetness index, which has no value on flat ground"
    )
    level_below_degrees: float = Field(
        3.0, ge=0, description="landform elements: ground of this slope or less is level, degrees"
    )
    profile_limit_degrees_per_m: float = Field(
        0.10, gt=0, description="landform elements: more convex downslope is shoulder, more concave footslope, degrees per m"
    )
    least_segment_m2: float = Field(
        0.0, ge=0,
        description="segments of landform elements and of relative height below this size join a neighbour, m2; 0 = none do",
    )  # fmt: skip
