"""`blankwright run SCRIPT.py`: a script with `app.api`, its arguments, and one line where it fails."""

from __future__ import annotations

import argparse
import runpy
import sys
import traceback
from pathlib import Path
from typing import Any

from app.cli.prepare import prepare_once

#: Exit code of a script that ended by an error that it did not catch.
FAILED = 3
#: Exit code of a script that was broken off, as shells have it: 128 and the signal's number.
BROKEN_OFF = 130


def add_parser(parser: Any, epilog: str) -> None:
    """Add the command's arguments to the commands."""
    run_: argparse.ArgumentParser = parser.add_parser(
        "run",
        help="run a Python script with the module app.api: open, edit, measure, save",
        description="Run a Python script. It imports app.api, finds its own arguments in sys.argv and its "
        "input on standard input, and may do what any program of yours may: run only scripts that you "
        f"trust. The exit code is the script's own; {FAILED} where an error ended it (one line says in "
        "which line), 2 where it cannot be read.",
        epilog=epilog,
    )
    run_.add_argument("--traceback", action="store_true", help="show where an error came from, in full")
    run_.add_argument("script", type=Path, metavar="SCRIPT.py")
    run_.add_argument("arguments", nargs=argparse.REMAINDER, metavar="...", help="for the script")
    run_.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Run the script and return its exit code."""
    script: Path = args.script
    try:
        script.read_bytes()
    except OSError as error:
        print(f"blankwright: {script}: cannot be read: {error.strerror or error}", file=sys.stderr)
        return 2
    prepare_once()
    before = sys.argv, sys.path[:]
    sys.argv = [str(script), *args.arguments]
    sys.path.insert(0, str(script.resolve().parent))
    try:
        runpy.run_path(str(script), run_name="__main__")
    except SystemExit as asked:
        return _code(asked)
    except KeyboardInterrupt:
        return BROKEN_OFF
    except BrokenPipeError:
        raise
    except Exception as error:
        if args.traceback:
            traceback.print_exc()
        print(f"blankwright: {_line(script, error)}", file=sys.stderr)
        return FAILED
    finally:
        sys.argv, sys.path[:] = before
    return 0


def _code(asked: SystemExit) -> int:
    """Return what sys.exit was called with, as Python itself does."""
    if asked.code is None:
        return 0
    if isinstance(asked.code, int):
        return asked.code
    print(asked.code, file=sys.stderr)
    return 1


def _line(script: Path, error: Exception) -> str:
    """Return file, line and words of an error: the last line of the script, or of a module beside it."""
    said = " ".join(str(error).split()) or "no words"
    kind = type(error).__name__
    if isinstance(error, SyntaxError) and error.filename is not None:
        return f"{error.filename}, line {error.lineno}: {kind}: {error.msg}"
    folder = script.resolve().parent
    frames = traceback.extract_tb(error.__traceback__)
    own = [f for f in frames if Path(f.filename).resolve().parent == folder and f.lineno is not None]
    if not own:
        return f"{script}: {kind}: {said}"
    where = script if Path(own[-1].filename).resolve() == script.resolve() else Path(own[-1].filename)
    return f"{where}, line {own[-1].lineno}: {kind}: {said}"
