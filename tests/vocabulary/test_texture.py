"""The texture triangle against the limits printed in WRB 2022 Annex 1 Table 8.39 (after the Soil Survey Manual 2017)."""

from __future__ import annotations

import numpy as np
import pytest

from geoprofile.vocabulary.texture import several_textures, split_modifiers, texture_class

EDGES = [
    ((85, 10, 5), "ls"), ((70, 30, 0), "sl"), ((52, 41, 7), "l"), ((43, 50, 7), "sil"), ((45, 15, 40), "c"), ((20, 80, 0), "si"),
    ((20, 53, 27), "sicl"), ((5, 80, 15), "sil"), ((60, 13, 27), "scl"), ((52, 7, 41), "sc"), ((6, 47, 47), "sic"),
]  # fmt: skip


def grid():
    steps = np.arange(0, 201)
    sand, silt = (part.ravel() / 2 for part in np.meshgrid(steps, steps))
    inside = sand + silt <= 100
    return sand[inside], silt[inside], 100 - sand[inside] - silt[inside]


@pytest.mark.parametrize(("fractions", "code"), EDGES)
def test_answers_on_the_edges(fractions, code):
    assert texture_class(*fractions, "usda") == code


def test_the_classes_leave_no_gap_and_do_not_overlap_on_a_half_percent_grid():
    from geoprofile.vocabulary.texture import _triangle

    parts = np.stack(grid())
    assert parts.shape[1] == 20301
    for convention, classes in (("usda", 12), ("wrb", 12), ("canadian", 13)):
        times = np.zeros(parts.shape[1], dtype=int)
        for _, alternatives in _triangle(convention):
            inside = np.zeros(parts.shape[1], dtype=bool)
            for conditions in alternatives:
                inside |= np.all([holds(weights @ parts, limit) for weights, holds, limit in conditions], axis=0)
            times += inside
        assert (times == 1).all(), convention
        assert len(set(texture_class(*parts, convention))) == classes


def test_classes_stay_within_the_bounds_of_the_printed_table():
    """WRB 2022 Table 8.39 lists bounds per class: a second statement of the same triangle."""
    sand, silt, clay = grid()
    codes = texture_class(sand, silt, clay, "wrb")
    for code, check in {
        "S": (sand > 85) & (silt < 15) & (clay < 10),
        "LS": (sand > 70) & (sand <= 90) & (silt < 30) & (clay < 15),
        "Si": (sand <= 20) & (silt >= 80) & (clay < 12),
        "L": (sand > 23) & (sand <= 52),
        "SCL": (sand > 45) & (sand <= 80),
        "SiCL": (silt > 40) & (silt <= 73),
        "CL": (silt > 15) & (silt < 53),
        "SC": (sand > 45) & (sand <= 65) & (silt < 20) & (clay >= 35) & (clay < 55.5),
        "SiC": (sand <= 20) & (silt >= 40) & (silt <= 60) & (clay >= 40) & (clay <= 60),
        "C": (sand <= 45) & (silt < 40) & (clay >= 40),
    }.items():
        assert check[codes == code].all(), code


def test_heavy_clay_is_canadian():
    """CSSC 1998 (from memory): heavy clay above 60 % clay."""
    assert list(texture_class([10, 10, 10], [30, 29, 30], [60, 61, 60], "canadian")) == ["C", "HC", "C"]
    assert texture_class(10, 29, 61, "usda") == "c"


def test_published_profiles_give_their_derived_textures():
    """Profiles in Clayton et al. 1977, Soils of Canada (O.BC, O.HFP, CU.R)."""
    assert list(texture_class([66, 62, 70], [17, 19, 11], [17, 19, 19], "canadian")) == ["SL", "SL", "SL"]
    assert list(texture_class([89, 88, 92, 87], [10, 6, 4, 8], [1, 6, 4, 5], "canadian")) == ["S", "LS", "S", "LS"]
    assert list(texture_class([15, 21, 19], [42, 40, 32], [43, 39, 49], "canadian")) == ["SiC", "CL", "C"]


def test_what_cannot_be_a_texture_gives_none():
    nan = np.nan
    sand = [40, 40, nan, -5, 40]
    silt = [40, 40, nan, 80, nan]
    clay = [20, 30, 20, 25, 20]
    assert list(texture_class(sand, silt, clay, "usda")) == ["l", "", "", "", "l"]


def test_fractions_that_miss_100_by_rounding_are_scaled():
    assert texture_class(31, 46, 24, "canadian") == "L"  # sums to 101 (O.MB Ah, Clayton et al. 1977)
    assert texture_class(29, 39, 42, "canadian") == ""  # sums to 110 there


@pytest.mark.parametrize(
    ("text", "convention", "modifiers", "rest"),
    [
        ("very gravelly fine sandy loam", "usda", ("very gravelly",), "fine sandy loam"),
        ("GR-MEDL-L", "usda", ("gravelly", "medial"), "L"),
        ("gSL", "canadian", ("gravelly",), "SL"),
        ("sandy loam", "canadian", (), "sandy loam"),
        ("very fine sandy loam", "usda", (), "very fine sandy loam"),
        ("extremely channery silt loam", "usda", ("extremely channery",), "silt loam"),
    ],
)
def test_modifiers_are_taken_apart(text, convention, modifiers, rest):
    assert split_modifiers(text, convention) == (modifiers, rest)


@pytest.mark.parametrize(
    ("text", "convention", "parts"),
    [
        ("SR- FSL CL", "usda", ("FSL", "CL")),
        ("stratified GRX-COS GR", "usda", ("GRX-COS", "GR")),
        ("HPM GR-SIL", "usda", ("HPM", "GR-SIL")),
        ("sandy loam, loam", "canadian", ("sandy loam", "loam")),
        ("silt loam to clay", "wrb", ("silt loam", "clay")),
        ("SL", "usda", ()),
        ("very gravelly sandy loam", "usda", ()),
        ("FSL gloop", "usda", ()),
        ("", "usda", ()),
    ],
)
def test_several_textures_of_one_horizon_are_told_apart_from_one(text, convention, parts):
    assert several_textures(text, convention) == parts
