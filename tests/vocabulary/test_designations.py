"""Designations against published tokens (CSSC 1998, Keys to Soil Taxonomy 2014, WRB 2022 Annex 3) and real pits."""

from __future__ import annotations

import csv
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.vocabulary.conventions import rules_of
from geoprofile.vocabulary.designations import Suffix, nearest_designation, parse_designation


def canadian(text):
    return parse_designation(text, "canadian")


def usda(text):
    return parse_designation(text, "usda")


def wrb(text):
    return parse_designation(text, "wrb")


def suffixes(designation):
    return [(one.letters, one.weak) for one in designation.parts[0].suffixes]


# canadian


def test_j_belongs_to_the_letter_on_its_left():
    assert suffixes(canadian("Btnj")) == [("t", False), ("n", True)]
    assert suffixes(canadian("Bfgj")) == [("f", False), ("g", True)]
    assert suffixes(canadian("Bnjtj")) == [("n", True), ("t", True)]
    assert canadian("Btnj").has("t") and not canadian("Btnj").has("n") and canadian("Btnj").has("n", weak=True)
    for text in ("Btj", "Bntj", "Btjnj", "Btjgj"):
        assert not canadian(text).has("t"), text
        assert canadian(text).has("t", weak=True), text


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Bkss", "Bssk"),
        ("Btjnj", "Bnjtj"),
        ("Cskg", "Cksg"),
        ("Bntj", "Btjn"),
        ("Ahe", "Aeh"),
        ("Bhf", "Bfh"),
        ("Btgj", "Bgjt"),
    ],
)
def test_the_order_of_suffixes_is_free_and_has_one_normal_form(one, other):
    first, second = canadian(one), canadian(other)
    assert first.text == second.text
    assert set(first.parts[0].suffixes) == set(second.parts[0].suffixes)
    assert second.notes == () or second.notes == (f"{other} read as {second.text}",)
    assert first.notes or second.notes  # one of the two was written otherwise than the normal form


def test_gf_and_fg_keep_their_order_because_they_mean_two_things():
    assert (canadian("Bgf").text, canadian("Bfg").text, canadian("Btgf").text) == ("Bgf", "Bfg", "Btgf")


@pytest.mark.parametrize(
    ("text", "letters"),
    [
        ("Cca", ["ca"]), ("Csa", ["sa"]), ("Bss", ["ss"]), ("Bmcc", ["m", "cc"]), ("Oco", ["co"]),
        ("Omsca", ["m", "s", "ca"]), ("Ahscag1", ["h", "s", "ca", "g"]), ("Cskss", ["s", "k", "ss"]), ("Csk", ["s", "k"]),
    ],
)  # fmt: skip
def test_two_letter_suffixes_are_one(text, letters):
    assert canadian(text).known
    assert [one.letters for one in canadian(text).parts[0].suffixes] == letters


def test_discontinuities_are_roman_or_arabic():
    for text, number in [("IIC", 2), ("IICk", 2), ("2C", 2), ("IIICca", 3), ("IVC", 4), ("C", 1), ("IC", 1)]:
        assert canadian(text).known and canadian(text).discontinuity == number, text
    assert canadian("2Ck").text == "IICk"
    assert canadian("2Ck").notes == ("2Ck read as IICk",)


@pytest.mark.parametrize(
    ("text", "master", "normal"),
    [("LFH", "LFH", "LFH"), ("L-H", "LFH", "L-H"), ("L-F", "LF", "L-F"), ("F-H", "FH", "F-H"), ("lfh", "LFH", "LFH"),
     ("L", "L", "L"), ("H", "H", "H"), ("L\u2013H", "LFH", "L-H"), ("LF(H)", "LFH", "LFH"), ("Om1", "O", "Om1")],
)  # fmt: skip
def test_organic_layers(text, master, normal):
    one = canadian(text)
    assert (one.known, one.organic, one.master, one.text) == (True, True, master, normal)


def test_capitals_are_read_with_a_note():
    assert canadian("CK").text == "Ck" and canadian("CK").notes == ("CK read as Ck",)
    assert canadian("BTNJ").text == "Btnj"
    assert canadian("ah").text == "Ah"
    assert canadian("BC").text == "BC" and canadian("BC").notes == ()
    assert canadian("BCK").master == "BC"


def test_numbers_and_burial():
    one = canadian("Ahb2")
    assert (one.text, one.number, one.buried, one.master) == ("Ahb2", "2", True, "A")
    assert canadian("Bt1").number == "1" and not canadian("Bt1").buried


def test_interfingered_horizons_have_two_parts():
    one = canadian("Ae and Bt")
    assert [part.master for part in one.parts] == ["A", "B"] and one.relation == "combination" and one.has("t")
    assert canadian("Ae/Bt").text == "Ae and Bt" and canadian("Ae/Bt").notes
    assert canadian("AB").relation == "transitional" and len(canadian("AB").parts) == 1


