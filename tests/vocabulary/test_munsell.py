"""Munsell colours against the 1943 renotation and an independent colour-science implementation."""

from __future__ import annotations

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.vocabulary.munsell import (
    Colour,
    chip_exists,
    luminance_of,
    parse_colour,
    parse_colours,
    propose_colour,
    srgb,
)


def channels(text):
    return [int(text[at : at + 2], 16) for at in (1, 3, 5)]


def apart(one, other):
    return max(abs(a - b) for a, b in zip(channels(one), channels(other), strict=True))


# screen colours


@pytest.mark.parametrize(
    ("text", "expected"),
    [("10YR 6/2", "#a1917d"), ("10YR 4/4", "#785b36"), ("10YR 2/2", "#3c2e21"), ("10YR 6/3", "#a79072"),
     ("7.5YR 5/6", "#a16f3f"), ("2.5Y 5/3", "#8a7757"), ("5Y 6/1", "#989386"), ("N 4/", "#606060"), ("10YR 2.5/1", None)],
)  # fmt: skip
def test_screen_colours_of_single_chips(text, expected):
    """Chromaticities of Newhall, Nickerson & Judd 1943 through ASTM D1535, Bradford and IEC 61966-2-1, within one count."""
    shown = srgb(parse_colour(text))
    assert re.fullmatch("#[0-9a-f]{6}", shown)
    if expected:
        assert apart(shown, expected) <= 1


def test_every_chip_of_the_soil_charts_is_within_one_count(shared):
    """238 chips computed independently from the 1943 values (reference of the open data folder)."""
    text = (shared / "reference" / "usda_fao.md").read_text(encoding="utf-8")
    charts = text[text.index("### 4.3") : text.index("### 4.4")]
    compared = 0
    for page in charts.split("\n**")[1:]:
        hue, lines = (
            page.split("**")[0],
            [line.strip("|").split("|") for line in page.splitlines() if line.startswith("|")],
        )
        for cells in lines[2:]:
            for chroma, cell in zip(lines[0][1:], cells[1:], strict=False):
                found = re.search("#[0-9a-f]{6}", cell)
                if found:
                    colour = Colour(hue, float(cells[0]), float(chroma))
                    assert chip_exists(colour) and apart(srgb(colour), found.group()) <= 1, colour.text
                    compared += 1
    assert compared == 238
    for name, expected in re.findall(r"(N [\d.]+/) [a-z ]+`(#[0-9a-f]{6})`", charts):
        assert apart(srgb(parse_colour(name)), expected) <= 1


def test_luminance_follows_the_polynomial_of_the_standard():
    """ASTM D1535: value 1, 2.5, 5 and 10."""
    for value, expected in [(1, 1.180), (2.5, 4.499), (5, 19.272), (10, 100.0)]:
        assert luminance_of(value) == pytest.approx(expected, abs=1e-3)


@pytest.mark.parametrize(
    "text", ["10YR 5/4", "2.5YR 4/6", "7.5YR 6/8", "5Y 7/2", "5GY 5/2", "5B 6/2", "10R 3/4", "N 6/"]
)
def test_an_independent_implementation_agrees(text):
    """colour-science (library, as an oracle only): its renotation interpolation, same white points and adaptation."""
    science = pytest.importorskip("colour")
    import warnings

    import numpy as np

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        xyy = science.munsell_colour_to_xyY(text if not text.startswith("N") else "N6")
        xyz = science.xyY_to_XYZ(xyy)
        rgb = science.XYZ_to_sRGB(xyz, illuminant=science.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["C"],
                                  chromatic_adaptation_transform="Bradford")  # fmt: skip
    oracle = np.rint(np.clip(rgb, 0, 1) * 255)
    assert max(abs(np.array(channels(srgb(parse_colour(text)))) - oracle)) <= 2


def test_half_steps_and_pages_between_lie_between_their_neighbours():
    for low, half, high in [
        ("10YR 4/2", "10YR 4.5/2", "10YR 5/2"),
        ("10YR 4/2", "10YR 4/3", "10YR 4/4"),
        ("5GY 5/1", "10GY 5/1", "5G 5/1"),
    ]:
        for a, b, c in zip(*(channels(srgb(parse_colour(text))) for text in (low, half, high)), strict=True):
            assert min(a, c) <= b <= max(a, c)


# reading


@pytest.mark.parametrize(
    ("written", "text"),
    [
        ("10YR 4/3", "10YR 4/3"), ("10yr4/3", "10YR 4/3"), ("10 YR 4/3", "10YR 4/3"), ("10YR 4 / 3", "10YR 4/3"),
        ("2.5Y5/2", "2.5Y 5/2"), ("2,5Y 5/2", "2.5Y 5/2"), ("10YR 4.5/2", "10YR 4.5/2"), ("N 4/", "N 4/"), ("N4/0", "N 4/"),
        ("N 4", "N 4/"), ("brown (10YR 4/3)", "10YR 4/3"), ("10YR 4/3 m", "10YR 4/3"), ("7.5YR 2.5/1", "7.5YR 2.5/1"),
        ("5GY 4/2", "5GY 4/2"), ("10.0YR 4/3", "10YR 4/3"),
    ],
)  # fmt: skip
def test_colours_as_people_write_them(written, text):
    assert parse_colour(written).text == text


