"""Classes, their names, and settings that cannot be followed."""

from __future__ import annotations

import numpy as np
import pytest

from geoprofile.errors import SettingsError
from geoprofile.settings import parse_survey
from geoprofile.zones.classes import class_codes
from geoprofile.zones.draft import class_names

LIMITS = (10, 25, 50, 100)


def test_classes_are_lower_inclusive_and_what_is_missing_has_none():
    # W12, constructed: 0 8 10 18 25 33 50 61 100 none -> 0 0 1 1 2 2 3 3 4 null; our codes begin at 1, 0 = none
    values = np.array([0, 8, 10, 18, 25, 33, 50, 61, 100, np.nan])
    assert class_codes(values, LIMITS).tolist() == [1, 1, 2, 2, 3, 3, 4, 4, 5, 0]


def test_W12_names_of_classes_carry_their_unit():
    assert class_names(LIMITS, "cm") == [
        "less than 10 cm",
        "10 to 25 cm",
        "25 to 50 cm",
        "50 to 100 cm",
        "100 cm and more",
    ]
    assert class_names((27.5,), "%") == ["less than 27.5 %", "27.5 % and more"]


@pytest.mark.parametrize(
    ("draft", "words"),
    [
        ('{ from = "surface", attribute = "depth_to_bt" }', "limits_cm"),
        ('{ from = "surface", limits_cm = [10] }', "attribute"),
        ('{ from = "surface", attribute = "depth_to_bt", limits_cm = [25, 10] }', "ascend"),
    ],
)
def test_a_draft_that_lacks_something_is_a_mistake_of_the_survey_file(draft, words):
    with pytest.raises(SettingsError, match=words):
        parse_survey(f'format = 1\n[survey]\ncrs = "EPSG:3158"\n[zones]\ndraft = {draft}\n')
