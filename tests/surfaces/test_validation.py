"""Scores that are not too good to be true."""

from dataclasses import replace

import numpy as np
import pytest

from geoprofile.products import AttributeDefinition
from geoprofile.registry import plugins
from geoprofile.surfaces.folds import Targets
from geoprofile.surfaces.limits import clip_for
from geoprofile.surfaces.mapping import fit_map
from geoprofile.surfaces.methods.contract import CannotFit, MethodSettings, Observations, Prediction
from geoprofile.surfaces.validation import (
    BY_LOCATION,
    LEAVE_ONE_OUT,
    NO_SKILL,
    RANDOM,
    Scoring,
    headline_of,
    ranked_of,
    surprise_of,
    validate,
)


def lattice(points, codes=None, cell_m=20.0):
    """An even lattice of places over the pits, of the stratum of the nearest pit."""
    from scipy.spatial import cKDTree

    (west, south), (east, north) = points.min(axis=0), points.max(axis=0)
    x, y = np.meshgrid(np.linspace(west, east, 30), np.linspace(south, north, 30))
    cells = np.column_stack([x.ravel(), y.ravel()])
    nearest = cKDTree(points).query(cells)[1]
    return Targets(cells, np.ones(900, int) if codes is None else codes[nearest], cell_m)


def run(points, values, name="ordinary_kriging", method=None, codes=None, high=None, clip=lambda p: p, cell_m=20.0, **settings):
    method = method or plugins("geoprofile.methods").get(name)
    observations, choice = Observations(points, values, values if high is None else high), MethodSettings(method=name, **settings)
    codes = np.ones(len(values), int) if codes is None else codes
    use = "split" if codes.max() > 1 else ""
    fitted = fit_map(method, observations, codes, use, choice, least_pits=10, seed=1, names={int(c): str(c) for c in set(codes)})
    return validate(
        method, observations, codes, use, choice, fitted, least_pits=10, folds=10, seed=1, clip=clip,
        targets=lattice(points, codes, cell_m),
    )  # fmt: skip


def value(validation, name, measure):
    return next(row["value"] for row in validation.rows if row["validation"] == name and row["measure"] == measure)


def clusters(invented, count=15, each=6):
    rng = np.random.default_rng(5)
    centres = invented.ORIGIN + rng.uniform(0, 2000, (count, 2))
    return np.repeat(centres, each, axis=0) + rng.normal(0, 15, (count * each, 2))


def test_random_parts_flatter_clustered_pits_and_stand_only_beside(invented):
    """K16"""
    points = clusters(invented)
    found = run(points, invented.field(points, model=("exponential", 0.05, 1.0, 100.0)), model="exponential", cell_m=5.0)
    assert value(found, RANDOM, "root mean square error") < 0.7 * value(found, BY_LOCATION, "root mean square error")
    assert found.headline.startswith("by location: RMSE ")


def test_a_method_that_remembers_its_pits_gains_nothing():
    """K15: a method that returns what it was fitted to, and else a fixed number, scores as that number."""

    class Remembers:
        title, uses_bounds = "remembers", False

        def fit(self, observations, settings, rng):
            from types import SimpleNamespace

            from geoprofile.surfaces.methods.contract import Prediction

            known = {tuple(point): value for point, value in zip(observations.points, observations.values)}

            def predict(points, drift=None):
                estimate = np.array([known.get(tuple(point), 1000.0) for point in points])
                return Prediction.normal(estimate, np.ones(len(points)))

            return SimpleNamespace(predict=predict, summary="", notes=(), reach_m=None)

    points = np.random.default_rng(1).uniform(0, 100, (40, 2))
    found = run(points, np.zeros(40), method=Remembers())
    assert value(found, BY_LOCATION, "mean error") == value(found, RANDOM, "mean error") == 1000
    assert np.isnan(found.left_out).all(), "no leave-one-out without a formula"
    assert not [row for row in found.rows if row["validation"] == LEAVE_ONE_OUT]


def test_leave_one_out_says_that_the_model_was_not_refitted(invented):
    points = invented.scattered(60)
    values = invented.field(points)
    found = run(points, values)
    remarks = {row["validation"]: row["remark"] for row in found.rows}
    assert remarks[LEAVE_ONE_OUT] == "model not refitted"
    assert "everything refitted" in remarks[BY_LOCATION] and "everything refitted" in remarks[RANDOM]
    assert found.left_out.shape == (60,)
    assert value(found, LEAVE_ONE_OUT, "root mean square error") == pytest.approx(np.sqrt(np.mean((found.left_out - values) ** 2)))


