"""Writer ``figures``: what each surface rests on and how well it holds, one sheet a surface.

    variogram           sample of the measured values, pairs counted, with the fitted model
    predicted, measured each pit predicted from the other parts by location; bounds as arrows from their limit
    coverage            how often central intervals held, against how often they should
    residuals           predicted minus measured at each pit, on the map

Only what the product holds is drawn: Surfaces.points, scores, variograms and the
parameters of the model.
"""

from __future__ import annotations

from textwrap import shorten, wrap

import numpy as np
import pandas as pd

from ..kernels.covariance import Model, semivariance
from ..kernels.scores import coverage_band
from ..products import OutputFile, Surface
from .bundle import Bundle
from .figures import drawing, new_figure, png_bytes, svg_bytes
from .names import safe_name
from .palette import DISTINCT, INK, QUIET
from .placing import write_file

what = "figures/: variogram, predicted against measured, coverage and residuals of each surface, as SVG and PNG"

MEASURED, BOUND, TOO_LOW = DISTINCT[0], DISTINCT[1], DISTINCT[5]
NEEDED = ("by_location", "by_location_low90", "by_location_high90", "by_location_place")
NOMINAL = np.linspace(0.02, 0.98, 49)
WIDE = 165
"""Letters in a line of the heading."""
MOST_MODELS = 4
"""Strata whose variogram is drawn; those with the most pairs."""


def write(bundle: Bundle) -> tuple[OutputFile, ...]:
    """Two files a surface; nothing where nothing was mapped or the product holds no predictions."""
    if bundle.surfaces is None or any(name not in bundle.surfaces.points for name in NEEDED):
        return ()
    files: list[OutputFile] = []
    with drawing():
        for surface in bundle.surfaces.surfaces:
            points = bundle.surfaces.points
            points = points[points["attribute"] == surface.attribute]
            if points.empty:
                continue
            figure = draw_sheet(bundle, surface, points)
            path, title = f"figures/{safe_name(surface.attribute)}", f"{surface.title}: how well the surface holds"
            files += [
                write_file(bundle.context, f"{path}.svg", svg_bytes(figure), title),
                write_file(bundle.context, f"{path}.png", png_bytes(figure), title),
            ]
            bundle.context.progress.check()
    return tuple(files)


def draw_sheet(bundle: Bundle, surface: Surface, points: pd.DataFrame):
    """The four panels of one surface; returns the figure."""
    figure = new_figure(210, 190)
    figure.text(0.02, 0.972, f"{bundle.context.survey.name}: {surface.title}", fontsize=11, weight="bold", va="center")
    told = [f"{surface.method_title}, {surface.pits_used} pits", surface.score]
    lines = [(line, INK) for text in told for line in wrap(text, WIDE)]
    lines += [(line, BOUND) for text in surface.cautions[:2] for line in wrap(text, WIDE)]
    for number, (line, colour) in enumerate(lines[:6]):
        figure.text(0.02, 0.952 - 0.0135 * number, line, fontsize=6.5, va="center", color=colour)
    places = [(0.09, 0.515, 0.37, 0.3), (0.59, 0.515, 0.37, 0.3), (0.09, 0.065, 0.37, 0.3), (0.59, 0.065, 0.37, 0.3)]
    variogram, against, coverage, residuals = (figure.add_axes(place) for place in places)
    draw_variogram(variogram, surface, bundle.surfaces.variograms)
    draw_against(against, surface, points)
    draw_coverage(coverage, points)
    draw_residuals(residuals, surface, points)
    for axes in (variogram, against, coverage, residuals):
        axes.spines[["right", "top"]].set_visible(False)
    return figure


