"""[surfaces]: how attributes become surfaces."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from .base import Settings


class SurfaceSettings(Settings):
    """Settings of one surface; [surfaces] sets them for all, [surfaces.for.NAME] for one."""

    method: str | None = Field(
        None,
        description="mean, nearest, inverse_distance, ordinary_kriging, drift_kriging ...; "
        "left out = ordinary_kriging, or drift_kriging where drift is named",
    )
    drift: tuple[str, ...] | None = Field(None, description="terrain rasters used as drift")
    model: Literal["spherical", "exponential", "gaussian", "matern"] | None = Field(
        None, description="covariance model of kriging; left out = spherical"
    )
    fit: Literal["residual_maximum_likelihood", "maximum_likelihood"] | None = Field(
        None, description="how the model is fitted; left out = residual_maximum_likelihood"
    )
    nugget: Literal["short_distance", "measurement_error"] | None = Field(
        None,
        description="what the nugget is: variation over short distance (intervals are for what a pit would show) "
        "or measurement error (filtered out); left out = short_distance",
    )
    less_than_cm: tuple[float, ...] | None = Field(None, description="limits for probability surfaces, cm")
    power: float | None = Field(None, gt=0, description="power of inverse distance; left out = 2")
    reach_m: float | None = Field(
        None, gt=0, description="farther than this from every pit a cell is not backed, m; left out = from model and layout"
    )
    between_up_to_cm: float | None = Field(
        None,
        ge=0,
        description="a value known between two limits no farther apart than this is used at its middle, in the "
        "attribute's unit; left out = 10; 0 = never",
    )
    least_presence: float | None = Field(
        None,
        ge=0,
        le=1,
        description="a depth is drawn only where its feature is at least this probable; left out = 0.5",
    )
    show_unbacked: bool | None = Field(
        None, description="true: draw estimates also where the pits do not back them; left out = false"
    )


class SurfacesSettings(SurfaceSettings):
    """[surfaces]"""

    use: tuple[str, ...] | None = Field(None, description="attributes to map; left out = all that were derived")
    seed: int = Field(1, ge=0, description="seed of everything random")
    least_pits: int = Field(10, ge=3, description="fewer usable pits than this: no surface")
    folds: int = Field(10, ge=2, le=50, description="parts of the by-location and the random validation")
    for_: dict[str, SurfaceSettings] = Field(default_factory=dict, alias="for")
