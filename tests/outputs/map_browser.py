"""A headless Chromium without network, and what is checked of a page in it."""

from __future__ import annotations

import json
import os
import shutil
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import pytest
import rasterio

from geoprofile.outputs.map_places import Places
from geoprofile.outputs.web_map import extent

from . import map_bundle

ARTEFACTS = Path(__file__).resolve().parents[2] / "artefacts"
CELLS = {"summit": (18, 21), "slope": (24, 33), "flat": (38, 52), "corner": (0, 0), "without data": (47, 3)}
"""Row and column of five cells; the last is masked. (0, 0) is the outer corner of the grid."""
LOCAL = ("file:", "data:", "blob:", "about:", "chrome:")
FLAGS = (
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-dev-shm-usage",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-default-apps",
    "--disable-extensions",
    "--no-first-run",
    "--no-default-browser-check",
    "--disable-quic",
    "--metrics-recording-only",
    "--hide-scrollbars",
    "--force-device-scale-factor=1",
    "--host-resolver-rules=MAP * ~NOTFOUND",
)


def require_browser() -> tuple[str, str]:
    """Paths of Debian's chromium and chromedriver; skips without them, fails where CI is set."""
    try:
        import selenium  # noqa: F401
    except ImportError:
        found = None
    else:
        found = shutil.which("chromium"), shutil.which("chromedriver")
    if found and all(found):
        return found
    reason = "chromium, chromedriver and selenium are needed to open the map"
    if os.environ.get("CI") == "true":
        pytest.fail(reason + "; with CI=true this is a failure")
    pytest.skip(reason)


@contextmanager
def browser(profile: Path, width: int, height: int, *, touch: bool = False) -> Iterator:
    """A driver whose network is off, with ``profile`` as its fresh user folder."""
    from selenium import webdriver

    chromium, driver_path = require_browser()
    options = webdriver.ChromeOptions()
    options.binary_location = chromium
    for flag in (*FLAGS, f"--user-data-dir={profile}", f"--window-size={width},{height}"):
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"performance": "ALL", "browser": "ALL"})
    driver = webdriver.Chrome(options=options, service=webdriver.ChromeService(executable_path=driver_path))
    try:
        driver.set_script_timeout(60)
        driver.execute_cdp_cmd("Network.enable", {})
        driver.execute_cdp_cmd(
            "Network.emulateNetworkConditions",
            {"offline": True, "latency": 0, "downloadThroughput": 0, "uploadThroughput": 0},
        )
        driver.execute_cdp_cmd(
            "Emulation.setDeviceMetricsOverride",
            {"width": width, "height": height, "deviceScaleFactor": 2 if touch else 1, "mobile": touch},
        )
        if touch:
            driver.execute_cdp_cmd("Emulation.setTouchEmulationEnabled", {"enabled": True, "maxTouchPoints": 5})
        yield driver
    finally:
        driver.quit()


def open_map(driver, path: Path) -> None:
    """Open the page and wait until its layers are drawn."""
    driver.get(path.as_uri())
    driver.execute_async_script(
        "const done = arguments[arguments.length - 1];"
        "if (!window.geoprofileReady) { done(false); } else { window.geoprofileReady.then(() => requestAnimationFrame(() => done(true))); }"
    )


def check_requests(driver) -> int:
    """Every request so far stayed on this machine; their number. Raises AssertionError naming one that did not."""
    urls = []
    for entry in driver.get_log("performance"):
        message = json.loads(entry["message"])["message"]
        if message["method"] in ("Network.requestWillBeSent", "Network.webSocketCreated"):
            params = message["params"]
            urls.append(params.get("request", params)["url"])
    remote = [url for url in urls if not url.startswith(LOCAL)]
    assert not remote, f"requests that leave the machine: {remote}"
    return len(urls)


def check_console(driver) -> None:
    """The console has nothing to say."""
    entries = [entry["message"] for entry in driver.get_log("browser")]
    assert not entries, f"the console is not empty: {entries}"


def read_by_hook(driver, latitude: float, longitude: float) -> dict:
    return driver.execute_script("return window.geoprofileRead(arguments[0], arguments[1])", latitude, longitude)


def point_on_screen(driver, latitude: float, longitude: float) -> tuple[float, float]:
    """Move the map so that the place is in its free upper part, and say where it is on the screen, px."""
    return tuple(
        driver.execute_script(
            "const m = window.map_survey, at = L.latLng(arguments[0], arguments[1]), s = m.getSize();"
            "m.setZoom(18, {animate: false});"
            "m.panTo(at, {animate: false});"
            "m.panBy([0, s.y * 0.22], {animate: false});"
            "const p = m.latLngToContainerPoint(at), box = m.getContainer().getBoundingClientRect();"
            "return [box.left + p.x, box.top + p.y];",
            latitude,
            longitude,
        )
    )


def press(driver, x: float, y: float, *, touch: bool) -> None:
    """A real click or tap of the browser's input, not of a script."""
    if touch:
        driver.execute_cdp_cmd("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [{"x": x, "y": y}]})
        driver.execute_cdp_cmd("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    else:
        for kind in ("mousePressed", "mouseReleased"):
            driver.execute_cdp_cmd(
                "Input.dispatchMouseEvent", {"type": kind, "x": x, "y": y, "button": "left", "clickCount": 1}
            )
    time.sleep(0.45 if touch else 0.2)


def panel_text(driver) -> str:
    return driver.execute_script("const p = document.getElementById('panel'); return p.hidden ? '' : p.innerText")


def keep_picture(driver, name: str) -> Path:
    ARTEFACTS.mkdir(exist_ok=True)
    path = ARTEFACTS / f"{name}.png"
    driver.save_screenshot(str(path))
    return path


def middle_of(bundle, row: int, column: int) -> tuple[float, float]:
    """Latitude and longitude of the middle of a cell."""
    x, y = map_bundle.GRID.centres()
    latitude, longitude = Places.of(map_bundle.CRS, extent(bundle)).latitude_longitude([x[column]], [y[row]])
    return float(latitude[0]), float(longitude[0])


def check_cells(driver, bundle) -> None:
    """Every raster at the five cells reads the same as its GeoTIFF, within half of the step that is kept."""
    for row, column in CELLS.values():
        said = read_by_hook(driver, *middle_of(bundle, row, column))
        for surface in said["surfaces"] + said["classes"]:
            for key, value in surface["values"].items():
                with rasterio.open(Path(bundle.context.output) / bundle.surfaces.rasters[key].path) as source:
                    cell = float(source.read(1)[row, column])
                where = f"{key} at row {row}, column {column}: the map reads {value}, the GeoTIFF {cell}"
                if bundle.surfaces.rasters[key].kind == "class":
                    assert (value or 0) == cell, where
                elif np.isnan(cell):
                    assert value is None, where
                else:
                    percent = bundle.surfaces.rasters[key].unit == "probability"
                    assert value is not None and abs(value - cell * (100 if percent else 1)) <= (
                        0.501 if percent else 0.0501
                    ), where


def open_by_search(driver, pit: str) -> None:
    driver.execute_script(
        "document.querySelector('[data-tab=pits]').click();"
        "const box = document.getElementById('search'); box.value = arguments[0];"
        "box.dispatchEvent(new Event('input')); box.dispatchEvent(new KeyboardEvent('keydown', {key: 'Enter', bubbles: true}));",
        pit,
    )
