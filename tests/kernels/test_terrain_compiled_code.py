"""Where compiled code is kept: never a reason to fail (a read-only home), never another user's."""

from __future__ import annotations

import os

import geoprofile.kernels as kernels


def test_without_a_place_to_write_compiled_code_goes_to_the_temporary_folder(monkeypatch, tmp_path):
    monkeypatch.delenv("NUMBA_CACHE_DIR", raising=False)
    monkeypatch.setattr(kernels, "_writable", lambda folder: False)
    monkeypatch.setattr(kernels.tempfile, "gettempdir", lambda: str(tmp_path))
    kernels._place_for_compiled_code()
    chosen = os.environ.pop("NUMBA_CACHE_DIR")
    assert os.path.dirname(chosen) == str(tmp_path) and os.path.isdir(chosen)


def test_a_folder_chosen_by_the_user_is_kept(monkeypatch, tmp_path):
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    monkeypatch.setattr(kernels, "_writable", lambda folder: False)
    kernels._place_for_compiled_code()
    assert os.environ["NUMBA_CACHE_DIR"] == str(tmp_path)


def test_where_the_source_can_be_written_nothing_is_changed(monkeypatch):
    monkeypatch.delenv("NUMBA_CACHE_DIR", raising=False)
    monkeypatch.setattr(kernels, "_writable", lambda folder: True)
    kernels._place_for_compiled_code()
    assert "NUMBA_CACHE_DIR" not in os.environ
