"""Moments of a normal distribution of which only a part is left.

Numbers stay right far out in the tails, where probabilities themselves vanish
(log of the normal distribution by its asymptotic series; Abramowitz & Stegun
1964, 26.2.12). Moments after Johnson, Kotz & Balakrishnan 1994, section 13.10.1.
"""

from __future__ import annotations

import math

import numba
import numpy as np

ROOT_HALF = math.sqrt(0.5)
LOG_ROOT_2PI = 0.5 * math.log(2 * math.pi)
NARROW = 1e-3
"""Limits nearer than this, in standard deviations: the density between them is taken as a straight line."""


@numba.njit(cache=True)
def log_normal_below(x: float) -> float:
    """Log of the probability that a standard normal value is below ``x``."""
    if x > 5.0:
        return math.log1p(-0.5 * math.erfc(x * ROOT_HALF))
    if x > -36.0:
        return math.log(0.5 * math.erfc(-x * ROOT_HALF))
    if x == -np.inf:
        return -np.inf
    r = 1.0 / (x * x)
    return -0.5 * x * x - LOG_ROOT_2PI - math.log(-x) + math.log1p(-r * (1.0 - 3.0 * r * (1.0 - 5.0 * r)))


@numba.njit(cache=True)
def normal_below(x: float) -> float:
    """The probability that a standard normal value is below ``x``."""
    return 0.5 * math.erfc(-x * ROOT_HALF)


@numba.njit(cache=True)
def _above(a: float) -> tuple[float, float, float]:
    """Log probability, mean and variance of a standard normal value known to be above ``a``."""
    log_mass = log_normal_below(-a)
    ratio = math.exp(-0.5 * a * a - LOG_ROOT_2PI - log_mass)
    if a > 30.0:  # the difference below loses its digits: its own series
        r = 1.0 / (a * a)
        return log_mass, a + (1.0 - 2.0 * r) / a, r * (1.0 - 6.0 * r)
    return log_mass, ratio, 1.0 - ratio * (ratio - a)


@numba.njit(cache=True)
def _between(a: float, b: float) -> tuple[float, float, float]:
    if a < 0.0 and b <= 0.0:  # the upper tail is where the digits are
        log_mass, mean, variance = _between(-b, -a)
        return log_mass, -mean, variance
    width, middle = b - a, 0.5 * (a + b)
    if width < NARROW and width * middle < 0.1:
        part = width * width / 12.0
        return -0.5 * middle * middle - LOG_ROOT_2PI + math.log(width), middle - middle * part, part
    below_a, below_b = log_normal_below(-a), log_normal_below(-b)
    log_mass = below_a + math.log1p(-math.exp(below_b - below_a))
    at_a = math.exp(-0.5 * a * a - LOG_ROOT_2PI - log_mass)
    at_b = math.exp(-0.5 * b * b - LOG_ROOT_2PI - log_mass)
    mean = at_a - at_b
    variance = 1.0 + a * at_a - b * at_b - mean * mean
    return log_mass, mean, min(max(variance, 1e-3 * min(width * width / 12.0, 1.0 / (1.0 + a * a))), width * width / 4)


@numba.njit(cache=True)
def standard_moments(a: float, b: float) -> tuple[float, float, float]:
    """Log probability of (a, b), mean and variance of a standard normal value known to lie there; either may be infinite."""
    if b == np.inf:
        if a == -np.inf:
            return 0.0, 0.0, 1.0
        return _above(a)
    if a == -np.inf:
        log_mass, mean, variance = _above(-b)
        return log_mass, -mean, variance
    return _between(a, b)


@numba.njit(cache=True)
def moments(
    mean: np.ndarray, deviation: np.ndarray, low: np.ndarray, high: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Log probability of lying in (low, high), mean and variance given that, each (n,), of n normal values."""
    log_mass, middle, spread = np.empty(len(mean)), np.empty(len(mean)), np.empty(len(mean))
    for i in range(len(mean)):
        s = deviation[i]
        found = standard_moments((low[i] - mean[i]) / s, (high[i] - mean[i]) / s)
        log_mass[i] = found[0]
        middle[i] = mean[i] + s * found[1]
        spread[i] = s * s * found[2]
    return log_mass, middle, spread


@numba.njit(cache=True)
def standard_draw(a: float, b: float, rng) -> float:
    """A draw of a standard normal value from (a, b) by rejection (Robert 1995, Statistics and Computing 5:121-125)."""
    if b <= 0.0:
        return -standard_draw(-b, -a, rng)
    if a <= 0.0:
        if b - a > 2.0:
            while True:
                x = rng.standard_normal()
                if a <= x <= b:
                    return x
        while True:  # short and around 0: from an even spread
            x = a + (b - a) * rng.random()
            if rng.random() <= math.exp(-0.5 * x * x):
                return x
    rate = 0.5 * (a + math.sqrt(a * a + 4.0))
    if b - a < 2.0 / rate:
        while True:
            x = a + (b - a) * rng.random()
            if rng.random() <= math.exp(0.5 * (a * a - x * x)):
                return x
    while True:
        x = a + rng.exponential() / rate
        if x <= b and rng.random() <= math.exp(-0.5 * (x - rate) ** 2):
            return x