@pytest.mark.parametrize(
    "written", ["", "brown", "10YR", "10YR 4", "7.5YR 5/", "10YR /", "4/3", "10YR 43", "lOYR 4/3", "10YR 4/3, 10YR 5/2"]
)
def test_what_is_not_one_colour_is_not_guessed(written):
    assert parse_colour(written) is None


def test_scanned_letters_are_proposed_and_not_applied():
    """Damage seen in scanned pedon text: lOYR for 10YR, 2.SY for 2.5Y."""
    assert propose_colour("lOYR 4/3").text == "10YR 4/3"
    assert propose_colour("2.SY 5/2").text == "2.5Y 5/2"
    assert propose_colour("10YR 4/3") is None
    assert propose_colour("brown") is None


def test_moist_and_dry_are_told_apart():
    """P4 of Clayton et al. 1977 style: two colours in one phrase."""
    found = parse_colours("10YR 3/3 m, 10YR 5/3 d")
    assert [(colour.text, state) for colour, state in found] == [("10YR 3/3", "moist"), ("10YR 5/3", "dry")]


@pytest.mark.parametrize("text", ["12YR 4/3", "10YR 14/3", "10YR 4/30", "N 12/", "0YR 4/3", "10YR 0/2", "10YR 2/8"])
def test_impossible_colours(text):
    assert not chip_exists(parse_colour(text))
    with pytest.raises(ValueError, match="no Munsell colour"):
        srgb(parse_colour(text))


def test_all_real_colours_can_be(shared):
    """994 pits described by USDA-NRCS: three texts lack a chroma, every other one is a chip that can be."""
    import csv

    with (shared / "data" / "pits-us" / "horizons.csv").open(encoding="utf-8") as file:
        texts = {row[name] for row in csv.DictReader(file) for name in ("colour_moist", "colour_dry")} - {""}
    assert sorted(text for text in texts if parse_colour(text) is None) == ["10Y 6/", "10YR /", "7.5YR 3/"]
    assert all(chip_exists(parse_colour(text)) for text in texts if parse_colour(text))


@given(
    st.sampled_from(["10R", "2.5YR", "5YR", "7.5YR", "10YR", "2.5Y", "5Y", "10Y", "5GY", "5B"]),
    st.integers(4, 16), st.integers(0, 8),
)  # fmt: skip
@settings(max_examples=60, deadline=None)
def test_a_colour_reads_as_itself_and_darker_values_look_darker(hue, halves, chroma):
    colour = Colour(hue, halves / 2, float(chroma))
    assert parse_colour(colour.text) == colour
    lighter = Colour(hue, halves / 2 + 1, float(chroma))
    if chip_exists(colour) and chip_exists(lighter):
        assert sum(channels(srgb(colour))) < sum(channels(srgb(lighter)))


@pytest.mark.parametrize(
    ("text", "states"),
    [
        ("10YR 4/2 d", ["dry"]), ("10YR 5/3 (d)", ["dry"]), ("2.5Y 6/3d", ["dry"]), ("d 10YR 5/3", ["dry"]), ("(dry) 10YR 5/3", ["dry"]), ("brown 10YR 5/3 dry", ["dry"]),
        ("10YR4/2 m / 10YR5/2 d", ["moist", "dry"]), ("moist 10YR 4/2, dry 10YR 5/2", ["moist", "dry"]), ("dry: 10YR 5/2; moist: 10YR 4/2", ["dry", "moist"]),
        ("m 10YR 4/2 d 10YR 5/2", ["moist", "dry"]), ("10YR 4/2 (dry: 10YR 5/2)", ["", "dry"]), ("10YR 4/2 m, dry 10YR 5/2", ["moist", "dry"]),
        ("10YR 5/2 d; friable when moist", ["dry"]), ("10YR 4/2 moist and dry", ["unclear"]), ("10YR 3/3 d. brown", ["unclear"]), ("d. brown, 10YR 3/3", [""]),
        ("10YR 5/2_d", ["dry"]), ("10YR 5/2d10YR 4/2m", ["dry", "moist"]), ("10YR5/2dry/10YR4/2moist", ["dry", "moist"]), ("10YR4/2/10YR5/2", ["", ""]), ("d10YR 5/2", ["dry"]),
    ],
)  # fmt: skip
def test_a_state_stands_before_or_behind_its_colour(text, states):
    assert [state for _, state in parse_colours(text)] == states


def test_a_comma_between_two_colours_is_no_decimal_comma():
    assert parse_colour("10YR 4/2,5").chroma == 2.5 and parse_colours("10YR 4/2,5/2 d")[0][0].text == "10YR 4/2"
    assert [(colour.text, state) for colour, state in parse_colours("10YR 4/2,10YR 5/2 d")] == [("10YR 4/2", ""), ("10YR 5/2", "dry")]
