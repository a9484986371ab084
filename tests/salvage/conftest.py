"""The invented survey of the zones' tests serves here too."""

from __future__ import annotations

import importlib.util
from pathlib import Path

_place = Path(__file__).parents[1] / "zones" / "conftest.py"
_spec = importlib.util.spec_from_file_location("invented_survey", _place)
_survey = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(_survey)

grid, at, block = _survey.grid, _survey.at, _survey.block
make_pits, make_surfaces, write_layer = _survey.make_pits, _survey.make_surfaces, _survey.write_layer
