"""What every pit says of an attribute in one strip: marks for measurements, bars and arrows for bounds."""

from __future__ import annotations

import numpy as np
import pandas as pd

from .bundle import Bundle
from .figures import drawing, new_figure, svg_bytes
from .palette import INK

MEASURED, BOUND = "#1d5f8a", "#e8a02c"
WIDTH_MM, HEIGHT_MM = 50.0, 4.2


def attribute_strips(bundle: Bundle) -> tuple[dict[str, bytes], bytes | None]:
    """SVG by name of each attribute in cm that any pit says something of, and the axis they share (None: no strip)."""
    values = bundle.attributes.values
    chosen: dict[str, pd.DataFrame] = {}
    for definition in bundle.attributes.definitions:
        said = values[(values["attribute"] == definition.name) & (values["low"].notna() | values["high"].notna())]
        if definition.unit == "cm" and len(said):
            chosen[definition.name] = said
    if not chosen:
        return {}, None
    greatest = max(float(np.nanmax(said[["low", "high"]].to_numpy(float))) for said in chosen.values())
    limit = max(greatest, 10.0) * 1.06
    with drawing():
        return {name: _strip(said, limit) for name, said in chosen.items()}, _axis(limit)


def _axes(limit: float, height_mm: float):
    figure = new_figure(WIDTH_MM, height_mm)
    axes = figure.add_axes((0.02, 0, 0.96, 1))
    axes.set_xlim(0, limit)
    axes.set_ylim(-1, 1)
    axes.axis("off")
    figure.patch.set_alpha(0)
    return figure, axes


def _ticks(limit: float) -> np.ndarray:
    step = next(step for step in (5, 10, 20, 25, 50, 100, 200, 500, 1000, 10_000) if limit / step <= 6)
    return np.arange(0, limit, step)


def _strip(said: pd.DataFrame, limit: float) -> bytes:
    figure, axes = _axes(limit, HEIGHT_MM)
    low, high = said["low"].to_numpy(float), said["high"].to_numpy(float)
    exact = low == high
    axes.axhspan(-0.75, 0.75, color="#f1f4f6", zorder=0)
    axes.vlines(_ticks(limit), -0.75, 0.75, color="white", linewidth=0.8, zorder=1)
    axes.vlines(low[exact], -0.75, 0.75, color=MEASURED, linewidth=0.8, alpha=0.7, zorder=3)
    both = np.isfinite(low) & np.isfinite(high) & ~exact
    axes.hlines(np.zeros(both.sum()), low[both], high[both], color=BOUND, linewidth=1.6, alpha=0.8, zorder=2)
    least, most = np.isfinite(low) & ~np.isfinite(high), ~np.isfinite(low) & np.isfinite(high)
    look = {"linestyle": "none", "markersize": 3.2, "markeredgecolor": INK, "markeredgewidth": 0.25, "color": BOUND, "zorder": 4}
    axes.plot(low[least], np.zeros(least.sum()), marker=">", clip_on=False, **look)
    axes.plot(high[most], np.zeros(most.sum()), marker="<", clip_on=False, **look)
    return svg_bytes(figure)


def _axis(limit: float) -> bytes:
    figure, axes = _axes(limit, HEIGHT_MM)
    ticks = _ticks(limit)
    for tick in ticks:
        axes.text(tick, -0.1, f"{tick:g}" + (" cm" if tick == ticks[-1] else ""), ha="center" if tick else "left", va="center", fontsize=6)
    return svg_bytes(figure)
