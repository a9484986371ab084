"""Pages made in a test, in a real browser at a desk: planted faults are caught, odd surveys are shown, nothing lies on what is read."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import geopandas as gpd
import pytest

from geoprofile.outputs import map_layers
from geoprofile.outputs.bundle import Bundle
from geoprofile.outputs.web_map import web_map

from . import map_bundle
from .map_browser import (
    check_cells,
    check_console,
    check_requests,
    keep_picture,
    open_by_search,
    open_map,
    panel_text,
    point_on_screen,
)
from .test_web_map import NOTES_15, notes_bundle

pytestmark = pytest.mark.browser


def test_every_note_shows_as_typed_in_panel_tooltip_and_layer_name_W1_W2_W3_W4(tmp_path, desk):
    """Input 15."""
    web_map.write(notes_bundle(tmp_path))
    driver = desk
    open_map(driver, tmp_path / "map.html")
    names = driver.execute_script("return Array.from(document.querySelectorAll('.layer-name')).map(n => n.textContent)")
    assert NOTES_15[7] in names and NOTES_15[5] in names
    assert driver.execute_script("return document.getElementById('survey-name').textContent") == NOTES_15[9]
    for pit, note in zip([row[0] for row in map_bundle.PITS], NOTES_15, strict=True):
        open_by_search(driver, pit)
        assert (
            driver.execute_script("const p = document.querySelector('#panel .remarks'); return p && p.textContent")
            == note
        )
    driver.execute_script("document.getElementById('panel-close').click()")
    for k, note in enumerate(NOTES_15):
        at = driver.execute_script(
            "const p = JSON.parse(document.getElementById('survey-data').textContent).pits, k = arguments[0];"
            "return p.place[k] === k ? [p.lat[k], p.lon[k]] : null",
            k,
        )
        if at is None:
            continue  # the second visit and the pit without coordinates have no marker of their own
        x, y = point_on_screen(driver, *at)
        driver.execute_cdp_cmd("Input.dispatchMouseEvent", {"type": "mouseMoved", "x": x + 1, "y": y})
        assert (
            driver.execute_script(
                "const t = document.querySelector('#tip:not([hidden]) .remarks'); return t && t.textContent"
            )
            == note
        )
    unplaced = driver.execute_script("return document.getElementById('unplaced').textContent")
    assert "1 pit has no coordinates" in unplaced and "P12" in unplaced
    keep_picture(driver, "map-desk-notes")
    check_requests(driver)
    check_console(driver)


def sabotaged(path: Path, folder: Path, old: str, new: str) -> Path:
    text = path.read_text(encoding="utf-8")
    assert text.count(old) >= 1
    copy = folder / "map.html"
    copy.write_text(text.replace(old, new, 1), encoding="utf-8")
    return copy


def test_a_planted_remote_script_makes_the_check_fail(survey, tmp_path, desk):
    """A test of the test: with its policy taken out, a page that fetches is caught."""
    policy = re.search(r'<meta http-equiv="Content-Security-Policy"[^>]*>', survey[1].read_text(encoding="utf-8"))[0]
    page = sabotaged(survey[1], tmp_path, policy, '<script src="https://example.org/planted.js"></script>')
    driver = desk
    open_map(driver, page)
    with pytest.raises(AssertionError, match="planted.js"):
        check_requests(driver)
    with pytest.raises(AssertionError, match="console"):
        check_console(driver)


def test_the_policy_of_the_page_stops_a_planted_script(survey, tmp_path, desk):
    page = sabotaged(survey[1], tmp_path, "</body>", "<script>document.title = 'planted'</script></body>")
    driver = desk
    open_map(driver, page)
    assert driver.title == "Gull Knolls (invented)"
    with pytest.raises(AssertionError, match="Content Security Policy|console"):
        check_console(driver)


def test_a_wrong_cell_makes_the_check_fail(survey, tmp_path, desk):
    """A test of the test: the survey's grid shifted by one cell is caught."""
    page = sabotaged(survey[1], tmp_path, '"west":560000.0,"north":5790500.0', '"west":560010.0,"north":5790500.0')
    driver = desk
    open_map(driver, page)
    with pytest.raises(AssertionError, match="the map reads"):
        check_cells(driver, survey[0])


