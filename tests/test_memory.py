"""Whole-grid work is refused before it starts where the memory is not there (T15)."""

from __future__ import annotations

import pytest

from geoprofile import memory
from geoprofile.errors import InputError
from geoprofile.terrain.water import BYTES_PER_CELL, memory_needed


def test_t15_water_on_ten_billion_cells_is_refused_before_it_starts(monkeypatch):
    monkeypatch.setattr(memory, "memory_free", lambda: 16_000_000_000)
    with pytest.raises(InputError) as refused:
        memory.require_memory(memory_needed(10**10), 10**10, "the wetness index", "leave it out, or take a coarser grid.cell_m")
    text = str(refused.value)
    assert f"{BYTES_PER_CELL * 10:.1f} GB" in text and "16.0 GB are free" in text and "cell_m" in text


def test_where_there_is_room_the_sentence_says_what_it_takes(monkeypatch):
    monkeypatch.setattr(memory, "memory_free", lambda: 16_000_000_000)
    assert "10,000,000 cells" in memory.require_memory(memory_needed(10**7), 10**7, "the wetness index", "")


def test_a_system_that_does_not_tell_is_no_reason_to_refuse(monkeypatch):
    monkeypatch.setattr(memory, "memory_free", lambda: None)
    assert memory.require_memory(10**15, 10, "the wetness index", "")


def test_the_memory_of_this_machine_is_a_plausible_number():
    free = memory.memory_free()
    assert free is None or 0 <= free < 10**14


def test_where_another_c_library_is_in_use_memory_is_kept_as_it_keeps_it(monkeypatch):
    asked = []

    def no_library(name):
        asked.append(name)
        raise OSError(name)

    monkeypatch.setattr(memory.ctypes, "CDLL", no_library)
    monkeypatch.setattr(memory.sys, "platform", "linux")
    memory.keep_few_arenas()
    memory.give_back()
    assert asked == ["libc.so.6"] * 2
    monkeypatch.setattr(memory.sys, "platform", "darwin")
    memory.give_back()
    assert len(asked) == 2
