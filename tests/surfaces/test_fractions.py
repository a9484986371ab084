"""Sand, silt and clay are one whole."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.kernels.log_ratios import LEAST, to_ratios, to_shares
from geoprofile.surfaces.fractions import fractions_of, with_all_three
from geoprofile.surfaces.methods.contract import Prediction
from geoprofile.surfaces.methods.log_ratios import share_of

NAMES = ("sand_0_30", "silt_0_30", "clay_0_30")


@settings(max_examples=50, deadline=None)
@given(st.lists(st.floats(1.0, 90.0), min_size=3, max_size=3))
def test_shares_come_back_from_their_log_ratios(parts):
    shares = 100 * np.array([parts]) / sum(parts)
    if shares.min() > LEAST:
        assert to_shares(to_ratios(shares))[0] == pytest.approx(shares[0], rel=1e-9)


def test_log_ratios_by_hand():
    """(60, 30, 10): sqrt(1/2) ln 2 = 0.490129 and sqrt(2/3) ln(sqrt(1800) / 10) = 1.179989."""
    assert to_ratios(np.array([[60.0, 30.0, 10.0]]))[0] == pytest.approx([0.490129, 1.179989], abs=1e-6)


def test_a_share_of_nothing_is_half_a_percent_and_the_others_give_way():
    back = to_shares(to_ratios(np.array([[80.0, 20.0, 0.0]])))[0]
    assert back == pytest.approx([80 * 0.995, 20 * 0.995, 0.5])


def test_the_interval_of_a_share_holds_nine_in_ten_draws():
    mean, variance = np.array([0.3]), np.array([0.16])
    found = [share_of(Prediction.normal(mean, variance), Prediction.normal(-mean, 2 * variance), which) for which in range(3)]
    assert sum(one.estimate[0] for one in found) == pytest.approx(100)
    rng = np.random.default_rng(2)
    drawn = to_shares(np.column_stack([0.3 + 0.4 * rng.standard_normal(40_000), -0.3 + np.sqrt(0.32) * rng.standard_normal(40_000)]))
    for which, one in enumerate(found):
        held = np.mean((drawn[:, which] >= one.low90) & (drawn[:, which] <= one.high90))
        assert held == pytest.approx(0.9, abs=0.02)


def test_which_averages_belong_together(invented):
    three = tuple(invented.definition(name, "average", False, "%") for name in NAMES)
    other = invented.definition("clay_30_60", "average", False, "%")
    assert [one.name for one in fractions_of(three[2], (*three, other))] == list(NAMES)
    assert fractions_of(other, (*three, other)) == () and fractions_of(three[0], three[:2]) == ()
    assert fractions_of(invented.definition("clay_skin_depth", "depth"), three) == ()


def frame(values, pits):
    return pd.DataFrame({"pit_id": pits, "x": 0.0, "y": 0.0, "low": values, "high": values, "status": "measured"})


def test_pits_that_lack_a_share_or_do_not_add_up_are_left_out_and_counted():
    kept, shares, sentence = with_all_three(
        [frame([60.0, 50.0, 50.0], ["A", "B", "C"]), frame([30.0, 10.0, 30.0], ["A", "B", "C"]), frame([12.0, 10.0], ["A", "B"])]
    )
    assert list(kept["pit_id"]) == ["A"] and shares.tolist() == [[60, 30, 12]]
    assert "from 1 pits that have all three" in sentence and "1 lack one" in sentence and "1 whose three shares add to" in sentence


def test_every_cell_of_the_three_maps_adds_to_100(invented, map_it):
    """K19"""
    points = invented.scattered(70)
    ratios = np.column_stack([invented.field(points, seed, ("spherical", 0.05, 0.4, 400.0)) for seed in (1, 2)])
    shares = np.round(to_shares(ratios), 1)
    columns = {name: invented.measured(shares[:, which]) for which, name in enumerate(NAMES)}
    made = invented.products(points, columns, [invented.definition(name, "average", False, "%") for name in NAMES])
    surfaces, context = map_it(made)
    assert len(surfaces.surfaces) == 3
    maps = [surfaces.rasters[one.estimate].read(context.output) for one in surfaces.surfaces]
    shown = np.isfinite(maps[0])
    assert shown.any() and sum(maps)[shown] == pytest.approx(100, abs=1e-3)
    assert all(one.min() > 0 for one in (layer[shown] for layer in maps))
    for one in surfaces.surfaces:
        assert one.method_title == "log-ratios by kriging with bounded observations"
        assert any("every cell adds to 100 %" in note for note in one.notes) and one.score.startswith("by location: RMSE")
    scores = surfaces.scores.query("validation == 'by location' and measure == 'efficiency'")
    assert (scores["value"] > 0.2).all()
    held = surfaces.scores.query("validation == 'by location' and measure == 'coverage of the 90 % interval'")["value"]
    assert held.between(0.8, 0.98).all()
    assert not any("need not add" in note for note in surfaces.notes)
