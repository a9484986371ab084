"""[attributes]: which attributes, by what rules, and new ones."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from .base import Settings


class AttributeRule(Settings):
    """[attributes.for.NAME]: a choice that the literature leaves open."""

    evidence: Literal["designation", "effervescence", "shallower"] | None = Field(
        None, description="what counts as evidence of carbonates"
    )
    limit: float | None = Field(None, description="limit, in the unit of the property, as EC 4 dS/m")
    extract: str | None = Field(None, description="extract that the limit is for: paste, 1:2 or 1:5")


class NewAttribute(Settings):
    """[attributes.new.NAME]: an attribute of one's own."""

    kind: Literal["average", "depth_to", "thickness"] = Field(description="average, depth_to or thickness")
    of: str = Field(description="property to average, or designation pattern such as Bt, A*, *k")
    title: str | None = Field(None, description="readable name")
    unit: str | None = Field(None, description="unit of an average")
    upper_cm: float | None = Field(None, ge=0, description="top of the interval, cm")
    lower_cm: float | None = Field(None, gt=0, description="bottom of the interval, cm")
    least_share: float = Field(0.8, gt=0, le=1, description="least share of the interval that must have data")
    forest_floor: bool = Field(False, description="whether organic layers above the mineral soil count")


class AttributesSettings(Settings):
    """[attributes]"""

    use: tuple[str, ...] = Field((), description="attributes to derive; empty = all")
    bc_in_solum: bool = Field(True, description="whether BC counts as solum")
    transitional_a: bool = Field(False, description="whether AB, AC and AE count as A")
    topsoil_rule: str = Field("a_and_e", description="named rule set for topsoil_thickness")
    for_: dict[str, AttributeRule] = Field(default_factory=dict, alias="for")
    new: dict[str, NewAttribute] = Field(default_factory=dict)
