"""Pits as columns: every text once in a list of words, every cell a number.

Five thousand pits must stay under 3 MB, so nothing is written twice: texts are
indices into ``words`` (0 = nothing), what a pit says of an attribute is an index
into ``sayings``. Non-finite numbers become null, dates ISO text.
"""

from __future__ import annotations

import datetime
import math

import numpy as np
import pandas as pd

from ..intervals import interval_text
from ..products import PIT_COLUMNS
from ..vocabulary import munsell
from . import frames
from .bundle import Bundle
from .map_colours import number_legend, round_limits
from .map_places import Places

LABELS = {
    "kind": "Kind of observation", "date": "Date", "surveyor": "Surveyor", "observed_to_cm": "Observed to",
    "stopped_by": "Stopped by", "acid_to_cm": "Tested with acid to", "ec_to_cm": "Tested for salts to",
    "mottles_to_cm": "Looked for mottles to", "datum": "Depths counted from",
    "datum_shift_cm": "Added to depths as written",
    "organic_above_cm": "Organic layers above the mineral surface", "recorded_soil": "Recorded soil", "named_soil": "Named from the record",
    "map_unit": "Map unit",
    "drainage": "Drainage", "slope_percent": "Slope", "slope_class": "Slope class", "slope_position": "Slope position",
    "aspect_degrees": "Aspect", "elevation_m": "Elevation noted", "stoniness": "Stoniness",
    "parent_material": "Parent material", "land_use": "Land use", "position_accuracy_m": "Position known within",
    "position_by": "Position from", "photos": "Photos", "remarks": "Remarks",
    "file": "File", "sheet": "Sheet", "row": "Row",
}  # fmt: skip
"""Labels of a pit's fields, in the order in which they are shown."""

UNITS = {"cm": "cm", "m": "m", "percent": "%", "degrees": "°"}
HORIZON_TEXT = (
    "designation", "colour_moist", "colour_dry", "texture", "structure_grade", "structure_size", "structure_kind",
    "consistence", "effervescence", "mottles", "mottle_contrast", "boundary_distinctness", "boundary_form", "roots",
    "remarks",
)  # fmt: skip
HORIZON_NUMBERS = (
    "upper_cm", "lower_cm", "upper_low_cm", "upper_high_cm", "lower_low_cm", "lower_high_cm", "thickness_low_cm",
    "clay_percent", "sand_percent", "coarse_fragments_percent", "caco3_percent", "ec_ds_m", "ph",
    "organic_carbon_percent",
)  # fmt: skip


class Words:
    """Texts in the order they are first met; 0 is the empty text."""

    def __init__(self) -> None:
        self.index: dict[object, int] = {"": 0}

    def of(self, text: object) -> int:
        return self.index.setdefault(text, len(self.index))

    def column(self, values: pd.Series) -> list[int]:
        return [self.of(plain_text(value)) for value in values]

    @property
    def all(self) -> list:
        return list(self.index)


def plain_text(value: object) -> str:
    """Text as typed; dates in ISO form, nothing for missing."""
    if value is None or value is pd.NaT or (isinstance(value, float) and math.isnan(value)) or value is pd.NA:
        return ""
    if isinstance(value, (pd.Timestamp, datetime.datetime)):
        return value.date().isoformat() if value.time() == datetime.time(0) else value.isoformat()
    if isinstance(value, datetime.date):
        return value.isoformat()
    return str(value)


def plain_number(value: object, digits: int = 6) -> float | int | None:
    """A JSON number of at most ``digits`` significant digits, None where it is missing or not finite."""
    if value is None or value is pd.NA or value is pd.NaT:
        return None
    number = float(value)
    if not math.isfinite(number):
        return None
    number = float(f"{number:.{digits}g}")
    return int(number) if number.is_integer() else number


