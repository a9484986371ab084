"""Letters of a designation against what was measured: t, n, ca, sa, z."""

from __future__ import annotations

import numpy as np
import pytest

from geoprofile.pits.profiles import rounding

NAN = float("nan")


def of(problems, check):
    return [problem for problem in problems if problem.check == check]


# t


def clays(found, above, below, top="Ae", bottom="Bt", convention="canadian", between=(), upper=20):
    rows = [(top, 0, 20), *between, (bottom, upper, 60)]
    clay = [above, *[NAN] * len(between), below]
    sand = [60.0 if one == one else NAN for one in clay]
    silt = [40.0 - one for one in clay]
    return of(found(rows, convention, sand_percent=sand, silt_percent=silt, clay_percent=clay), "clay increase")


@pytest.mark.parametrize(("above", "below", "passes"), [(10.2, 13.2, True), (10.2, 12.9, False), (20.3, 24.5, True), (20.3, 23.9, False)])
def test_t_must_pass_the_three_part_rule(found, above, below, passes):
    """Worked edges of the argillic horizon (Keys to Soil Taxonomy 2014, page 12), one decimal given."""
    problems = clays(found, above, below)
    assert bool(problems) is not passes
    if problems:
        assert problems[0].severity == "warning" and "Ae 0-20" in problems[0].what and "%" in problems[0].found and problems[0].remedy


def test_the_rounding_of_whole_percents_is_given_to_the_surveyor():
    """20 may be 19.5 and 23 may be 23.5: 1.2 times 19.5 is 23.4."""
    assert rounding(np.array([20.0, 23.0, NAN])) == 0.5 and rounding(np.array([20.5, 23.0])) == 0.05


def test_whole_percents_just_below_the_rule_are_not_accused(found):
    assert not clays(found, 20.0, 23.0) and clays(found, 20.0, 22.0)


def test_field_estimates_of_clay_are_no_measurement(found):
    assert not of(found([("Ae", 0, 20), ("Bt", 20, 60)], clay_percent=[20.0, 10.0]), "clay increase")


def test_no_increase_is_asked_across_another_material_below_a_plough_layer_or_of_a_weak_t(found):
    """A clay-increase test does not cross a discontinuity (definitions; Keys to Soil Taxonomy)."""
    assert clays(found, 20.2, 10.2)
    assert not clays(found, 20.2, 10.2, bottom="IIBt")
    assert not clays(found, 20.2, 10.2, bottom="Btj")
    assert not clays(found, 20.2, 10.2, top="Ap")
    assert not clays(found, 20.2, 10.2, between=[("Ap", 10, 20)])


def test_the_increase_of_an_argillic_horizon_is_reached_within_30_cm(found):
    sand, silt, clay = [60.0, 50.0, 40.0], [29.8, 39.5, 39.5], [10.2, 10.5, 20.5]
    near = found([("E", 0, 20), ("Bt1", 20, 40), ("Bt2", 40, 80)], "usda", sand_percent=sand, silt_percent=silt, clay_percent=clay)
    far = found([("E", 0, 20), ("Bt1", 20, 55), ("Bt2", 55, 80)], "usda", sand_percent=sand, silt_percent=silt, clay_percent=clay)
    assert not of(near, "clay increase") and of(far, "clay increase")


def test_against_an_a_that_may_not_be_eluvial_it_is_only_a_note(found):
    assert [problem.severity for problem in clays(found, 30.2, 31.2, top="A", convention="usda")] == ["note"]
    assert [problem.severity for problem in clays(found, 30.2, 31.2, top="E", convention="usda")] == ["warning"]
    assert not clays(found, 30.2, 31.2, top="Ah")  # Canadian: an Ah is no eluvial horizon


# n


def test_n_with_much_calcium_is_a_fault(found):
    """Published profile of a Brown Solonetz: Ca 10.8, Na 0.7, 15.4 to 1 against the limit of 10."""
    columns = {"exchangeable_calcium": [NAN, 10.8], "exchangeable_sodium": [NAN, 0.7]}
    (problem,) = of(found([("Ae", 0, 20), ("Bnt1", 20, 33)], **columns), "sodium")
    assert "15.4" in problem.found and "10 or less" in problem.allowed
    (problem,) = of(found([("Ae", 0, 20), ("Bnt1", 20, 33)], remarks=["", "calcium 10.8, magnesium 15.3, sodium 0.7"]), "sodium")
    assert "15.4" in problem.found


