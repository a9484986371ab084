"""[run]: who does the work. Nothing here changes a result, so nothing here is part of a record."""

from __future__ import annotations

from pydantic import Field

from .base import Settings


class RunSettings(Settings):
    """[run]"""

    threads: int | None = Field(None, ge=1, description="threads that work on raster blocks; none given = one a processor")
    scheduler: str | None = Field(
        None,
        pattern=r"^(tcp|tls)://\S+:\d+$",
        description="address of a dask.distributed scheduler, as tcp://host:8786; survey and output folder must lie on storage "
        "that all its workers share under the same path",
    )
    block_tiles: int | None = Field(
        None,
        ge=1,
        description="tiles (256 to 1,024 cells wide) along the side of a block, the piece of work of one task; none given = 2 by 1 "
        "here, 4 by 4 on a cluster",
    )
