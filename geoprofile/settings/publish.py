"""[publish]: what is written at the end."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from .base import Settings


class PublishSettings(Settings):
    """[publish]"""

    writers: tuple[str, ...] | None = Field(None, description="writers to run; left out = all")
    lock_wait_s: float = Field(
        10.0, ge=0, description="how long to wait for another program to let go of survey.gpkg, s"
    )
    map_mb: float = Field(10.0, gt=0, description="largest size of map.html, MB; a larger one gets coarser cells and a note that says so")
    open_with: str | None = Field(
        None,
        description="attribute that map.html shows first; left out = the one that zones are drafted from, else the first surface that varies",
    )
    tiles: str | None = Field(None, description="address of background tiles; left out = none, the map needs no network")
    tiles_credit: str | None = Field(None, description="credit of the tiles; required with tiles")
    page: Literal["a4", "letter"] = Field("a4", description="paper of report.pdf: a4 or letter")
    transect_within_m: float | None = Field(
        None, gt=0, description="pits nearer than this to the line are drawn on the transect, m; left out = a tenth of its length"
    )
    transect_pits: int = Field(24, ge=2, le=60, description="at most so many profiles on one sheet")
