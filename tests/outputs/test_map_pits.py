"""Pits as columns: nothing turned into something else on the way to the page."""

import datetime

import numpy as np
import pandas as pd
import pytest

from geoprofile.outputs.map_pits import (
    HORIZON_NUMBERS,
    HORIZON_TEXT,
    LABELS,
    pits_plain,
    plain_number,
    plain_text,
)
from geoprofile.outputs.map_places import Places
from geoprofile.outputs.web_map import extent
from geoprofile.products import HORIZON_COLUMNS, PIT_COLUMNS

from . import map_bundle


@pytest.fixture
def plain(tmp_path):
    extra = {
        "visited": pd.Timestamp("2024-06-11"),
        "ratio": [np.inf, np.nan, *range(11)],
        "seen_on": [datetime.date(2024, 5, 3)] * 13,
    }
    survey = map_bundle.bundle(tmp_path, extra=extra)
    return pits_plain(survey, Places.of(map_bundle.CRS, extent(survey)))


def says(plain: dict, pit: str, attribute: str) -> list:
    found = next(row for row in plain["attributes"]["list"] if row["name"] == attribute)
    return plain["attributes"]["sayings"][found["cells"][plain["id"].index(pit)]]


def test_at_least_sixty_stays_at_least_sixty(plain):
    assert says(plain, "P3", "depth_to_carbonates")[:4] == [">60", "at_least", 60, None]
    assert says(plain, "P7", "depth_to_carbonates")[0] == "15-21"
    assert says(plain, "P2", "depth_to_carbonates")[:2] == ["0", "at_surface"]
    assert says(plain, "P6", "depth_to_bt")[:2] == ["absent", "absent"]
    assert says(plain, "P10", "depth_to_carbonates")[:4] == ["unknown", "unknown", None, None]


def test_visits_to_one_place_share_a_marker_W18(plain):
    first, again = plain["id"].index("P3"), plain["id"].index("P3 again")
    assert plain["place"][first] == plain["place"][again] == first


def test_a_pit_without_coordinates_is_kept_off_the_map_and_the_rest_show_W9(plain):
    at = plain["id"].index("P12")
    assert plain["place"][at] == -1 and plain["lat"][at] is None
    assert sum(place >= 0 for place in plain["place"]) == 12


def test_dates_are_iso_text_and_infinity_is_nothing_W10_W11(plain):
    fields = {field["name"]: field for field in plain["fields"]}
    assert {plain["words"][cell] for cell in fields["visited"]["cells"]} == {"2024-06-11"}
    assert {plain["words"][cell] for cell in fields["seen_on"]["cells"]} == {"2024-05-03"}
    assert fields["ratio"]["cells"][:3] == [None, None, 0]


def test_colours_that_can_be_read_get_a_colour_and_others_none(plain):
    colours = plain["horizons"]["colours"]
    assert set(colours) == {
        "10YR 3/1",
        "10YR 6/2",
        "10YR 4/2",
        "10YR 4/4",
        "2.5Y 6/3",
        "2.5Y 5/3",
        "10YR 2/1",
        "10YR 6/1",
        "10YR 4/3",
    }
    assert all(len(colour) == 7 and colour.startswith("#") for colour in colours.values())


def test_horizons_follow_their_order_and_an_open_one_has_no_lower_depth(plain):
    columns = plain["horizons"]["columns"]
    mine = [k for k, pit in enumerate(columns["pit"]) if plain["id"][pit] == "P3"]
    assert [plain["words"][columns["designation"][k]] for k in mine] == ["LFH", "Ah", "Ae", "Bm", "Bt"]
    assert [columns["lower_cm"][k] for k in mine] == [0, 18, 28, 42, None]


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (None, ""),
        (float("nan"), ""),
        (pd.NaT, ""),
        (pd.NA, ""),
        ("007", "007"),
        ("None", "None"),
        (datetime.datetime(2024, 5, 3, 14, 5), "2024-05-03T14:05:00"),
    ],
)
def test_text_stays_as_typed_and_only_missing_is_nothing(value, text):
    assert plain_text(value) == text


def test_numbers_keep_six_digits():
    assert [plain_number(value) for value in (12.0, 0.1 + 0.2, -np.inf, None)] == [12, 0.3, None, None]


def test_every_field_shown_is_a_column_of_the_contract():
    assert set(LABELS) - {"named_soil"} <= set(PIT_COLUMNS)  # the name from the record is joined to the pits
    assert {*HORIZON_TEXT, *HORIZON_NUMBERS} <= set(HORIZON_COLUMNS)
