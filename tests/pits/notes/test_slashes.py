"""Fields parted by slashes, and numbers of the next field that stand behind a depth. All invented."""

from __future__ import annotations

import itertools

import pytest

from geoprofile.pits.notes.entries import entry_at
from geoprofile.pits.notes.mending import mend
from geoprofile.pits.notes.reader import tables_of
from geoprofile.pits.notes.slashes import fields_apart


def _rows(text: str, unit: str = "cm") -> list[dict]:
    return [{name: cell for name, cell in row.items() if cell} for row in tables_of(text, "n.txt", depth_unit=unit).horizons.cells.to_dict("records")]


SLASHES = """Pit 8 / slope 3 % / well drained
A 0-5" / 10YR 3/2 (d 10YR 5/3) / SIL / 2 f GR / mvfr / NE / cs / c f rts
Bt1 5-14" / 7.5YR 4/4 / SICL / 2mpr-2msbk /
mfi / e below 11 / gw / vs/vp
Bk 14-33" / 10YR 6/3, dry 10YR 7/3 / L / 1fgr-sg / mfr / es / as
"""


def test_fields_parted_by_slashes_fill_their_cells_and_no_depth_takes_a_number_of_the_next():
    first, second, third = _rows(SLASHES)
    assert first == {
        "pit_id": "8", "designation": "A", "upper depth (cm)": "0", "lower depth (cm)": "12.7", "colour moist": "10YR 3/2", "colour dry": "10YR 5/3", "texture": "silt loam",
        "structure grade": "moderate", "structure size": "fine", "structure kind": "granular", "consistence": "very friable", "effervescence": "none",
        "boundary distinctness": "clear", "boundary form": "smooth", "horizon remarks": "c f rts",
    }  # fmt: skip
    assert (second["lower depth (cm)"], second["structure kind"], second["structure more"], second["consistence"]) == ("35.56", "prismatic", "parting to moderate medium subangular blocky", "firm")
    assert (second["effervescence"], second["effervescence part"], second["horizon remarks"]) == ("slight", "lower part", "e below 11; vs/vp")
    assert (third["structure kind"], third["colour moist"], third["colour dry"], third["effervescence"]) == ("granular and single grain", "10YR 6/3", "10YR 7/3", "strong")


@pytest.mark.parametrize(
    ("line", "depths"),
    [
        ("A 0-4 / 10YR 3/2 / loam", "0-4"), ("Bt 20-37/45 cm; 10YR 3/2", "20-37-45"), ("Bt 20-37 / 45 % clay / loam", "20-37"), ("Bt 0 to 20 - 10YR 3/2", "0-20"), ("Bt 0 to 20 - 15 % gravel", "0-20"),
        ("Bt 0-20, perhaps 10% gravel", "0-20"), ("Bt 0-20 or 10YR 3/2 when wet", "0-20"), ("Bt 0 to 20 - 2 f sbk", "0-20"), ("Bt 0 to 15-20 cm", "0-15-20"), ("Bt 0-6 1/2 in", "0-6.5"), ("Bt 0-20 3/2 moist", "0-20"),
        ("Ap 0-20 cm (5 cm) of turf", "0-20"), ("Ap 0-20 cm (0-8 in) loam", "0-20"), ("Ap 0-20 / 2.5Y 5/2 / loam", "0-20"), ("Ap 0-20 / N 3/ / loam", "0-20"),
    ],
)  # fmt: skip
def test_only_what_belongs_to_a_depth_is_drawn_into_it(line, depths):
    read = mend(line)
    entry = entry_at(read, 0, len(read))
    assert f"{entry.depths.upper.text(1)}-{entry.depths.lower.text(1)}" == depths


