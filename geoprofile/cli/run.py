"""Run one command line: errors become messages and exit codes, signals become a clean cancel."""

from __future__ import annotations

import json
import os
import sys


def run_command_line(arguments: list[str]) -> int:
    """Exit code of the command: 0 done, 2 usage, else that of the error (see errors.py)."""
    import typer
    from typer.main import get_command

    from ..errors import Cancelled, GeoprofileError
    from .app import app

    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")  # a Windows code page must not stop a run (C7)
    wants_json = "--json" in arguments
    try:
        result = get_command(app).main(arguments, prog_name="geoprofile", standalone_mode=False)
        return result if isinstance(result, int) else 0
    except GeoprofileError as error:
        return _report(error, wants_json)
    except typer.Exit as leave:
        return leave.exit_code
    except (typer.Abort, KeyboardInterrupt):
        return _report(Cancelled("stopped as asked; nothing half-written is left"), wants_json)
    except BrokenPipeError:
        sys.stderr.close()  # the reader of our output left; there is nobody to tell
        return 0
    except Exception as error:
        if hasattr(error, "format_message"):
            return _report(_usage(error), wants_json)
        if os.environ.get("GEOPROFILE_TRACEBACK"):
            raise
        return _report(
            GeoprofileError(
                "something went wrong inside geoprofile",
                found=f"{type(error).__name__}: {error}",
                remedy="this is our fault: run again with GEOPROFILE_TRACEBACK=1 and send what it prints",
            ),
            wants_json,
        )


def _usage(error):
    from ..errors import SettingsError

    context = getattr(error, "ctx", None)
    command = context.command_path if context is not None else "geoprofile"
    return SettingsError(error.format_message(), where=command, remedy=f"see: {command} --help")


def _report(error, wants_json: bool) -> int:
    if wants_json:
        print(json.dumps({"ok": False, "exit_code": error.exit_code, **error.as_dict()}, indent=2))
    sys.stderr.write(f"{error}\n")
    return error.exit_code
