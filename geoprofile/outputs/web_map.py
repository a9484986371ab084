"""Writer of ``map.html``: the survey in one file that opens without a network."""

from __future__ import annotations

import re

import geopandas as gpd
import numpy as np

from ..errors import SettingsError
from ..products import OutputFile
from .bundle import Bundle
from .frames import PRESENCE_SHOWN, presence_rasters
from .map_cautions import cautions
from .map_layers import RasterLayers, factors, raster_layers
from .map_page import render_page
from .map_pits import pits_plain
from .map_places import Places, lattice_over
from .map_polygons import vectors_plain
from .placing import write_file

FILE = "map.html"
COARSER = (1, 1.125, 1.25, 1.5, 1.75, 2, 2.5, 3, 4, 6, 8, 12, 16, 24, 32)
MB = 1_000_000
SIMPLIFY_CELLS = 0.75
"""Just enough to turn the steps of cells into straight edges on the page."""
TILES = re.compile(r"https?://[A-Za-z0-9.\-:{}]+/[^\s\"'<>\\]*")


class WebMap:
    """The writer behind the entry point ``web_map``."""

    what = "map.html: the survey on one page that opens without a network"

    def write(self, bundle: Bundle) -> tuple[OutputFile, ...]:
        """Write ``map.html`` under the output folder, whole or not at all."""
        text, notes = build(bundle)
        return (write_file(bundle.context, FILE, text.encode("utf-8"), " ".join([self.what.split(": ")[1], *notes])),)


web_map = WebMap()


def build(bundle: Bundle) -> tuple[str, list[str]]:
    """The page as text, and what was done to keep it within its size."""
    tiles = _tiles(bundle)
    bounds = extent(bundle)
    places = Places.of(bundle.context.survey.crs, bounds) if bounds else None
    cell = _finest(bundle)
    data = _survey(bundle)
    data["tiles"] = tiles
    data["pits"] = pits_plain(bundle, places, bounds)
    data["vectors"] = vectors_plain(bundle, places, SIMPLIFY_CELLS * cell) if places else []
    centre = (0.0, 0.0)
    if places:
        lattice = lattice_over(places, bounds, 0.004 * cell)
        corners = places.latitude_longitude(
            *np.array(
                [(bounds[0], bounds[1]), (bounds[2], bounds[3]), (bounds[0], bounds[3]), (bounds[2], bounds[1])]
            ).T
        )
        south_west, north_east = [float(c.min()) for c in corners], [float(c.max()) for c in corners]
        centre = tuple(round((a + b) / 2, 6) for a, b in zip(south_west, north_east))
        data["frame"] = {
            "bounds": [south_west, north_east],
            "lattice": lattice.plain(),
            "system": places.crs,
            "system_name": places.system_name,
        }
    layers, text, notes = _within_size(bundle, data, centre, tiles)
    return text, notes


def _within_size(bundle: Bundle, data: dict, centre: tuple, tiles: dict | None) -> tuple[RasterLayers, str, list[str]]:
    """Render with ever coarser cells until the page keeps to ``publish.map_mb``."""
    room = budget = bundle.settings.map_mb * MB
    layers, reached, cells = RasterLayers(), 1.0, None
    for coarser in COARSER:
        last = coarser == COARSER[-1]
        # rasters shrink no faster than their cells become fewer, for coarser cells are less alike: what cannot fit is not read
        hopeless = coarser < reached * (layers.size / room) ** 0.5 and not last
        if hopeless or factors(bundle, coarser) == cells:
            continue
        reached, cells = coarser, factors(bundle, coarser)
        layers = raster_layers(bundle, coarser, np.inf if last else room)
        if layers.size > room and not last:
            continue
        data |= {
            "open_with": opened_with(bundle, layers.groups),
            "grids": layers.grids,
            "rasters": layers.rasters,
            "groups": layers.groups,
            "relief": layers.relief,
            "notes": layers.notes,
        }
        text = render_page(data["name"], centre, data, tiles["address"] if tiles else None)
        size = len(text.encode())
        if size <= budget or not layers.rasters:
            break
        room = max(budget - (size - layers.size), 1.0)
    notes = [note.split(":")[0] + "." for note in layers.notes if note.startswith("To keep")]
    if size > budget:
        notes.append(
            f"It takes {size / MB:.1f} MB, more than publish.map_mb = {bundle.settings.map_mb:g}, "
            "with cells as coarse as they get."
        )
    return layers, text, notes


