"""Everything a writer may draw on."""

from __future__ import annotations

from dataclasses import dataclass

from ..context import Context
from ..products import Attributes, Pits, Salvage, SoilNames, Surfaces, Terrain, Zones
from ..settings.publish import PublishSettings


@dataclass(frozen=True)
class Bundle:
    """The products of a run. Those that the survey file does not ask for are None."""

    settings: PublishSettings
    context: Context
    pits: Pits
    attributes: Attributes
    terrain: Terrain | None = None
    surfaces: Surfaces | None = None
    zones: Zones | None = None
    salvage: Salvage | None = None
    soil_names: SoilNames | None = None
