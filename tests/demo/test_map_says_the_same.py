"""A click on the demonstration's map names the same pits, with the same weights, as the command line."""

from __future__ import annotations

import numpy as np
import pytest

from geoprofile.outputs.map_places import Places
from geoprofile.surfaces.explaining import explain

from ..outputs.map_browser import browser, check_console, keep_picture, open_map, point_on_screen, press, read_by_hook

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def page(demo, tmp_path_factory):
    with browser(tmp_path_factory.mktemp("profile"), 1400, 900) as driver:
        open_map(driver, demo.context.output / "map.html")
        yield driver


@pytest.fixture(scope="module")
def spots(demo):
    """Near cell centres on the map, at its corner outside all strata, and at a pit: (x, y), and degrees by the page's operation."""
    surfaces = demo.products["surfaces"]
    grid, rng = surfaces.grid, np.random.default_rng(4)
    shown = np.flatnonzero(np.isfinite(surfaces.rasters["depth_to_carbonates_estimate_cm"].read(demo.context.output)))
    centres = grid.centre_points()[[*rng.choice(shown, 3, replace=False), 0]]
    pit = surfaces.points[["x", "y"]].iloc[40].to_numpy(float)
    places = np.vstack([centres + 2.0, pit])
    south = Places.of(demo.context.survey.crs, grid.bounds).latitude_longitude(*places.T)
    return list(zip(places, *south, strict=True))


def test_the_map_names_the_same_five_pits_with_the_same_weights_as_explain(demo, page, spots):
    surfaces = demo.products["surfaces"]
    compared = 0
    for (x, y), latitude, longitude in spots:
        said = {one["name"]: one["pits"] for one in read_by_hook(page, float(latitude), float(longitude))["surfaces"]}
        for surface in surfaces.surfaces:
            owed = explain(surfaces, surface.attribute, x, y, demo.context, most=5)
            found = said[surface.attribute]
            if found is None:
                assert owed.stratum == "no stratum" and not owed.pits
                continue
            assert found["weighed"] == (not np.isnan(owed.rest_weight))
            assert [row["id"] for row in found["rows"]] == [pit.pit_id for pit in owed.pits], (surface.attribute, x, y)
            assert [row["says"] for row in found["rows"]] == [pit.says for pit in owed.pits]
            assert [row["distance"] for row in found["rows"]] == pytest.approx([pit.distance_m for pit in owed.pits], abs=0.01)
            if found["weighed"]:
                assert [row["weight"] for row in found["rows"]] == pytest.approx([pit.weight for pit in owed.pits], abs=2e-4), surface.attribute
                assert [row["counts_as"] for row in found["rows"]] == pytest.approx([pit.counts_as for pit in owed.pits], rel=1e-4, abs=1e-4)
                assert found["rest"] == pytest.approx(owed.rest_weight, abs=2e-4) and found["others"] == owed.rest_count
            compared += len(owed.pits)
    assert compared > 100


def test_a_click_shows_them_beside_the_value(demo, page, spots):
    (x, y), latitude, longitude = spots[0]
    page.execute_script(
        "[...document.querySelectorAll('#groups label')].find(row => row.textContent.startsWith('Depth to carb')).querySelector('input').click()"
    )
    press(page, *point_on_screen(page, float(latitude), float(longitude)), touch=False)
    keep_picture(page, "demo-why")
    owed = explain(demo.products["surfaces"], "depth_to_carbonates", x, y, demo.context, most=5)
    rows = page.execute_script("return Array.from(document.querySelectorAll('.why tbody tr')).map(row => row.innerText)")
    assert len(rows) == len(owed.pits) == 5
    for text, pit in zip(rows, owed.pits, strict=True):
        assert text.startswith(pit.pit_id) and pit.says in text and f"{abs(pit.weight):.3f}" in text and f"{pit.distance_m:.0f}\u00a0m" in text
    check_console(page)
