"""Invented profiles: subgroup by landform element, then thicknesses down the profile.

Most of what varies within an element is shared by neighbours (a smooth field), the
rest is a pit's own.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pandas as pd

LANDSCAPE = tomllib.loads((Path(__file__).parent / "landscape.toml").read_text(encoding="utf-8"))
BUSH_OF = {"shoulder": "shoulder", "backslope": "backslope", "footslope": "footslope", "upper": "backslope", "slough": "footslope", "rim": "footslope"}
DEEPEST = 220
SHARED = 0.65
"""Share of the variance within an element that neighbours have in common: invented."""


@dataclass
class Layer:
    """A horizon from ``upper`` to ``lower``, whole cm below the mineral surface; organic ones count up and are negative."""

    name: str
    upper: int
    lower: int
    calcareous: bool = False
    mottled: bool = False
    ec: float | None = None


@dataclass
class Profile:
    """What is in the ground, whether or not a pit gets to see it."""

    subgroup: str
    drainage: str
    layers: list[Layer]
    truth: dict[str, float] = field(default_factory=dict)


def draw_profile(place: pd.Series, rng: np.random.Generator) -> Profile:
    if place.bush:
        return _bush(place, rng)
    return _cultivated(place, rng)


def _pick(rng: np.random.Generator, shares: dict[str, float]) -> str:
    return str(rng.choice(list(shares), p=np.array(list(shares.values())) / sum(shares.values())))


def _normal(rng, place, mean: float, deviation: float, least: float) -> int:
    drawn = np.sqrt(SHARED) * place.kinship + np.sqrt(1 - SHARED) * rng.normal()
    return int(round(max(least, mean + deviation * drawn)))


def _cultivated(place: pd.Series, rng: np.random.Generator) -> Profile:
    element = LANDSCAPE["cultivated"][place.element]
    subgroup = _pick(rng, element["subgroups"])
    a = _normal(rng, place, *element["a"], 5)
    has_ae = any(word in subgroup for word in ("Eluviated", "Luvic"))
    ae = min(max(2, int(round(rng.normal(*element["ae"])))), a - 6) if has_ae and a >= 9 else 0
    dark = a - ae
    lime = _lime(place, rng, element, subgroup, a)
    mottles = _mottles(rng, element, subgroup, dark)
    bt = _bt(place, rng, element, subgroup, a)
    layers = _plough_layer(place, rng, dark, lime)
    if subgroup == "Cumulic Humic Regosol":
        layers += [Layer("C", a, a + 9), Layer("Ahb", a + 9, a + 21), Layer("C", a + 21, lime) if lime > a + 21 else Layer("C", a + 21, a + 40)]
        layers.append(Layer("Ck", layers[-1].lower, DEEPEST, True))
        lime = layers[-1].upper
    else:
        if ae:
            layers.append(Layer("Ae", dark, a))
        layers += _subsoil(rng, subgroup, a, bt, lime)
    layers = _gley(layers, mottles, subgroup)
    if "saline" in subgroup:
        _salt(layers, int(round(max(5, rng.normal(15, 8)))), rng)
    if place.lake:
        layers = _second_material(layers, int(rng.integers(30, 71)))
    truth = {"a_e": a, "ae": ae, "lime": lime, "bt": bt or np.nan, "bush": False}
    return Profile(subgroup, str(rng.choice(element["drainage"])), layers, truth)


def _lime(place, rng, element, subgroup: str, a: int) -> int:
    """Where lime begins, by subgroup: below the B of Orthic and Eluviated, below the A of Calcareous, mostly at 0 in Rego."""
    mean, deviation = element["lime"]
    if "Calcareous" in subgroup:
        return a
    if "Rego Humic Gleysol" in subgroup or "Gleyed Rego" in subgroup:
        return 0 if rng.random() < 0.8 else a
    if "Rego" in subgroup:
        return 0 if rng.random() < 0.7 else a
    if subgroup == "Orthic Regosol":
        return 0
    shares, typical = element["subgroups"], element["a"][0]
    calcareous = sum(share for name, share in shares.items() if "Calcareous" in name)
    rego = sum(share for name, share in shares.items() if "Rego " in name)
    rest = 1 - calcareous - rego - shares.get("Orthic Regosol", 0)
    own_mean = (mean - calcareous * typical - rego * 0.3 * typical) / rest
    return _normal(rng, place, own_mean, 0.85 * deviation, a + 6)


def _mottles(rng, element, subgroup: str, dark: int) -> int | None:
    share, mean, deviation = element["mottles"]
    if "Gleysol" in subgroup and "saline" not in subgroup:
        return dark
    gleyed = "Gleyed" in subgroup or "saline" in subgroup
    if gleyed or (share < 1 and rng.random() < share * 0.2):
        return max(dark if share < 1 else 8, int(round(rng.normal(mean, deviation)))) if mean else dark
    return None


def _bt(place, rng, element, subgroup: str, a: int) -> int | None:
    """Top of Bt: always below Ae, in the share left over also in Orthic soils."""
    share, mean, deviation = element["bt"]
    eluviated = {name: p for name, p in element["subgroups"].items() if "Eluviated" in name or "Luvic" in name}
    if subgroup in eluviated:
        return _normal(rng, place, mean, deviation, a)
    orthic = sum(p for name, p in element["subgroups"].items() if name.startswith("Orthic"))
    if subgroup == "Orthic Black Chernozem" and orthic and rng.random() < max(0.0, share - sum(eluviated.values())) / orthic:
        return _normal(rng, place, mean, deviation, a)
    return None


def _plough_layer(place, rng, dark: int, lime: int) -> list[Layer]:
    k = "k" if lime == 0 else ""
    if place.element == "recharge_slough":  # too wet to plough; some have an organic layer
        peat = [Layer("Om", -int(rng.integers(3, 11)), 0)] if rng.random() < 0.3 else []
        return [*peat, Layer("Ah" + k, 0, dark, lime == 0)]
    plough = min(dark, int(round(rng.normal(14, 1.5))))
    if dark - plough < 3:
        return [Layer("Ap" + k, 0, dark, lime == 0)]
    return [Layer("Ap" + k, 0, plough, lime == 0), Layer("Ah" + k, plough, dark, lime == 0)]


def _subsoil(rng, subgroup: str, a: int, bt: int | None, lime: int) -> list[Layer]:
    """From the base of A and E down to DEEPEST."""
    layers: list[Layer] = []
    if lime <= a:
        if "Calcareous" in subgroup:
            base = a + int(rng.integers(10, 22))
            layers.append(Layer("Bmk", a, base, True))
            return [*layers, *_lime_layers(rng, base)]
        return _lime_layers(rng, a)
    top = a
    if bt is not None and bt > a:
        if lime - bt < 6:
            lime = bt + 6
        layers.append(Layer("AB" if bt - a <= 14 else "Bm", a, bt))
        top = bt
    name = "Bt" if bt is not None else "Bg" if "Gleysol" in subgroup else "Bm"
    thick = lime - top
    if thick > 30 and rng.random() < 0.7:
        middle = top + int(round(thick * rng.uniform(0.55, 0.75)))
        layers += [Layer(name, top, middle), Layer("BC", middle, lime)]
    else:
        layers.append(Layer(name, top, lime))
    return [*layers, *_lime_layers(rng, lime)]


def _lime_layers(rng, top: int) -> list[Layer]:
    if rng.random() < 0.4:
        base = top + int(rng.integers(12, 25))
        return [Layer("Cca", top, base, True), Layer("Ck", base, DEEPEST, True)]
    return [Layer("Ck", top, DEEPEST, True)]


def _gley(layers: list[Layer], mottles: int | None, subgroup: str) -> list[Layer]:
    """Mark what lies below the first mottles, splitting a thick horizon there; g in Gleysols, else gj."""
    if mottles is None:
        return layers
    letter = "g" if "Gleysol" in subgroup else "gj"
    out: list[Layer] = []
    for layer in layers:
        if layer.lower <= mottles + 5 or layer.name.startswith(("O", "Ap", "Ah")):
            out.append(layer)
            continue
        if layer.upper < mottles - 5:
            out.append(Layer(layer.name, layer.upper, mottles, layer.calcareous))
            layer = Layer(layer.name, mottles, layer.lower, layer.calcareous)
        stem = layer.name.rstrip("g")
        if stem.endswith(("k", "ca")) and letter == "gj":
            name = {"Ck": "Ckgj", "Cca": "Ccagj", "Bmk": "Bmkgj"}.get(stem, stem + letter)
        else:
            name = {"Ck": "Ckg", "Cca": "Ccag"}.get(stem, stem + letter) if letter == "g" else stem + letter
        out.append(Layer(name, layer.upper, layer.lower, layer.calcareous, True))
    return out


def _salt(layers: list[Layer], depth: int, rng) -> None:
    """Electrical conductivity: at least 4 from the horizon that holds ``depth`` on."""
    for layer in layers:
        if layer.lower <= 0:
            continue
        salty = layer.lower > depth and layer.upper >= depth - 8
        layer.ec = round(float(rng.uniform(4.5, 9.5) if salty else rng.uniform(1.2, 3.4)), 1)
        if salty and layer.name.startswith("C"):
            layer.name = layer.name.replace("Ck", "Csak").replace("Cca", "Csaca")


def _second_material(layers: list[Layer], depth: int) -> list[Layer]:
    """Till below ``depth``: names from there on begin with II; a horizon across it is split where it is thick enough."""
    out: list[Layer] = []
    for layer in layers:
        if layer.lower <= depth + 4:
            out.append(layer)
        elif layer.upper >= depth - 4:
            out.append(Layer("II" + layer.name, layer.upper, layer.lower, layer.calcareous, layer.mottled, layer.ec))
        else:
            out.append(Layer(layer.name, layer.upper, depth, layer.calcareous, layer.mottled, layer.ec))
            out.append(Layer("II" + layer.name, depth, layer.lower, layer.calcareous, layer.mottled, layer.ec))
    return out


def _bush(place: pd.Series, rng: np.random.Generator) -> Profile:
    element = LANDSCAPE["bush"][BUSH_OF[place.element.split("_")[1]]]
    subgroup = _pick(rng, element["subgroups"])
    forest_floor = int(round(np.clip(rng.normal(5, 2), 2, 10)))
    layers = [Layer("LFH", -forest_floor, 0)]
    if subgroup == "Orthic Dark Gray Chernozem":
        a = _normal(rng, place, *element["a"], 6)
        lime = _normal(rng, place, *element["lime"], a + 8)
        layers += [Layer("Ahe", 0, a), Layer("Bm", a, lime), *_lime_layers(rng, lime)]
        truth = {"a_e": a, "ae": 0, "lime": lime, "bt": np.nan}
    else:
        bt = _normal(rng, place, *element["bt"], 8)
        base = _normal(rng, place, *element["bt_base"], bt + 12)
        lime = max(base, _normal(rng, place, *element["lime"], bt + 14))
        dark = min(bt - 5, int(rng.integers(5, 9))) if subgroup.startswith("Dark Gray") else 0
        if dark:
            layers.append(Layer("Ahe", 0, dark))
        layers += [Layer("Ae", dark, bt), Layer("Bt", bt, base)]
        if lime - base >= 5:
            layers.append(Layer("BC", base, lime))
        else:
            layers[-1].lower = lime
        layers += _lime_layers(rng, lime)
        truth = {"a_e": bt, "ae": bt - dark, "lime": lime, "bt": bt}
        if subgroup == "Gleyed Gray Luvisol":
            layers = _gley(layers, dark, subgroup)
    return Profile(subgroup, str(rng.choice(element["drainage"])), layers, {**truth, "bush": True, "forest_floor": forest_floor})
