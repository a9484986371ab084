"""One planned depth a polygon: its volumes are of that depth, and it is no thinner than the least lift."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.intervals import at_least, measured
from geoprofile.products import AttributeDefinition
from geoprofile.salvage.planned_cut import strip_depths
from geoprofile.salvage.stage import plan_salvage
from geoprofile.settings.base import LayerSource
from geoprofile.settings.salvage import SalvageSettings

A_AND_E = AttributeDefinition("a_e_thickness", "A and E horizons together", "cm", "thickness", "", "", True)
AREAS = LayerSource(file="areas.gpkg", id="area")


@pytest.fixture
def pits(make_pits, at):
    return make_pits([(name, at(10 * n, 10), {"a_e_thickness": measured(cm)}) for n, (name, cm) in
                      enumerate({"a": 9, "b": 14, "c": 19}.items(), 1)], (A_AND_E,))  # fmt: skip


@pytest.fixture
def pad(write_layer, block):
    write_layer("areas.gpkg", [block(0, 0, 100, 100)], area=["Pad"])


def planned(make_context, a_record, pits, surfaces=None, context=None, **asked):
    plan = plan_salvage(*pits, surfaces, SalvageSettings(polygons=AREAS, **asked), context or make_context(), a_record())
    return plan, plan.lifts.iloc[0]


def test_volumes_of_a_row_come_from_its_own_depth_and_area(make_context, a_record, pits, pad):
    plan, row = planned(make_context, a_record, pits, round_to_cm=5, lost_percent=10, swell_factor=1.25)
    assert (row["mean_cm"], row["strip_depth_cm"], row["area_ha"]) == (14, 10, 1)
    assert row["planned_cut_m3"] == 1000 and row["recovered_bank_m3"] == 900 and row["loose_volume_m3"] == 1125
    # the pit of 9 cm is over-stripped by 1 cm, those of 14 and 19 cm keep 4 and 9 cm
    assert row["planned_subsoil_m3"] == pytest.approx(100 / 3, abs=0.05)
    assert row["planned_left_behind_m3"] == pytest.approx(1300 / 3, abs=0.05)
    assert row["bank_volume_m3"] == 1400, "that of the topsoil as it lies stays what it is"
    assert "padded_with_subsoil_m3" not in row and any(note.startswith("planned cut: 1,000 m3 in place") for note in plan.notes)


def test_a_minimum_lift_is_the_least_depth_that_is_stripped(make_context, a_record, pits, pad):
    _, row = planned(make_context, a_record, pits, round_to_cm=5, minimum_lift_cm=20)
    assert (row["strip_depth_cm"], row["planned_cut_m3"]) == (20, 2000)
    # 20 cm instead of 10: 11, 6 and 1 cm of subsoil instead of 1, 0 and 0
    assert row["planned_subsoil_m3"] == pytest.approx(600) and row["padded_with_subsoil_m3"] == pytest.approx(600 - 100 / 3, abs=0.1)
    assert row["planned_left_behind_m3"] == 0
    _, row = planned(make_context, a_record, pits, minimum_lift_cm=5)
    assert (row["strip_depth_cm"], row["padded_with_subsoil_m3"]) == (14, 0), "not rounded: the mean"


def test_on_a_surface_cut_subsoil_and_what_stays_add_up_to_the_topsoil_that_lies_there(make_context, a_record, pits, pad, make_surfaces):
    context = make_context()
    z = np.tile(np.repeat([12.0, 18.0, 28.0], 10), (20, 1))
    z[:, :3], z[0, 0] = 16.0, np.nan  # one cell of a hundred is not covered
    surfaces = make_surfaces(context, attribute="a_e_thickness", estimate=z, low90=z - 5, high90=z + 5)
    _, row = planned(make_context, a_record, pits, surfaces, context, round_to_cm=5, lost_percent=10)
    assert row["strip_depth_cm"] == 10 and row["planned_cut_m3"] == pytest.approx(10 * 0.99 * 100)
    assert row["planned_cut_m3"] - row["planned_subsoil_m3"] + row["planned_left_behind_m3"] == pytest.approx(row["bank_volume_m3"], abs=0.3)
    for what in ("planned_subsoil", "planned_left_behind"):
        assert row[f"{what}_low90_m3"] <= row[f"{what}_m3"] <= row[f"{what}_high90_m3"]
    assert row["recovered_bank_m3"] == pytest.approx(0.9 * row["planned_cut_m3"], abs=0.1)


def test_a_mean_that_is_not_known_plans_no_cut(make_context, a_record, make_pits, at, pad):
    pits = make_pits([(name, at(10 * n, 10), {"a_e_thickness": at_least(20)}) for n, name in enumerate("abc", 1)], (A_AND_E,))
    plan, row = planned(make_context, a_record, pits, round_to_cm=5, minimum_lift_cm=20, lost_percent=10)
    assert row[["strip_depth_cm", "planned_cut_m3", "planned_subsoil_m3", "padded_with_subsoil_m3", "recovered_bank_m3"]].isna().all()
    assert "planned cut: no depth is known" in plan.notes


@given(st.floats(0.01, 80), st.one_of(st.none(), st.sampled_from([2.5, 5, 10])), st.one_of(st.none(), st.floats(1, 40)),
       st.sampled_from(["down", "nearest", "up"]))  # fmt: skip
@settings(max_examples=80, deadline=None)
def test_a_cut_is_whole_steps_and_never_thinner_than_the_least_lift(mean, step, least, how):
    depth, plain = strip_depths(mean, SalvageSettings(round_to_cm=step, minimum_lift_cm=least, rounding=how))
    assert depth >= max(plain, (least or 0) - 1e-6)
    assert step is None or depth / step == pytest.approx(round(depth / step))


def test_where_nothing_lies_nothing_is_cut():
    assert strip_depths(0.0, SalvageSettings(minimum_lift_cm=20, round_to_cm=5)) == (0, 0)
