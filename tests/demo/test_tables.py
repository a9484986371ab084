"""The tables of the demo as a land planner reads them."""

from __future__ import annotations

import numpy as np
import openpyxl
import pandas as pd


def _read(demo, name):
    return pd.read_csv(demo.context.output / "tables" / f"{name}.csv", dtype={"parcel_id": str}, encoding="utf-8-sig")


def test_no_column_of_any_table_lacks_a_heading_or_a_meaning(demo):
    book = openpyxl.load_workbook(demo.context.output / "tables" / "tables.xlsx", read_only=True)
    head, *rows = book["columns"].iter_rows(values_only=True)
    assert head == ("Table", "Heading", "Name in survey.gpkg and CSV", "Unit", "Meaning") and len(rows) > 700
    assert [row for row in rows if not row[1] or not row[4]] == []
    assert [row for row in rows if "_" in row[1]] == [], "headings are words"
    ended = [row for row in rows if row[2].endswith(("_cm", "_ha", "_m3", "_percent", "_m"))]
    assert len(ended) > 200 and [row for row in ended if not row[3]] == []


def test_hectares_to_plan_with_stand_first_and_lie_in_their_interval(demo):
    """Lime above 25 cm in parcel 1: the estimate, smoother than the land, says a fraction of what is to be expected."""
    limits = _read(demo, "parcel_limits")
    assert list(limits)[3] == "expected_below_ha" and list(limits)[-1] == "below_by_estimate_ha"
    known = limits[limits["low90_ha"].notna()]
    assert len(known) > 20 and known["expected_below_ha"].between(known["low90_ha"], known["high90_ha"]).all()
    share = known["expected_below_ha"] / known["backed_ha"] * 100
    assert np.abs(share - known["below_by_simulation_percent"]).max() < 0.2
    lime = known[(known["parcel_id"] == "1") & (known["attribute"] == "depth_to_carbonates") & (known["limit_cm"] == 25)].iloc[0]
    assert lime["below_by_estimate_ha"] < lime["low90_ha"] < lime["expected_below_ha"]


def test_the_median_of_the_tables_is_that_of_the_report(demo):
    from geoprofile.outputs.report_facts import median_text

    attributes = demo.products["attributes"]
    counted = _read(demo, "whole_survey")["pit_ids"].iloc[0].split("; ")
    table = demo.products["zones"].tables["survey_attributes"].set_index("attribute")
    mottles = next(one for one in attributes.definitions if one.name == "depth_to_mottles")
    values = attributes.values[(attributes.values["attribute"] == mottles.name) & attributes.values["pit_id"].isin(counted)]
    row = table.loc[mottles.name]
    assert median_text(values, mottles) == f"at least {row['median_low_cm']:.0f}" and np.isnan(row["median_high_cm"])
    assert row["median_if_ends_tell_nothing_low_cm"] > row["median_low_cm"], "what the assumption adds has another name"


def test_pits_that_are_not_counted_are_told_in_the_tables(demo):
    whole = _read(demo, "whole_survey").iloc[0]
    assert whole["left_out"] == "on stripped or filled ground: TK-009, TK-108; outside the survey area: TK-023"
    assert whole["pits_left_out"] == 3 and "TK-023" not in whole["pit_ids"]
    assert whole["pits"] == _read(demo, "strata")["pits"].sum() == _read(demo, "parcels")["pits"].sum()
    assert _read(demo, "survey_attributes")["pits"].max() == whole["pits"]
    assert _read(demo, "parcels")["pits_left_out"].sum() == _read(demo, "zones")["pits_left_out"].sum() == 2


def test_the_zones_say_what_merging_moved(demo):
    zones, by_cells = _read(demo, "zones"), _read(demo, "parcel_classes").groupby("class")["area_ha"].sum()
    own = zones.set_index("name")["area_by_cells_ha"]
    drawn = [name for name in own.index if name in by_cells.index]
    assert "less than 10 cm" in drawn and len(drawn) >= 5
    assert np.abs(own[drawn] - by_cells[drawn]).max() < 0.1
    assert zones.set_index("name").loc["less than 10 cm", "area_ha"] < own["less than 10 cm"] / 2, "most of it was merged away"


def test_probabilities_say_their_unit_in_the_register(demo):
    register = _read(demo, "surfaces")
    chances = register[register["shows"].str.startswith("probability")]
    assert len(chances) > 5 and (chances["unit"] == "%").all()
