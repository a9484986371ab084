"""Whether the pits reach farther one way than across it: azimuth and ratio by likelihood, and never from noise.

Geometric anisotropy (Webster & Oliver 2007, section 5.3): along an azimuth the model has its range, across it
a share of that. Both numbers enter the likelihood beside sill, nugget and range, as a bend that is smooth
where there is none (kernels/covariance.py). They are kept only where

    at least LEAST_PITS pits have a value, the model of one reach has found structure, and
    twice the gain in log likelihood over that model is at least CHANCE

which by chance alone happens about once in a thousand surveys (chi-square, 2 degrees of freedom; Wilks 1938);
the published advice for sample variograms by direction, 250 pits from memory, is for an eye without that test.
Few pits show a real direction only where it is strong: what is not kept is not disproved.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ...kernels.covariance import Model, bend_of, direction_of
from .climbing import Climb, Layout
from .contract import MethodSettings, number
from .model_fit import FIT_AT_MOST, ModelFit

LEAST_PITS = 60
CHANCE = 13.82
"""Twice the gain in log likelihood, 99.9 % of chi-square with 2 degrees of freedom."""
GLANCE = 2.0
"""What the first look must gain before the whole search is begun: a seventh of what it must end with."""
LOOKED_AT = (0.2, 0.45)
"""Strengths of the first look, ratios 0.67 and 0.41."""
STRONGEST = 0.9
"""Of either number of the bend: ratios down to 0.17 along any axis."""
ROOM = 1.1
"""Log by which the range may leave its bounds: the mean of two reaches is less than the longer."""
POLISH_AT_MOST = 3000


def fit_direction(
    fit: ModelFit, points: np.ndarray, low: np.ndarray, high: np.ndarray, error_variance: np.ndarray, trend: np.ndarray, *,
    strata: np.ndarray | None = None, rng: np.random.Generator | None = None, start: Model | None = None,
    repeats: np.ndarray | None = None, within: np.ndarray | None = None,
) -> tuple[ModelFit, tuple[str, ...]]:  # fmt: skip
    """``fit`` of one reach all round, or a fit with a direction in its place and the sentence that says so.

    Parameters as in bounded_fit.fit_limited; ``start``: the model of all pits where a part of them is fitted.
    """
    exact = low == high
    if exact.sum() < LEAST_PITS or not fit.has_structure:
        return fit, ()
    layout = Layout.of(points, low, high, error_variance, trend, strata, repeats, within)
    count, chosen = len(points), np.arange(len(points))
    if count > FIT_AT_MOST:
        chosen = np.sort((rng or np.random.default_rng(0)).choice(count, FIT_AT_MOST, replace=False))
        if exact[chosen].sum() < LEAST_PITS or np.linalg.matrix_rank(trend[chosen][exact[chosen]]) < trend.shape[1]:
            return fit, ()
    climb, begin = _climb(fit, layout, chosen)
    round_ = climb.at(begin)
    if round_ is None:
        return fit, ()
    if len(chosen) < count:  # the fit may be polished on all pits: on a part it is climbed once more before it is compared
        plain = Climb(fit.model.kind, climb.data, fit.residual, *climb.bounds[2])
        plain.bounds[0] = climb.bounds[0]
        begin = np.concatenate([plain.up(begin[:3], None)[1], [0.0, 0.0]])
        round_ = climb.at(begin)
    place = _first_look(climb, begin, round_, start)
    if place is None:
        return fit, ()
    best, place = climb.up(place, climb.last)
    gain = 2 * (best.log_likelihood - round_.log_likelihood)
    if gain < CHANCE:
        return fit, ()
    if len(chosen) < count <= POLISH_AT_MOST:
        place = _climb(fit, layout, np.arange(count))[0].up(place, None, most=8)[1]
    model = _model(fit.model.kind, layout, place)
    told = fit.log_likelihood + gain / 2
    at_bound = "direction" if max(abs(place[3]), abs(place[4])) > STRONGEST - 1e-3 else fit.at_bound
    found = replace(fit, model=model, log_likelihood=told, gain=fit.gain + gain, at_bound=at_bound)
    return found, (direction_sentence(model, gain, int(exact.sum())),)


def as_set(model: Model, settings: MethodSettings) -> Model:
    """``model`` with the direction that was set, where one was."""
    return model if settings.reach_ratio == 1.0 else model._replace(azimuth=settings.azimuth, ratio=settings.reach_ratio)


def direction_in(fitted: object) -> tuple[float, float]:
    """Azimuth and ratio of a fitted method; (0, 1) where it has no model or one reach all round."""
    fitted = getattr(fitted, "positive", fitted)
    model = fitted.system.model if hasattr(fitted, "system") else None
    return (0.0, 1.0) if model is None else (float(model.azimuth), float(model.ratio))


def all_round(model: Model | None) -> Model | None:
    """The model of one reach that is nearest: the geometric mean of both."""
    if model is None or model.ratio == 1.0:
        return model
    return model._replace(scale=model.scale * float(np.sqrt(model.ratio)), azimuth=0.0, ratio=1.0)


def direction_sentence(model: Model, gain: float, pits: int) -> str:
    return (
        f"pits reach farther along azimuth {model.azimuth:.0f} degrees than across it, where the range is {number(model.ratio, 2)} "
        f"of that: fitted to {pits} pits with a value; twice the gain in log likelihood is {number(gain)}, where chance alone gives "
        f"{CHANCE:g} once in a thousand surveys"
    )


def _climb(fit: ModelFit, layout: Layout, which: np.ndarray) -> tuple[Climb, np.ndarray]:
    """The hill of five numbers, and the place of ``fit`` on it."""
    model = fit.model
    scale = np.log(model.scale / layout.size)
    climb = Climb(model.kind, layout.data(which, by_direction=True), fit.residual, scale - 6.0, scale + ROOM, STRONGEST)
    sill = np.log(model.sill / layout.spread**2)
    climb.bounds[0] = (sill - 5.0, sill + 5.0)
    return climb, np.array([sill, model.nugget / model.sill, scale, 0.0, 0.0])


def _first_look(climb: Climb, begin: np.ndarray, round_, start: Model | None) -> np.ndarray | None:
    """Where the climb begins: at the direction of all pits, or the way the likelihood rises, where it rises enough."""
    if start is not None and start.ratio != 1.0:
        return np.concatenate([begin[:3], np.clip(bend_of(start.azimuth, start.ratio), -STRONGEST, STRONGEST)])
    slope = round_.gradient[3:]
    steepness = float(np.hypot(*slope))
    if steepness == 0.0:
        return None
    best, most = None, GLANCE
    for strength in LOOKED_AT:
        place = np.concatenate([begin[:3], strength * slope / steepness])
        found = climb.at(place)
        if found is not None and 2 * (found.log_likelihood - round_.log_likelihood) > most:
            best, most = place, 2 * (found.log_likelihood - round_.log_likelihood)
    return best


def _model(kind: str, layout: Layout, place: np.ndarray) -> Model:
    azimuth, ratio = direction_of((place[3], place[4]))
    sill = float(np.exp(place[0])) * layout.spread**2
    # the model's scale is the reach along the azimuth, that of the climb the geometric mean of both
    scale = float(np.exp(place[2]) * layout.size / np.sqrt(ratio))
    return Model(kind, float(place[1]) * sill, (1 - float(place[1])) * sill, scale, azimuth, ratio)
