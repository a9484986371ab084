"""A pit written out as a publishable description, in the order of its convention; read back it gives the same record.

Orders: the Canadian national order (symbol, depths, colour with m or d, texture, mottles, structure, consistence,
roots, carbonates, fragments, boundary, thickness, reaction; Clayton et al. 1977), the USDA order (depths, colour and
texture, structure, consistence, roots, effervescence, reaction, boundary; Soil Survey Manual 2017, chapter 3); the WRB
order follows the latter. Each phrase is read back while it is written: one that would not say the same is written
under its heading instead, and nothing is left out.
"""

from __future__ import annotations

from functools import lru_cache

import pandas as pd

from ..products import HORIZON_COLUMNS, PIT_COLUMNS, Pits
from ..vocabulary.tables import table
from ..vocabulary.terms import find_term
from .notes.entries import entry_at
from .notes.horizon import read_horizon

LABELS = {
    "date": "Date", "kind": "Kind of observation", "observed_to_cm": "Observed to", "stopped_by": "Stopped by",
    "acid_to_cm": "Acid tested to", "ec_to_cm": "Salts tested to", "mottles_to_cm": "Mottles looked for to", "datum": "Datum",
    "organic_above_cm": "Organic above", "position_accuracy_m": "Position accuracy", "recorded_soil": "Recorded soil",
    "map_unit": "Map unit", "slope_percent": "Slope", "slope_class": "Slope class", "slope_position": "Slope position",
    "aspect_degrees": "Aspect", "elevation_m": "Elevation", "drainage": "Drainage", "stoniness": "Stoniness",
    "parent_material": "Parent material", "land_use": "Land use", "surveyor": "Surveyor", "photos": "Photos",
}  # fmt: skip
"""Column of a pit -> its label. What is derived when reading (place, datum shift, source) is not written."""

UNITS = {"_cm": " cm", "_m": " m", "_percent": " %", "_degrees": " degrees"}
DERIVED = {"kind": "unknown", "stopped_by": "unknown", "datum": ("mineral surface", "organic surface")}
"""What reading gives anyway, and so is not written."""

NATIONAL = ("colours", "texture", "mottles", "structure", "consistence", "roots", "carbonates", "fragments", "boundary", "thickness", "reaction")
MANUAL = ("colours_and_texture", "mottles", "structure", "consistence", "roots", "fragments", "carbonates", "reaction", "thickness", "boundary")
ORDERS = {"canadian": NATIONAL, "usda": MANUAL, "wrb": MANUAL}

GROUPS = {
    "colours": ("colour_moist", "colour_dry"), "texture": ("texture",), "mottles": ("mottles", "mottle_contrast", "mottles_part"),
    "structure": ("structure_grade", "structure_size", "structure_kind", "structure_more"), "consistence": ("consistence",),
    "roots": ("roots",), "carbonates": ("effervescence", "effervescence_part"), "fragments": ("coarse_fragments_percent",),
    "boundary": ("boundary_distinctness", "boundary_form"), "thickness": ("thickness_low_cm", "thickness_high_cm"),
    "reaction": ("reaction", "ph"), "colours_and_texture": ("colour_moist", "texture", "colour_dry"),
}  # fmt: skip
"""Columns that a group of words says."""

HEADINGS = {
    "coarse_fragments_percent": ("coarse fragments", " %"), "sand_percent": ("sand", " %"), "silt_percent": ("silt", " %"),
    "clay_percent": ("clay", " %"), "caco3_percent": ("CaCO3", " %"), "organic_carbon_percent": ("organic carbon", " %"),
    "ec_ds_m": ("EC", " dS/m"), "ec_extract": ("EC extract", ""), "sar": ("SAR", ""), "ph": ("pH", ""), "bulk_density": ("bulk density", " Mg/m3"),
}  # fmt: skip
"""Columns whose heading is not their name, with the unit written behind the number."""

NOT_WRITTEN = ("pit_id", "order", "designation", "designation_as_written", "upper_cm", "lower_cm", "upper_low_cm", "upper_high_cm",
               "lower_low_cm", "lower_high_cm", "lower_is_end", "remarks", "file", "sheet", "row")  # fmt: skip


