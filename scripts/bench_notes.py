"""Reading field notes: generated pits in sentences and in codes, in a process of its own: time, time a pit and peak memory. Prints; tests nothing.

    python scripts/bench_notes.py                     2,500, 5,000 and 10,000 pits
    python scripts/bench_notes.py 1000                1,000 pits
"""

from __future__ import annotations

import random
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

HUES, KINDS = ("10YR", "2.5Y", "7.5YR"), ("granular", "subangular blocky", "prismatic", "platy")
TEXTURES, CODES = ("loam", "silt loam", "clay loam", "sandy clay loam", "clay"), ("L", "SiL", "CL", "SCL", "C")
FIZZ = ("no effervescence", "weakly effervescent", "strongly effervescent")


def main() -> None:
    sizes = [int(size) for size in sys.argv[1:]] or [2_500, 5_000, 10_000]
    with tempfile.TemporaryDirectory() as folder:
        for size in sizes:
            path = Path(folder) / f"{size}.txt"
            path.write_text("\n".join(_pit(random.Random(number), number) for number in range(size)))
            subprocess.run([sys.executable, __file__, "--one", str(path)], check=True)


def _pit(chance: random.Random, number: int) -> str:
    lines, at = [f"Pit N-{number:05d}. Upper slope, {chance.randint(0, 15)} % slope, well drained, till. Colours are for moist soil."], 0
    for name in ("Ap", "Bt1", "Bt2", "BC", "Ck"):
        low = at + chance.randint(8, 35)
        colour = f"{chance.choice(HUES)} {chance.randint(2, 6)}/{chance.randint(1, 4)}"
        if number % 2:
            body = f"{colour} {chance.choice(CODES)} {chance.randint(1, 3)}{chance.choice('fmc')}{chance.choice(('gr', 'sbk', 'pr'))} {chance.choice(('NE', 'es'))} {chance.choice(('cs', 'gw', 'as'))}"
        else:
            body = (
                f"brown ({colour} m), ({chance.choice(HUES)} {chance.randint(4, 7)}/{chance.randint(1, 4)} d); {chance.choice(TEXTURES)}; moderate, medium {chance.choice(KINDS)}; friable; "
                f"few fine roots; {chance.choice(FIZZ)}; {chance.choice(('clear', 'gradual', 'abrupt'))}, {chance.choice(('smooth', 'wavy'))} boundary; pH {chance.uniform(5, 8):.1f}"
            )
        lines.append(f"{name} {at}-{low} cm; {body}.")
        at = low
    return "\n".join(lines) + "\n"


def _read(path: Path) -> None:
    from geoprofile.pits.notes.reader import READER

    start, used = time.perf_counter(), time.process_time()
    notes = READER.read_notes(path)
    seconds, used = time.perf_counter() - start, time.process_time() - used
    pits, horizons = len(notes.ids), len(notes.horizons.cells)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{pits:6,} pits, {horizons:6,} horizons, {path.stat().st_size / 1e6:4.1f} MB: {seconds:5.1f} s, {used:5.1f} s of processor, {1000 * used / pits:.2f} ms a pit, peak {peak:.0f} MB", flush=True)


if __name__ == "__main__":
    _read(Path(sys.argv[2])) if sys.argv[1:2] == ["--one"] else main()
