"""One profile on a matplotlib axes: horizons at true depth, in their Munsell colours, boundaries as described.

The form of a boundary is that of the horizon above it (its lower boundary). A wavy
or irregular boundary is drawn with the range that was described; where none was,
with the height stated in NOMINAL_CM, and the figure says so.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from ..vocabulary import munsell
from .palette import INK, QUIET

NOT_DESCRIBED = "#e9e6df"
HATCH = "#bdb7aa"
NOMINAL_CM = {"wavy": 1.5, "irregular": 3.0}
"""Half height of a wavy or irregular boundary whose range was not described, cm (our own choice)."""

LINES = {
    "abrupt": ("solid", 1.5), "clear": ("solid", 1.0), "gradual": ((0, (5, 2)), 0.8), "diffuse": ((0, (1, 1.6)), 0.8),
}  # fmt: skip
"""Line by distinctness, sharp ones heavier (our own choice)."""

BROKEN = ((0.0, 0.24), (0.38, 0.62), (0.76, 1.0))
"""Where along its width a broken boundary is there."""


@dataclass(frozen=True)
class Frame:
    """Where a profile stands: centre and width in the axes' x, ``y_of(depth_cm)`` = top - depth * per_cm."""

    x: float
    width: float
    top: float
    per_cm: float

    def y(self, depth_cm):
        return self.top - np.asarray(depth_cm, float) * self.per_cm

    def across(self, share):
        return self.x + (np.asarray(share, float) - 0.5) * self.width


def colour_of(horizon: pd.Series) -> str | None:
    """Screen colour of the moist soil, else of the dry; None where no colour was described."""
    for name in ("colour_moist", "colour_dry"):
        text = horizon[name]
        if isinstance(text, str) and text:
            colour = munsell.parse_colour(text)
            if colour is not None:
                return munsell.srgb(colour)
    return None


def ink_on(colour: str | None) -> str:
    """Dark or light text, whichever reads better on ``colour`` (relative luminance, WCAG 2.1)."""
    if colour is None:
        return INK
    channels = np.array([int(colour[start : start + 2], 16) for start in (1, 3, 5)]) / 255
    linear = np.where(channels <= 0.04045, channels / 12.92, ((channels + 0.055) / 1.055) ** 2.4)
    return "#ffffff" if linear @ (0.2126, 0.7152, 0.0722) < 0.2 else INK


def boundary(depth: float, low: float, high: float, form: str | None, room: float, points: int = 81) -> np.ndarray:
    """Depths (points,) across the width of a boundary, cm.

    ``room`` is the thickness of the thinner horizon beside it: no wave is higher than half of it.
    """
    across = np.linspace(0, 1, points)
    if form not in ("wavy", "irregular"):
        return np.full(points, depth)
    described = np.isfinite(low) and np.isfinite(high) and high > low
    half = (high - low) / 2 if described else min(NOMINAL_CM[form], room / 2)
    middle = (high + low) / 2 if described else depth
    if form == "wavy":
        return middle + half * np.sin(2 * np.pi * 2 * across)
    teeth = 2 * np.abs(2 * ((3 * across) % 1) - 1) - 1  # narrow tongues: deeper than wide
    return middle + half * teeth


def end_of(horizon: pd.Series, observed_to_cm: float) -> float:
    """Where the drawing of a horizon ends, cm: its lower depth, else the depth observed, else 10 cm below its top."""
    if np.isfinite(horizon["lower_cm"]):
        return float(horizon["lower_cm"])
    upper = float(horizon["upper_cm"])
    return max(observed_to_cm, upper + 5) if np.isfinite(observed_to_cm) else upper + 10


@dataclass(frozen=True)
class Shape:
    """One horizon as it is drawn: its row, and its upper and lower boundary across the profile, cm (81,)."""

    row: pd.Series
    top: np.ndarray
    bottom: np.ndarray
    form: str | None
    open_end: bool


