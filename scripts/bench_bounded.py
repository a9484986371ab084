"""Kriging with bounded observations at size: one propagation, and a whole fit. Prints; tests nothing.

2,000 invented pits of which 660 say only 'at least'; exponential truth. One propagation conditions nothing: it is
what kernels/expectation_propagation.py does with the 660 given the others. The fit is what a run does: the search on a
random part, the polish on all, the question of direction, and the solved system.

    python scripts/bench_bounded.py             2,000 pits
    python scripts/bench_bounded.py 500         500 pits, a third of them bounded
"""

from __future__ import annotations

import sys
import time

import numpy as np
from threadpoolctl import threadpool_limits

from geoprofile.kernels.covariance import Model, covariance, squared_distances
from geoprofile.kernels.expectation_propagation import propagate
from geoprofile.kernels.limited_likelihood import given_measured
from geoprofile.surfaces.methods.bounded import BOUNDED_KRIGING
from geoprofile.surfaces.methods.contract import MethodSettings, Observations

TRUTH = Model("exponential", 100.0, 600.0, 150.0)


def main(count: int) -> None:
    rng = np.random.default_rng(5)
    points = rng.uniform(0, 3000, (count, 2))
    matrix = covariance(TRUTH, np.sqrt(squared_distances(points, points)))
    depth = 100 + np.linalg.cholesky(matrix) @ rng.standard_normal(count)
    limit = np.quantile(depth, 1 - 660 / 2000)
    bounded = depth > limit
    order = np.argsort(bounded, kind="stable")
    measured = int((~bounded).sum())
    low, high = np.where(bounded, limit, depth), np.where(bounded, np.inf, depth)
    print(f"{count:,} pits, {count - measured:,} of them bounded, one thread")
    with threadpool_limits(1):
        start = time.perf_counter()
        mean, own, _ = given_measured(matrix[np.ix_(order, order)], np.ones((count, 1)), depth[order][:measured])
        conditioned = time.perf_counter() - start
        seconds = []
        for _ in range(3):
            start = time.perf_counter()
            found = propagate(mean, own, np.full(len(mean), limit), np.full(len(mean), np.inf))
            seconds.append(time.perf_counter() - start)
        print(f"  conditioning on the measured   {conditioned:6.2f} s")
        print(f"  one propagation                {min(seconds):6.2f} s, {found.sweeps} sweeps")
        start = time.perf_counter()
        fitted = BOUNDED_KRIGING.fit(Observations(points, low, high), MethodSettings(model="exponential"), np.random.default_rng(1))
        print(f"  a fit                          {time.perf_counter() - start:6.2f} s")
    print(f"  {fitted.summary.split(';')[1].strip()}; true: nugget 100, partial sill 600, effective range 449 m")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 2000)
