"""Which cell of the Meuse grid makes the map of zinc surest: geostatistics 6.4, computed apart from the full covariance
matrix.

Points and grid: R sp (Pebesma & Bivand 2005; GPL, at test time only, see tests/reference_data.py). The numbers there
count the nugget in the variance of a cell; ours is of the land around a pit, so it is added here.
"""

from __future__ import annotations

import numpy as np
import pytest

from geoprofile.kernels.areal import error_covariance
from geoprofile.kernels.covariance import Model
from geoprofile.kernels.kriging import solve
from geoprofile.sampling.doubt import Question, shrink_doubt

NUGGET = 0.05066
BEST = {993: 0.18097551, 1029: 0.18100476, 994: 0.18103294, 956: 0.18103413, 957: 0.1810462}
"""Row of the grid, from 1 on, and the mean variance that a pit there leaves."""


@pytest.fixture(scope="module")
def asked(reference_table):
    """``asked(sites, number)``: the choice among rows of the grid, from 0 on, and the grid's cells."""
    pits, grid = reference_table("meuse.rda", "meuse"), reference_table("meuse.grid.rda", "meuse.grid")
    system = solve(
        pits[["x", "y"]].to_numpy(float),
        np.log(pits["zinc"].to_numpy(float)),
        Model("spherical", NUGGET, 0.59060, 897.02),
    )
    cells = grid[["x", "y"]].to_numpy(float)
    known = error_covariance(system, cells)

    def ask(sites, number):
        rows = np.concatenate([np.arange(len(cells)), sites])
        return shrink_doubt(cells, cells[sites], lambda points: known[np.ix_(rows, rows)], lambda points: np.full(len(points), NUGGET),
                            number, Question("mean variance", ""))  # fmt: skip

    return ask, cells


def test_the_best_two_places_of_3103_and_what_they_leave(asked):
    """Row 993 then row 2798; to anneal (van Groenigen & Stein 1998) must not leave more than the second of them
    does."""
    ask, cells = asked
    found = ask(np.arange(len(cells)), 2)
    assert (found.points == cells[[992, 2797]]).all() and (found.points == [[180820, 331900], [178580, 330060]]).all()
    assert found.before + NUGGET == pytest.approx(0.1853272698, abs=6e-11)
    assert found.before - found.gain[0] + NUGGET == pytest.approx(0.18097551, abs=6e-9)
    assert found.after + NUGGET == pytest.approx(0.17767984984678, abs=1e-12)


def test_the_five_best_places_in_their_order(asked):
    ask, cells = asked
    for row, left in BEST.items():
        assert ask(np.array([row - 1]), 1).after + NUGGET == pytest.approx(left, abs=6e-9)
    others = np.setdiff1d(np.arange(len(cells)), np.array(list(BEST)) - 1)
    assert ask(others, 1).after + NUGGET > max(BEST.values()), "no other cell is as good"


def test_the_least_known_cell_is_not_the_best_place(asked):
    """Row 1031, variance .50027: a pit there leaves more than one in row 993."""
    ask, cells = asked
    assert (cells[1030] == [180900, 331860]).all()
    assert ask(np.array([1030]), 1).after + NUGGET > 0.1810462