def test_the_keyboard_reads_the_middle_of_the_map(survey, desk):
    from selenium.webdriver.common.keys import Keys

    open_map(desk, survey[1])
    desk.execute_script("window.map_survey.getContainer().focus()")
    desk.switch_to.active_element.send_keys(Keys.ENTER)
    assert panel_text(desk).startswith("Reading")


def test_the_first_stop_of_the_keyboard_skips_to_the_layers_and_the_map_says_what_it_is(survey, desk):
    from selenium.webdriver.common.keys import Keys

    open_map(desk, survey[1])
    desk.find_element("tag name", "body").send_keys(Keys.TAB)
    assert desk.switch_to.active_element.text.startswith("Skip to layers")
    desk.switch_to.active_element.send_keys(Keys.ENTER)
    assert desk.execute_script("return document.activeElement.id") == "side"
    named = desk.execute_script("const c = window.map_survey.getContainer(); return [c.getAttribute('role'), c.getAttribute('aria-label')]")
    assert named[0] == "region" and named[1].startswith("Map")


def test_a_map_with_tiles_shows_their_credit_and_works_without_them_W15(tmp_path, desk):
    made = map_bundle.bundle(
        tmp_path, tiles="https://{s}.example.org/{z}/{x}/{y}.png", tiles_credit="Tiles by <Example>"
    )
    web_map.write(made)
    open_map(desk, tmp_path / "map.html")
    assert desk.execute_script("return document.getElementById('credit').textContent") == "Tiles by <Example>"
    check_cells(desk, made)
    with pytest.raises(AssertionError, match="example.org"):
        check_requests(desk)
    desk.get_log("browser")  # the tiles that did not come


def test_a_survey_without_any_place_lists_its_pits(tmp_path, desk):
    made = map_bundle.bundle(tmp_path)
    frame = made.pits.pits.copy()
    frame.geometry = gpd.GeoSeries([None] * len(frame), crs=map_bundle.CRS)
    web_map.write(Bundle(made.settings, made.context, replace(made.pits, pits=frame), made.attributes))
    open_map(desk, tmp_path / "map.html")
    open_by_search(desk, "P1")
    assert "no coordinates" in panel_text(desk) and "38\u00a0cm" in panel_text(desk)
    check_console(desk)


def test_the_tooltip_of_a_pit_beside_an_open_panel_does_not_lie_on_it(survey, desk):
    open_map(desk, survey[1])
    open_by_search(desk, "P1")
    assert desk.execute_script("return document.getElementById('tip').hidden"), "what lay there when the panel opened is gone"
    edge = desk.execute_script("return document.getElementById('panel').getBoundingClientRect().left")
    x, y = desk.execute_script(
        "const m = window.map_survey, p = JSON.parse(document.getElementById('survey-data').textContent).pits;"
        "const at = m.latLngToContainerPoint([p.lat[0], p.lon[0]]), box = m.getContainer().getBoundingClientRect();"
        "m.panBy([at.x - (arguments[0] - box.left - 30), at.y - 300], {animate: false});"
        "const now = m.latLngToContainerPoint([p.lat[0], p.lon[0]]); return [box.left + now.x, box.top + now.y];",
        edge,
    )
    desk.execute_cdp_cmd("Input.dispatchMouseEvent", {"type": "mouseMoved", "x": x, "y": y})
    tip = desk.execute_script("const b = document.querySelector('#tip:not([hidden])').getBoundingClientRect(); return [b.left, b.right]")
    assert 0 <= tip[0] and tip[1] <= x < edge


def test_cells_that_became_coarser_say_how_large_they_and_those_of_the_files_are(tmp_path, desk, monkeypatch):
    monkeypatch.setattr(map_layers, "MOST_CELLS", 700)
    web_map.write(map_bundle.bundle(tmp_path))
    open_map(desk, tmp_path / "map.html")
    legend = desk.execute_script("return document.getElementById('legend').innerText")
    assert "cells of 30\u00a0m, of 10\u00a0m in the files" in legend
    notes = desk.execute_script("return document.getElementById('notes').textContent")
    assert "cells are 30 m here and 10 m in the GeoTIFF files" in notes and "cells of the survey's own grid" not in notes
