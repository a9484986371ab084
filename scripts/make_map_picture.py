"""Make demo_data/map.png, the picture of the demonstration's map in the README.

    .venv/bin/python scripts/make_map_picture.py [out/demo/map.html]

Opens the map that ``scripts/demo`` made in Debian's chromium (packages chromium and chromium-driver, and selenium from
the extra ``test``), without a network, 1400 by 900 pixels; opens the profile of one pit; and saves the picture with a
palette of 256 colours, below 400 kB. The map looks the same each time, so the picture needs making again only when the
demonstration or the page has changed.
"""

from __future__ import annotations

import io
import shutil
import sys
import tempfile
from pathlib import Path

from PIL import Image
from selenium import webdriver

HERE = Path(__file__).resolve().parents[1]
PICTURE = HERE / "demo_data" / "map.png"
SIZE = (1400, 900)
MOST_BYTES = 400_000
PIT = "TK-066"
"""Wavy and gradual boundaries, an eluvial horizon, carbonates at depth: it shows what a profile can show."""
PAN = (255, 160)
"""How far the view moves, px: the survey then fills the room between list, legend and profile."""
FLAGS = (
    "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--hide-scrollbars",
    "--force-device-scale-factor=1", "--no-first-run", "--host-resolver-rules=MAP * ~NOTFOUND",
)  # fmt: skip

READY = "const done = arguments[0]; window.geoprofileReady.then(() => requestAnimationFrame(() => done(true)));"
COMPOSE = """
const search = document.getElementById('search');
document.querySelector('#tabs button[data-tab=pits]').click();
search.value = arguments[0];
search.dispatchEvent(new KeyboardEvent('keydown', {key: 'Enter'}));
document.querySelector('#tabs button[data-tab=layers]').click();
document.querySelector('#vectors input[name=zones]').click();
map_survey.panBy(arguments[1], {animate: false});
document.activeElement.blur();
"""


def picture(page: Path) -> bytes:
    """The page with the pit's profile open, as PNG."""
    options = webdriver.ChromeOptions()
    options.binary_location = shutil.which("chromium") or ""
    with tempfile.TemporaryDirectory() as profile:
        for flag in (*FLAGS, f"--user-data-dir={profile}", "--window-size={},{}".format(*SIZE)):
            options.add_argument(flag)
        driver = webdriver.Chrome(options=options, service=webdriver.ChromeService(shutil.which("chromedriver")))
        try:
            view = {"width": SIZE[0], "height": SIZE[1], "deviceScaleFactor": 1, "mobile": False}
            driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", view)
            driver.set_script_timeout(60)
            driver.get(page.resolve().as_uri())
            driver.execute_async_script(READY)
            driver.execute_script(COMPOSE, PIT, PAN)
            driver.execute_async_script("setTimeout(arguments[0], 800)")
            return driver.get_screenshot_as_png()
        finally:
            driver.quit()


def smaller(png: bytes) -> bytes:
    """The same picture with a palette; raises ValueError when it stays too large."""
    sink = io.BytesIO()
    image = Image.open(io.BytesIO(png)).convert("RGB")
    image.quantize(256, method=Image.Quantize.MEDIANCUT, dither=Image.Dither.NONE).save(sink, "PNG", optimize=True)
    if sink.tell() > MOST_BYTES:
        raise ValueError(f"the picture takes {sink.tell()} bytes, more than {MOST_BYTES}")
    return sink.getvalue()


if __name__ == "__main__":
    source = Path(sys.argv[1]) if len(sys.argv) > 1 else HERE / "out" / "demo" / "map.html"
    PICTURE.write_bytes(smaller(picture(source)))
    print(f"{PICTURE}: {PICTURE.stat().st_size / 1000:.0f} kB")
