"""Contrast of mottles against the steps of Soil Survey Technical Note 2, and clay that an illuvial horizon must hold."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.vocabulary.clay_increase import clay_rule, least_illuvial_clay
from geoprofile.vocabulary.contrast import contrast, contrasts
from geoprofile.vocabulary.munsell import Colour, parse_colour


@pytest.mark.parametrize(
    ("matrix", "mottle", "expected"),
    [
        ("10YR 5/3", "10YR 7/4", "faint"), ("10YR 5/3", "10YR 5/5", "distinct"), ("10YR 5/2", "10YR 8/2", "distinct"),
        ("10YR 5/2", "10YR 5/6", "prominent"), ("10YR 3/3", "10YR 7/3", "prominent"), ("10YR 5/2", "10YR 5/5", "distinct"),
        ("10YR 5/3", "7.5YR 6/4", "faint"), ("10YR 5/3", "7.5YR 7/3", "distinct"), ("10YR 5/2", "7.5YR 5/6", "prominent"), ("10YR 5/3", "7.5YR 5/5", "distinct"),
        ("10YR 5/3", "5YR 5/3", "faint"), ("10YR 5/3", "5YR 5/4", "distinct"), ("10YR 5/3", "5YR 6/3", "distinct"), ("10YR 4/2", "5YR 4/4", "prominent"),
        ("10YR 5/3", "2.5YR 7/3", "prominent"), ("2.5Y 6/2", "7.5YR 5/8", "prominent"),
        ("10YR 3/2", "5YR 2.5/1", "faint"), ("10R 3/2", "5Y 3/1", "faint"), ("10YR 3/2", "5YR 3/3", "distinct"),
        ("N 5/", "10YR 5/6", "prominent"), ("N 5/", "10YR 5/1", "faint"),
    ],
)  # fmt: skip
def test_every_step_of_the_table(matrix, mottle, expected):
    """Soil Survey Technical Note 2 (from memory): pages of hue, value, chroma; both dark and dull is faint."""
    assert contrast(parse_colour(matrix), parse_colour(mottle)) == expected


def test_three_pages_of_hue_with_equal_value_and_chroma_may_be_called_either():
    assert contrasts(parse_colour("10YR 5/3"), parse_colour("2.5YR 5/3")) == {"distinct", "prominent"}
    assert contrasts(parse_colour("10YR 5/3"), parse_colour("5YR 5/4")) == {"distinct"}


@pytest.mark.parametrize(
    ("matrix", "mottle", "recorded"),
    [("2.5YR 4/8", "10YR 6/3", "prominent"), ("10YR 4/3", "7.5YR 5/8", "prominent"), ("10YR 3/3", "5YR 4/4", "distinct"), ("10YR 3/3", "10YR 4/2", "faint")],
)
def test_mottles_of_official_descriptions_agree(matrix, mottle, recorded):
    """Typical pedons Ozark, Renova and Waskom: the word of the describer."""
    assert contrast(parse_colour(matrix), parse_colour(mottle)) == recorded


COLOURS = st.builds(Colour, st.sampled_from(["5YR", "7.5YR", "10YR", "2.5Y", "5Y", "5GY"]), st.sampled_from([2.5, 3, 4, 5, 6, 7]).map(float), st.integers(1, 8).map(float))


@given(COLOURS, COLOURS)
@settings(max_examples=60, deadline=None)
def test_contrast_does_not_depend_on_which_is_the_matrix(one, other):
    assert contrast(one, other) == contrast(other, one) and contrast(one, one) == "faint"


@pytest.mark.parametrize(("eluvial", "least"), [(10, 13), (15, 18), (20, 24), (39, 46.8), (40, 48), (50, 58), (14.9, 17.9)])
def test_worked_edges_of_the_three_part_rule(eluvial, least):
    """Keys to Soil Taxonomy 2014, page 12, and the Canadian Bt: the joins at 15 and 40 % are exact."""
    for convention in ("canadian", "usda"):
        assert least_illuvial_clay(eluvial, convention) == pytest.approx(least)


@pytest.mark.parametrize(("eluvial", "least"), [(5, 9), (10, 14), (30, 42), (50, 70)])
def test_the_argic_horizon_asks_for_more(eluvial, least):
    """World Reference Base 2022 (from memory): 4 % more below 10, 1.4 times to 50, 20 % more from there."""
    assert least_illuvial_clay(eluvial, "wrb") == pytest.approx(least)
    assert np.isnan(least_illuvial_clay(np.array([np.nan]), "wrb")).all() and clay_rule("usda").within_cm == 30
