"""Pits that lie far from all others: the slip of one digit, of a zone or of a degree (R17)."""

from __future__ import annotations

from collections.abc import Iterator

import geopandas as gpd
import numpy as np
import pandas as pd
from pyproj import CRS, Transformer
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from ..problems import Problem
from .places import place_of

FAR = "far from the others"
STEPS = 10.0
"""Farther than this many times the median distance to the nearest pit, and than the others are apart (ours; common practice, no source)."""

FEW_PITS, FAR_FOR_FEW_M = 5, 10_000.0
"""Of fewer pits the spacing says little: then only what no walk explains is told, m."""

LARGEST_SHARE = 0.25
"""More pits than this together are a second part of the survey, not a slip."""


def check_places(pits: gpd.GeoDataFrame, told: set[str]) -> Iterator[Problem]:
    """A warning for each pit that lies far from all others, with the slip that would explain it.

    ``told`` are ids that are listed for their place already. Geometry is in a projected system, metres.
    """
    known = pits[pits.geometry.notna()]
    points = np.column_stack([known.geometry.x.to_numpy(float), known.geometry.y.to_numpy(float)]) if len(known) else np.empty((0, 2))
    places, of_place = np.unique(points, axis=0, return_inverse=True)
    if len(places) < 3 or not np.isfinite(places).all():
        return
    nearest = cKDTree(places).query(places, k=2)[0][:, 1]
    step = float(np.median(nearest))
    groups = _groups(places, STEPS * step)
    sizes = np.bincount(groups, np.bincount(of_place.ravel(), minlength=len(places)))
    main = int(np.argmax(sizes))
    for group in np.argsort(-sizes, kind="stable"):
        if group == main or sizes[group] > LARGEST_SHARE * len(known) and sizes[group] > 1:
            continue
        others = places[groups == main] if sizes[main] >= len(known) / 2 else places[groups != group]
        own = places[groups == group]
        gap = float(cKDTree(others).query(own)[0].min())
        apart = float(np.hypot(*np.ptp(others, axis=0)))
        if gap <= max(STEPS * step, apart) or (len(places) < FEW_PITS and gap <= FAR_FOR_FEW_M):
            continue
        for number in np.flatnonzero(groups[of_place.ravel()] == group):
            row = known.iloc[number]
            if str(row["pit_id"]) in told:
                continue
            slip = likely_slip(points[number], others, known.crs)
            yield Problem(
                "warning", FAR, f"the pit lies {_kilometres(gap)} from the nearest of the others, which lie within {_kilometres(apart)} of each other",
                **place_of(pd.Series(row.drop(known.geometry.name))), field="easting", found=f"{points[number][0]:.0f} E, {points[number][1]:.0f} N",
                remedy=f"check its coordinates{'; among the others: ' + slip if slip else ', their zone and system'}",
            )  # fmt: skip


def likely_slip(point: np.ndarray, others: np.ndarray, crs: CRS | None) -> str:
    """The one slip that puts a place (2,) among the others (n, 2), m, in words; '' where none does."""
    low, high = others.min(axis=0), others.max(axis=0)
    margin = max(float(np.hypot(*(high - low))) / 2, 200.0)
    middle = np.median(others, axis=0)
    found: list[tuple[float, str]] = []

    def weigh(x: float, y: float, words: str) -> None:
        if low[0] - margin <= x <= high[0] + margin and low[1] - margin <= y <= high[1] + margin:
            found.append((float(np.hypot(x - middle[0], y - middle[1])), words))

    for axis, name in ((0, "easting"), (1, "northing")):
        for value, words in _other_digits(point[axis], name):
            weigh(*((value, point[1]) if axis == 0 else (point[0], value)), words)
    if not found:
        weigh(point[1], point[0], "easting and northing exchanged")
    if not found and crs is not None:
        for x, y, words in _other_zones(point, crs):
            weigh(x, y, words)
    return min(found)[1] if found else ""


def _other_digits(value: float, name: str) -> Iterator[tuple[float, str]]:
    """A coordinate with one whole digit otherwise, or two neighbours exchanged."""
    whole, rest = divmod(abs(value), 1.0)
    text = str(int(whole))
    sign = -1.0 if value < 0 else 1.0
    for at in range(len(text)):
        for digit in "0123456789":
            if digit != text[at]:
                new = text[:at] + digit + text[at + 1:]
                yield sign * (int(new) + rest), f"{name} {new} (digit {at + 1} otherwise)"
        if at + 1 < len(text) and text[at] != text[at + 1]:
            new = text[:at] + text[at + 1] + text[at] + text[at + 2:]
            yield sign * (int(new) + rest), f"{name} {new} (digits {at + 1} and {at + 2} exchanged)"


def _other_zones(point: np.ndarray, crs: CRS) -> Iterator[tuple[float, float, str]]:
    """The place by neighbouring UTM zones, by whole degrees and by the other sign of its longitude."""
    zone = crs.utm_zone
    if zone:
        number, south = int(zone[:-1]), zone.endswith("S")
        for other in (number - 1, number + 1):
            if not 1 <= other <= 60:
                continue
            there = CRS.from_dict({"proj": "utm", "zone": other, "south": south, "ellps": "GRS80", "units": "m"})
            x, y = Transformer.from_crs(there, crs, always_xy=True).transform(*point)
            yield x, y, f"its coordinates as of zone {other}"
            x, y = Transformer.from_crs(crs, there, always_xy=True).transform(*point)
            yield x, y, f"zone {number} in place of {other}"
    geographic = crs.geodetic_crs
    if geographic is None:
        return
    to_degrees = Transformer.from_crs(crs, geographic, always_xy=True)
    to_plane = Transformer.from_crs(geographic, crs, always_xy=True)
    lon, lat = to_degrees.transform(*point)
    for by in (1, -1, 10, -10):
        yield *to_plane.transform(lon + by, lat), f"longitude {lon + by:.4f} ({abs(by)} degree{'s' if abs(by) > 1 else ''} otherwise)"
        yield *to_plane.transform(lon, lat + by), f"latitude {lat + by:.4f} ({abs(by)} degree{'s' if abs(by) > 1 else ''} otherwise)"
    yield *to_plane.transform(-lon, lat), "longitude with the other sign"
    yield *to_plane.transform(lon, -lat), "latitude with the other sign"


def _groups(places: np.ndarray, reach: float) -> np.ndarray:
    """(n,) group of each place: places no farther apart than ``reach`` are of one group."""
    pairs = cKDTree(places).query_pairs(reach, output_type="ndarray")
    graph = coo_matrix((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(len(places), len(places)))
    return connected_components(graph, directed=False)[1]


def _kilometres(metres: float) -> str:
    return f"{metres / 1000:.1f} km" if metres >= 1000 else f"{metres:.0f} m"
