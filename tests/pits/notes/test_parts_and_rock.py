"""Combination horizons with both their soils; rock and cemented material in place of a texture. All invented."""

from __future__ import annotations

import pytest

from geoprofile.pits.notes.reader import tables_of
from geoprofile.vocabulary.texture import names_rock


def _notes(designation: str, body: str, head: str = ""):
    return tables_of(f"Pit 1. {head}\n{designation}--10 to 40 cm; {body}.\n", "n.txt")


def _one(designation: str, body: str) -> dict:
    return _notes(designation, body).horizons.cells.iloc[0].to_dict()


@pytest.mark.parametrize(
    ("designation", "body", "colours", "textures", "kept"),
    [
        ("B/E", "70 percent brown (7.5YR 4/4) clay loam (Bt); firm; surrounded by tongues of brown (10YR 5/3) sandy loam (E)", "70% 7.5YR 4/4 + 10YR 5/3", "clay loam + sandy loam", "surrounded by tongues of"),
        ("E and Bt", "pale brown (10YR 6/3) sand (E); lamellae of brown (7.5YR 4/4) loamy sand (Bt) 1 cm thick", "10YR 6/3 + 7.5YR 4/4", "sand + loamy sand", "1 cm thick"),
        ("E and Bt", "E part is pale brown (10YR 6/3) fine sand; Bt part is brown (7.5YR 4/4) sandy loam", "10YR 6/3 + 7.5YR 4/4", "fine sand + sandy loam", "Bt part is"),
        ("Bt/E", "Bt: 10YR 4/4 clay loam; E: 10YR 6/2 silt loam", "10YR 4/4 + 10YR 6/2", "clay loam + silt loam", "Bt"),
        ("B/E", "10YR 4/4 CL with fingers of 10YR 6/2 SIL; 2 m sbk", "10YR 4/4 + 10YR 6/2", "clay loam + silt loam", "with fingers of"),
        ("E/B", "60% 10YR 6/2 loamy sand, 40% 10YR 4/4 sandy loam; ma", "60% 10YR 6/2 + 40% 10YR 4/4", "loamy sand + sandy loam", ""),
    ],
)  # fmt: skip
def test_both_soils_of_a_combination_horizon_have_their_colour_and_texture(designation, body, colours, textures, kept):
    row = _one(designation, body)
    assert (row["matrix moist"], row["texture"]) == (colours, textures) and kept in row.get("horizon remarks", "")


def test_the_structure_of_the_second_soil_is_kept_in_the_remarks():
    row = _one("B/E", "brown (7.5YR 4/4) loam (Bt); moderate medium subangular blocky; tongues of brown (10YR 5/3) sandy loam (E); weak medium platy structure")
    assert (row["structure grade"], row["structure kind"]) == ("moderate", "subangular blocky") and "weak medium platy structure" in row["horizon remarks"]


def test_tongues_in_a_horizon_of_one_soil_are_features_and_not_its_colour():
    row = _one("Bt", "brown (7.5YR 4/4) loam; surrounded by tongues of brown (10YR 5/3) sandy loam")
    assert row["colour moist"] == "7.5YR 4/4" and "matrix moist" not in row and row["texture"] == "loam"
    assert "tongues of brown (10YR 5/3)" in row["horizon remarks"]


@pytest.mark.parametrize(
    ("designation", "body", "material", "kept"),
    [
        ("C", "variegated red and white saprolite that crushes to sandy loam", "saprolite", "that crushes to sandy loam"), ("Cr", "light gray (5Y 7/2) soft clay shale", "clay shale", "soft"),
        ("Bkkm", "white (10YR 8/1) indurated petrocalcic horizon", "petrocalcic horizon", "indurated"), ("Cr", "mudstone and siltstone, rippable", "mudstone and siltstone", "rippable"), ("R", "dark serpentinite", "serpentinite", "dark"),
    ],
)  # fmt: skip
def test_rock_and_cemented_material_stand_in_place_of_a_texture(designation, body, material, kept):
    row = _one(designation, body)
    assert row["texture"] == material and kept in row["horizon remarks"]


def test_what_rock_only_gave_rise_to_is_no_material():
    row = _one("Bt", "yellow shale-derived clay")
    assert "shale" not in row.get("texture", "") and "shale-derived" in row["horizon remarks"]


@pytest.mark.parametrize(
    ("text", "designation", "convention", "asked"),
    [
        ("petrocalcic horizon", "Bkkm", "usda", True), ("indurated duripan", "Bqm", "usda", True), ("duripan", "Bw", "usda", False), ("ortstein", "Bfc", "canadian", True),
        ("hardpan", "Bm", "canadian", False), ("soft clay shale", "Cr", "usda", True), ("shale", "Bt", "usda", False),
    ],
)  # fmt: skip
def test_cemented_material_is_that_of_a_cemented_horizon(text, designation, convention, asked):
    """m is cemented in the USDA convention (Keys to Soil Taxonomy 2022, chapter 18), c in the Canadian (CSSC 1998, chapter 2), where m is not; from memory."""
    assert names_rock(text, designation, convention) is asked


def test_the_dry_colour_that_a_head_gives_to_rock_is_said():
    notes = _notes("R", "reddish brown (2.5YR 5/4) sandstone", "Colors are for dry soil unless otherwise noted.")
    row = notes.horizons.cells.iloc[0]
    assert row["colour dry"] == "2.5YR 5/4" and any("taken as dry, as the head says of soil" in one.what for one in notes.problems)
    soil = _notes("Bt", "reddish brown (2.5YR 5/4) clay", "Colors are for dry soil unless otherwise noted.")
    assert not any("of rock" in one.what for one in soil.problems)