DEPTHS = [("0-4", 4, 4), ('0-4"', 4, 4), ("0 to 4 in", 4, 4), ("from 0 to 4", 4, 4), ("0-3/5", 3, 5), ("0 to 3-5 cm", 3, 5), ("0\u20134cm", 4, 4)]
FIELDS = [
    "10YR 3/2 m", "10 YR 3/2", "7.5YR 4/4", "5Y 5/1", "N 4/", "15 % gravel", "15-20% gravel", "5 to 10 pct gravel", "2 f gr", "2fgr", "3msbk", "1-2 f gr", "pH 6.5", "6.5 pH", "2-5 mm peds", "30 mm thick", "2 roots", "15 cm thick", "3/2 dry", "10-15 roots per dm2",
    "20 g sample", "10B 5/1", "2 to 5 inches thick", "1 in 3 slope", "c2d 7.5YR 5/6", "65 percent 10YR 4/3 and 35 percent 10YR 6/2", "3 samples",
]  # fmt: skip


@pytest.mark.parametrize("between", [" / ", ", ", "; ", " - ", " -- ", " \u2013 ", ": ", " ", "\t", ". ", " or ", " and ", " (", ", perhaps ", ", about "])
def test_no_number_of_any_field_is_drawn_into_a_depth(between):
    """``0 to 4 - 3 samples`` was a depth of 3 to 4, ``0-4 cm, perhaps 15-20% gravel`` one of 4 to 15, ``Ap 0\u20134 - 10B 5/1`` an Ap0."""
    for (depths, low, high), field in itertools.product(DEPTHS, FIELDS):
        line = mend(f"Ap {depths}{between}{field}, loam")
        entry = entry_at(line, 0, len(line))
        assert (entry.designation, entry.depths.upper.value, entry.depths.lower.low, entry.depths.lower.high) == ("Ap", 0, low, high), line


def test_what_stands_behind_converted_depths_in_the_same_unit_is_kept():
    (row,) = _rows("Pit 1\nAe 10-15 cm (3-6 cm); loam\n")
    assert row["lower depth (cm)"] == "15" and row["horizon remarks"] == "3-6 cm"


@pytest.mark.parametrize(
    "line",
    [
        "10YR 4 / 3, loam", "Seen 12 / 06 / 2024 and 13 / 06 / 2024", "E / B 10-20 cm; loam", "EASTING/NORTHING: 498210 / 6301744", "2 m pr / 2 f sbk", "Bm 12-30 cm; 10YR 4/3; 2 m pr / 2 f sbk; friable, and / or firm",
        "37/45 cm", "nothing here",
    ],
)  # fmt: skip
def test_other_slashes_part_no_fields(line):
    assert fields_apart(line) == line


def test_a_slash_that_parts_fields_is_read_as_a_semicolon_of_the_same_place():
    assert fields_apart("E / B 0-20 / 10YR 4 / 3 / loam") == "E / B 0-20 ; 10YR 4 / 3 ; loam"


@pytest.mark.parametrize(
    ("written", "moist", "dry"),
    [
        ("moist 10YR 3/2, dry 10YR 5/2", "10YR 3/2", "10YR 5/2"), ("10YR 3/2, dry 10YR 5/2", "10YR 3/2", "10YR 5/2"), ("10YR 3/2 (d 10YR 5/2)", "10YR 3/2", "10YR 5/2"),
        ("dry: 10YR 5/2, moist: 10YR 3/2", "10YR 3/2", "10YR 5/2"), ("10YR 3/2 m 10YR 5/2 d", "10YR 3/2", "10YR 5/2"), ("10YR 5/2, dry, 10YR 3/2 moist", "10YR 3/2", "10YR 5/2"),
        ("dry pale brown (10YR 6/3)", "", "10YR 6/3"), ("10YR 4/3, moist (10YR 6/3 dry)", "10YR 4/3", "10YR 6/3"),
    ],
)  # fmt: skip
def test_a_state_before_a_colour_is_that_of_the_colour_behind_it(written, moist, dry):
    (row,) = _rows(f"Pit 1\nBm 0-20 cm; {written}; loam\n")
    assert (row.get("colour moist", ""), row.get("colour dry", "")) == (moist, dry)
