"""Organic layers counted up, counted down or signed, brought to one datum (definitions.md, Datum)."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.pits.datum import STYLES, to_datum


def described(*rows, **columns):
    """Horizons: (pit, designation, upper, lower)."""
    frame = pd.DataFrame(rows, columns=["pit_id", "designation", "upper_cm", "lower_cm"])
    return frame.assign(file="pits.csv", sheet="", row=np.arange(len(frame)) + 2, **columns)


def depths(found, pit):
    rows = found.horizons[found.horizons["pit_id"] == pit]
    return list(zip(rows["upper_cm"], rows["lower_cm"], strict=True))


def pit(found, name):
    return found.pits.set_index("pit_id").loc[name]


UP = [("a", "LFH", 4, 0), ("a", "Ah", 0, 12), ("a", "Bm", 12, 40)]
DOWN = [("a", "LFH", 0, 4), ("a", "Ah", 4, 16), ("a", "Bm", 16, 44)]
SIGNED = [("a", "LFH", -4, 0), ("a", "Ah", 0, 12), ("a", "Bm", 12, 40)]


@pytest.mark.parametrize(
    ("rows", "style", "shift"), [(UP, "counted_up", 0), (DOWN, "counted_down", -4), (SIGNED, "signed", 0)]
)
def test_the_three_ways_of_counting_give_the_same_depths(rows, style, shift):
    """CSSC reports write LFH 4-0, Canadian stored data -4-0, USDA since 1993 and WRB 0-4."""
    found = to_datum(described(*rows), "canadian")
    assert depths(found, "a") == [(-4, 0), (0, 12), (12, 40)]
    assert found.style == style and "1 of 1" in found.reason
    assert f"(pit a: LFH {rows[0][2]}-{rows[0][3]}, then {rows[1][2]}-{rows[1][3]})" in found.reason  # the first of the file, and no example
    assert pit(found, "a")["datum"] == "mineral surface" and pit(found, "a")["datum_shift_cm"] == shift
    assert pit(found, "a")["organic_above_cm"] == 4
    assert found.problems == ()
    assert found.shift_lines() == (("a: -4 cm",) if shift else ())


def test_layers_described_apart_are_turned_together():
    found = to_datum(described(("a", "L", 5, 3), ("a", "F", 3, 1), ("a", "H", 1, 0), ("a", "Ae", 0, 10)), "canadian")
    assert depths(found, "a") == [(-5, -3), (-3, -1), (-1, 0), (0, 10)]


def test_litter_named_by_a_word_is_turned_too():
    found = to_datum(described(("a", "litter", 3, 0), ("a", "Ae", 0, 10)), "canadian")
    assert depths(found, "a") == [(-3, 0), (0, 10)]


def test_limits_of_wavy_boundaries_turn_with_their_depths():
    frame = described(
        ("a", "LFH", 5, 0),
        ("a", "Ah", 0, 12),
        upper_low_cm=[4.0, 0.0],
        upper_high_cm=[6.0, 0.0],
        lower_low_cm=[0.0, 10.0],
        lower_high_cm=[0.0, 14.0],
    )
    found = to_datum(frame, "canadian").horizons
    assert found.loc[0, ["upper_low_cm", "upper_cm", "upper_high_cm"]].tolist() == [-6, -5, -4]
    assert found.loc[1, ["lower_low_cm", "lower_high_cm"]].tolist() == [10, 14]


@pytest.mark.parametrize(
    ("thickness", "kind", "datum"),
    [(38, "Om", "mineral surface"), (40, "Om", "organic surface"), (40, "Oh", "organic surface"), (50, "Of", "mineral surface"),
     (60, "Of", "organic surface")],
)  # fmt: skip
def test_an_organic_soil_keeps_zero_at_its_surface(thickness, kind, datum):
    """40 cm where mesic or humic, 60 cm where fibric (CSSC 1998, from memory; definitions.md)."""
    found = to_datum(described(("a", kind, 0, thickness), ("a", "Cg", thickness, thickness + 20)), "canadian")
    assert pit(found, "a")["datum"] == datum
    assert pit(found, "a")["organic_above_cm"] == thickness
    upper = 0 if datum == "organic surface" else -thickness
    assert depths(found, "a") == [(upper, upper + thickness), (upper + thickness, upper + thickness + 20)]


def test_an_organic_soil_counted_up_or_signed_is_turned_to_its_surface():
    for rows in ([("a", "Om", 70, 0), ("a", "C", 0, 10)], [("a", "Om", -70, 0), ("a", "C", 0, 10)]):
        found = to_datum(described(*rows), "canadian")
        assert depths(found, "a") == [(0, 70), (70, 80)]
        assert pit(found, "a")["datum_shift_cm"] == 70


def test_peat_whose_mineral_base_was_not_reached_counts_from_its_surface_with_a_note():
    found = to_datum(described(("a", "Om", 0, 30)), "canadian")
    assert depths(found, "a") == [(0, 30)] and pit(found, "a")["datum"] == "organic surface"
    assert [problem.severity for problem in found.problems] == ["note"]
    assert np.isnan(pit(found, "a")["organic_above_cm"])


def test_a_pit_that_differs_from_its_file_is_listed_and_read_as_written():
    rows = [(name, *row[1:]) for name in "abc" for row in UP] + [("d", *row[1:]) for row in DOWN]
    found = to_datum(described(*rows), "canadian")
    assert found.style == "counted_up" and "3 of 4" in found.reason
    assert [(problem.pit_id, problem.severity, problem.row) for problem in found.problems] == [("d", "warning", 11)]
    assert depths(found, "d") == depths(found, "a")


def test_a_stated_way_is_held_against_every_pit():
    found = to_datum(described(*DOWN), "canadian", "counted_up")
    assert found.style == "counted_up" and "survey file" in found.reason
    assert len(found.problems) == 1 and "the survey file says counted up" in found.problems[0].what
    assert to_datum(described(*UP), "canadian", "counted_up").problems == ()
    with pytest.raises(ValueError, match="counted_up"):
        to_datum(described(*UP), "canadian", "sideways")


def test_one_pit_counted_two_ways_is_not_used():
    found = to_datum(described(("a", "L", 5, 3), ("a", "FH", -3, 0), ("a", "Ah", 0, 10)), "canadian")
    assert [problem.severity for problem in found.problems] == ["error"]
    assert np.isnan(depths(found, "a")[0]).all() and np.isnan(depths(found, "a")[1]).all()
    assert depths(found, "a")[2] == (0, 10)


def test_a_forest_floor_written_downward_over_mineral_from_zero_is_asked_about():
    found = to_datum(described(("a", "LFH", 0, 5), ("a", "Ah", 0, 12)), "canadian")
    assert depths(found, "a") == [(-5, 0), (0, 12)]
    assert len(found.problems) == 1 and "read as 5-0" in found.problems[0].what
    below = to_datum(described(("a", "A", 0, 12), ("a", "Oi", 0, 2), ("a", "Bt", 12, 30)), "usda")  # as in a real pit
    assert depths(below, "a") == [(0, 12), (-2, 0), (12, 30)] and "read as 2-0" in below.problems[0].what


def test_mineral_pits_and_buried_organic_layers_are_left_alone():
    rows = [("a", "Ah", 0, 20), ("a", "Ck", 20, 60), ("b", "C", 0, 30), ("b", "Ohb", 30, 40), ("b", "Cg", 40, 60)]
    found = to_datum(described(*rows), "canadian")
    assert [tuple(row) for row in found.horizons[["upper_cm", "lower_cm"]].to_numpy()] == [row[2:] for row in rows]
    assert found.style == "" and (found.pits["datum_shift_cm"] == 0).all()
    assert found.pits["organic_above_cm"].isna().all()  # not described is not zero


def test_open_and_missing_depths_stay_missing():
    found = to_datum(
        described(("a", "Oi", 0, 5), ("a", "A", 5, 20), ("a", "R", 20, np.nan), ("b", "A", np.nan, 10)), "usda"
    )
    assert depths(found, "a")[2][0] == 15 and np.isnan(depths(found, "a")[2][1])
    assert np.isnan(depths(found, "b")[0][0])


def test_the_frame_given_is_not_changed_and_keeps_its_index():
    frame = described(*DOWN).set_index(pd.Index([7, 3, 5]))
    before = frame.copy()
    found = to_datum(frame, "canadian")
    pd.testing.assert_frame_equal(frame, before)
    assert list(found.horizons.index) == [7, 3, 5]


def test_usda_pits_count_down_from_the_top_of_the_litter(shared):
    """994 pits described by USDA-NRCS, whose source says: counted downward from 0 at the surface."""
    frame = pd.read_csv(shared / "data" / "pits-us" / "horizons.csv", dtype={"pit_id": str})
    frame = frame.rename(columns={"upper_depth_cm": "upper_cm", "lower_depth_cm": "lower_cm"})
    found = to_datum(frame, "usda")
    assert found.style == "counted_down"
    assert [problem.severity for problem in found.problems] == ["note", "note", "warning", "note"]
    organic = found.horizons["designation"].isin(["Oi", "Oe", "Oa"])
    surface = found.pits.set_index("pit_id")["datum"].reindex(found.horizons["pit_id"]).to_numpy() == "mineral surface"
    assert (found.horizons.loc[organic.to_numpy() & surface, "lower_cm"] <= 0).mean() > 0.99


def test_a_published_organic_over_mineral_sequence_counts_both_ways():
    """Om (15 to 0) over Ah 0-25 (R.HG profile, Clayton et al. 1977)."""
    found = to_datum(described(("a", "Omsca", 15, 0), ("a", "Ahscag1", 0, 25), ("a", "Ahscag2", 25, 37)), "canadian")
    assert depths(found, "a") == [(-15, 0), (0, 25), (25, 37)]


@given(st.integers(1, 35), st.integers(1, 30), st.integers(1, 60))
@settings(max_examples=30, deadline=None)
def test_the_way_of_counting_never_changes_thickness_or_the_result(litter, topsoil, subsoil):
    written = {
        "counted_up": [("a", "LFH", litter, 0), ("a", "Ah", 0, topsoil), ("a", "Bm", topsoil, topsoil + subsoil)],
        "counted_down": [("a", "LFH", 0, litter), ("a", "Ah", litter, litter + topsoil),
                         ("a", "Bm", litter + topsoil, litter + topsoil + subsoil)],
        "signed": [("a", "LFH", -litter, 0), ("a", "Ah", 0, topsoil), ("a", "Bm", topsoil, topsoil + subsoil)],
    }  # fmt: skip
    results = {style: depths(to_datum(described(*written[style]), "canadian"), "a") for style in STYLES}
    assert results["counted_up"] == results["counted_down"] == results["signed"]
    assert results["signed"][0] == (-litter, 0)
