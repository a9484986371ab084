"""What flows down the river: frozen products without verbs.

Each stage takes earlier products and its own settings and gives one new
product. Products save and load without loss (``store.py``) and carry their
record. Column lists here are the contract between the rooms.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import geopandas as gpd
import pandas as pd

from .grid import Grid
from .rasters import RasterFile
from .record import Record

PIT_COLUMNS = {
    # name: (kind of value, what it is)
    "pit_id": ("text", "unique id of the pit, as text"),
    "place_id": ("text", "place shared by visits and by pits nearer than same_place_m; the pit_id of its first pit"),
    "kind": ("text", "kind of observation: pit, auger, core, probe, exposure, inspection, unknown"),
    "observed_to_cm": ("number", "depth observed below the datum, cm"),
    "stopped_by": ("text", "planned depth, stones, rock, water, frost, caving, unknown"),
    "acid_to_cm": ("number", "depth tested with acid, cm; 0 = stated: not tested; missing = not said"),
    "ec_to_cm": ("number", "depth tested for salts, cm"),
    "mottles_to_cm": ("number", "depth to which mottles were looked for, cm"),
    "datum": ("text", "mineral surface, organic surface, stripped ground, filled ground"),
    "datum_shift_cm": ("number", "added to the depths as written to reach our datum, cm"),
    "organic_above_cm": ("number", "thickness of organic layers above the mineral surface, cm; missing = not described"),
    "position_accuracy_m": ("number", "how well the place is known, m"),
    "position_by": ("text", "how the place was fixed, and the operation used to reach the survey's system"),
    "recorded_soil": ("text", "soil name or class given by the surveyor"),
    "map_unit": ("text", "map unit given by the surveyor"),
    "slope_percent": ("number", "slope measured at the pit, %"),
    "slope_class": ("text", "slope class as recorded"),
    "slope_position": ("text", "slope position as recorded"),
    "aspect_degrees": ("number", "aspect measured at the pit, degrees from north"),
    "elevation_m": ("number", "elevation noted at the pit, m"),
    "drainage": ("text", "drainage class, in the words of the convention"),
    "stoniness": ("text", "stoniness class"),
    "parent_material": ("text", "parent material"),
    "land_use": ("text", "cultivated, pasture, bush, disturbed ..."),
    "date": ("text", "ISO date of description"),
    "surveyor": ("text", "surveyor's code"),
    "photos": ("text", "photo names, separated by semicolons"),
    "remarks": ("text", "all that was noted and has no field of its own"),
    "file": ("text", "source file"),
    "sheet": ("text", "source sheet or layer"),
    "row": ("whole", "source row, 1 = first line of the file"),
}

HORIZON_COLUMNS = {
    "pit_id": ("text", "the pit"),
    "order": ("whole", "1 = uppermost"),
    "designation": ("text", "designation in the normal form of the convention"),
    "designation_as_written": ("text", "designation as in the source"),
    "upper_cm": ("number", "upper depth from the datum, cm, positive downward"),
    "lower_cm": ("number", "lower depth, cm; missing = open below"),
    "upper_low_cm": ("number", "least upper depth where a range or wavy boundary was given, cm"),
    "upper_high_cm": ("number", "greatest upper depth, cm"),
    "lower_low_cm": ("number", "least lower depth, cm"),
    "lower_high_cm": ("number", "greatest lower depth, cm"),
    "thickness_low_cm": ("number", "least thickness as described, cm; a broken horizon has 0"),
    "thickness_high_cm": ("number", "greatest thickness as described, cm"),
    "lower_is_end": ("flag", "the lower depth is only where observation ended"),
    "colour_moist": ("text", "Munsell colour of the moist soil, as 10YR 4/3"),
    "colour_dry": ("text", "Munsell colour of the dry soil"),
    "texture": ("text", "texture class code of the convention"),
    "sand_percent": ("number", "sand, % of fine earth"),
    "silt_percent": ("number", "silt, % of fine earth"),
    "clay_percent": ("number", "clay, % of fine earth"),
    "coarse_fragments_percent": ("number", "coarse fragments, % by volume"),
    "structure_grade": ("text", "structureless, weak, moderate, strong"),
    "structure_size": ("text", "very fine ... very coarse"),
    "structure_kind": ("text", "granular, platy, subangular blocky ..."),
    "consistence": ("text", "moist consistence, or as written"),
    "effervescence": ("text", "none, very weak, weak, moderate, strong ... in the words of the convention"),
    "caco3_percent": ("number", "CaCO3 equivalent, %"),
    "mottles": ("text", "none, few, common, many, or as written; missing = not described"),
    "mottle_contrast": ("text", "faint, distinct, prominent"),
    "ec_ds_m": ("number", "electrical conductivity, dS/m"),
    "ec_extract": ("text", "paste, 1:2, 1:5"),
    "sar": ("number", "sodium adsorption ratio"),
    "ph": ("number", "pH"),
    "organic_carbon_percent": ("number", "organic carbon, %"),
    "bulk_density": ("number", "bulk density, Mg/m3"),
    "boundary_distinctness": ("text", "abrupt, clear, gradual, diffuse"),
    "boundary_form": ("text", "smooth, wavy, irregular, broken"),
    "roots": ("text", "roots as written"),
    "remarks": ("text", "what has no field of its own"),
    "file": ("text", "source file"),
    "sheet": ("text", "source sheet"),
    "row": ("whole", "source row"),
}

READING_COLUMNS = {
    "pit_id": ("text", "the pit or inspection"),
    "attribute": ("text", "name of the attribute read directly in the field"),
    "low": ("number", "low limit in the attribute's unit"),
    "high": ("number", "high limit"),
    "status": ("text", "status of an interval"),
    "presence": ("text", "presence of the feature"),
    "probe": ("whole", "1, 2, 3 ... where several probes were made at a place"),
    "text": ("text", "as written"),
    "file": ("text", "source file"),
    "sheet": ("text", "source sheet"),
    "row": ("whole", "source row"),
}

VALUE_COLUMNS = {
    "pit_id": ("text", "the pit"),
    "attribute": ("text", "name of the attribute"),
    "low": ("number", "low limit in the attribute's unit; missing = none"),
    "high": ("number", "high limit; missing = none"),
    "status": ("text", "measured, at_least, at_most, between, absent, at_surface, unknown"),
    "presence": ("text", "present, absent, not_seen, not_described"),
    "evidence": ("text", "what it rests on"),
    "flags": ("text", "remarks, separated by semicolons"),
}
"""Attributes are held long: one row a pit and attribute."""

SOIL_NAME_COLUMNS = {
    "pit_id": ("text", "the pit"),
    "system": ("text", "key that was used: canadian; features = no key, only what the record supports"),
    "subgroup": ("text", "subgroup, several with 'or' where they tie; advice, a qualified pedologist decides"),
    "great_group": ("text", "great group of the leading name"),
    "soil_order": ("text", "order of the leading name"),
    "sure": ("text", "decided, decided if ..., open between ..., not named and why"),
    "alternatives": ("text", "other names that the record leaves possible, the likelier first"),
    "supposes": ("text", "what is taken for granted because it was not seen"),
    "as_designated": ("text", "what is taken from designations and was not measured"),
    "missing": ("text", "what would settle the open questions"),
    "recorded_soil": ("text", "soil name or class given by the surveyor"),
    "agreement": ("text", "agrees, agrees at great group, among the alternatives, differs, not compared"),
    "agreement_why": ("text", "the step at which the record leaves the surveyor's name"),
}

SOIL_NAME_STEP_COLUMNS = {
    "pit_id": ("text", "the pit"),
    "step": ("whole", "1, 2, 3 ... along the key"),
    "level": ("text", "order, great group, subgroup; feature where no key is used"),
    "soil_class": ("text", "the class that was tested"),
    "decision": ("text", "taken, passed over, also possible"),
    "asks": ("text", "what the key asks"),
    "answer": ("text", "yes, no, open ... and what it leans to"),
    "evidence": ("text", "horizon and value that answer"),
    "missing": ("text", "what would answer an open question"),
    "source": ("text", "where the rule is printed"),
}

NOT_NATURAL = ("stripped ground", "filled ground")
"""Datums of ground that says nothing of the natural soil: such pits feed no map, table or volume of it."""

_DTYPES = {"text": "str", "number": "float64", "whole": "Int64", "flag": "bool"}


def typed(frame: pd.DataFrame, columns: dict[str, tuple[str, str]], *, extra: bool = True) -> pd.DataFrame:
    """``frame`` with every column of the contract present, in order and in its type.

    Columns not in the contract follow behind (``extra=True``) or are dropped.
    """
    ready = {}
    for name, (kind, _) in columns.items():
        if name in frame.columns:
            ready[name] = frame[name].astype(_DTYPES[kind])
        elif kind == "flag":
            ready[name] = pd.Series(False, index=frame.index)
        else:
            ready[name] = pd.Series(pd.NA, index=frame.index).astype(
                {"text": "str", "number": "Float64", "whole": "Int64"}[kind]
            ).astype(_DTYPES[kind])
    rest = [name for name in frame.columns if name not in columns] if extra else []
    return pd.DataFrame({**ready, **{name: frame[name] for name in rest}}, index=frame.index)


@dataclass(frozen=True)
class Pits:
    """Checked descriptions. ``pits`` has PIT_COLUMNS and a Point geometry (None where the place is not known)."""

    record: Record
    pits: gpd.GeoDataFrame
    horizons: pd.DataFrame
    readings: pd.DataFrame
    problems: pd.DataFrame
    notes: tuple[str, ...] = ()
    """What was decided while reading (encoding, decimal mark, organic layers ...), one line each."""


@dataclass(frozen=True)
class AttributeDefinition:
    """What an attribute means. ``kind`` is depth, thickness or average."""

    name: str
    title: str
    unit: str
    kind: str
    help: str
    source: str
    can_be_absent: bool = False
    decimals: int = 0
    of: str = ""
    """Depth functions only: the measured column, the interval and lambda of the curve."""
    upper_cm: float | None = None
    lower_cm: float | None = None
    smoothing: float | None = None


@dataclass(frozen=True)
class Attributes:
    """``values`` has VALUE_COLUMNS, one row a pit and attribute; ``pits`` is pit_id, place_id, position_accuracy_m and geometry."""

    record: Record
    pits: gpd.GeoDataFrame
    values: pd.DataFrame
    definitions: tuple[AttributeDefinition, ...]
    problems: pd.DataFrame
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class SoilNames:
    """Names from the record, as advice: ``names`` one row a pit, ``steps`` one row a question with its evidence."""

    record: Record
    names: pd.DataFrame
    steps: pd.DataFrame
    problems: pd.DataFrame
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Terrain:
    """Named rasters on one grid: projected, metres, NaN outside.

    ``sinks`` lists the potholes, the deepest first, where water was asked for: x, y,
    bottom_m, brim_m, depth_m, area_m2, volume_m3, catchment_m2, kept.
    """

    record: Record
    grid: Grid
    rasters: dict[str, RasterFile]
    problems: pd.DataFrame
    notes: tuple[str, ...] = ()
    sinks: pd.DataFrame | None = None


@dataclass(frozen=True)
class Surface:
    """One attribute on the grid. Raster fields are keys into ``Surfaces.rasters``; empty = not made."""

    attribute: str
    title: str
    unit: str
    method: str
    method_title: str
    estimate: str
    low90: str = ""
    high90: str = ""
    presence: str = ""
    reliability: str = ""
    below: dict[str, str] = field(default_factory=dict)
    """limit as text ('25') -> raster key of the probability of less than it, %."""
    above: dict[str, str] = field(default_factory=dict)
    """limit as text -> raster key of the probability of more than it, %."""
    pits_used: int = 0
    model: str = ""
    """The fitted model in words, with units."""
    score: str = ""
    """The headline score in words."""
    notes: tuple[str, ...] = ()
    parameters: dict = field(default_factory=dict)
    """The fitted model as numbers, for means over areas: kind, nugget, partial_sill (squared unit), scale_m,
    nugget_is_error, drift (tuple of raster names), by_stratum (whether each stratum has its own system), as
    kernels.covariance.Model names them. Empty = the method has no covariance model."""
    cautions: tuple[str, ...] = ()
    """Those of the notes that nobody who uses the surface may miss: no skill, pits not stopped at random."""


@dataclass(frozen=True)
class ClassSurface:
    """Classes noted at the pits on the grid. ``most_probable`` and ``probability`` are keys into ``Surfaces.rasters``."""

    column: str
    title: str
    classes: tuple[str, ...]
    most_probable: str
    probability: str
    """Raster of the probability of the most probable class, %."""
    each: dict[str, str] = field(default_factory=dict)
    """class -> raster key of its probability, %."""
    pits_used: int = 0
    score: str = ""
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Refusal:
    """An attribute that was not mapped, and why, in one plain sentence."""

    attribute: str
    reason: str
    remedy: str = ""


@dataclass(frozen=True)
class Surfaces:
    """``scores``: attribute, method, validation (by location, leave-one-out ...), measure, value, pits, remark."""

    record: Record
    grid: Grid
    surfaces: tuple[Surface, ...]
    rasters: dict[str, RasterFile]
    refusals: tuple[Refusal, ...]
    scores: pd.DataFrame
    points: pd.DataFrame
    """Pits used per surface: attribute, pit_id, x, y, low, high, status, predicted (leave-one-out), and by_location,
    by_location_low90, by_location_high90 (predicted from the other parts of the validation by location),
    by_location_place (probability that prediction gave to less than what was measured)."""
    problems: pd.DataFrame
    notes: tuple[str, ...] = ()
    presences: tuple[Surface, ...] = ()
    """Refused attributes whose probability of presence could be mapped all the same: ``estimate`` is empty there."""
    variograms: pd.DataFrame = field(default_factory=pd.DataFrame)
    """Sample variogram of the measured values: attribute, stratum, distance_m, semivariance (squared unit), pairs."""
    classes: tuple[ClassSurface, ...] = ()
    """Classes noted at the pits, as probabilities ([surfaces] classes)."""


@dataclass(frozen=True)
class Zones:
    """``zones``: zone_id (text), code (whole), name, from (how drawn), area_ha, geometry MultiPolygon.

    ``tables`` holds one table a grouping: zones, strata, parcels, recorded_soils, route.
    """

    record: Record
    zones: gpd.GeoDataFrame
    tables: dict[str, pd.DataFrame]
    problems: pd.DataFrame
    parcels: gpd.GeoDataFrame | None = None
    strata: gpd.GeoDataFrame | None = None
    route: gpd.GeoDataFrame | None = None
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Salvage:
    """``lifts``: one row a polygon and lift with its geometry; see salvage/stage.py for columns. ``rule`` is a key."""

    record: Record
    lifts: gpd.GeoDataFrame
    problems: pd.DataFrame
    rule: str = ""
    notes: tuple[str, ...] = ()
    rule_title: str = ""


@dataclass(frozen=True)
class OutputFile:
    """A file of the run, relative to the output folder."""

    path: str
    sha256: str
    what: str


@dataclass(frozen=True)
class Outputs:
    record: Record
    files: tuple[OutputFile, ...]
    notes: tuple[str, ...] = ()
