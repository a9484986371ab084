"""What crews wrote down of the profiles, with the faults that real surveys have.

The faults are planted on purpose and named in :data:`PLANTED`; a test looks for
each of them in what the program reports.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from .profiles import Layer, Profile

PLANTED = {
    "augered to 60 only": 36,
    "augered to 100 only": 12,
    "stopped by stones on a knoll": 6,
    "stones entered as rock": 2,
    "no acid test": 9,
    "measured from the top of LFH": 7,
    "every Ap 0-15": "all pits of crew 3",
    "wrong zone": 1,
    "on the waypoint of the truck": 3,
    "visited twice": 1,
    "Apk over Bm": 3,
    "Ahb": 2,
    "CK and Btjn as written": 2,
    "last Bt closed where the auger ended": 1,
    "EC by paste and 1:2": "half and half",
    "stripped yard": 2,
    "gap": 1,
    "overlap": 1,
    "waypoint without description": 4,
    "wavy base given as a range": 5,
}

COLOURS = {"Ap": "10YR 2/1", "Ah": "10YR 2/1", "Ahe": "10YR 3/2", "Ae": "10YR 6/2", "AB": "10YR 4/2", "Bm": "10YR 4/3", "Bt": "10YR 4/4", "BC": "10YR 5/4", "C": "2.5Y 6/3"}
GREY = {"Ae": "10YR 6/1", "AB": "2.5Y 5/2", "Bm": "2.5Y 4/2", "Bg": "5Y 5/1", "Bt": "2.5Y 4/2", "BC": "2.5Y 5/2", "C": "5Y 5/2"}
CLAY = {"A": 26, "Ae": 19, "AB": 29, "Bm": 31, "Bg": 33, "Bt": 39, "BC": 33, "C": 31}
SAND = {"A": 34, "Ae": 38, "AB": 34, "Bm": 33, "Bg": 31, "Bt": 28, "BC": 33, "C": 34}
STRUCTURE = {"Ap": "weak medium granular", "Ah": "moderate medium granular", "Ahe": "weak medium platy", "Ae": "moderate medium platy", "AB": "moderate fine subangular blocky", "Bm": "moderate medium subangular blocky", "Bg": "weak coarse subangular blocky", "Bt": "strong medium prismatic", "BC": "weak coarse subangular blocky", "C": "structureless massive"}
POSITION = {"shoulder": "upper", "backslope": "middle", "footslope": "lower", "upper": "crest", "slough": "depression", "rim": "toe"}


@dataclass
class Survey:
    """Rows of the two sheets, as cells, and where each fault was planted."""

    pits: list[dict] = field(default_factory=list)
    horizons: list[dict] = field(default_factory=list)
    planted: dict[str, list[str]] = field(default_factory=dict)

    def plant(self, fault: str, pit_id: str) -> None:
        self.planted.setdefault(fault, []).append(pit_id)


@dataclass
class Plan:
    """How one pit is dug and written down."""

    pit_id: str
    place: pd.Series
    profile: Profile
    crew: str = "1"
    kind: str = "pit"
    observed: int = 120
    stopped_by: str = "planned depth"
    acid: bool = True
    from_top_of_forest_floor: bool = False
    stripped: int = 0
    faults: set[str] = field(default_factory=set)


def pit_name(number: int) -> str:
    return f"TK-{number:03d}"


def plan_survey(places: pd.DataFrame, profiles: list[Profile], rng: np.random.Generator, survey: Survey) -> list[Plan]:
    """Give every pit its crew, its depth and its faults."""
    plans = [Plan(pit_name(k + 1), place, profile) for k, (place, profile) in enumerate(zip(places.itertuples(), profiles))]
    number = np.arange(len(plans))
    for k, plan in enumerate(plans):
        plan.crew = "2" if plan.place.bush and k % 2 else "3" if not plan.place.bush and k % 5 == 0 else "1"
        plan.observed = int(rng.integers(11, 14)) * 10
        if k % 12 == 7:
            plan.kind, plan.observed = "core", 150
    free = set(number.tolist())

    def choose(count: int, fits, fault: str) -> list[Plan]:
        candidates = [k for k in sorted(free) if fits(plans[k])]
        chosen = sorted(int(k) for k in rng.choice(candidates, count, replace=False))
        free.difference_update(chosen)
        for k in chosen:
            plans[k].faults.add(fault)
            survey.plant(fault, plans[k].pit_id)
        return [plans[k] for k in chosen]

    knoll = ("divergent_shoulder", "convergent_shoulder", "level_upper")
    dry = ("divergent_backslope", "convergent_backslope", "divergent_footslope", "convergent_footslope", *knoll)
    for plan in choose(6, lambda p: not p.place.bush and p.place.element in knoll, "stopped by stones on a knoll"):
        plan.kind, plan.stopped_by, plan.observed = "auger", "stones", int(rng.integers(24, 46))
    for pit_id in survey.planted["stopped by stones on a knoll"][:2]:
        plans[int(pit_id[3:]) - 1].stopped_by = "rock"
        survey.plant("stones entered as rock", pit_id)
    for plan in choose(7, lambda p: p.place.bush and p.crew == "2" and _has(p, "Bt"), "measured from the top of LFH"):
        plan.from_top_of_forest_floor = True
    for plan in choose(2, lambda p: not p.place.bush and p.place.element in dry and _has(p, "Bm"), "stripped yard"):
        plan.stripped = 20
    for plan in choose(1, lambda p: not p.place.bush and p.crew == "1" and _has(p, "Bt"), "last Bt closed where the auger ended"):
        plan.kind, plan.observed, plan.stopped_by = "auger", 45, ""
        _make_bt(plan.profile, 17, 45)
    choose(3, lambda p: p.profile.subgroup == "Orthic Black Chernozem" and p.place.element in dry and not _has(p, "Bt"), "Apk over Bm")
    for plan in choose(2, lambda p: not p.place.bush and p.place.element == "convergent_footslope", "Ahb"):
        if not _has(plan, "Ahb"):
            _bury(plan.profile, rng)
    choose(1, lambda p: not p.place.bush and p.crew == "1" and _has(p, "Bt") and p.place.element != "recharge_slough", "CK and Btjn as written")
    choose(1, lambda p: p.crew == "1" and not _has(p, "Bt") and any(x.name == "Ck" and x.upper < 60 for x in p.profile.layers), "CK and Btjn as written")
    choose(1, lambda p: len(p.profile.layers) > 3 and p.crew == "1", "gap")
    choose(1, lambda p: len(p.profile.layers) > 3 and p.crew == "1", "overlap")
    choose(1, lambda p: p.crew == "1" and p.kind == "pit", "wrong zone")
    choose(3, lambda p: 70 < _north(p) < 260, "on the waypoint of the truck")
    choose(1, lambda p: p.kind == "pit" and p.crew == "1", "visited twice")
    choose(5, lambda p: p.kind == "pit" and p.crew == "1" and not p.place.bush and len(p.profile.layers) > 2, "wavy base given as a range")
    for plan in choose(9, _not_cored, "no acid test"):
        plan.acid = False
    for plan in choose(36, lambda p: _not_cored(p) and p.place.element != "discharge_rim", "augered to 60 only"):
        plan.kind, plan.observed = "auger", 60
    for plan in choose(12, _not_cored, "augered to 100 only"):
        plan.kind, plan.observed = "auger", 100
    for plan in plans:
        if plan.crew == "3":
            survey.plant("every Ap 0-15", plan.pit_id)
    return plans


def _not_cored(plan: Plan) -> bool:
    return plan.kind != "core"


def _north(plan: Plan) -> float:
    from .ground import SOUTH

    return plan.place.y - SOUTH


def _has(plan: Plan, name: str) -> bool:
    return any(layer.name.startswith(name) for layer in plan.profile.layers)


def _make_bt(profile: Profile, upper: int, lower: int) -> None:
    """The scenario's pit: Ap 0-17, Bt 17-45, nothing below."""
    profile.subgroup = "Orthic Black Chernozem"
    profile.layers = [Layer("Ap", 0, upper), Layer("Bt", upper, lower + 13), Layer("Ck", lower + 13, 220, True)]
    profile.truth.update(a_e=upper, ae=0, bt=upper, lime=lower + 13)


