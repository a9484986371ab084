"""What a method is given and what it gives back.

A method is an object with

    title         one readable name
    uses_bounds   True when it can use observations that are only bounds
    uses_drift    True when it can use drift columns (left out = False)
    needs_drift   True when it cannot do without (left out = as uses_drift)
    fit(observations, settings, rng) -> fitted

and what ``fit`` returns is frozen, picklable and has

    predict(points, drift) -> Prediction
    summary       the fitted model in words, with units
    reach_m       distance over which it knows something, m, or None
    notes         plain sentences

A method may have ``refit(observations, settings, rng, start) -> fitted``: the same fit to a part of
the observations, its search begun at ``start``, the fitted thing of all of them. Validation refits
twice ten times a surface, so a method whose search is long should have it.

What is fitted is asked by several threads at once, and is sent to other machines. It may have
``predict_grid(x, y, drift, wanted)`` where windows of a grid go faster (only cells ``wanted`` are looked at),
``leave_one_out()`` where that needs no refit (one row an observation in their order, a bounded
one predicted by its cavity: what all others say), ``parameters``, its covariance model
as numbers (see Surface.parameters), and ``readings``, what its kriging system holds for
each observation: values (n,) and error variances (n,) on the modelled scale.

A method with ``uses_bounds = True`` reads ``low`` and ``high``; all others are refused
observations that are only bounds.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

NORMAL_90 = 1.6448536269514722
"""Half width of a central 90 % interval of the normal distribution, in standard errors."""


class CannotFit(Exception):
    """The method cannot be fitted to these observations; the text is one plain sentence."""


@dataclass(frozen=True)
class Observations:
    """One attribute at ``n`` places.

    ``points`` (n, 2) in m; ``low`` and ``high`` (n,) in ``unit``, infinite where there
    is no limit, equal where measured; ``drift`` (n, p) raw terrain values; ``strata``
    (n,) codes where one model serves several strata that do not inform each other,
    else None.
    """

    points: np.ndarray
    low: np.ndarray
    high: np.ndarray
    unit: str = "cm"
    drift: np.ndarray | None = None
    drift_names: tuple[str, ...] = ()
    strata: np.ndarray | None = None
    absent: np.ndarray | None = None
    """(n,) bool, where the feature is absent and its thickness therefore 0; None = nowhere."""
    repeats: np.ndarray | None = None
    """(n,) number of readings whose mean a value is; None = one each."""
    within: np.ndarray | None = None
    """(n,) their sum of squares about that mean, squared unit."""
    together: np.ndarray | None = None
    """(n, 3) shares of a whole that are mapped as one, this attribute the column ``which``; else None."""
    which: int = 0

    def __len__(self) -> int:
        return len(self.points)

    @property
    def values(self) -> np.ndarray:
        """(n,) values; refuses bounds instead of passing a limit off as a value."""
        if not np.array_equal(self.low, self.high):
            raise CannotFit("some observations are only bounds and have no value")
        return self.low

    def take(self, which: np.ndarray) -> Observations:
        """Those selected by a mask or by indices."""
        return Observations(
            self.points[which],
            self.low[which],
            self.high[which],
            self.unit,
            None if self.drift is None else self.drift[which],
            self.drift_names,
            None if self.strata is None else self.strata[which],
            None if self.absent is None else self.absent[which],
            None if self.repeats is None else self.repeats[which],
            None if self.within is None else self.within[which],
            None if self.together is None else self.together[which],
            self.which,
        )


@dataclass(frozen=True)
class Prediction:
    """Estimate, prediction variance and the 90 % interval, arrays of one shape.

    Where the distribution is not normal on the scale of the estimate the other fields tell it: with
    probability ``atom`` the feature is absent (0); else the value, raised to ``power`` as in
    kernels/back_transform.py, is normal with mean ``middle`` and standard ``deviation``.
    """

    estimate: np.ndarray
    variance: np.ndarray
    low90: np.ndarray
    high90: np.ndarray
    presence: np.ndarray | None = None
    """Probability that the feature is there, where the method itself gives it."""
    middle: np.ndarray | None = None
    deviation: np.ndarray | None = None
    power: np.ndarray | None = None
    """NaN = no transform."""
    atom: np.ndarray | None = None

    @classmethod
    def normal(cls, estimate: np.ndarray, variance: np.ndarray) -> Prediction:
        half = NORMAL_90 * np.sqrt(variance)
        return cls(estimate, variance, estimate - half, estimate + half)


@dataclass(frozen=True)
class MethodSettings:
    """Settings of one surface with every default filled in."""

    method: str = "bounded_kriging"
    drift: tuple[str, ...] = ()
    model: str = "spherical"
    residual: bool = True
    nugget_is_error: bool = False
    less_than_cm: tuple[float, ...] = ()
    more_than_cm: tuple[float, ...] = ()
    less_than: tuple[float, ...] = ()
    """In the attribute's own unit, as the next."""
    more_than: tuple[float, ...] = ()
    power: float = 2.0
    reach_m: float | None = None
    between_up_to: float | None = None
    """None = 10, and 0 for methods that use bounds."""
    least_presence: float = 0.5
    show_unbacked: bool = False
    transform: str = "none"
    absent_as: str = "by_score"
    azimuth: float = 0.0
    reach_ratio: float = 1.0
    reach: str = "fitted"
    """``fitted``: a direction of longer reach is sought where none is set; ``same_all_round``: it is not."""
    model_held: bool = False
    """A refit keeps the covariance model of its start: enough to tell forms apart, at a tenth of the cost."""
    coordinates: bool = False
    nearest_pits: int | None = None
    pits_within_m: float | None = None

    @property
    def seeks_direction(self) -> bool:
        return self.reach == "fitted" and self.reach_ratio == 1.0 and not self.model_held


def number(value: float, digits: int = 3) -> str:
    """A number for people: ``digits`` significant digits, no exponent where it can be helped."""
    if value == 0 or not np.isfinite(value):
        return f"{value:g}"
    decimals = max(0, digits - 1 - int(np.floor(np.log10(abs(value)))))
    text = f"{value:.{min(decimals, 10)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def square(unit: str) -> str:
    """`` cm²`` for ``cm``; nothing for no unit."""
    return f" {unit}²" if unit else ""
