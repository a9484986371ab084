"""What the report says of the probabilities: hectares by how likely a thing is, counted on every cell."""

from __future__ import annotations

import numpy as np

from ..areal import certainty
from ..rasters import RasterFile
from .bundle import Bundle
from .map_parts import PROBABILITY_LIMITS

AT_ONCE = 1024
"""Side of the window that is counted at once, cells."""


def probability_rows(bundle: Bundle) -> dict | None:
    """One row a probability, one column a class of it, hectares with one decimal; None where there are none."""
    surfaces = bundle.surfaces
    if surfaces is None:
        return None
    asked = []
    for surface in (*surfaces.surfaces, *surfaces.presences):
        asked.append((surface, "that it is there", surface.presence))
        for word, limits in (("less", surface.below), ("more", surface.above)):
            asked += [(surface, f"{word} than {limit} {surface.unit}", key) for limit, key in limits.items()]
    rows = []
    for surface, question, key in asked:
        if key in surfaces.rasters:
            hectares = _counts(bundle, surfaces.rasters[key]) * surfaces.grid.cell_ha
            without = _without(bundle, surfaces.rasters.get(surface.reliability), hectares.sum())
            rows.append([f"{surface.title}: {question}", *map(_told, hectares), without])
    limits = [f"{limit:g}" for limit in PROBABILITY_LIMITS]
    between = [f"{low} to {high} %" for low, high in zip(limits, limits[1:])]
    return {"headings": ["Probability", f"Under {limits[0]} %", *between, f"{limits[-1]} % and more", "Not backed"], "rows": rows} if rows else None


def _told(hectares: float) -> str:
    return f"{hectares:,.1f}".replace(",", "\u202f")


def _without(bundle: Bundle, reliability: RasterFile | None, told: float) -> str:
    """Hectares of the survey for which the pits back no probability."""
    if reliability is None:
        return "–"
    cells = reliability.cells(bundle.context.output)
    known = sum(np.count_nonzero(cells.read(window)) for window in bundle.surfaces.grid.windows(AT_ONCE))
    return _told(max(known * bundle.surfaces.grid.cell_ha - told, 0.0))


def _counts(bundle: Bundle, raster: RasterFile) -> np.ndarray:
    """(classes,) cells of each class of PROBABILITY_LIMITS, lower limits included; cells without a probability are in none."""
    scale, cells = 100 / certainty(raster), raster.cells(bundle.context.output)
    under = np.zeros(len(PROBABILITY_LIMITS) + 1, np.int64)
    for window in bundle.surfaces.grid.windows(AT_ONCE):
        percent = cells.read(window) * scale
        under += [*(np.count_nonzero(percent < limit) for limit in PROBABILITY_LIMITS), np.count_nonzero(~np.isnan(percent))]
    return np.diff(under, prepend=0)