def test_intervals_hold_about_nine_tenths_of_pits_of_a_known_field(invented):
    """K9: over six fields of 100 pits, left out one by one."""
    held = []
    for seed in range(6):
        points = invented.scattered(100, seed=seed)
        found = run(points, invented.field(points, seed, ("exponential", 0.2, 1.0, 80.0)), model="exponential")
        held.append(value(found, LEAVE_ONE_OUT, "coverage of the 90 % interval"))
    assert 0.86 < np.mean(held) < 0.94


def test_pits_that_the_others_cannot_predict_are_counted(invented):
    """A stratum whose pits are too few without a part is not predicted then."""
    points = np.vstack([invented.scattered(50), invented.ORIGIN + [5000, 5000] + np.random.default_rng(1).uniform(0, 400, (11, 2))])
    codes = np.repeat([1, 2], [50, 11])

    class Choosy:
        title, uses_bounds = "choosy", False

        def fit(self, observations, settings, rng):
            if len(observations) < 11:
                raise CannotFit("too few")
            return plugins("geoprofile.methods").get("mean").fit(observations, settings, rng)

    found = run(points, invented.field(points), method=Choosy(), codes=codes)
    rows = [row for row in found.rows if row["validation"] == BY_LOCATION]
    assert rows[0]["pits"] == 50 and "11 pits could not be predicted from the others" in rows[0]["remark"]
    assert np.isnan(found.by_location.estimate[50:]).all() and np.isfinite(found.by_location.estimate[:50]).all()


def test_pits_of_another_stratum_do_not_help(invented):
    points = invented.scattered(60)
    codes = (points[:, 0] > points[:, 0].mean()).astype(int) + 1
    first = run(points, invented.field(points), codes=codes)
    moved = run(points, invented.field(points) + np.where(codes == 2, 500.0, 0), codes=codes)
    west = codes == 1
    assert moved.by_location.estimate[west] == pytest.approx(first.by_location.estimate[west], abs=1e-9)


def test_pure_noise_described_twice_at_each_place_has_no_spatial_skill(invented):
    """K15, K16: the twin tells random parts everything and the map nothing."""
    rng = np.random.default_rng(11)
    places = invented.scattered(40)
    points = np.repeat(places, 2, axis=0) + rng.normal(0, 1.5, (80, 2))
    values = np.repeat(rng.normal(30, 8, 40), 2)
    for name in ("ordinary_kriging", "nearest", "inverse_distance"):
        found = run(points, values, name, cell_m=5.0)
        assert found.headline.endswith(NO_SKILL) and value(found, BY_LOCATION, "efficiency") < 0.1
        assert found.notes and found.notes[0].startswith("no spatial skill: ")
        assert value(found, RANDOM, "efficiency") < 0.1, "twins stay in one part there too"
    assert value(found, LEAVE_ONE_OUT, "efficiency") > 0.9, "and leave-one-out is fooled: it is a diagnostic only"


def test_a_field_that_is_there_is_credited_with_skill(invented):
    points = invented.scattered(120)
    found = run(points, invented.field(points, model=("spherical", 0.1, 1.0, 400.0)))
    assert NO_SKILL not in found.headline and not found.notes and value(found, BY_LOCATION, "efficiency") > 0.5


class Bounded:
    """A method that takes bounds and predicts the mean of the measured."""

    title, uses_bounds = "takes bounds", True

    def fit(self, observations, settings, rng):
        from types import SimpleNamespace

        exact = observations.low == observations.high
        middle, count = observations.low[exact].mean(), len(observations)

        def predict(points, drift=None):
            return Prediction.normal(np.full(len(points), middle), np.full(len(points), 100.0))

        return SimpleNamespace(
            predict=predict, summary="", notes=(), reach_m=None,
            leave_one_out=lambda: Prediction.normal(np.full(count, middle), np.full(count, 100.0)),
        )  # fmt: skip


def test_bounded_pits_are_scored_by_what_they_can_say(invented):
    points, low = invented.scattered(60), np.random.default_rng(2).normal(50, 10, 60)
    high = low.copy()
    low[:10], high[:10] = 30.0, np.inf
    low[10:15], high[10:15] = 90.0, np.inf
    low[15:20], high[15:20] = -np.inf, 80.0
    found = run(points, low, high=high, method=Bounded())
    for name in (BY_LOCATION, RANDOM, LEAVE_ONE_OUT):
        rows = {row["measure"]: row for row in found.rows if row["validation"] == name}
        assert rows["root mean square error"]["pits"] == 40, "never an error against a limit"
        assert rows["bounds contradicted by the 90 % interval"]["pits"] == 20
        assert rows["bounds contradicted by the 90 % interval"]["value"] == 0.25
        assert rows["bounds: log score"]["value"] > 0
    assert "and contradicted 25 % of 20 bounds" in found.headline


