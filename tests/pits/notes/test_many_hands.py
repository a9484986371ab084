"""Whole files in many hands: every pit and horizon is found, a field is read right or left, and never wrong. All invented."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from geoprofile.pits.notes.reader import tables_of

sys.path.insert(0, str(Path(__file__).parent))
import hands  # noqa: E402

sys.path.pop(0)


def _compared(hand: hands.Hand) -> tuple[int, int]:
    """(fields left, all fields); anything read wrong, and any pit or horizon that is missing, is an error."""
    cells = tables_of(hand.text, "n.txt", depth_unit="cm").horizons.cells
    rows = [row for _, row in cells.iterrows()]
    found = [(row["pit_id"], row["designation"], row["upper depth (cm)"], row["lower depth (cm)"]) for row in rows]
    assert found == [(name, row[0], str(row[1]), str(row[2])) for name, of in hand.pits for row in of], f"{hand.habits}\n{hand.text}"
    left = total = 0
    for row, meant in zip(rows, [row[3] for _, of in hand.pits for row in of]):
        for name in hands.FIELDS + hands.MORE_FIELDS:
            value = " ".join(filter(None, (row.get(part, "") for part in hands.PARTS.get(name, (name,)))))
            assert value in ("", meant.get(name, "")), f"{name} {value!r} of {meant}: {hand.habits}\n{hand.text}"
            left += name in meant and not value
            total += name in meant
    return left, total


@pytest.mark.parametrize(("write", "least"), [(hands.in_lines, 0.98), (hands.laid_out, 1.0), (hands.spoken, 0.99), (hands.in_full, 0.99), (hands.in_any_order, 0.99)])
def test_every_horizon_is_found_and_no_field_is_read_wrong(write, least):
    counts = [_compared(write(f"{write.__name__} {number}")) for number in range(100)]
    left, total = (sum(column) for column in zip(*counts))
    assert total - left >= least * total
