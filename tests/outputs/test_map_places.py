"""Places: one operation for the whole map, and a lattice that finds the survey's own coordinates."""

import numpy as np
import pyproj
import pytest

from geoprofile.outputs.map_places import Places, lattice_over

BOUNDS = (560_000.0, 5_790_000.0, 560_600.0, 5_790_500.0)


@pytest.mark.parametrize(
    ("crs", "bounds", "cell"),
    [
        ("EPSG:3158", BOUNDS, 10.0),
        ("EPSG:3158", (500_000.0, 5_700_000.0, 560_000.0, 5_760_000.0), 20.0),
        ("EPSG:32633", (440_000.0, 5_000_000.0, 441_500.0, 5_001_500.0), 1.0),
        ("EPSG:2193", (1_570_000.0, 5_180_000.0, 1_573_000.0, 5_182_000.0), 5.0),
    ],
)
def test_the_lattice_finds_every_place_within_a_hundredth_of_a_cell(crs, bounds, cell):
    places = Places.of(crs, bounds)
    lattice = lattice_over(places, bounds, 0.004 * cell)
    rng = np.random.default_rng(3)
    x, y = rng.uniform(bounds[0], bounds[2], 4000), rng.uniform(bounds[1], bounds[3], 4000)
    plain = lattice.plain()
    as_shipped = type(lattice)(
        plain["west"],
        plain["south"],
        plain["step_x"],
        plain["step_y"],
        np.reshape(plain["x"], (plain["rows"], plain["columns"])),
        np.reshape(plain["y"], (plain["rows"], plain["columns"])),
    )
    found_x, found_y = as_shipped.survey(*places.mercator(x, y))
    assert np.hypot(found_x - x, found_y - y).max() < 0.01 * cell


def test_degrees_agree_with_the_projection_library_and_have_six_decimals_W17():
    places = Places.of("EPSG:3158", BOUNDS)
    latitude, longitude = places.latitude_longitude([560_300.0], [5_790_250.0])
    # within the metre or two by which operations between these datums differ
    expected = pyproj.Transformer.from_crs("EPSG:3158", "EPSG:4326", always_xy=True).transform(560_300.0, 5_790_250.0)
    assert latitude[0] == pytest.approx(expected[1], abs=3e-5) and longitude[0] == pytest.approx(expected[0], abs=3e-5)
    assert float(f"{latitude[0]:.6f}") == latitude[0]


def test_mercator_is_the_sphere_that_browsers_use():
    """Snyder 1987, Map projections: x = R lambda, y = R ln tan(pi/4 + phi/2), with R = 6378137 m."""
    places = Places.of("EPSG:3158", BOUNDS)
    x, y = places.mercator([560_300.0], [5_790_250.0])
    longitude, latitude = places.to_degrees.transform(560_300.0, 5_790_250.0)
    assert x[0] == pytest.approx(6378137 * np.radians(longitude), abs=1e-3)
    assert y[0] == pytest.approx(6378137 * np.log(np.tan(np.pi / 4 + np.radians(latitude) / 2)), abs=1e-3)
