"""Terrain clusters and the words of their legend."""

from __future__ import annotations

import numpy as np
import pytest

from geoprofile.settings.zones import DraftSettings
from geoprofile.zones.clusters import cluster_name, terrain_clusters
from geoprofile.zones.findings import Findings


def clusters(terrain, context, **draft):
    findings = Findings()
    found = terrain_clusters(terrain, DraftSettings(from_="clusters", **draft), 1, context, findings)
    return found and (found[0].read(terrain.grid.whole), found[1]), findings


def test_words_tell_what_differs_clearly_and_numbers_what_it_is():
    rasters, units = ("relative_elevation", "slope", "tangential_curvature"), ["m", "degrees", "1/m"]
    name = cluster_name(rasters, np.array([1.2, 0.7, 0.9]), np.array([1.8, 7.0, 0.004]), units)
    assert name == "higher than around, steeper, shedding (relative elevation 1.8 m, slope 7.0 degrees)"
    name = cluster_name(rasters, np.array([-0.4, 0.2, -0.1]), np.array([-0.04, 3.0, 0.0]), units)
    assert name == "about average (relative elevation 0.0 m, slope 3.0 degrees)"
    assert cluster_name(("stoniness",), np.array([-2.0]), np.array([1.0]), [""]) == "less stoniness"


def test_three_clear_groups_are_found_highest_first_and_cells_without_terrain_have_none(make_terrain, make_context):
    context = make_context()
    level = np.repeat([5.0, -5.0, 0.0], [7, 7, 6])[:, None] + np.random.default_rng(0).normal(0, 0.2, (20, 30))
    level[0, 0] = np.nan
    terrain = make_terrain(context, relative_elevation=level, slope=np.abs(level))
    (codes, names), findings = clusters(terrain, context, clusters=3)
    assert codes[0, 0] == 0
    assert (
        np.unique(codes[1:7]).tolist() == [1]
        and np.unique(codes[7:14]).tolist() == [3]
        and np.unique(codes[14:]).tolist() == [2]
    )
    assert names[1].startswith("higher than around") and names[3].startswith("lower than around")
    assert any("k-means, seed 1" in note for note in findings.notes)


@pytest.mark.parametrize("use", [("wetness",), ("landform_element",)])
def test_K20_rasters_that_are_not_there_or_hold_classes_are_refused(make_terrain, make_context, use):
    context = make_context()
    terrain = make_terrain(context, {1: "one"}, relative_elevation=np.random.default_rng(0).normal(size=(20, 30)),
                           landform_element=np.ones((20, 30)))  # fmt: skip
    found, findings = clusters(terrain, context, use=use)
    assert found is None and "choose among relative_elevation" in findings.problems[0].remedy


def test_flat_terrain_has_no_clusters(make_terrain, make_context):
    context = make_context()
    found, findings = clusters(make_terrain(context, relative_elevation=np.zeros((20, 30))), context)
    assert found is None and "do not vary" in findings.problems[0].what