def shapes_of(horizons: pd.DataFrame, observed_to_cm: float) -> list[Shape]:
    """The horizons of one pit (HORIZON_COLUMNS) from above; those without an upper depth are left out."""
    described = horizons[np.isfinite(horizons["upper_cm"])].sort_values("order", kind="stable")
    rows = [row for _, row in described.iterrows()]
    ends = [end_of(row, observed_to_cm) for row in rows]
    shapes = []
    top = np.full(81, float(rows[0]["upper_cm"])) if rows else np.empty(0)
    for number, (row, end) in enumerate(zip(rows, ends, strict=True)):
        last = number == len(rows) - 1
        open_end = bool(row["lower_is_end"]) or not np.isfinite(row["lower_cm"])
        form = row["boundary_form"] if isinstance(row["boundary_form"], str) else None
        thick = [end - float(row["upper_cm"])] + ([ends[number + 1] - end] if not last else [])
        bottom = boundary(end, row["lower_low_cm"], row["lower_high_cm"], None if open_end else form, max(min(thick), 0))
        if open_end:
            bottom = end + 1.2 * (2 * np.abs(2 * ((9 * np.linspace(0, 1, 81)) % 1) - 1) - 1)  # torn: the soil goes on
        start = top
        if number and float(row["upper_cm"]) > ends[number - 1] + 0.5:  # a gap in the description stays a gap
            start = np.full(81, float(row["upper_cm"]))
        bottom = np.maximum(bottom, start)
        shapes.append(Shape(row, start, bottom, form, open_end))
        top = bottom
    return shapes


def depth_of(horizons: pd.DataFrame, observed_to_cm: float) -> float:
    """The depth at which the drawing of a pit ends, cm."""
    described = horizons[np.isfinite(horizons["upper_cm"])]
    return max((end_of(row, observed_to_cm) for _, row in described.iterrows()), default=0.0)


def draw_profile(axes, horizons: pd.DataFrame, observed_to_cm: float, frame: Frame) -> float:
    """Draw one pit's horizons (HORIZON_COLUMNS, in order); returns the depth at which the drawing ends, cm."""
    shapes = shapes_of(horizons, observed_to_cm)
    if not shapes:
        return 0.0
    across = frame.across(np.linspace(0, 1, 81))
    for shape in shapes:
        colour = colour_of(shape.row)
        axes.fill_between(
            across, frame.y(shape.top), frame.y(shape.bottom), facecolor=colour or NOT_DESCRIBED, edgecolor=colour or HATCH,
            hatch="////" if colour is None else None, linewidth=0.4 if colour else 0.0,
        )  # fmt: skip
        _boundary_line(axes, shape.row, across, frame, shape.bottom, shape.form, shape.open_end)
    first, deepest = float(shapes[0].row["upper_cm"]), depth_of(horizons, observed_to_cm)
    left, right = frame.across(0), frame.across(1)
    for side in (left, right):
        axes.plot([side, side], [frame.y(first), frame.y(deepest)], color=INK, linewidth=0.6)
    axes.plot([left, right], frame.y([first] * 2), color=INK, linewidth=0.9)
    return deepest


def _boundary_line(axes, row: pd.Series, across, frame: Frame, bottom, form: str | None, open_end: bool) -> None:
    distinctness = row["boundary_distinctness"] if isinstance(row["boundary_distinctness"], str) else ""
    style, width = LINES.get(distinctness, ("solid", 0.7))
    if open_end:
        axes.plot(across, frame.y(bottom), color=QUIET, linewidth=0.7)
        return
    parts = ((0.0, 1.0),)
    if form == "broken":  # gaps say broken; dashes of a gradual one would hide them
        parts, style = BROKEN, "solid"
    for first, last in parts:
        piece = slice(round(first * 80), round(last * 80) + 1)
        axes.plot(across[piece], frame.y(bottom)[piece], color=INK, linewidth=width, linestyle=style, solid_capstyle="butt")
    low, high = row["lower_low_cm"], row["lower_high_cm"]
    if form not in ("wavy", "irregular") and np.isfinite(low) and np.isfinite(high) and high > low:
        for depth in (low, high):  # a range without a form: its two limits as fine lines
            axes.plot(across[[0, -1]], frame.y([depth, depth]), color=INK, linewidth=0.4, linestyle=(0, (1, 2)))