def pits_plain(bundle: Bundle, places: Places | None, bounds: tuple[float, float, float, float] | None = None) -> dict:
    """All that the page knows of pits; ``places`` is None when no pit and no raster has a place.

    Pits outside ``bounds``, the survey's extent, are listed as far away.
    """
    words = Words()
    pits = bundle.pits.pits.reset_index(drop=True)
    ids = [plain_text(value) for value in pits["pit_id"]]
    order = {pit: k for k, pit in enumerate(ids)}
    located = np.array([_has_place(shape) for shape in pits.geometry], bool) if len(pits) else np.zeros(0, bool)
    x = np.array([shape.x if has else np.nan for shape, has in zip(pits.geometry, located)], float)
    y = np.array([shape.y if has else np.nan for shape, has in zip(pits.geometry, located)], float)
    latitude, longitude = np.full(len(pits), np.nan), np.full(len(pits), np.nan)
    if located.any():
        latitude[located], longitude[located] = places.latitude_longitude(x[located], y[located])
    west, south, east, north = bounds or (-np.inf, -np.inf, np.inf, np.inf)
    far = located & ~((x >= west) & (x <= east) & (y >= south) & (y <= north))
    return {
        "id": ids,
        "far": np.flatnonzero(far).tolist(),
        "lat": [plain_number(value, 9) for value in latitude],
        "lon": [plain_number(value, 10) for value in longitude],
        "x": [plain_number(value, 9) for value in np.round(x, 1)],
        "y": [plain_number(value, 9) for value in np.round(y, 1)],
        "place": _places_of(pits, ids, located),
        "fields": _fields(_with_names(pits, bundle), words),
        "attributes": _attributes(bundle, order, words),
        "horizons": _horizons(bundle.pits.horizons, order, words),
        "readings": _readings(bundle, order, words),
        "problems": _problems(bundle, order, words),
        "words": words.all,
    }


def _has_place(shape: object) -> bool:
    return shape is not None and not shape.is_empty and math.isfinite(shape.x) and math.isfinite(shape.y)


def _places_of(pits: pd.DataFrame, ids: list[str], located: np.ndarray) -> list[int]:
    """The first located pit of each pit's place: visits to one place share a marker."""
    first: dict[str, int] = {}
    places = []
    for k, name in enumerate(pits["place_id"]):
        if not located[k]:
            places.append(-1)
        else:
            places.append(first.setdefault(plain_text(name) or ids[k], k))
    return places


def _with_names(pits: pd.DataFrame, bundle: Bundle) -> pd.DataFrame:
    """Pits with the line that the key makes of each record, where any is named."""
    lines = frames.named_lines(bundle)
    return pits.assign(named_soil=[lines.get(pit, "") for pit in pits["pit_id"]]) if lines else pits


def _fields(pits: pd.DataFrame, words: Words) -> list[dict]:
    extra = [name for name in pits.columns if name not in PIT_COLUMNS and name != pits.geometry.name]
    fields = []
    for name in [*[name for name in LABELS if name in pits.columns], *extra]:
        label = LABELS.get(name) or str(name).replace("_", " ")
        kind = PIT_COLUMNS[name][0] if name in PIT_COLUMNS else _kind_of(pits[name])
        if kind in ("number", "whole"):
            cells = [plain_number(value) for value in pits[name]]
            if all(cell is None for cell in cells):
                continue
        else:
            cells = words.column(pits[name])
            if not any(cells):
                continue
        unit = UNITS.get(str(name).rsplit("_", 1)[-1], "") if kind == "number" else ""
        fields.append(
            {"name": str(name), "label": label, "unit": unit, "text": kind not in ("number", "whole"), "cells": cells}
        )
    return fields


def _kind_of(column: pd.Series) -> str:
    return "number" if pd.api.types.is_numeric_dtype(column) and not pd.api.types.is_bool_dtype(column) else "text"


