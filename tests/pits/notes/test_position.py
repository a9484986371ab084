"""Coordinates as notes have them: read where they are plain, listed with their words where they are not. All invented."""

from __future__ import annotations

import pytest

from geoprofile.pits.angles import parse_angle
from geoprofile.pits.notes.reader import tables_of


def _notes(head: str):
    return tables_of(f"{head}\nAp 0-10 cm; loam\n", "n.txt")


def _pit(head: str) -> dict:
    return {name: cell for name, cell in _notes(head).pits.cells.iloc[0].to_dict().items() if cell}


@pytest.mark.parametrize("lead", ["Pit 1\n", "Pit 1, ", "Pit 1 ", "Pit 1\nslope 3 %; GPS: "])
@pytest.mark.parametrize(
    ("written", "latitude", "longitude"),
    [
        ("fifty-three degrees ten minutes north, one hundred thirteen degrees two minutes west", 53 + 10 / 60, -113 - 2 / 60),
        ("latitude fifty-three point one seven five, longitude minus one hundred thirteen point oh three", 53.175, -113.03),
        ("53 deg 10.5' N, 113 deg 2' W", 53.175, -113 - 2 / 60), ("N53.175 W113.033", 53.175, -113.033), ("53.175N 113.033W", 53.175, -113.033), ("53,175 N; 113,033 W", 53.175, -113.033),
        ("53 10.5 N 113 2.0 W", 53.175, -113 - 2 / 60), ("N 53° 10.5' W 113° 02.0'", 53.175, -113 - 2 / 60), ("53°10'30\" S, 113°02'00\" E", -53.175, 113 + 2 / 60),
        ("53d10m30s N 113d02m00s W", 53.175, -113 - 2 / 60), ("53.175 north 113.033 west", 53.175, -113.033), ("lat 53.175 long -113.033", 53.175, -113.033), ("53.175, -113.033", 53.175, -113.033),
        ("Lat: 53 10 30 N Long: 113 2 0 W", 53.175, -113 - 2 / 60), ("53 degrees 10 minutes 30 seconds N and 113 degrees 2 minutes W", 53.175, -113 - 2 / 60),
    ],
)  # fmt: skip
def test_degrees_in_any_words(lead, written, latitude, longitude):
    pit = _pit(lead + written)
    assert pit["pit_id"] == "1"
    assert parse_angle(pit["latitude"], "latitude").degrees == pytest.approx(latitude) and parse_angle(pit["longitude"], "longitude").degrees == pytest.approx(longitude)


@pytest.mark.parametrize(
    ("written", "zone"),
    [
        ("zone 12 U 345000 5890000", "12 U"), ("12U 345000E 5890000N", "12U"), ("UTM 12U 345000 mE 5890000 mN", "12U"), ("E 345000 N 5890000 (zone 12 N)", "12 N"), ("345000 5890000 zone 12", "12"),
        ("5890000N 345000E zone 12U", "12U"), ("UTM 345000E 5890000N", ""), ("Easting 345000 Northing 5890000", ""), ("UTM zone 12\nE 345000\nN 5890000", "12"), ("zone 12 north, easting 345000, northing 5890000", "12 north"),
        ("Zone 12 E345000 N5890000", "12"), ("zone 12 E 345000 N 5890000", "12"), ("zone 12 N5890000 E345000", "12"), ("zone 12 north 5890000 east 345000", "12"),
        ("zone 12 N E345000 N5890000", "12 N"), ("12U E345000 N5890000", "12U"), ("zone 12 N 345000 5890000", "12 N"), ("UTM 12 U E345000 N5890000", "12 U"),
    ],
)  # fmt: skip
def test_utm_with_its_zone_before_behind_or_nowhere(written, zone):
    pit = _pit(f"Pit 1\n{written}")
    assert (pit["easting"], pit["northing"], pit.get("utm_zone", "")) == ("345000", "5890000", zone) and "remarks" not in pit


def test_an_easting_with_the_nought_of_a_receiver():
    pit = _pit("Pit 1\nZone 12 E0345000 N5890000")
    assert (float(pit["easting"]), pit["northing"], pit["utm_zone"]) == (345000, "5890000", "12")


@pytest.mark.parametrize("words", ["-113.033, 53.175", "fifty three north, one thirteen west", "Waypoint 14 345000 5890000", "53 10 30 113 2 0", "53.175 N"])
def test_what_is_not_plain_is_no_place_and_is_listed_with_its_words(words):
    """R17: nothing is swapped, and no number beside coordinates is taken for a zone."""
    notes = _notes(f"Pit 1\n{words}")
    pit = notes.pits.cells.iloc[0].to_dict()
    assert not {"latitude", "longitude", "easting", "northing"} & set(pit) and words in pit["remarks"]
    (problem,) = [one for one in notes.problems if "look like coordinates" in one.what]
    assert (problem.severity, problem.pit_id, problem.row, problem.found) == ("warning", "1", 2, words)


@pytest.mark.parametrize("words", ["2,600 feet north and 500 feet west of the corner", "sec. 12, T. 5 N., R. 3 W.", "slope faces north, 5 m east of the road", "NW 12-34-5 W4", "5 N 3 W of camp", "wind from N 45 W"])
def test_ways_and_legal_places_are_no_coordinates(words):
    notes = _notes(f"Pit 1\n{words}")
    assert not {"latitude", "longitude", "easting", "northing"} & set(notes.pits.cells.columns)
    assert not any("look like coordinates" in one.what for one in notes.problems)


def test_a_place_off_the_globe_is_kept_as_written_for_the_checks():
    assert _pit("Pit 1\n93.175 N 113.033 W")["latitude"] == "93.175 N" and parse_angle("93.175 N").problem
