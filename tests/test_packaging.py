"""What is installed is what was tested, and the wheel carries its data and licence."""

import os
import re
import shutil
import subprocess
import sys
import tomllib
import zipfile
from pathlib import Path

import pytest

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


def test_data_under_a_copyleft_licence_is_fetched_for_tests_alone():
    """The sets of R packages (GPL) that check numbers were computed on: in no folder of ours, and asked for by CI
    only."""
    named = [path.name for path in [*(ROOT / "scripts").iterdir(), ROOT / ".ci" / "run"] if path.is_file() and "r-cran" in path.read_text()]
    assert named == ["fetch_reference_data"]
    for path in ("scripts/install", "scripts/demo", "scripts/test"):
        assert "reference_data" not in (ROOT / path).read_text(encoding="utf-8")
    assert ".venv/" in (ROOT / ".gitignore").read_text(encoding="utf-8").splitlines(), "where they lie"
    ours = ("geoprofile", "tests", "demo_data", "scripts")
    assert not [path for folder in ours for path in (ROOT / folder).rglob("*") if path.suffix.lower() in (".rda", ".rdb", ".rdata")]


def _pretend(folder: Path, version: tuple[int, int]) -> None:
    """Every name that scripts/install tries answers as a Python of this version would, and does nothing else."""
    folder.mkdir()
    for name in ("python3.11", "python3.12", "python3.13", "python3", "python"):
        program = folder / name
        program.write_text(
            f'#!/bin/sh\nexec "{sys.executable}" -c \'import sys; sys.version_info = (*{version}, 0, "final", 0); exec(sys.argv[2])\' "$@"\n'
        )
        program.chmod(0o755)


@pytest.mark.parametrize(("version", "taken"), [((3, 10), False), ((3, 14), False), ((3, 11), True), ((3, 13), True)])
def test_a_python_that_is_not_supported_is_refused_before_anything_is_made_C3(tmp_path, version, taken):
    """C3: one line that says which versions will do; those are the versions that pyproject states."""
    project = tmp_path / "with space"
    (project / "scripts").mkdir(parents=True)
    shutil.copy(ROOT / "scripts" / "install", project / "scripts")
    _pretend(tmp_path / "bin", version)
    done = subprocess.run(
        ["bash", str(project / "scripts" / "install")], capture_output=True, text=True,
        env={"PATH": f"{tmp_path / 'bin'}:{os.environ['PATH']}", "HOME": str(tmp_path)},
    )  # fmt: skip
    refused = "geoprofile needs Python 3.11, 3.12 or 3.13: install one, or name it as PYTHON=/path/to/python3.11\n"
    if taken:
        assert refused not in done.stderr
    else:
        assert (done.returncode, done.stderr) == (3, refused) and not (project / ".venv").exists()
    assert PROJECT["project"]["requires-python"] == ">=3.11,<3.14"


def test_the_version_is_told_once_and_the_same_twice():
    import geoprofile

    assert geoprofile.__version__ == PROJECT["project"]["version"]


def test_public_names_are_what_they_say_they_are():
    import geoprofile

    for name in geoprofile.__all__:
        assert getattr(geoprofile, name) is not None
