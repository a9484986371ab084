"""Forest with kriged residuals: regression trees on terrain, and what they leave over by kriging.

- Trees: random forest (Breiman 2001), grown on terrain values at the pits.
- Interval: quantiles of the pits that share leaves with a place (Meinshausen 2006),
  stretched by one factor so that out-of-bag they hold nine in ten (the conformal
  correction of Romano, Patterson & Candes 2019, as a factor).
- Residuals: out-of-bag errors by ordinary kriging where they have structure; the
  interval moves with them and narrows as the kriging variance does.
- Bounds: a pit that says only 'at least' grows no tree. The measured ones that stand
  for it weigh more, by one over the probability that a pit reached their depth
  (inverse probability of censoring; for soil thickness van der Westhuizen et al. 2024).
  It takes pits to stop at random, as every use of bounds does.

A forest knows only values that it has seen: it never maps deeper than its deepest
measured pit, and cells whose terrain no pit has are flagged by the surface.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ...registry import plugins
from .contract import CannotFit, MethodSettings, Observations, Prediction, number

TREES = 200
LEAST_IN_LEAF = 5
LEAST_PITS = 15
MOST_WEIGHT = 10.0
"""No pit stands for more than ten (common practice, no source)."""
AS_GOOD_AS_A_COORDINATE = 0.95
"""A predictor explained to this share by a plane in the coordinates is one in disguise."""
SHARES = (0.05, 0.95)


@dataclass(frozen=True)
class FittedForest:
    """``leaves``: sparse (all leaves of all trees, n) weights of the pits in each leaf, rows sum to 1."""

    forest: object
    leaves: object
    first_leaf: np.ndarray
    values: np.ndarray
    points: np.ndarray
    out_of_bag: Prediction
    exact: np.ndarray
    bounded: Prediction
    coordinates: bool
    stretch: float
    residuals: object | None
    summary: str
    notes: tuple[str, ...]
    reach_m: float | None

    def predict(self, points: np.ndarray, drift: np.ndarray | None = None) -> Prediction:
        points = np.asarray(points, float)
        found = Prediction(*(np.empty(len(points)) for _ in range(4)))
        for start in range(0, len(points), 4096):
            part = slice(start, start + 4096)
            grown = self._grown(predictors(points[part], None if drift is None else drift[part], self.coordinates))
            ready = grown if self.residuals is None else shifted(grown, self.residuals.predict(points[part]), self._sill)
            for name in ("estimate", "variance", "low90", "high90"):
                getattr(found, name)[part] = getattr(ready, name)
        return found

    def leave_one_out(self) -> Prediction:
        """Measured pits by the trees that did not see them, bounded ones by all: none was grown on those."""
        out = Prediction(*(np.full(len(self.exact), np.nan) for _ in range(4)))
        own = self.out_of_bag
        if self.residuals is not None:
            own = shifted(own, self.residuals.leave_one_out(), self._sill)
        for name in ("estimate", "variance", "low90", "high90"):
            getattr(out, name)[self.exact] = getattr(own, name)
            getattr(out, name)[~self.exact] = getattr(self.bounded, name)
        return out

    @property
    def _sill(self) -> float:
        return float(self.residuals.parameters["nugget"] + self.residuals.parameters["partial_sill"])

    def _grown(self, columns: np.ndarray) -> Prediction:
        # tree by tree: the forest's own way goes through a pool, which tiles worked on at once trip over
        columns = np.ascontiguousarray(columns, np.float32)
        where = np.column_stack([tree.tree_.apply(columns) for tree in self.forest.estimators_])
        return stretched(from_leaves(self.leaves, where + self.first_leaf, self.values), self.stretch)


class Forest:
    """Regression trees on the terrain at the pits (Breiman 2001), and what they leave over by kriging; 90 % intervals from the
    pits that share leaves with a place (Meinshausen 2006). It never maps beyond what its pits measured. Pits that say 'at least'
    grow no tree: measured ones that stand for them weigh more.
    """

    title = "forest with kriged residuals"
    uses_bounds = True
    uses_drift = True

    def fit(self, observations: Observations, settings: MethodSettings, rng: np.random.Generator) -> FittedForest:
        from sklearn.ensemble import RandomForestRegressor

        values, exact, weights, notes = without_bounds(observations)
        if exact.sum() < LEAST_PITS:
            raise CannotFit(f"{int(exact.sum())} measured pits are too few to grow a forest: at least {LEAST_PITS} are needed")
        coordinates = bool(getattr(settings, "coordinates", False))
        names = (*observations.drift_names, *(("easting", "northing") if coordinates else ()))
        if not names:
            raise CannotFit("a forest needs at least one terrain raster as drift")
        columns = predictors(observations.points, observations.drift, coordinates)
        notes += coordinate_notes(observations, coordinates)
        grown_on, values, points = columns[exact], values[exact], observations.points[exact]
        forest = RandomForestRegressor(
            TREES, min_samples_leaf=LEAST_IN_LEAF, max_features=max(1, -(-2 * len(names) // 3)),
            random_state=int(rng.integers(2**31)), n_jobs=1,
        ).fit(grown_on, values, sample_weight=weights[exact])  # fmt: skip
        leaves, first, in_bag = leaf_weights(forest, grown_on, weights[exact])
        own = forest.apply(grown_on) + first
        out_of_bag = from_leaves(leaves, own, values, keep=~in_bag)
        if not np.isfinite(out_of_bag.estimate).all():
            raise CannotFit("some pits are in every tree, so their errors are not known: more pits are needed")
        stretch = stretch_of(out_of_bag, values, weights[exact])
        out_of_bag = stretched(out_of_bag, stretch)
        residuals = _kriged(points, values - out_of_bag.estimate, settings, observations.unit, rng)
        unit = f" {observations.unit}" if observations.unit else ""
        error = number(float(np.sqrt(np.average((out_of_bag.estimate - values) ** 2, weights=weights[exact]))))
        summary = (
            f"{TREES} trees on {', '.join(names)}, at least {LEAST_IN_LEAF} pits a leaf; out-of-bag error {error}{unit}; "
            f"grown on {len(values)} measured pits; residuals: "
            + (residuals.summary if residuals is not None else "no spatial structure, not kriged")
        )
        notes += (
            f"a forest maps nothing beyond the values it was grown on, {number(values.min())} to {number(values.max())}{unit}",
        )
        plain = FittedForest(
            forest, leaves, first, values, points, out_of_bag, exact, out_of_bag, coordinates, stretch, residuals, summary, notes,
            residuals.reach_m if residuals is not None else None,
        )  # fmt: skip
        drift = None if observations.drift is None else observations.drift[~exact]
        return replace(plain, bounded=plain.predict(observations.points[~exact], drift))


def predictors(points: np.ndarray, drift: np.ndarray | None, coordinates: bool) -> np.ndarray:
    """(n, p) columns that trees split on."""
    drift = np.empty((len(points), 0)) if drift is None else np.asarray(drift, float)
    return np.hstack([drift, points]) if coordinates else drift


def without_bounds(observations: Observations) -> tuple[np.ndarray, np.ndarray, np.ndarray, tuple[str, ...]]:
    """Values (n,), which of them grow trees (n,), their weights (n,), and what was done, in words."""
    low, high = observations.low, observations.high
    zero = np.isneginf(low) & (high == 0)
    between = np.isfinite(low) & np.isfinite(high) & (low < high)
    at_most = np.isneginf(low) & np.isfinite(high) & ~zero
    if at_most.any():
        raise CannotFit(f"{int(at_most.sum())} pits say only 'at most', and weights by censoring cannot carry that")
    values = np.where(zero, 0.0, np.where(between, (low + high) / 2, low))
    exact = np.isfinite(high)
    notes = ()
    if between.any():
        notes += (f"{int(between.sum())} pits known between two limits are used at the middle",)
    weights = np.where(exact, 1.0, 0.0)
    if not exact.all():
        raw = 1.0 / np.maximum(reached(values, ~exact), 1e-12)
        weights = np.where(exact, np.minimum(raw, MOST_WEIGHT), 0.0)
        notes += (
            f"{int((~exact).sum())} pits say only 'at least': measured pits stand for them, weighing 1 to "
            f"{number(weights.max())} by how few pits reached their depth"
            + (f" ({int((raw[exact] > MOST_WEIGHT).sum())} cut to {MOST_WEIGHT:g})" if (raw[exact] > MOST_WEIGHT).any() else "")
            + ", if pits stop at random",
        )
    return values, exact, weights, notes


def reached(values: np.ndarray, ended: np.ndarray) -> np.ndarray:
    """(n,) probability that observation goes on to each value: the product-limit estimate of where pits end.

    ``values`` are the value seen, or the limit where the pit ``ended`` before it (Kaplan & Meier 1958,
    the parts of event and end exchanged; a value seen at a depth comes before an end at that depth).
    """
    ends = np.unique(values[ended])
    at_risk = np.array([(values > end).sum() + (ended & (values == end)).sum() for end in ends])
    stay = np.cumprod(1.0 - np.array([(ended & (values == end)).sum() for end in ends]) / np.maximum(at_risk, 1))
    before = np.searchsorted(ends, values, side="left")
    return np.concatenate([[1.0], stay])[before]


def coordinate_notes(observations: Observations, coordinates: bool) -> tuple[str, ...]:
    """A warning where trees split on coordinates, named so or in disguise (K17)."""
    named = ["easting", "northing"] if coordinates else []
    if observations.drift is not None:
        plane = np.column_stack([np.ones(len(observations)), observations.points - observations.points.mean(axis=0)])
        for name, column in zip(observations.drift_names, observations.drift.T, strict=True):
            left = column - plane @ np.linalg.lstsq(plane, column, rcond=None)[0]
            if column.var() > 0 and left.var() < (1 - AS_GOOD_AS_A_COORDINATE) * column.var():
                named.append(name)
    if not named:
        return ()
    return (
        f"trees split on coordinates ({', '.join(named)}): expect straight edges in the map, and scores of random parts "
        "that are too good",
    )


def leaf_weights(forest, columns: np.ndarray, weights: np.ndarray):
    """Sparse (leaves, n) weights of the in-bag pits of every leaf, first row of each tree, in-bag flags (n, trees)."""
    from scipy.sparse import coo_matrix

    count, where = len(columns), forest.apply(columns)
    sizes = np.array([tree.tree_.node_count for tree in forest.estimators_])
    first = np.concatenate([[0], np.cumsum(sizes)[:-1]])
    bags = np.column_stack([np.bincount(bag, minlength=count) for bag in forest.estimators_samples_])
    mass = bags * weights[:, None]
    rows, pits = (where + first).ravel(), np.repeat(np.arange(count), where.shape[1])
    leaves = coo_matrix((mass.ravel(), (rows, pits)), shape=(int(sizes.sum()), count)).tocsr()
    total = np.asarray(leaves.sum(axis=1)).ravel()
    leaves = leaves.multiply(1.0 / np.where(total > 0, total, 1.0)[:, None]).tocsr()
    leaves.eliminate_zeros()
    return leaves, first, bags > 0


def from_leaves(leaves, rows: np.ndarray, values: np.ndarray, keep: np.ndarray | None = None) -> Prediction:
    """Mean, variance and quantiles of pits in shared leaves; ``rows`` (m, trees), ``keep`` which trees count."""
    from scipy.sparse import csr_matrix

    count, trees = rows.shape
    keep = np.ones(rows.shape, bool) if keep is None else keep
    used = keep.sum(axis=1)
    picked = csr_matrix(
        (keep.ravel().astype(float), (np.repeat(np.arange(count), trees), rows.ravel())), shape=(count, leaves.shape[0])
    )
    order = np.argsort(values, kind="stable")
    share = np.asarray((picked @ leaves).todense())[:, order] / np.maximum(used, 1)[:, None]
    share[used == 0] = np.nan
    ascending = values[order]
    mean = share @ ascending
    variance = np.maximum(share @ ascending**2 - mean**2, 0.0)
    heaped = np.cumsum(share, axis=1)
    low, high = (ascending[np.minimum((heaped < q - 1e-9).sum(axis=1), len(values) - 1)] for q in SHARES)
    return Prediction(mean, variance, np.minimum(low, mean), np.maximum(high, mean))


def stretch_of(out_of_bag: Prediction, values: np.ndarray, weights: np.ndarray) -> float:
    """The factor on half widths with which nine in ten (by weight) of the pits lie in their out-of-bag interval."""
    above = values > out_of_bag.estimate
    half = np.where(above, out_of_bag.high90 - out_of_bag.estimate, out_of_bag.estimate - out_of_bag.low90)
    error = np.abs(values - out_of_bag.estimate)
    needed = np.where(error > 0, error / np.maximum(half, 1e-9 * (1 + error)), 0.0)
    order = np.argsort(needed)
    share = np.cumsum(weights[order]) / weights.sum()
    return float(np.clip(needed[order][np.searchsorted(share, 0.9 * (1 + 1 / len(values)))], 0.5, 3.0))


def stretched(grown: Prediction, factor: float) -> Prediction:
    low, high = (grown.estimate + factor * (end - grown.estimate) for end in (grown.low90, grown.high90))
    return replace(grown, low90=low, high90=high)


def shifted(grown: Prediction, residual: Prediction, sill: float) -> Prediction:
    """The forest moved by the kriged residual, its spread in the proportion of kriging variance to sill."""
    share = np.sqrt(np.minimum(residual.variance / sill, 1.0))
    estimate = grown.estimate + residual.estimate
    low, high = ((end - grown.estimate) * share for end in (grown.low90, grown.high90))
    return Prediction(estimate, grown.variance * share**2, estimate + low, estimate + high)


def _kriged(points: np.ndarray, residuals: np.ndarray, settings: MethodSettings, unit: str, rng: np.random.Generator):
    """Fitted kriging of the residuals; None where they have no structure."""
    kriging = plugins("geoprofile.methods").get("ordinary_kriging")
    try:
        fitted = kriging.fit(Observations(points, residuals, residuals, unit), settings, rng)
    except CannotFit:
        return None
    return fitted if getattr(fitted, "parameters", {}).get("partial_sill", 0.0) > 0 else None


FOREST = Forest()
