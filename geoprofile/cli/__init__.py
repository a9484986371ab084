"""The command line turns options into a call of a public function, and its product into lines."""

from __future__ import annotations

import sys


def main() -> None:
    """Entry point of the ``geoprofile`` command; exit codes are those of errors.py."""
    from .run import run_command_line

    sys.exit(run_command_line(sys.argv[1:]))
