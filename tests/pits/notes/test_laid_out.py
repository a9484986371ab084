"""Horizons on cards, one field a line, and in tables pasted into a text; all invented."""

from __future__ import annotations

import re

import pytest

from geoprofile.pits.notes.fields import label_of
from geoprofile.pits.notes.reader import tables_of
from geoprofile.pits.notes.show import reading_lines


def _read(text: str, unit: str | None = "cm"):
    """The notes; every word of a horizon must be in a field, at a label or in the remarks."""
    notes = tables_of(text, "n.txt", depth_unit=unit)
    for profile in notes.profiles:
        for horizon in profile.horizons:
            entry = horizon.entry
            places = [(one.start, one.end) for one in horizon.found] + horizon.left + horizon.kept + [cell for cell in entry.labels]
            places += [(entry.depths.start, entry.depths.end)] if entry.depths else []
            for word in re.finditer(r"\w+", text[entry.start : horizon.end]):
                at = entry.start + word.start()
                if word.group().casefold() not in ("and", "to", "in", "cm") and not any(start <= at < end for start, end in places):
                    limits = [cell for cell in (entry.depths.lower,) if cell] if entry.depths else []
                    assert any(limit.text(1) == word.group() for limit in limits), (entry.designation, word.group())
    return notes


def _rows(text: str, unit: str | None = "cm") -> list[dict]:
    return [{name: cell for name, cell in row.items() if cell} for row in _read(text, unit).horizons.cells.to_dict("records")]


CARDS = """Pit K-4
Date: 2023-06-01
Slope: 4 %

HORIZON: Ap
DEPTH: 0-22 cm
COLOUR: 10YR 3/2 moist, 10YR 5/2 dry
TEXTURE: loam
STRUCTURE: weak fine
  granular
REACTION TO ACID: none
STONES: few small rounded
BOUNDARY: abrupt smooth

HORIZON: Bk
DEPTH: 22-60+ cm
MUNSELL (DRY): 10YR 6/3
MOTTLES: few fine faint 7.5YR 5/6; many coarse prominent 5Y 6/1
FIZZ: VE
WEATHER: it rained
"""


def test_a_card_with_one_field_a_line_is_a_horizon():
    first, second = _rows(CARDS)
    assert (first["designation"], first["upper depth (cm)"], first["lower depth (cm)"]) == ("Ap", "0", "22")
    assert (first["colour moist"], first["colour dry"], first["texture"]) == ("10YR 3/2", "10YR 5/2", "loam")
    assert (first["structure grade"], first["structure size"], first["structure kind"]) == ("weak", "fine", "granular")
    assert (first["effervescence"], first["boundary distinctness"], first["boundary form"]) == ("none", "abrupt", "smooth")
    assert (second["designation"], second["lower depth (cm)"], second["colour dry"], second["effervescence"]) == ("Bk", "60+", "10YR 6/3", "violent")
    assert second["mottles"] == "few" and "colour moist" not in second  # the colour of mottles is not that of the soil


def test_what_a_card_says_without_a_field_of_ours_stays_in_the_remarks_under_its_label():
    first, second = _rows(CARDS)
    assert first["horizon remarks"] == "STONES: few small rounded"
    assert "WEATHER: it rained" in second["horizon remarks"] and "many coarse prominent 5Y 6/1" in second["horizon remarks"]


@pytest.mark.parametrize(
    "card",
    [
        "Horizon: Bt\nDepth: 8-20 cm\nTexture: clay", "Horizon Bt\nDepth 8-20\nTexture clay", "Horizon: Bt  Depth: 8-20 cm  Texture: clay", "Horizon: Bt, Depth: 8-20, Texture: clay",
        "Depth (cm): 8 - 20\nHorizon: Bt\nTexture: clay", "Bt\nDepth: 8-20 cm\nTexture: clay", "**Horizon:** Bt\n**Depth:** 8-20 cm\n**Texture:** clay", "- Horizon: Bt\n- Depth: 8 to 20\n- Texture: clay",
        "Horizon: Bt\nTop: 8\nBottom: 20 cm\nTexture: clay", "Horizon: 2\nSymbol: Bt\nDepth: 8-20\nTexture: clay", "Horizon = Bt\n\nDepth = 8-20\n\nTexture = clay", "Layer: Bt | Depth: 8-20 | Texture: clay",
    ],
)  # fmt: skip
def test_cards_as_people_write_them(card):
    other = card.replace("Bt", "Ap").replace("8", "0").replace("20", "8")
    first, second = _rows(f"Pit 1\n\n{other}\n\n{card}\n")
    assert (first["designation"], first["upper depth (cm)"], first["lower depth (cm)"]) == ("Ap", "0", "8")
    assert (second["designation"], second["upper depth (cm)"], second["lower depth (cm)"], second["texture"]) == ("Bt", "8", "20", "clay")


