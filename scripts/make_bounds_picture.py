"""Make demo_data/bounds.png for the README: what it does to a map when pits say only "at least".

    .venv/bin/python scripts/make_bounds_picture.py

Depth to carbonates of the demonstration, mapped three times with the settings of its survey file and nothing changed but
the pits that ended above the carbonates: as the bounds they are; dropped; and with the end of the pit as the depth. The
fourth map is the invented truth: at every cell the mean of DRAWS profiles drawn from the same landscape that the pits
were drawn from. Errors are of the map against that mean, over the cells that all three maps show. Nothing is typed in.
"""

from __future__ import annotations

import dataclasses
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))

import numpy as np
from demo_survey.ground import make_ground
from demo_survey.places import described
from demo_survey.profiles import draw_profile

from geoprofile.outputs.figures import drawing, new_figure, png_bytes
from geoprofile.outputs.palette import INK, QUIET, RAMP
from geoprofile.pipeline import run_survey
from geoprofile.products import Surfaces
from geoprofile.record import Record
from geoprofile.surfaces.stage import map_surfaces

HERE = Path(__file__).resolve().parents[1]
PICTURE = HERE / "demo_data" / "bounds.png"
ATTRIBUTE = "depth_to_carbonates"
DRAWS, SEED = 24, 11
DEEP = 60.0
"""Deeper than most augerings went, cm."""
LIMITS = (0.0, 90.0)
WAYS = {
    "with bounds": "Every pit for what it says",
    "dropped": "Pits that say only at least, dropped",
    "written down": "The end of the pit written down as the depth",
}


def maps(folder: Path) -> tuple[dict[str, np.ndarray], Surfaces]:
    """Estimates by way, cm, and the surfaces with bounds (their grid, pits and score)."""
    run = run_survey(HERE / "demo_data", until="terrain", output=folder)
    attributes = run_survey(HERE / "demo_data", until="attributes", output=folder).products["attributes"]
    pits = run_survey(HERE / "demo_data", until="pits", output=folder).products["pits"]
    terrain = run.products["terrain"]
    settings = run.settings.surfaces.model_copy(update={"use": (ATTRIBUTE,), "classes": None})
    estimates, first = {}, None
    for way in WAYS:
        told = dataclasses.replace(attributes, values=changed(attributes.values, way))
        made = map_surfaces(pits, told, terrain, settings, run.context, Record("surfaces", {"way": way}))
        estimates[way] = made.rasters[made.surfaces[0].estimate].read(run.context.output).astype(float)
        first = first or made
    return estimates, first


def changed(values, way: str):
    """The table of values as the way takes it."""
    bounded = (values["attribute"] == ATTRIBUTE) & (values["status"] == "at_least")
    if way == "dropped":
        return values[~bounded]
    if way == "written down":
        values = values.copy()
        values.loc[bounded, "high"], values.loc[bounded, "status"] = values.loc[bounded, "low"], "measured"
    return values


def invented_truth(points: np.ndarray) -> np.ndarray:
    """(m,) mean depth to carbonates of profiles drawn at each of (m, 2) places, cm."""
    rng = np.random.default_rng(SEED)
    places = described(make_ground(), points[:, 0], points[:, 1])
    return np.array([np.mean([draw_profile(place, rng).truth["lime"] for _ in range(DRAWS)]) for place in places.itertuples()])


def errors(estimate: np.ndarray, truth: np.ndarray) -> str:
    """Mean error and RMSE in words, and the mean error where the truth is deep."""
    off, deep = estimate - truth, truth > DEEP
    return f"mean error {signed(off.mean())} cm, RMSE {np.sqrt(np.mean(off**2)):.1f} cm\nwhere deeper than {DEEP:.0f} cm: mean error {signed(off[deep].mean())} cm"


def signed(value: float) -> str:
    return f"{value:+.1f}".replace("-", "\N{MINUS SIGN}")