def test_n_with_sodium_or_a_weak_n_passes(found):
    """BL.SS of Bowser et al. 1962: Ca 31, Na 20."""
    columns = {"exchangeable_calcium": [NAN, 31.0], "exchangeable_sodium": [NAN, 20.0]}
    assert not of(found([("Ae", 0, 20), ("Bnt", 20, 33)], **columns), "sodium")
    assert not of(found([("Ae", 0, 20), ("Bnjt", 20, 33)], exchangeable_calcium=[NAN, 50.0], exchangeable_sodium=[NAN, 1.0]), "sodium")
    assert not of(found([("Ae", 0, 20), ("Bnt", 20, 33)], remarks=["", "calcium carbonate 10 %, sodium 0.7"]), "sodium")


# ca


@pytest.mark.parametrize(("lower", "faulty"), [(50.0, True), (51.0, False), (NAN, False)])
def test_ca_is_thicker_than_10_cm(found, lower, faulty):
    rows = [("Ah", 0, 20), ("Bm", 20, 40), ("Cca", 40, lower)] + ([("Ck", lower, 100)] if lower == lower else [])
    assert bool(of(found(rows), "carbonate enrichment")) is faulty


def test_the_thickness_of_ca_counts_over_its_horizons_and_to_the_bounds_of_a_wavy_boundary(found):
    assert not of(found([("Bm", 0, 40), ("BCca", 40, 48), ("Cca", 48, 56), ("Ck", 56, 100)]), "carbonate enrichment")
    wavy = {"lower_low_cm": [40.0, 44, 100], "lower_high_cm": [40.0, 56, 100]}
    assert not of(found([("Bm", 0, 40), ("Cca", 40, 50), ("Ck", 50, 100)], **wavy), "carbonate enrichment")


@pytest.mark.parametrize(("enriched", "parent", "faulty"), [(13.0, 8.0, False), (11.0, 8.0, True), (28.0, 21.0, False), (24.0, 21.0, True)])
def test_ca_is_richer_than_its_parent_material(found, enriched, parent, faulty):
    """Published examples of the limits: 13 against 8 %, 28 against 21 %."""
    problems = found([("Bm", 0, 40), ("Cca", 40, 70), ("Ck", 70, 100)], caco3_percent=[NAN, enriched, parent])
    assert bool(of(problems, "carbonate enrichment")) is faulty


# salts


def test_sa_asks_for_conductivity_and_thickness(found):
    rows = [("Bm", 0, 40), ("Csa", 40, 70), ("C", 70, 100)]
    paste = {"ec_extract": ["paste"] * 3}
    assert of(found(rows, ec_ds_m=[NAN, 2.0, 1.0], **paste), "salts")[0].severity == "warning"
    assert not of(found(rows, ec_ds_m=[NAN, 6.0, 2.0], **paste), "salts")
    assert "hardly passes" in of(found(rows, ec_ds_m=[NAN, 6.0, 5.5], **paste), "salts")[0].what
    assert of(found([("Bm", 0, 40), ("Csa", 40, 48), ("C", 48, 100)]), "salts")[0].found == "8 cm"


def test_another_extract_is_not_compared_with_the_limit_of_a_paste(found):
    """Definitions: paste, 1:2 and 1:5 are not interchangeable."""
    rows = [("Bm", 0, 40), ("Csa", 40, 70), ("C", 70, 100)]
    assert not of(found(rows, ec_ds_m=[NAN, 1.5, 0.4], ec_extract=["1:5"] * 3), "salts")
    assert of(found(rows, ec_ds_m=[NAN, 1.5, 0.4]), "salts")[0].severity == "note"
    assert of(found([("A", 0, 40), ("Bz", 40, 70)], "usda", ec_ds_m=[NAN, 0.5], ec_extract=["", "paste"]), "salts")


def test_cations_are_read_from_a_table_in_either_unit(read_survey):
    """meq/100 g and cmol/kg are one unit."""
    table = "pit,horizon,from (cm),to (cm),Exch Ca (meq/100g),Exchangeable Na (cmol/kg)\n1,Ae,0,20,,\n1,Bnt,20,33,10.8,0.7\n"
    pits = read_survey({"horizons.csv": table}, horizons={"file": "horizons.csv"})
    assert list(pits.problems[pits.problems["check"] == "sodium"]["row"]) == [3]
