"""Classes noted at the pits stand in the order of the trade, not of the alphabet."""

from geoprofile.outputs.class_order import in_order
from geoprofile.vocabulary import terms


def test_drainage_runs_from_dry_to_wet_as_the_published_classes_do():
    """Order of the seven classes: Soils of the Regional Municipality of Ottawa-Carleton, after the national manual of 1978."""
    noted = ["imperfectly", "poorly", "well", "moderately well", "very poorly", "rapidly"]
    assert in_order(noted, "drainage", "canadian") == ["rapidly", "well", "moderately well", "imperfectly", "poorly", "very poorly"]


def test_all_words_of_the_vocabulary_keep_its_order_whatever_order_they_come_in():
    names = [term.name for term in terms.terms("drainage", "canadian")]
    assert in_order(sorted(names), "drainage", "canadian") == names


def test_a_word_that_is_not_known_comes_after_and_the_class_of_all_others_last():
    assert in_order(["other classes", "sodden", "poorly", "well"], "drainage", "canadian") == ["well", "poorly", "sodden", "other classes"]


def test_a_column_without_a_vocabulary_keeps_its_own_order():
    assert in_order(["Tansy", "Ash"], "recorded_soil", "canadian") == ["Tansy", "Ash"]