def picture(estimates: dict[str, np.ndarray], truth: np.ndarray, surfaces: Surfaces) -> bytes:
    """Four maps in one colour scale; ``truth`` is NaN where a map shows nothing."""
    from matplotlib.colors import LinearSegmentedColormap

    ramp = LinearSegmentedColormap.from_list("depth", [tuple(value / 255 for value in colour) for colour in RAMP])
    shown = np.isfinite(truth)
    west, south, east, north = surfaces.grid.bounds
    row, column = np.nonzero(shown)
    x, y = surfaces.grid.centres()
    around = x[column.min()] - 40, x[column.max()] + 40, y[row.max()] - 75, y[row.min()] + 40
    used = surfaces.points[surfaces.points["attribute"] == ATTRIBUTE]
    bounded = used["status"] == "at_least"
    panels = [(WAYS[way], array, errors(array[shown], truth[shown]), way != "dropped") for way, array in estimates.items()]
    panels.append(("The invented truth", truth, f"mean {truth[shown].mean():.1f} cm, deeper than {DEEP:.0f} cm on {100 * np.mean(truth[shown] > DEEP):.0f} % of the land\n"
                   f"its own mean everywhere would have RMSE {truth[shown].std():.1f} cm", None))  # fmt: skip
    with drawing():
        figure = new_figure(232, 182)
        for number, (title, array, words, marks) in enumerate(panels):
            axes = figure.add_axes((0.015 + 0.452 * (number % 2), 0.6 - 0.47 * (number // 2), 0.437, 0.355))
            axes.set_facecolor("#eceae6")
            image = axes.imshow(array, cmap=ramp, vmin=LIMITS[0], vmax=LIMITS[1], extent=(west, east, south, north), interpolation="nearest")
            if marks is not None:
                exact = used[~bounded]
                axes.scatter(exact["x"], exact["y"], s=7, c=exact["low"] / 2 + exact["high"] / 2, cmap=ramp, vmin=LIMITS[0], vmax=LIMITS[1],
                             edgecolor=INK, linewidth=0.4, zorder=3)  # fmt: skip
            if marks:
                least = used[bounded]
                axes.scatter(least["x"], least["y"], s=20, marker="v", c=least["low"], cmap=ramp, vmin=LIMITS[0], vmax=LIMITS[1],
                             edgecolor=INK, linewidth=0.7, zorder=4)  # fmt: skip
            axes.set_xlim(*around[:2])
            axes.set_ylim(*around[2:])
            axes.set_anchor("NW")
            axes.set_xticks([])
            axes.set_yticks([])
            axes.set_title(title, fontsize=10, loc="left", pad=4, weight="bold")
            axes.text(0, -0.03, words, transform=axes.transAxes, fontsize=8.5, va="top", linespacing=1.45)
            if number == 0:
                right, low = around[1] - 20, around[2] + 18
                axes.plot([right - 300, right], [low] * 2, color=INK, linewidth=2.2, solid_capstyle="butt", zorder=5)
                axes.text(right - 150, low + 8, "300 m", fontsize=7.5, ha="center", zorder=5)
        bar = figure.colorbar(image, cax=figure.add_axes((0.925, 0.33, 0.018, 0.45)), extend="max")
        bar.set_label("depth to carbonates, cm")
        bar.ax.invert_yaxis()
        bar.outline.set_linewidth(0.4)
        figure.text(0.015, 0.03, f"Circles: {int((~bounded).sum())} pits with a depth.  Triangles: {int(bounded.sum())} pits that end above the carbonates "
                                  "and say only at least.  Grey: not backed by the pits.", fontsize=8, color=INK)  # fmt: skip
        figure.text(0.015, 0.008, f"Held against pits left out by location, the map with bounds has: {surfaces.surfaces[0].score.removeprefix('by location: ')}.",
                    fontsize=7, color=QUIET)  # fmt: skip
        return png_bytes(figure, 110)


def make() -> bytes:
    with tempfile.TemporaryDirectory() as folder:
        estimates, surfaces = maps(Path(folder))
    shown = np.logical_and.reduce([np.isfinite(one) for one in estimates.values()])
    truth = np.full(shown.shape, np.nan)
    truth[shown] = invented_truth(surfaces.grid.centre_points()[shown.ravel()])
    for way, array in estimates.items():
        print(f"{WAYS[way]}: {errors(array[shown], truth[shown])}".replace("\n", "; "))
    return picture(estimates, truth, surfaces)


if __name__ == "__main__":
    PICTURE.write_bytes(make())
    print(f"{PICTURE}: {PICTURE.stat().st_size / 1000:.0f} kB")
