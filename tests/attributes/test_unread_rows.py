"""Below a row that could not be read nothing is claimed: not the absence of lime, of rock, of a Bt, nor the base of an A."""

import pytest

NONE, LOST = {"effervescence": "none"}, {"effervescence": "none", "unread_below": True}
FACTS = {"observed_to_cm": 60.0, "acid_to_cm": 60.0}


@pytest.mark.parametrize("attribute, text", [
    ("depth_to_carbonates", ">40"), ("depth_to_rock", ">40"), ("depth_to_c", ">40"), ("depth_to_bt", ">40"),
    ("bt_thickness", ">0"), ("topsoil_thickness", "15"),
])  # fmt: skip
def test_a_lost_last_row_bounds_at_its_top(derive, attribute, text):
    assert derive(attribute, [("Ap", 0, 15, NONE), ("Bm", 15, 40, LOST)], **FACTS).text == text


@pytest.mark.parametrize("attribute, text", [
    ("a_e_thickness", "0-40"), ("topsoil_thickness", "0-40"), ("bt_thickness", "0-40"), ("depth_to_bt", "unknown"),
])  # fmt: skip
def test_a_base_that_is_not_written_over_a_lost_row_is_not_the_next_top(derive, attribute, text):
    """Ap 0-?, a row that was lost, Ck 40-60: the A ends anywhere down to 40, and a Bt may stand there."""
    assert derive(attribute, [("Ap", 0, None, LOST), ("Ck", 40, 60, {"effervescence": "strong"})], **FACTS).text == text


def test_a_lost_row_between_two_that_meet_changes_nothing(derive):
    assert derive("depth_to_bt", [("Ap", 0, 15, LOST), ("Bt", 15, 40), ("C", 40, 60)], **FACTS).text == "15"


@pytest.mark.parametrize("attribute, text", [("bt_thickness", ">0"), ("depth_to_bt", ">15"), ("a_e_thickness", "15"), ("topsoil_thickness", "15")])
def test_ground_that_was_dug_and_not_described_is_not_free_of_a_bt(derive, attribute, text):
    """Ap 0-15 in a pit observed to 60: the base of the Ap was seen, what follows was not described."""
    assert derive(attribute, [("Ap", 0, 15)], observed_to_cm=60.0).text == text