def opened_with(bundle: Bundle, groups: list[dict]) -> str:
    """The attribute that the page shows first; empty where there is none.

    Raises SettingsError when publish.open_with names no attribute of the survey.
    """
    asked = bundle.settings.open_with
    names = [definition.name for definition in bundle.attributes.definitions]
    if asked is not None:
        if asked not in names:
            raise SettingsError(
                "no attribute has this name", where="publish.open_with", found=asked, allowed=", ".join(names),
                remedy="take one of these names, or leave open_with out",
            )
        return asked
    drafted = set(bundle.zones.zones.get("from", ())) if bundle.zones is not None else set()
    drawn = {group["name"]: group for group in groups if group["parts"] and group["parts"][0]["part"] == "estimate"}
    of_zones = [name for name in drawn if f"surface of {name}" in drafted]
    skilled = {name: group for name, group in drawn.items() if group["skill"]}
    varied = [name for name, group in skilled.items() if sum(row["ha"] > 0 for row in group["parts"][0]["legend"]) > 1]
    return next(iter([*of_zones, *varied, *drawn]), "")


def extent(bundle: Bundle) -> tuple[float, float, float, float] | None:
    """West, south, east, north of the survey, in its system; None when nothing has a place.

    A pit far from all the rest does not open the frame: one with a wrong zone may lie hundreds of
    kilometres away and would shrink the survey to a dot.
    """
    boxes = [product.grid.bounds for product in (bundle.surfaces, bundle.terrain) if product is not None]
    frames = []
    if bundle.zones is not None:
        frames += [bundle.zones.zones, bundle.zones.parcels, bundle.zones.strata, bundle.zones.route]
    if bundle.salvage is not None:
        frames.append(bundle.salvage.lifts)
    for frame in frames:
        if frame is not None and len(frame):
            box = frame.geometry.total_bounds
            if np.isfinite(box).all():
                boxes.append(tuple(box))
    boxes += _near_pits(bundle.pits.pits, boxes)
    if not boxes:
        return None
    west, south, east, north = np.array(boxes, float).T
    bounds = west.min(), south.min(), east.max(), north.max()
    spare = 0.5 * max(0.0, 60.0 - max(bounds[2] - bounds[0], bounds[3] - bounds[1]))  # one pit still has a surrounding
    return tuple(float(edge) for edge in (bounds[0] - spare, bounds[1] - spare, bounds[2] + spare, bounds[3] + spare))


def _near_pits(pits: gpd.GeoDataFrame, boxes: list[tuple]) -> list[tuple]:
    """The box of the pits that lie within one width of the survey, or, where only pits are known, near most others."""
    points = pits.geometry[~(pits.geometry.isna() | pits.geometry.is_empty)]
    x, y = points.x.to_numpy(float), points.y.to_numpy(float)
    x, y = x[np.isfinite(x) & np.isfinite(y)], y[np.isfinite(x) & np.isfinite(y)]
    if not len(x):
        return []
    if boxes:
        west, south, east, north = np.array(boxes, float).T
        west, south, east, north = west.min(), south.min(), east.max(), north.max()
        spare = max(east - west, north - south, 500.0)
        near = (x > west - spare) & (x < east + spare) & (y > south - spare) & (y < north + spare)
    else:
        away = np.hypot(x - np.median(x), y - np.median(y))
        near = away <= 20 * np.median(away) + 1000.0
    return [(x[near].min(), y[near].min(), x[near].max(), y[near].max())] if near.any() else []


def _finest(bundle: Bundle) -> float:
    cells = [product.grid.cell_m for product in (bundle.surfaces, bundle.terrain) if product is not None]
    return min(cells, default=1.0)


def _survey(bundle: Bundle) -> dict:
    survey = bundle.context.survey
    refusals = bundle.surfaces.refusals if bundle.surfaces is not None else ()
    likely = presence_rasters(bundle)
    titles = {definition.name: definition.title for definition in bundle.attributes.definitions}
    return {
        "name": survey.name,
        "map_scale": survey.map_scale,
        "convention": survey.convention,
        "invented": "invented" in survey.name.lower(),
        "cautions": cautions(bundle),
        "refusals": [
            {
                "name": refusal.attribute,
                "title": titles.get(refusal.attribute, refusal.attribute),
                "reason": refusal.reason,
                "remedy": refusal.remedy,
                "instead": PRESENCE_SHOWN + " is shown" if refusal.attribute in likely else "",
            }
            for refusal in refusals
        ],
        "salvage_rule": bundle.salvage.rule if bundle.salvage is not None else "",
    }


def _tiles(bundle: Bundle) -> dict | None:
    """Background tiles, only when asked for and only with their credit."""
    address, credit = bundle.settings.tiles, bundle.settings.tiles_credit
    if not address:
        return None
    if not TILES.fullmatch(address):
        raise SettingsError(
            "the address of the background tiles cannot be used",
            where="publish.tiles",
            found=address,
            allowed="https://host/{z}/{x}/{y}.png",
            remedy="correct it, or take it out: the map needs no tiles",
        )
    if not (credit or "").strip():
        raise SettingsError(
            "background tiles need their credit",
            where="publish.tiles_credit",
            remedy="add tiles_credit with the words their provider requires, or take publish.tiles out",
        )
    return {"address": address, "credit": credit}
