"""Names of the horizons of a drawn profile: inside where there is room, else beside it, else left out and told."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from .palette import INK
from .profile_drawing import Frame, Shape, colour_of, ink_on, shapes_of

LETTER_WIDTH = 0.66
"""Width of a letter in parts of the size of type, wide enough for capitals and digits of the font."""
LINE_HEIGHT = 0.95
"""Height of a line in parts of the size of type, with what hangs below it."""
MIDDLE = slice(20, 61)
"""The part of a profile's width that a name stands in."""


@dataclass(frozen=True)
class Type:
    """Size of the names in points, and how many points a centimetre of depth and the gap to the next profile have."""

    size: float
    points_a_cm: float
    gap_points: float

    @property
    def line_cm(self) -> float:
        return self.size * LINE_HEIGHT / self.points_a_cm


def label_profile(axes, horizons: pd.DataFrame, observed_to_cm: float, frame: Frame, type: Type) -> list[str]:
    """Write the designations of one pit; returns those that had no room."""
    left_out: list[str] = []
    free_from = float("-inf")
    for shape in shapes_of(horizons, observed_to_cm):
        text = shape.row["designation"]
        if not isinstance(text, str) or not text:
            continue
        top, bottom = float(shape.top[MIDDLE].max()), float(shape.bottom[MIDDLE].min())
        if bottom - top >= type.line_cm:
            _write(axes, frame.x, frame.y((top + bottom) / 2), text, type, "center", ink_on(colour_of(shape.row)))
            continue
        depth = _middle(shape)
        fits = len(text) * type.size * LETTER_WIDTH <= type.gap_points
        if fits and depth - type.line_cm / 2 >= free_from:
            _write(axes, frame.across(1.04), frame.y(depth), text, type, "left", INK)
            free_from = depth + type.line_cm / 2
        else:
            left_out.append(text)
    return left_out


def _middle(shape: Shape) -> float:
    """Depth of the middle of a horizon at the right side of its profile, cm."""
    return float(shape.top[-1] + shape.bottom[-1]) / 2


def _write(axes, x: float, y: float, text: str, type: Type, side: str, colour: str) -> None:
    axes.text(x, float(y), text, ha=side, va="center", fontsize=type.size, color=colour, parse_math=False, clip_on=True)