def test_cards_without_a_blank_line_between_and_with_several_pits():
    text = "PIT: A-1\nHORIZON: Ap\nDEPTH: 0-8 in\nTEXTURE: loam\nHORIZON: R\nDEPTH: 8+ in\nPIT: A-2\nSLOPE: 3 %\nHORIZON: Ap\nDEPTH: 0-6 in\n"
    notes = _read(text)
    assert notes.ids == ("A-1", "A-2") and notes.horizons.cells["designation"].tolist() == ["Ap", "R", "Ap"]
    assert notes.horizons.cells["lower depth (cm)"].tolist() == ["20.32", "", "15.24"]
    assert notes.pits.cells["slope"].tolist() == ["", "3 %"]


def test_the_lines_of_a_letter_are_no_card():
    notes = _read("From: A\nTo: the office\nTop: of the hill\n\nPit 3\nHorizon: Ap\nDepth: 0-18\nTexture: L\nPores many very fine\nBottom of pit wet.\n")
    assert notes.horizons.cells["designation"].tolist() == ["Ap"]
    row = notes.horizons.cells.iloc[0]
    assert "Pores many very fine" in row["horizon remarks"] and row["texture"] == "loam"
    assert "the office" in notes.pits.cells.iloc[0]["remarks"] and "Bottom of pit wet" in notes.pits.cells.iloc[0]["remarks"] + row["horizon remarks"]


def test_a_name_that_no_convention_knows_is_a_designation_under_its_label():
    assert _rows("Pit 1\nHorizon: Subsoil fill\nDepth: 0-40\n")[0]["designation"] == "Subsoil fill"


def test_the_depth_of_a_pit_and_its_layers_are_no_horizon():
    notes = _read("Pit 7\nDepth: 110 cm\nLayer: till over shale\nAp 0-20 cm; loam\n")
    assert notes.horizons.cells["designation"].tolist() == ["Ap"] and "till over shale" in notes.pits.cells.iloc[0]["remarks"]


def test_litter_is_no_texture_and_an_unknown_texture_stays_as_written():
    first, second = _rows("Pit 1\nHorizon: Oi\nDepth: 0-3\nTexture: leaf litter\n\nHorizon: A\nDepth: 3-9\nTexture: gritty stuff\n")
    assert "texture" not in first and "leaf litter" in first["horizon remarks"]
    assert second["texture"] == "gritty stuff"


@pytest.mark.parametrize(("said", "field", "value"), [("slightly acid", "reaction", "slightly acid"), ("strong", "effervescence", "strong"), ("6.5", "ph", "6.5"), ("pH 7", "ph", "7"), ("none", "effervescence", "none")])
def test_reaction_is_that_of_the_soil_or_that_to_acid_as_its_words_say(said, field, value):
    assert _rows(f"Pit 1\nHorizon: Ap\nDepth: 0-9\nReaction: {said}\n")[0][field] == value


BLANKS = """Site Q7 soil notes
Hor.   Depth     Colour              Texture           Structure                     Mottles                     HCl
       cm
LFH    5-0
Ah     0-9       10YR 2/1 m          silt loam         moderate fine granular        none                        none
Ae     9-15      10YR 6/2 moist      very fine sandy   weak fine platy               few fine faint 10YR 5/6     slight
                 10YR 7/2 dry        loam
Bt     15-48     10YR 4/3            clay loam         strong coarse prismatic parting to moderate medium blocky  none  none
Ck     48-100+   2.5Y 5/3            clay loam         massive                       -                           strong
Some water below.
"""


def test_a_table_kept_apart_by_blanks_is_read_column_by_column():
    rows = _rows(BLANKS, None)
    assert [row["designation"] for row in rows] == ["LFH", "Ah", "Ae", "Bt", "Ck"]
    assert [row.get("effervescence", "") for row in rows] == ["", "none", "slight", "none", "strong"]
    assert (rows[2]["texture"], rows[2]["colour moist"], rows[2]["colour dry"]) == ("very fine sandy loam", "10YR 6/2", "10YR 7/2")
    assert rows[3]["structure more"] == "parting to moderate medium blocky" and rows[3]["mottles"] == "none"
    assert rows[4]["lower depth (cm)"] == "100+" and "Some water below" in rows[4]["horizon remarks"]


