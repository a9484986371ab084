"""Depths as people write them: pains.md R5, R14, R15, R16 and input 2."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.pits.depths import Depth, parse_depth, parse_depth_range


def pair(text, **options):
    found = parse_depth_range(text, **options)
    assert found.problem == "", found
    return found.upper, found.lower


# ranges


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("0-10", (0, 10)),
        ("10\u201325", (10, 25)),
        ("25 - 45 cm", (25, 45)),
        ("0 to 6 in", (0, 15.24)),
        ('6"-12"', (15.24, 30.48)),
        ("100-120/130", (100, 125)),
        ("\u22125-0", (-5, 0)),
        ("4-0", (4, 0)),
        ("-4-0", (-4, 0)),
        ("-5 - -2", (-5, -2)),
        ("-5--2", (-5, -2)),
        ("10--25", (10, 25)),
        ("0-0.15 m", (0, 15)),
        ("5,5-10,2", (5.5, 10.2)),
        ("2 1/2 inches to 1 inch", (6.35, 2.54)),
        ("2\u00bd-1 in", (6.35, 2.54)),
        ("10\u201425 cm.", (10, 25)),
        ("6\u2033\u201312\u2033", (15.24, 30.48)),
        ("1 ft - 2 ft", (30.48, 60.96)),
    ],
)
def test_r14_ranges_in_all_their_spellings(text, expected):
    assert pair(text) == pytest.approx(expected)


def test_input_2_the_range_of_a_wavy_boundary_keeps_its_limits():
    found = parse_depth_range("100-120/130")
    assert (found.lower_low, found.lower, found.lower_high) == (120, 125, 130)
    assert (found.upper_low, found.upper, found.upper_high) == (100, 100, 100)
    above = parse_depth_range("15/21-40")
    assert (above.upper_low, above.upper, above.upper_high) == (15, 18, 21)


@pytest.mark.parametrize("text", ["45+", "45 cm+", "45+ cm", ">45", "45-", "45 and below"])
def test_r15_an_open_horizon_has_no_lower_depth(text):
    found = parse_depth_range(text)
    assert (found.upper, found.lower, found.open_below, found.problem) == (45, None, True, "")


def test_r15_a_last_depth_with_a_plus_is_a_least_depth():
    found = parse_depth_range("60-120+")
    assert (found.upper, found.lower, found.lower_low, found.lower_high, found.open_below) == (60, 120, 120, None, True)
    assert parse_depth_range("45->60").open_below


@pytest.mark.parametrize("text", ["30", "30 cm"])
def test_input_2_one_number_alone_is_not_a_range(text):
    found = parse_depth_range(text)
    assert found.upper is None and found.lower is None and "one depth alone" in found.problem


@pytest.mark.parametrize(
    ("cell", "proposal"),
    [
        ("15-Oct", "10-15"),
        ("Oct-15", "10-15"),
        ("2026-10-15 00:00:00", "10-15"),
        ("2026-10-15", "10-15"),
        ("15/10/2026", "10-15"),
        (dt.datetime(2026, 10, 15), "10-15"),
        (dt.date(2026, 10, 15), "10-15"),
        ("Dec-40", "12-40"),
        (dt.datetime(1940, 12, 1), "12-40"),
        ("5-Feb", "2-5"),
    ],
)
def test_r5_a_date_is_proposed_and_never_read_as_a_number(cell, proposal):
    for read in (parse_depth_range(cell), parse_depth(cell)):
        assert read.proposal == proposal
        assert "date" in read.problem
    assert parse_depth_range(cell).upper is None and parse_depth_range(cell).lower is None
    assert parse_depth(cell).status == "unknown"


def test_r5_a_date_stored_as_a_serial_number_is_not_a_depth():
    found = parse_depth("45945")  # 15 October 2025, counted from 30 December 1899
    assert found.low is None and found.proposal == "10-15" and found.problem


@pytest.mark.parametrize("text", ["", "abc", "10-25-30", "to", "-", "Bt 10-20", "10-20-Oct-2020"])
def test_text_that_is_no_range_is_rejected_with_a_reason(text):
    found = parse_depth_range(text)
    assert found.problem and found.upper is None and found.lower is None


# units


def test_r16_units_are_stated_once_and_conflicts_are_problems():
    assert pair("0-6", unit="in") == pytest.approx((0, 15.24))
    assert pair("0-6 in", unit="in") == pytest.approx((0, 15.24))
    assert pair("0-0.3", unit="m") == pytest.approx((0, 30))
    conflict = parse_depth_range("0-6 in", unit="cm")
    assert conflict.unit == "in" and "the cell says in" in conflict.problem
    two = parse_depth_range("0 cm - 6 in")
    assert two.upper is None and "two units" in two.problem


def test_r16_six_inches_are_15_24_cm_never_the_inverse():
    assert parse_depth("6 in").value == pytest.approx(15.24)
    assert parse_depth("6", "in").value == pytest.approx(15.24)


# readings


@pytest.mark.parametrize(
    ("text", "low", "high", "status", "presence"),
    [
        (">126", 126, None, "at_least", "not_seen"),
        (">=60", 60, None, "at_least", "not_seen"),
        ("\u226560 cm", 60, None, "at_least", "not_seen"),
        ("126+", 126, None, "at_least", "not_seen"),
        ("at least 60", 60, None, "at_least", "not_seen"),
        ("<30", None, 30, "at_most", "present"),
        ("less than 30 cm", None, 30, "at_most", "present"),
        ("15-21", 15, 21, "between", "present"),
        ("21\u201315", 15, 21, "between", "present"),
        ("15 to 21 cm", 15, 21, "between", "present"),
        ("17", 17, 17, "measured", "present"),
        ("17,5", 17.5, 17.5, "measured", "present"),
        ("absent", None, None, "absent", "absent"),
        ("None", None, None, "absent", "absent"),
        ("not seen", None, None, "unknown", "not_seen"),
        ("", None, None, "unknown", "not_described"),
        ("at surface", 0, 0, "at_surface", "present"),
        ("0", 0, 0, "measured", "present"),
    ],
)
def test_r15_readings_keep_their_qualifier(text, low, high, status, presence):
    found = parse_depth(text)
    assert (found.low, found.high, found.status, found.presence, found.problem) == (low, high, status, presence, "")


def test_r7_none_is_absence_and_blank_is_not_described():
    assert parse_depth("none") == Depth(status="absent", presence="absent")
    assert parse_depth("") == Depth()


def test_an_approximate_depth_says_so():
    assert parse_depth("~17").about and parse_depth("ca. 17").value == 17
    assert not parse_depth("17").about


@pytest.mark.parametrize("text", ["tr", "Bt", "17 apples", "1.2.3"])
def test_a_reading_that_is_no_depth_is_a_problem_not_a_blank(text):
    found = parse_depth(text)
    assert found.problem and found.status == "unknown"


# laws

CENTIMETRES = st.decimals(min_value=-50, max_value=400, places=1).map(float)


@given(
    CENTIMETRES,
    CENTIMETRES.map(abs),
    st.sampled_from(["-", " - ", "\u2013", " to ", "\u2014"]),
    st.sampled_from(["", " cm", "cm"]),
)
@settings(max_examples=80, deadline=None)
def test_a_range_written_is_the_range_read(upper, lower, dash, unit):
    assert pair(f"{upper:g}{dash}{lower:g}{unit}") == pytest.approx((upper, lower))


@given(st.text(alphabet="0123456789-+/.,<> cminto\"'", max_size=12))
@settings(max_examples=200, deadline=None)
def test_any_text_is_read_or_refused_but_never_fails(text):
    found = parse_depth_range(text)
    assert (found.upper is not None) or found.problem
    parse_depth(text)