def draw_variogram(axes, surface: Surface, variograms: pd.DataFrame) -> None:
    """The sample with pairs counted, and the model; strata with models of their own in their own colours."""
    _title(axes, "Variogram of the measured values")
    own = variograms[variograms["attribute"] == surface.attribute] if len(variograms) else variograms
    if own.empty:
        _say(axes, "too few measured values for a variogram")
        return
    strata = own.groupby("stratum")["pairs"].sum().sort_values(ascending=False, kind="stable").index[:MOST_MODELS]
    top = 0.0
    for number, stratum in enumerate(sorted(strata)):
        part, colour = own[own["stratum"] == stratum], DISTINCT[number % len(DISTINCT)]
        whose = f"{shorten(stratum, 20, placeholder='…')}, " if stratum else ""
        axes.scatter(part["distance_m"], part["semivariance"], s=14, color=colour, zorder=3, label=f"{whose}sample")
        top = max(top, float(part["semivariance"].max()))
        if len(strata) == 1:
            for row in part.itertuples():
                axes.annotate(f"{row.pairs}", (row.distance_m, row.semivariance), (0, 4), textcoords="offset points",
                              ha="center", fontsize=5.5, color=QUIET)  # fmt: skip
        model = model_of(surface, stratum)
        if model is not None:
            distance = np.linspace(1e-6, float(own["distance_m"].max()) * 1.05, 200)
            for scale, style, label in _reaches(model, whose):
                curve = semivariance(model._replace(scale=scale), distance)
                axes.plot(distance, curve, style, color=colour, linewidth=1.2, label=label)
            top = max(top, model.sill)
    axes.set_xlim(0, float(own["distance_m"].max()) * 1.08)
    axes.set_ylim(0, 1.15 * top if top > 0 else 1)
    axes.set_xlabel("Distance (m)")
    axes.set_ylabel(f"Semivariance ({surface.unit}²)" if surface.unit else "Semivariance")
    _legend(axes, 2)
    note = "small figures: pairs of pits; " if len(strata) == 1 else ""
    bounds = "the model is fitted by likelihood, with what the bounds say; they have no point here"
    axes.text(0, -0.215, note + bounds, transform=axes.transAxes, fontsize=5.5, color=QUIET)


def model_of(surface: Surface, stratum: str) -> Model | None:
    """The fitted model on the scale of the values; None where there is none, it is of transformed values, or it is of
    thickness only where the horizon is, while the points are of all pits."""
    found = surface.parameters
    found = found.get("strata", {}).get(stratum, found if not stratum or "strata" not in found else {})
    found = found.get("near_pits", {}).get("model", found)
    if "kind" not in found or found.get("transform", "none") not in ("none", None) or found.get("power") is not None:
        return None
    return Model(
        found["kind"], float(found["nugget"]), float(found["partial_sill"]), float(found["scale_m"]),
        float(found.get("azimuth", 0.0)), float(found.get("ratio", 1.0)),
    )  # fmt: skip


def _reaches(model: Model, whose: str) -> list[tuple[float, str, str]]:
    """Scale, line and label of the model; twice where it reaches farther one way, for the points are of pairs all round."""
    if model.ratio == 1.0:
        return [(model.scale, "-", f"{whose}{model.kind} model")]
    along = f"{whose}{model.kind} model along azimuth {model.azimuth:.0f}°"
    return [(model.scale, "-", along), (model.scale * model.ratio, "--", f"{whose}the same across it")]


def draw_against(axes, surface: Surface, points: pd.DataFrame) -> None:
    """Predicted from the other parts against what the pit says, with the 90 % interval."""
    unit = f" ({surface.unit})" if surface.unit else ""
    _title(axes, "Predicted by location, against the pit")
    known = points[np.isfinite(points["by_location"])]
    if known.empty:
        _say(axes, "could not be validated by location")
        return
    exact = known[known["low"] == known["high"]]
    bounded = known[(known["low"] != known["high"])]
    axes.errorbar(
        exact["low"], exact["by_location"],
        yerr=np.maximum([exact["by_location"] - exact["by_location_low90"], exact["by_location_high90"] - exact["by_location"]], 0),
        fmt="o", markersize=2.6, color=MEASURED, ecolor=MEASURED, elinewidth=0.35, alpha=0.8, zorder=3, label="measured, with 90 % interval",
    )  # fmt: skip
    for side, marker, words in (("low", ">", "at least"), ("high", "<", "at most")):
        part = bounded[np.isfinite(bounded[side]) & ~np.isfinite(bounded["high" if side == "low" else "low"])]
        if len(part):
            axes.scatter(part[side], part["by_location"], s=12, marker=marker, facecolor="none", edgecolor=BOUND, linewidth=0.7,
                         zorder=3, label=f"{words} this")  # fmt: skip
    both = bounded[np.isfinite(bounded["low"]) & np.isfinite(bounded["high"])]
    if len(both):
        axes.hlines(both["by_location"], both["low"], both["high"], color=BOUND, linewidth=0.7, zorder=3, label="between these")
    limits = known[["low", "high", "by_location"]].to_numpy(float)
    limits = limits[np.isfinite(limits)]
    low, high = float(limits.min()), float(limits.max())
    ends = exact[["by_location_low90", "by_location_high90"]].to_numpy(float)
    tall = np.quantile(ends[:, 1], 0.9) if len(ends) else high
    room = 0.05 * (high - low or 1.0)
    axes.plot([low, high], [low, high], color=INK, linewidth=0.7, linestyle=(0, (4, 3)), zorder=2)
    axes.set_xlim(low - room, high + room)
    axes.set_ylim(low - 2 * room, max(high, float(tall)) + 4 * room)
    axes.set_xlabel(f"What the pit says{unit}")
    axes.set_ylabel(f"Predicted without its part{unit}")
    _legend(axes, 2)


