"""[salvage]: topsoil by polygon."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from .base import LayerSource, Settings


class SalvageSettings(Settings):
    """[salvage]"""

    polygons: LayerSource | None = Field(None, description="areas to be stripped")
    rule: str = Field(
        "a_and_e", description="named rule set of what counts as topsoil, or the name of a thickness attribute"
    )
    forest_floor: bool = Field(True, description="whether the forest floor is listed as a lift of its own")
    peat: bool = Field(True, description="whether peat is listed as a lift of its own, where pits describe it")
    least_pits_inside: int = Field(
        3,
        ge=2,
        description="without a surface: fewer pits inside a polygon than this, and those of its stratum are used",
    )
    lost_percent: float | None = Field(
        None,
        ge=0,
        lt=100,
        description="lost in handling, % of the planned cut in place (of the bank volume where no cut is planned); taken off before the swell",
    )
    swell_factor: float | None = Field(
        None, ge=1, le=2, description="loose volume over bank volume, as 1.25; left out = only bank volumes"
    )
    minimum_lift_cm: float | None = Field(
        None,
        gt=0,
        description="thinnest cut that would be made, cm: strip_depth_cm is at least this wherever topsoil is stripped; left out = none: thin "
        "topsoil is not padded with subsoil",
    )
    round_to_cm: float | None = Field(
        None,
        gt=0,
        description="strip_depth_cm is rounded to whole steps of this, cm; the planned and recovered volumes are of that depth, bank volumes "
        "are of the topsoil as it lies",
    )
    rounding: Literal["down", "nearest", "up"] = Field(
        "down", description="down where admixing is the worse error, up where loss is"
    )
    flat_strip_cm: float | None = Field(
        None, gt=0, description="what would happen if every polygon were stripped flat to this depth, cm"
    )
    more_than_m3: float | None = Field(
        None, gt=0, description="bank volume that is needed, m3: how probable it is that the topsoil of a polygon holds more"
    )
    seed: int = Field(1, ge=0, description="seed of simulations, where the surface was modelled on another scale")
