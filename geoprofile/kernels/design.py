"""A conditioned Latin hypercube, by annealing.

Sites are chosen among cells so that the strata of every column hold one site each, classes
have the shares that they have on the land, and columns are correlated as on the land. The
objective is the sum of

    sum over columns and strata of |sites in the stratum - 1|
    number of sites times the sum over classes of |share among sites - share on the land|
    number of sites times the sum over pairs of columns of |correlation among sites - on the land|

after Minasny & McBratney 2006 (Computers & Geosciences 32:1378-1388), whose weights of the
three parts are free; the factors of ours put them on one footing, in sites. Sites that are
there already are counted and never moved.
"""

from __future__ import annotations

import numba
import numpy as np

PART_COUNT, PART_CLASS, PART_CORRELATION = 0, 1, 2


@numba.njit(cache=True)
def objective(
    counts: np.ndarray, in_class: np.ndarray, sums: np.ndarray, squares: np.ndarray, sites: int,
    land_shares: np.ndarray, land_correlation: np.ndarray,
) -> np.ndarray:  # fmt: skip
    """(3,) parts of the objective.

    Parameters
    ----------
    counts : (p, strata) sites by column and stratum; in_class : (classes,) sites by class.
    sums : (p,) and squares : (p, p) of the values and of their products over the sites.
    land_shares : (classes,), land_correlation : (p, p) of the land.
    """
    parts = np.zeros(3)
    for j in range(counts.shape[0]):
        for i in range(counts.shape[1]):
            parts[0] += abs(counts[j, i] - 1)
    if sites == 0:
        return parts
    for k in range(len(in_class)):
        parts[1] += abs(in_class[k] - sites * land_shares[k])
    for a in range(len(sums)):
        va = squares[a, a] - sums[a] * sums[a] / sites
        for b in range(a):
            vb = squares[b, b] - sums[b] * sums[b] / sites
            found = 0.0
            if sites > 2 and va > 1e-12 and vb > 1e-12:
                found = (squares[a, b] - sums[a] * sums[b] / sites) / np.sqrt(va * vb)
            parts[2] += sites * abs(found - land_correlation[a, b])
    return parts


@numba.njit(cache=True)
def _move(cell, sign, strata, values, classes, counts, in_class, sums, squares):
    for j in range(strata.shape[1]):
        counts[j, strata[cell, j]] += sign
        sums[j] += sign * values[cell, j]
        for k in range(strata.shape[1]):
            squares[j, k] += sign * values[cell, j] * values[cell, k]
    if len(in_class):
        in_class[classes[cell]] += sign


@numba.njit(cache=True)
def anneal(
    strata: np.ndarray, values: np.ndarray, classes: np.ndarray, allowed: np.ndarray, chosen: np.ndarray,
    counts: np.ndarray, in_class: np.ndarray, sums: np.ndarray, squares: np.ndarray, land_shares: np.ndarray,
    land_correlation: np.ndarray, fixed: int, rounds: int, rng,
) -> tuple[np.ndarray, float]:  # fmt: skip
    """Cells of the best design found, and its objective.

    Parameters
    ----------
    strata : (cells, p) stratum of each cell by column; values : (cells, p) standardised.
    classes : (cells,); allowed : (k,) cells that may be chosen; chosen : (m,) where to start.
    counts, in_class, sums, squares : over the ``fixed`` sites and ``chosen``; overwritten.
    rounds : swaps tried. rng : numpy Generator.
    """
    sites = fixed + len(chosen)
    taken = np.zeros(len(strata), dtype=np.bool_)
    for cell in chosen:
        taken[cell] = True
    now = objective(counts, in_class, sums, squares, sites, land_shares, land_correlation).sum()
    best, best_score = chosen.copy(), now
    warmth = max(1.0, 0.05 * now)
    cooling = (1e-3 / warmth) ** (1.0 / rounds)
    for _ in range(rounds):
        place = int(rng.random() * len(chosen))
        new = allowed[int(rng.random() * len(allowed))]
        old = chosen[place]
        warmth *= cooling
        if taken[new]:
            continue
        _move(old, -1, strata, values, classes, counts, in_class, sums, squares)
        _move(new, 1, strata, values, classes, counts, in_class, sums, squares)
        then = objective(counts, in_class, sums, squares, sites, land_shares, land_correlation).sum()
        if then <= now or rng.random() < np.exp((now - then) / warmth):
            now, chosen[place] = then, new
            taken[old], taken[new] = False, True
            if now < best_score - 1e-12:
                best, best_score = chosen.copy(), now
        else:
            _move(new, -1, strata, values, classes, counts, in_class, sums, squares)
            _move(old, 1, strata, values, classes, counts, in_class, sums, squares)
    return best, best_score
