"""Plug-ins of another package: found by its metadata alone, used by a run, fenced where they are broken.

The package is written into a fresh folder with the metadata that an installer would leave (Python
Packaging User Guide, entry points specification), and is seen by a process of its own.
"""

import json
import os
import subprocess
import sys
from pathlib import Path

import geopandas as gpd
import pytest
import rasterio

CODE = '''
from dataclasses import dataclass
import numpy as np
from geoprofile.intervals import measured
from geoprofile.outputs.placing import write_file
from geoprofile.pits.readers.raw import table_of
from geoprofile.products import AttributeDefinition
from geoprofile.surfaces.methods.contract import Prediction


class Starred:
    suffixes = (".starred",)

    def read(self, path, *, sheet=None, header_row=1):
        lines = [line.split("*") for line in path.read_text(encoding="utf-8").splitlines()]
        return table_of(lines[0], lines[1:], range(2, len(lines) + 1), notes=("read as starred text",))


class TwiceTheFirst:
    definition = AttributeDefinition("twice_the_first", "Twice the first horizon", "cm", "thickness", "Invented.", "invented")

    def derive(self, profile, rules):
        first = profile.soil[0]
        return measured(2 * (first.lower - first.upper)).because("designation")


@dataclass(frozen=True)
class Middle:
    value: float
    summary: str = "the median"
    notes: tuple = ()
    reach_m: float = 10_000.0

    def predict(self, points, drift=None):
        return Prediction.normal(np.full(len(points), self.value), np.full(len(points), 4.0))


class Median:
    title, uses_bounds, uses_drift = "median of the pits", False, False

    def fit(self, observations, settings, rng):
        return Middle(float(np.median(observations.values)))


class PitList:
    what = "pit_list.txt: the ids of all pits"

    def write(self, bundle):
        ids = "\\n".join(sorted(bundle.pits.pits["pit_id"]))
        return (write_file(bundle.context, "pit_list.txt", ids.encode(), self.what),)


STARRED, TWICE, MEDIAN, PIT_LIST = Starred(), TwiceTheFirst(), Median(), PitList()
'''
ENTRIES = """[geoprofile.readers]
starred = elsewhere_soil:STARRED
[geoprofile.attributes]
twice_the_first = elsewhere_soil:TWICE
[geoprofile.methods]
median = elsewhere_soil:MEDIAN
mean = elsewhere_soil:MEDIAN
gone = elsewhere_soil:NOT_THERE
[geoprofile.writers]
pit_list = elsewhere_soil:PIT_LIST
"""
SURVEY = """
format = 1
[survey]
name = "Elsewhere (invented)"
crs = "EPSG:3158"
[grid]
cell_m = 20
[pits]
pits = { file = "pits.starred" }
horizons = { file = "horizons.starred" }
depth_unit = "cm"
[attributes]
use = ["twice_the_first"]
[surfaces]
method = "median"
least_pits = 5
folds = 3
[publish]
writers = ["geopackage", "pit_list"]
"""
FIRST = (10, 12, 14, 16, 18, 20, 22, 24, 26, 28, 30, 32)


@pytest.fixture
def package(tmp_path) -> Path:
    """A folder as an installer leaves it: one module and its metadata."""
    folder = tmp_path / "installed"
    metadata = folder / "elsewhere_soil-1.0.dist-info"
    metadata.mkdir(parents=True)
    (folder / "elsewhere_soil.py").write_text(CODE, encoding="utf-8")
    (metadata / "METADATA").write_text("Metadata-Version: 2.1\nName: elsewhere-soil\nVersion: 1.0\n", encoding="utf-8")
    (metadata / "entry_points.txt").write_text(ENTRIES, encoding="utf-8")
    return folder


@pytest.fixture
def survey(tmp_path) -> Path:
    folder = tmp_path / "survey"
    folder.mkdir()
    places = [(500_000 + 90 * (n % 4) + 7 * n, 5_700_000 + 110 * (n // 4)) for n in range(len(FIRST))]
    pits = "\n".join(f"P{n:02}*{x}*{y}" for n, (x, y) in enumerate(places))
    horizons = "\n".join(f"P{n:02}*Ap*0*{depth}\nP{n:02}*Bm*{depth}*60" for n, depth in enumerate(FIRST))
    (folder / "pits.starred").write_text(f"pit_id*easting*northing\n{pits}\n", encoding="utf-8")
    (folder / "horizons.starred").write_text(f"pit_id*designation*upper_cm*lower_cm\n{horizons}\n", encoding="utf-8")
    (folder / "survey.toml").write_text(SURVEY, encoding="utf-8")
    return folder


def _geoprofile(package: Path | None, *arguments: object) -> dict:
    paths = [str(Path(__file__).parents[1]), *([str(package)] if package else [])]
    done = subprocess.run(
        [sys.executable, "-m", "geoprofile", *map(str, arguments), "--json"],
        capture_output=True, text=True, env={**os.environ, "PYTHONPATH": os.pathsep.join(paths)},
    )  # fmt: skip
    return {"code": done.returncode, "error_text": done.stderr, **json.loads(done.stdout)}


def test_reader_attribute_method_and_writer_of_another_package_carry_a_run(package, survey):
    told = _geoprofile(package, "run", survey)
    assert told["code"] == 0, told["error_text"]
    output = survey / "out"
    pits = gpd.read_file(output / "survey.gpkg", layer="pits")
    assert (pits["twice_the_first_low_cm"] == [2 * depth for depth in FIRST]).all()
    with rasterio.open(output / "surfaces" / "twice_the_first_estimate_cm.tif") as source:
        cells = source.read(1, masked=True).compressed()
    assert set(cells[cells == cells].tolist()) == {42.0}, "the median of twice 10, 12 ... 32"
    assert (output / "pit_list.txt").read_text().split() == [f"P{n:02}" for n in range(len(FIRST))]

    # another version of the plug-ins is another record, so nothing they made is reused
    assert _geoprofile(package, "run", survey)["reused"] == ["pits", "attributes", "soil_names", "surfaces", "zones", "publish"]
    metadata = package / "elsewhere_soil-1.0.dist-info" / "METADATA"
    metadata.write_text(metadata.read_text().replace("Version: 1.0", "Version: 1.1"))
    assert _geoprofile(package, "attributes", survey)["reused"] == []


def test_what_is_broken_or_takes_a_name_of_ours_is_named_by_doctor_and_the_rest_works(package, survey):
    told = _geoprofile(package, "doctor")
    assert told["code"] == 0 and told["ok"] is False
    gone, mean = sorted(told["broken_plugins"])
    assert "gone (elsewhere_soil:NOT_THERE): AttributeError" in gone
    assert "mean (elsewhere_soil:MEDIAN): the name is taken by geoprofile." in mean
    assert {"median", "ordinary_kriging"} <= set(told["plugins"]["geoprofile.methods"].split(", "))
    text = (survey / "survey.toml").read_text()
    (survey / "survey.toml").write_text(text.replace('method = "median"', 'method = "gone"'))
    told = _geoprofile(package, "surfaces", survey)
    assert told["code"] == 5 and "NOT_THERE" in json.dumps(told)


def test_without_the_package_the_run_says_which_plugin_is_missing(survey):
    told = _geoprofile(None, "run", survey)
    assert told["code"] == 3 and "no reader takes a file with this ending" in json.dumps(told)
