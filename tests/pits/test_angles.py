"""Angles and UTM zones in text: pains.md R18 and R19."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.pits.angles import parse_angle, parse_utm, parse_zone


@pytest.mark.parametrize(
    ("text", "degrees"),
    [
        ("49 30 15.2 N", 49 + 30 / 60 + 15.2 / 3600),
        ("N49\u00b030'15.2\"", 49 + 30 / 60 + 15.2 / 3600),
        ("49\u00b030\u203215.2\u2033N", 49 + 30 / 60 + 15.2 / 3600),
        ("49 30.253 N", 49 + 30.253 / 60),
        ("-113:28:04", -(113 + 28 / 60 + 4 / 3600)),
        ("W113 28 04", -(113 + 28 / 60 + 4 / 3600)),
        ("49.5042", 49.5042),
        ("49,5042", 49.5042),
        ("33 55 S", -(33 + 55 / 60)),
        ("33 55 7 S", -(33 + 55 / 60 + 7 / 3600)),
        ("49d30m15s", 49 + 30 / 60 + 15 / 3600),
        ("49d30m15s S", -(49 + 30 / 60 + 15 / 3600)),
        ("49 30 15s N", 49 + 30 / 60 + 15 / 3600),
    ],
)
def test_r18_angles_as_people_write_them(text, degrees):
    found = parse_angle(text)
    assert found.problem == "" and found.degrees == pytest.approx(degrees, abs=1e-12)


def test_r18_the_sign_holds_for_the_whole_value():
    assert parse_angle("-0 30 0").degrees == -0.5
    assert parse_angle("0 30 0 W").degrees == -0.5
    assert parse_angle("-0 30 0 W").degrees == -0.5


@pytest.mark.parametrize("text", ["-49 30 0 N", "+113 30 W", "-113 E", "N 49 30 S"])
def test_r18_sign_and_letter_in_conflict_are_an_error(text):
    found = parse_angle(text)
    assert found.degrees is None and found.problem


@pytest.mark.parametrize("text", ["", "abc", "49 61 0", "49 0 60", "95 0 0 N", "181", "49.5 30 0", "113 O"])
def test_angles_that_cannot_be(text):
    found = parse_angle(text)
    assert found.degrees is None and found.problem


def test_r17_a_letter_of_the_other_axis_is_a_problem():
    assert "latitude" in parse_angle("113 30 W", "latitude").problem
    assert parse_angle("113 30 W").axis == "longitude"


@pytest.mark.parametrize(
    ("text", "zone", "north"),
    [("12N", 12, True), ("12U", 12, True), ("zone 12 north", 12, True), ("18 south", 18, False), ("19H", 19, False)],
)
def test_zones(text, zone, north):
    found = parse_zone(text)
    assert (found.zone, found.north, found.problem) == (zone, north, "")


def test_r19_s_alone_is_asked_about_and_the_survey_area_proves_it():
    assert "S may mean" in parse_zone("18S").problem and parse_zone("18S").north is None
    assert parse_zone("18S", north=True).north is True
    assert parse_zone("18S", north=False).north is False
    assert "hemisphere is not stated" in parse_zone("12").problem
    assert parse_zone("12", north=True).problem == ""
    assert "not that of the survey area" in parse_zone("12 south", north=True).problem


def test_utm_places_in_one_text_or_two_columns():
    for found in (
        parse_utm("12U 345678 5678901"),
        parse_utm("345678mE 5678901mN", zone="12N"),
        parse_utm("zone 12N, 345678, 5678901"),
        parse_utm("zone 12 E 345678 N 5678901", north=True),
        parse_utm("12 E345678 N5678901", north=True),
    ):
        assert (found.easting, found.northing, found.zone, found.north, found.problem) == (
            345678,
            5678901,
            12,
            True,
            "",
        )
    assert "exchanged" in parse_utm("12N 5678901 345678").problem
    assert parse_utm("nowhere").problem


@given(st.integers(0, 89), st.integers(0, 59), st.integers(0, 59), st.sampled_from("NSEW"))
@settings(max_examples=60, deadline=None)
def test_letters_and_minus_say_the_same(degrees, minutes, seconds, letter):
    with_letter = parse_angle(f"{degrees} {minutes} {seconds} {letter}").degrees
    with_sign = parse_angle(f"{'-' if letter in 'SW' else ''}{degrees} {minutes} {seconds}").degrees
    assert with_letter == with_sign
    assert abs(with_letter) == pytest.approx(degrees + minutes / 60 + seconds / 3600)
