"""Slope and aspect measured by hand at the 36 pits of the ridge against both elevation rasters at three scales.

Measured with a phone's inclinometer and compass beside each pit (doi
10.5281/zenodo.6791484, read from beside the project); 'Compass Corrected' is used.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from geoprofile.grid import Grid
from geoprofile.kernels.terrain_window import EVANS, HORN, LAYERS, derivatives
from geoprofile.terrain.smoothing import smooth

pytestmark = pytest.mark.shared
DATA = Path(__file__).resolve().parents[3] / "shared" / "data" / "ridge-36"
SCALES_M = (0.0, 30.0, 90.0)
RASTERS = {"9 m": "1_3arcsec_arcproj_bilin.tif", "28 m": "1arcsec_arcproj_bilin.tif"}


@pytest.fixture(scope="module")
def by_hand() -> pd.DataFrame:
    """x, y (EPSG:6346), slope and azimuth in degrees; azimuth is missing at the one level pit."""
    from pyproj import Transformer

    file = DATA / "MeasuredSpatialProperties.xlsx"
    if not file.is_file():
        pytest.skip("the open data folder ../shared is not beside the project")
    table = pd.read_excel(file, sheet_name="SpatialProps", dtype=object, engine="openpyxl")
    table = table[table["SSID"].notna()]
    x, y = Transformer.from_crs(4326, 6346, always_xy=True).transform(table["Long"].astype(float), table["Lat"].astype(float))
    return pd.DataFrame({
        "x": x, "y": y, "slope": table["Slope [degrees] (Phone)"].astype(float),
        "azimuth": table["Compass Corrected [degrees] (Phone)"].astype(float) % 360,
    })  # fmt: skip


@pytest.fixture(scope="module")
def compared(by_hand) -> pd.DataFrame:
    """One row a raster, scale and window: how far the raster is from the hand."""
    import rasterio

    rows = []
    for name, file in RASTERS.items():
        with rasterio.open(DATA / file) as source:
            z = source.read(1, masked=True).astype(float).filled(np.nan)
            grid = Grid("EPSG:6346", source.transform.c, source.transform.f, source.transform.a, *z.shape)
        row, column, inside = grid.cells_of(by_hand["x"].to_numpy(), by_hand["y"].to_numpy())
        assert inside.all()
        for scale in SCALES_M:
            smoothed = smooth(z, scale, grid.cell_m)
            for window, weight in (("Evans", EVANS), ("Horn", HORN)):
                slope, sine, cosine = (a[row, column] for a in derivatives(smoothed, grid.cell_m, weight, LAYERS[:3]))
                apart = np.degrees(np.arctan2(sine, cosine)) - by_hand["azimuth"].to_numpy()
                apart = np.abs((apart + 180) % 360 - 180)
                sloping = (by_hand["slope"] >= 2).to_numpy() & ~np.isnan(apart)
                error = slope - by_hand["slope"].to_numpy()
                rows.append({
                    "cells": name, "scale_m": scale, "window": window, "pits": int(np.isfinite(error).sum()),
                    "mean": slope.mean(), "bias": error.mean(), "mean_error": np.abs(error).mean(),
                    "correlation": np.corrcoef(slope, by_hand["slope"])[0, 1],
                    "aspect_pits": int(sloping.sum()), "aspect_median": np.median(apart[sloping]),
                    "aspect_within_45": np.mean(apart[sloping] <= 45), "aspect_opposite": np.mean(apart[sloping] >= 135),
                })  # fmt: skip
    return pd.DataFrame(rows)


def test_slope_and_aspect_by_hand_are_printed_beside_the_rasters(compared, by_hand, capsys):
    with capsys.disabled():
        print(f"\nridge-36: slope by hand has a mean of {by_hand['slope'].mean():.2f} degrees at {len(by_hand)} pits;")
        print("slope in degrees; aspect at pits of 2 degrees and more, degrees between hand and raster")
        print(compared.round(2).to_string(index=False))
    assert (compared["pits"] == 36).all()


def test_the_compass_was_read_downslope_and_the_rasters_agree_on_the_direction(compared):
    """Half of the pits within 45 degrees; random directions would have a median of 90."""
    assert (compared["aspect_median"] < 45).all()
    assert (compared["aspect_opposite"] <= 0.1).all()


def test_wider_windows_and_larger_cells_give_gentler_slopes(compared):
    """What a hand measures over some metres, a raster of 28 m cells averages away."""
    means = compared[compared["window"] == "Evans"].pivot(index="cells", columns="scale_m", values="mean")
    assert (means[0.0] > means[30.0]).all() and (means[30.0] > means[90.0]).all()
    assert (means.loc["9 m"] > means.loc["28 m"]).all()
    assert (compared["bias"] < 0).all()