def _bury(profile: Profile, rng: np.random.Generator) -> None:
    """Wash from the knoll over an older surface."""
    a, lime = int(profile.truth["a_e"]), int(profile.truth["lime"])
    top = a + int(rng.integers(6, 12))
    base = max(lime, top + 18)
    profile.subgroup = "Cumulic Humic Regosol"
    profile.layers = [Layer("Ap", 0, min(a, 15)), *([Layer("Ah", 15, a)] if a > 18 else []), Layer("C", max(a, 15) if a > 18 else min(a, 15), top),
                      Layer("Ahb", top, top + 12), Layer("C", top + 12, base), Layer("Ck", base, 220, True)]  # fmt: skip
    profile.truth.update(ae=0, bt=np.nan, lime=base, a_e=a if a > 18 else min(a, 15))


def write_down(plan: Plan, survey: Survey, rng: np.random.Generator, date: str, note: str = "") -> None:
    """The rows of one pit in both sheets."""
    place, profile = plan.place, plan.profile
    layers = [Layer(**vars(layer)) for layer in profile.layers]
    if plan.stripped:
        layers = [Layer(**{**vars(layer), "upper": max(0, layer.upper - plan.stripped), "lower": layer.lower - plan.stripped})
                  for layer in layers if layer.lower > plan.stripped + 3 and not layer.name.startswith("A")]  # fmt: skip
        layers[0].upper = 0
    if plan.crew == "3":
        _ap_of_15(layers)
    layers = [layer for layer in layers if layer.upper < plan.observed - 2 or layer.lower <= 0]
    layers[-1].lower = plan.observed
    shift = profile.truth.get("forest_floor", 0) if plan.from_top_of_forest_floor else 0
    bottom = plan.observed + shift
    survey.pits.append({
        "Pit": plan.pit_id, "Date": date, "Crew": f"crew {plan.crew}", "Kind": plan.kind,
        "Observed to (cm)": None if "last Bt closed where the auger ended" in plan.faults else bottom,
        "Stopped by": plan.stopped_by or None,
        "Acid tested to (cm)": bottom if plan.acid else (0 if int(plan.pit_id[3:]) % 2 else None),
        "Datum": "stripped ground" if plan.stripped else None,
        "Soil": None if plan.stripped else profile.subgroup, "Drainage": profile.drainage, "Slope (%)": int(place.slope),
        "Slope position": POSITION[place.element.split("_")[1]],
        "Stoniness": "moderately stony" if "shoulder" in place.element or plan.stopped_by in ("stones", "rock") else "slightly stony",
        "Parent material": "lacustrine over till" if place.lake else "till",
        "Land use": "disturbed" if plan.stripped else "bush" if place.bush else "cultivated",
        "Remarks": note or ("old yard, topsoil gone" if plan.stripped else None),
    })  # fmt: skip
    laboratory = plan.kind == "pit" and int(plan.pit_id[3:]) % 2 == 0
    salts = laboratory or any(layer.ec is not None for layer in layers)
    extract = ""
    if salts:
        extract = ("paste", "1:2")[len(survey.planted.get("EC by paste and 1:2", ())) % 2]
        survey.plant("EC by paste and 1:2", plan.pit_id)
    for number, layer in enumerate(layers):
        survey.horizons.append(_horizon(plan, layer, number, layers, shift, laboratory, extract, rng))
    _spoil(plan, survey.horizons[-len(layers):])


