"""Were pits stopped at random?"""

import numpy as np
import pandas as pd
import pytest

from geoprofile.surfaces.stopping import test_stopping as judge


def survey(seed=1, count=80, rocky=lambda x, rng: rng.random(len(x)) < 0.25, depth=lambda x, rng: rng.uniform(30, 90, len(x))):
    """Pits on ground that rises eastward; a value that grows eastward; some stopped by rock before they reach it."""
    rng = np.random.default_rng(seed)
    x, y = rng.uniform(0, 1000, (2, count))
    value = 40 + x / 20 + rng.normal(0, 4, count)
    stopped = rocky(x, rng)
    end = np.where(stopped, depth(x, rng), 120.0)
    ends = pd.DataFrame({
        "pit_id": [f"P{i}" for i in range(count)], "x": x, "y": y, "observed_to_cm": end,
        "stopped_by": np.where(stopped, "rock", "planned depth"),
    })  # fmt: skip
    reached = value <= end
    places = ends[["pit_id", "x", "y"]].assign(low=np.where(reached, value, end), high=np.where(reached, value, np.inf))
    return ends, places, {"elevation": 300 + x / 50 + rng.normal(0, 0.1, count), "slope": rng.random(count)}


def test_pits_stopped_by_chance_are_taken_as_stopped_at_random():
    """At most one of twenty surveys cries wolf: the looks are corrected for."""
    found = [judge(*survey(seed)) for seed in range(20)]
    assert sum(one.at_random is False for one in found) <= 2
    quiet = next(one for one in found if one.at_random)
    assert "neither where nor how deep pits are stopped shows a tie" in quiet.sentence and "taken as at random" in quiet.sentence


def test_pits_stopped_on_high_ground_are_not_at_random_and_the_map_may_be_too_deep():
    found = judge(*survey(rocky=lambda x, rng: rng.random(len(x)) < np.where(x > 600, 0.7, 0.05)))
    assert found.at_random is False and found.p < 0.05
    assert "those that are stand where" in found.sentence and "may be too deep" in found.sentence
    assert "after correction for 6 looks" in found.sentence
    assert found.matters and found.share > 0.05, "a caution: it concerns many pits"


def test_stop_depth_that_follows_the_value_is_seen():
    found = judge(*survey(count=200, depth=lambda x, rng: 35 + x / 20 + rng.normal(0, 3, len(x))))
    assert found.at_random is False and "they stop deeper where" in found.sentence


def test_a_drift_on_the_terrain_that_stops_them_is_named():
    ends, places, terrain = survey(rocky=lambda x, rng: rng.random(len(x)) < np.where(x > 600, 0.7, 0.05))
    found = judge(ends, places.assign(high=np.inf), terrain, ("elevation",))
    assert "the drift on elevation accounts for it in part" in found.sentence


def test_where_rock_stopped_no_pit_that_is_bounded_there_is_nothing_to_say():
    ends, places, terrain = survey()
    assert judge(ends, places.assign(high=places["low"]), terrain) is None
    assert judge(ends.assign(stopped_by="planned depth"), places, terrain) is None


@pytest.mark.parametrize("cause", [None, "unknown"])
def test_too_few_pits_that_say_why_they_end_are_told_so(cause):
    ends, places, terrain = survey(count=40)
    ends["stopped_by"] = ends["stopped_by"].where(ends["stopped_by"] == "rock", cause)
    ends.loc[ends.index[ends["stopped_by"] == "rock"][4:], "stopped_by"] = cause
    found = judge(ends, places.assign(high=np.inf), terrain)
    assert found.at_random is None and "too few pits state why they end" in found.sentence