@pytest.mark.parametrize("heading", ["Fizz", "Reaction", "HCl", "Efferv.", "Acid", "Effervescence", "Reaction (HCl)"])
@pytest.mark.parametrize("mark", ["\t", " | ", "   ", "; "])
def test_the_column_of_the_acid_is_read_by_its_heading(heading, mark):
    lines = [("Horizon", "Depth (cm)", heading, "Texture"), ("Ap", "0-20", "none", "loam"), ("Ck", "20-60", "strong", "clay loam")]
    text = "Pit 1\n" + "\n".join(mark.join(line) for line in lines) + "\n"
    assert [(row["effervescence"], row["texture"]) for row in _rows(text, None)] == [("none", "loam"), ("strong", "clay loam")]


def test_bars_with_a_rule_and_empty_cells():
    first, second = _rows("Pit 4\n| Horizon | Top | Bottom | Colour, dry | pH | Remarks |\n|---|---|---|---|---|---|\n| Ap | 0 | 18 | 10YR 5/3 | 6.4 | ploughed, 10-12 worms |\n| Ck | 18 | | | - | |\n")
    assert (first["colour dry"], first["ph"], first["horizon remarks"]) == ("10YR 5/3", "6.4", "Remarks: ploughed, 10-12 worms")
    assert (second["upper depth (cm)"], second.get("lower depth (cm)", "")) == ("18", "")


def test_a_column_of_pits_and_tables_under_heads():
    notes = _read("Pit  Horizon  Depth   Texture   Clay (%)\nP1   Ap       0-20    loam      18\nP1   Bt       20-50   clay      41\nP2   Ap       0-15    loam      20\n")
    assert notes.ids == ("P1", "P2") and notes.horizons.cells["clay"].tolist() == ["18 %", "41 %", "20 %"]
    two = "Pit 6, slope 4 %\nHorizon;Depth;Texture\nAp;0-15 cm;loam\n\nPit 7\nHorizon,From,To,Texture\nAp,0,6,loam\nB,6,14,clay\n"
    notes = _read(two)
    assert notes.ids == ("6", "7") and notes.horizons.cells["lower depth (cm)"].tolist() == ["15", "6", "14"]
    assert notes.pits.cells["remarks"].tolist() == ["", ""]  # headings are no remarks


def test_headings_tell_field_state_and_unit():
    found = {written: (label.field, label.state, label.unit) for written in ("Depth, in.", "Colour (moist)", "Munsell dry", "Colour M", "Clay (%)", "Sampled by") for label in (label_of(written),)}
    assert found == {
        "Depth, in.": ("depth", "", "in"), "Colour (moist)": ("colour_moist", "moist", ""), "Munsell dry": ("colour_dry", "dry", ""),
        "Colour M": ("colour", "moist", ""), "Clay (%)": ("clay", "", "%"), "Sampled by": ("", "", ""),
    }  # fmt: skip


@pytest.mark.parametrize("head", ["{} ({} cm)", "{} horizon: {} cm", "{} {}", "{}: {} cm"])
@pytest.mark.parametrize("mark", ["", "- ", "  "])
def test_labels_under_a_line_with_designation_and_depths(head, mark):
    lines = [[head.format("Ap", "0-20"), "Colour: 10YR 3/2", "Fizz: none"], [head.format("Bt", "20-50"), "Texture: clay", "HCl: strong"]]
    first, second = _rows("Site 5\n" + "\n".join(f"\n{mark}".join(lines_of) for lines_of in lines) + "\n")
    assert (first["designation"], first["colour moist"], first["effervescence"]) == ("Ap", "10YR 3/2", "none") and "horizon remarks" not in first
    assert (second["designation"], second["lower depth (cm)"], second["texture"], second["effervescence"]) == ("Bt", "50", "clay", "strong")


