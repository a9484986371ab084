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
from geoprofile.surfaces.explaining import explain, says

GRID = Grid("EPSG:3158", 600_000.0, 5_700_000.0, 10.0, 20, 30)
PLACE = 600_101.0, 5_699_903.0


def test_weights_times_what_pits_count_as_is_the_value_on_the_map(saved, make_context):
    found = explain(saved(make_context()), "depth", *PLACE, make_context(), most=30)
    assert sum(pit.weight for pit in found.pits) == pytest.approx(1)
    assert sum(pit.weight * pit.counts_as for pit in found.pits) == pytest.approx(found.value, rel=1e-6)
    assert all(float(pit.says) == pytest.approx(pit.counts_as, abs=0.051) for pit in found.pits)
    assert found.reliability == "backed by the pits" and np.isnan(found.hidden_value)


def test_a_pit_that_says_at_least_reads_as_that_and_counts_as_its_mean_beyond(saved, make_context):
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


def test_weights_on_another_scale_are_said_to_be_on_it(saved, make_context):
    surfaces = saved(make_context(), power=0.0, bounded=(2, 3))
    found = explain(surfaces, "depth", *PLACE, make_context(), most=30)
    assert sum(pit.weight for pit in found.pits) == pytest.approx(1)
    middle = np.exp(sum(pit.weight * np.log(pit.counts_as) for pit in found.pits))
    assert middle < found.value < 1.1 * middle, "the map shows the mean, which lies above the median"
    assert any("scale that was modelled" in note for note in found.notes)


def test_the_heaviest_come_first_and_the_others_are_summed(saved, make_context):
    found = explain(saved(make_context()), "depth", *PLACE, make_context(), most=5)
    sizes = [abs(pit.weight) for pit in found.pits]
    assert sizes == sorted(sizes, reverse=True) and len(sizes) == 5 and found.rest_count == 25
    assert sum(pit.weight for pit in found.pits) + found.rest_weight == pytest.approx(1)
    x, y = 600_105.0, 5_699_905.0  # centre of the cell
    rows = saved(make_context()).points.set_index("pit_id")
    for pit in found.pits:
        assert pit.distance_m == pytest.approx(np.hypot(rows.x[pit.pit_id] - x, rows.y[pit.pit_id] - y))


def test_a_method_without_weights_lists_the_nearest_pits_of_the_same_stratum(saved, make_context, tmp_path):
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


def test_what_cannot_be_explained_says_why(saved, make_context):
    context = make_context()
    surfaces = saved(context)
    with pytest.raises(TooLittleData, match="9 usable pits"):
        explain(surfaces, "clay", *PLACE, context)
    with pytest.raises(InputError, match="no such surface"):
        explain(surfaces, "sand", *PLACE, context)
    with pytest.raises(InputError, match="off the map"):
        explain(surfaces, "depth", 10.0, 10.0, context)


def test_it_reads_as_a_table_and_as_strict_json(saved, make_context):
    import dataclasses

    found = explain(saved(make_context(), bounded=(1, 4)), "depth", *PLACE, make_context())
    text = "\n".join(explanation_lines(found))
    assert "90 % interval" in text and "20 others" in text and "kriging with bounded observations" in text
    json.dumps(_plain(dataclasses.asdict(found)), allow_nan=False)
    likely = dataclasses.replace(found, presence_percent=83.4)
    assert "  probability that it is present: 83 %" in explanation_lines(likely), "as the map and the report say it"


@pytest.mark.parametrize(
    ("low", "high", "status", "told"),
    [(60.0, np.inf, "at_least", ">60"), (-np.inf, 30.0, "at_most", "<30"), (15.0, 21.0, "between", "15-21"), (0.0, 0.0, "absent", "absent"),
     (17.0, 17.0, "measured", "17")],
)  # fmt: skip
def test_each_status_reads_as_a_mapper_writes_it(low, high, status, told):
    assert says(pd.Series({"low": low, "high": high, "status": status})) == told
