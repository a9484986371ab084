"""[terrain]: the elevation raster and what is made of it."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from .base import Settings


class TerrainSettings(Settings):
    """[terrain]"""

    elevation: str | None = Field(None, description="elevation raster", json_schema_extra={"is_file": True})
    elevation_unit: Literal["m", "ft"] | None = Field(
        None, description="unit of elevation; needed when the raster does not say"
    )
    elevation_nodata: float | None = Field(None, description="value that means no data, when the raster does not say")
    elevation_crs: str | None = Field(None, description="system of the raster, when it does not say")
    band: int | None = Field(None, ge=1, description="band to read, where there are several")
    analysis_scale_m: float | None = Field(None, ge=0, description="smoothing before any derivative, m; 0 = none")
    derive: tuple[str, ...] = Field(
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
        description="rasters to make",
    )
    relative_elevation_radius_m: float = Field(100.0, gt=0, description="radius of relative elevation, m")
    depressions: Literal["keep", "fill"] = Field("keep", description="whether potholes are filled for the wetness index")
