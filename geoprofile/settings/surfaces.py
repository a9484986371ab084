"""[surfaces]: how attributes become surfaces."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from .base import Settings


class SurfaceSettings(Settings):
    """Settings of one surface; [surfaces] sets them for all, [surfaces.for.NAME] for one."""

    method: str | None = Field(None, description="mean, nearest, inverse_distance, ordinary_kriging, drift_kriging ...")
    drift: tuple[str, ...] | None = Field(None, description="terrain rasters used as drift")
    model: Literal["spherical", "exponential", "gaussian", "matern"] | None = Field(None, description="variogram model")
    less_than_cm: tuple[float, ...] | None = Field(None, description="limits for probability surfaces, cm")
    power: float | None = Field(None, gt=0, description="power of inverse distance")


class SurfacesSettings(SurfaceSettings):
    """[surfaces]"""

    use: tuple[str, ...] | None = Field(None, description="attributes to map; left out = all that were derived")
    seed: int = Field(1, ge=0, description="seed of everything random")
    least_pits: int = Field(10, ge=3, description="fewer usable pits than this: no surface")
    for_: dict[str, SurfaceSettings] = Field(default_factory=dict, alias="for")
