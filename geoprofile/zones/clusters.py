"""Clusters of cells that look alike in their terrain, with a legend made from the clusters' own means.

k-means (Lloyd 1982, IEEE Trans. Inf. Theory 28:129-137) on rasters standardised to
mean 0 and standard deviation 1, by scikit-learn, seeded. Clusters are ordered by
their mean in the first raster, highest first, so that a code keeps its meaning.
"""

from __future__ import annotations

import math
import tomllib
from importlib.resources import files

import numpy as np

from ..context import Context
from ..products import Terrain
from ..rasters import CLASS
from ..settings.zones import DraftSettings
from .classes import Clustered, nearest
from .findings import Findings

DEFAULT = ("relative_elevation", "slope", "tangential_curvature", "wetness_index")
MOST_CELLS = 50_000
"""Clusters are found on at most so many cells (drawn with the seed) and then given to all."""
MOST_LOOKED_AT = 1_000_000
"""Of a larger raster every second, third ... row and column is looked at to find them."""
CLEARLY = 0.5
"""Standard deviations from the survey's mean from which a cluster is called higher, steeper ..."""


def terrain_clusters(
    terrain: Terrain, draft: DraftSettings, seed: int, context: Context, findings: Findings
) -> tuple[Clustered, dict[int, str]] | None:
    """What gives each cell its code, and the names; or None with the reason in the findings."""
    wanted = draft.use or tuple(name for name in DEFAULT if name in terrain.rasters)
    missing = [name for name in wanted if name not in terrain.rasters or terrain.rasters[name].kind == CLASS]
    if missing or not wanted:
        numbers = [name for name, raster in terrain.rasters.items() if raster.kind != CLASS]
        findings.refuse(
            f"clusters cannot use {', '.join(missing) or 'no raster at all'}", f"choose among {', '.join(numbers)}"
        )
        return None
    rasters = tuple(terrain.rasters[name].cells(context.output) for name in wanted)
    grid = terrain.grid
    step = max(1, math.ceil(math.sqrt(grid.height * grid.width / MOST_LOOKED_AT)))
    rows, columns = np.arange(0, grid.height, step), np.arange(0, grid.width, step)
    stack = np.stack([raster.every(rows, columns).ravel() for raster in rasters], axis=1)
    values = stack[np.isfinite(stack).all(axis=1)]
    spread = values.std(axis=0) if len(values) else np.zeros(len(wanted))
    if len(values) < draft.clusters or not (spread > 0).any():
        findings.refuse("the terrain rasters do not vary", "check the elevation raster, or draw zones from a surface")
        return None
    middle, spread = values.mean(axis=0), np.where(spread > 0, spread, 1)
    standard = (values - middle) / spread
    centres = _centres(standard, draft.clusters, seed)
    labels = nearest(standard.T, centres)
    means = np.array([values[labels == one].mean(axis=0) for one in range(len(centres))])
    z = np.array([standard[labels == one].mean(axis=0) for one in range(len(centres))])
    order = np.argsort(-means[:, 0], kind="stable")
    code_of = np.empty(len(order), np.uint8)
    code_of[order] = np.arange(1, len(order) + 1)
    units = [terrain.rasters[name].unit for name in wanted]
    names = {i + 1: cluster_name(wanted, z[one], means[one], units) for i, one in enumerate(order)}
    findings.note(
        f"terrain clusters: k-means, seed {seed}, {len(order)} clusters of {', '.join(wanted)}, each standardised; "
        f"words in the legend mean at least {CLEARLY:g} standard deviation from the survey's mean"
        + (f"; found, and their means taken, on every {step}th row and column of cells" if step > 1 else "")
    )
    return Clustered(rasters, middle, spread, centres, code_of), _told_apart(names)


def cluster_name(rasters: tuple[str, ...], z: np.ndarray, means: np.ndarray, units: list[str]) -> str:
    """``higher than around, steeper, shedding (relative elevation 1.8 m, slope 7.0 degrees)``."""
    words, numbers = [], []
    for name, score, mean, unit in zip(rasters, z, means, units):
        row = _words().get(name, {"above": f"more {name.replace('_', ' ')}", "below": f"less {name.replace('_', ' ')}"})
        if abs(score) >= CLEARLY:
            words.append(row["above"] if score > 0 else row["below"])
        if "label" in row:
            value = round(float(mean), row["decimals"]) + 0.0  # no minus before a zero
            numbers.append(f"{row['label']} {value:.{row['decimals']}f} {unit if unit != '1' else ''}".strip())
    text = ", ".join(dict.fromkeys(words)) or "about average"
    return f"{text} ({', '.join(numbers)})" if numbers else text


def _centres(standard: np.ndarray, clusters: int, seed: int) -> np.ndarray:
    """(k, p) centres, those only to which a cell is nearest."""
    from sklearn.cluster import KMeans
    from threadpoolctl import threadpool_limits

    sample = standard
    if len(standard) > MOST_CELLS:
        sample = standard[np.sort(np.random.default_rng(seed).choice(len(standard), MOST_CELLS, replace=False))]
    with threadpool_limits(1):  # sums in one order on every machine
        centres = KMeans(clusters, n_init=10, random_state=seed).fit(sample).cluster_centers_
    return centres[np.unique(nearest(standard.T, centres))]


def _told_apart(names: dict[int, str]) -> dict[int, str]:
    twice = {name for name in names.values() if list(names.values()).count(name) > 1}
    return {code: f"{name}, cluster {code}" if name in twice else name for code, name in names.items()}


def _words() -> dict[str, dict]:
    return tomllib.loads(files(__package__).joinpath("cluster_words.toml").read_text(encoding="utf-8"))
