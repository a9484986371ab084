"""Writer ``transects``: toposequences at true elevation, with the same profiles side by side at true depth.

    axes_of            the routes, else the longest axis through the pits
    draw_toposequence  above: profiles where they stand on the ground; below: side by side, readable
    draw_profiles      no elevation, or no line: profiles side by side only
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

import numpy as np
import pandas as pd

from ..products import OutputFile
from .bundle import Bundle
from .figures import drawing, new_figure, png_bytes, svg_bytes
from .names import safe_name
from .palette import INK, QUIET
from .placing import write_file
from .profile_drawing import HATCH, LINES, NOMINAL_CM, NOT_DESCRIBED, Frame, depth_of, draw_profile
from .profile_labels import LETTER_WIDTH, Type, label_profile
from .transect_axis import LONGEST, Axis, axes_of, elevations_at, ground_along
from .transect_names import Box, stand_below

what = "transects/: profiles at true elevation along a line, and side by side, as SVG and PNG"

NAME_SIZE, NAME_GAP = 6.5, 4
"""Points: type of the pits' names at true elevation, and how far they keep from the profile."""

CAUTION = "Enter no pit that is not shored or sloped to the local code; have buried lines located before digging."


def write(bundle: Bundle) -> tuple[OutputFile, ...]:
    """Draw every transect; with no line or no elevation, the profiles side by side. Nothing where no horizon is described."""
    horizons = {pit: part for pit, part in bundle.pits.horizons.groupby("pit_id", sort=False)}
    if not horizons:
        return ()
    files: list[OutputFile] = []
    with drawing():
        for name, title, figure in _figures(bundle, horizons):
            files += _both(bundle, figure, f"transects/{name}", title)
            bundle.context.progress.check()
    return tuple(files)


def _figures(bundle: Bundle, horizons: dict[str, pd.DataFrame]):
    """Name, title and figure of each drawing: along the lines, or all profiles side by side where that shows more."""
    most = bundle.settings.transect_pits
    drawn = False
    for axis in axes_of(bundle):
        heights = _heights(bundle, axis)
        if heights is None and axis.name == LONGEST and len(axis.pits) < len(horizons) <= most:
            continue  # no route and no elevation: a few pits, as of a wellsite, are all shown rather than those near a line
        drawn = True
        figure = draw_toposequence(bundle, axis, horizons, heights) if heights is not None else draw_profiles(
            bundle, axis.pits, horizons, axis.title, axis.left_out
        )
        yield safe_name(axis.name), axis.title, figure
    if not drawn:
        pits = pd.DataFrame({"pit_id": [pit for pit in bundle.pits.pits["pit_id"] if pit in horizons][:most]})
        title = "Profiles side by side"
        yield "profiles", title, draw_profiles(bundle, pits, horizons, title, len(horizons) - len(pits))


def _both(bundle: Bundle, figure, path: str, title: str) -> list[OutputFile]:
    return [
        write_file(bundle.context, f"{path}.svg", svg_bytes(figure), title),
        write_file(bundle.context, f"{path}.png", png_bytes(figure), title),
    ]


def _heights(bundle: Bundle, axis: Axis) -> np.ndarray | None:
    """Elevation of the ground at each pit of the axis, m, NaN where it is not known; None where it is at less than half of them.

    From the elevation raster; without one, as noted at the pits.
    """
    if bundle.terrain is not None:
        heights = elevations_at(bundle.terrain, bundle.context.output, axis.pits[["x", "y"]].to_numpy(float))
    else:
        noted = bundle.pits.pits.drop_duplicates("pit_id").set_index("pit_id")["elevation_m"]
        heights = noted.reindex(axis.pits["pit_id"]).to_numpy(float)
    return heights if 2 * np.isfinite(heights).sum() >= len(heights) else None


def observed_to(bundle: Bundle) -> dict[str, float]:
    return dict(zip(bundle.pits.pits["pit_id"], bundle.pits.pits["observed_to_cm"].astype(float), strict=True))


