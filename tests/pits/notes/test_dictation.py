"""Pits told in running speech, all invented: one paragraph, letters said one by one, and what a speaker takes back."""

from __future__ import annotations

import pytest

from geoprofile.pits.notes.dictation import dictated
from geoprofile.pits.notes.reader import tables_of
from geoprofile.pits.notes.spelled import spelled_at
from geoprofile.pits.notes.tokens import tokens

MEMO = """Okay, this is pit twelve, north end of the quarter, slope about three percent, in pasture. At the top there's an L F H, six centimetres thick, so six to zero, mostly needles. First mineral horizon is A E zero to eleven centimetres, ten Y R six over two moist and seven over two dry, silt loam, weak fine platy, friable, no fizz, boundary is abrupt and wavy. Then it goes into A B, eleven down to nineteen, ten Y R five three, silt loam no wait make that silty clay loam, moderate fine subangular blocky. Next one, B T one nineteen down to fifty-two, two point five Y four over three, clay, strong medium prismatic breaking to subangular blocky, firm. The worms here are amazing. B C from fifty-two to seventy-eight, same colour, clay loam. And then C K from seventy-eight to a hundred and five where I stopped, two five Y five over two, clay loam, massive, it fizzes strongly. Well I got the auger to one thirty. That's it for twelve. Pit thirteen, just over the knoll, well drained. Capital A lower case p zero to eighteen, ten Y R three over one moist, loam. From eighteen to forty-four we've got B M, ten Y R four over four, sorry, I mean ten Y R four over three, loam, clear wavy boundary. C C A forty-four to one ten, strong effervescence."""


def _read(text: str, unit: str | None = "cm"):
    notes = tables_of(text, "memo.txt", depth_unit=unit)
    return notes, [{name: cell for name, cell in row.items() if cell} for row in notes.horizons.cells.to_dict("records")]


def _depths(rows: list[dict]) -> list[str]:
    return [f"{row['designation']} {row.get('upper depth (cm)', '')}-{row.get('lower depth (cm)', '')}" for row in rows]


def _wrapped(text: str, width: int) -> str:
    lines, line = [], ""
    for word in text.split(" "):
        if len(line) + len(word) >= width:
            lines.append(line)
            line = word
        else:
            line = f"{line} {word}".strip()
    return "\n".join([*lines, line])


@pytest.mark.parametrize("text", [MEMO, _wrapped(MEMO, 78), _wrapped(MEMO, 41)], ids=["one line", "wrapped", "wrapped short"])
def test_a_memo_of_two_pits_in_one_paragraph(text):
    notes, rows = _read(text, None)
    assert notes.ids == ("12", "13")
    assert _depths(rows) == ["LFH 6-0", "Ae 0-11", "AB 11-19", "Bt1 19-52", "BC 52-78", "Ck 78-105", "Ap 0-18", "Bm 18-44", "Cca 44-110"]
    lfh, ae, ab, bt1, bc, ck, ap, bm, cca = rows
    assert (ae["colour moist"], ae["colour dry"], ae["texture"], ae["structure kind"], ae["consistence"], ae["effervescence"], ae["boundary form"]) == (
        "10YR 6/2", "10YR 7/2", "silt loam", "platy", "friable", "none", "wavy")  # fmt: skip
    assert (ab["colour moist"], ab["texture"], bt1["colour moist"], bt1["structure more"], ck["colour moist"], ck["effervescence"]) == (
        "10YR 5/3", "silty clay loam", "2.5Y 4/3", "parting to subangular blocky", "2.5Y 5/2", "strong")  # fmt: skip
    assert (ap["colour moist"], bm["colour moist"], bm["boundary distinctness"], cca["effervescence"]) == ("10YR 3/1", "10YR 4/3", "clear", "strong")
    pit = notes.pits.cells.iloc[0]
    assert (pit["slope"], pit["land_use"], pit["observed_to"]) == ("3 percent", "pasture", "130 cm")


def test_nothing_that_was_said_is_lost():
    notes, rows = _read(MEMO)
    remarks = " ".join(row.get("horizon remarks", "") for row in rows) + " ".join(notes.pits.cells["remarks"])
    for words in ("mostly needles", "six centimetres thick", "silt loam; no wait make that", "worms here are amazing", "same colour", "where I stopped", "four over four", "north end of the quarter", "just over the knoll", "That's it for twelve"):
        assert words in remarks
    said = {problem.what for problem in notes.problems}
    assert {"A E read as Ae", "B T one read as Bt1", "Capital A lower case p read as Ap", "silt loam was corrected by the speaker"} <= said


