"""From attributes to observations: what is used, what is left out, and that each is counted by its cause."""

import numpy as np
import pandas as pd

from geoprofile.surfaces.observations import left_out_sentence, located_pits, places_of


def gather(made, definition, cell_m=5.0, **keywords):
    pits, attributes = made
    located = located_pits(pits, attributes, cell_m)
    values = attributes.values[attributes.values["attribute"] == definition.name]
    return places_of(definition, located, values, **{"between_up_to": 10.0, **keywords})


def row(count):
    return 500_000 + np.column_stack([np.arange(count) * 50.0, np.zeros(count)])


def test_absent_is_nothing_thick_but_has_no_depth(invented):
    values = [(12, 12, "measured", "present"), (0, 0, "absent", "absent")]
    thickness = invented.definition("bt_thickness", "thickness")
    places = gather(invented.products(row(2), {"bt_thickness": values}, [thickness]), thickness)
    assert list(places.frame["low"]) == [12, 0] and not places.left_out
    values[1] = (np.nan, np.nan, "absent", "absent")
    depth = invented.definition("depth_to_bt", "depth")
    places = gather(invented.products(row(2), {"depth_to_bt": values}, [depth]), depth)
    assert list(places.frame["pit_id"]) == ["P001"]
    assert places.left_out == {"no depth": 1}
    assert list(places.presence["low"]) == [1.0, 0.0]


def test_at_the_surface_is_a_depth_of_zero(invented):
    depth = invented.definition("depth_to_carbonates", "depth")
    made = invented.products(row(1), {"depth_to_carbonates": [(0, 0, "at_surface", "present")]}, [depth])
    assert list(gather(made, depth).frame["low"]) == [0.0]


def test_not_described_is_never_zero_and_a_bound_of_zero_says_nothing(invented):
    thickness = invented.definition()
    values = [
        (12, 12, "measured", "present"),
        (np.nan, np.nan, "unknown", "not_described"),
        (0, np.nan, "at_least", "not_seen"),
        (60, np.nan, "at_least", "present"),
    ]
    places = gather(invented.products(row(4), {"a_e_thickness": values}, [thickness]), thickness)
    assert places.left_out == {"unknown": 1, "says nothing": 1}
    assert list(places.bounded["pit_id"]) == ["P004"]
    assert places.bounded["high"].iloc[0] == np.inf


def test_a_narrow_gap_between_two_limits_is_used_at_its_middle_and_a_wide_one_is_a_bound(invented):
    thickness = invented.definition()
    values = [(15, 21, "between", "present"), (15, 40, "between", "present")]
    places = gather(invented.products(row(2), {"a_e_thickness": values}, [thickness]), thickness)
    assert places.frame["low"].iloc[0] == places.frame["high"].iloc[0] == 18
    assert list(places.bounded["pit_id"]) == ["P002"]
    assert places.notes == ("1 pit is known between two limits no more than 10 cm apart: used at the middle",)


def test_pits_on_moved_ground_or_of_no_certain_place_serve_statistics_only(invented):
    thickness = invented.definition()
    points = row(5)
    points[3] = np.nan
    made = invented.products(
        points, {"a_e_thickness": invented.measured([1, 2, 3, 4, 5])}, [thickness],
        datum=["mineral surface", "stripped ground", "filled ground", "mineral surface", "mineral surface"],
        position_accuracy_m=[4.0, 4.0, 4.0, 4.0, 400.0],
    )  # fmt: skip
    places = gather(made, thickness)
    assert list(places.frame["pit_id"]) == ["P001"]
    assert left_out_sentence(places.left_out, 5.0) == (
        "left out: 2 on stripped or filled ground, 1 place not known, 1 place known no better than the 5 m cell"
    )


def test_no_pit_at_all_is_an_empty_table_and_no_crash(invented):
    thickness = invented.definition()
    made = invented.products(row(2), {"a_e_thickness": [(np.nan, np.nan, "unknown", "not_described")] * 2}, [thickness])
    places = gather(made, thickness)
    assert places.frame.empty and places.left_out == {"unknown": 2}


def test_probes_behind_a_value_are_counted_with_what_they_differ_by(invented):
    from geoprofile.surfaces.observations import _probes_behind

    table = pd.DataFrame({"pit_id": ["P1", "P2", "P3"], "low": [20.0, 30.0, 9.0], "high": [20.0, 30.0, 9.0]})
    probes = pd.DataFrame({"pit_id": ["P1"] * 3 + ["P2"], "low": [18.0, 20.0, 22.0, 30.0], "high": [18.0, 20.0, 22.0, 30.0]})
    repeats, within = _probes_behind(table, probes)
    assert list(repeats) == [3, 1, 1] and list(within) == [8.0, 0, 0]


def test_a_pit_placed_worse_than_values_are_alike_serves_statistics_only(invented, map_it):
    """Cells of 200 m, but values alike over some 90 m only: five pits known to 150 m pass the cell and not the reach."""
    points, thickness = invented.scattered(140, side=1200), invented.definition()
    values = invented.field(points, model=("spherical", 0.0, 60, 90), mean=50)
    accuracy = np.where(np.arange(140) < 5, 150.0, 3.0)
    made = invented.products(points, {"a_e_thickness": invented.measured(values)}, [thickness], position_accuracy_m=accuracy)
    surfaces, _ = map_it(made, {"model": "spherical", "show_unbacked": True}, cell_m=200.0)
    (surface,) = surfaces.surfaces
    assert surface.parameters["scale_m"] < 150 and surface.pits_used < 140
    assert any("5 place known no better than the distance over which values are alike" in note for note in surface.notes)
    assert not set(surfaces.points["pit_id"]) & {f"P{number:03d}" for number in range(1, 6)}


def test_the_reach_is_that_of_the_stratum():
    from collections import Counter

    from geoprofile.surfaces.observations import Places, roughly_placed

    frame = pd.DataFrame({"accuracy_m": [0.0, 20.0, 20.0, 20.0]})
    places = Places(frame, frame, Counter({"unknown": 1}), ())
    rough = roughly_placed(places, np.array([1, 1, 2, 3]), {1: 15.0, 2: 30.0, 3: None})
    assert rough.tolist() == [False, True, False, False]
    assert places.without(rough, "place beyond reach").left_out == {"unknown": 1, "place beyond reach": 1}
