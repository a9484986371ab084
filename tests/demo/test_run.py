"""The whole job as a user runs it: from a shell, in an odd folder, twice, stopped halfway."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path


def _hashes(folder: Path) -> dict[str, str]:
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and ".products" not in path.parts
    }


def _command(*arguments: object) -> list[str]:
    return [sys.executable, "-m", "geoprofile", *map(str, arguments)]


def test_the_demo_leaves_what_the_readme_promises(demo):
    """C4: the folder has a space and an accent."""
    files = set(_hashes(demo.context.output))
    assert {"survey.gpkg", "map.html", "report.pdf", "problems.csv", "scores.csv", "record.json"} <= files
    for folder in ("terrain/", "surfaces/", "tables/", "transects/"):
        assert [name for name in files if name.startswith(folder)], folder
    assert not [name for name in files if Path(name).name.startswith(".")], "nothing half-written is left"
    told = {file.path: file.sha256 for file in demo.products["publish"].files}
    made = _hashes(demo.context.output)
    assert told and all(made[path] == sha256 for path, sha256 in told.items())


def test_a_second_run_elsewhere_gives_the_same_bytes(demo, demo_folder, tmp_path):
    """G4, D6: twice is the same, with everything computed anew, in another process and another folder."""
    other = tmp_path / "other"
    shutil.copytree(demo_folder, other, ignore=shutil.ignore_patterns("out"))
    done = subprocess.run(_command("run", other, "--json"), capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    document = json.loads(done.stdout)
    assert document["ok"] and document["reused"] == []
    second = _hashes(other / "out")
    # other tests leave files of other commands in the folder of the first run
    told = {file.path for file in demo.products["publish"].files}
    first = {name: digest for name, digest in _hashes(demo.context.output).items() if name in told}
    assert set(first) == set(second) == told
    assert [name for name in first if first[name] != second[name]] == []


def test_a_run_after_a_run_reuses_everything_and_says_so(demo, demo_folder):
    before = _hashes(demo.context.output)
    done = subprocess.run(_command("run", demo_folder, "--progress", "json"), capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    messages = [json.loads(line) for line in done.stderr.splitlines()]
    reused = {message["message"].split(":")[0] for message in messages if "reused" in message.get("message", "")}
    assert reused == {"pits", "attributes", "soil_names", "terrain", "surfaces", "zones", "salvage", "publish"}
    assert _hashes(demo.context.output) == before


def test_a_run_stopped_by_a_signal_leaves_nothing_half_written(demo_folder, tmp_path):
    """C6, and the exit code of a clean cancel."""
    output = tmp_path / "out"
    process = subprocess.Popen(
        _command("run", demo_folder, "--output", output, "--progress", "json"), stderr=subprocess.PIPE, text=True
    )
    seen = []
    for line in process.stderr:
        seen.append(line)
        if json.loads(line).get("message", "").startswith("surfaces"):
            time.sleep(0.5)
            process.send_signal(signal.SIGTERM)
            break
    rest = process.communicate(timeout=120)[1]
    assert process.returncode == 130, "".join(seen) + rest
    assert "stopped as asked" in rest
    assert not (output / "survey.gpkg").exists() and not (output / "map.html").exists()
    assert not [path for path in output.rglob(".*") if path.name != ".products" and path.name.startswith(".writing")]
    assert sorted(path.name for path in (output / ".products").iterdir() if path.is_dir()) == ["attributes", "pits", "soil_names", "terrain"]


def test_output_for_people_carries_no_control_characters_in_a_pipe(demo_folder, demo):
    """C7, C10: no bars, no driver messages where there is no terminal."""
    done = subprocess.run(_command("run", demo_folder), capture_output=True, env={**os.environ, "PYTHONIOENCODING": "cp1252"})
    assert done.returncode == 0
    assert b"\x1b" not in done.stdout + done.stderr and b"\r" not in done.stdout + done.stderr
    assert all(b"reused" in line for line in done.stderr.splitlines())
