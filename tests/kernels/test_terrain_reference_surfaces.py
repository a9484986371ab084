"""Every point of the reference surfaces: five GeoTIFFs and the printed derivatives (numbers/terrain/surf.txt)."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest

from geoprofile.kernels.terrain_sums import relative_elevation, square_widths
from geoprofile.kernels.terrain_window import EVANS, HORN, LAYERS, derivatives

pytestmark = pytest.mark.shared
FOLDER = Path(__file__).resolve().parents[3] / "shared" / "reference" / "numbers" / "terrain"
SURFACES = {
    "plane": lambda x, y: 0.3 * x - 0.2 * y + 500,
    "bowl": lambda x, y: 0.0005 * (x**2 + y**2) + 100,
    "ellipt": lambda x, y: 0.0008 * x**2 + 0.0002 * y**2 + 0.0003 * x * y + 0.05 * x + 100,
    "saddle": lambda x, y: 0.0005 * (x**2 - y**2) + 0.1 * x + 0.05 * y + 100,
    "gauss": lambda x, y: 100 + 50 * np.exp(-(x**2 + y**2) / 12800),
}


def points() -> dict[tuple[str, str], dict[str, float]]:
    """Printed figures of each surface and point, by name."""
    found: dict[tuple[str, str], dict[str, float]] = {}
    if not FOLDER.is_dir():
        return found
    place: dict[str, float] = {}
    for line in (FOLDER / "surf.txt").read_text(encoding="utf-8").splitlines():
        values = {key: float(value) for key, value in re.findall(r"(\w+)=(-?[\d.e+-]+)", line)}
        if head := re.match(r"(\w+) (P\d) ", line):
            place = found.setdefault((head[1], head[2]), values)
        elif line.strip().startswith("Evans"):
            place.update({f"evans_{key}": value for key, value in values.items()})
        elif line.strip().startswith("Horn"):
            place["horn_slope"], place["horn_aspect"] = values["slope"], values["aspect"]
            place["tpi"] = float(re.search(r"TPI (-?[\d.]+)", line)[1])
    return found


POINTS = points()


def window(name: str, x: float, y: float) -> np.ndarray:
    return SURFACES[name](*np.meshgrid(x + np.array([-10.0, 0, 10]), y + np.array([10.0, 0, -10])))


def test_the_reference_is_there_or_said_to_be_absent():
    if not POINTS:
        pytest.skip("the reference folder ../shared is not beside the project")
    assert len(POINTS) == 15


@pytest.mark.parametrize(("surface", "point"), sorted(POINTS), ids="-".join)
def test_a_reference_point_has_the_printed_derivatives_of_both_windows(surface, point):
    printed = POINTS[surface, point]
    z = window(surface, printed["x"], printed["y"])
    assert z[1, 1] == pytest.approx(printed["z"], abs=1e-6)
    found = dict(zip(LAYERS, derivatives(z, 10.0, EVANS)[:, 1, 1], strict=True))
    assert found["slope"] == pytest.approx(printed["evans_slope"], rel=1e-5)
    azimuth = np.degrees(np.arctan2(found["aspect_sine"], found["aspect_cosine"])) % 360
    assert azimuth == pytest.approx(printed["evans_aspect"], rel=1e-5)
    for name, column in (("profile", "kprof"), ("plan", "kplan"), ("tangential", "ktan"), ("mean", "H")):
        assert found[f"{name}_curvature"] == pytest.approx(printed[f"evans_{column}"], rel=1e-5, abs=1e-12)
    slope, sine, cosine = derivatives(z, 10.0, HORN, LAYERS[:3])[:, 1, 1]
    assert slope == pytest.approx(printed["horn_slope"], abs=1e-6)
    assert np.degrees(np.arctan2(sine, cosine)) % 360 == pytest.approx(printed["horn_aspect"], abs=1e-6)


@pytest.mark.parametrize(("surface", "point"), sorted(POINTS), ids="-".join)
def test_in_its_geotiff_a_reference_point_is_as_high_above_its_eight_neighbours_as_gdaldem_says(surface, point):
    """Single precision in gdaldem; whole steps of 2^-12 m here."""
    import rasterio

    printed = POINTS[surface, point]
    with rasterio.open(FOLDER / f"{surface}.tif") as source:
        z = source.read(1).astype(float)
        row, column = source.index(printed["x"], printed["y"])
    assert z[row, column] == pytest.approx(printed["z"], abs=1e-4)
    relative, counts = relative_elevation(z, square_widths(1), middle=False)
    assert counts[row, column] == 8
    assert relative[row, column] == pytest.approx(printed["tpi"], abs=5e-4)
    assert derivatives(z, 10.0, EVANS, ["slope"])[0, row, column] == pytest.approx(printed["evans_slope"], abs=1e-4)
