"""What is installed is what was tested, and the wheel carries its data and licence."""

import re
import subprocess
import sys
import tomllib
import zipfile
from pathlib import Path

ROOT = Path(__file__).parents[1]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))


def _plain(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()


def test_lower_bounds_are_the_pins_that_were_tested():
    lines = (ROOT / "scripts" / "constraints.txt").read_text(encoding="utf-8").splitlines()
    pins = dict(line.split("==") for line in lines if "==" in line)
    extras = [item for items in PROJECT["project"]["optional-dependencies"].values() for item in items]
    for requirement in [*PROJECT["project"]["dependencies"], *extras, *PROJECT["build-system"]["requires"]]:
        name, bound = requirement.split(">=")
        assert pins[_plain(name)] == bound, requirement


def test_the_wheel_carries_its_data_and_licence(tmp_path):
    """Built from a copy, so that the work tree is left as it is."""
    import shutil

    source = tmp_path / "source"
    source.mkdir()
    for name in ("pyproject.toml", "README.md"):
        shutil.copy(ROOT / name, source)
    shutil.copytree(ROOT / "geoprofile", source / "geoprofile", ignore=shutil.ignore_patterns("__pycache__"))
    subprocess.run(
        [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "--no-build-isolation", "--wheel-dir", str(tmp_path), str(source)],
        check=True,
        capture_output=True,
    )
    (wheel,) = tmp_path.glob("*.whl")
    inside = set(zipfile.ZipFile(wheel).namelist())
    data = {
        path.relative_to(ROOT).as_posix()
        for path in (ROOT / "geoprofile").rglob("*")
        if path.is_file() and path.suffix not in (".pyc", ".nbc", ".nbi") and "__pycache__" not in path.parts
    }
    assert data - inside == set()
    assert any(name.endswith("licenses/geoprofile/LICENSE") for name in inside)


def test_the_version_is_told_once_and_the_same_twice():
    import geoprofile

    assert geoprofile.__version__ == PROJECT["project"]["version"]


def test_public_names_are_what_they_say_they_are():
    import geoprofile

    for name in geoprofile.__all__:
        assert getattr(geoprofile, name) is not None
