"""The README's figure of the same pits told three ways."""

import sys
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "scripts"))

import make_bounds_picture as picture  # noqa: E402


def test_only_the_pits_that_say_at_least_of_this_attribute_are_told_otherwise():
    values = pd.DataFrame({
        "attribute": ["depth_to_carbonates"] * 3 + ["depth_to_bt"], "low": [30.0, 60, 10, 40], "high": [30, np.nan, 20, np.nan],
        "status": ["measured", "at_least", "between", "at_least"],
    })  # fmt: skip
    assert picture.changed(values, "with bounds") is values
    assert list(picture.changed(values, "dropped")["status"]) == ["measured", "between", "at_least"]
    written = picture.changed(values, "written down")
    assert list(written["high"])[:3] == [30, 60, 20] and written["status"].iloc[1] == "measured" and np.isnan(written["high"].iloc[3])
    assert np.isnan(values["high"].iloc[1]), "the table given is left as it is"


def test_errors_are_of_the_map_against_the_truth_and_the_deep_land_is_told_apart():
    words = picture.errors(np.array([10.0, 50]), np.array([14.0, 80]))
    assert words == "mean error \N{MINUS SIGN}17.0 cm, RMSE 21.4 cm\nwhere deeper than 60 cm: mean error \N{MINUS SIGN}30.0 cm"


def test_the_truth_is_drawn_from_the_landscape_of_the_pits():
    from demo_survey.ground import SOUTH, WEST

    found = picture.invented_truth(np.array([[WEST + 300.0, SOUTH + 300], [WEST + 900, SOUTH + 900]]))
    assert (found > 0).all() and (found < 220).all()
    assert found == pytest.approx(picture.invented_truth(np.array([[WEST + 300.0, SOUTH + 300], [WEST + 900, SOUTH + 900]])))


def test_the_readme_shows_it():
    assert picture.PICTURE.read_bytes()[:4] == b"\x89PNG" and picture.PICTURE.stat().st_size < 400_000
    assert "(demo_data/bounds.png)" in (ROOT / "README.md").read_text(encoding="utf-8")