def draw_toposequence(bundle: Bundle, axis: Axis, horizons: dict[str, pd.DataFrame], heights: np.ndarray):
    """Profiles on the ground above, side by side below; returns the figure."""
    from matplotlib.patheffects import withStroke

    figure = new_figure(297, 210)
    _title(figure, bundle, axis.title)
    upper = figure.add_axes((0.065, 0.565, 0.915, 0.33))
    lower = figure.add_axes((0.065, 0.115, 0.915, 0.33))
    depths = observed_to(bundle)
    length = axis.line.length
    known = np.isfinite(heights)
    pits, heights = axis.pits[known], heights[known]
    chainage = pits["chainage_m"].to_numpy(float)
    width = length / max(3 * len(axis.pits), 30)
    margin = max(width, 0.02 * length)
    ends = [
        draw_profile(upper, horizons[pit], depths[pit], Frame(at, width, height, 0.01))
        for pit, at, height in zip(pits["pit_id"], chainage, heights, strict=True)
    ]
    feet = heights - np.array(ends) / 100
    top, bottom = heights.max(), feet.min()
    along, ground = np.zeros(1), np.full(1, np.nan)
    if bundle.terrain is not None:
        along, ground = ground_along(axis, bundle.terrain, bundle.context.output)
        upper.plot(along, ground, color=INK, linewidth=1.1, zorder=0.5)
        upper.vlines(chainage, np.interp(chainage, along, ground), heights, color=QUIET, linewidth=0.6, linestyle=(0, (1, 2)), zorder=0.4)
        if np.isfinite(ground).any():
            top, bottom = max(top, np.nanmax(ground)), min(bottom, np.nanmin(ground))
    room = max(top - bottom, 0.5)
    upper.set_xlim(-margin, length + margin)
    upper.set_ylim(bottom - 0.12 * room, top + 0.2 * room)
    x_point, y_point = _metres_a_point(figure, upper)
    names = [str(pit) for pit in pits["pit_id"]]
    long = [len(name) * NAME_SIZE * LETTER_WIDTH for name in names]
    upright = len(names) > 14
    heads = heights + np.array([max(0.0, -float(horizons[pit]["upper_cm"].min())) / 100 for pit in pits["pit_id"]])  # organic layers
    boxes = [Box(at - width / 2, at + width / 2, foot, head) for at, foot, head in zip(chainage, feet, heads, strict=True)]
    wide, high = ([NAME_SIZE] * len(names), max(long)) if upright else (long, NAME_SIZE)
    below = stand_below(boxes, [one * x_point for one in wide], high * y_point, NAME_GAP * y_point, along, ground)
    for name, at, head, foot, under in zip(names, chainage, heads, feet, below, strict=True):
        upper.annotate(name, (at, foot if under else head), (0, -NAME_GAP if under else NAME_GAP), textcoords="offset points", ha="center",
                       va="top" if under else "bottom", fontsize=NAME_SIZE, rotation=90 if upright else 0, parse_math=False, zorder=6,
                       path_effects=[withStroke(linewidth=2, foreground="white")])  # fmt: skip
    upper.set_ylabel("Elevation (m)")
    upper.set_xlabel("Chainage along the line (m)")
    upper.ticklabel_format(useOffset=False, style="plain")
    _open_frame(upper)
    exaggeration = _exaggeration(figure, upper)
    source = "the elevation raster" if bundle.terrain is not None else "notes at the pits"
    upper.set_title(
        f"At true elevation and true depth on one vertical scale; vertical exaggeration {exaggeration:.3g} times. Each profile stands at the "
        f"elevation of its own pit, up to {pits['offset_m'].max():.0f} m beside the line; elevation from {source}.",
        fontsize=7, loc="left",
    )  # fmt: skip
    unnamed = _side_by_side(lower, axis.pits, horizons, depths)
    _legend(figure, axis.left_out, unnamed, axis.pits["pit_id"][~known].tolist())
    return figure


def draw_profiles(bundle: Bundle, pits: pd.DataFrame, horizons: dict[str, pd.DataFrame], title: str, left_out: int):
    """Profiles side by side at true depth; ``pits`` has pit_id and, along a line, chainage_m and offset_m."""
    figure = new_figure(297, 150)
    _title(figure, bundle, title)
    axes = figure.add_axes((0.065, 0.18, 0.915, 0.62))
    unnamed = _side_by_side(axes, pits, horizons, observed_to(bundle))
    _legend(figure, left_out, unnamed)
    return figure


def _side_by_side(axes, pits: pd.DataFrame, horizons: dict[str, pd.DataFrame], depths: dict[str, float]) -> list[str]:
    """Draw the profiles of ``pits``; returns what could not be named, as ``TK-065 Ae``."""
    size = 7.5 if len(pits) <= 14 else 5.5
    width = 0.46 if len(pits) < 8 else 0.62
    deepest = max(depth_of(horizons[pit], depths[pit]) for pit in pits["pit_id"])
    highest = min(float(np.nanmin([horizons[pit]["upper_cm"].min(), 0.0])) for pit in pits["pit_id"])
    axes.set_ylim(-1.04 * deepest, -highest + 0.02 * deepest)
    spare = max(6 - len(pits), 0) / 2  # a few profiles stand in the middle
    axes.set_xlim(-0.7 - spare, len(pits) - 0.3 + spare)
    axes.axhline(0, color=QUIET, linewidth=0.6, zorder=0.4)
    axes.set_xticks(range(len(pits)))
    slot = axes.figure.get_size_inches()[0] * axes.get_position().width * 72 / (len(pits) + 0.4 + 2 * spare)
    room = int(slot / (LETTER_WIDTH * (size - 0.5)))
    tall = axes.figure.get_size_inches()[1] * axes.get_position().height * 72
    type = Type(size, tall / (1.06 * deepest - highest), slot * (1 - width) - 4)
    unnamed = []
    for place, pit in enumerate(pits["pit_id"]):
        frame = Frame(place, width, 0.0, 1.0)
        draw_profile(axes, horizons[pit], depths[pit], frame)
        unnamed += [f"{pit} {name}" for name in label_profile(axes, horizons[pit], depths[pit], frame, type)]
    if "chainage_m" in pits:
        labels = [
            f"{_wrapped(pit, room)}\nat {chainage:.0f} m" + (f"\n{offset:.0f} m off" if len(pits) <= 16 else "")
            for pit, chainage, offset in zip(pits["pit_id"], pits["chainage_m"], pits["offset_m"], strict=True)
        ]
    else:
        labels = [_wrapped(pit, room) for pit in pits["pit_id"]]
    axes.set_xticklabels(labels, fontsize=size - 0.5, parse_math=False)
    axes.xaxis.tick_top()
    axes.tick_params(axis="x", length=0)
    axes.yaxis.set_major_formatter(lambda value, _: f"{0.0 - value:g}")
    axes.set_ylabel("Depth from the datum (cm)")
    axes.spines[["right", "bottom", "top"]].set_visible(False)
    return unnamed


