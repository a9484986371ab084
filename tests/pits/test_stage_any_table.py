"""Laws that hold for any table: it is read or refused with a reason, and no row is lost in silence."""

from __future__ import annotations

import csv
import io
import tempfile
from pathlib import Path

from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from geoprofile.context import Context
from geoprofile.errors import GeoprofileError
from geoprofile.pits.stage import read_pits
from geoprofile.record import Record
from geoprofile.settings.pits import PitsSettings
from geoprofile.settings.survey import GridSettings, SurveySettings

CELLS = ["", "A", "B", "007", "None", "NA", "0", "10", "10-20", "45+", "15-Oct", "2024-05-31", "1,5", "1.5", "<5", ">126", "Ah", "LFH", "R",
         "500000", "5700000", "49.5", "-99.5", "14N", "in", "m", "none", '6"-12"', "inf", "nan", "1e400", "\u2028", "-", "5-0", "20-15", "0 30 0 W"]  # fmt: skip
HEADINGS = ["pit_id", "top (cm)", "bottom (cm)", "designation", "clay %", "latitude", "longitude", "x", "y", "zone", "date", "unit", "mottles",
            "colour", "structure", "Topsoil 1 (cm)", "Topsoil 2 (cm)", "depth to bt (cm)", "observed to (cm)", "ec", "order", "datum", "crs"]  # fmt: skip


def read(files: dict[str, list[list[str]]], **pits):
    with tempfile.TemporaryDirectory() as folder:
        for name, rows in files.items():
            text = io.StringIO()
            csv.writer(text).writerows(rows)
            (Path(folder) / name).write_text(text.getvalue(), encoding="utf-8")
        context = Context(SurveySettings(crs="EPSG:3158"), GridSettings(), Path(folder), Path(folder))
        return read_pits(PitsSettings.model_validate(pits), context, Record("pits", {}))


@st.composite
def tables(draw, always: tuple[str, ...]):
    headings = list(dict.fromkeys([*always, *draw(st.lists(st.sampled_from(HEADINGS), max_size=8))]))
    rows = draw(st.lists(st.lists(st.sampled_from(CELLS), min_size=len(headings), max_size=len(headings)), min_size=1, max_size=6))
    return [headings, *rows]


@given(tables(("pit_id",)), tables(("pit_id", "top (cm)", "bottom (cm)")), st.sampled_from(["day_first", None]))
@example([["pit_id", "top (cm)"], ["", "A"]], [["pit_id", "top (cm)", "bottom (cm)"], ["A", "007", ""]], None)
@settings(max_examples=30, deadline=None, suppress_health_check=list(HealthCheck))
def test_any_table_is_read_or_refused_with_a_reason(pits, horizons, order):
    try:
        found = read({"p.csv": pits, "h.csv": horizons}, pits={"file": "p.csv"}, horizons={"file": "h.csv"}, date_order=order)
    except GeoprofileError as error:
        assert error.what and error.where
        return
    assert found.pits["pit_id"].is_unique
    ids = set(found.pits["pit_id"])
    assert set(found.horizons["pit_id"]) <= ids and set(found.readings["pit_id"]) <= ids
    assert not (found.horizons["lower_cm"] <= found.horizons["upper_cm"]).any()


@given(st.lists(st.tuples(st.sampled_from(CELLS), st.sampled_from(CELLS)), min_size=1, max_size=8))
@example([("1,5", ""), ("1,5", ""), ("49.5", ""), ("49.5", "")])
@settings(max_examples=30, deadline=None, suppress_health_check=list(HealthCheck))
def test_every_row_is_used_or_listed(depths):
    rows = [["pit_id", "designation", "top (cm)", "bottom (cm)"], *([f"P{n}", "Ah", *pair] for n, pair in enumerate(depths))]
    found = read({"h.csv": rows}, horizons={"file": "h.csv"})
    refused = found.problems[found.problems["severity"] == "error"]
    assert set(found.horizons["row"]) | set(refused["row"].dropna()) == set(range(2, 2 + len(depths)))
    assert not set(found.horizons["row"]) & set(refused["row"].dropna())
