"""What the survey file decides about attributes, as every plug-in is handed it."""

from __future__ import annotations

from dataclasses import dataclass

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
