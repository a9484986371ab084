"""What letters mean for an attribute, in each convention."""

from __future__ import annotations

import pytest

from geoprofile.described.from_frames import CONVENTIONS
from geoprofile.described.meanings import answers, buried_limits, meanings, pattern, pattern_answer
from geoprofile.errors import SettingsError
from geoprofile.vocabulary.designations import parse_designation
from geoprofile.vocabulary.tables import table


def test_all_conventions_answer_the_same_questions():
    assert {frozenset(meanings(name)) for name in CONVENTIONS} == {frozenset(meanings("canadian"))}
    for name in CONVENTIONS:
        thick, thin = buried_limits(name)
        assert 0 <= thin <= thick


@pytest.mark.parametrize("convention", CONVENTIONS)
def test_every_published_designation_of_one_master_is_something(convention):
    for token in table(convention)["published"]["tokens"].split():
        if len(parse_designation(token, convention).master) == 1:
            assert any(answer is not False for answer in answers(token, convention).values()), token


@pytest.mark.parametrize(
    ("text", "fits", "does_not"),
    [
        ("Bt", "Bt Bt1 Btg IIBtk Btnj", "Btj Bm BCt Ah"),
        ("A*", "Ah Ap Ae Aej", "AB Bm C"),
        ("A", "Ah Ap Ae", "AB"),
        ("*k", "Ck Bmk Ahk Apk", "C Cca"),
        ("Btj", "Btj Btjgj Bntj", "Bt Btgj"),
    ],
)
def test_a_pattern_names_the_letters_that_must_be_there(text, fits, does_not):
    wanted = pattern(text, "canadian")
    assert all(pattern_answer(wanted, parse_designation(name, "canadian")) is True for name in fits.split())
    assert all(pattern_answer(wanted, parse_designation(name, "canadian")) is not True for name in does_not.split())


def test_a_bare_master_is_doubtful_for_a_pattern_with_letters():
    assert pattern_answer(pattern("Bt", "canadian"), parse_designation("B", "canadian")) is None


@pytest.mark.parametrize("text", ["", "t", "Bq9", "**"])
def test_a_pattern_that_says_nothing_is_a_mistake(text):
    with pytest.raises(SettingsError, match="pattern cannot be read"):
        pattern(text, "canadian")


def test_gleying_letters_differ_between_conventions():
    # WRB 2022 Annex 3: g stagnic, l gleyic, r strong reduction; USDA and Canada: g only
    for name, gleyed in (("Cg", True), ("Cl", True), ("Cr", True)):
        assert answers(name, "wrb")["gleyed"] is gleyed
    assert answers("Cr", "usda")["gleyed"] is False
    assert answers("Bmgj", "canadian")["gleyed"] is False