def _ap_of_15(layers: list[Layer]) -> None:
    """This crew writes every plough layer as 0-15; what lies below starts there, or is gone."""
    first = next((k for k, layer in enumerate(layers) if layer.name.startswith("Ap")), None)
    if first is None:
        return
    layers[first].lower = 15
    while first + 1 < len(layers) and layers[first + 1].lower <= 17:
        del layers[first + 1]
    if first + 1 < len(layers):
        layers[first + 1].upper = 15


def _stem(name: str) -> str:
    name = name.removeprefix("II")
    for stem in ("Ahe", "Ap", "Ah", "Ae", "AB", "Bm", "Bg", "Bt", "BC"):
        if name.startswith(stem):
            return stem
    return "C" if name.startswith("C") else ""


def _horizon(plan: Plan, layer: Layer, number: int, layers: list[Layer], shift: int, laboratory: bool, extract: str, rng) -> dict:
    stem = _stem(layer.name)
    organic = layer.lower <= 0
    upper, lower = (abs(layer.upper), abs(layer.lower)) if organic and not shift else (layer.upper + shift, layer.lower + shift)
    name = layer.name if plan.acid else layer.name.replace("Cca", "C").replace("k", "")
    grey = "g" in name.replace("II", "") and not name.startswith("A")
    colour = None if organic else "10YR 4/2" if name.startswith("Apk") else (GREY if grey else COLOURS).get(stem)
    texture, sand, clay = None, None, None
    if not organic:
        family = stem if stem in CLAY else "A"
        sand, clay = int(round(SAND[family] + rng.normal(0, 3))), int(round(CLAY[family] + rng.normal(0, 3)))
        if plan.place.lake and not layer.name.startswith("II"):
            sand, clay = max(5, sand - 20), clay + 8
        texture = _texture(sand, clay)
    effervescence = None
    if plan.acid and not organic:
        effervescence = "none" if not layer.calcareous else "weak" if layer.name.startswith("A") else "strong" if "ca" in layer.name else "moderate"
    mottles = None if organic or plan.kind == "auger" and not layer.mottled and rng.random() < 0.3 else "many distinct" if layer.mottled and "gj" not in name else "common faint" if layer.mottled else "none"
    boundary = None
    if plan.kind != "auger" and number < len(layers) - 1 and not organic:
        boundary = "abrupt smooth" if stem == "Ap" else "clear wavy" if stem in ("Ah", "Ahe", "Ae") else "gradual wavy"
    ec = layer.ec
    if ec is None and extract and not organic:
        ec = float(np.round(rng.uniform(0.4, 1.4), 1))
    if ec is not None and extract == "1:2":
        ec = round(ec / 2, 1)
    return {
        "Pit": plan.pit_id, "Horizon": name, "From (cm)": upper, "To (cm)": lower, "Colour moist": colour, "Texture": texture,
        "Sand (%)": sand if laboratory else None, "Silt (%)": 100 - sand - clay if laboratory and sand is not None else None,
        "Clay (%)": clay if laboratory else None, "Structure": None if organic or plan.kind == "auger" else STRUCTURE[stem],
        "Mottles": mottles, "Effervescence": effervescence, "EC (dS/m)": ec, "EC extract": extract if ec is not None else None,
        "Boundary": boundary,
    }  # fmt: skip


