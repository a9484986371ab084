"""[publish]: what is written at the end."""

from __future__ import annotations

from pydantic import Field

from .base import Settings


class PublishSettings(Settings):
    """[publish]"""

    map_mb: float = Field(10.0, gt=0, description="size of map.html, MB; cells are coarsened to fit, and it says so")
    tiles: str | None = Field(None, description="address of background tiles; left out = none, the map needs no network")
    tiles_credit: str | None = Field(None, description="credit of the tiles; required with tiles")
    writers: tuple[str, ...] | None = Field(None, description="writers to run; left out = all")