def _attributes(bundle: Bundle, order: dict[str, int], words: Words) -> dict:
    definitions = {definition.name: definition for definition in bundle.attributes.definitions}
    sayings = Words()
    sayings.index.clear()
    values = bundle.attributes.values
    columns: dict[str, list[int]] = {}
    rows = zip(
        *(values[name] for name in ("pit_id", "attribute", "low", "high", "status", "presence", "evidence", "flags")),
        strict=True,
    )
    for pit, attribute, low, high, status, presence, evidence, flags in rows:
        at = order.get(plain_text(pit))
        if at is None:
            continue
        low, high = plain_number(low), plain_number(high)
        decimals = definitions[attribute].decimals if attribute in definitions else 0
        text = interval_text(low, high, str(status), decimals)
        saying = (
            text,
            str(status),
            low,
            high,
            str(presence),
            words.of(plain_text(evidence)),
            words.of(plain_text(flags)),
        )
        columns.setdefault(attribute, [-1] * len(order))[at] = sayings.of(saying)
    return {
        "sayings": [list(saying) for saying in sayings.all],
        "list": [
            {
                "name": name,
                "title": definitions[name].title if name in definitions else name.replace("_", " "),
                "unit": definitions[name].unit if name in definitions else "",
                "help": definitions[name].help if name in definitions else "",
                "cells": cells,
                "legend": _legend(sayings.all, cells, definitions[name].unit if name in definitions else ""),
            }
            for name, cells in columns.items()
        ],
    }


def _legend(sayings: list[tuple], cells: list[int], unit: str) -> list[dict]:
    """Classes for an attribute shown at pits, from the pits that know its value."""
    known = [
        (sayings[cell][2] + sayings[cell][3]) / 2 for cell in cells if cell >= 0 and None not in sayings[cell][2:4]
    ]
    return number_legend(unit, "depth", round_limits(min(known), max(known), 6)) if known else []


def _horizons(horizons: pd.DataFrame, order: dict[str, int], words: Words) -> dict:
    at = np.array([order.get(plain_text(pit), -1) for pit in horizons["pit_id"]], int)
    rank = pd.to_numeric(horizons["order"]).fillna(0).to_numpy(float)
    keep = np.lexsort((rank, at))
    keep = keep[at[keep] >= 0]
    horizons = horizons.iloc[keep]
    columns: dict[str, list] = {"pit": at[keep].tolist()}
    for name in HORIZON_TEXT:
        cells = words.column(horizons[name]) if name in horizons else []
        if any(cells):
            columns[name] = cells
    for name in HORIZON_NUMBERS:
        cells = [plain_number(value) for value in horizons[name]] if name in horizons else []
        if any(cell is not None for cell in cells):
            columns[name] = cells
    if "lower_is_end" in horizons and horizons["lower_is_end"].any():
        columns["lower_is_end"] = [int(flag) for flag in horizons["lower_is_end"].fillna(False)]
    return {
        "text": [name for name in HORIZON_TEXT if name in columns],
        "columns": columns,
        "colours": _colours(horizons),
    }


def _colours(horizons: pd.DataFrame) -> dict[str, str]:
    """Munsell text -> #rrggbb, for those that can be read."""
    found = {}
    for name in ("colour_moist", "colour_dry"):
        for text in dict.fromkeys(plain_text(value) for value in horizons[name]) if name in horizons else ():
            colour = munsell.parse_colour(text) if text else None
            if colour is not None:
                found[text] = munsell.srgb(colour)
    return found


def _readings(bundle: Bundle, order: dict[str, int], words: Words) -> dict:
    titles = {definition.name: definition.title for definition in bundle.attributes.definitions}
    readings = bundle.pits.readings
    keep = readings[readings["pit_id"].isin(list(order))]
    return {
        "pit": [order[plain_text(pit)] for pit in keep["pit_id"]],
        "title": [words.of(titles.get(name, plain_text(name).replace("_", " "))) for name in keep["attribute"]],
        "text": words.column(keep["text"]),
        "probe": [plain_number(value) for value in keep["probe"]],
    }


def _problems(bundle: Bundle, order: dict[str, int], words: Words) -> dict:
    tables = [table for table in (bundle.pits.problems, bundle.attributes.problems) if len(table)]
    rows = (
        pd.concat(tables, ignore_index=True)
        if tables
        else pd.DataFrame(columns=["pit_id", "severity", "what", "found"])
    )
    rows = rows[rows["pit_id"].isin(list(order))]
    return {
        "pit": [order[plain_text(pit)] for pit in rows["pit_id"]],
        "severity": words.column(rows["severity"]),
        "what": words.column(rows["what"]),
        "found": words.column(rows["found"]),
    }
