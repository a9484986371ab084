"""Hectares by probability in the report: every cell counted once, on the scale of the map's legend."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from geoprofile.outputs.map_parts import PROBABILITY_LIMITS
from geoprofile.outputs.report_probabilities import probability_rows
from geoprofile.rasters import write_raster


@pytest.fixture
def with_probability(make_bundle):
    """A bundle whose surface has a probability of less than 25 cm with the given cells."""

    def make(cells, unit="%"):
        bundle = make_bundle()
        surfaces = bundle.surfaces
        raster = write_raster(bundle.context.output, "surfaces/below.tif", cells, surfaces.grid, name="below", title="P", unit=unit)
        surface = replace(surfaces.surfaces[0], below={"25": "below"})
        return replace(bundle, surfaces=replace(surfaces, surfaces=(surface,), rasters=surfaces.rasters | {"below": raster}))

    return make


def test_a_limit_belongs_to_the_class_above_it_and_cells_without_a_probability_are_told_apart(with_probability):
    cells = np.full((20, 40), np.nan)  # cells of 10 m: a hundred are a hectare
    cells[0] = 9.9
    cells[1:3] = 10
    cells[3, :20] = 69.99
    cells[4] = 90
    cells[5] = 100
    told = probability_rows(with_probability(cells))
    assert told["headings"] == ["Probability", "Under 10 %", "10 to 30 %", "30 to 50 %", "50 to 70 %", "70 to 90 %", "90 % and more", "Not backed"]
    assert told["rows"] == [["Depth to carbonates: less than 25 cm", "0.4", "0.8", "0.0", "0.2", "0.0", "0.8", "5.8"]]


def test_shares_are_counted_as_per_cent(with_probability):
    told = probability_rows(with_probability(np.full((20, 40), 0.75), unit=""))
    assert told["rows"][0][1:] == ["0.0", "0.0", "0.0", "0.0", "8.0", "0.0", "0.0"]


def test_the_hectares_are_those_of_numpys_histogram(with_probability):
    cells = np.random.default_rng(5).uniform(0, 100, (20, 40)).astype("float32")
    expected = np.histogram(cells, [0, *PROBABILITY_LIMITS, 100])[0] * 0.01
    row = probability_rows(with_probability(cells))["rows"][0][1:-1]
    assert [float(cell) for cell in row] == pytest.approx(expected, abs=0.051)


def test_a_survey_without_probabilities_has_no_such_table(make_bundle):
    assert probability_rows(make_bundle()) is None and probability_rows(make_bundle(only=True)) is None