def draw_coverage(axes, points: pd.DataFrame) -> None:
    """Share of measured pits inside central intervals of every share, by location."""
    _title(axes, "Coverage of the intervals, by location")
    exact = points[(points["low"] == points["high"]) & np.isfinite(points["by_location"])]
    if len(exact) < 3:
        _say(axes, "too few measured pits")
        return
    place = exact["by_location_place"].to_numpy(float)
    # a prediction without spread that is right lies in intervals of every share, though it has no place among values
    sure = ((exact["by_location_low90"] == exact["by_location_high90"]) & (exact["low"] == exact["by_location_low90"])).to_numpy()
    held = np.array([np.mean(sure | (np.abs(2 * place - 1) <= share)) for share in NOMINAL])
    bands = np.array([coverage_band(len(exact), share) for share in NOMINAL])
    axes.fill_between(NOMINAL * 100, bands[:, 0] * 100, bands[:, 1] * 100, color=QUIET, alpha=0.25, linewidth=0,
                      label="right intervals: 95 of 100 surveys")  # fmt: skip
    axes.plot([0, 100], [0, 100], color=INK, linewidth=0.7, linestyle=(0, (4, 3)))
    axes.plot(NOMINAL * 100, held * 100, color=MEASURED, linewidth=1.4, label=f"{len(exact)} measured pits")
    axes.set_xlim(0, 100)
    axes.set_ylim(0, 100)
    axes.set_xlabel("Share that the interval promises (%)")
    axes.set_ylabel("Share of pits that it held (%)")
    _legend(axes, 2)
    axes.text(98, 4, "below the line: intervals too bold\nabove it: too timid", ha="right", fontsize=6, color=QUIET)


def draw_residuals(axes, surface: Surface, points: pd.DataFrame) -> None:
    """Predicted minus measured, by size and sign, where the pits are; open squares are bounds that are contradicted."""
    _title(axes, "Residuals, by location")
    exact = points[(points["low"] == points["high"]) & np.isfinite(points["by_location"])]
    if exact.empty:
        _say(axes, "no measured pit could be predicted")
        return
    residual = (exact["by_location"] - exact["low"]).to_numpy(float)
    largest = float(np.quantile(np.abs(residual), 0.95)) or 1.0
    size = 2 + 60 * np.minimum(np.abs(residual) / largest, 1.5)
    unit = f" {surface.unit}" if surface.unit else ""
    for sign, colour, words in ((residual >= 0, BOUND, "too high"), (residual < 0, TOO_LOW, "too low")):
        axes.scatter(exact["x"][sign], exact["y"][sign], s=size[sign], color=colour, alpha=0.6, linewidth=0,
                     label=f"predicted {words}")  # fmt: skip
    against = points[(points["low"] != points["high"])
                     & ((points["by_location_high90"] < points["low"]) | (points["by_location_low90"] > points["high"]))]  # fmt: skip
    if len(against):
        axes.scatter(against["x"], against["y"], s=22, marker="s", facecolor="none", edgecolor=INK, linewidth=0.8,
                     label="bound contradicted")  # fmt: skip
    axes.set_aspect("equal", adjustable="datalim")
    axes.set_xticks([])
    axes.set_yticks([])
    axes.set_xlabel(f"the largest dots: {largest * 1.5:.3g}{unit} or more", fontsize=6.5)
    _legend(axes, 3, markerscale=0.6)


TITLE = {"fontsize": 8.5, "loc": "left", "weight": "bold"}
LEGEND_LINE = 8.5
"""Height of a line of the legend, points."""


def _title(axes, words: str) -> None:
    axes.set_title(words, **TITLE)


def _legend(axes, columns: int, **look) -> None:
    """The legend between the title and the axes: there it lies over no point."""
    shown = len(axes.get_legend_handles_labels()[1])
    axes.legend(fontsize=6, frameon=False, loc="lower left", bbox_to_anchor=(0, 1), ncols=columns, borderaxespad=0.2, borderpad=0.1,
                labelspacing=0.3, handletextpad=0.4, columnspacing=1.2, **look)  # fmt: skip
    axes.set_title(axes.get_title(loc="left"), pad=4 + LEGEND_LINE * -(-shown // columns), **TITLE)


def _say(axes, words: str) -> None:
    axes.text(0.5, 0.5, words, transform=axes.transAxes, ha="center", va="center", fontsize=7, color=QUIET)
    axes.set_xticks([])
    axes.set_yticks([])
