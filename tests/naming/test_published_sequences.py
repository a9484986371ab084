"""The published horizon sequences of subgroups, as bare designations with plausible depths.

Source: The Canadian System of Soil Classification, 3rd ed. 1998, one page a subgroup; as collected in
../shared/reference/subgroup_sequences.csv. Depths are ours and keep the limits that the same pages print.
"""

from __future__ import annotations

import csv
from itertools import islice, product

import pytest

ORGANIC_CM = {"Typic Humisol": (40, 120), "Terric Humic Mesisol": (20, 20, 45, 28, 40, 30), "Terric Fibric Humisol": (20, 40, 20, 40, 40)}


def sequences(text: str):
    """Every way to choose among the alternatives of a sequence; remarks in brackets left out."""
    text = text.replace("(scan blurred)", "").replace("(or both)", "").split("(Bm")[0]
    slots = [[one.strip() for one in slot.split(" or ") if one.strip()] for slot in text.split(",")]
    return product(*slots)


def laid_out(names, subgroup):
    """(horizons with depths, facts of the pit)."""
    rows, depth, names = [], 0, list(names)
    if subgroup in ORGANIC_CM:
        for one, thick in zip(names, ORGANIC_CM[subgroup], strict=True):
            rows.append((one, depth, depth + thick))
            depth += thick
        return rows, {"datum": "organic surface"}
    while names[0][0] in "LFHO":
        rows.append((names.pop(0), -10, 0))
    for number, one in enumerate(names):
        thick = _thickness(one, subgroup)
        if number == len(names) - 1 and "z" not in one:
            thick = max(thick, 120 - depth)
        rows.append((one, depth, depth + thick))
        depth += thick
    return rows, {}


def _thickness(one: str, subgroup: str) -> int:
    if subgroup.startswith("Placic") and "c" in one:
        return 1
    if one == "Bf" and ("Brunisolic" in subgroup):
        return 6
    if one.startswith("Ah"):
        return 7 if subgroup == "Dark Gray Luvisol" else 15
    if one.startswith("Ae"):
        return 4 if "Chernozem" in subgroup else 8
    if "Cryosol" in subgroup:
        return 12 if one[0] == "B" else 25
    return 15 if "Cumulic" in subgroup or "Vertic" in subgroup or one[0] in "BA" else 40


def _rows(shared):
    with open(shared / "reference" / "subgroup_sequences.csv", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    told = {row["code"]: row["sequence"] for row in rows}
    for row in rows:
        if row["sequence"].startswith("as "):
            row["sequence"] = told[row["sequence"].removeprefix("as ")]
    return rows


def test_bare_designations_give_the_published_subgroup_first_and_never_another_alone(shared, name_all):
    rows = _rows(shared)
    described, facts, wanted = {}, {}, {}
    for row in rows:
        for number, names in enumerate(islice(sequences(row["sequence"]), 24)):
            pit = f"{row['subgroup']} {number}"
            described[pit], facts[pit] = laid_out(names, row["subgroup"])
            wanted[pit] = row["subgroup"]
    given = name_all(described, facts).names
    first: dict[str, bool] = {}
    for row in given.itertuples():
        subgroup = wanted[row.pit_id]
        leads = row.subgroup.split(" or ")
        named = leads + row.alternatives.split("; ")
        assert subgroup in named, f"{row.pit_id}: {row.sure}"
        assert leads == [subgroup] or not row.sure.startswith("decided"), f"{row.pit_id}: {row.sure}"
        first[subgroup] = first.get(subgroup, True) and subgroup in leads
    assert len(first) == 60
    assert sum(first.values()) >= 58, [name for name, good in first.items() if not good]


@pytest.mark.parametrize("thick", [12, 15, 20])
def test_whatever_the_thickness_no_other_subgroup_is_ever_named_alone(shared, name_all, thick):
    described, wanted = {}, {}
    for row in _rows(shared):
        if row["subgroup"] in ORGANIC_CM:
            continue  # what an organic soil is called hangs on its thicknesses
        for number, names in enumerate(islice(sequences(row["sequence"]), 6)):
            pit, depth, horizons = f"{row['subgroup']} {number}", 0, []
            for one in names:
                if one[0] in "LFHO" and depth == 0 and not horizons:
                    horizons.append((one, -5, 0))
                    continue
                horizons.append((one, depth, depth + thick))
                depth += thick
            described[pit], wanted[pit] = horizons, row["subgroup"]
    for row in name_all(described).names.itertuples():
        assert not row.sure.startswith("decided") or row.subgroup == wanted[row.pit_id], f"{row.pit_id}: {row.subgroup}, {row.sure}"


def test_a_gray_luvisol_of_bare_words_and_colours_is_decided(name):
    row = name([
        ("LFH", -4, 0),
        ("Ae", 0, 16, {"structure_kind": "platy", "colour_moist": "10YR 6/2"}),
        ("Bt", 16, 45, {"structure_kind": "subangular blocky", "colour_moist": "10YR 4/4"}),
        ("Ck", 45, None),
    ], observed_to_cm=120)  # fmt: skip
    assert (row.subgroup, row.great_group, row.soil_order, row.sure) == ("Orthic Gray Luvisol", "Gray Luvisol", "Luvisolic", "decided")
    assert "clay not measured" in row.as_designated
