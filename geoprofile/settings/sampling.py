"""[sampling]: where to dig next."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from .base import LayerSource, Settings

Purpose = Literal["gaps", "terrain", "doubt"]


class SamplingSettings(Settings):
    """[sampling]"""

    purpose: Purpose = Field(
        "gaps",
        description="gaps: no land far from a pit; terrain: pits spread over what the terrain does; "
        "doubt: where a pit makes a surface surest, or a limit on it",
    )
    number: int = Field(10, ge=1, le=500, description="how many further pits")
    attribute: str | None = Field(None, description="for doubt: the attribute whose surface is to become surer")
    limit: float | None = Field(
        None,
        description="for doubt: the limit that a decision hangs on, in the attribute's unit; left out = the surface as a whole",
    )
    use: tuple[str, ...] | None = Field(
        None,
        description="for terrain: rasters to spread over; left out = relative_elevation, slope, wetness_index and landform_element",
    )
    access: LayerSource | None = Field(None, description="polygons in which pits may be dug; left out = all of the survey area")
    exclude: LayerSource | None = Field(None, description="polygons in which no pit may be dug; left out = none")
    seed: int = Field(1, ge=0, description="seed of the search; the same seed gives the same places")
