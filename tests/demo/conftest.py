"""One run of the demo for all tests of this folder, in a folder with a space and an accent."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="session")
def demo_folder(tmp_path_factory) -> Path:
    """A copy of demo_data in a folder with a space and an accent (C4)."""
    folder = tmp_path_factory.mktemp("démo run") / "Tansy Knolls à côté"
    shutil.copytree(ROOT / "demo_data", folder)
    return folder


@pytest.fixture(scope="session")
def demo(demo_folder):
    """The finished run of the demo: products, context, problems."""
    from geoprofile.pipeline import run_survey

    return run_survey(demo_folder)


@pytest.fixture(scope="session")
def value(demo):
    """value(pit_id, attribute) -> the row of attribute values."""
    values = demo.products["attributes"].values.set_index(["pit_id", "attribute"]).sort_index()
    return lambda pit_id, attribute: values.loc[(pit_id, attribute)]
