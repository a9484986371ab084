"""Why this value: what is told adds up to what the map shows, and bounds read as bounds."""

from __future__ import annotations

import json

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely

from geoprofile.cli.explain_surface import _plain, explanation_lines
from geoprofile.errors import InputError, TooLittleData
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
from geoprofile.surfaces.explaining import explain, says

GRID = Grid("EPSG:3158", 600_000.0, 5_700_000.0, 10.0, 20, 30)
PLACE = 600_101.0, 5_699_903.0


def saved(context, *, power=None, bounded=(), parameters=True, clip=True):
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
    surface = Surface("depth", "Depth to lime", "cm", "m", "kriging with bounded observations", "e", "l", "h", reliability="r",
                      model="exponential; range 180 m", parameters=told if parameters else {})  # fmt: skip
    status = np.where(low == high, "measured", "at_least")
    points = pd.DataFrame({"attribute": "depth", "pit_id": [f"P{n}" for n in range(30)], "x": places[:, 0], "y": places[:, 1],
                           "low": low, "high": high, "status": status, "predicted": np.nan, "reading": readings,
                           "reading_variance": error})  # fmt: skip
    refusals = (Refusal("clay", "9 usable pits are fewer than the 10 that a surface needs"),)
    return Surfaces(Record("surfaces", {}), GRID, (surface,), rasters, refusals, pd.DataFrame(), points, problems_frame([]))


def test_weights_times_what_pits_count_as_is_the_value_on_the_map(make_context):
    found = explain(saved(make_context()), "depth", *PLACE, make_context(), most=30)
    assert sum(pit.weight for pit in found.pits) == pytest.approx(1)
    assert sum(pit.weight * pit.counts_as for pit in found.pits) == pytest.approx(found.value, rel=1e-6)
    assert all(float(pit.says) == pytest.approx(pit.counts_as, abs=0.051) for pit in found.pits)
    assert found.reliability == "backed by the pits" and np.isnan(found.hidden_value)


def test_a_pit_that_says_at_least_reads_as_that_and_counts_as_its_mean_beyond(make_context):
    bounded = (1, 4, 7, 20)
    surfaces = saved(make_context(), bounded=bounded)
    found = explain(surfaces, "depth", *PLACE, make_context(), most=30)
    for pit in found.pits:
        if pit.pit_id in {f"P{n}" for n in bounded}:
            assert pit.says.startswith(">") and pit.counts_as > float(pit.says[1:]) + 1
        else:
            assert not pit.says.startswith(">")
    assert sum(pit.weight * pit.counts_as for pit in found.pits) == pytest.approx(found.value, rel=1e-6)
    assert any("not as its limit" in note for note in found.notes)


def test_weights_on_another_scale_are_said_to_be_on_it(make_context):
    surfaces = saved(make_context(), power=0.0, bounded=(2, 3))
    found = explain(surfaces, "depth", *PLACE, make_context(), most=30)
    assert sum(pit.weight for pit in found.pits) == pytest.approx(1)
    middle = np.exp(sum(pit.weight * np.log(pit.counts_as) for pit in found.pits))
    assert middle < found.value < 1.1 * middle, "the map shows the mean, which lies above the median"
    assert any("scale that was modelled" in note for note in found.notes)


def test_the_heaviest_come_first_and_the_others_are_summed(make_context):
    found = explain(saved(make_context()), "depth", *PLACE, make_context(), most=5)
    sizes = [abs(pit.weight) for pit in found.pits]
    assert sizes == sorted(sizes, reverse=True) and len(sizes) == 5 and found.rest_count == 25
    assert sum(pit.weight for pit in found.pits) + found.rest_weight == pytest.approx(1)
    x, y = 600_105.0, 5_699_905.0  # centre of the cell
    rows = saved(make_context()).points.set_index("pit_id")
    for pit in found.pits:
        assert pit.distance_m == pytest.approx(np.hypot(rows.x[pit.pit_id] - x, rows.y[pit.pit_id] - y))


def test_a_method_without_weights_lists_the_nearest_pits_of_the_same_stratum(make_context, tmp_path):
    halves = [shapely.box(600_000, 5_699_800, 600_150, 5_700_000), shapely.box(600_150, 5_699_800, 600_300, 5_700_000)]
    gpd.GeoDataFrame({"name": ["west", "east"]}, geometry=halves, crs=GRID.crs).to_file(tmp_path / "lines.gpkg")
    context = make_context(strata={"file": "lines.gpkg", "id": "name"})
    surfaces = saved(context, parameters=False)
    found = explain(surfaces, "depth", 600_148.0, 5_699_905.0, context)
    rows = surfaces.points.set_index("pit_id")
    assert found.stratum == "west" and all(rows.x[pit.pit_id] < 600_150 for pit in found.pits)
    distances = [pit.distance_m for pit in found.pits]
    assert distances == sorted(distances) and np.isnan(found.pits[0].weight)
    assert any("no weights to show" in note for note in found.notes)


def test_what_cannot_be_explained_says_why(make_context):
    context = make_context()
    surfaces = saved(context)
    with pytest.raises(TooLittleData, match="9 usable pits"):
        explain(surfaces, "clay", *PLACE, context)
    with pytest.raises(InputError, match="no such surface"):
        explain(surfaces, "sand", *PLACE, context)
    with pytest.raises(InputError, match="off the map"):
        explain(surfaces, "depth", 10.0, 10.0, context)


def test_it_reads_as_a_table_and_as_strict_json(make_context):
    import dataclasses

    found = explain(saved(make_context(), bounded=(1, 4)), "depth", *PLACE, make_context())
    text = "\n".join(explanation_lines(found))
    assert "90 % interval" in text and "20 others" in text and "kriging with bounded observations" in text
    json.dumps(_plain(dataclasses.asdict(found)), allow_nan=False)


@pytest.mark.parametrize(
    ("low", "high", "status", "told"),
    [(60.0, np.inf, "at_least", ">60"), (-np.inf, 30.0, "at_most", "<30"), (15.0, 21.0, "between", "15-21"), (0.0, 0.0, "absent", "absent"),
     (17.0, 17.0, "measured", "17")],
)  # fmt: skip
def test_each_status_reads_as_a_mapper_writes_it(low, high, status, told):
    assert says(pd.Series({"low": low, "high": high, "status": status})) == told
