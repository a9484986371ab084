"""What the page needs to say which pits weigh most at a click: the same answer as ``geoprofile surfaces --explain``.

Weights differ from cell to cell, so that they cannot be listed: the page gets the kriging system's parts (places of
pits, model, trend) and solves it once, when it is first asked. A bounded pit enters by its mean given all pits, as in
the explanation. Where a surface has no weights, the pits that it used are given and the page names the nearest.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from ..areal import ErrorModel, model_of
from ..areal.model import Part
from ..context import Context
from ..grid import Grid
from ..intervals import interval_text
from ..kernels.back_transform import backward
from ..kernels.covariance import metric
from ..layers import read_polygons
from ..overlay import points_in
from ..products import Surface
from .bundle import Bundle
from .map_parts import RasterLayers
from .map_rasters import Cells, read_cells

MOST_SOLVED = 2_000
"""More pits than this would keep a browser busy for seconds: then the nearest are named."""
DRIFT_STEPS, COARSE_DRIFT_STEPS = 60_000, 250
"""Steps between the least and the largest value of terrain: means of several cells are not the terrain at the place that was
clicked to more than this, and two bytes a cell would crowd out finer cells for everything."""
STRATUM = "stratum"


def weighing(layers: RasterLayers, bundle: Bundle, surface: Surface, factor: int) -> dict | None:
    """``{parts: [...], drift: [{raster, centre, spread}], stratum: raster key or ""}``; None where no pit of the surface is known.

    A part has ``pits`` (row of the page's pits, -1 = not among them), ``ids``, ``x``, ``y``, ``says``; where it has
    weights also ``error``, ``trend``, ``counts_as``, ``model``. Parts stand in the order of the stratum raster's codes.
    """
    surfaces = bundle.surfaces
    if "attribute" not in surfaces.points or not surface.estimate:
        return None
    pits = surfaces.points[surfaces.points["attribute"] == surface.attribute]
    if not {"x", "y", "low", "high", "status"} <= set(pits.columns) or pits.empty:
        return None
    model = model_of(surface, surfaces, bundle.context) if surface.parameters else None
    rows = {str(one): number for number, one in enumerate(bundle.pits.pits["pit_id"].astype(str))}
    strata = _Strata(bundle.context)
    names = strata.of(pits[["x", "y"]].to_numpy(float))
    parts = []
    for name in strata.names:
        own = pits[names == name]
        part = None if model is None else model.parts.get(name, model.parts.get("") if len(model.ids) == 1 else None)
        if part is not None and len(part.pit_ids) <= MOST_SOLVED:
            parts.append(_pits(pits.set_index("pit_id").loc[list(part.pit_ids)].reset_index(), rows) | _weighed(part, model))
        else:
            parts.append(_pits(own, rows))
    told = {"parts": parts, "drift": [], "stratum": ""}
    if model is not None and model.drift is not None:  # then there is terrain
        told["drift"] = _drift_layers(layers, bundle, surface, model, factor)
    if len(parts) > 1:
        told["stratum"] = STRATUM
        if STRATUM not in layers.rasters:
            grid = surfaces.grid.coarser(factor)
            layers.add(STRATUM, Cells(grid, strata.over(grid), 0.0), factor, 0)
    return told


def _pits(pits: pd.DataFrame, rows: dict[str, int]) -> dict:
    return {
        "ids": [str(one) for one in pits["pit_id"]],
        "pits": [rows.get(str(one), -1) for one in pits["pit_id"]],
        "x": [round(float(one), 6) for one in pits["x"]],
        "y": [round(float(one), 6) for one in pits["y"]],
        "says": [_says(low, high, status) for low, high, status in zip(pits["low"], pits["high"], pits["status"], strict=True)],
    }


def _says(low: float, high: float, status: str) -> str:
    if status == "absent" and low == high:
        return "absent"
    return interval_text(*(None if np.isnan(one) else float(one) for one in (low, high)), status, 1)


def _weighed(part: Part, model: ErrorModel) -> dict:
    system = part.completed()
    values = backward(system.values, model.power)
    values = np.maximum(values, 0.0) if model.floor else values
    error = np.zeros(len(values)) if system.error_variance is None else system.error_variance
    kriging = system.model
    return {
        "counts_as": [float(f"{one:.6g}") for one in values],
        "error": [float(f"{one:.12g}") for one in error],
        "trend": [[float(one) for one in row] for row in system.trend[:, 1:]],
        "model": {
            "kind": kriging.kind, "partial_sill": kriging.partial_sill, "metric": list(metric(kriging)),
            "diagonal": kriging.nugget + system.jitter * kriging.sill,
            "at_pit": 0.0 if system.nugget_is_error else kriging.nugget,
        },
    }  # fmt: skip


def _drift_layers(layers: RasterLayers, bundle: Bundle, surface: Surface, model: ErrorModel, factor: int) -> list[dict]:
    """Terrain is carried once; each surface's model brings it to like size in its own way."""
    told = []
    for number, name in enumerate(surface.parameters["drift"]):
        key = f"drift:{name}"
        told.append({"raster": key, "centre": float(model.drift.centre[number]), "spread": float(model.drift.spread[number])})
        if key in layers.rasters:
            continue
        raw = read_cells(bundle.terrain.rasters[name], bundle.context.output, bundle.surfaces.grid, factor, 1.0)
        steps = DRIFT_STEPS if factor == 1 else COARSE_DRIFT_STEPS
        step = float(np.ptp(raw.array[np.isfinite(raw.array)])) / steps or 1.0
        layers.add(key, Cells(raw.grid, raw.array, step), factor, 9)
    return told


class _Strata:
    """Names of the strata in the order of their codes from 1, the last for land in none; one without a name where there are none."""

    def __init__(self, context: Context) -> None:
        source = context.survey.strata
        self.shapes, self.names = None, ("",)
        if source is not None:
            frame = read_polygons(context.path(source.file), source.layer, crs=context.survey.crs, what="strata")
            each = frame["id" if source.id is None else source.id].astype(str)
            self.shapes, self.names = frame.geometry.values, (*dict.fromkeys(each), "no stratum")
            self.code_of = np.array([self.names.index(one) + 1 for one in each] + [len(self.names)])

    def codes(self, points: np.ndarray) -> np.ndarray:
        import shapely

        if self.shapes is None:
            return np.ones(len(points), int)
        return self.code_of[points_in(shapely.points(points), self.shapes).polygon]

    def over(self, grid: Grid) -> np.ndarray:
        """The code at each cell's centre, window by window: as shapely's objects a map's points would take hundreds of megabytes."""
        codes = np.zeros(grid.shape, np.int32)
        for window in grid.windows():
            codes[window.slices] = self.codes(grid.centre_points(window)).reshape(window.height, window.width)
        return codes

    def of(self, points: np.ndarray) -> np.ndarray:
        return np.array(self.names, object)[self.codes(points) - 1]
