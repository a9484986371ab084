"""Terms of the published manuals, and the tables that hold them."""

from __future__ import annotations

import csv
from importlib.resources import files

import pytest

from geoprofile.vocabulary.conventions import CONVENTIONS
from geoprofile.vocabulary.tables import table, table_names
from geoprofile.vocabulary.terms import TABLE_OF, find_term, nearest_term, terms
from geoprofile.vocabulary.texture import several_textures


def test_every_table_names_its_source_in_the_header():
    for name in table_names():
        lines = (files("geoprofile.vocabulary.tables") / f"{name}.toml").read_text(encoding="utf-8").splitlines()
        header = []
        for line in lines:
            if not line.startswith("#"):
                break
            header.append(line)
        text = " ".join(header)
        assert any(word in text for word in ("Source", "source", "our own")), name


def test_every_kind_has_terms_with_unique_names_in_each_convention():
    for kind in TABLE_OF:
        for convention in CONVENTIONS:
            found = terms(kind, convention)
            names = [term.name for term in found]
            assert len(names) == len(set(names)), (kind, convention)
            assert [term.order for term in found] == list(range(1, len(found) + 1))
            assert found or kind == "carbonate_class" and convention == "usda"  # USDA effervescence carries no class
            for term in found:
                assert find_term(kind, term.name, convention) == term
                assert find_term(kind, term.name.upper(), convention) == term


def test_every_code_finds_its_own_term():
    for kind in TABLE_OF:
        for convention in CONVENTIONS:
            for term in terms(kind, convention):
                if term.code:
                    assert find_term(kind, term.code, convention) == term, (kind, convention, term)


@pytest.mark.parametrize(
    ("kind", "text", "convention", "name"),
    [
        ("boundary_distinctness", "Clear", "canadian", "clear"),
        ("boundary_distinctness", "abrupt boundary", "usda", "abrupt"),
        ("drainage", "Imperfectly drained", "canadian", "imperfectly"),
        ("drainage", "MW", "canadian", "moderately well"),
        ("drainage", "somewhat poorly drained", "usda", "somewhat poorly"),
        ("effervescence", "strongly effervescent", "usda", "strong"),
        ("effervescence", "strong effervescence", "usda", "strong"),
        ("effervescence", "None", "canadian", "none"),
        ("structure_kind", "sub-angular blocky", "canadian", "subangular blocky"),
        ("structure_kind", "SBK", "usda", "subangular blocky"),
        ("structure_grade", "2", "usda", "moderate"),
        ("texture", "silty clay loam", "canadian", "silty clay loam"),
        ("texture", "SICL", "canadian", "silty clay loam"),
        ("texture", "vfsl", "canadian", "very fine sandy loam"),
        ("texture", "very gravelly sandy loam", "canadian", "sandy loam"),
        ("texture", "GRV-SL", "usda", "sandy loam"),
        ("texture", "vgSL", "canadian", "sandy loam"),
        ("texture", "HC", "canadian", "heavy clay"),
        ("texture", "CB", "usda", "cobbles"),  # 90 % of the volume or more: the noun stands for the texture (Soil Survey Manual 2017)
        ("texture", "boulders", "canadian", "boulders"),
        ("texture", "PCN", "usda", "parachanners"),
        ("slope_class", "d", "canadian", "gentle"),
        ("slope_class", "5", "canadian", "moderate"),
        ("stopped_by", "bedrock", "canadian", "rock"),
        ("observation_kind", "hand auger", "canadian", "auger"),
        ("land_use", "stubble", "canadian", "cultivated"),
        ("parent_material", "moraine", "canadian", "till"),
        ("stoniness", "S2", "canadian", "moderately stony"),
    ],
)
def test_names_codes_and_common_spellings(kind, text, convention, name):
    assert find_term(kind, text, convention).name == name


def test_conventions_are_not_mixed():
    assert find_term("effervescence", "violent", "usda") is not None
    assert find_term("effervescence", "violent", "canadian") is None
    assert find_term("texture", "heavy clay", "usda") is None
    assert find_term("drainage", "imperfectly", "usda") is None


def test_refusal_is_not_rock():
    """definitions.md, depth to rock: 'refusal' is at least D, not rock."""
    assert find_term("stopped_by", "auger refusal", "canadian").name == "unknown"


def test_absence_is_a_term_and_blank_is_not():
    """R7: none is observed absence."""
    assert find_term("mottle_abundance", "None", "canadian").name == "none"
    assert find_term("mottle_abundance", "", "canadian") is None


def test_unknown_words_are_proposed_not_applied():
    assert find_term("drainage", "imperfecly", "canadian") is None
    assert nearest_term("drainage", "imperfecly", "canadian") == "imperfectly"
    assert nearest_term("drainage", "purple", "canadian") == ""


def test_a_kind_or_table_that_is_not_there_names_those_that_are():
    with pytest.raises(KeyError, match="drainage"):
        terms("flavour", "canadian")
    with pytest.raises(KeyError, match="structure"):
        table("flavour")


def test_every_single_term_of_real_descriptions_is_known(shared):
    """994 pits described by USDA-NRCS; textures of two layers at once are left as written."""
    with (shared / "data" / "pits-us" / "horizons.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    for column, kind in [
        ("moist_consistence", "consistence"), ("stickiness", "consistence"), ("plasticity", "consistence"),
        ("effervescence", "effervescence"),
        ("boundary_form", "boundary_form"), ("boundary_distinctness", "boundary_distinctness"),
    ]:  # fmt: skip
        unknown = {row[column] for row in rows if row[column] and find_term(kind, row[column], "usda") is None}
        assert unknown == set(), column
    textures = [row["texture"] for row in rows if row["texture"]]
    unknown = [text for text in textures if find_term("texture", text, "usda") is None]
    assert len(unknown) / len(textures) < 0.03
    assert all(several_textures(text, "usda") for text in unknown)
