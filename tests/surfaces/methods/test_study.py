"""A short, seeded form of scripts/study: bounds cost little beside knowing everything. The full form has 50 surveys."""

import importlib.util
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[3]


@pytest.fixture(scope="module")
def study():
    spec = importlib.util.spec_from_file_location("study_bounds", ROOT / "scripts" / "study_bounds.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def surveys(study):
    from threadpoolctl import threadpool_limits

    with threadpool_limits(1):  # module fixtures come before that of each test
        return study.study(range(8), ("A", "B", "C"), ways=("oracle", "with bounds"))


@pytest.mark.parametrize("kind, ratio", [("A", 1.03), ("B", 1.08), ("C", 1.065)])
def test_bounds_cost_little_beside_knowing_every_depth(study, surveys, kind, ratio):
    """Eight surveys: bias and coverage are held a little wider than over the fifty of the full form."""
    found = study.verdict(surveys[kind])
    assert found["RMSE to the oracle's"] <= ratio
    assert abs(found["bias beside the oracle's, cm"]) < 1.0
    assert 0.86 < found["90 % intervals held"] < 0.93
    assert found["sill to the oracle's"] == pytest.approx(1, abs=0.1)


def test_the_usual_habits_lose_the_deep_places_and_the_width_of_the_interval(study):
    """What the method is for: half of the pits end above the depth (B)."""
    points, truth, ends = study.surveys(3)["B"]
    found = study.one_survey(points, truth, ends)
    for habit in ("dropped", "written down"):
        assert found[habit][0] < -4 and found[habit][2] < 0.8
        assert found[habit][4] > 1.3 * found["with bounds"][4]
    assert found["with bounds"][2] > 0.83


def test_what_a_wrong_family_costs_and_that_the_logarithm_mends_it(study):
    """Three surveys of each: skewed depth is mapped too shallow and its spread too small, on the logarithm it is not; rock that is
    shallower where the feature is deeper pulls the map up. The help text of bounded_kriging tells the figures of fifty."""
    from threadpoolctl import threadpool_limits

    from geoprofile.surfaces.methods.bounded import BoundedKriging

    with threadpool_limits(1):
        found = study.study(range(3), ("skewed", "rock, deeper where depth is shallower"), ways=("oracle", "with bounds"))
    told = {kind: study.verdict(ways) for kind, ways in found.items()}
    skewed, mended, rock = (told[kind] for kind in ("skewed", "skewed, on the logarithm", "rock, deeper where depth is shallower"))
    assert skewed["bias beside the oracle's, cm"] < -2 and skewed["sill to the oracle's"] < 0.8
    assert abs(mended["bias beside the oracle's, cm"]) < 1.5 and mended["sill to the oracle's"] > 0.85
    assert rock["bias beside the oracle's, cm"] < -2
    for word in ("skewed", 'transform = "log"', "rock", "still nearer than leaving out"):
        assert word in BoundedKriging.__doc__
