"""Reading a small survey from texts written in the test."""

from __future__ import annotations

from pathlib import Path

import pytest


@pytest.fixture
def read_survey(tmp_path, a_record):
    """Write files (name -> text or bytes) and read them as [pits]; keywords are settings of [pits]. Returns Pits."""
    from geoprofile.context import Context
    from geoprofile.pits.stage import read_pits
    from geoprofile.settings.pits import PitsSettings
    from geoprofile.settings.survey import GridSettings, SurveySettings

    def read(files: dict[str, str | bytes], *, crs: str = "EPSG:3158", convention: str = "canadian", area: str | None = None, **pits):
        for name, content in files.items():
            path = tmp_path / name
            path.write_bytes(content if isinstance(content, bytes) else content.encode("utf-8"))
        survey = SurveySettings(crs=crs, convention=convention, area=area)
        context = Context(survey, GridSettings(), tmp_path, tmp_path / "out")
        return read_pits(PitsSettings.model_validate(pits), context, a_record("pits"))

    return read


@pytest.fixture
def folder(tmp_path) -> Path:
    return tmp_path


@pytest.fixture
def found():
    """``found([("Ah", 0, 12), ("Bm", 12, 40)], colour_moist=[...])``: problems of one pit; keywords of horizons are columns, ``pit`` holds those of the pit."""
    import numpy as np
    import pandas as pd

    from geoprofile.pits.checks import check_profiles

    def find(rows, convention: str = "canadian", pit: dict | None = None, off=(), **columns):
        frame = pd.DataFrame([("a", *row) for row in rows], columns=["pit_id", "designation", "upper_cm", "lower_cm"])
        frame = frame.assign(file="pits.xlsx", sheet="horizons", row=np.arange(len(frame)) + 2, **columns)
        pits = pd.DataFrame({"pit_id": ["a"], "file": "pits.xlsx", "sheet": "pits", "row": [2], **{name: [value] for name, value in (pit or {}).items()}})
        return check_profiles(pits, frame, convention, off)

    return find
