"""Texture, colour and the fields beside them in any order, with or without marks between them. All invented."""

from __future__ import annotations

from itertools import permutations, product

import pytest

from geoprofile.pits.notes.reader import tables_of

TEXTURES = {"loam": "loam", "clay loam": "clay loam", "gravelly sandy loam": "gravelly sandy loam", "SL": "sandy loam", "cl": "clay loam", "L": "loam"}
COLOURS = {
    "10YR 3/2 m": {"colour moist": "10YR 3/2"}, "10YR 4/3 moist": {"colour moist": "10YR 4/3"}, "dark brown (10YR 3/3) moist": {"colour moist": "10YR 3/3"},
    "moist 10YR 3/2": {"colour moist": "10YR 3/2"}, "10YR 5/2 d": {"colour dry": "10YR 5/2"}, "black 10YR 2/1 m": {"colour moist": "10YR 2/1"},
    "10YR 3/2 m 10YR 5/2 d": {"colour moist": "10YR 3/2", "colour dry": "10YR 5/2"},
}  # fmt: skip


def _horizon(body: str, head: str = "Ap 0-15 ") -> dict[str, str]:
    row = tables_of(f"Pit 1\n{head}{body}\n", "n.txt", depth_unit="cm").horizons.cells.iloc[0].to_dict()
    return {name: cell for name, cell in row.items() if cell and name not in ("pit_id", "designation", "upper depth (cm)", "lower depth (cm)")}


@pytest.mark.parametrize("mark", [", ", "; ", " "])
@pytest.mark.parametrize("head", ["Ap 0-15 ", "Ap 0-15 cm ", "Ap 0-15, "])
def test_texture_before_or_behind_the_colour_with_or_without_a_comma(mark, head):
    for (texture, means), (colour, says), order in product(TEXTURES.items(), COLOURS.items(), (1, -1)):
        body = mark.join((texture, colour)[::order])
        assert _horizon(body, head) == {"texture": means, **says}, body


def test_three_fields_in_any_order_without_a_mark():
    said = {"loam": {"texture": "loam"}, "10YR 3/2 m": {"colour moist": "10YR 3/2"}, "moderate fine granular": {"structure grade": "moderate", "structure size": "fine", "structure kind": "granular"}}
    for fields in permutations(said):
        assert _horizon(" ".join(fields)) == {name: cell for field in said.values() for name, cell in field.items()}, fields


@pytest.mark.parametrize("behind", ["strong effervescence", "no fizz", "clear smooth boundary", "friable", "mod med gran", "few fine roots"])
def test_what_stands_behind_such_a_colour_is_read_too(behind):
    read = _horizon(f"clay loam 10YR 4/3 m {behind}")
    assert read["texture"] == "clay loam" and read["colour moist"] == "10YR 4/3" and len(read) > 2 and "horizon remarks" not in read


@pytest.mark.parametrize("words", ["loam with pockets of sand 10YR 6/4", "loam, clay films 10YR 3/2", "loam; 20% sand lenses 10YR 6/3", "loam, many distinct mottles 7.5YR 5/6", "loam over 10YR 5/3 sand", "loam, sand balls 10YR 6/3"])
def test_the_colour_of_something_in_the_soil_is_never_that_of_the_soil(words):
    read = _horizon(words)
    assert "colour moist" not in read and "colour dry" not in read and words[-6:].split()[-1] in read["horizon remarks"]


def test_words_for_the_material_may_stand_between():
    assert _horizon("clay loam till 10YR 4/3 m") == {"texture": "clay loam", "colour moist": "10YR 4/3", "horizon remarks": "till"}


def test_on_a_card_the_colour_behind_a_texture_is_read_too():
    row = tables_of("Horizon: Ap\nDepth: 0-15 cm\nTexture: loam 10YR 3/2 m\n\nHorizon: C\nDepth: 15-40 cm\nTexture: clay\n", "n.txt").horizons.cells.iloc[0]
    assert (row["texture"], row["colour moist"]) == ("loam", "10YR 3/2")
