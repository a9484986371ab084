"""From the survey's system to the map's and back.

The browser knows web Mercator only. A lattice of control points, eastings and
northings of the survey's system at regular steps of Mercator metres, lets it
find the survey's own coordinates by bilinear interpolation, so that a click
reads the cell of the GeoTIFF and not a warped copy of it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pyproj

from ..errors import OutputError

DEGREES, MERCATOR = "EPSG:4326", "EPSG:3857"
MARGIN = 0.6
"""Share of the extent that the lattice reaches beyond it, so that the cursor has coordinates around the survey."""
MOST_NODES = 257


@dataclass(frozen=True)
class Places:
    """One operation from the survey's system to degrees, used for everything on the map."""

    crs: str
    to_degrees: pyproj.Transformer
    degrees_to_mercator: pyproj.Transformer

    @classmethod
    def of(cls, crs: str, bounds: tuple[float, float, float, float]) -> Places:
        """``bounds``: west, south, east, north in ``crs``; they decide which datum operation is best."""
        system = pyproj.CRS.from_user_input(crs)
        west, south, east, north = pyproj.Transformer.from_crs(
            system, system.geodetic_crs, always_xy=True
        ).transform_bounds(*bounds)
        group = pyproj.transformer.TransformerGroup(
            system,
            DEGREES,
            always_xy=True,
            area_of_interest=pyproj.aoi.AreaOfInterest(west, south, east, north),
        )
        # One operation for all points: chosen point by point, neighbours could shift against each other.
        return cls(crs, group.transformers[0], pyproj.Transformer.from_crs(DEGREES, MERCATOR, always_xy=True))

    @property
    def system_name(self) -> str:
        return pyproj.CRS.from_user_input(self.crs).name

    def latitude_longitude(self, x: np.ndarray, y: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Degrees, six decimals (0.1 m)."""
        longitude, latitude = self.to_degrees.transform(np.asarray(x, float), np.asarray(y, float))
        return np.round(latitude, 6), np.round(longitude, 6)

    def mercator(self, x: np.ndarray, y: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        return self.degrees_to_mercator.transform(
            *self.to_degrees.transform(np.asarray(x, float), np.asarray(y, float))
        )

    def survey(self, mercator_x: np.ndarray, mercator_y: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Eastings and northings of Mercator points, m."""
        longitude, latitude = self.degrees_to_mercator.transform(mercator_x, mercator_y, direction="INVERSE")
        return self.to_degrees.transform(longitude, latitude, direction="INVERSE")


@dataclass(frozen=True)
class Lattice:
    """Control points: ``x``, ``y`` (rows, columns), m, at Mercator ``west + column * step_x``, ``south + row * step_y``."""

    west: float
    south: float
    step_x: float
    step_y: float
    x: np.ndarray
    y: np.ndarray

    def survey(self, mercator_x: np.ndarray, mercator_y: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """What the browser computes: bilinear between the four nodes around each point."""
        rows, columns = self.x.shape
        across = (np.asarray(mercator_x) - self.west) / self.step_x
        up = (np.asarray(mercator_y) - self.south) / self.step_y
        column = np.clip(np.floor(across), 0, columns - 2).astype(int)
        row = np.clip(np.floor(up), 0, rows - 2).astype(int)
        a, b = across - column, up - row
        return tuple(
            (1 - b) * ((1 - a) * node[row, column] + a * node[row, column + 1])
            + b * ((1 - a) * node[row + 1, column] + a * node[row + 1, column + 1])
            for node in (self.x, self.y)
        )

    def plain(self) -> dict:
        """For the page, millimetres kept."""
        rows, columns = self.x.shape
        return {
            "west": round(self.west, 4),
            "south": round(self.south, 4),
            "step_x": round(self.step_x, 6),
            "step_y": round(self.step_y, 6),
            "rows": rows,
            "columns": columns,
            "x": np.round(self.x, 3).ravel().tolist(),
            "y": np.round(self.y, 3).ravel().tolist(),
        }


def lattice_over(places: Places, bounds: tuple[float, float, float, float], tolerance_m: float) -> Lattice:
    """The coarsest lattice that is right within ``tolerance_m`` everywhere, checked between its nodes."""
    west, south, east, north = bounds
    edge = np.linspace(0, 1, 33)
    x = np.concatenate([west + edge * (east - west)] * 2 + [np.full(33, west), np.full(33, east)])
    y = np.concatenate([np.full(33, south), np.full(33, north)] + [south + edge * (north - south)] * 2)
    mercator_x, mercator_y = places.mercator(x, y)
    margin = MARGIN * max(np.ptp(mercator_x), np.ptp(mercator_y), 200.0)
    low_x, high_x = math.floor(mercator_x.min() - margin), math.ceil(mercator_x.max() + margin)
    low_y, high_y = math.floor(mercator_y.min() - margin), math.ceil(mercator_y.max() + margin)
    nodes = 3
    while nodes <= MOST_NODES:
        step_x, step_y = (high_x - low_x) / (nodes - 1), (high_y - low_y) / (nodes - 1)
        node_x, node_y = np.meshgrid(low_x + step_x * np.arange(nodes), low_y + step_y * np.arange(nodes))
        lattice = Lattice(low_x, low_y, step_x, step_y, *places.survey(node_x, node_y))
        middle = np.meshgrid(
            low_x + step_x * (np.arange(2 * nodes - 1) / 2), low_y + step_y * (np.arange(2 * nodes - 1) / 2)
        )
        error = max(np.abs(np.subtract(lattice.survey(*middle), places.survey(*middle))).max(), 0.0)
        if error <= tolerance_m:
            return lattice
        nodes = 2 * nodes - 1
    raise OutputError("the survey is too wide for one web map", found=f"off by {error:.2f} m between control points")
