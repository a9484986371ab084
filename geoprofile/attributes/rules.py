"""What the survey file decides about attributes, as every plug-in is handed it."""

from __future__ import annotations

from dataclasses import dataclass

from ..errors import SettingsError
from ..settings.attributes import AttributeRule, AttributesSettings
from .topsoil_rules import TopsoilRule


@dataclass(frozen=True)
class Rules:
    """Choices that the literature leaves open. ``marks_discontinuities``: some pit of the survey names one."""

    settings: AttributesSettings
    topsoil: TopsoilRule
    marks_discontinuities: bool = True
    pooled: tuple[str, ...] = ()
    """Conventions of the survey's pits, where there is more than one."""

    def choice(self, name: str) -> AttributeRule:
        """[attributes.for.NAME], or its defaults."""
        return self.settings.for_.get(name, _DEFAULTS)

    @property
    def transitional_a(self) -> bool:
        return self.settings.transitional_a

    @property
    def bc_in_solum(self) -> bool:
        return self.settings.bc_in_solum


_DEFAULTS = AttributeRule()

CHOICES: dict[str, dict[str, tuple[str, ...]]] = {
    "depth_to_carbonates": {"evidence": ("designation", "effervescence", "shallower")},
    "depth_to_salts": {"evidence": ("conductivity", "designation"), "limit": (), "extract": ()},
    "depth_to_colour_change": {"limit": ()},
}
"""Keys of [attributes.for.NAME] that our attributes look at, with their words where they are words."""


def refuse_idle_choices(settings: AttributesSettings, ours: frozenset[str]) -> None:
    """Raise SettingsError, all mistakes together, where a choice would change nothing."""
    mistakes = []
    for name, rule in settings.for_.items():
        if name not in ours:
            continue  # an attribute from elsewhere knows its own choices
        allowed = CHOICES.get(name, {})
        for key, value in rule.model_dump(exclude_none=True).items():
            where = f"attributes.for.{name}.{key}"
            if key not in allowed:
                mistakes.append(
                    SettingsError(f"{name} has no such choice", where=where, found=repr(value),
                                  allowed=", ".join(allowed) or "none: this attribute leaves nothing open", remedy="take it out")
                )  # fmt: skip
            elif allowed[key] and value not in allowed[key]:
                mistakes.append(
                    SettingsError("a value is not one of those allowed", where=where, found=repr(value),
                                  allowed=", ".join(allowed[key]), remedy="choose one of these")
                )  # fmt: skip
    if mistakes:
        first, *rest = mistakes
        raise SettingsError(first.what, where=first.where, found=first.found, allowed=first.allowed, remedy=first.remedy,
                            others=tuple(rest))  # fmt: skip
