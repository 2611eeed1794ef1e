"""`blankwright desktop`: the program in the menu of a Linux desktop, and its files opened by it."""

from __future__ import annotations

import argparse
import sys
from typing import Any

from app.files import desktop
from app.files.atomic import SaveError


def add_parser(parser: Any, epilog: str) -> None:
    """Add the command's arguments to the commands."""
    command: argparse.ArgumentParser = parser.add_parser(
        "desktop",
        help="add the program to the desktop's menu, with type and icon of its files (Linux)",
        description="Write an entry for the desktop's menu, the type of .blankwright files and their icons "
        "into your own data folder, so that a double click on a project opens it. Needs no rights of an "
        "administrator; other users are not touched.",
        epilog=epilog,
    )
    command.add_argument("--remove", action="store_true", help="take all of it away again")
    command.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Add or remove the entry; return 0, or 2 where that failed."""
    if not sys.platform.startswith("linux"):
        print(
            "blankwright: desktop entries are of Linux; make a shortcut to the program by hand",
            file=sys.stderr,
        )
        return 2
    try:
        if args.remove:
            removed = desktop.remove()
            print("\n".join(f"removed {path}" for path in removed) or "nothing was there to be removed")
        else:
            print("\n".join(f"wrote {path}" for path in desktop.add(desktop.started_by())))
    except (OSError, SaveError) as error:
        mend = f"make {desktop.data_folder()} writable, or set XDG_DATA_HOME to a folder that is"
        print(f"blankwright: {error}; {mend}", file=sys.stderr)
        return 2
    return 0
