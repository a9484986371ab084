"""Messages of libraries and drivers go to a file, so that what the user reads is ours."""

from __future__ import annotations

import logging
import os
import warnings
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

NAME = "library_messages.log"


@contextmanager
def library_messages(output: Path) -> Iterator[None]:
    """Send warnings and loggers of libraries to ``output/.products/library_messages.log``.

    The file is made when there is something to say. With GEOPROFILE_TRACEBACK
    set they stay on standard error.
    """
    if os.environ.get("GEOPROFILE_TRACEBACK"):
        yield
        return
    handler = _LateFile(Path(output) / ".products" / NAME)
    handler.setFormatter(logging.Formatter("%(name)s: %(levelname)s: %(message)s"))
    root = logging.getLogger()
    kept = root.handlers[:]
    root.handlers = [handler]
    logging.captureWarnings(True)
    with warnings.catch_warnings():
        warnings.simplefilter("default")
        try:
            yield
        finally:
            logging.captureWarnings(False)
            root.handlers = kept
            handler.close()


class _LateFile(logging.Handler):
    """Opens its file at the first message; an output folder that cannot be made is told by the run, not here."""

    def __init__(self, path: Path) -> None:
        super().__init__(logging.WARNING)
        self._path = path
        self._messages: dict[str, None] = {}

    def emit(self, record: logging.LogRecord) -> None:
        self._messages[self.format(record)] = None

    def close(self) -> None:
        if self._messages and self._path.parent.is_dir():
            with suppress(OSError):
                self._path.write_text("\n".join(self._messages) + "\n", encoding="utf-8")
        super().close()