def test_speech_without_any_mark():
    text = """this is pit four its on the east side of the big slough slope two percent first is an A P zero to eighteen centimetres ten Y R two over two moist loam moderate fine granular friable no fizz then a B T from eighteen to forty ten Y R four four clay loam the B T is really hard to dig clay films in the B T at thirty to thirty-five then B C forty to seventy loam massive and then C K seventy to one ten strongly effervescent"""
    notes, rows = _read(text)
    assert (notes.ids, _depths(rows)) == (("4",), ["Ap 0-18", "Bt 18-40", "BC 40-70", "Ck 70-110"])
    assert "clay films in the B T at thirty to thirty-five" in rows[1]["horizon remarks"]


@pytest.mark.parametrize(
    "sentence",
    ["A bit of clay from eighteen to forty came up.", "The B T was easy.", "We drove for eighteen to forty minutes.", "I took A C photo.", "Between you and me, C is a hard letter.", "Erin said from eighteen to forty.", "A B C as my kids say."],
)
def test_an_ordinary_sentence_is_no_horizon(sentence):
    text = f"Pit two, A H zero to eighteen, loam. {sentence} B M eighteen to forty, clay."
    _, rows = _read(text)
    assert _depths(rows) == ["Ah 0-18", "Bm 18-40"] and sentence.rstrip(".").split()[-1] in rows[0]["horizon remarks"]


@pytest.mark.parametrize(
    ("said", "cell", "value", "kept"),
    [
        ("loam, sorry, I mean clay loam", "texture", "clay loam", "loam"), ("friable, no wait, firm", "consistence", "firm", "friable"), ("No fizz. Make that slight fizz", "effervescence", "slight", "No fizz"),
        ("clear boundary, scratch that, abrupt wavy boundary", "boundary distinctness", "abrupt", "clear boundary"), ("weak fine granular, correction, moderate medium subangular blocky", "structure grade", "moderate", "weak fine granular"),
        ("ten Y R four three, make that four four", "colour moist", "10YR 4/4", "four three"), ("10YR 4/3, sorry, I mean 10YR 4/4", "colour moist", "10YR 4/4", "10YR 4/3"),
    ],
)  # fmt: skip
def test_what_is_taken_back_is_replaced_and_kept_in_the_remarks(said, cell, value, kept):
    for text in (f"Pit two. A H zero to nine, {said}. B M nine to twenty, clay.", f"Pit 2\nAh 0-9 cm; {said}.\nBm 9-20 cm; clay\n"):
        _, rows = _read(text)
        assert rows[0][cell] == value and kept in rows[0]["horizon remarks"]


def test_a_correction_that_changes_no_field_is_said():
    notes, rows = _read("Pit 2\nAh 0-9 cm; loam; sorry, I dropped the knife\n")
    assert rows[0]["texture"] == "loam" and any("a correction was not followed" in one.what for one in notes.problems)


def test_a_depth_that_the_end_of_the_hole_cut_off_is_open_below():
    _, rows = _read("Pit two. A H zero to nine, loam. C G nine to, well I got the auger to sixty, five Y five over one, silty clay.")
    assert _depths(rows) == ["Ah 0-9", "Cg 9-60+"] and rows[1]["colour moist"] == "5Y 5/1"


@pytest.mark.parametrize(
    ("said", "name"),
    [
        ("A E zero", "Ae"), ("B T from", "Bt"), ("O F eight", "Of"), ("C K, ninety", "Ck"), ("C G from", "Cg"), ("A B eleven", "AB"), ("B C from", "BC"), ("L F H six", "LFH"), ("A H E zero", "Ahe"), ("B T N J nine", "Btnj"), ("C C A nine", "Cca"),
        ("capital B lower case t nine", "Bt"), ("Capital C small k nine", "Ck"), ("B T one, from nine", "Bt1"), ("B T two twenty to forty", "Bt2"), ("A E one to seven", "Ae"), ("two C K nine", "2Ck"), ("A a bit", None), ("C I think", None),
    ],
)  # fmt: skip
def test_letters_said_one_by_one(said, name):
    found = spelled_at(said, 0)
    assert (found[0][0] if found else None) == name


@pytest.mark.parametrize(("last", "horizon"), [("twenty", "Bt1 20-160"), ("one twenty", "Bt 120-160")])
def test_a_number_between_letters_and_depths_goes_where_the_depths_follow(last, horizon):
    _, rows = _read(f"Pit two, A H zero to {last}, loam. B T one twenty to one sixty, clay.")
    assert _depths(rows)[1] == horizon


