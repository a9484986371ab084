"""What ``geoprofile explain field_notes`` says can be written is read as it says."""

from __future__ import annotations

import re

from geoprofile.pits.notes.reader import tables_of
from geoprofile.vocabulary.tables import table


def test_the_examples_of_the_glossary_are_read():
    entry = table("glossary")["field_notes"]
    degrees, utm, ended, horizon = re.findall(r"'([^']+)'", entry["means"])
    single, below, layer = re.findall(r"'([^']+)'", entry["limits"])
    notes = tables_of(f"{degrees}\n{ended}\nAp 0-15 cm\n{horizon}\n\n{utm.replace('Pit 1', 'Pit 2')}\n{single}\n{below}\n{ended}\n\nPit 3\n{layer}\nBm 30-50 cm\n", "n.txt")
    one, two, three = (row for _, row in notes.pits.cells.iterrows())
    assert (one["latitude"], two["utm_zone"], two["easting"], two["northing"]) == ("54.12310 N", "11", "506274", "5997083")
    assert all((pit["stopped_by"], pit["observed_to"]) == ("stones", "95 cm") for pit in (one, two)) and layer in three["remarks"]
    told = notes.horizons.cells[notes.horizons.cells["designation"] == "Bt"].iloc[0].to_dict()
    assert {name: cell for name, cell in told.items() if cell} == {
        "pit_id": "1", "designation": "Bt", "upper depth (cm)": "15", "lower depth (cm)": "48", "texture": "clay loam", "colour moist": "10YR 4/3", "structure grade": "moderate",
        "structure size": "medium", "structure kind": "subangular blocky", "effervescence": "strong", "boundary distinctness": "clear", "boundary form": "smooth",
    }  # fmt: skip
    assert [row["lower depth (cm)"] for _, row in notes.horizons.cells.iterrows() if row["pit_id"] == "2"] == ["15", "40"]
    assert any(layer in problem.found for problem in notes.problems)
