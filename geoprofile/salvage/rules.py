"""Which attribute holds the thickness of topsoil by the rule set asked for."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from importlib.resources import files

from ..products import AttributeDefinition, Attributes, Surfaces

BY_RULE_SET = "topsoil_thickness"


@dataclass(frozen=True)
class Topsoil:
    """The rule's name, the attribute that holds it, and both in words."""

    rule: str
    definition: AttributeDefinition

    @property
    def words(self) -> str:
        return f"topsoil by the rule set {self.rule} ({self.definition.title.lower()})"


def topsoil_attribute(rule: str, attributes: Attributes, surfaces: Surfaces | None) -> Topsoil | str:
    """The attribute of the rule set, one with a surface first; or one sentence saying why there is none."""
    known = {one.name: one for one in attributes.definitions}
    choices = []
    if BY_RULE_SET in known and _rule_was(rule, attributes):
        choices.append(BY_RULE_SET)
    named = tomllib.loads(files(__package__).joinpath("rules.toml").read_text(encoding="utf-8")).get(rule)
    if named and named["attribute"] in known:
        choices.append(named["attribute"])
    if rule in known and known[rule].kind == "thickness":
        choices.append(rule)
    if not choices:
        return (
            f"no attribute holds topsoil by the rule set {rule}: derive topsoil_thickness with [attributes] topsoil_rule = "
            f'"{rule}", or name a thickness attribute that was derived ({_thicknesses(known)})'
        )
    mapped = {one.attribute for one in surfaces.surfaces} if surfaces else set()
    best = next((name for name in choices if name in mapped), choices[0])
    return Topsoil(rule, known[best])


def _rule_was(rule: str, attributes: Attributes) -> bool:
    """Whether topsoil_thickness was derived under ``rule``: its evidence names the rule set."""
    own = attributes.values[attributes.values["attribute"] == BY_RULE_SET]
    return bool((own["evidence"] == f"rule set {rule}").any())


def _thicknesses(known: dict[str, AttributeDefinition]) -> str:
    return ", ".join(name for name, one in known.items() if one.kind == "thickness") or "none was"
