"""Names of chips, and the table of the 1943 renotation."""

from __future__ import annotations

import importlib.util
import re
from importlib.resources import files
from pathlib import Path

import pytest

from geoprofile.vocabulary.colour_names import chips, chips_instead, nearest_names
from geoprofile.vocabulary.munsell import Colour, chip_exists, parse_colour, srgb


def test_every_chip_of_the_charts_bears_its_name(shared):
    """238 chips of the Munsell Soil Color Charts (1994, 2000) and the neutral ones."""
    text = (shared / "reference" / "usda_fao.md").read_text(encoding="utf-8")
    charts = text[text.index("### 4.3") : text.index("### 4.4")]
    seen = 0
    for page in charts.split("\n**")[1:]:
        hue, lines = page.split("**")[0], [line.strip("|").split("|") for line in page.splitlines() if line.startswith("|")]
        for cells in lines[2:]:
            for chroma, cell in zip(lines[0][1:], cells[1:], strict=False):
                name = re.search(r"([a-z ]+) `", cell)
                if name:
                    assert nearest_names(Colour(hue, float(cells[0]), float(chroma))) == (name.group(1).strip(),), (hue, cells[0], chroma)
                    seen += 1
    assert seen == 238
    for neutral, name in re.findall(r"(N [\d.]+/) ([a-z ]+) `", charts):
        assert name in nearest_names(parse_colour(neutral))


@pytest.mark.parametrize(
    ("text", "names"),
    [("10YR 4.5/2", {"grayish brown", "dark grayish brown"}), ("10YR 3.5/1", {"dark gray", "very dark gray"}), ("10YR 5/5", {"yellowish brown"}),
     ("10YR 2.5/1", {"black"}), ("2.5Y 3.5/2", {"dark grayish brown", "very dark grayish brown"}), ("5G 5/1", {"greenish gray"}), ("5PB 4/1", {"dark bluish gray"}), ("2.5P 4/6", set())],
)  # fmt: skip
def test_a_half_chip_has_the_names_of_both_neighbours(text, names):
    """Index of Nickerson 1936; published profiles of canada.md 5.2 use 4.5/2, 3.5/1 and 2.5/1."""
    assert set(nearest_names(parse_colour(text))) == names


def test_names_of_gley_are_held_against_their_notation():
    assert chips_instead("dark greenish gray", parse_colour("10YR 4/3")) and not chips_instead("dark greenish gray", parse_colour("5GY 4/1"))


def test_every_chip_with_a_name_can_be_and_has_a_screen_colour():
    for known in chips().values():
        for chip in known:
            assert chip_exists(chip) and re.fullmatch("#[0-9a-f]{6}", srgb(chip)), chip.text


def test_the_table_is_what_the_script_makes_of_the_general_colour_library():
    """Newhall, Nickerson & Judd 1943: 2,734 published colours of value 1 and more."""
    pytest.importorskip("colour")
    path = Path(__file__).parents[2] / "scripts" / "make_munsell_table.py"
    spec = importlib.util.spec_from_file_location(path.stem, path)
    script = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(script)
    text = (files("geoprofile.vocabulary.tables") / "munsell.csv").read_text(encoding="utf-8")
    assert text == script.table_text()
    assert sum(line[:1].isdigit() for line in text.splitlines()) == 2734


def test_published_chromaticities(shared):
    """The soil hues of the 1943 table as printed in the reference of the open data folder."""
    text = (shared / "reference" / "usda_fao.md").read_text(encoding="utf-8")
    assert "10YR" in text[text.index("### 4.5") :]
    rows = dict((tuple(line.split(",")[:3]), tuple(line.split(",")[3:])) for line in (files("geoprofile.vocabulary.tables") / "munsell.csv").read_text().splitlines() if line[:1].isdigit())
    assert rows["10YR", "6", "2"] == ("0.3491", "0.3483") and rows["10YR", "4", "4"] == ("0.4189", "0.3948") and rows["7.5YR", "5", "6"] == ("0.4440", "0.3954")
    assert rows["10YR", "2", "2"] == ("0.3872", "0.3688")