def _wrapped(text: str, letters: int, most: int = 3) -> str:
    """``text`` in lines of at most so many letters, so that the names of neighbours do not run into each other."""
    lines = textwrap.wrap(str(text), max(letters, 4)) or [""]
    return "\n".join(lines if len(lines) <= most else [*lines[: most - 1], f"{lines[most - 1][: max(letters, 4) - 1]}…"])


MOST_UNNAMED = 12
"""Horizons without a name that are told below the drawing; further ones are counted."""


def _open_frame(axes) -> None:
    axes.spines[["right", "top"]].set_visible(False)


def _exaggeration(figure, axes) -> float:
    """Paper per metre upwards over paper per metre along."""
    along, upward = _metres_a_point(figure, axes)
    return along / upward


def _metres_a_point(figure, axes) -> tuple[float, float]:
    """Along and upwards, of the drawing's own coordinates."""
    box = axes.get_position()
    width, height = 72 * figure.get_size_inches()
    (left, right), (bottom, top) = axes.get_xlim(), axes.get_ylim()
    return (right - left) / (box.width * width), (top - bottom) / (box.height * height)


def _title(figure, bundle: Bundle, title: str) -> None:
    height = figure.get_size_inches()[1] * 25.4
    figure.text(0.02, 1 - 8 / height, bundle.context.survey.name, fontsize=12, weight="bold", parse_math=False, va="center")
    figure.text(0.02, 1 - 14 / height, title, fontsize=9, parse_math=False, va="center")


def _legend(figure, left_out: int, unnamed: list[str], without_elevation: Sequence[str] = ()) -> None:
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    handles = [Line2D([], [], color=INK, linestyle=style, linewidth=width, label=f"{name} boundary") for name, (style, width) in LINES.items()]
    handles += [
        Line2D([], [], color=INK, linestyle=(0, (7, 4)), linewidth=0.7, label="broken boundary"),
        Line2D([], [], color=QUIET, linewidth=0.7, marker="v", markersize=3, label="torn edge: observation ended"),
        Patch(facecolor=NOT_DESCRIBED, edgecolor=HATCH, hatch="////", label="colour not described"),
    ]
    figure.legend(handles=handles, loc="lower left", bbox_to_anchor=(0.014, 0.028 * 210 / (figure.get_size_inches()[1] * 25.4)),
                  ncols=len(handles), fontsize=6.5, frameon=False, handlelength=2.4, columnspacing=1.3)  # fmt: skip
    nominal = ", ".join(f"{form} {2 * half:g} cm" for form, half in NOMINAL_CM.items())
    note = (
        f"Colours: Munsell, moist where described, else dry. Boundaries as described; where a range was not: {nominal} high. "
        + (f"{left_out} more pits near the line are not drawn. " if left_out > 0 else "")
        + CAUTION
    )
    figure.text(0.02, 3.5 / (figure.get_size_inches()[1] * 25.4), note, fontsize=6, color=INK)
    told = [
        f"{what}: {', '.join(map(str, some[:MOST_UNNAMED]))}{f' and {len(some) - MOST_UNNAMED} more' if len(some) > MOST_UNNAMED else ''}."
        for what, some in (
            ("Too thin for their name here, with no room beside them", unnamed),
            ("Side by side only, for their elevation is not known", without_elevation),
        )
        if some
    ]
    figure.text(0.02, 14 / (figure.get_size_inches()[1] * 25.4), " ".join(told), fontsize=6, color=INK, parse_math=False)


def first_drawing(bundle: Bundle) -> bytes | None:
    """SVG of the first drawing, for the report; None where no horizon is described."""
    horizons = {pit: part for pit, part in bundle.pits.horizons.groupby("pit_id", sort=False)}
    if not horizons:
        return None
    with drawing():
        *_, figure = next(_figures(bundle, horizons))
        return svg_bytes(figure)
