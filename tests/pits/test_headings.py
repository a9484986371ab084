"""Headings: the survey file's word first, trade headings next, a near miss only proposed."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from geoprofile.errors import SettingsError
from geoprofile.pits.headings import map_columns
from geoprofile.pits.readers.raw import RawTable
from geoprofile.products import HORIZON_COLUMNS, PIT_COLUMNS


def raw(**columns) -> RawTable:
    cells = pd.DataFrame({name.replace("__", " "): values for name, values in columns.items()}, dtype=object)
    return RawTable(cells, np.arange(2, 2 + len(cells)), file="table.csv")


def of(headings: list[str]) -> RawTable:
    return RawTable(pd.DataFrame([["1"] * len(headings)], columns=headings, dtype=object), np.array([2]), file="table.csv")


@pytest.mark.parametrize(
    ("heading", "field"),
    [
        ("Pit", "pit_id"), ("From", "upper_depth"), ("To (cm)", "lower_depth"), ("Horizon", "designation"), ("Reaction with HCl", "effervescence"),
        ("Munsell", "colour_moist"), ("Textural class", "texture"), ("bulk density (g/cm3)", "bulk_density"), ("bulk_density_mg_m3", "bulk_density"), ("Rock fragments %", "coarse_fragments"),
    ],
)  # fmt: skip
def test_trade_headings_are_recognised(heading, field):
    found = map_columns(of([heading]), "horizons", {})
    assert list(found.columns) == [field]


def test_every_column_of_the_contract_is_recognised_under_its_own_name():
    derived = {"place_id", "datum_shift_cm", "file", "sheet", "row"}
    for role, columns, more in (("pits", PIT_COLUMNS, derived), ("horizons", HORIZON_COLUMNS, derived)):
        skip = {"designation_as_written", "upper_low_cm", "upper_high_cm", "lower_low_cm", "lower_high_cm", "thickness_low_cm", "thickness_high_cm",
                "lower_is_end", "upper_cm", "lower_cm"}  # fmt: skip
        for name in set(columns) - more - skip:
            assert map_columns(of([name]), role, {}).columns, name


def test_the_survey_files_word_comes_before_any_recognition():
    table = of(["Top", "Ground", "Pit"])
    found = map_columns(table, "horizons", {"upper_depth": "Ground"})
    assert found.columns["upper_depth"][0].heading == "Ground"
    assert "Top" in found.unmapped


def test_a_near_miss_is_proposed_and_never_applied():
    found = map_columns(of(["Pit", "Uper depth", "Lower depth"]), "horizons", {})
    assert "upper_depth" not in found.columns and "Uper depth" in found.unmapped
    assert [problem.check for problem in found.problems] == ["heading"]
    assert 'upper_depth = "Uper depth"' in found.problems[0].remedy


def test_a_symbol_is_no_slip_of_the_pen():
    assert not map_columns(of(["Pit", "Depth to Ba (cm)"]), "pits", {}).problems


def test_a_heading_that_is_not_there_names_the_nearest():
    with pytest.raises(SettingsError, match="did you mean 'Upper'"):
        map_columns(of(["Upper", "Pit"]), "horizons", {"upper_depth": "upper"})


def test_a_field_that_nearly_is_ours_is_refused():
    with pytest.raises(SettingsError, match="did you mean 'upper_depth'"):
        map_columns(of(["Upper"]), "horizons", {"uper_depth": "Upper"})


def test_any_other_measured_property_keeps_the_name_given_to_it():
    found = map_columns(of(["Pit", "N tot"]), "horizons", {"total_nitrogen": "N tot"})
    assert found.columns["total_nitrogen"][0].field.kind == "number"


def test_probes_of_one_reading_are_found_in_order():
    found = map_columns(of(["Place", "Topsoil 2 (cm)", "Topsoil 1 (cm)", "Topsoil 3 (cm)"]), "inspections", {})
    assert [(column.probe, column.heading) for column in found.columns["topsoil_thickness"]] == [
        (1, "Topsoil 1 (cm)"), (2, "Topsoil 2 (cm)"), (3, "Topsoil 3 (cm)")]  # fmt: skip


def test_a_unit_that_cannot_be_the_fields_makes_it_another_thing():
    assert "clay" not in map_columns(of(["Pit", "Clay (cm)"]), "horizons", {}).columns


def test_the_survey_file_may_state_a_unit_that_the_heading_does_not_say():
    found = map_columns(of(["Pit", "Clay"]), "horizons", {}, stated_units={"clay": "g/kg"})
    assert found.columns["clay"][0].unit == "g/kg"
    with pytest.raises(SettingsError, match="unit is not known"):
        map_columns(of(["Pit", "Clay"]), "horizons", {}, stated_units={"clay": "bushels"})
    with pytest.raises(SettingsError, match="heading says another unit"):
        map_columns(of(["Pit", "Clay (%)"]), "horizons", {}, stated_units={"clay": "g/kg"})


def test_what_stands_for_missing_is_never_applied_to_ids_R6_R7():
    table = raw(pit=["NA", "n/a", ""], roots=["NA", "none", "n/a"])
    found = map_columns(table, "horizons", {}, missing=("", "NA", "n/a"))
    assert list(found.text("pit_id")) == ["NA", "n/a", ""]
    assert list(found.text("roots")) == ["", "none", ""]


def test_remarks_in_several_columns_are_all_kept_and_a_depth_in_several_is_refused():
    cells = raw(pit=["1", "1", "1"], top=["0", "10", "20"], base=["10", "20", "30"], note__a=["wet", "", "x"], note__b=["roots", "roots", "x"])
    mapped = map_columns(cells, "horizons", {"remarks": ("note a", "note b")})
    assert list(mapped.text("remarks")) == ["wet; roots", "roots", "x"]
    with pytest.raises(SettingsError, match="one column only"):
        map_columns(cells, "horizons", {"upper_depth": ("top", "base")})


COLOURS = {"hue": ["10YR", "N", "", "2.5Y"], "value": ["4", "5", "", "6"], "chroma": ["3", "0", "", ""]}


@pytest.mark.parametrize(("headings", "field"), [(("moist hue", "moist value", "moist chroma"), "colour_moist"), (("Hue_d", "Value_d", "Chroma_d"), "colour_dry"), (("Hue", "Value", "Chroma"), "colour_moist"),
                                                 (("matrix_hue", "matrix_value", "matrix_chroma"), "colour_moist")])  # fmt: skip
def test_a_colour_in_three_columns_is_one_notation(headings, field):
    cells = pd.DataFrame({"Pit": list("1234")} | dict(zip(headings, COLOURS.values())), dtype=object)
    found = map_columns(RawTable(cells, np.arange(2, 6), file="table.csv"), "horizons", {})
    assert list(found.text(field)) == ["10YR 4/3", "N 5/", "", "2.5Y 6/"]


@pytest.mark.parametrize(("heading", "cell", "read"), [("colour state", "dry", True), ("Moisture state", "m", True), ("State", "Montana", False), ("colour state", "", False)])
def test_a_column_of_states_is_read_where_its_cells_say_states(heading, cell, read):
    cells = pd.DataFrame({"Pit": ["1"], "hue": ["10YR"], "value": ["4"], "chroma": ["3"], heading: [cell]}, dtype=object)
    found = map_columns(RawTable(cells, np.array([2]), file="table.csv"), "horizons", {})
    assert list(found.text("colour_moist")) == ["10YR 4/3"] and found.has("colour_state") == read


def test_a_column_of_states_is_left_where_every_heading_says_its_state():
    found = map_columns(of(["Pit", "Colour moist", "Colour dry", "Moisture state"]), "horizons", {})
    assert "Moisture state" in found.unmapped


@pytest.mark.parametrize(("heading", "state", "by"), [("Colour (dry)", "dry", "heading"), ("Dry colour", "dry", "heading"), ("Colour moist", "moist", "heading"), ("Colour", "", ""), ("Munsell", "", "")])
def test_a_heading_says_the_state_of_its_colours_or_does_not(heading, state, by):
    (columns,) = map_columns(of([heading]), "horizons", {}).columns.values()
    assert (columns[0].state, columns[0].state_by) == (state, by)


def test_colour_in_the_survey_file_is_a_munsell_colour_of_either_state():
    """It was taken for a measured property, so that every colour was listed as no number."""
    found = map_columns(of(["Pit", "Matrix Colour (Munsell)"]), "horizons", {"colour": "Matrix Colour (Munsell)"})
    assert found.columns["colour_moist"][0].state == "" and found.columns["colour_moist"][0].field.kind == "colour"
    stated = map_columns(of(["Pit", "Matrix Colour (Munsell)"]), "horizons", {"colour_dry": "Matrix Colour (Munsell)"})
    assert (stated.columns["colour_dry"][0].state, stated.columns["colour_dry"][0].state_by) == ("dry", "survey file")


def test_the_survey_file_may_neither_contradict_a_heading_nor_name_a_field_twice():
    with pytest.raises(SettingsError, match="the heading says dry"):
        map_columns(of(["Pit", "Colour (dry)"]), "horizons", {"colour_moist": "Colour (dry)"})
    with pytest.raises(SettingsError, match="two names of one field"):
        map_columns(of(["Pit", "Munsell", "Chips"]), "horizons", {"colour_moist": "Munsell", "colour": "Chips"})


@pytest.mark.parametrize(("heading", "proposed"), [("Matrix Colour (Munsell)", "colour ="), ("Matrix Colour dry (Munsell)", "colour_dry ="), ("Soil texture class by hand", "texture ="),
                                                     ("Colour (moist/dry)", "colour ="), ("Dry chip, Munsell", "colour_dry =")])  # fmt: skip
def test_a_heading_with_more_words_than_a_known_one_is_proposed(heading, proposed):
    found = map_columns(of(["Pit", heading]), "horizons", {})
    assert [problem.check for problem in found.problems] == ["heading"] and f"add {proposed}" in found.problems[0].remedy
    assert not map_columns(of(["Pit", "Clay films", "Munsell of mottles"]), "horizons", {}).problems


def test_the_survey_file_may_name_hue_value_and_chroma():
    cells = pd.DataFrame({"Pit": ["1"], "h1": ["10YR"], "v1": ["4"], "c1": ["3"]}, dtype=object)
    found = map_columns(RawTable(cells, np.array([2]), file="table.csv"), "horizons", {"colour_dry": ("h1", "v1", "c1")})
    assert list(found.text("colour_dry")) == ["10YR 4/3"]
    with pytest.raises(SettingsError, match="one column only"):
        map_columns(RawTable(cells, np.array([2]), file="table.csv"), "horizons", {"colour_dry": ("h1", "v1")})
