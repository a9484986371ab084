"""D4, D5: every column has a readable heading with its unit and a meaning."""

import pytest

from geoprofile.outputs.columns import NO_SKILL, attribute_columns, describe
from geoprofile.outputs.names import RENAMED, safe_name, unit_suffix
from geoprofile.products import HORIZON_COLUMNS, PIT_COLUMNS, READING_COLUMNS, VALUE_COLUMNS


@pytest.mark.parametrize(
    ("name", "heading"),
    [
        ("observed_to_cm", "Observed to (cm)"), ("ec_ds_m", "EC (dS/m)"), ("slope_percent", "Slope (%)"),
        ("bulk_density", "Bulk density (Mg/m3)"), ("ph", "pH"), ("caco3_percent", "CaCO3 (%)"), ("elevation_m", "Elevation (m)"),
        ("bank_volume_m3", "Bank volume (m3)"), ("area_ha", "Area (ha)"), ("low90_cm", "Low of the 90 % interval (cm)"),
        ("depth_to_carbonates_low_cm", "Depth to carbonates, low limit (cm)"),
        ("clay_0_30_high_percent", "Clay, 0 to 30 cm, high limit (%)"),
        ("depth_to_carbonates_text", "Depth to carbonates, as written"), ("described_on", "Date of description"),
        ("something_of_theirs", "Something of theirs"),
    ],
)  # fmt: skip
def test_headings_are_words_with_units(name, heading, definitions):
    assert describe(name, definitions).heading == heading


@pytest.mark.parametrize(
    ("table", "name", "says"),
    [("zones", "area_ha", "after parts too small"), ("parcel_classes", "area_ha", "before small parts were merged"),
     ("zones", "area_by_cells_ha", "before small parts were merged"), ("survey_attributes", "median_low_cm", "no assumption"),
     ("survey_attributes", "median_if_ends_tell_nothing_low_cm", "holds only if"), ("route_attributes_other_units", "median_high", "no assumption"),
     ("parcel_limits", "below_by_estimate_ha", "smooth extremes away"), ("parcel_limits", "low90_percent", "by simulation"),
     ("zone_pits_below", "low90_percent", "allows for the undecided"), ("stratum_presence", "high90_percent", "pits placed at random"),
     ("pits", "something_of_theirs", "of the source"), ("parcel_limits", "attribute", "geoprofile explain"), ("readings", "attribute", "in the field"), ("salvage", "mean_cm", "covered part"), ("survey_attributes", "mean_cm", "empty where a pit"), ("survey_attributes_other_units", "mean", "empty where a pit"),
     ("depth_functions", "mean", "smooth curve")],
)  # fmt: skip
def test_a_column_says_what_it_counts_in_the_table_it_stands_in(table, name, says):
    assert says in describe(name, table=table).help


def test_a_column_that_nobody_described_has_no_meaning_so_that_a_test_can_find_it():
    assert describe("something_new_ha", table="zones").help == ""


def test_the_bounds_of_the_median_and_its_estimate_have_headings_of_their_own():
    low, assumed = describe("median_low_cm"), describe("median_if_ends_tell_nothing_low_cm")
    assert (low.heading, assumed.heading) == ("Median, low limit (cm)", "Median if the ends of pits tell nothing, low limit (cm)")


def test_every_column_of_the_contracts_has_a_meaning_whatever_its_name_in_the_file():
    for columns in (PIT_COLUMNS, HORIZON_COLUMNS, READING_COLUMNS, VALUE_COLUMNS):
        for name in columns:
            for spelling in (name, RENAMED.get(name, name)):
                column = describe(spelling)
                assert column.help and "_" not in column.title, spelling


def test_a_unit_in_a_column_name_is_in_its_heading_too():
    for columns in (PIT_COLUMNS, HORIZON_COLUMNS):
        for name in columns:
            for ending, unit in (("_cm", "cm"), ("_percent", "%"), ("_m", "m"), ("_degrees", "degrees")):
                if name.endswith(ending) and not name.endswith("_ds_m"):
                    assert describe(name).unit == unit, name


def test_a_column_with_a_unit_says_it_in_its_name_in_the_files():
    for columns in (PIT_COLUMNS, HORIZON_COLUMNS, READING_COLUMNS):
        for name in columns:
            unit = describe(name).unit
            assert safe_name(name).endswith(unit_suffix(unit)), (name, unit)


def test_attribute_columns_carry_the_unit_on_limits_only(definitions):
    assert list(attribute_columns(definitions[2]).values()) == [
        "clay_0_30_low_percent", "clay_0_30_high_percent", "clay_0_30_status", "clay_0_30_presence", "clay_0_30_text"
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("name", "heading"),
    [("not_known", "Not known"), ("between_limits", "Between two limits"), ("interval_basis", "What the interval rests on"),
     ("sd_cm", "Standard deviation (cm)"), ("area_percent", "Share of the area (%)")],
)  # fmt: skip
def test_counts_and_shares_are_told_in_words(name, heading):
    assert describe(name).heading == heading


def test_the_words_of_a_surface_without_skill_are_those_that_the_surfaces_write():
    from geoprofile.surfaces.validation import NO_SKILL as written

    assert NO_SKILL == written


def test_every_amount_of_a_salvage_plan_has_a_meaning_that_says_which_cut_it_is_of():
    from geoprofile.salvage.flat_strip import FlatStrip
    from geoprofile.salvage.planned_cut import PlannedCut, planned_columns
    from geoprofile.settings.salvage import SalvageSettings

    strip = FlatStrip(*[0.0] * 9)
    planned = planned_columns(PlannedCut(10.0, 0.0, strip, 0.0), SalvageSettings(minimum_lift_cm=10))
    more = ("lift", "bank_volume_m3", "recovered_bank_m3", "loose_volume_m3", "flat_strip_cm", "more_than_m3", "probability_more")
    named = {name: describe(name) for name in (*planned, *vars(strip), *more)}
    assert not [name for name, column in named.items() if not column.help]
    assert all("flat strip" in named[name].title for name in vars(strip))
    assert len({column.title for column in named.values()}) == len(named)
