"""Methods beside each other."""

import numpy as np
import pytest

from geoprofile.grid import Grid
from geoprofile.settings.surfaces import SurfacesSettings
from geoprofile.surfaces.comparison import CHOICE, compare_methods, comparison_lines

THICK = "a_e_thickness"


@pytest.fixture
def compare(invented, make_context):
    """Compare on invented pits; ``values`` per attribute."""

    def run(points, columns, terrain=None, **settings):
        definitions = [invented.definition(name) for name in columns]
        pits, attributes = invented.products(points, columns, definitions)
        context = make_context(cell_m=20, crs=invented.CRS)
        made = None if terrain is None else terrain(context)
        return compare_methods(pits, attributes, made, SurfacesSettings(**{"folds": 4, **settings}), context)

    return run


def test_every_method_meets_the_same_pits_and_the_better_stands_first(invented, compare):
    points = invented.scattered(60)
    values = invented.field(points, model=("spherical", 1, 30, 500), mean=60)
    table = compare(points, {THICK: invented.measured(values)}, method="nearest")
    scored = table[table["root_mean_square_error"].notna() & (table["method"] != CHOICE)]
    assert {"mean", "nearest", "inverse_distance", "ordinary_kriging", "bounded_kriging"} <= set(scored["method"])
    assert (scored["pits"] == 60).all() and scored["ranked_probability"].is_monotonic_increasing
    assert list(scored["method"])[0] != "mean" and scored.set_index("method").loc["mean", "efficiency"] < 0.05
    assert list(table.loc[table["as_set"], "method"]) == ["nearest"]
    assert "no terrain to use as drift" in table.set_index("method").loc["drift_kriging", "remark"]


def test_the_choice_itself_is_scored_inside_outer_parts(invented, compare):
    """Nested: the part that is predicted had no say in which method is best."""
    points = invented.scattered(60)
    table = compare(points, {THICK: invented.measured(invented.field(points, model=("spherical", 1, 30, 500), mean=60))})
    row = table[table["method"] == CHOICE].iloc[0]
    assert row["remark"].startswith("chosen inside each of 5 outer parts: ") and row["pits"] == 60
    assert row["ranked_probability"] >= 0.8 * table["ranked_probability"].min()


def test_a_method_without_bounds_is_not_tried_on_them(invented, compare):
    points = invented.scattered(40)
    values = invented.measured(60 + 5 * invented.field(points))
    values[:6] = [(70.0, np.nan, "at_least", "not_seen")] * 6
    table = compare(points, {THICK: values}).set_index("method")
    assert table.loc["mean", "remark"] == "not tried: cannot use the 6 pits that say only a bound"
    assert table.loc["bounded_kriging", "bounds"] == 6 and table.loc["bounded_kriging", "pits"] == 34


def test_terrain_serves_as_drift_where_none_is_named_and_too_few_pits_are_said(invented, compare):
    grid = Grid(invented.CRS, *(invented.ORIGIN + [-50, 850]), 20, 45, 45)
    points = invented.scattered(50)
    few = [*invented.measured([5, 6, 7]), *[(np.nan, np.nan, "unknown", "not_described")] * 47]
    values = invented.measured(30 + 3 * np.sin((points[:, 0] - 500_000) / 60))
    table = compare(
        points, {THICK: values, "bt_thickness": few},
        terrain=lambda context: invented.terrain(context, grid, relative_elevation=lambda x, y: np.sin((x - 500_000) / 60)),
    )  # fmt: skip
    thick = table[table["attribute"] == THICK].set_index("method")
    assert thick.loc["forest", "remark"].startswith("with drift on relative_elevation")
    assert thick.loc["drift_kriging", "ranked_probability"] < 0.5 * thick.loc["mean", "ranked_probability"]
    as_set = thick.loc["bounded_kriging"]  # it could use a drift, and does not where the survey names none
    assert as_set["as_set"] and as_set["remark"] == ""
    assert as_set["root_mean_square_error"] == pytest.approx(thick.loc["ordinary_kriging", "root_mean_square_error"], rel=0.02)
    assert table[table["attribute"] == "bt_thickness"]["remark"].iloc[0].startswith("not compared: 3 usable pits are fewer")


def test_the_table_reads_as_lines(invented, compare):
    points = invented.scattered(30)
    lines = list(comparison_lines(compare(points, {THICK: invented.measured(invented.field(points) + 20)}), {THICK: "Thickness (cm)"}))
    assert lines[0] == "Thickness (cm)" and "RMSE" in lines[1]
    assert sum(line.startswith("  *bounded_kriging") for line in lines) == 1
    assert any("By location, everything refitted in each part" in line for line in lines)


def test_bounded_kriging_is_compared_with_the_form_of_absence_that_a_map_would_choose(invented, compare, monkeypatch):
    """Chosen anew inside every part, outer and inner, as in the map."""
    from geoprofile.surfaces import absence, comparison

    asked = []
    once = absence.FormAnew.__call__
    monkeypatch.setattr(absence.FormAnew, "__call__", lambda self, *given: asked.append(len(given[0])) or once(self, *given))
    points = invented.scattered(45)
    thick = np.maximum(invented.field(points, model=("exponential", 1, 90, 200), mean=4), 0.0)
    values = [(v, v, "measured", "present") if v > 0 else (0.0, 0.0, "absent", "absent") for v in thick.tolist()]
    monkeypatch.setattr(comparison, "OUTER", 2)
    table = compare(points, {THICK: values}, model="exponential", folds=3).set_index("method")
    assert np.isfinite(table.loc["bounded_kriging", "ranked_probability"])
    assert len(asked) == 3 + 2 * 3 and max(asked[:3]) < 45 and max(asked[3:]) < 35, "three parts; three inner parts in each of two"
