"""Memory: what there is for work that needs the whole grid at once, asked before starting (T15), and what is given back."""

from __future__ import annotations

import ctypes
import sys
from pathlib import Path

from .errors import InputError

GIGABYTE = 1_000_000_000


def memory_free() -> int | None:
    """Bytes that this process can still take; None where the system does not say.

    The least of what the machine has free and what is left of a container's limit.
    """
    free = []
    try:
        for line in Path("/proc/meminfo").read_text(encoding="ascii").splitlines():
            if line.startswith("MemAvailable:"):
                free.append(int(line.split()[1]) * 1024)
    except (OSError, ValueError, IndexError):
        pass
    for most, now in (
        ("/sys/fs/cgroup/memory.max", "/sys/fs/cgroup/memory.current"),
        ("/sys/fs/cgroup/memory/memory.limit_in_bytes", "/sys/fs/cgroup/memory/memory.usage_in_bytes"),
    ):
        try:
            free.append(int(Path(most).read_text(encoding="ascii")) - int(Path(now).read_text(encoding="ascii")))
        except (OSError, ValueError):  # absent, or "max"
            continue
    return max(0, min(free)) if free else None


def require_memory(needed: int, cells: int, what: str, remedy: str) -> str:
    """Refuse work for which the memory is not there; else the sentence that states what it takes.

    Raises
    ------
    InputError before anything is computed.
    """
    free = memory_free()
    takes = f"{what} needs the whole grid at once: {cells:,} cells, about {needed / GIGABYTE:.1f} GB of memory"
    if free is not None and needed > free:
        raise InputError(
            f"{what} needs more memory than there is", found=f"{cells:,} cells need about {needed / GIGABYTE:.1f} GB",
            allowed=f"{free / GIGABYTE:.1f} GB are free", remedy=remedy,
        )  # fmt: skip
    return takes


def keep_few_arenas() -> None:
    """Let threads share what they freed: glibc keeps up to eight heaps a core, and each holds on to what a block took.

    Two cost no time and a sixth of the peak less (measured, scripts/bench surfaces). Elsewhere nothing is done.
    """
    _glibc("mallopt", -8, 2)  # M_ARENA_MAX


def give_back() -> None:
    """Return what was freed to the system, so that one stage does not stand on what another needed."""
    _glibc("malloc_trim", 0)


def _glibc(function: str, *numbers: int) -> None:
    if sys.platform == "linux":
        try:
            getattr(ctypes.CDLL("libc.so.6"), function)(*numbers)
        except (OSError, AttributeError):  # another C library
            return
