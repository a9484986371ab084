"""Direct readings outrank the horizons and are compared with them; probes give a mean and a spread."""

from __future__ import annotations

import pytest

PIT = [("Ah", 0, 15), ("Bm", 15, 40), ("Ck", 40, 80)]


def read(attribute: str, *values, status: str = "measured", presence: str = "present") -> list[dict]:
    rows = []
    for probe, value in enumerate(values, start=1):
        if isinstance(value, str):  # ">30"
            rows.append({"attribute": attribute, "low": float(value[1:]), "status": "at_least", "presence": "not_seen", "probe": probe})
        else:
            rows.append({"attribute": attribute, "low": value, "high": value, "status": status, "presence": presence, "probe": probe})
    return [{**row, "file": "lines.csv", "row": 7} for row in rows]


def test_a_reading_outranks_the_horizons(derive):
    said = derive("depth_to_carbonates", PIT, readings=read("depth_to_carbonates", 36))
    assert said == ("36", "present")
    assert said.evidence == "direct reading"


def test_a_one_line_inspection_without_horizons_says_what_was_read(derive):
    assert derive("topsoil_thickness", [], readings=read("topsoil_thickness", 18), kind="inspection") == ("18", "present")


def test_three_probes_give_their_mean_and_keep_their_spread(derive):
    said = derive("topsoil_thickness", [], readings=read("topsoil_thickness", 14, 16, 21))
    assert said == ("17", "present")
    assert said.evidence == "direct reading, mean of 3 probes, sd 3.6"
    assert said.flags == ["probes 14, 16, 21"]


def test_a_bound_among_the_probes_stays_a_bound(derive):
    said = derive("depth_to_carbonates", [], readings=read("depth_to_carbonates", 20, 25, ">30"))
    assert said == (">25", "present")


def test_probes_without_the_feature_do_not_enter_a_mean_of_depths(derive):
    rows = read("depth_to_bt", 20, 24) + [
        {"attribute": "depth_to_bt", "status": "absent", "presence": "absent", "probe": 3, "row": 7}
    ]
    said = derive("depth_to_bt", [], readings=rows)
    assert said == ("22", "present")
    assert "absent at 1 of 3 probes" in said.flags


def test_an_absent_topsoil_enters_a_mean_of_thickness_as_zero(derive):
    rows = read("topsoil_thickness", 10, 20) + [
        {"attribute": "topsoil_thickness", "low": 0, "high": 0, "status": "absent", "presence": "absent", "probe": 3}
    ]
    assert derive("topsoil_thickness", [], readings=rows) == ("10", "present")


def test_all_probes_at_the_surface_are_at_the_surface(derive):
    rows = read("depth_to_carbonates", 0, 0, status="at_surface")
    assert derive("depth_to_carbonates", [], readings=rows).status == "at_surface"


@pytest.mark.parametrize(("value", "problems"), [(15, 0), (20, 0), (21, 1), (35, 1)])
def test_a_reading_that_differs_by_more_than_the_tolerance_is_a_problem(derive_all, pits_of, value, problems):
    pits = pits_of({"P1": PIT}, readings=[{"pit_id": "P1", **row} for row in read("topsoil_thickness", value)])
    attributes = derive_all(pits, use=["topsoil_thickness"])
    assert len(attributes.problems) == problems
    if problems:
        problem = attributes.problems.iloc[0]
        assert (problem["pit_id"], problem["file"], problem["row"]) == ("P1", "lines.csv", 7)
        assert problem["found"] == f"{value} read, 15 from the horizons"


def test_a_reading_deeper_than_what_the_pit_could_see_agrees_with_at_least(derive_all, pits_of):
    pits = pits_of({"P1": [("Ah", 0, 15), ("Bm", 15, 60)]}, {"P1": {"acid_to_cm": 60}},
                   [{"pit_id": "P1", **row} for row in read("depth_to_carbonates", 72)])  # fmt: skip
    assert derive_all(pits, use=["depth_to_carbonates"]).problems.empty


def test_found_by_a_probe_and_absent_by_the_horizons_is_a_problem(derive_all, pits_of):
    pits = pits_of({"P1": PIT}, readings=[{"pit_id": "P1", **row} for row in read("depth_to_bt", 22)])
    assert derive_all(pits, use=["depth_to_bt"]).problems["found"].tolist() == ["22 read, absent from the horizons"]


def test_readings_of_an_attribute_that_does_not_exist_are_listed_once(derive_all, pits_of):
    rows = [{"pit_id": pit, **row} for pit in ("P1", "P2") for row in read("depth_to_lime", 22)]
    problems = derive_all(pits_of({"P1": PIT, "P2": PIT}, readings=rows), use=["depth_to_bt"]).problems
    assert problems["found"].tolist() == ["'depth_to_lime' at 2 pits"]


def test_readings_on_stripped_ground_are_not_used(derive):
    said = derive("topsoil_thickness", [], readings=read("topsoil_thickness", 3), datum="stripped ground")
    assert said.status == "unknown"
