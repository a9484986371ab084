"""Headings taken apart, and the table of fields."""

from __future__ import annotations

import pytest

from geoprofile.pits.columns import known_fields, parse_heading


@pytest.mark.parametrize(
    ("heading", "base", "unit"),
    [
        ("Depth to Bt (cm)", "depth to bt", "cm"), ("top (in)", "top", "in"), ("clay_pct", "clay", "pct"), ("slope_\u00b0", "slope", "\u00b0"),
        ("Sand %", "sand", "%"), ("upper_depth_cm", "upper depth", "cm"), ("EC [dS/m]", "ec", "ds/m"), ("Depth to C", "depth to c", ""),
        ("elevation_m", "elevation", "m"), ("Moist colour", "moist colour", ""), ("clay g/kg", "clay", "g/kg"),
    ],
)  # fmt: skip
def test_a_heading_is_taken_apart_into_words_and_unit(heading, base, unit):
    found = parse_heading(heading)
    assert (found.base, found.unit) == (base, unit)


def test_names_of_fields_are_unique_within_a_table():
    for role in ("pits", "horizons", "inspections", "points"):
        names: dict[str, str] = {}
        for name, entry in known_fields().items():
            if role in entry.tables:
                for heading in entry.names:
                    assert heading not in names, f"{heading}: {names.get(heading)} and {name}"
                    names[heading] = name
