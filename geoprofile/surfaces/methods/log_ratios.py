"""Sand, silt and clay together: kriging of their log-ratios, so that every cell adds to 100 %.

The three shares become two isometric log-ratios (Egozcue et al. 2003, Math. Geol.
35:279-300; kernels/log_ratios.py), each is mapped by the method that is set, and the pair is turned back.

The estimate is the shares at the predicted pair; the 90 % interval of a share comes from
draws of the pair, each ratio normal and by itself.

Each share is fitted from all three and from the same numbers as the other two, so the
three surfaces agree although they are made one by one.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ...kernels.log_ratios import to_ratios, to_shares
from .cells import on_cells, spread
from .contract import CannotFit, MethodSettings, Observations, Prediction

DRAWS = 128


@dataclass(frozen=True)
class FittedLogRatios:
    """Both ratios fitted; ``which`` of the three shares this surface is."""

    first: object
    second: object
    which: int
    summary: str
    notes: tuple[str, ...]
    reach_m: float | None

    def predict(self, points: np.ndarray, drift: np.ndarray | None = None) -> Prediction:
        return share_of(self.first.predict(points, drift), self.second.predict(points, drift), self.which)

    def predict_grid(self, x: np.ndarray, y: np.ndarray, drift: np.ndarray | None, wanted: np.ndarray) -> Prediction:
        first, second = (on_cells(part, x, y, drift, wanted) for part in (self.first, self.second))
        pair = (Prediction(one.estimate[wanted], one.variance[wanted], one.low90[wanted], one.high90[wanted]) for one in (first, second))
        return spread(share_of(*pair, self.which), wanted)

    @property
    def parameters(self) -> dict:
        """Both models and what each pit's ratios are, for means over areas; empty where a ratio has no kriging system."""
        both = (self.first, self.second)
        if not all("kind" in getattr(one, "parameters", {}) for one in both):
            return {}
        first, second = (dict(one.parameters) for one in both)
        values = [[float(value) for value in getattr(one, "system", one).values] for one in both]
        return {"log_ratios": {"which": self.which, "first": first, "second": second, "values": values}}

    def leave_one_out(self) -> Prediction:
        return share_of(self.first.leave_one_out(), self.second.leave_one_out(), self.which)


class LogRatios:
    """The method that is set, on log-ratios; ``Observations.together`` holds the three shares."""

    uses_bounds = False
    needs_drift = False

    def __init__(self, base: object) -> None:
        self.base = base
        self.title = f"log-ratios by {base.title}"
        self.uses_drift = getattr(base, "uses_drift", False)
        self.needs_drift = getattr(base, "needs_drift", self.uses_drift)

    def fit(self, observations: Observations, settings: MethodSettings, rng: np.random.Generator) -> FittedLogRatios:
        return self.refit(observations, settings, rng, None)

    def refit(self, observations: Observations, settings: MethodSettings, rng: np.random.Generator, start) -> FittedLogRatios:
        if observations.together is None:
            raise CannotFit("log-ratios need all three shares of each pit")
        ratios = to_ratios(observations.together)
        plain = replace(settings, transform="none", less_than_cm=())
        # the same numbers for each of the three shares, whatever was drawn before
        seed = int(rng.integers(2**31))
        fitted = []
        for number, column in enumerate(ratios.T):
            one = replace(observations, low=column, high=column, unit="", together=None)
            begun = (start.first, start.second)[number] if start is not None and hasattr(self.base, "refit") else None
            draw = np.random.default_rng([seed, number])
            fitted.append(self.base.refit(one, plain, draw, begun) if begun is not None else self.base.fit(one, plain, draw))
        summary = f"log-ratios; first: {fitted[0].summary}; second: {fitted[1].summary}"
        notes = tuple(f"{word} log-ratio: {note}" for word, one in zip(("first", "second"), fitted) for note in one.notes)
        reach = max((one.reach_m for one in fitted if one.reach_m is not None), default=None)
        return FittedLogRatios(fitted[0], fitted[1], observations.which, summary, notes, reach)


def share_of(first: Prediction, second: Prediction, which: int) -> Prediction:
    """One share of a pair of normal predictions of the log-ratios, arrays (m,)."""
    estimate = to_shares(np.stack([first.estimate, second.estimate], axis=-1))[..., which]
    low, high, variance = (np.empty(len(estimate)) for _ in range(3))
    draws = _draws()
    for start in range(0, len(estimate), 4096):
        part = slice(start, start + 4096)
        pair = np.stack(
            [
                one.estimate[part] + draws[:, number, None] * np.sqrt(one.variance[part])
                for number, one in enumerate((first, second))
            ],
            axis=-1,
        )
        drawn = to_shares(pair)[..., which]
        low[part], high[part] = np.quantile(drawn, [0.05, 0.95], axis=0)
        variance[part] = drawn.var(axis=0)
    return Prediction(estimate, variance, np.minimum(low, estimate), np.maximum(high, estimate))


def _draws() -> np.ndarray:
    """(DRAWS, 2) standard normal, even rather than random (Halton 1960), the same for every cell."""
    from scipy.special import ndtri
    from scipy.stats import qmc

    return ndtri(qmc.Halton(2, scramble=True, rng=1).random(DRAWS))
