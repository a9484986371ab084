"""Attributes of published United States soil series descriptions, against values read from them by hand.

Horizons and values: the reference notes in ../shared (usda_fao.md 5.2 and 5.4), taken from official soil series
descriptions of the United States Department of Agriculture.
"""

from __future__ import annotations

import re

import pytest

from geoprofile.attributes.stage import derive_attributes
from geoprofile.record import Record
from geoprofile.settings.attributes import AttributesSettings

pytestmark = pytest.mark.shared
COLUMNS = {
    "A": "dark_a_thickness", "E": "eluvial_thickness", "Bt": "depth_to_bt", "eff": "depth_to_effervescence",
    "k": "depth_to_secondary_carbonates", "g": "depth_to_gleying", "rock": "depth_to_rock", "disc": "depth_to_discontinuity",
}  # fmt: skip


def cells(line: str) -> list[str]:
    return [cell.strip() for cell in line.strip().strip("|").split("|")]


def number(text: str) -> float | None:
    """20.3 (8 in) -> 20.3; a dash -> None."""
    found = re.match(r"[\d.]+", text)
    return float(found.group()) if found else None


def values_by_hand(text: str) -> dict[str, dict[str, str]]:
    lines = text[text.index("### 5.2"): text.index("### 5.3")].splitlines()
    table = [cells(line) for line in lines if line.startswith("|")]
    return {row[0].strip("*"): dict(zip(table[0], row)) for row in table[2:]}


def horizons_by_hand(text: str) -> dict[str, list[tuple]]:
    part = text[text.index("### 5.4"): text.index("## 6. Equations")]
    found: dict[str, list[tuple]] = {}
    for block in re.split(r"\n(?=\*\*[A-Z]+)", part)[1:]:
        name = re.match(r"\*\*([A-Z]+)", block).group(1)
        table = [cells(line) for line in block.splitlines() if line.startswith("|")]
        head = table[0]
        depth, fizz = head.index("top–bottom cm"), head.index("efferv.")
        rows = []
        for row in table[2:]:
            upper, _, lower = row[depth].replace("-", "–").partition("–")
            rows.append((row[0].replace("Btl", "Bt1"), number(upper), number(lower), row[fizz]))
        found[name] = rows
    return found


def layers_of(rows: list[tuple]) -> tuple[list[tuple], dict, float]:
    """Horizons from their datum, facts, and the thickness of organic layers that were counted downward."""
    organic = [lower for name, _, lower, _ in rows if name.startswith("O") and lower]
    thick = max(organic, default=0.0)
    peat = thick >= 40
    shift = 0.0 if peat else thick
    fizzes = any(fizz[:1].isalpha() for *_, fizz in rows)
    layers = []
    for name, upper, lower, fizz in rows:
        said = fizz if fizz[:1].isalpha() else "none" if fizzes else None  # a description that names some names all
        layers.append((name, upper - shift, None if lower is None else lower - shift, {"effervescence": said}))
    return layers, {"datum": "organic surface" if peat else "mineral surface"}, shift


def test_published_pedons_give_the_values_read_by_hand(shared, pits_of, make_context):
    text = (shared / "reference" / "usda_fao.md").read_text(encoding="utf-8")
    by_hand, horizons = values_by_hand(text), horizons_by_hand(text)
    ready = {name: layers_of(rows) for name, rows in horizons.items() if name in by_hand}
    pits = pits_of({name: layers for name, (layers, _, _) in ready.items()}, {name: facts for name, (_, facts, _) in ready.items()})
    settings = AttributesSettings(use=tuple(COLUMNS.values()), discontinuities_marked=True)
    values = derive_attributes(pits, settings, make_context(convention="usda"), Record("attributes", {})).values
    said = values.set_index(["pit_id", "attribute"])
    compared = 0
    for name, (layers, _, shift) in ready.items():
        for column, attribute in COLUMNS.items():
            expected, row = by_hand[name][column], said.loc[(name, attribute)]
            if expected == "?" or (name, column) in NOT_COMPARED:
                continue
            compared += 1
            where = f"{name}, {attribute}: {expected} by hand, {row['status']} {row['low']} from {layers}"
            thickness = attribute.endswith("thickness")
            if number(expected) is None or (thickness and number(expected) == 0):
                assert row["presence"] != "present", where
            else:
                assert row["low"] + (0 if thickness else shift) == pytest.approx(number(expected), abs=0.11), where
    assert len(ready) >= 22 and compared > 110


NOT_COMPARED = {
    ("TAVERNIER", "disc"),  # 2R under peat: organic over mineral is not a discontinuity (definitions)
}
"""Values read by hand on names alone, where the definitions say otherwise."""
