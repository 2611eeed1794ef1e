"""The commands, without a window: `blankwright check PROJECT` and the others.

Bad input gives one line on standard error that says what, where and how to mend it, and exit code 2.
"""

from app.cli.command_line import main

__all__ = ["main"]
