"""Codes that mean one thing in one place and another in the next: read where the place decides, left in the remarks where it does not. All invented."""

from __future__ import annotations

import pytest

from geoprofile.pits.notes.codes import code_clauses
from geoprofile.pits.notes.reader import tables_of

COLUMNS = """Pit 1
LFH     7-0                                              CS
Ah      0-9       10YR 3/1 m 10YR 5/1 d   L    M F GR      VFR   -    CS
Bt2gj   9-30      10YR 4/2 m              CL   S M SBK     FI    -    GW
BC      30-55     10YR 5/4 m              GR S   SG        L     -    GS
Ck      55-90+    10YR 5/3 m              GS     SG        L     VW
"""


def _rows(text: str) -> list[dict]:
    return [{name: cell for name, cell in row.items() if cell} for row in tables_of(text, "n.txt", depth_unit="cm").horizons.cells.to_dict("records")]


def test_columns_of_capitals_parted_by_blanks():
    lfh, ah, bt, bc, ck = _rows(COLUMNS)
    assert lfh["boundary distinctness"] == "clear"
    assert (ah["texture"], ah["structure grade"], ah["structure size"], ah["structure kind"], ah["consistence"], ah["boundary form"]) == ("loam", "moderate", "fine", "granular", "very friable", "smooth")
    assert (bt["designation"], bt["texture"], bt["structure grade"], bt["structure size"], bt["boundary distinctness"]) == ("Bt2gj", "clay loam", "strong", "medium", "gradual")
    assert (bc["texture"], bc["structure kind"], bc["boundary distinctness"], bc["horizon remarks"]) == ("gravelly sand", "single grain", "gradual", "L")  # loose, and no loam
    assert "texture" not in ck and "boundary distinctness" not in ck and ck["horizon remarks"] == "GS; L; VW"  # gravelly sand or gradual smooth; very weak or very abrupt


@pytest.mark.parametrize(
    ("clause", "words"),
    [
        ("M C SBK", "moderate coarse subangular blocky"), ("M M PL", "moderate medium platy"), ("S C PR", "strong coarse prismatic"), ("f m gr", "fine and medium granular"), ("1 f m gr", "weak fine and medium granular"), ("m & c sbk", "medium and coarse subangular blocky"),
        ("sgr", "single grain"), ("vs", ""), ("vw", ""), ("gr s", ""), ("gs", "gradual smooth boundary"), ("fs", "fine sand"),
    ],
)  # fmt: skip
def test_a_clause_of_codes(clause, words):
    assert "".join(found for *_, found in code_clauses(clause)) == words


@pytest.mark.parametrize(
    ("written", "degree", "part"),
    [
        ("mod eff in lower part", "moderate", "lower part"), ("firm, sl eff in the lower half", "slight", "lower half"), ("strong eff below 60 cm", "strong", "lower part"), ("slightly effervescent in the lower part", "slight", "lower part"),
        ("e below 60", "slight", "lower part"), ("es in upper part", "strong", "upper part"), ("mod eff", "moderate", ""), ("friable mod calc in lower part", "moderately calcareous", "lower part"),
    ],
)  # fmt: skip
def test_a_code_of_effervescence_keeps_the_part_that_it_is_said_of(written, degree, part):
    """Effervescence in the lower part was put at the top of the horizon where it was a code."""
    (row,) = _rows(f"Pit 1\nBk 40-90 cm; loam; {written}\n")
    assert (row["effervescence"], row.get("effervescence part", "")) == (degree, part)


@pytest.mark.parametrize("written", ["abrupt smooth boundry", "friable abrupt wavey", "abr sm bdy", "clear, wavy limit", "clr wavy"])
def test_a_boundary_leaves_no_word_behind(written):
    (row,) = _rows(f"Pit 1\nBk 40-90 cm; loam; {written}\n")
    assert row["boundary distinctness"] and row["boundary form"] and "horizon remarks" not in row
