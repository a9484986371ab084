"""Plug-ins: what is declared is what is installed; a broken one is fenced, a duplicate refused."""

import tomllib
from importlib.metadata import EntryPoint
from pathlib import Path

import pytest

from geoprofile import registry
from geoprofile.errors import PluginError

PYPROJECT = Path(__file__).parents[1] / "pyproject.toml"


@pytest.fixture
def found(monkeypatch):
    """Replace what is installed by the given entry points."""

    def set_to(*points: tuple[str, str]) -> registry.Plugins:
        made = [EntryPoint(name, value, "geoprofile.methods") for name, value in points]
        monkeypatch.setattr(registry, "entry_points", lambda group: made)
        return registry.plugins.__wrapped__("geoprofile.methods")

    return set_to


@pytest.mark.parametrize("group", list(registry.CONTRACTS))
def test_what_pyproject_declares_is_installed_and_loads(group):
    declared = tomllib.loads(PYPROJECT.read_text(encoding="utf-8"))["project"]["entry-points"][group]
    plugins = registry.plugins(group)
    assert declared, f"{group} declares nothing"
    assert plugins.broken == ()
    assert set(declared) <= set(plugins.loaded)


def test_a_broken_plugin_is_named_and_the_rest_works(found):
    plugins = found(("good", "geoprofile.surfaces.methods.simple:MEAN"), ("bad", "no_such_module:thing"), ("poor", "json:dumps"))
    assert list(plugins.loaded) == ["good"]
    assert {broken.name: broken.reason.split(":")[0] for broken in plugins.broken} == {"bad": "ModuleNotFoundError", "poor": "TypeError"}
    with pytest.raises(PluginError, match="did not load"):
        plugins.get("bad")


def test_a_second_plugin_of_the_same_name_is_refused_and_ours_stays(found):
    plugins = found(("mean", "aaa_other:MEAN"), ("mean", "geoprofile.surfaces.methods.simple:MEAN"))
    assert list(plugins.loaded) == ["mean"]
    assert "taken" in plugins.broken[0].reason and plugins.broken[0].value == "aaa_other:MEAN"


def test_an_unknown_name_gets_the_nearest(found):
    with pytest.raises(PluginError) as caught:
        found(("nearest", "geoprofile.surfaces.methods.simple:MEAN")).get("neares")
    assert caught.value.remedy == "did you mean 'nearest'?"