def _texture(sand: int, clay: int) -> str:
    from geoprofile.vocabulary.texture import texture_class

    return str(np.atleast_1d(texture_class(np.array([float(sand)]), np.array([float(100 - sand - clay)]), np.array([float(clay)]), "canadian"))[0])


def _spoil(plan: Plan, rows: list[dict]) -> None:
    """Plant the faults that are slips of writing."""
    if "gap" in plan.faults:
        rows[1]["To (cm)"] -= 4
    if "wavy base given as a range" in plan.faults:
        first = next(k for k, row in enumerate(rows) if row["Horizon"].startswith("A"))
        base = rows[first]["To (cm)"]
        rows[first]["To (cm)"] = rows[first + 1]["From (cm)"] = f"{base - 3}-{base + 3}"
        rows[first]["Boundary"] = "clear wavy"
    if "overlap" in plan.faults:
        rows[2]["From (cm)"] -= 5
    if "Apk over Bm" in plan.faults:
        rows[0].update({"Horizon": "Apk", "Effervescence": "weak", "Colour moist": "10YR 3/2"})
    if "CK and Btjn as written" in plan.faults:
        bt = next((row for row in rows if row["Horizon"].startswith("Bt")), None)
        ck = next((row for row in rows if row["Horizon"] == "Ck"), None)
        if bt is not None:
            bt["Horizon"] = "Btjn"
        elif ck is not None:
            ck["Horizon"] = "CK"
