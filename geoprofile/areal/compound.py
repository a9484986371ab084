"""Surfaces made of two models: whether a horizon is there and how thick it is where it is, or the pair of log-ratios.

Neither has a formula for the mean of an area. Both fields are drawn at the same places and read together.

Presence. Indicator kriging gives a chance p and the variance v of what the share present around a place may be, the
nugget left out. With U the field of its errors over their own deviation, a place's share present is drawn as
Phi((t + sqrt(c) U) / sqrt(1 - c)), t = Phi^-1(p): its mean is p for every c, and c is chosen so that its variance is v.
So the drawn shares lie within 0 and 1, have the mean and the variance that kriging says, and vary from place to place
as its errors do (a normal field cut at a level: Chiles & Delfiner 2012, section 7.6.2; as probability fields, Froidevaux
1993). Thickness is drawn apart, as the two-part form takes it: given the place, it says nothing of presence.

Log-ratios. Each ratio is drawn by its own model; the shares of a place are those of the pair, over the nugget of both.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
from scipy.special import ndtr, ndtri, owens_t

from ..context import Context
from ..kernels.kriging import predict_points
from ..kernels.log_ratios import to_shares
from ..kernels.simulation import Lattice
from ..products import Surface, Surfaces
from .area import Area
from .draws import (
    DRAWS,
    AreaDraws,
    Conditioned,
    Nodes,
    draws_of_bounded,
    over_areas,
    read_values,
    share_below_of,
)
from .model import ErrorModel, Part
from .rebuilt import KnownCells, blank_model, gives_back, models_told, with_parts

TWO_PART, LOG_RATIOS = "two_part", "log_ratios"
AT_ONCE = 1_500_000
"""Values of one field held at once."""
MOST_OF_VARIANCE = 0.98
"""Share of p (1 - p) beyond which nothing would be left for what varies within a place."""
_GAUSS = np.polynomial.hermite_e.hermegauss(3)


@dataclass(frozen=True)
class Compound:
    """``first``: thickness where present, or the first ratio; ``second``: presence (strata where all pits have it are
    without a part), or the second ratio; ``which`` of the three shares."""

    form: str
    first: ErrorModel
    second: ErrorModel
    which: int = 0

    is_normal = False

    @property
    def mean_is_drawn(self) -> bool:
        """Whether the mean of an area is that of its draws: the estimates of shares are those of the middle pair, no means."""
        return self.form == LOG_RATIOS

    def knows(self, points: np.ndarray) -> np.ndarray:
        return self.first.knows(points)

    def predict(self, points: np.ndarray) -> np.ndarray:
        """(m,) estimates as the surface has them, before impossible ones are clipped."""
        first, second = self.first.predict(points), self.second.predict(points)
        if self.form == TWO_PART:
            return np.where(np.isnan(second), 1.0, np.clip(second, 0.0, 1.0)) * np.maximum(first, 0.0)
        return to_shares(np.stack([first, second], axis=-1))[..., self.which]


def compound_model(surface: Surface, surfaces: Surfaces, known: KnownCells, context: Context) -> Compound | None:
    """The two models rebuilt, or None where the surface is not made of two or they do not give back what is ``known``."""
    models = models_told(surface)
    forms = {form for one in models.values() for form in (TWO_PART, LOG_RATIOS) if form in one}
    if len(forms) != 1 or (blank := blank_model(surface, surfaces, context)) is None:
        return None
    form = forms.pop()
    pits = surfaces.points[surfaces.points["attribute"] == surface.attribute].reset_index(drop=True)
    names = np.array([*blank.ids, ""], object)[blank.stratum_of(pits[["x", "y"]].to_numpy(float))]
    found = (_two_part if form == TWO_PART else _log_ratios)(blank, models, pits, names)
    return found if found is not None and gives_back(found.predict, known) else None


def _two_part(blank: ErrorModel, models: dict, pits, names: np.ndarray) -> Compound | None:
    both = {name: one[TWO_PART] for name, one in models.items() if TWO_PART in one}
    thickness = {name: both[name]["thickness"] if name in both else one for name, one in models.items()}
    if not all("kind" in one for one in thickness.values()):
        return None
    absent = (pits["status"] == "absent").to_numpy()
    split = np.isin(names, list(both))
    powers = {one.get("power") for one in thickness.values()}
    if len(powers) > 1 or any(one.get("floor") for one in thickness.values()):
        return None
    first = with_parts(blank, thickness, pits[~(absent & split)], powers.pop())
    seen = (~absent).astype(float)
    second = with_parts(blank, {name: one["presence"] for name, one in both.items()},
                        pits.assign(low=seen, high=seen, reading=np.nan, status="measured")[split])  # fmt: skip
    return None if first is None or second is None else Compound(TWO_PART, first, second)


def _log_ratios(blank: ErrorModel, models: dict, pits, names: np.ndarray) -> Compound | None:
    ratios = np.full((2, len(pits)), np.nan)
    for name, one in models.items():
        own = names == name
        if LOG_RATIOS not in one or own.sum() != len(one[LOG_RATIOS]["values"][0]):
            return None
        ratios[:, own] = one[LOG_RATIOS]["values"]
    first, second = (
        with_parts(blank, {name: one[LOG_RATIOS][word] for name, one in models.items()},
                   pits.assign(low=ratio, high=ratio, reading=np.nan))
        for word, ratio in zip(("first", "second"), ratios, strict=True)
    )  # fmt: skip
    which = next(iter(models.values()))[LOG_RATIOS]["which"]
    return None if first is None or second is None else Compound(LOG_RATIOS, first, second, which)


def compound_draws(
    model: Compound, areas: Sequence[Area], limits: tuple[float, ...] = (), *, seed: int = 1, draws: int = DRAWS
) -> AreaDraws:
    """As :func:`area_draws`, both fields drawn together; shares below limits are NaN for log-ratios."""
    rng = np.random.default_rng(seed)
    fixed = [
        {name: Conditioned(part, draws, rng, draws_of_bounded) for name, part in one.parts.items()}
        for one in (model.first, model.second)
    ]
    return over_areas(model.first, areas, len(limits), draws, partial(_add, model, fixed, limits, draws, rng))


def _add(model: Compound, fixed, limits, draws: int, rng, found: AreaDraws, places: list[int], nodes: Nodes, lattice: Lattice | None) -> None:
    mean, below = np.zeros((len(places), draws)), np.zeros((len(places), len(limits), draws))
    stratum = model.first.stratum_of(nodes.points) if nodes.stratum is None else nodes.stratum
    drift = model.first.drift_at(nodes.points) if nodes.drift is None else nodes.drift
    chunk = max(20, AT_ONCE // max(len(nodes.points), 1))
    for name in fixed[0]:
        own = np.flatnonzero(np.isin(stratum, [place for place, one in enumerate(model.first.ids) if one == name]))
        if not len(own):
            continue
        weight, terrain = nodes.weight[:, own], None if drift is None else drift[own]
        row, column = (None, None) if lattice is None else (nodes.row[own], nodes.column[own])
        read = _reader(model, name, nodes.points[own], terrain)
        for start in range(0, draws, chunk):
            columns = slice(start, min(start + chunk, draws))
            first, second = (
                None if name not in one else np.hstack(list(one[name].some(columns).fields(
                    nodes.points[own], terrain, row, column, lattice, columns.stop - columns.start, rng)))
                for one in fixed
            )  # fmt: skip
            value, shares = read(first, second, limits)
            mean[:, columns] += weight @ value
            for number, share in enumerate(shares):
                below[:, number, columns] += weight @ share
    found.mean[places], found.below[places] = mean, below


def _reader(model: Compound, name: str, points: np.ndarray, drift: np.ndarray | None):
    if model.form == LOG_RATIOS:
        nuggets = [_nugget(one.parts[name]) for one in (model.first, model.second)]
        return lambda first, second, limits: (share_drawn(first, second, nuggets, model.which), [np.nan * first for _ in limits])
    nugget = _nugget(model.first.parts[name])
    present = None
    if name in model.second.parts:
        smooth = model.second.parts[name].system._replace(nugget_is_error=True)
        chance, variance = predict_points(smooth, points, drift)
        present = partial(presence_drawn, chance, variance)

    def read(first, second, limits):
        there = 1.0 if present is None else present(second)
        shares = [1.0 - there * (1.0 - share_below_of(first, nugget, model.first.to_latent(limit))) for limit in limits]
        return there * read_values(first, nugget, model.first), shares

    return read


def _nugget(part: Part) -> float:
    return 0.0 if part.system.nugget_is_error else part.system.model.nugget


def presence_drawn(chance: np.ndarray, variance: np.ndarray, drawn: np.ndarray) -> np.ndarray:
    """Shares present (m, draws) of normal draws of the indicator with mean ``chance`` and ``variance`` (m,), nugget left out."""
    p = np.clip(chance, 0.0, 1.0)
    sure = (p <= 0) | (p >= 1)
    inside = np.where(sure, 0.5, p)
    level = ndtri(inside)
    alike = alikeness(inside, np.minimum(variance, MOST_OF_VARIANCE * inside * (1 - inside)))
    errors = (drawn - chance[:, None]) / np.sqrt(np.maximum(variance, 1e-12))[:, None]
    share = ndtr((level[:, None] + np.sqrt(alike)[:, None] * errors) / np.sqrt(1 - alike)[:, None])
    return np.where(sure[:, None], p[:, None], share)


def alikeness(p: np.ndarray, variance: np.ndarray) -> np.ndarray:
    """(m,) correlation c of two places inside one, such that their share present has ``variance``: P(both) - p^2.

    Of two standard normals with correlation c, both lie below t with Phi(t) - 2 T(t, sqrt((1 - c) / (1 + c))) (Owen 1956).
    """
    level = ndtri(p)
    low, high = np.zeros(len(p)), np.full(len(p), 1 - 1e-9)
    for _ in range(40):
        middle = (low + high) / 2
        both = p - 2 * owens_t(level, np.sqrt((1 - middle) / (1 + middle)))
        less = both - p * p < variance
        low, high = np.where(less, middle, low), np.where(less, high, middle)
    return (low + high) / 2


def share_drawn(first: np.ndarray, second: np.ndarray, nuggets: list[float], which: int) -> np.ndarray:
    """The mean share, %, of places where the ratios are ``first`` and ``second`` (m, draws) and vary by their nuggets."""
    out = np.zeros_like(first)
    nodes, weights = _GAUSS[0], _GAUSS[1] / _GAUSS[1].sum()
    for a, by_a in zip(nodes, weights, strict=True):
        for b, by_b in zip(nodes, weights, strict=True):
            pair = np.stack([first + a * np.sqrt(nuggets[0]), second + b * np.sqrt(nuggets[1])], axis=-1)
            out += by_a * by_b * to_shares(pair)[..., which]
    return out