def test_a_value_of_several_groups_behind_one_label():
    row = _rows("Pit 1\nHorizon: Bt; Depth: 0-45 cm; Colour (moist): 10YR 5/3; (dry) 10YR 6/3; Structure: strong medium prismatic; parting to moderate fine abk; Roots: many fine; Boundary: clear\n")[0]
    assert (row["colour moist"], row["colour dry"], row["roots"], row["boundary distinctness"]) == ("10YR 5/3", "10YR 6/3", "many fine", "clear")
    assert (row["structure kind"], row["structure more"]) == ("prismatic", "parting to moderate fine angular blocky") and "horizon remarks" not in row


def test_a_table_that_counts_its_rows_or_begins_with_depths_and_codes_of_a_field_sheet():
    counted = _rows("No.  Hor   Depth (in)  Moist       Dry         Text  Cons  pH   Lime   Bdy   Roots\n1    A     0-4         10YR 3/2    10YR 5/2    l     fr    6.8  none   cs    many fine\n", None)[0]
    assert (counted["lower depth (cm)"], counted["colour moist"], counted["colour dry"], counted["texture"], counted["consistence"]) == ("10.16", "10YR 3/2", "10YR 5/2", "loam", "friable")
    assert (counted["ph"], counted["effervescence"], counted["boundary form"], counted["roots"]) == ("6.8", "none", "smooth", "many fine")
    turned = _rows("Depth cm | Hor | Texture | Carbonates\n0-18 | Ap | loam | none\n18+ | Ck | clay loam | strongly calcareous\n", None)
    assert [(row["designation"], row["effervescence"]) for row in turned] == [("Ap", "none"), ("Ck", "strongly calcareous")]


def test_a_shown_reading_names_the_label_of_what_was_left_and_the_headings_of_columns():
    lines = "\n".join(reading_lines(_read(CARDS)))
    assert "left                    STONES: few small rounded" in lines and "label   " not in lines
    lines = "\n".join(reading_lines(_read(BLANKS, None)))
    assert "of the columns" in lines and "structure               strong coarse prismatic" in lines


def test_structure_and_boundary_may_have_a_column_for_each_of_their_words():
    text = "Pit\tHz\tTop\tBottom\tText.\tGrade\tClass\tKind\tDist.\tForm\nK-1\tAp\t0\t14\tCL\tweak\tmedium\tgranular\tabrupt\tsmooth\n"
    (row,) = _rows(text + "K-1\tBk\t14\t50\tC\tstrong\tcoarse\tprismatic\tgradual\twavy\n")[:1]
    assert [row[f"structure {part}"] for part in ("grade", "size", "kind")] == ["weak", "medium", "granular"]
    assert (row["boundary distinctness"], row["boundary form"]) == ("abrupt", "smooth")


def test_a_code_says_only_what_its_heading_is_of_and_the_heading_gives_the_unit():
    """GS is gravelly sand under one heading, gradual and smooth under the other."""
    first, second = _rows("""PLOT T-9
hor   cm       colour         texture  structure  eff    bdy
BC    0-30     10YR 5/3 m     GS       SGR        none   GS
Ck    30-90    2.5Y 6/3 m     GS       SGR        VW     -
""", None)  # fmt: skip
    assert (first["texture"], first["boundary distinctness"], first["boundary form"], first["effervescence"]) == ("gravelly sand", "gradual", "smooth", "none")
    assert second["texture"] == "gravelly sand" and "boundary distinctness" not in second and second["lower depth (cm)"] == "90"


SIDEWAYS = """Pit 5
Property      | Horizon 1   | Horizon 2      | Horizon 3
Name          | Ap          | Bw             | C
Top (cm)      | 0           | 20             | 48
Bottom (cm)   | 20          | 48             | 90+
Texture       | silt loam   | -              | very gravelly sand
Fizz          | none        | slight         | strong
"""


def test_a_table_on_its_side_has_a_horizon_in_each_column_and_is_shown_once():
    notes = tables_of(SIDEWAYS, "n.txt")
    rows = [{name: cell for name, cell in row.items() if cell} for row in notes.horizons.cells.to_dict("records")]
    assert [(row["designation"], row["upper depth (cm)"], row["lower depth (cm)"], row.get("texture"), row["effervescence"]) for row in rows] == [
        ("Ap", "0", "20", "silt loam", "none"), ("Bw", "20", "48", None, "slight"), ("C", "48", "90+", "very gravelly sand", "strong"),
    ]  # fmt: skip
    lines = reading_lines(notes)
    assert sum("Property" in line for line in lines) == 1 and lines.count("  | (of the same lines)") == 2
