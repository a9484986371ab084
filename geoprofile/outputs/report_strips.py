"""What every pit says of every attribute in one picture: marks for measurements, bars for bounds."""

from __future__ import annotations

import numpy as np

from .bundle import Bundle
from .figures import drawing, new_figure, svg_bytes
from .palette import INK

MEASURED, BOUND = "#1d5f8a", "#e8a02c"


def attribute_strips(bundle: Bundle, width_mm: float) -> tuple[bytes, int] | None:
    """SVG of a strip per attribute in cm, and how many attributes it shows; None where no pit says anything."""
    values = bundle.attributes.values
    chosen = []
    for definition in bundle.attributes.definitions:
        said = values[(values["attribute"] == definition.name) & (values["low"].notna() | values["high"].notna())]
        if definition.unit == "cm" and len(said):
            chosen.append((definition, said))
    if not chosen:
        return None
    greatest = max(float(np.nanmax(said[["low", "high"]].to_numpy(float))) for _, said in chosen)
    limit = max(greatest, 10.0) * 1.06
    with drawing():
        from matplotlib.lines import Line2D

        height = 5.2 * len(chosen) + 15
        figure = new_figure(width_mm, height)
        axes = figure.add_axes((0.3, 8.5 / height, 0.68, (height - 14) / height))
        for place, (definition, said) in enumerate(chosen):
            _strip(axes, place, said, limit)
            axes.text(-0.02 * limit, place, definition.title, ha="right", va="center", fontsize=7, parse_math=False)
        axes.set_xlim(0, limit)
        axes.set_ylim(len(chosen) - 0.4, -0.6)
        axes.set_yticks([])
        axes.tick_params(labelsize=6.5, length=2)
        axes.set_xlabel("cm", fontsize=7, labelpad=1)
        axes.spines[["top", "right", "left"]].set_visible(False)
        axes.grid(axis="x", color="#dfe4e8", linewidth=0.5)
        axes.set_axisbelow(True)
        handles = [
            Line2D([], [], color=MEASURED, marker="|", linestyle="none", markersize=7, label="measured"),
            Line2D([], [], color=BOUND, linewidth=2, label="between two limits"),
            Line2D([], [], color=BOUND, marker=">", linestyle="none", markersize=4, label="at least"),
            Line2D([], [], color=BOUND, marker="<", linestyle="none", markersize=4, label="at most"),
        ]
        figure.legend(handles=handles, loc="upper left", bbox_to_anchor=(0.29, 1.0), ncols=4, fontsize=6.5, frameon=False,
                      handlelength=1.4, columnspacing=1.5, borderaxespad=0.1)  # fmt: skip
        return svg_bytes(figure), len(chosen)


def _strip(axes, place: int, said, limit: float) -> None:
    low, high = said["low"].to_numpy(float), said["high"].to_numpy(float)
    exact = low == high
    axes.axhline(place, color="#eef1f3", linewidth=7, zorder=0)
    axes.vlines(low[exact], place - 0.28, place + 0.28, color=MEASURED, linewidth=0.9, alpha=0.75, zorder=3)
    both = np.isfinite(low) & np.isfinite(high) & ~exact
    axes.hlines(np.full(both.sum(), place), low[both], high[both], color=BOUND, linewidth=2, alpha=0.75, zorder=2)
    least, most = np.isfinite(low) & ~np.isfinite(high), ~np.isfinite(low) & np.isfinite(high)
    look = {"linestyle": "none", "markersize": 3.6, "markeredgecolor": INK, "markeredgewidth": 0.25, "color": BOUND, "zorder": 4}
    axes.plot(low[least], np.full(least.sum(), place), marker=">", **look)
    axes.plot(high[most], np.full(most.sum(), place), marker="<", **look)
