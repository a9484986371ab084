"""The figures that show how well a surface holds."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from geoprofile.kernels.covariance import semivariance
from geoprofile.outputs import surface_figures
from geoprofile.outputs.figures import drawing, new_figure


@pytest.fixture
def bundle(make_bundle):
    made = make_bundle()
    rng = np.random.default_rng(1)
    low = rng.normal(40, 10, 30)
    predicted = low + rng.normal(0, 5, 30)
    points = pd.DataFrame({
        "attribute": "depth_to_carbonates", "pit_id": [f"P{i}" for i in range(30)], "x": rng.uniform(5e5, 5e5 + 400, 30),
        "y": rng.uniform(5.8e6, 5.8e6 + 200, 30), "low": low, "high": low, "status": "measured", "predicted": predicted,
        "by_location": predicted, "by_location_low90": predicted - 8.2, "by_location_high90": predicted + 8.2,
        "by_location_place": rng.random(30),
    })  # fmt: skip
    points.loc[:4, "high"] = np.inf
    points.loc[0, ["low", "by_location_place"]] = [90.0, np.nan]
    variograms = pd.DataFrame({"attribute": "depth_to_carbonates", "stratum": "", "distance_m": [20.0, 60.0, 100.0],
                               "semivariance": [40.0, 80.0, 95.0], "pairs": [31, 60, 88]})  # fmt: skip
    (surface,) = made.surfaces.surfaces
    surface = replace(
        surface, cautions=("no spatial skill: a $caution$ for everybody",), method_title="<kriging> & $more$",
        parameters={"kind": "spherical", "nugget": 20.0, "partial_sill": 75.0, "scale_m": 90.0, "nugget_is_error": False},
    )  # fmt: skip
    return replace(made, surfaces=replace(made.surfaces, surfaces=(surface,), points=points, variograms=variograms))


def drawn(function, *arguments):
    with drawing():
        axes = new_figure(100, 100).add_axes((0.1, 0.1, 0.8, 0.8))
        function(axes, *arguments)
    return axes


def test_each_surface_has_a_sheet_as_picture_and_as_drawing(bundle):
    files = surface_figures.write(bundle)
    assert [file.path for file in files] == ["figures/depth_to_carbonates.svg", "figures/depth_to_carbonates.png"]
    assert (bundle.context.output / files[1].path).read_bytes().startswith(b"\x89PNG")


def test_twice_gives_the_same_bytes(bundle):
    assert [file.sha256 for file in surface_figures.write(bundle)] == [file.sha256 for file in surface_figures.write(bundle)]


def test_the_model_is_drawn_where_it_belongs_and_every_point_has_its_pairs(bundle):
    (surface,) = bundle.surfaces.surfaces
    axes = drawn(surface_figures.draw_variogram, surface, bundle.surfaces.variograms)
    distance, height = axes.lines[0].get_data()
    assert height == pytest.approx(semivariance(surface_figures.model_of(surface, ""), distance))
    assert [text.get_text() for text in axes.texts][:3] == ["31", "60", "88"]


def test_a_model_that_reaches_farther_one_way_is_drawn_along_and_across(bundle):
    (surface,) = bundle.surfaces.surfaces
    surface = replace(surface, parameters={**surface.parameters, "azimuth": 30.0, "ratio": 0.5})
    axes = drawn(surface_figures.draw_variogram, surface, bundle.surfaces.variograms)
    labels = [text.get_text() for text in axes.get_legend().get_texts()]
    assert "spherical model along azimuth 30°" in labels and "the same across it" in labels
    along, across = (line.get_ydata() for line in axes.lines[:2])
    assert (across >= along - 1e-9).all() and across[60] > along[60], "across it values differ sooner"


def test_a_model_of_transformed_values_is_not_drawn_over_plain_ones(bundle):
    (surface,) = bundle.surfaces.surfaces
    assert surface_figures.model_of(replace(surface, parameters={**surface.parameters, "power": 0.0}), "") is None
    assert surface_figures.model_of(replace(surface, parameters={}), "") is None
    strata = {"till": {**surface.parameters, "nugget": 1.0}}
    both = replace(surface, parameters={**surface.parameters, "strata": strata})
    assert surface_figures.model_of(both, "till").nugget == 1.0 and surface_figures.model_of(both, "sand") is None


def test_a_bound_is_an_arrow_and_never_a_value(bundle):
    (surface,) = bundle.surfaces.surfaces
    axes = drawn(surface_figures.draw_against, surface, bundle.surfaces.points)
    labels = [text.get_text() for text in axes.get_legend().get_texts()]
    assert labels == ["at least this", "measured, with 90 % interval"]
    measured = axes.containers[0].lines[0].get_xdata()
    assert len(measured) == 25 and 90.0 not in measured


def test_coverage_is_the_share_of_pits_inside(bundle):
    axes = drawn(surface_figures.draw_coverage, bundle.surfaces.points)
    promised, held = axes.lines[1].get_data()
    place = bundle.surfaces.points["by_location_place"][5:]
    at = int(np.argmin(np.abs(promised - 50)))
    assert held[at] == pytest.approx(100 * np.mean(np.abs(2 * place - 1) <= promised[at] / 100))


def test_a_contradicted_bound_is_marked_on_the_map(bundle):
    (surface,) = bundle.surfaces.surfaces
    axes = drawn(surface_figures.draw_residuals, surface, bundle.surfaces.points)
    assert "bound contradicted" in [text.get_text() for text in axes.get_legend().get_texts()]


def test_nothing_mapped_and_surfaces_of_older_make_give_no_figure(make_bundle, bundle):
    assert surface_figures.write(make_bundle(only=True)) == () == surface_figures.write(make_bundle())
    unknown = bundle.surfaces.points.assign(by_location=np.nan)
    files = surface_figures.write(replace(bundle, surfaces=replace(bundle.surfaces, points=unknown, variograms=pd.DataFrame())))
    assert len(files) == 2, "a sheet that says what could not be done"


def test_a_model_of_thickness_where_it_is_or_of_ratios_is_not_drawn_and_that_of_near_pits_is(bundle):
    (surface,) = bundle.surfaces.surfaces
    own = surface.parameters
    assert surface_figures.model_of(replace(surface, parameters={"two_part": {"thickness": own, "presence": own}}), "") is None
    near = {"near_pits": {"most": 8, "within_m": None, "least": 3, "model": own}}
    assert surface_figures.model_of(replace(surface, parameters=near), "").partial_sill == 75.0


def test_no_legend_lies_over_a_point_and_each_entry_names_its_stratum(bundle):
    (surface,) = bundle.surfaces.surfaces
    strata = {"bush": surface.parameters, "cultivated": surface.parameters}
    own = bundle.surfaces.variograms
    both = pd.concat([own.assign(stratum=name) for name in strata])
    split = replace(bundle, surfaces=replace(bundle.surfaces, variograms=both))
    with drawing():
        figure = surface_figures.draw_sheet(split, replace(surface, parameters={**surface.parameters, "strata": strata}), bundle.surfaces.points)
        figure.canvas.draw()
        for axes in figure.axes:
            legend = axes.get_legend().get_window_extent()
            title = axes._left_title.get_window_extent()
            assert legend.y0 >= axes.get_window_extent().y1 - 1 and legend.y1 <= title.y0 + 1, axes.get_title(loc="left")
        labels = [text.get_text() for text in figure.axes[0].get_legend().get_texts()]
    assert labels == ["bush, sample", "bush, spherical model", "cultivated, sample", "cultivated, spherical model"]


def test_a_prediction_without_spread_that_is_right_is_held_by_intervals_of_every_share(bundle):
    """Forest floor of ploughed land: 0, said for sure, and 0 there."""
    points = bundle.surfaces.points[5:].copy()
    points[["low", "high", "by_location", "by_location_low90", "by_location_high90"]] = 0.0
    points["by_location_place"] = 1.0
    sure = drawn(surface_figures.draw_coverage, points).lines[1].get_ydata()
    points["low"] = points["high"] = 4.0
    wrong = drawn(surface_figures.draw_coverage, points).lines[1].get_ydata()
    assert (sure == 100).all() and (wrong[:-1] == 0).all()
