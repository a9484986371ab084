"""The house stands as drawn: imports point down, heavy libraries stay in their rooms, names speak."""

import ast
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "geoprofile"
LEVELS = [
    {"errors", "environment"},
    {"vocabulary", "kernels"},
    {"grid", "intervals", "problems", "cloud_optimised", "rasters", "record", "products", "layers", "overlay", "store", "written"},
    {"registry", "settings", "progress", "context", "areal", "described", "blocks", "cluster", "memory", "regions", "in_the_way"},
    {"pits", "attributes", "naming", "terrain", "surfaces", "zones", "salvage", "outputs", "sampling"},
    {"pipeline"},
    {"cli", "__main__"},
]
LEVEL = {name: number for number, names in enumerate(LEVELS) for name in names}
ROOMS = LEVELS[4]
LIVES_IN = {
    "folium": {"outputs"},
    "branca": {"outputs"},
    "typer": {"cli"},
    "rich": {"cli"},
    "numba": {"kernels"},
    "sklearn": {"surfaces", "zones", "sampling"},
    "fiona": {"pits", "outputs", "cli"},
    "typst": {"outputs"},
    "matplotlib": {"outputs"},
    "openpyxl": {"pits", "outputs", "cli"},
    "distributed": {"cluster"},
    "dask": {"cluster"},
}
FILES = sorted(PACKAGE.rglob("*.py"))


def _room(path: Path) -> str:
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def _imports(path: Path):
    """(top-level module or room, is it ours) of every import of a file, wherever it stands."""
    package = list(path.relative_to(PACKAGE.parent).parts[:-1])
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            for name in node.names:
                yield name.name.split(".")[0], False
        elif isinstance(node, ast.ImportFrom):
            base = package[: len(package) - node.level + 1] if node.level else []
            full = [*base, *(node.module or "").split(".")] if node.module else base
            if full[:1] == ["geoprofile"]:
                names = [full[1]] if len(full) > 1 else [name.name for name in node.names]
                for name in names:
                    yield name, True
            else:
                yield full[0], False


def test_every_room_has_its_level():
    assert {_room(path) for path in FILES} - {"__init__"} == set(LEVEL)


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_imports_point_down_and_stages_do_not_know_each_other(path):
    room = _room(path)
    if room in ("__init__",):
        return
    for name, ours in _imports(path):
        if ours and name in LEVEL and name != room:
            assert LEVEL[name] <= LEVEL[room], f"{path.name} imports {name}, which lies above it"
            assert not (room in ROOMS and name in ROOMS), f"{path.name}: the stage {room} imports the stage {name}"
        if not ours and name in LIVES_IN:
            assert room in LIVES_IN[name], f"{path.name}: {name} does not live in {room}"


def test_no_file_is_called_after_nothing():
    assert not [path for path in FILES if path.stem in ("utils", "helpers", "common", "misc")]


def test_what_ships_names_no_machine_no_registry_and_no_template_compiler():
    words = ("/wo" + "rk/", "py" + "pi.org", "deb" + "ian.org", "np" + "mjs")
    texts = [*FILES, *PACKAGE.rglob("*.toml"), *(PACKAGE.parent / "scripts").glob("*")]
    for path in texts:
        if path.is_file():
            text = path.read_text(encoding="utf-8")
            assert not [word for word in words if word in text], path
