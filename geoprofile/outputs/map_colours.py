"""Colours and classes of the map's layers.

Ramps grow darker all the way, so that they keep their order in grey and for every
kind of colour vision (Brewer 2003, from matplotlib), and stay light enough for the
relief to show through; classes use nine light colours chosen to fill areas for the same
eyes (Tol 2021, technical note on colour schemes, 'light').
Classes noted at the pits may be twelve: their colours are of our own, found by search as
those of ``palette.py``, any two at least 20 CIELAB units apart for every kind of colour vision.
"""

from __future__ import annotations

import math

import matplotlib
from matplotlib.colors import to_hex

CLASSES = ("#77aadd", "#ee8866", "#eedd88", "#44bb99", "#ffaabb", "#99ddff", "#bbcc33", "#aaaa00", "#dddddd")
NAMED_CLASSES = (
    "#efce6b", "#adefad", "#9d7cbd", "#2adeff", "#ce7c5b", "#6b8c8c", "#ad8c1a", "#1a9dff", "#ad1a4b", "#5b4b7c", "#3a4bad", "#8c4b1a",
)  # fmt: skip
"""The lightest first: they are for what covers most land, so that the relief shows through."""
OTHER_CLASSES, OTHER_GREY = "other classes", "#dddddd"
RAMPS = {"depth": ("YlGnBu", 0.05, 0.8), "probability": ("YlOrRd", 0.03, 0.85), "terrain": ("YlOrBr", 0.03, 0.8)}
NOTHING = "#8a8f91"
"""Colour of a reliability class that says no."""


def ramp(name: str, count: int) -> list[str]:
    """``count`` colours as #rrggbb, from light (low) to dark (high)."""
    source, start, end = RAMPS[name]
    return [to_hex(matplotlib.colormaps[source](start + (end - start) * (k / max(count - 1, 1)))) for k in range(count)]


def class_colour(number: int) -> str:
    """Colour of the ``number``-th class, from 0; they repeat after nine."""
    return CLASSES[number % len(CLASSES)]


def named_class_colours(names: list[str], cover: list[float]) -> list[str]:
    """A colour a class, the lightest for the one that covers most; what is lumped as other classes is grey, for it is no class."""
    own = [name for name, _ in sorted(zip(names, cover), key=lambda pair: -pair[1]) if name != OTHER_CLASSES]
    chosen = {name: NAMED_CLASSES[k % len(NAMED_CLASSES)] for k, name in enumerate(own)}
    return [chosen.get(name, OTHER_GREY) for name in names]


def round_limits(low: float, high: float, most: int = 8) -> list[float]:
    """Round class limits inside (low, high): steps of 1, 2, 2.5 or 5 times a power of ten, at most ``most`` classes."""
    span = high - low
    if not span > 0:
        return []
    power = 10 ** math.floor(math.log10(span / most))
    step = next(k * power for k in (1, 2, 2.5, 5, 10, 20) if span / (k * power) <= most - 1)
    # 1.9 / 0.1 is less than 19 in binary: the ends are compared as the numbers that are shown
    limits = (float(f"{k * step:.10g}") for k in range(math.floor(low / step), math.ceil(high / step) + 1))
    return [limit for limit in limits if low < limit < high]


def number_legend(unit: str, ramp_name: str, limits: list[float]) -> list[dict]:
    """Classes between ``limits``: label, colour, ``below`` (exclusive upper limit, None at the last)."""
    colours = ramp(ramp_name, len(limits) + 1)
    suffix = f" {unit}" if unit else ""
    rows = []
    for k, colour in enumerate(colours):
        if not limits:
            label = f"all{suffix}"
        elif k == 0:
            label = f"less than {limits[0]:g}{suffix}"
        elif k == len(limits):
            label = f"{limits[-1]:g}{suffix} and more"
        else:
            label = f"{limits[k - 1]:g} to {limits[k]:g}{suffix}"
        rows.append({"label": label, "colour": colour, "below": limits[k] if k < len(limits) else None})
    return rows
