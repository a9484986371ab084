"""[surfaces]: how attributes become surfaces."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from .base import Settings


class SurfaceSettings(Settings):
    """Settings of one surface; [surfaces] sets them for all, [surfaces.for.NAME] for one."""

    method: str | None = Field(
        None,
        description="bounded_kriging, forest, ordinary_kriging, drift_kriging, inverse_distance, nearest, mean ...; "
        "left out = bounded_kriging: every pit counts for exactly what it says, at least 60 as at least 60",
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
    transform: Literal["none", "log", "square_root", "box_cox"] | None = Field(
        None,
        description="scale on which values are taken as normal; box_cox finds its power by likelihood. Estimates are means and "
        "intervals quantiles of what is predicted, both taken back to the attribute's unit; left out = none",
    )
    absent_as: Literal["by_score", "latent", "two_part", "value"] | None = Field(
        None,
        description="how a thickness of 0 where a horizon is absent enters its map: latent = the end of a thickness that fades "
        "out; two_part = whether it is there, then how thick; value = 0 like any value; left out = by_score: the better of the "
        "first two by location",
    )
    reach: Literal["fitted", "same_all_round"] | None = Field(
        None,
        description="whether kriging asks if pits reach farther one way than across it; fitted: azimuth and ratio by likelihood, kept "
        "only with at least 60 measured pits and a gain that chance gives once in a thousand surveys; reach_azimuth_degrees and "
        "reach_ratio, where set, are used as set; left out = fitted",
    )
    reach_azimuth_degrees: float | None = Field(
        None, ge=0, lt=360, description="direction along which pits reach farthest, degrees clockwise from north; with reach_ratio"
    )
    reach_ratio: float | None = Field(
        None, gt=0, le=1, description="reach across that direction as a share of the reach along it; left out = 1: the same all round"
    )
    less_than_cm: tuple[float, ...] | None = Field(None, description="limits for surfaces of the probability of less than each, cm")
    more_than_cm: tuple[float, ...] | None = Field(None, description="limits for surfaces of the probability of more than each, cm")
    coordinates: bool | None = Field(
        None, description="true: a forest may also split on easting and northing, and warns of it; left out = false"
    )
    nearest_pits: int | None = Field(
        None, ge=3, le=200, description="kriging from at most so many nearest pits; left out = from all of them, which is exact and fast"
    )
    pits_within_m: float | None = Field(
        None,
        gt=0,
        description="kriging from pits within this distance only, at most 40 of them unless nearest_pits says so; no value where "
        "fewer than 3 are near; left out = no limit",
    )
    power: float | None = Field(None, gt=0, description="power of inverse distance; left out = 2")
    reach_m: float | None = Field(
        None, gt=0, description="farther than this from every pit a cell is not backed, m; left out = from model and layout"
    )
    between_up_to_cm: float | None = Field(
        None,
        ge=0,
        description="a value known between two limits no farther apart than this is used at its middle, in the "
        "attribute's unit; left out = 10, and never by bounded_kriging, which uses the limits as limits; 0 = never",
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


class OwnSurfaceSettings(SurfaceSettings):
    """[surfaces.for.NAME]: what only makes sense for one attribute."""

    less_than: tuple[float, ...] | None = Field(
        None, description="limits for surfaces of the probability of less than each, in the attribute's own unit, as 20 for 20 %"
    )
    more_than: tuple[float, ...] | None = Field(
        None, description="limits for surfaces of the probability of more than each, in the attribute's own unit"
    )


class SurfacesSettings(SurfaceSettings):
    """[surfaces]"""

    use: tuple[str, ...] | None = Field(None, description="attributes to map; left out = all that were derived")
    classes: tuple[str, ...] | None = Field(
        None, description="columns of the pits whose classes are mapped as probabilities, as drainage, recorded_soil; left out = none"
    )
    seed: int = Field(1, ge=0, description="seed of everything random")
    least_pits: int = Field(10, ge=3, description="fewer usable pits than this: no surface")
    folds: int = Field(10, ge=2, le=50, description="parts of the by-location and the random validation")
    for_: dict[str, OwnSurfaceSettings] = Field(
        default_factory=dict, alias="for", description="settings of single attributes that differ from those above"
    )
