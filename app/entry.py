"""Where the program starts: one of its commands, the reader's child process, or the window."""

from __future__ import annotations

import gc
import sys
from collections.abc import Sequence

#: First arguments that never open a window; options such as --help and --version do not either.
COMMANDS = frozenset(
    {
        "blank",
        "check",
        "desktop",
        "export",
        "first-off",
        "limits",
        "match",
        "outline",
        "plan",
        "report",
        "roadmap",
        "run",
        "sheet",
        "stages",
        "strength",
        "wheel",
    }
)

#: Starts the child process that reads one foreign file; not meant to be typed.
READER = "--reader"

#: Starts the child process that makes machine code on the first start; not meant to be typed.
PREPARE = "--prepare"

#: Starts the process that makes half of it beside; not meant to be typed.
PREPARE_BESIDE = "--prepare-beside"

#: Starts the child process that draws the pictures of the manual; not meant to be typed.
PICTURES = "--pictures"

#: Opens the window in a language, whatever the settings and the system say; a command writes its pages in it.
LANGUAGE = "--language"


def main(argv: Sequence[str] | None = None) -> int:
    """Run what the arguments ask for and return the exit code.

    Each branch imports its own part only: the reader and the commands never load Qt.
    """
    arguments = list(sys.argv[1:] if argv is None else argv)
    first = arguments[0] if arguments else ""
    if first == READER:
        from app.files.readers import worker

        return worker.main(arguments[1:])
    if first == PREPARE:
        from app.cli.prepare import prepare

        prepare()
        return 0
    if first == PREPARE_BESIDE:
        from app.cli.prepare import prepare_beside

        prepare_beside()
        return 0
    if first == PICTURES:
        from app import language

        language.choose(arguments[3])
        from app.window import pictures

        return pictures.main(arguments[1:])
    asked = None
    if first == LANGUAGE:
        asked, arguments = "".join(arguments[1:2]), arguments[2:]
        first = arguments[0] if arguments else ""
    if first in COMMANDS or first.startswith("-"):
        from app.cli import command_line

        return command_line.main(arguments if asked is None else [first, LANGUAGE, asked, *arguments[1:]])
    if len(arguments) > 1:
        known = ", ".join(sorted(COMMANDS))
        says = f"'{first}' is no command ({known}); the window takes one project"
        print(f"blankwright: {says}", file=sys.stderr)
        return 2
    try:
        import PySide6.QtWidgets  # noqa: F401  # asked alone, so that no other fault is taken for its absence
    except ImportError as error:
        mend = "install the system libraries that README.md names, or use 'blankwright check PROJECT'"
        print(f"blankwright: the window cannot open: {error}; {mend}", file=sys.stderr)
        return 2
    if not _choose_language(asked):
        return 2
    # A search for garbage through what a start makes takes a seventh of it and finds next to nothing: the
    # window has them begin when it is there.
    gc.disable()
    try:
        from app.window import main as window

        return window.run(arguments)
    finally:
        gc.enable()


def _choose_language(asked: str | None) -> bool:
    """Put the window's language in force before its modules are imported, which hold tables of words."""
    from app import language
    from app.window.settings import Settings

    try:
        language.choose(asked if asked is not None else Settings().language)
    except ValueError as error:
        print(f"blankwright: {error}", file=sys.stderr)
        return False
    return True


if __name__ == "__main__":
    if getattr(sys, "frozen", False):  # in a bundle, children that compute are started through this file
        from multiprocessing import freeze_support

        freeze_support()
    sys.exit(main())