def describe(pits: Pits, pit_id: str, convention: str) -> str:
    """The description of one pit. Raises KeyError where there is none of that id."""
    rows = pits.pits[pits.pits["pit_id"] == pit_id]
    if not len(rows):
        raise KeyError(pit_id)
    crs = pits.pits.crs.to_string() if pits.pits.crs else ""
    horizons = pits.horizons[pits.horizons["pit_id"] == pit_id]
    return describe_rows(rows.iloc[0], horizons, convention, crs)


def describe_rows(pit: pd.Series, horizons: pd.DataFrame, convention: str, crs: str = "") -> str:
    """The description of one pit from its row of PIT_COLUMNS and its horizons of HORIZON_COLUMNS."""
    lines = [f"Pit id: {pit['pit_id']}"]
    for column, label in LABELS.items():
        value = pit.get(column)
        if _blank(value) or value in DERIVED.get(column, ()) or value == DERIVED.get(column):
            continue
        unit = next((unit for end, unit in sorted(UNITS.items(), key=lambda one: -len(one[0])) if column.endswith(end)), "")
        lines.append(f"{label}: {_number(value) if PIT_COLUMNS[column][0] == 'number' else value}{unit}")
    shape = pit.get("geometry")
    if shape is not None and not _blank(crs):
        lines += [f"Easting: {shape.x:.3f}", f"Northing: {shape.y:.3f}", f"CRS: {crs}"]
    lines += ["Colours are for moist soil unless stated.", ""]
    for _, horizon in horizons.iterrows():
        lines.append(_horizon(horizon, convention))
    if not _blank(pit.get("remarks")):
        lines += ["", f"Remarks: {' '.join(str(pit['remarks']).split())}"]
    return "\n".join(lines) + "\n"


def _horizon(row: pd.Series, convention: str) -> str:
    record = {name: row[name] for name in row.index if not _blank(row[name])}
    groups, written = [], set(NOT_WRITTEN)
    for group in ORDERS[convention]:
        columns = [name for name in GROUPS[group] if name in record]
        wanted = {name: record[name] for name in columns}
        written |= set(columns)
        said = _words(group, wanted, convention) if wanted else ""
        if said and _says(said, wanted, convention):
            groups.append(said)
        else:
            groups += [_labelled(name, value) for name, value in _apart(wanted).items()]
    groups += [_labelled(name, record[name]) for name in record if name not in written]
    text = "; ".join(groups)
    if "remarks" in record:
        text += f"{'. ' if text else ''}Remarks: {' '.join(str(record['remarks']).split())}"
    return f"{_head(row, convention)}{text}." if text else f"{_head(row, convention).rstrip(' ,;')}."


def _head(row: pd.Series, convention: str) -> str:
    upper = _limit(row, "upper")
    lower = _limit(row, "lower")
    name = row["designation"] if not _blank(row["designation"]) else row.get("designation_as_written")
    if convention == "usda":
        return f"{name}--{upper} to {lower} cm; " if lower else f"{name}--{upper}+ cm; "
    depths = f"{upper}-{lower} cm" if lower else f"{upper}+ cm"
    return f"{name} {depths}, " if convention == "canadian" else f"{name} {depths}; "


def _limit(row: pd.Series, which: str) -> str:
    """A depth from the datum, organic layers above mineral soil counted upward; limits behind it where there are some."""
    value, low, high = (row.get(f"{which}{part}") for part in ("_cm", "_low_cm", "_high_cm"))
    if _blank(value):
        return ""
    if value < 0 or (which == "lower" and not _blank(row["upper_cm"]) and row["upper_cm"] < 0):
        value = abs(value)
        low, high = (None if _blank(one) else abs(one) for one in (high, low))
    if which == "lower" and _blank(high) and not _blank(low):
        return f"{_number(value)}+"
    if _blank(low) or _blank(high) or (low == value and high == value):
        return _number(value)
    return f"{_number(value)} ({_number(low)}-{_number(high)})"