def test_a_thickness_of_at_most_zero_is_a_thickness_of_zero():
    """The form in which a method may hold an absent layer; scored, it is a value."""
    points = np.zeros((4, 2))
    observations = Observations(points, np.array([-np.inf, 5.0, 5.0, 60.0]), np.array([0.0, 5.0, 8.0, np.inf]))
    score = Scoring(observations, clip_for(AttributeDefinition("t", "T", "cm", "thickness", "", "")))
    assert list(score.exact) == [True, True, False, False] and score.low[0] == 0


def test_a_refit_starts_from_the_model_of_all_pits_where_a_method_offers_it(invented):
    starts = []

    class Refits(type(plugins("geoprofile.methods").get("mean"))):
        def refit(self, observations, settings, rng, start):
            starts.append(start)
            return self.fit(observations, settings, rng)

    points = invented.scattered(40)
    found = run(points, invented.field(points), method=Refits())
    assert len(starts) >= 10 and len({id(start) for start in starts}) == 1 and starts[0].summary.endswith("40 pits")
    assert found.by_location.estimate == pytest.approx(run(points, invented.field(points), "mean").by_location.estimate)


def test_the_headline_reads_as_a_sentence():
    rows = [
        {"measure": "root mean square error", "value": 6.13, "pits": 112},
        {"measure": "efficiency", "value": 0.341, "pits": 112},
        {"measure": "coverage of the 90 % interval", "value": 0.881, "pits": 112},
    ]
    bounds = {"measure": "bounds contradicted by the 90 % interval", "value": 0.025, "pits": 40}
    assert headline_of(rows, "cm") == "by location: RMSE 6.1 cm, efficiency 0.34, 90 % intervals held 88 % of 112 pits"
    assert headline_of([*rows, bounds], "cm").endswith("held 88 % of 112 pits and contradicted 2 % of 40 bounds")
    assert "could not be validated" in headline_of([], "cm")


def test_a_distribution_of_its_own_is_scored_as_such():
    """A plain normal told through the other fields scores as in closed form; so does a bound."""
    n = 3
    mean, sd = np.array([40.0, 50.0, 60.0]), np.array([8.0, 5.0, 10.0])
    plain = Prediction.normal(mean, sd**2)
    told = replace(plain, middle=mean, deviation=sd, power=np.full(n, np.nan), atom=np.zeros(n))
    low, high = np.array([45.0, 60.0, -np.inf]), np.array([45.0, np.inf, 30.0])
    rows = np.arange(n)
    one, other = (ranked_of(made, rows, low, high, 0.0, np.inf) for made in (plain, told))
    assert other == pytest.approx(one, rel=0.01, abs=0.02)
    one, other = (surprise_of(made, rows[1:], low[1:], high[1:]) for made in (plain, told))
    assert other == pytest.approx(one, rel=1e-6)


def test_a_chance_of_absence_counts_in_the_score():
    """Half absent, half 20 cm for sure: by hand (1/2)^2 * 20 where 0 is found, as much where 20 is found."""
    one = np.ones(1)
    told = Prediction(10 * one, 100 * one, 0 * one, 20 * one, None, 20 * one, 1e-6 * one, np.nan * one, 0.5 * one)
    for found in (0.0, 20.0):
        score = ranked_of(told, np.array([0]), found * one, found * one, 0.0, np.inf)[0]
        assert score == pytest.approx(5.0, abs=0.1)


def test_places_in_right_predictions_are_even_and_what_is_heaped_at_zero_is_spread():
    rng = np.random.default_rng(1)
    truth = np.maximum(rng.normal(5, 10, 2000), 0)
    made = Prediction.normal(np.full(2000, 5.0), np.full(2000, 100.0))
    score = Scoring(Observations(np.zeros((2000, 2)), truth, truth), clip_for(AttributeDefinition("t", "T", "cm", "thickness", "", "")))
    place = score.place(made, 1)
    assert np.quantile(place, [0.1, 0.25, 0.5, 0.9]) == pytest.approx([0.1, 0.25, 0.5, 0.9], abs=0.03)


def test_a_survey_of_noise_described_twice_ends_with_a_caution_for_everybody(invented, map_it):
    """K15, K16, from tables to product: the report prints Surface.cautions."""
    rng = np.random.default_rng(7)
    points = np.repeat(invented.scattered(35, seed=3), 2, axis=0) + rng.normal(0, 1.5, (70, 2))
    noise = invented.measured(np.repeat(rng.normal(30, 6, 35), 2))
    made = invented.products(points, {"solum_thickness": noise}, [invented.definition("solum_thickness")])
    for method in ("bounded_kriging", "nearest"):
        (surface,) = map_it(made, {"method": method})[0].surfaces
        assert surface.score.endswith("; no spatial skill") and surface.cautions[0].startswith("no spatial skill: ")
        assert set(surface.cautions) <= set(surface.notes)
