"""Which attribute holds the thickness of topsoil by the rule set asked for."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from importlib.resources import files

from ..described.rule_sets import rule_set_title
from ..products import AttributeDefinition, Attributes, Surfaces

BY_RULE_SET = "topsoil_thickness"


@dataclass(frozen=True)
class Topsoil:
    """The rule's key and title, the attribute that holds it, and all in words."""

    rule: str
    title: str
    definition: AttributeDefinition

    @property
    def words(self) -> str:
        if self.rule == self.definition.name:
            return f"topsoil is: {self.title} ({self.rule})"
        return f"topsoil by the rule set {self.title} ({self.rule}), from: {self.definition.title}"


def topsoil_attribute(rule: str, attributes: Attributes, surfaces: Surfaces | None) -> Topsoil | str:
    """The attribute of the rule set, one with a surface first; or one sentence saying why there is none."""
    known = {one.name: one for one in attributes.definitions}
    choices = {}
    # topsoil_thickness was derived under ``rule`` where its evidence names the rule set
    title = rule_set_title(rule, attributes.values.loc[attributes.values["attribute"] == BY_RULE_SET, "evidence"])
    if BY_RULE_SET in known and title:
        choices[BY_RULE_SET] = title
    named = tomllib.loads(files(__package__).joinpath("rules.toml").read_text(encoding="utf-8")).get(rule)
    if named and named["attribute"] in known:
        choices[named["attribute"]] = title or named["title"]
    if rule in known and known[rule].kind == "thickness":
        choices[rule] = known[rule].title
    if not choices:
        return (
            f"no attribute holds topsoil by the rule set {rule}: derive topsoil_thickness with [attributes] topsoil_rule = "
            f'"{rule}", or name a thickness attribute that was derived ({_thicknesses(known)})'
        )
    mapped = {one.attribute for one in surfaces.surfaces} if surfaces else set()
    best = next((name for name in choices if name in mapped), next(iter(choices)))
    return Topsoil(rule, choices[best], known[best])


def _thicknesses(known: dict[str, AttributeDefinition]) -> str:
    return ", ".join(name for name, one in known.items() if one.kind == "thickness") or "none was"
