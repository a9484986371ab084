"""What choosing places gives back, whatever the purpose."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

CAUTION = (
    "caution: places are chosen by numbers alone; have buried lines located before digging, ask for access, "
    "keep to the local rules for entering pits, and clean tools where clubroot or weeds are known"
)


@dataclass(frozen=True)
class Chosen:
    """New places, the most useful first.

    ``points``: (number, 2) x, y in m. ``gain``: (number,) by how much the measure falls when
    this place is added to the existing pits and the places before it; NaN where there is
    nothing to compare with. ``before``, ``after``: the measure without and with all new
    places. ``measure``, ``unit``: what it is, in words; unit may be empty.
    """

    points: np.ndarray
    gain: np.ndarray
    before: float
    after: float
    measure: str
    unit: str = ""
    notes: tuple[str, ...] = ()
