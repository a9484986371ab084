"""What nobody may miss reaches the plan: cautions of a surface, and depths from elsewhere."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from geoprofile.intervals import measured
from geoprofile.products import AttributeDefinition
from geoprofile.salvage.notes import Heed, warnings_of
from geoprofile.salvage.stage import plan_salvage
from geoprofile.settings.base import LayerSource
from geoprofile.settings.salvage import SalvageSettings

A_AND_E = AttributeDefinition("a_e_thickness", "A and E together", "cm", "thickness", "", "", True)
SKILL = "no spatial skill: the map is not better than the mean of the other pits; use the mean and its interval"
AREAS = LayerSource(file="areas.gpkg", id="area")


@pytest.fixture
def three_in_the_west(make_pits, at, write_layer, block):
    write_layer("areas.gpkg", [block(0, 0, 100, 100), block(150, 0, 200, 50), block(220, 0, 250, 50)], area=["west", "middle", "east"])
    return make_pits([(name, at(10 * n, 10), {"a_e_thickness": measured(10.0 * n)}) for n, name in enumerate("abc", 1)], (A_AND_E,))


def test_a_surface_without_skill_says_so_in_notes_problems_and_beside_each_depth(make_context, a_record, three_in_the_west, make_surfaces):
    context, z = make_context(), np.full((20, 30), 20.0)
    surfaces = make_surfaces(context, attribute="a_e_thickness", estimate=z)
    silent = plan_salvage(*three_in_the_west, surfaces, SalvageSettings(polygons=AREAS), context, a_record())
    assert silent.problems.empty and not silent.lifts["basis"].str.contains("caution").any()
    (one,) = surfaces.surfaces
    surfaces = replace(surfaces, surfaces=(replace(one, cautions=(SKILL,)),))
    plan = plan_salvage(*three_in_the_west, surfaces, SalvageSettings(polygons=AREAS), context, a_record())
    assert plan.notes[1] == f"caution: topsoil: of its surface (A and E together): {SKILL}"
    (problem,) = plan.problems.to_dict("records")
    assert (problem["severity"], problem["check"], problem["found"]) == ("warning", "surface of a lift", SKILL)
    assert plan.lifts["basis"].str.endswith("; caution: no spatial skill").all()


def test_areas_whose_depth_is_the_mean_of_the_whole_survey_are_named(make_context, a_record, three_in_the_west):
    plan = plan_salvage(*three_in_the_west, None, SalvageSettings(polygons=AREAS), make_context(), a_record())
    assert plan.notes[1].startswith("caution: topsoil: the depth of middle, east is the mean of pits of the whole survey")
    (problem,) = plan.problems.to_dict("records")
    assert (problem["severity"], problem["check"], problem["found"]) == ("warning", "depth from elsewhere", "topsoil: middle, east")


def test_areas_with_pits_or_strata_of_their_own_are_not(make_context, a_record, three_in_the_west, write_layer, block):
    write_layer("lines.gpkg", [block(0, 0, 400, 200)], kind=["till"])
    context = make_context(strata={"file": "lines.gpkg", "id": "kind"})
    plan = plan_salvage(*three_in_the_west, None, SalvageSettings(polygons=AREAS), context, a_record())
    assert plan.problems.empty and not [note for note in plan.notes if "whole survey" in note]


def test_lifts_that_share_a_caution_are_one_problem_and_each_has_its_note():
    heeds = [Heed("topsoil", "Topsoil", (SKILL,), ("Camp",)), Heed("peat", "Peat", (SKILL, "other")), Heed("forest floor", "Floor", (), ("Pad", "Camp"))]
    notes, problems = warnings_of(heeds)
    assert [problem.what.split(" rest")[0] for problem in problems[:2]] == ["depths and volumes of topsoil, peat", "depths and volumes of peat"]
    assert [problem.found for problem in problems] == [SKILL, "other", "topsoil: Camp; forest floor: Pad, Camp"] and len(notes) == 5
    assert warnings_of([Heed("topsoil", "Topsoil")]) == ([], [])


def test_a_lift_that_is_surely_nowhere_needs_no_caution(make_context, a_record, three_in_the_west, make_surfaces):
    context, z = make_context(), np.zeros((20, 30))
    surfaces = make_surfaces(context, attribute="a_e_thickness", estimate=z, low90=z, high90=z)
    surfaces = replace(surfaces, surfaces=(replace(surfaces.surfaces[0], cautions=(SKILL,)),))
    assert plan_salvage(*three_in_the_west, surfaces, SalvageSettings(polygons=AREAS), context, a_record()).problems.empty
