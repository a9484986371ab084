"""Where pits, inspections, parcels, disturbance and route lie."""

from __future__ import annotations

import numpy as np
import pandas as pd
import shapely

from .ground import ELEMENTS, HEIGHT, SOUTH, WEST, WIDTH, Ground, bush_polygon, lake_polygon

PITS = 120
INSPECTIONS = 60


def place_pits(ground: Ground, rng: np.random.Generator) -> pd.DataFrame:
    """Pits spread over the area at least 80 m apart, and some beside them at 15 to 30 m to show what changes over steps."""
    spread = _spread(rng, PITS - 10, 80.0, 25.0, [])
    pairs = []
    for x, y in spread[::11][:10]:
        turn, away = rng.uniform(0, 2 * np.pi), rng.uniform(15, 30)
        pairs.append((x + away * np.cos(turn), y + away * np.sin(turn)))
    x, y = np.array([*spread, *pairs]).T
    order = np.lexsort((x, np.floor((y - SOUTH) / 125)))  # numbered in rows as crews walk
    return described(ground, x[order], y[order])


def place_inspections(ground: Ground, pits: pd.DataFrame, rng: np.random.Generator) -> pd.DataFrame:
    x, y = np.array(_spread(rng, INSPECTIONS, 45.0, 10.0, list(zip(pits.x, pits.y)))).T
    order = np.lexsort((x, np.floor((y - SOUTH) / 200)))
    return described(ground, x[order], y[order])


def described(ground: Ground, x: np.ndarray, y: np.ndarray) -> pd.DataFrame:
    """Places with what the ground says of them."""
    row, column = ground.at(x, y)
    code = ground.element[row, column]
    return pd.DataFrame({
        "x": np.round(x, 1), "y": np.round(y, 1),
        "element": [ELEMENTS[int(value)] for value in code],
        "slope": np.round(ground.slope_percent[row, column]),
        "kinship": ground.kinship[row, column],
        "bush": shapely.contains_xy(bush_polygon(), x, y),
        "lake": shapely.contains_xy(lake_polygon(), x, y),
    })  # fmt: skip


def _spread(rng, number: int, apart: float, border: float, taken: list) -> list[tuple[float, float]]:
    """Dart throwing; the distance gives way slowly when the area fills up."""
    points: list[tuple[float, float]] = []
    misses = 0
    while len(points) < number:
        x = WEST + rng.uniform(border, WIDTH - border)
        y = SOUTH + rng.uniform(border, HEIGHT - border)
        if all((x - a) ** 2 + (y - b) ** 2 >= apart**2 for a, b in [*taken, *points]):
            points.append((x, y))
            misses = 0
        else:
            misses += 1
            if misses > 200:
                apart, misses = apart * 0.97, 0
    return points


def parcels() -> dict[str, shapely.Polygon]:
    """Four parcels of 37.5 ha, numbered from the north-west by rows."""
    return {
        str(number): shapely.box(WEST + 750 * column, SOUTH + 500 * row, WEST + 750 * (column + 1), SOUTH + 500 * (row + 1))
        for number, (column, row) in enumerate([(0, 1), (1, 1), (0, 0), (1, 0)], start=1)
    }


def disturbance() -> dict[str, shapely.Polygon]:
    """Twelve hectares to be stripped: a pad, a laydown, a camp in the bush, an access road and a borrow on the veneer."""

    def box(x0, y0, width, height):
        return shapely.box(WEST + x0, SOUTH + y0, WEST + x0 + width, SOUTH + y0 + height)

    return {
        "Pad": box(620, 380, 220, 220),  # 4.84 ha
        "Laydown": box(880, 470, 160, 150),  # 2.40 ha
        "Camp": box(300, 850, 130, 100),  # 1.30 ha
        "Access": shapely.Polygon([(WEST + x, SOUTH + y) for x, y in ((40, 300), (620, 440), (620, 465.6), (40, 325.6))]),  # 1.4848 ha
        "Borrow": box(1130, 140, 180, 109.7333),  # the rest of 12 ha
    }


def route() -> shapely.LineString:
    """A pipeline from west to east."""
    return shapely.LineString([(WEST + x, SOUTH + y) for x, y in ((5, 640), (420, 585), (760, 300), (1180, 240), (1495, 330))])