def test_a_and_b_alone_and_bmj_are_not_canadian():
    for text in ("A", "B", "Bmj", "Cm", "At", "Bj", "E", "Bw"):
        assert not canadian(text).known, text
    assert canadian("B").master == "B"  # still usable as a bare B
    assert canadian("C").known and canadian("R").known and canadian("W").known


@pytest.mark.parametrize("text", ["A2", "B3", "A1", "B2", "IIA2"])
def test_old_forms_that_do_not_say_what_they_are_today_stay_unknown_with_a_note(text):
    one = canadian(text)
    assert not one.known and one.text == text
    assert any("older form" in note for note in one.notes)


def test_every_published_canadian_token_is_known():
    """Tokens of published sequences and profiles: CSSC 1998 and survey reports named in the table's header."""
    for token in rules_of("canadian").tokens:
        assert canadian(token).known, token


def test_every_token_of_published_subgroup_sequences_is_known(shared):
    with (shared / "reference" / "subgroup_sequences.csv").open(encoding="utf-8") as file:
        sequences = [row["sequence"] for row in csv.DictReader(file)]
    tokens = set()
    for sequence in sequences:
        if not sequence.startswith("as "):
            tokens |= set(re.split(r", | or ", re.sub(r"\s*\([^)]*\)", "", sequence)))
    assert len(tokens) > 60
    assert sorted(token for token in tokens if not canadian(token).known) == []


# usda


def test_usda_primes_stand_after_the_master_letters():
    one = usda("B't1")
    assert (one.known, one.prime, one.text, one.number, one.has("t")) == (True, 1, "B't1", "1", True)
    assert usda("B\u2032t1").text == "B't1"  # the typographic prime
    assert usda("E\u2033").prime == 2
    assert usda("Bt'1").text == "B't1" and usda("Bt'1").notes == ("Bt'1 read as B't1",)


@pytest.mark.parametrize(
    ("text", "letters"),
    [("Bkk", ["kk"]), ("Bkkm", ["kk", "m"]), ("Cff", ["ff"]), ("Ajj", ["jj"]), ("Lma", ["ma"]), ("Ldi", ["di"]), ("Oase", ["a", "se"]),
     ("Cgjjf", ["g", "jj", "f"]), ("Byy", ["yy"]), ("Cr", ["r"]), ("Bssyy", ["ss", "yy"])],
)  # fmt: skip
def test_usda_pairs_of_letters(text, letters):
    assert usda(text).known
    assert [one.letters for one in usda(text).parts[0].suffixes] == letters


def test_usda_combinations():
    assert (usda("E and Bt").relation, usda("E/B").relation, usda("EB").relation) == (
        "lamellae",
        "combination",
        "transitional",
    )
    bt_e = usda("Bt/E")
    assert [part.master for part in bt_e.parts] == ["B", "E"] and bt_e.has("t")
    assert usda("Cgjjf/Wf/Oa").known and len(usda("Cgjjf/Wf/Oa").parts) == 3
    assert usda("Bw/2C").known


def test_usda_transported_material_carries_a_caret():
    assert usda("^Au").known and usda("^Au").transported and usda("^Au").text == "^Au"
    assert not canadian("^Ah").known


@pytest.mark.parametrize(
    ("text", "today"),
    [("B21t", "Bt1"), ("IIB22t", "IIBt2"), ("B22tca", "Btca2"), ("B3ca", "BCca"), ("C1ca", "Cca1"), ("Clca", "Cca1"), ("IIC2k", "IICk2"), ("Cl", "C1")],
)
def test_old_forms_whose_letters_say_what_they_are_are_read_as_those_of_today(text, today):
    """Issue 5: old terms mapped to present ones with a note. Equivalents: common practice, no source."""
    one = canadian(text)
    assert (one.text, one.as_written, one.known) == (today, text, True)
    assert [note for note in one.notes if note.startswith(f"{text} read as {today}: ")]


@pytest.mark.parametrize(
    ("text", "today"),
    [
        ("B21t", "Bt1"), ("B22t", "Bt2"), ("B22tca", "Btk2"), ("B2hir", "Bhs"), ("IIB22t", "2Bt2"), ("B3", "BC"), ("B3ca", "BCk"), ("B32ca", "BCk2"),
        ("A11", "A1"), ("A12", "A2"), ("A21", "E1"), ("A22g", "Eg2"), ("C1ca", "Ck1"), ("Cca", "Ck"), ("Clca", "Ck1"), ("IIC2ca", "2Ck2"), ("C1cs", "Cy1"),
        ("O1", "O"), ("A00", "O"), ("B2lt", "Bt1"), ("Cl", "C1"),
    ],
)  # fmt: skip
def test_forms_of_before_1981_are_read_as_those_of_today_with_a_note(text, today):
    """The equivalents are those that laboratory reports show beside their original horizons, and from memory."""
    one = usda(text)
    assert (one.text, one.as_written, one.known) == (today, text, True)
    assert [note for note in one.notes if note.startswith(f"{text} read as {today}: ")]


