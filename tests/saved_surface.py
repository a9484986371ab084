"""A surface as the product holds it, made by kriging with or without bounds: for tests that start from a saved survey."""

from __future__ import annotations

import numpy as np
import pandas as pd

from geoprofile.grid import Grid
from geoprofile.kernels.back_transform import forward, read_back
from geoprofile.kernels.covariance import Model, covariance_in_place, scaled_squares
from geoprofile.kernels.expectation_propagation import propagate
from geoprofile.kernels.kriging import predict_grid, solve
from geoprofile.kernels.limited_likelihood import given_measured
from geoprofile.problems import problems_frame
from geoprofile.products import Refusal, Surface, Surfaces
from geoprofile.rasters import CLASS, write_raster
from geoprofile.record import Record

GRID = Grid("EPSG:3158", 600_000.0, 5_700_000.0, 10.0, 20, 30)


def saved(context, *, power=None, bounded=(), parameters=True, attribute="depth"):
    """A surface as the product holds it: 30 pits, those in ``bounded`` at least what they say."""
    rng = np.random.default_rng(11)
    places = np.column_stack([600_000 + rng.uniform(0, 300, 30), 5_700_000 - rng.uniform(0, 200, 30)])
    shown = np.exp(rng.normal(3.4, 0.25, 30))
    model = Model("exponential", *((10.0, 40.0) if power is None else (0.01, 0.05)), 60.0)
    low, high = shown.copy(), shown.copy()
    high[list(bounded)] = np.inf
    readings, error = forward(low, power).copy(), np.zeros(30)
    if bounded:
        order = np.argsort(high != low, kind="stable")
        known = 30 - len(bounded)
        matrix = covariance_in_place(model.kind, model.partial_sill, scaled_squares(model, places[order], places[order]))
        matrix[np.diag_indices(30)] += model.nugget
        mean, own, _ = given_measured(matrix, np.ones((30, 1)), readings[order][:known])
        found = propagate(mean, own, readings[order][known:], np.full(len(bounded), np.inf))
        readings[order[known:]], error[order[known:]] = found.weighted / found.precision, 1 / found.precision
    system = solve(places, readings, model, error_variance=error if bounded else None)
    cells, low90, high90 = (read_back(*predict_grid(system, *GRID.centres()), power)[n] for n in (0, 2, 3))
    rasters = {name: write_raster(context.output, f"surfaces/{name}.tif", array, GRID, name=name, title=name, unit="cm")
               for name, array in {"e": cells, "l": low90, "h": high90}.items()}  # fmt: skip
    rasters["r"] = write_raster(context.output, "surfaces/r.tif", np.ones(GRID.shape, int), GRID, name="r", title="r", unit="",
                                kind=CLASS, legend={1: "backed by the pits"})  # fmt: skip
    told = {"kind": model.kind, "nugget": model.nugget, "partial_sill": model.partial_sill, "scale_m": 60.0,
            "nugget_is_error": False, "drift": [], "by_stratum": False}  # fmt: skip
    told |= {} if power is None else {"power": power}
    surface = Surface(attribute, "Depth to lime", "cm", "m", "kriging with bounded observations", "e", "l", "h", reliability="r",
                      model="exponential; range 180 m", parameters=told if parameters else {})  # fmt: skip
    status = np.where(low == high, "measured", "at_least")
    points = pd.DataFrame({"attribute": attribute, "pit_id": [f"P{n}" for n in range(30)], "x": places[:, 0], "y": places[:, 1],
                           "low": low, "high": high, "status": status, "predicted": np.nan, "reading": readings,
                           "reading_variance": error})  # fmt: skip
    refusals = (Refusal("clay", "9 usable pits are fewer than the 10 that a surface needs"),)
    return Surfaces(Record("surfaces", {}), GRID, (surface,), rasters, refusals, pd.DataFrame(), points, problems_frame([]))
