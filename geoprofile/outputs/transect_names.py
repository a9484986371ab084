"""Where the name of a pit stands in a toposequence: above its profile, or below where something runs through it above."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Box:
    """A rectangle of the drawing, in its own coordinates."""

    left: float
    right: float
    bottom: float
    top: float

    def meets(self, other: Box) -> bool:
        return self.left < other.right and other.left < self.right and self.bottom < other.top and other.bottom < self.top

    def is_crossed(self, along: np.ndarray, heights: np.ndarray) -> bool:
        """Whether a line through points, ``along`` ascending, NaN where it is interrupted, passes through the box."""
        inside = along[(along > self.left) & (along < self.right)]
        at = np.concatenate([[self.left], inside, [self.right]])
        y = np.interp(at, along, heights, left=np.nan, right=np.nan)
        low, high = np.fmin(y[:-1], y[1:]), np.fmax(y[:-1], y[1:])
        return bool(((low < self.top) & (high > self.bottom)).any())


def stand_below(profiles: Sequence[Box], width: Sequence[float], height: float, gap: float, along: np.ndarray, ground: np.ndarray) -> list[bool]:
    """For each profile, in order, whether its name stands better below it.

    Parameters
    ----------
    profiles : boxes of the profiles.
    width, height, gap : of each name, of a line, and between name and profile, in the drawing's coordinates.
    along, ground : the line of the ground.
    """
    taken: list[Box] = list(profiles)
    below = []
    for number, (own, wide) in enumerate(zip(profiles, width, strict=True)):
        middle = (own.left + own.right) / 2
        places = [
            Box(middle - wide / 2, middle + wide / 2, foot, foot + height)
            for foot in (own.top + gap, own.bottom - gap - height)
        ]
        others = taken[:number] + taken[number + 1 :]
        troubles = [2 * sum(place.meets(other) for other in others) + place.is_crossed(along, ground) for place in places]
        below.append(bool(troubles[1] < troubles[0]))
        taken.append(places[below[-1]])
    return below
