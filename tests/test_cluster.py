"""The blocks on a real scheduler and two worker processes of this machine; one of them is killed midway."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import rasterio

from geoprofile.blocks import workers
from geoprofile.cluster import Cluster
from geoprofile.context import Context
from geoprofile.errors import Cancelled, InputError
from geoprofile.problems import problems_frame
from geoprofile.products import PIT_COLUMNS, VALUE_COLUMNS, AttributeDefinition, Attributes, Pits, typed
from geoprofile.progress import Progress
from geoprofile.record import Record
from geoprofile.settings.run import RunSettings
from geoprofile.settings.surfaces import SurfacesSettings
from geoprofile.settings.survey import GridSettings, SurveySettings
from geoprofile.settings.terrain import TerrainSettings
from geoprofile.settings.zones import DraftSettings, ZonesSettings
from geoprofile.surfaces.stage import map_surfaces
from geoprofile.terrain.stage import compute_terrain
from geoprofile.zones.stage import draw_zones

pytest.importorskip("distributed", reason="dask.distributed is not installed (extra: cluster)")
PATIENCE_S = 60


@pytest.fixture
def machines(tmp_path_factory):
    """(address of the scheduler, its two worker processes), new for each test; no nanny restarts a worker."""
    folder = tmp_path_factory.mktemp("cluster")
    file = folder / "scheduler.json"
    environment = {**os.environ, "DASK_DISTRIBUTED__COMM__TIMEOUTS__CONNECT": "10s"}

    def start(module, *options):
        return subprocess.Popen(
            [sys.executable, "-m", f"distributed.cli.{module}", *options], cwd=folder, env=environment,
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip

    scheduler = start("dask_scheduler", "--host", "127.0.0.1", "--port", "0", "--no-dashboard", "--scheduler-file", str(file))
    pair = [
        start("dask_worker", "--scheduler-file", str(file), "--nthreads", "1", "--no-nanny", "--no-dashboard", "--local-directory", str(folder))
        for _ in range(2)
    ]  # fmt: skip
    try:
        address = _address(file)
        _wait_for_two(address)
        yield address, pair
    finally:
        for process in (*pair, scheduler):
            process.kill()
            process.wait()


def _address(file) -> str:
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end:
        try:
            return json.loads(file.read_text())["address"]
        except (OSError, ValueError):
            time.sleep(0.05)
    raise RuntimeError("no scheduler")


def _wait_for_two(address: str) -> None:
    from distributed import Client

    with Client(address, timeout=PATIENCE_S, set_as_default=False) as client:
        client.wait_for_workers(2, timeout=PATIENCE_S)


class At(Progress):
    """Does something once, when so many blocks of a task are done."""

    def __init__(self, done: int, action, title: str = "computing terrain") -> None:
        super().__init__()
        self.at, self.action, self.title = done, action, title

    def show(self, task) -> None:
        if task.title == self.title and task.done >= self.at and self.action:
            action, self.action = self.action, None
            action(self)


def write_ground(path) -> None:
    y, x = np.mgrid[:1100, :1300]
    z = (300 + 6 * np.sin(x / 40) * np.cos(y / 55) + 0.002 * x).astype("float32")
    z[(x - 600) ** 2 + (y - 500) ** 2 < 90**2] = -9999
    with rasterio.open(
        path, "w", driver="GTiff", height=1100, width=1300, count=1, dtype="float32", crs="EPSG:32614", nodata=-9999,
        transform=rasterio.Affine(5, 0, 500_000, 0, -5, 5_500_000), tiled=True,
    ) as sink:  # fmt: skip
        sink.write(z, 1)
        sink.units = ("m",)


def test_a_killed_worker_and_a_stopped_run_change_nothing(machines, tmp_path):
    """T13, T15: the outputs of two workers, one of them killed midway, are those of this process, byte for byte."""
    address, pair = machines
    write_ground(tmp_path / "dem.tif")
    settings = TerrainSettings(
        elevation="dem.tif", analysis_scale_m=20, relative_elevation_radius_m=60,
        derive=("slope", "plan_curvature", "relative_elevation", "landform_element"), least_segment_m2=400,
    )  # fmt: skip

    def terrain(folder: str, progress: Progress, **run):
        context = Context(
            SurveySettings(name="Invented", crs="EPSG:32614"), GridSettings(), tmp_path, tmp_path / folder, progress, RunSettings(**run)
        )
        return compute_terrain(settings, context, Record("terrain", {}))

    here = terrain("here", Progress())

    with pytest.raises(Cancelled):
        terrain("there", At(3, lambda progress: progress.cancel()), scheduler=address, block_tiles=1)
    kept = {file: file.stat().st_mtime_ns for file in (tmp_path / "there" / ".blocks").rglob("[0-9]*.npz")}
    assert len(kept) >= 3
    assert list((tmp_path / "there" / "terrain").iterdir()) == [], "a cancel leaves no half file"

    def kill_one(progress):
        assert {file: file.stat().st_mtime_ns for file in kept} == kept, "finished blocks are taken up, not computed again"
        pair[0].kill()

    there = terrain("there", At(len(kept) + 1, kill_one), scheduler=address, block_tiles=1)
    assert pair[0].wait(PATIENCE_S) != 0
    assert {k: r.sha256 for k, r in there.rasters.items()} == {k: r.sha256 for k, r in here.rasters.items()}
    assert there.notes == here.notes
    assert not (tmp_path / "there" / ".blocks").exists(), "block files are removed when they have been put together"


def invented_pits():
    """60 pits on the ground of write_ground: absent in the west, some say only 'at least'."""
    rng = np.random.default_rng(5)
    points = np.array([500_000, 5_494_500]) + rng.uniform(0, 1, (60, 2)) * (6500, 5500)
    depth = (40 + 12 * np.sin(points[:, 0] / 700) * np.cos(points[:, 1] / 900) + rng.normal(0, 3, 60)).round()
    ids = [f"P{number:02d}" for number in range(60)]
    absent, ended = points[:, 0] < 501_500, rng.random(60) < 0.2
    status = np.select([absent, ended], ["absent", "at_least"], "measured")
    frame = gpd.GeoDataFrame(
        typed(pd.DataFrame({"pit_id": ids, "place_id": ids}), PIT_COLUMNS), geometry=gpd.points_from_xy(*points.T, crs="EPSG:32614")
    )
    values = pd.DataFrame({
        "pit_id": ids, "attribute": "depth_to_bt", "low": np.where(absent, np.nan, depth),
        "high": np.where(absent | ended, np.nan, depth), "status": status, "presence": np.where(absent, "absent", "present"),
    })  # fmt: skip
    definition = AttributeDefinition("depth_to_bt", "Depth to Bt", "cm", "depth", "invented", "invented", True)
    nothing = problems_frame([])
    return (
        Pits(Record("pits", {}), frame, pd.DataFrame(), pd.DataFrame(), nothing),
        Attributes(Record("attributes", {}), frame[["pit_id", "place_id", "position_accuracy_m", "geometry"]],
                   typed(values, VALUE_COLUMNS), (definition,), nothing),
    )  # fmt: skip


def test_terrain_and_a_surface_survive_a_killed_worker_and_a_stopped_run(machines, tmp_path):
    """T13, T15: a surface with bounds, drift and presence, one of two workers killed midway: the files are those of this process."""
    address, pair = machines
    write_ground(tmp_path / "dem.tif")
    pits, attributes = invented_pits()
    asked = SurfacesSettings(drift=("slope",), less_than_cm=(30,), more_than_cm=(50,))

    def made(folder: str, progress: Progress, **run):
        context = Context(
            SurveySettings(name="Invented", crs="EPSG:32614"), GridSettings(), tmp_path, tmp_path / folder, progress, RunSettings(**run)
        )
        terrain = compute_terrain(TerrainSettings(elevation="dem.tif", derive=("slope",)), context, Record("terrain", {}))
        return terrain, map_surfaces(pits, attributes, terrain, asked, context, Record("surfaces", {}))

    ground, here = made("here", Progress())
    (surface,) = here.surfaces
    assert surface.presence and surface.below and surface.above

    with pytest.raises(Cancelled):
        made("there", At(3, lambda progress: progress.cancel(), "mapping surfaces"), scheduler=address, block_tiles=1)
    kept = {file: file.stat().st_mtime_ns for file in (tmp_path / "there" / ".blocks").rglob("[0-9]*.npz")}
    assert len(kept) >= 3
    assert list((tmp_path / "there" / "surfaces").iterdir()) == [], "a cancel leaves no half file"

    def kill_one(progress):
        assert {file: file.stat().st_mtime_ns for file in kept} == kept, "finished blocks are taken up, not computed again"
        pair[0].kill()

    again, there = made("there", At(len(kept) + 1, kill_one, "mapping surfaces"), scheduler=address, block_tiles=1)
    assert pair[0].wait(PATIENCE_S) != 0
    assert again.rasters == ground.rasters
    assert there.rasters == here.rasters and there.surfaces == here.surfaces
    assert there.scores.equals(here.scores) and there.points.equals(here.points)
    assert not (tmp_path / "there" / ".blocks").exists(), "block files are removed when they have been put together"

    draft = DraftSettings(**{"from": "surface", "attribute": "depth_to_bt", "limits_cm": (30, 40, 50)})
    by_one_worker = zones_drawn(tmp_path, "there", draft, pits, attributes, again, there, scheduler=address, block_tiles=1)
    same_zones(by_one_worker, zones_drawn(tmp_path, "here", draft, pits, attributes, ground, here))


def zones_drawn(place, folder: str, draft: DraftSettings, *products, **run):
    """Zones at 1:20,000 by the workers that ``run`` asks for."""
    survey = SurveySettings(name="Invented", crs="EPSG:32614", map_scale=20_000)
    context = Context(survey, GridSettings(), place, place / folder, Progress(), RunSettings(**run))
    return draw_zones(*products, ZonesSettings(draft=draft), context, Record("zones", {}))


def same_zones(one, other) -> None:
    assert len(one.zones) > 1 and one.zones.equals(other.zones) and one.notes == other.notes
    assert one.tables.keys() == other.tables.keys()
    assert all(table.equals(other.tables[name]) for name, table in one.tables.items())


def test_zones_survive_a_killed_worker(machines, tmp_path, monkeypatch):
    """T13, T15: zones from elements and from clusters, one of two workers killed at the first piece: as in this process."""
    address, pair = machines
    write_ground(tmp_path / "dem.tif")
    context = Context(SurveySettings(name="Invented", crs="EPSG:32614"), GridSettings(), tmp_path, tmp_path / "out", Progress(), RunSettings())
    settings = TerrainSettings(
        elevation="dem.tif", analysis_scale_m=20, derive=("slope", "plan_curvature", "landform_element"), least_segment_m2=400,
        level_below_degrees=1, profile_limit_degrees_per_m=0.02,
    )  # fmt: skip
    terrain = compute_terrain(settings, context, Record("terrain", {}))
    products = (*invented_pits(), terrain, None)
    clusters = DraftSettings(**{"from": "clusters", "use": ("slope", "plan_curvature"), "clusters": 3})
    elements = DraftSettings(**{"from": "landform_elements"})
    here = [zones_drawn(tmp_path, "out", draft, *products) for draft in (clusters, elements)]

    same_zones(zones_drawn(tmp_path, "out", clusters, *products, scheduler=address, block_tiles=1), here[0])
    each = Cluster.each

    def killing(self, step, items):
        for result in each(self, step, items):
            pair[0].kill()
            yield result

    monkeypatch.setattr(Cluster, "each", killing)
    same_zones(zones_drawn(tmp_path, "out", elements, *products, scheduler=address, block_tiles=1), here[1])
    assert pair[0].wait(PATIENCE_S) != 0
    assert not (tmp_path / "out" / ".blocks").exists(), "nothing is left of having asked who sees the folder"


def test_an_address_where_nobody_answers_is_said(tmp_path, monkeypatch):
    monkeypatch.setattr("geoprofile.cluster.PATIENCE_S", 1)
    with pytest.raises(InputError, match="does not answer"), workers(RunSettings(scheduler="tcp://127.0.0.1:1"), tmp_path):
        raise AssertionError("connected")
