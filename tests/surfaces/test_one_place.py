"""Which pits are one place, and what it says."""


import numpy as np
import pytest

from geoprofile.surfaces.observations import located_pits, places_of
from geoprofile.surfaces.one_place import one_place


def gather(made, definition, cell_m=5.0, **keywords):
    pits, attributes = made
    located = located_pits(pits, attributes, cell_m)
    values = attributes.values[attributes.values["attribute"] == definition.name]
    return places_of(definition, located, values, **{"between_up_to": 10.0, **keywords})


def row(count):
    return 500_000 + np.column_stack([np.arange(count) * 50.0, np.zeros(count)])


def test_the_latest_visit_to_a_place_counts_once(invented):
    thickness = invented.definition()
    made = invented.products(
        row(3), {"a_e_thickness": invented.measured([10, 20, 30])}, [thickness],
        place_id=["P001", "P001", "P003"], date=["2021-06-01", "2023-06-01", "2021-06-01"],
    )  # fmt: skip
    places = gather(made, thickness)
    assert list(places.frame["low"]) == [20, 30] and places.left_out == {"earlier visit": 1}
    assert list(gather(made, thickness, visits="all").frame["low"]) == [15, 30]


def test_visits_without_dates_are_averaged(invented):
    thickness = invented.definition()
    made = invented.products(row(2), {"a_e_thickness": invented.measured([10, 20])}, [thickness], place_id=["P001", "P001"])
    assert list(gather(made, thickness).frame["low"]) == [15]


def test_coincident_pits_give_one_observation(invented):
    """K1"""
    thickness = invented.definition()
    points = row(4)
    points[2] = points[1] + 0.004
    places = gather(invented.products(points, {"a_e_thickness": invented.measured([10, 20, 30, 5])}, [thickness]), thickness)
    assert sorted(places.frame["low"]) == [5, 10, 25]
    assert places.notes == (
        "2 pits that cannot be told apart (coincident: nearer than their positions are known or than 5 % of the cell) "
        "count as 1 place, each by the mean of its values",
    )


def test_K1_pits_nearer_than_their_positions_are_known_or_than_a_share_of_the_cell_are_one_place(invented):
    """Cell 20 m, a twentieth of it 1 m; P003 and P004 are 5 m apart, P003 known to 6 m; P005 and P006 as far, known to 2 m."""
    thickness = invented.definition()
    points = row(8)
    points[1] = points[0] + [0.6, 0.6]
    points[3], points[5] = points[2] + [5, 0], points[4] + [5, 0]
    values = [*invented.measured([10, 50, 20, 30, 7, 9]), (40, 40, "measured", "present"), (60, np.nan, "at_least", "present")]
    points[7] = points[6] + [0, 0.4]
    accuracy = [np.nan, 0.5, 6, 1, 2, 2, np.nan, np.nan]
    made = invented.products(points, {"a_e_thickness": values}, [thickness], position_accuracy_m=accuracy)
    places = gather(made, thickness, cell_m=20.0)
    assert sorted(places.frame["low"]) == [7, 9, 25, 30, 40] and (places.frame["low"] == places.frame["high"]).all()
    (note,) = places.notes
    assert note.startswith("6 pits that cannot be told apart (up to 5.0 m apart") and "count as 3 places" in note
    assert note.endswith("1 that says only a bound gives way to a value at the same place")
    assert places.frame.loc[places.frame["low"] == 30, "within"].iloc[0] == 800, "what they differ by is kept"


def test_pits_in_a_line_do_not_chain_into_one_place():
    line = np.column_stack([np.arange(12) * 0.8, np.zeros(12)]) + 5_500_000
    labels = one_place(line, np.full(12, 1.0))
    for label in np.unique(labels):
        assert np.ptp(line[labels == label, 0]) <= 1.0 + 1e-6
    assert len(np.unique(labels)) >= 6


def test_K1_two_near_pits_that_contradict_each_other_bend_nothing_out_of_range(invented, map_it):
    """Half a metre apart on 20 m cells, 20 and 90 cm: the map stays within what pits say, and says what it did."""
    points, thickness = invented.scattered(60), invented.definition()
    values = invented.field(points, model=("gaussian", 0.0, 60, 150), mean=50)
    twice = np.vstack([points, points[:3] + [0.5, 0.0]])
    values = np.concatenate([values, values[:3] + 70.0])
    surfaces, context = map_it(invented.products(twice, {"a_e_thickness": invented.measured(values)}, [thickness]), {"model": "gaussian"})
    (surface,) = surfaces.surfaces
    estimate = surfaces.rasters[surface.estimate].read(context.output)
    assert 0 <= np.nanmin(estimate) and np.nanmax(estimate) <= values.max() + 5
    assert surface.pits_used == 60 and any("6 pits that cannot be told apart (up to 0.5 m apart" in note for note in surface.notes)


def test_K1_pits_just_too_far_apart_to_be_one_place_are_smoothed_by_the_nugget_the_likelihood_finds(invented):
    """3 m apart and 30 cm different, left as two: the fitted nugget takes it up, the system stays well conditioned."""
    from geoprofile.surfaces.methods.bounded import BOUNDED_KRIGING
    from geoprofile.surfaces.methods.contract import MethodSettings, Observations

    points = invented.scattered(60)
    values = invented.field(points, model=("gaussian", 0.0, 60, 150), mean=50)
    points, values = np.vstack([points, points[:3] + [3.0, 0.0]]), np.concatenate([values, values[:3] + 30.0])
    fitted = BOUNDED_KRIGING.fit(Observations(points, values, values), MethodSettings(model="gaussian"), np.random.default_rng(1))
    x, y = np.meshgrid(np.arange(0, 800, 7.0), np.arange(0, 800, 7.0))
    estimate = fitted.predict(np.column_stack([x.ravel(), y.ravel()]) + invented.ORIGIN).estimate
    assert values.min() - 10 < estimate.min() and estimate.max() < values.max() + 10
    assert fitted.system.model.partial_sill > 0 and np.linalg.cond(fitted.system.precision) < 1e6


def test_merging_a_duplicate_changes_no_prediction(invented):
    """K1: a pit entered twice, against the same pits entered once."""
    from geoprofile.kernels.covariance import Model
    from geoprofile.kernels.kriging import predict_points, solve

    points, thickness = invented.scattered(20), invented.definition()
    values = invented.field(points) + 10
    twice = np.vstack([points, points[3:4]])
    made = invented.products(twice, {"a_e_thickness": invented.measured(np.append(values, values[3]))}, [thickness])
    merged = gather(made, thickness).frame
    assert len(merged) == 20
    model, cells = Model("gaussian", 0.0, 1.0, 100.0), points[:5] + 13.0
    one = predict_points(solve(points, values, model), cells)[0]
    other = predict_points(solve(merged[["x", "y"]].to_numpy(), merged["low"].to_numpy(), model), cells)[0]
    assert other == pytest.approx(one, abs=1e-6)


def test_bounds_at_one_place_are_narrowed_together(invented):
    thickness = invented.definition()
    values = [(20, np.nan, "at_least", "present"), (30, np.nan, "at_least", "present")]
    made = invented.products(row(2), {"a_e_thickness": values}, [thickness], place_id=["P001", "P001"])
    assert list(gather(made, thickness).frame["low"]) == [30]
