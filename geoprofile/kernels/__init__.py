"""Number crunching on plain arrays; knows numpy, scipy's linear algebra and numba, and no other room.

Compiled code is kept between runs beside the source, or in the user's cache
folder. Where neither can be written (a container with a read-only home), it goes
to a folder of this user's under the system's temporary folder.
"""

from __future__ import annotations

import os
import tempfile
from pathlib import Path


def _writable(folder: Path) -> bool:
    while not folder.exists() and folder != folder.parent:
        folder = folder.parent
    return os.access(folder, os.W_OK)


def _place_for_compiled_code() -> None:
    if os.environ.get("NUMBA_CACHE_DIR"):
        return
    places = Path(__file__).parent / "__pycache__", Path(os.path.expanduser("~")) / ".cache" / "numba"
    if any(_writable(place) for place in places):
        return
    user = os.getuid() if hasattr(os, "getuid") else "user"
    folder = Path(tempfile.gettempdir()) / f"geoprofile-compiled-{user}"
    try:
        folder.mkdir(mode=0o700, exist_ok=True)
    except OSError:
        return
    if not hasattr(os, "getuid") or folder.stat().st_uid == os.getuid():  # nobody else's code is ever loaded
        os.environ["NUMBA_CACHE_DIR"] = str(folder)


_place_for_compiled_code()
