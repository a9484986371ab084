"""The map in a real browser without network: what is asked of it, what it shows, what it reads."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
import rasterio

from geoprofile.outputs.map_places import Places
from geoprofile.outputs.web_map import extent

from . import map_bundle
from .map_browser import (
    CELLS,
    browser,
    check_cells,
    check_console,
    check_requests,
    keep_picture,
    middle_of,
    open_by_search,
    open_map,
    panel_text,
    point_on_screen,
    press,
    read_by_hook,
)

pytestmark = pytest.mark.browser

SIZES = {"phone": (360, 740, True), "desk": (1400, 900, False)}


@pytest.fixture(scope="module", params=SIZES)
def opened(request, survey, tmp_path_factory):
    """(driver, name of the size, touch, bundle) with the map open."""
    width, height, touch = SIZES[request.param]
    with browser(tmp_path_factory.mktemp("profile"), width, height, touch=touch) as driver:
        open_map(driver, survey[1])
        yield driver, request.param, touch, survey[0]


COPIED = """
function copied(canvas) {
  const copy = document.createElement('canvas');
  copy.width = canvas.width;
  copy.height = canvas.height;
  const context = copy.getContext('2d', {willReadFrequently: true});
  context.drawImage(canvas, 0, 0);
  return context;
}
"""


def test_every_request_stays_here_and_the_console_is_empty(opened):
    driver, size, _, _ = opened
    keep_picture(driver, f"map-{size}-open")
    assert check_requests(driver) >= 1
    check_console(driver)


def test_five_cells_read_the_same_as_the_geotiff(opened):
    driver, _, _, bundle = opened
    check_cells(driver, bundle)
    summit = read_by_hook(driver, *middle_of(bundle, *CELLS["summit"]))
    height = map_bundle.hill()[CELLS["summit"]]
    assert [row["text"] for row in summit["terrain"]] == ["level", f"{height:.1f}\u00a0m"]
    assert summit["surfaces"][0]["reason"] == "backed by the pits"
    assert (
        read_by_hook(driver, *middle_of(bundle, *CELLS["without data"]))["surfaces"][0]["reason"]
        == "too far from any pit"
    )
    assert read_by_hook(driver, 10.0, 10.0)["surfaces"][0]["estimate"] is None


@pytest.mark.parametrize("name", CELLS)
def test_a_real_click_reads_what_the_geotiff_holds(opened, name):
    driver, size, touch, bundle = opened
    row, column = CELLS[name]
    driver.execute_script("document.getElementById('panel-close').click()")
    x, y = point_on_screen(driver, *middle_of(bundle, row, column))
    press(driver, x, y, touch=touch)
    text = panel_text(driver)
    keep_picture(driver, f"map-{size}-cell-{name.replace(' ', '-')}")
    with rasterio.open(Path(bundle.context.output) / "surfaces/depth_to_carbonates_estimate.tif") as source:
        cell = float(source.read(1)[row, column])
    assert text.startswith("Reading")
    if np.isnan(cell):
        assert "no estimate" in text and "too far from any pit" in text
    else:
        assert f"{round(cell, 1):g}\u00a0cm" in text and "90 % interval" in text and "Nearest pits" in text
    if name == "slope":
        assert re.search(r"P3\s+\d+\u00a0m\s+>60", text)


def test_classes_are_drawn_in_colours_of_their_own_and_a_click_reads_each_of_them(opened):
    driver, size, touch, bundle = opened
    driver.execute_script("document.getElementById('panel-close').click()")
    driver.execute_script(
        "[...document.querySelectorAll('#groups label')].find(row => row.textContent === 'Drainage').querySelector('input').click()"
    )
    row, column = CELLS["slope"]
    x, y = point_on_screen(driver, *middle_of(bundle, row, column))
    press(driver, x, y, touch=touch)
    keep_picture(driver, f"map-{size}-classes")
    card = driver.execute_script("return document.querySelector('.card.active').innerText")
    poorly, well, other = (_cell(bundle, key, row, column) for key in bundle.surfaces.classes[0].each.values())
    name, percent = ("poorly", poorly) if poorly > well else ("well <b>drained</b>", well)
    assert card.startswith(f"Drainage\n{name}, {round(100 * percent)}\u00a0%") and "71 % promised" in card
    assert f"other classes\t{round(100 * other)}\u00a0%" in card.replace("\n", "")
    legend = driver.execute_script(
        "return Array.from(document.querySelectorAll('.legend-card:first-child .row')).map(row => row.querySelector('span').textContent)"
    )
    assert legend == ["poorly", "well <b>drained</b>", "other classes"]
    noted = driver.execute_script("return document.querySelector('.nearest').innerText")
    assert noted.startswith("Pit\tDistance\tDrainage") and noted.count("well") == 5, "the pits beside it say their class, not a thickness"
    driver.execute_script("document.getElementById('shown-1').click()")


def test_what_nobody_may_miss_and_the_chance_of_more_than_a_limit_stand_in_the_reading(opened):
    driver, size, touch, bundle = opened
    driver.execute_script("document.getElementById('panel-close').click()")
    driver.execute_script(
        "[...document.querySelectorAll('#groups label')].find(row => row.textContent.startsWith('Depth to carb')).querySelector('input').click()"
    )
    assert map_bundle.CAUTION in driver.execute_script("return document.querySelector('#groups .warning').textContent")
    row, column = CELLS["slope"]
    x, y = point_on_screen(driver, *middle_of(bundle, row, column))
    press(driver, x, y, touch=touch)
    card = driver.execute_script("return document.querySelector('.card.active').innerText")
    more = round(100 * _cell(bundle, "depth_to_carbonates_above_60", row, column))
    assert f"Probability of more than 60 cm {more}\u00a0%" in card and map_bundle.CAUTION in card
    driver.execute_script("document.getElementById('panel-close').click()")


def _cell(bundle, key: str, row: int, column: int) -> float:
    return float(bundle.surfaces.rasters[key].read(bundle.context.output)[row, column])


def test_one_screen_pixel_is_the_most_by_which_a_cell_is_out_of_place_W6(opened):
    """A drawn cell has its colour up to one pixel from its corner, at the edges of the grid and in its middle."""
    driver, _, _, bundle = opened
    grid = map_bundle.GRID
    places = Places.of(map_bundle.CRS, extent(bundle))
    for row, column in ((0, 0), (25, 30), (49, 59)):
        x = np.array([grid.west + column * 10, grid.west + column * 10 + 10])
        y = np.array([grid.north - row * 10, grid.north - row * 10 - 10])
        latitude, longitude = places.to_degrees.transform(x, y)[::-1]
        drawn = driver.execute_script(
            COPIED
            + """
            const m = window.map_survey, corners = arguments[0];
            m.setView(corners[0], 20, {animate: false});
            const canvas = document.querySelector('.leaflet-cells-pane canvas'), c = copied(canvas);
            const ratio = canvas.width / canvas.getBoundingClientRect().width, at = L.DomUtil.getPosition(canvas);
            function pixel(latlng, dx, dy) {
              const p = m.latLngToLayerPoint(latlng).subtract(at);
              return Array.from(c.getImageData(Math.round((p.x + dx) * ratio), Math.round((p.y + dy) * ratio), 1, 1).data);
            }
            // just inside and just outside the north-west corner of the cell, and its middle
            const middle = [(corners[0][0] + corners[1][0]) / 2, (corners[0][1] + corners[1][1]) / 2];
            return [pixel(corners[0], 1, 1), pixel(corners[0], -1, -1), pixel(middle, 0, 0)];
            """,
            [[latitude[0], longitude[0]], [latitude[1], longitude[1]]],
        )
        inside, outside, middle = drawn
        assert inside == middle and inside[3] == 255
        if (row, column) == (0, 0):
            assert outside[3] == 0  # nothing is drawn beyond the grid


def test_a_pit_opens_with_its_profile_its_attributes_and_its_record(opened):
    driver, size, touch, bundle = opened
    pits = bundle.pits.pits
    shape = pits.loc[pits["pit_id"] == "P1", "geometry"].iloc[0]
    latitude, longitude = Places.of(map_bundle.CRS, extent(bundle)).latitude_longitude([shape.x], [shape.y])
    driver.execute_script("document.getElementById('panel-close').click()")
    x, y = point_on_screen(driver, float(latitude[0]), float(longitude[0]))
    press(driver, x, y, touch=touch)
    text = panel_text(driver)
    keep_picture(driver, f"map-{size}-pit")
    assert text.startswith("Pit P1") and "38\u00a0cm" in text and "effervescence" in text and "100\u00a0cm" in text
    assert "Lime in pockets <2 cm & along cracks." in text
    drawn = driver.execute_script(
        "return Array.from(document.querySelectorAll('.profile .designation')).map(t => t.textContent)"
    )
    assert drawn == ["Ap", "Ae", "AB", "Bt", "Cca", "Ck"]
    fills = driver.execute_script(
        "return Array.from(document.querySelectorAll('.profile polygon')).map(p => p.getAttribute('fill'))"
    )
    assert len(set(fills)) == 6 and all(re.fullmatch("#[0-9a-f]{6}", fill) for fill in fills)
    assert "not seen below" in driver.execute_script("return document.querySelector('.profile').textContent")


def test_visits_to_one_place_are_a_list_behind_one_marker_W18(opened):
    driver, _, _, _ = opened
    open_by_search(driver, "P3")
    assert "2 visits to this place" in panel_text(driver)
    driver.execute_script("document.querySelectorAll('.visits button')[1].click()")
    assert panel_text(driver).startswith("Pit P3 again") and "64\u00a0cm" in panel_text(driver)


def test_a_pit_without_colour_or_lower_depth_is_hatched_and_open(opened):
    driver, _, _, _ = opened
    open_by_search(driver, "P3")
    fills = driver.execute_script(
        "return Array.from(document.querySelectorAll('.profile polygon')).map(p => p.getAttribute('fill'))"
    )
    assert fills[0] == fills[3] == "url(#no-colour)"
    assert "from 42" in driver.execute_script("return document.querySelector('.profile').textContent")


def test_the_keyboard_opens_a_pit_and_closes_it(opened):
    from selenium.webdriver.common.keys import Keys

    driver, _, _, _ = opened
    driver.execute_script(
        "document.getElementById('panel-close').click(); document.querySelector('[data-tab=pits]').click();"
        "document.getElementById('search').value = ''; document.getElementById('search').dispatchEvent(new Event('input'));"
        "document.getElementById('search').focus();"
    )
    driver.switch_to.active_element.send_keys(Keys.TAB)
    driver.switch_to.active_element.send_keys(Keys.ENTER)
    assert panel_text(driver).startswith("Pit P1")
    driver.switch_to.active_element.send_keys(Keys.ESCAPE)
    assert panel_text(driver) == ""


def test_the_panel_fits_the_screen_and_scrolls_W16(opened):
    driver, size, _, _ = opened
    open_by_search(driver, "P1")
    width, box, scrolls, sideways = driver.execute_script(
        "const p = document.getElementById('panel'), b = p.getBoundingClientRect();"
        "return [window.innerWidth, [b.left, b.right], p.scrollHeight > p.clientHeight, p.scrollWidth - p.clientWidth];"
    )
    assert box[0] >= 0 and box[1] <= width == SIZES[size][0]
    assert scrolls and sideways <= 0
    assert driver.execute_script("return document.documentElement.scrollWidth") <= width


def test_the_legend_follows_its_layer_W12(opened):
    driver, size, _, _ = opened
    legend = "return document.getElementById('legend').innerText"
    driver.execute_script("document.getElementById('panel-close').click()")
    if size == "phone":
        driver.execute_script("document.getElementById('side-close').click()")
    shown = driver.execute_script(legend)
    assert "Depth to carbonates, cm" in shown and "Estimate \u00b7 cells of 10\u00a0m\n" in shown
    driver.execute_script("document.getElementById('shown-2').click()")
    assert "Thickness of A and E, cm" in driver.execute_script(legend) and "carbonates" not in driver.execute_script(
        legend
    )
    driver.execute_script("document.getElementById('shown-5').click()")
    assert "convergent footslope" in driver.execute_script(legend)
    driver.execute_script("document.getElementById('shown-0').click()")
    assert driver.execute_script("return document.getElementById('legend').hidden")
    driver.execute_script("document.getElementById('shown-1').click()")


def test_class_cells_are_not_smoothed_W7(opened):
    driver, _, _, _ = opened
    driver.execute_script("document.getElementById('shown-5').click(); window.map_survey.setZoom(19, {animate: false})")
    colours = driver.execute_script(
        COPIED + "const canvas = document.querySelector('.leaflet-cells-pane canvas'), seen = {};"
        "const d = copied(canvas).getImageData(0, 0, canvas.width, canvas.height).data;"
        "for (let k = 0; k < d.length; k += 4) seen[[d[k], d[k + 1], d[k + 2], d[k + 3]].join()] = 1;"
        "return Object.keys(seen);"
    )
    driver.execute_script("document.getElementById('shown-1').click()")
    assert 2 <= len([colour for colour in colours if not colour.endswith(",0")]) <= 3


def test_polygons_are_read_and_drawn_under_the_pits_W13(opened):
    driver, size, _, bundle = opened
    driver.execute_script(
        "document.querySelectorAll('#vectors input').forEach(box => { if (!box.checked) box.click(); });"
        "document.querySelector('[title=\"Whole survey\"]').click()"
    )
    keep_picture(driver, f"map-{size}-polygons")
    said = read_by_hook(driver, *middle_of(bundle, 20, 18))
    assert {(row["layer"], row["name"]) for row in said["polygons"]} == {("zones", "knoll"), ("parcels", "North half")}


def test_after_all_this_nothing_was_asked_of_the_network(opened):
    driver, _, _, _ = opened
    check_requests(driver)
    check_console(driver)
