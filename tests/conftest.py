"""What all tests share: where the open data beside the project lies, and a context in a fresh folder."""

from __future__ import annotations

from pathlib import Path

import pytest

from geoprofile import environment as _environment  # noqa: F401

ROOT = Path(__file__).resolve().parents[1]
SHARED = ROOT.parent / "shared"


@pytest.fixture
def shared() -> Path:
    """The folder of open data and reference numbers; the test skips where it is absent."""
    if not SHARED.is_dir():
        pytest.skip("the open data folder ../shared is not beside the project")
    return SHARED


@pytest.fixture
def make_context(tmp_path):
    """A context whose files and outputs lie in a fresh folder; keywords go to [survey] and cell_m to [grid]."""
    from geoprofile.context import Context
    from geoprofile.settings.survey import GridSettings, SurveySettings

    def make(cell_m: float | None = None, **survey) -> Context:
        survey = {"name": "Test (invented)", "crs": "EPSG:3158", **survey}
        return Context(SurveySettings(**survey), GridSettings(cell_m=cell_m), tmp_path, tmp_path / "out")

    return make


@pytest.fixture
def pits_of():
    """``pits_of({pit_id: horizons}, {pit_id: facts}, readings)``: Pits made by hand; see made_pits.py."""
    return _beside("made_pits").make_pits


@pytest.fixture
def a_record():
    """A record for calling a stage directly."""
    from geoprofile.record import Record

    return lambda stage="test": Record(stage, {})


@pytest.fixture(scope="session")
def saved():
    """``saved(context, power=None, bounded=(), parameters=True)``: Surfaces as a product holds them; see saved_surface.py."""
    return _beside("saved_surface").saved


@pytest.fixture(scope="session")
def reference_table():
    """``reference_table(file, name)``: a published data set under the GPL, for check numbers; see reference_data.py."""
    return _beside("reference_data").table


def _beside(name: str):
    """A module of this folder; tests are no package."""
    import importlib.util

    spec = importlib.util.spec_from_file_location(name, Path(__file__).with_name(f"{name}.py"))
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module
