"""A headless Chromium without network, and what is checked of a page in it."""

from __future__ import annotations

import json
import os
import shutil
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

ARTEFACTS = Path(__file__).resolve().parents[2] / "artefacts"
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
