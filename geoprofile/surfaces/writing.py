"""The rasters of one surface, under names that say attribute, quantity and unit."""

from __future__ import annotations

import re

import numpy as np

from ..context import Context
from ..grid import Grid
from ..products import AttributeDefinition
from ..rasters import CLASS, RasterFile, write_raster
from .reliability import LEGEND


def suffix_of(unit: str) -> str:
    """``_cm`` for cm, ``_percent`` for %, letters and digits of any other unit, nothing for none."""
    word = {"%": "percent"}.get(unit) or re.sub(r"[^a-z0-9]+", "_", unit.lower()).strip("_")
    return f"_{word}" if word else ""


class SurfaceFiles:
    """Writes rasters of one attribute and remembers them by key; the key is the file's name without ending."""

    def __init__(self, definition: AttributeDefinition, grid: Grid, context: Context) -> None:
        self.definition, self.grid, self.context = definition, grid, context
        self.rasters: dict[str, RasterFile] = {}

    def estimate(self, what: str, cells: np.ndarray) -> str:
        titles = {
            "estimate": "estimate",
            "low90": "low end of the 90 % interval",
            "high90": "high end of the 90 % interval",
        }
        return self._write(what + suffix_of(self.definition.unit), titles[what], self.definition.unit, cells)

    def presence(self, cells: np.ndarray) -> str:
        return self._write("presence", "probability that it is present", "", cells)

    def below(self, limit: str, cells: np.ndarray) -> str:
        return self._write(f"below_{limit}cm", f"probability of less than {limit} cm", "", cells)

    def reliability(self, codes: np.ndarray) -> str:
        return self._write("reliability", "how well the pits back the estimate", "", codes, CLASS)

    def _write(self, what: str, title: str, unit: str, cells: np.ndarray, kind: str = "number") -> str:
        key = f"{self.definition.name}_{what}"
        self.rasters[key] = write_raster(
            self.context.output, f"surfaces/{key}.tif", cells, self.grid,
            name=key, title=f"{self.definition.title}: {title}", unit=unit, kind=kind,
            legend=LEGEND if kind == CLASS else None,
        )  # fmt: skip
        return key