def test_an_old_form_that_is_mapped_has_the_letters_of_today():
    assert usda("B22tca").has("t") and usda("B22tca").has("k") and usda("IIC2ca").discontinuity == 2
    assert usda("O1").organic and usda("A21").master == "E" and usda("B3").master == "BC"
    assert "typewriter" in usda("Clca").notes[0] and "typewriter" not in usda("C1ca").notes[0]


@pytest.mark.parametrize("text", ["B1", "B2", "B1t", "B21"])
def test_forms_of_before_1981_that_may_be_several_today_stay_unknown(text):
    one = usda(text)
    assert not one.known and one.text == text
    assert any("1981" in note for note in one.notes)


def test_ah_is_not_a_usda_designation_and_says_why():
    assert not usda("Ah").known
    assert any("h goes with B" in note for note in usda("Ah").notes)


def test_a_roman_numeral_is_read_with_a_note_in_usda():
    assert (usda("IIBt").text, usda("IIBt").discontinuity) == ("2Bt", 2)
    assert usda("IIBt").notes == ("roman numeral II read as 2",)
    assert usda("V").master == "V"  # a master letter, not five


def test_every_published_usda_and_wrb_token_is_its_own_normal_form():
    for convention in ("usda", "wrb"):
        for token in rules_of(convention).tokens:
            one = parse_designation(token, convention)
            assert one.known and one.text == token, (convention, token)


def test_real_usda_designations_are_known_but_for_the_listed_few(shared):
    """994 pits described by USDA-NRCS (open data beside the project)."""
    with (shared / "data" / "pits-us" / "horizons.csv").open(encoding="utf-8") as file:
        written = {row["designation"] for row in csv.DictReader(file)}
    assert len(written) == 343
    assert sorted(text for text in written if not usda(text).known) == ["", "B1", "B2"]
    assert {text: usda(text).text for text in written if usda(text).notes and usda(text).known} == {
        "OA": "Oa", "2(C)/Cr": "2C/Cr", "2C/(Cr)": "2C/Cr",
    }  # fmt: skip


# wrb


def test_wrb_transitional_horizons_carry_suffixes_on_both_letters():
    one = wrb("AhBw")
    assert (one.known, one.master, one.relation, one.text) == (True, "AB", "transitional", "AhBw")
    assert one.has("h") and one.has("w")
    assert wrb("EBg").master == "EB"


def test_wrb_letters_differ_from_usda():
    assert wrb("Ah").known and wrb("Cα").known and wrb("Bl").known and wrb("Ha").organic
    assert wrb("Bkcyc").known  # c follows each letter it speaks of
    assert wrb("2Ahb").discontinuity == 2 and wrb("2Ahb").buried
    assert not usda("Ha").known


# all


def test_an_ocr_or_typing_slip_is_proposed_and_not_applied():
    assert not usda("Btl").known  # Btl for Bt1, seen in scanned pedon text
    assert nearest_designation("Btl", "usda") == "Bt1"
    assert nearest_designation("Btt", "canadian") == "Bt"
    assert nearest_designation("zzz", "canadian") == ""


def test_a_word_for_litter_is_organic_and_still_unknown():
    for text in ("litter", "Duff", "forest floor"):
        one = canadian(text)
        assert one.organic and not one.known and "taken as an organic layer" in one.notes[0]


def test_blank_and_words_are_unknown_not_errors():
    for text in ("", "  ", "?", "rock", "till", "1", "Bt Bm", "a very long remark, with / signs and numbers 12"):
        assert not canadian(text).known, text


def test_uncertain_marks_are_kept_as_a_note():
    assert canadian("Bt?").text == "Bt" and canadian("Bt?").notes == ("marked as uncertain by the surveyor",)


def test_an_unheard_of_convention_is_refused():
    with pytest.raises(ValueError, match="canadian, usda, wrb"):
        parse_designation("Bt", "martian")


MASTERS = st.sampled_from(["Ah", "Ae", "Bm", "Bt", "Bn", "Bf", "C", "BC", "AB"])
EXTRA = st.lists(st.sampled_from(["k", "s", "sa", "ca", "gj", "g"]), unique=True, max_size=3)


@given(MASTERS, EXTRA, st.sampled_from(["", "1", "2"]), st.sampled_from(["", "II", "III"]))
@settings(max_examples=60, deadline=None)
def test_the_normal_form_reads_as_itself(master, extra, number, numeral):
    one = canadian(numeral + master + "".join(extra) + number)
    again = canadian(one.text)
    assert again.parts == one.parts and again.text == one.text
    if one.known:
        assert again.notes == ()


@given(st.text(max_size=12), st.sampled_from(["canadian", "usda", "wrb"]))
@settings(max_examples=150, deadline=None)
def test_any_text_gives_a_designation_and_never_an_error(text, convention):
    one = parse_designation(text, convention)
    assert one.as_written == text
    assert all(isinstance(suffix, Suffix) for part in one.parts for suffix in part.suffixes)
