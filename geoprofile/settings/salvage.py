"""[salvage]: topsoil by polygon."""

from __future__ import annotations

from pydantic import Field

from .base import LayerSource, Settings


class SalvageSettings(Settings):
    """[salvage]"""

    polygons: LayerSource | None = Field(None, description="areas to be stripped")
    rule: str = Field("a_and_e", description="named rule set of what counts as topsoil")
