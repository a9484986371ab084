"""Pits between rulers, observations with a number, columns parted by blanks only. All invented."""

from __future__ import annotations

import pytest

from geoprofile.pits.notes.pit_lines import starts_pit
from geoprofile.pits.notes.reader import tables_of


def _rows(text: str) -> list[dict]:
    return [{name: cell for name, cell in row.items() if cell} for row in tables_of(text, "n.txt", depth_unit="cm").horizons.cells.to_dict("records")]


RULED = """=== 1 ===
Obs. K-7   49.1234 N 112.2345 W
Ah   0-11    10YR 2/1 m 10YR 4/1 d   L    wk med gran    v. friable    no eff    clear, smooth
Bm   11-37/45 10YR 4/3 m             CL   mod med pris -> mod med sbk   firm   mod eff   abrupt, wavy

=== 2 ===
Observation K-8, slope 4 %
Ap 0 - 15 cm. 10YR 3/2 moist. Silt loam. Moderate, fine, granular. Friable. No effervescence. Clear smooth.
Ck 15 - 60 cm. 10YR 5/3 moist. Massive. HCl +++.
--- 3 ---
Ah 0-9 cm, loam, HCl -
"""


def test_a_ruler_with_a_number_and_an_observation_begin_a_pit():
    notes = tables_of(RULED, "n.txt", depth_unit="cm")
    assert notes.ids == ("K-7", "K-8", "3")
    assert notes.pits.cells["latitude"].tolist() == ["49.1234 N", "", ""] and not any(notes.pits.cells["remarks"])


def test_codes_in_columns_parted_by_blanks_and_sentences_of_one_term_are_read():
    ah, bm, ap, ck, last = _rows(RULED)
    assert (ah["structure grade"], ah["structure size"], ah["structure kind"], ah["consistence"], ah["effervescence"], ah["boundary distinctness"], ah["boundary form"]) == (
        "weak", "medium", "granular", "very friable", "none", "clear", "smooth")  # fmt: skip
    assert (bm["lower depth (cm)"], bm["structure kind"], bm["structure more"], bm["effervescence"], bm["boundary form"]) == ("37-45", "prismatic", "parting to moderate medium subangular blocky", "moderate", "wavy")
    assert (ap["structure size"], ap["effervescence"], ap["boundary distinctness"]) == ("fine", "none", "clear")
    assert (ck["horizon remarks"], last["effervescence"]) == ("HCl +++", "none") and "effervescence" not in ck  # how much three plus are is not said


def test_lines_below_a_ruler_that_name_no_pit_stay_with_the_pit_above():
    notes = tables_of("Pit 1\nAh 0-12 cm; loam\n=====\nIt rained all day.\n", "n.txt")
    assert notes.ids == ("1",) and "It rained all day" in notes.pits.cells.iloc[0]["remarks"]


@pytest.mark.parametrize("line", ["obs 3 worms", "Observation: rain", "Station was wet", "observed 3 roots", "--- wet below ---x", "=> 3 mottles"])
def test_other_lines_begin_no_pit(line):
    assert not starts_pit(line)


@pytest.mark.parametrize("line", ["Obs. D-3", "obs 12", "Observation point 7, north", "Station 4", "=== 1 ===", "--- Pit 4 ---", "*** B ***"])
def test_observations_and_rulers_begin_a_pit(line):
    assert starts_pit(line)