@pytest.mark.parametrize(
    ("said", "number"),
    [("a hundred and five", "105"), ("one oh five", "105"), ("one twenty", "120"), ("one thirty-five", "135"), ("a hundred and twenty-two", "122"), ("two hundred", "200"), ("seven point five", "7.5"), ("fifty two", "52")],
)
def test_numbers_over_a_hundred_as_they_are_said(said, number):
    assert [token.key for token in tokens(said)] == [number]


@pytest.mark.parametrize(
    ("said", "colour"),
    [("ten Y R six over two", "10YR 6/2"), ("ten Y R five three", "10YR 5/3"), ("seven five Y R four four", "7.5YR 4/4"), ("two five Y five two", "2.5Y 5/2"), ("seven point five Y R four over six", "7.5YR 4/6"), ("five Y five over one", "5Y 5/1"), ("10 YR 5 3", "10YR 5/3")],
)
def test_colours_as_they_are_said(said, colour):
    _, rows = _read(f"Pit 1\nBm 0-20 cm; {said}; loam\n")
    assert rows[0]["colour moist"] == colour


def test_a_chroma_that_was_left_out_is_not_made_of_the_next_field():
    _, rows = _read("Pit 1\nBm 0-20 cm; 10YR 3 2 f gr; loam\n")
    assert "colour moist" not in rows[0]


def test_words_that_deny_the_fizz():
    """``it doesn't fizz`` was read as effervescent."""
    for words in ("it doesn't fizz", "does not effervesce", "didn't fizz", "no fizz"):
        assert _read(f"Pit 1\nBm 0-20 cm; {words}; loam\n")[1][0]["effervescence"] == "none"


def test_a_text_without_speech_is_left_as_it_is():
    text = "Pit 1\nAh 0-12 cm; 10YR 3/2 m; loam\nBt 12-30 cm; clay\n"
    assert dictated(text).text is text and not dictated(text).lines
    assert len(dictated(_wrapped(MEMO, 60)).text) == len(_wrapped(MEMO, 60))


PROSE = """Pit 5, we're in the back forty. OK so the Ap is 0 to 22 centimeters, 10YR 3 over 2, silt loam. Then it goes into Bt, that's clay loam, from 22 to 60, 10YR 4/4 moist, moderate medium blocky, no fizz. Below that the C is calcareous, goes from 60 down to 110, loam."""


def test_a_colour_of_the_next_horizon_is_not_drawn_into_the_one_above():
    """In prose with figures the colour of the Bt was given to the Ap, whose own was then called dry."""
    _, rows = _read(PROSE)
    assert _depths(rows) == ["Ap 0-22", "Bt 22-60", "C 60-110"]
    assert [(row.get("colour moist"), row.get("colour dry"), row["texture"]) for row in rows] == [("10YR 3/2", None, "silt loam"), ("10YR 4/4", None, "clay loam"), (None, None, "loam")]
    assert rows[2]["effervescence"] == "calcareous"


@pytest.mark.parametrize(
    ("said", "horizons"),
    [
        ("Pit one. The A horizon is zero to ten, the B horizon from ten to thirty, and the C horizon starts at thirty, could not see the bottom.", ["A 0-10", "B 10-30", "C 30-"]),
        ("Pit two, slope zero to two percent, elevation two hundred to three hundred metres. Forty to fifty stones on the surface. The Ap goes zero to ten. Bt ten to thirty, ten to fifteen percent gravel, roots from ten to twenty. We took samples at ten to fifteen and C K thirty to sixty.",
         ["Ap 0-10", "Bt 10-30", "Ck 30-60"]),
        ("Pit three, dug at ten to nine in the morning, twenty to thirty minutes of work. At zero to fifteen I have Ah; ten YR two over one. Fifteen to twenty-eight, Bm, ten YR four over four. Then Ck at twenty-eight to the bottom at a hundred.", ["Ah 0-15", "Bm 15-28", "Ck 28-100"]),
        ("Pit four, on the terrace. A P zero to twenty. B M twenty to forty, or maybe forty-five, brown. C K forty-five to ninety plus.", ["Ap 0-20", "Bm 20-40-45", "Ck 45-90+"]),
        ("Profile 4\nA E 0-10 cm, 10YR 7/1\nB T 10-30 cm, clay\nC K 30-90 cm", ["Ae 0-10", "Bt 10-30", "Ck 30-90"]),
        ("Site B fourteen. L F H three to zero. A E J zero to five. B F five to twenty-three. B C twenty-three to forty. I'd call the next one C but I didn't measure it.", ["LFH 3-0", "Aej 0-5", "Bf 5-23", "BC 23-40"]),
    ],
)  # fmt: skip
def test_other_ways_of_telling_a_pit(said, horizons):
    assert _depths(_read(said)[1]) == horizons
