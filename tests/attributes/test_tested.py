"""Tests made to a stated depth: what a blank means."""

from __future__ import annotations

import pytest

from geoprofile.attributes.tested import as_tested
from geoprofile.described.from_frames import build_profiles

PIT = [("Ah", 0, 15), ("Bm", 15, 40), ("Ck", 40, 80)]


@pytest.mark.parametrize(
    ("recorded", "stated", "answers", "reach"),
    [
        ([None, None, None], None, [None, None, None], 0),
        ([None, None, None], 0, [None, None, None], 0),
        ([None, None, None], 60, [False, False, False], 60),
        ([None, None, True], 80, [False, False, True], 80),
        ([False, False, None], None, [False, False, None], 40),
        ([False, False, None], 0, [False, False, None], 40),
        ([None, None, None], 40, [False, False, None], 40),
    ],
    ids=["nothing said", "stated: not tested", "stated to 60", "one reaction", "two written", "written against the statement", "stated to a boundary"],
)  # fmt: skip
def test_a_blank_is_a_no_only_above_the_stated_depth(pits_of, recorded, stated, answers, reach):
    said = as_tested(recorded, next(build_profiles(pits_of({"P1": PIT}), "canadian")), stated)
    assert (said.answers, said.reach) == (answers, reach)
