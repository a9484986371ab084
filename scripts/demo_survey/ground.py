"""Invented ground: hummocky till, placed far out in a lake where no land is."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from geoprofile.grid import Grid
from geoprofile.kernels.terrain_sums import half_widths, relative_elevation
from geoprofile.kernels.terrain_window import curvatures, slope_and_aspect
from geoprofile.terrain.landform import landform_elements
from geoprofile.terrain.smoothing import smooth

CRS = "EPSG:3158"
WEST, SOUTH = 567_000, 5_827_500
"""South-west corner of the survey area, m: about 52.6 N, 98.0 W, in the middle of Lake Winnipeg."""
WIDTH, HEIGHT = 1500, 1000
MARGIN = 100
CELL = 5
ANALYSIS_SCALE = 15.0
SEED = 40

ELEMENTS = {
    1: "divergent_shoulder", 2: "convergent_shoulder", 3: "divergent_backslope", 4: "convergent_backslope",
    5: "divergent_footslope", 6: "convergent_footslope", 7: "level_upper", 8: "recharge_slough", 9: "discharge_rim",
}  # fmt: skip


@dataclass(frozen=True)
class Ground:
    """Elevation (m) and landform element (1..9, level split in three) on one grid; a smooth field that soils share."""

    grid: Grid
    elevation: np.ndarray
    element: np.ndarray
    slope_percent: np.ndarray
    kinship: np.ndarray

    def at(self, x, y) -> tuple[np.ndarray, np.ndarray]:
        row, column, inside = self.grid.cells_of(x, y)
        assert inside.all()
        return row, column


def make_ground() -> Ground:
    """Sums of cosine waves: the same bytes on every machine, after rounding to a centimetre."""
    rng = np.random.default_rng(SEED)
    rows, columns = (HEIGHT + 2 * MARGIN) // CELL, (WIDTH + 2 * MARGIN) // CELL
    grid = Grid(CRS, WEST - MARGIN, SOUTH + HEIGHT + MARGIN, CELL, rows, columns)
    x, y = grid.centres()
    hummocks = waves(rng, x, y, 95, 150, 40)
    country = waves(rng, x, y, 700, 1500, 8)
    rough = waves(rng, x, y, 25, 60, 30)
    hummocks = hummocks + 0.06 * (hummocks**2 - 1)  # knolls a little sharper than potholes
    elevation = np.round(250 + 1.95 * hummocks + 0.8 * country + 0.03 * rough, 2)
    kinship = waves(rng, x, y, 350, 800, 40)
    inside = kinship[area_mask(grid)]
    kinship = (kinship - inside.mean()) / inside.std()

    z = smooth(elevation, ANALYSIS_SCALE, CELL)
    slope, _, _ = slope_and_aspect(z, CELL, 1.0)
    profile, plan, _ = curvatures(z, CELL)
    element = landform_elements(slope, profile, plan).astype(np.int64)
    relative, _ = relative_elevation(z, half_widths(100 / CELL))
    element = split_level(element, relative, country, area_mask(grid))
    return Ground(grid, elevation, element, 100 * np.tan(np.radians(slope)), kinship)


def waves(rng: np.random.Generator, x: np.ndarray, y: np.ndarray, shortest: float, longest: float, number: int) -> np.ndarray:
    """Sum of plane waves of random direction, unit variance; wavelengths in m."""
    z = np.zeros((len(y), len(x)))
    east, north = x - WEST, y - SOUTH
    for _ in range(number):
        length = np.exp(rng.uniform(np.log(shortest), np.log(longest)))
        direction, phase = rng.uniform(0, 2 * np.pi, 2)
        across = np.cos(direction) * east[None, :] + np.sin(direction) * north[:, None]
        z += np.cos(2 * np.pi / length * across + phase)
    return z / np.sqrt(number / 2)


def split_level(element: np.ndarray, relative: np.ndarray, country: np.ndarray, area: np.ndarray) -> np.ndarray:
    """Level ground: upper (10 of 22 parts), sloughs that water leaves downward (8), rims where it comes up (4).

    Rims lie in the lower country, at the edge of the low ground: low is not always deep.
    """
    level = (element == 7) & area
    middle = np.quantile(relative[level], 12 / 22)
    low = (element == 7) & (relative < middle)
    wet = country < np.quantile(country[low & area], 0.62)
    edge = relative > np.quantile(relative[low & wet & area], 1 - 4 / 12 / 0.62)
    return np.where(low, np.where(wet & edge, 9, 8), element)


def area_polygon() -> shapely.Polygon:
    return shapely.box(WEST, SOUTH, WEST + WIDTH, SOUTH + HEIGHT)


def bush_polygon() -> shapely.Polygon:
    """Thirty hectares along the north; its edge swings by 25 m in whole waves, which leaves the area as it is."""
    step = np.linspace(0, WIDTH, 61)
    edge = np.column_stack([WEST + step, SOUTH + 800 + np.round(25 * np.sin(2 * np.pi * step / 500), 1)])
    return shapely.Polygon([*edge, (WEST + WIDTH, SOUTH + HEIGHT), (WEST, SOUTH + HEIGHT)])


def lake_polygon() -> shapely.Polygon:
    """Eight hectares of lacustrine veneer in the south-east: an ellipse."""
    turn = np.linspace(0, 2 * np.pi, 73)[:-1]
    outline = np.column_stack([1.5 * np.cos(turn), np.sin(turn)])
    size = np.sqrt(80_000 / shapely.Polygon(outline).area)
    return shapely.Polygon(np.round(outline * size + [WEST + 1220, SOUTH + 190], 2))


def area_mask(grid: Grid) -> np.ndarray:
    x, y = grid.centres()
    return ((y > SOUTH) & (y < SOUTH + HEIGHT))[:, None] & ((x > WEST) & (x < WEST + WIDTH))[None, :]


def cultivated_shares(ground: Ground) -> dict[str, float]:
    """Share of each element in the cultivated land."""
    points = ground.grid.centre_points()
    bush = shapely.contains_xy(bush_polygon(), points[:, 0], points[:, 1]).reshape(ground.grid.shape)
    codes = ground.element[area_mask(ground.grid) & ~bush]
    return {name: float(np.mean(codes == code)) for code, name in ELEMENTS.items()}
