"""[naming]: soil names from the record, as advice."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from .base import Settings


class NamingSettings(Settings):
    """[naming]"""

    use: bool = Field(True, description="whether pits are named from their record; advice, deferring to a qualified pedologist")
    system: Literal["canadian", "features"] | None = Field(
        None,
        description="canadian: order, great group and subgroup; features: only what designations and recorded properties "
        "support; left out: canadian where the convention is canadian, else features",
    )
    mean_annual_soil_temperature_c: float | None = Field(
        None, ge=-20, le=40,
        description="mean annual soil temperature of the area at 50 cm, degrees C: it parts Gray Brown from Gray Luvisols, "
        "and above 0 there is no permafrost; left out: both stay possible where the horizons allow",
    )  # fmt: skip