def _words(group: str, wanted: dict[str, object], convention: str) -> str:
    """The words of a group, as a manual would have them."""
    get = wanted.get
    match group:
        case "colours":
            return ", ".join(f"{get(name)} {mark}" for name, mark in (("colour_moist", "m"), ("colour_dry", "d")) if get(name))
        case "colours_and_texture":
            first = " ".join(filter(None, (get("colour_moist"), _texture(get("texture"), convention))))
            return ", ".join(filter(None, (first, f"{get('colour_dry')} dry" if get("colour_dry") else "")))
        case "texture":
            return _texture(get("texture"), convention)
        case "mottles":
            if get("mottles") == "none":
                return f"no mottles{_in_the(get('mottles_part'))}"
            return " ".join(filter(None, (get("mottles"), get("mottle_contrast"), "mottles"))) + _in_the(get("mottles_part"))
        case "structure":
            size = str(get("structure_size") or "")
            if get("structure_kind") == "platy" and convention != "canadian":
                size = table("structure")["platy_sizes"].get(size, size)  # thin plates, and no fine ones
            return " ".join(filter(None, (get("structure_grade"), size, get("structure_kind"), get("structure_more"))))
        case "consistence" | "roots":
            return str(next(iter(wanted.values())))
        case "carbonates":
            degree = str(get("effervescence"))
            said = degree if "calcareous" in degree else f"{'no' if degree == 'none' else degree} effervescence"
            return said + _in_the(get("effervescence_part"))
        case "fragments":
            return f"{_number(get('coarse_fragments_percent'))} percent coarse fragments"
        case "boundary":
            return " ".join(filter(None, (get("boundary_distinctness"), get("boundary_form"), "boundary")))
        case "thickness":
            if len(wanted) < 2:
                return ""
            return f"{_number(get('thickness_low_cm'))} to {_number(get('thickness_high_cm'))} cm thick"
        case "reaction":
            return ", ".join(filter(None, (get("reaction"), f"pH {_number(get('ph'))}" if get("ph") is not None else "")))
    return ""


def _in_the(part: object) -> str:
    return f" in the {part}" if part else ""


def _texture(code: object, convention: str) -> str:
    term = find_term("texture", str(code), convention) if code else None
    return term.name if term else str(code or "")


def _says(words: str, wanted: dict[str, object], convention: str) -> bool:
    """Whether the words, read back, fill just these columns with just these values, and leave nothing."""
    cells, remarks = _read_back(words)
    found = {}
    for name, text in cells:
        if name == "thickness":
            low, high = text.split("-")
            found |= {"thickness_low_cm": low, "thickness_high_cm": high}
        else:
            found[{"coarse fragments": "coarse_fragments_percent"}.get(name, name.replace(" ", "_"))] = text
    if "texture" in found:
        term = find_term("texture", found["texture"], convention)
        found["texture"] = (term.code or term.name) if term else found["texture"]
    return not remarks and found == {name: value if isinstance(value, str) else _number(value) for name, value in wanted.items()}


@lru_cache(maxsize=4096)
def _read_back(words: str) -> tuple[tuple[tuple[str, str], ...], str]:
    text = f"Ah 0-1 cm; {words}."
    horizon = read_horizon(text, entry_at(text, 0, len(text)), len(text), "moist", False)
    return tuple(horizon.cells.items()), horizon.remarks(text)


def _apart(wanted: dict[str, object]) -> dict[str, object]:
    """Two limits of a thickness are one thing under one heading."""
    if "thickness_low_cm" in wanted and "thickness_high_cm" in wanted:
        low, high = _number(wanted["thickness_low_cm"]), _number(wanted["thickness_high_cm"])
        return {"thickness": f"{low} cm" if low == high else f"{low}-{high} cm"}
    return wanted


def _labelled(column: str, value: object) -> str:
    heading, unit = HEADINGS.get(column, (column.replace("_", " "), ""))
    number = HORIZON_COLUMNS.get(column, ("text",))[0] == "number" or isinstance(value, float)
    return f"{heading}: {_number(value)}{unit}" if number else f"{heading}: {value}"


def _number(value: object) -> str:
    return f"{float(value):.6g}"


def _blank(value: object) -> bool:
    return value is None or value is pd.NA or (isinstance(value, float) and value != value) or value == ""
