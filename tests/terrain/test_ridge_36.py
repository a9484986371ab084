"""Slope from a raster against slope measured by hand at 36 pits on one ridge in Virginia (doi 10.5281/zenodo.6791484)."""

from __future__ import annotations

import numpy as np
import pytest

from geoprofile.context import Context
from geoprofile.settings.survey import GridSettings, SurveySettings
from geoprofile.settings.terrain import TerrainSettings
from geoprofile.terrain.sample import INSIDE, sample
from geoprofile.terrain.stage import compute_terrain

pytestmark = pytest.mark.shared


def measured(shared):
    """Longitude, latitude and slope in degrees of the pits."""
    import openpyxl

    book = openpyxl.load_workbook(shared / "data/ridge-36/MeasuredSpatialProperties.xlsx", read_only=True, data_only=True)
    rows = list(book["SpatialProps"].iter_rows(values_only=True))
    place = [rows[0].index(name) for name in ("Long", "Lat", "Slope [degrees] (Phone)")]
    return np.array([[row[k] for k in place] for row in rows[1:] if all(isinstance(row[k], (int, float)) for k in place)])


def test_slope_from_the_raster_against_slope_by_hand(shared, tmp_path, a_record, capsys):
    """Prints the comparison, whatever it shows; only what must hold is asserted."""
    from pyproj import Transformer

    longitude, latitude, by_hand = measured(shared).T
    x, y = Transformer.from_crs("EPSG:4326", "EPSG:6346", always_xy=True).transform(longitude, latitude)
    lines = []
    for scale in (0, 25, 50):
        context = Context(SurveySettings(crs="EPSG:6346"), GridSettings(), shared / "data/ridge-36", tmp_path / str(scale))
        settings = TerrainSettings(
            elevation="1_3arcsec_arcproj_bilin.tif", elevation_unit="m", analysis_scale_m=scale, derive=("slope",)
        )
        terrain = compute_terrain(settings, context, a_record("terrain"))
        found = sample(terrain, x, y, name="slope", output=context.output)
        assert (found.outcome == INSIDE).all()
        difference = found.value - by_hand
        lines.append(
            f"  analysis scale {scale:>2} m: mean difference {difference.mean():+.2f}, root mean square "
            f"{np.sqrt((difference**2).mean()):.2f} degrees, correlation {np.corrcoef(found.value, by_hand)[0, 1]:.2f}"
        )
    with capsys.disabled():
        print(f"\nridge-36, {len(by_hand)} pits, slope from 9.24 m cells against slope by hand (mean {by_hand.mean():.2f} degrees):")
        print("\n".join(lines))
    assert len(by_hand) >= 35
