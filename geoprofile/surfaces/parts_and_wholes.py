"""Whether a part is mapped thicker than the whole that holds it.

Each attribute is mapped by itself, from its own pits and model, so a dark A may come out thicker than A and E together. No
surface is bent to agree: which of the two is wrong is not known. It is counted, and said beside the part.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np

from ..grid import Grid
from ..products import Surface
from ..rasters import RasterFile

WHOLES = {
    "dark_a_thickness": "a_e_thickness",
    "eluvial_thickness": "a_e_thickness",
    "a_e_thickness": "solum_thickness",
    "bt_thickness": "solum_thickness",
}
"""Part -> the whole that holds it, by the definitions of the attributes."""
MORE_CM = 0.5
"""Less than this is rounding."""
LEAST_SHARE = 0.02
"""Of less of the land nothing is said (our own choice)."""


def with_cautions(surfaces: tuple[Surface, ...], rasters: Mapping[str, RasterFile], grid: Grid, output: Path) -> tuple[Surface, ...]:
    """The surfaces, each part with a caution where it is mapped thicker than its whole over more than two hundredths of their land."""
    by_name = {one.attribute: one for one in surfaces}
    told = []
    for one in surfaces:
        whole = by_name.get(WHOLES.get(one.attribute, ""))
        sentence = "" if whole is None else _sentence(one, whole, rasters, grid, output)
        told.append(replace(one, notes=(*one.notes, sentence), cautions=(*one.cautions, sentence)) if sentence else one)
    return tuple(told)


def _sentence(part: Surface, whole: Surface, rasters: Mapping[str, RasterFile], grid: Grid, output: Path) -> str:
    both, over, most = 0, 0, 0.0
    for window in grid.windows():
        more = rasters[part.estimate].read(output, window) - rasters[whole.estimate].read(output, window)
        too_thick = more > MORE_CM  # nothing where either has no estimate
        both += int(np.count_nonzero(~np.isnan(more)))
        over += int(np.count_nonzero(too_thick))
        most = max(most, float(more[too_thick].max(initial=0.0)))
    if over <= LEAST_SHARE * both:
        return ""
    return (
        f"over {100 * over / both:.0f} % of the land that has both it is estimated thicker than {whole.title}, which holds it, by up to "
        f"{most:.0f} cm: each attribute is mapped by itself; plan with both intervals"
    )
