"""Salts: one limit, one extract; gypsum is another thing."""

from __future__ import annotations


def samples(extract: str, *values: float) -> list:
    return [("Ck", 20 * n, 20 * n + 20, {"ec_ds_m": ec, "ec_extract": extract}) for n, ec in enumerate(values)]


def choose(**choice) -> dict:
    return {"for": {"depth_to_salts": choice}}


def test_extracts_are_not_interchangeable(derive):
    said = derive("depth_to_salts", samples("1:2", 1, 6, 9))
    assert said.status == "unknown"
    assert "EC by another extract not used: 1:2" in said.flags
    assert derive("depth_to_salts", samples("1:2", 1, 6, 9), settings=choose(extract="1:2", limit=2)) == ("10-30", "present")


def test_an_ec_without_its_extract_is_not_used(derive):
    pit = [("Ck", 0, 60, {"ec_ds_m": 9})]
    assert "not stated" in derive("depth_to_salts", pit).flags[0]


def test_the_limit_itself_is_salty(derive):
    # touching class edges: the worse class owns the edge (reclamation practice, stated)
    assert derive("depth_to_salts", samples("paste", 1, 4)) == ("10-30", "present")


def test_a_salty_first_sample_begins_at_the_surface(derive):
    assert derive("depth_to_salts", samples("paste", 6, 9)) == ("0", "present")


def test_the_depth_tested_counts_where_all_samples_keep_the_limit(derive):
    assert derive("depth_to_salts", samples("paste", 1, 1), ec_to_cm=60) == (">60", "not_seen")


def test_sa_counts_only_when_asked_for_and_gypsum_never(derive):
    pit = [("Ah", 0, 20), ("Csa", 20, 60)]
    said = derive("depth_to_salts", pit)
    assert said.status == "unknown" and "Csa described at 20 cm" in said.flags
    assert derive("depth_to_salts", pit, settings=choose(evidence="designation")) == ("20", "present")
    assert derive("depth_to_salts", [("Ah", 0, 20), ("Cs", 20, 60)], settings=choose(evidence="designation")) == (">60", "not_seen")
    usda = [("A", 0, 20), ("Bz", 20, 40), ("By", 40, 60)]
    assert derive("depth_to_salts", usda, convention="usda", settings=choose(evidence="designation")) == ("20", "present")
