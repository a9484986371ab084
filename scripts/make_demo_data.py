#!/usr/bin/env python
"""Make the invented survey in demo_data: seeded, the same bytes each time.

    python scripts/make_demo_data.py [FOLDER]

Ground first, then landform elements by our own kernels, then a subgroup for each
place by its element and thicknesses down the profile, then what crews wrote of
it, faults included.
"""

from __future__ import annotations

import shutil
import sys
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))

import numpy as np
import pandas as pd
from demo_survey import files
from demo_survey.described import Survey, pit_name, plan_survey, write_down
from demo_survey.ground import SOUTH, WEST, Ground, area_polygon, bush_polygon, lake_polygon, make_ground
from demo_survey.places import disturbance, parcels, place_inspections, place_pits, route
from demo_survey.profiles import draw_profile

SEED = 6
"""Of a dozen seeds the one whose sample lies nearest the landscape it is drawn from."""


@dataclass
class Invented:
    """Everything that was drawn: ground, what is in it (``truth``, one row a pit), what was written of it."""

    ground: Ground
    truth: pd.DataFrame
    survey: Survey
    waypoints: list[tuple[str, float, float, str]]
    inspections: list[dict]


def invent() -> Invented:
    rng = np.random.default_rng(SEED)
    ground = make_ground()
    places = place_pits(ground, rng)
    profiles = [draw_profile(place, rng) for place in places.itertuples()]
    survey = Survey()
    plans = plan_survey(places, profiles, rng, survey)
    truck_day = None
    for number, plan in enumerate(plans):
        date = f"2025-06-{2 + number // 9:02d}"
        if "on the waypoint of the truck" in plan.faults:
            truck_day = date = truck_day or date
        if "visited twice" in plan.faults:
            write_down(plan, survey, rng, date)
            date = "2025-07-02"
        write_down(plan, survey, rng, date, "second visit, pit dug anew" if "visited twice" in plan.faults else "")
    truth = pd.DataFrame([
        {"pit_id": plan.pit_id, "element": plan.place.element, "bush": plan.place.bush, "lake": plan.place.lake,
         "x": plan.place.x, "y": plan.place.y, "subgroup": plan.profile.subgroup, "faults": "; ".join(sorted(plan.faults)),
         **{key: plan.profile.truth[key] for key in ("a_e", "ae", "lime", "bt")}}
        for plan in plans
    ])  # fmt: skip
    return Invented(ground, truth, survey, _waypoints(plans, survey, rng), _inspections(ground, places, rng))


def _waypoints(plans, survey: Survey, rng: np.random.Generator) -> list[tuple[str, float, float, str]]:
    """As a receiver stored them: some metres off, three at the truck, one in the wrong zone, four of nothing."""
    out = []
    for plan in plans:
        x, y = plan.place.x + rng.normal(0, 1.5), plan.place.y + rng.normal(0, 1.5)
        x, y = np.clip(x, WEST + 5, WEST + 1495), np.clip(y, SOUTH + 5, SOUTH + 995)
        if "on the waypoint of the truck" in plan.faults:
            x, y = WEST + 705.0, SOUTH + 12.0
        # the same easting and northing in the next zone (13) lie six degrees further west
        longitude, latitude = files.to_degrees(x, y, "EPSG:2957" if "wrong zone" in plan.faults else "EPSG:3158")
        out.append((plan.pit_id, float(longitude), float(latitude), ""))
    for k, (x, y) in enumerate([(705, 12), (30, 500), (1400, 960), (820, 640)]):
        longitude, latitude = files.to_degrees(WEST + x + 3.0, SOUTH + y)
        name = pit_name(len(plans) + 1 + k)
        survey.plant("waypoint without description", name)
        out.append((name, float(longitude), float(latitude), ""))
    return out


def _inspections(ground: Ground, pits: pd.DataFrame, rng: np.random.Generator) -> list[dict]:
    """One line a place: topsoil by three probes, depth to lime by auger to 60 cm."""
    rows = []
    for number, place in enumerate(place_inspections(ground, pits, rng).itertuples(), start=1):
        truth = draw_profile(place, rng).truth
        probes = np.maximum(3, np.rint(truth["a_e"] + rng.normal(0, 2.2, 3))).astype(int)
        lime = int(truth["lime"])
        rows.append({
            "Inspection": f"IN-{number:02d}", "Easting": f"{place.x:.1f}", "Northing": f"{place.y:.1f}",
            "Date": f"2025-06-{16 + number // 16:02d}", "Crew": "crew 4",
            "Topsoil 1 (cm)": probes[0], "Topsoil 2 (cm)": probes[1], "Topsoil 3 (cm)": probes[2],
            "Depth to lime (cm)": "" if rng.random() < 0.1 else str(lime) if lime <= 60 else ">60",
            "Observed to (cm)": 60,
            "Land use": "bush" if place.bush else "cultivated",
        })  # fmt: skip
    return rows


def write(folder: Path, made: Invented | None = None) -> Invented:
    """All files of the demonstration into ``folder``."""
    made = made or invent()
    folder.mkdir(parents=True, exist_ok=True)
    files.write_elevation(folder / "elevation.tif", made.ground)
    files.write_workbook(folder / "pits.xlsx", {"pits": made.survey.pits, "horizons": made.survey.horizons})
    files.write_waypoints(folder / "waypoints.gpx", made.waypoints)
    files.write_rows(folder / "inspections.csv", made.inspections)
    files.write_layers(folder / "boundary.gpkg", {"boundary": {"name": ["Tansy Knolls (invented)"], "geometry": [area_polygon()]}})
    area, bush, lake = area_polygon(), bush_polygon(), lake_polygon()
    files.write_layers(folder / "lines.gpkg", {
        "parent_material": {"material": ["till", "lacustrine"], "geometry": [area.difference(lake), lake]},
        "land_use": {"land_use": ["cultivated", "bush"], "geometry": [area.difference(bush), bush]},
    })  # fmt: skip
    for name, key, shapes in (("parcels", "parcel", parcels()), ("disturbance", "area", disturbance()), ("route", "name", {"Pipeline": route()})):
        files.write_layers(folder / f"{name}.gpkg", {name: {key: list(shapes), "geometry": list(shapes.values())}})
    for name in ("survey.toml", "ABOUT.md"):
        shutil.copyfile(Path(__file__).resolve().parent / "demo_survey" / name, folder / name)
    return made


if __name__ == "__main__":
    target = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).resolve().parents[1] / "demo_data"
    write(target)
    size = sum(file.stat().st_size for file in target.iterdir() if file.is_file())
    print(f"{target}: {size / 1e6:.2f} MB")
