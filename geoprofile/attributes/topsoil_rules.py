"""Rule sets that say what topsoil is: TOML files in ``rules/``, or one of the user's in the same form."""

from __future__ import annotations

import tomllib
from difflib import get_close_matches
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Literal

from pydantic import Field, ValidationError, model_validator

from ..errors import SettingsError
from ..settings.base import Settings


class Limits(Settings):
    """What a layer must keep to; a property that was not recorded makes the layer doubtful."""

    value_moist_below: float | None = Field(None, description="moist Munsell value below this")
    chroma_moist_below: float | None = Field(None, description="moist Munsell chroma below this")
    ec_ds_m_below: float | None = Field(None, description="electrical conductivity below this, dS/m")
    sar_below: float | None = Field(None, description="sodium adsorption ratio below this")
    caco3_percent_below: float | None = Field(None, description="CaCO3 equivalent below this, %")
    coarse_fragments_percent_below: float | None = Field(None, description="coarse fragments below this, % by volume")
    organic_carbon_percent_above: float | None = Field(None, description="organic carbon above this, %")
    effervescence: Literal["none"] | None = Field(None, description="none: the layer must not effervesce")


class Layer(Settings):
    """A kind of layer: by ``meaning`` (a name in meanings.toml) or by ``designation`` (a pattern, as B* or Bm)."""

    meaning: str | None = None
    designation: str | None = None
    limits: Limits = Field(default_factory=Limits)

    @model_validator(mode="after")
    def _one_of_both(self) -> Layer:
        if (self.meaning is None) == (self.designation is None):
            raise ValueError("give either meaning or designation")
        return self


class TopsoilRule(Settings):
    """One rule set. Walking down from the surface, a layer is taken that fits ``take`` and no ``stop``."""

    name: str
    title: str
    source: str
    help: str = ""
    join_buried_a: bool = Field(True, description="a buried A directly under what was taken joins it")
    take: tuple[Layer, ...] = Field(min_length=1)
    stop: tuple[Layer, ...] = ()


@cache
def topsoil_rules() -> dict[str, TopsoilRule]:
    """The rule sets that the package ships, by name, sorted."""
    folder = files(__package__) / "rules"
    texts = {item.name: item.read_text(encoding="utf-8") for item in folder.iterdir() if item.name.endswith(".toml")}
    rules = [parse_topsoil_rule(text, name) for name, text in sorted(texts.items())]
    return {rule.name: rule for rule in rules}


def find_topsoil_rule(name: str, where: str = "attributes.topsoil_rule") -> TopsoilRule:
    """The shipped rule set ``name``; SettingsError names the nearest where there is none."""
    rules = topsoil_rules()
    if name in rules:
        return rules[name]
    near = get_close_matches(name, rules, 1, 0.4)
    raise SettingsError("there is no such topsoil rule set", where=where, found=repr(name), allowed=", ".join(rules),
                        remedy=f"did you mean {near[0]!r}?" if near else "or name a file of your own: topsoil_rule_file")


def read_topsoil_rule(path: Path) -> TopsoilRule:
    """A rule set of the user's own, in the form of ours."""
    try:
        return parse_topsoil_rule(path.read_text(encoding="utf-8-sig"), str(path))
    except (OSError, UnicodeDecodeError) as error:
        raise SettingsError("the file of a topsoil rule set cannot be read", where=str(path), found=str(error),
                            remedy="give a TOML file saved as UTF-8, in the form of those that geoprofile ships") from error


def parse_topsoil_rule(text: str, where: str) -> TopsoilRule:
    """A rule set from its text. Raises SettingsError with every mistake."""
    try:
        return TopsoilRule.model_validate(tomllib.loads(text))
    except tomllib.TOMLDecodeError as error:
        raise SettingsError("a topsoil rule set is not valid TOML", where=where, found=str(error)) from error
    except ValidationError as error:
        first, *rest = [
            SettingsError(f"a topsoil rule set: {item['msg'].lower()}", where=f"{where}, {'.'.join(map(str, item['loc']))}",
                          found=repr(item["input"])[:80])
            for item in error.errors()
        ]
        raise SettingsError(first.what, where=first.where, found=first.found, others=tuple(rest)) from error
