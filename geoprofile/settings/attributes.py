"""[attributes]: which attributes, by what rules, and new ones."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from .base import Settings


class AttributeRule(Settings):
    """[attributes.for.NAME]: a choice that the literature leaves open."""

    evidence: Literal["designation", "effervescence", "shallower", "conductivity"] | None = Field(
        None,
        description="what counts as evidence: designation, effervescence or shallower for carbonates (left out: "
        "shallower in the Canadian convention, else effervescence); conductivity or designation for salts",
    )
    limit: float | None = Field(
        None, gt=0, description="limit in the unit of the property: EC in dS/m for salts (left out: 4), "
        "Munsell value units for the change of colour (left out: 1)",
    )  # fmt: skip
    extract: Literal["paste", "1:2", "1:5"] | None = Field(
        None, description="extract that an EC limit is for: paste, 1:2 or 1:5 (left out: paste)"
    )


class NewAttribute(Settings):
    """[attributes.new.NAME]: an attribute of one's own."""

    kind: Literal["average", "depth_function", "depth_to", "thickness"] = Field(
        description="average (mean by thickness), depth_function (mean of a smooth curve through the layers), depth_to or thickness"
    )
    of: str = Field(
        description="average, depth_function: a measured column of the horizons; else a designation pattern such as Bt, A*, *k; "
        "depth_to also takes a measured column, with at_least or at_most"
    )
    title: str | None = Field(None, description="readable name")
    unit: str | None = Field(None, description="unit of a mean; left out = that of the property")
    upper_cm: float | None = Field(None, ge=0, description="top of the interval of a mean, cm")
    lower_cm: float | None = Field(None, gt=0, description="bottom of the interval of a mean, cm")
    depths_cm: tuple[float, ...] = Field(
        (), description="depth_function, instead of upper_cm and lower_cm: limits of several intervals, as [0, 5, 15, 30, 60, 100]; "
        "each becomes an attribute, NAME_0_to_5_cm and so on",
    )  # fmt: skip
    smoothing: float = Field(
        0.1, alias="lambda", ge=0, description="depth_function: weight of smoothness against the measured means, depths in cm; 0 keeps "
        "the means exactly",
    )  # fmt: skip
    lowest: float | None = Field(None, description="depth_function: the curve is clipped below this; left out = 0")
    highest: float | None = Field(None, description="depth_function: the curve is clipped above this; left out = 100 for a percentage, else none")
    least_share: float = Field(0.8, gt=0, le=1, description="least share of the interval that must have data")
    forest_floor: bool = Field(False, description="whether organic layers above the mineral soil count in a mean")
    at_least: float | None = Field(None, description="depth_to a measured column: first sample of at least this value")
    at_most: float | None = Field(None, description="depth_to a measured column: first sample of at most this value")

    @model_validator(mode="after")
    def _whole(self) -> NewAttribute:
        mean = self.kind in ("average", "depth_function")
        if self.depths_cm:
            if self.kind != "depth_function":
                raise ValueError("depths_cm goes with kind depth_function only")
            if self.upper_cm is not None or self.lower_cm is not None:
                raise ValueError("give depths_cm, or upper_cm and lower_cm, not both")
            if len(self.depths_cm) < 2 or self.depths_cm[0] < 0 or any(b <= a for a, b in zip(self.depths_cm, self.depths_cm[1:], strict=False)):
                raise ValueError("depths_cm must be two or more depths, each deeper than the one before, from 0 on")
        elif mean:
            if self.upper_cm is None or self.lower_cm is None:
                raise ValueError(f"kind {self.kind} needs upper_cm and lower_cm" + (", or depths_cm" if self.kind == "depth_function" else ""))
            if self.upper_cm >= self.lower_cm:
                raise ValueError("upper_cm must be less than lower_cm")
        elif self.upper_cm is not None or self.lower_cm is not None:
            raise ValueError("upper_cm and lower_cm go with kinds average and depth_function only")
        if self.kind != "depth_function" and {"smoothing", "lowest", "highest"} & self.model_fields_set:
            raise ValueError("lambda, lowest and highest go with kind depth_function only")
        if self.lowest is not None and self.highest is not None and self.lowest >= self.highest:
            raise ValueError("lowest must be less than highest")
        if (self.at_least is not None or self.at_most is not None) and self.kind != "depth_to":
            raise ValueError("at_least and at_most go with kind depth_to only")
        if self.at_least is not None and self.at_most is not None:
            raise ValueError("give at_least or at_most, not both")
        return self

    def each_interval(self, name: str) -> dict[str, NewAttribute]:
        """This attribute under its name; where it asks for several intervals, one attribute each."""
        if not self.depths_cm:
            return {name: self}
        return {
            f"{name}_{_in_name(upper)}_to_{_in_name(lower)}_cm": self.model_copy(update={
                "depths_cm": (), "upper_cm": upper, "lower_cm": lower, "title": self.title and f"{self.title}, {upper:g} to {lower:g} cm"})
            for upper, lower in zip(self.depths_cm, self.depths_cm[1:], strict=False)
        }  # fmt: skip


def _in_name(depth: float) -> str:
    return f"{depth:g}".replace(".", "_")


class AttributesSettings(Settings):
    """[attributes]"""

    use: tuple[str, ...] = Field((), description="attributes to derive; empty = all")
    bc_in_solum: bool = Field(True, description="whether BC counts as solum")
    transitional_a: bool = Field(False, description="whether AB, AC and AE count as A")
    topsoil_rule: str = Field("a_and_e", description="named rule set for topsoil_thickness")
    topsoil_rule_file: str | None = Field(
        None, description="file with a topsoil rule set of your own; it takes the place of topsoil_rule",
        json_schema_extra={"is_file": True},
    )  # fmt: skip
    lime_free_parent_materials: tuple[str, ...] = Field(
        (), description="recorded parent materials that hold no lime: a pit on one has no carbonates, unless it shows some"
    )
    discontinuities_marked: bool | None = Field(
        None, description="whether the survey marks discontinuities (IIC, 2C); left out = yes if any pit names one"
    )
    readings_tolerance_cm: float = Field(
        5.0, ge=0, description="a direct reading and the horizons may differ by this much before a problem is listed, cm"
    )
    for_: dict[str, AttributeRule] = Field(
        default_factory=dict, alias="for", description="choices for one attribute that the literature leaves open"
    )
    new: dict[str, NewAttribute] = Field(
        default_factory=dict, description="attributes of your own: a mean, a depth function, a depth to, a thickness"
    )
