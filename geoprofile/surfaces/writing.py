"""The rasters of one surface: their names, and filling them window by window.

A name says attribute, quantity and unit. All rasters of a surface are filled in one pass over the
land; each takes its final name only when it is whole and was read back.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Sequence
from contextlib import ExitStack
from dataclasses import dataclass

from ..blocks import Layout, Workers, compute
from ..context import Context
from ..grid import Grid
from ..products import AttributeDefinition
from ..progress import Task
from ..rasters import CLASS, NUMBER, RasterFile, RasterToWrite
from .land import Land
from .reliability import LEGEND

FOLDER = "surfaces"
PROBABILITY_UNIT = "%"
"""Probabilities are computed as 0 to 1 and written in per cent: so every reader of a map says them."""
SIDE = 256
"""Side of a tile, cells: some twenty arrays of its size are held while a tile is made."""


@dataclass(frozen=True)
class Names:
    """What the rasters of one attribute are called."""

    definition: AttributeDefinition

    @property
    def estimates(self) -> dict[str, RasterToWrite]:
        unit = self.definition.unit
        titles = {"estimate": "estimate", "low90": "low end of the 90 % interval", "high90": "high end of the 90 % interval"}
        return {what: self._output(what + suffix_of(unit), title, unit) for what, title in titles.items()}

    @property
    def presence(self) -> RasterToWrite:
        return self._output("presence", "probability that it is present", PROBABILITY_UNIT)

    @property
    def reliability(self) -> RasterToWrite:
        return self._output("reliability", "how well the pits back the estimate", kind=CLASS, legend=LEGEND)

    def below(self, limits: Sequence[float]) -> dict[str, RasterToWrite]:
        """By limit as text."""
        return {f"{limit:g}": self._chance("below", "less", limit) for limit in limits}

    def above(self, limits: Sequence[float]) -> dict[str, RasterToWrite]:
        """By limit as text."""
        return {f"{limit:g}": self._chance("above", "more", limit) for limit in limits}

    def _chance(self, side: str, word: str, limit: float) -> RasterToWrite:
        unit = self.definition.unit
        return self._output(f"{side}_{limit:g}{suffix_of(unit).removeprefix('_')}", f"probability of {word} than {limit:g} {unit}".rstrip(), PROBABILITY_UNIT)

    def _output(self, what: str, title: str, unit: str = "", kind: str = NUMBER, legend: dict[int, str] | None = None) -> RasterToWrite:
        return RasterToWrite(f"{self.definition.name}_{what}", f"{self.definition.title}: {title}", unit, kind, legend)


def suffix_of(unit: str) -> str:
    """``_cm`` for cm, ``_percent`` for %, letters and digits of any other unit, nothing for none."""
    word = {"%": "percent"}.get(unit) or re.sub(r"[^a-z0-9]+", "_", unit.lower()).strip("_")
    return f"_{word}" if word else ""


def layout_of(grid: Grid, crew: Workers) -> Layout:
    """Tiles and blocks of every pass over the grid."""
    return Layout(grid, 0, crew.block, SIDE)


def fill(
    outputs: Sequence[RasterToWrite], function: Callable, land: Land, context: Context, crew: Workers, *, key: str, task: Task | None = None
) -> tuple[dict[str, RasterFile], Counter]:
    """Rasters by key, and the sums of what ``function`` counted.

    ``function(tile, *arrays)`` is given the arrays that ``land.inputs`` read and makes one array an output;
    for a cluster it must be picklable. ``key`` names the work where finished blocks are kept for a rerun.
    A cancel or a fault leaves no half file.
    """
    with ExitStack() as open_rasters:
        sinks = [open_rasters.enter_context(one.streamed(context.output, FOLDER, land.grid)) for one in outputs]
        counts = compute(
            function, land.inputs, sinks, layout_of(land.grid, crew), crew, dtypes=[one.dtype for one in outputs], task=task, key=key
        )  # fmt: skip
        return {one.name: sink.finish() for one, sink in zip(outputs, sinks, strict=True)}, counts
