"""The rotating log in the user's folder; a folder that is full or not to be written to stops nothing."""

from __future__ import annotations

import contextlib
import logging
from logging.handlers import RotatingFileHandler
from pathlib import Path

from app.files.system import homeless, log_folder

#: Of one file; it and the one before are kept.
MOST_BYTES = 500_000

#: A message is cut here.
MOST_SIGNS = 20_000

FILE = "blankwright.log"

log = logging.getLogger("blankwright")
log.propagate = False  # a console is seen by nobody who started the window from a menu


class _Quiet(RotatingFileHandler):
    """Writes what can be written, and opens its file with the first message."""

    def __init__(self, folder: Path) -> None:
        super().__init__(folder / FILE, maxBytes=MOST_BYTES, backupCount=1, encoding="utf-8", delay=True)
        self.setFormatter(logging.Formatter("%(asctime)s %(process)d %(levelname)s %(message)s"))
        self._folder = folder

    def emit(self, record: logging.LogRecord) -> None:
        try:
            if self.stream is None:
                self._folder.mkdir(parents=True, exist_ok=True)
        except OSError:
            return
        super().emit(record)

    def format(self, record: logging.LogRecord) -> str:
        return homeless(super().format(record))[:MOST_SIGNS]

    def handleError(self, record: logging.LogRecord) -> None:  # noqa: N802 - logging's own name
        """Go on: there is nowhere to write that it cannot be written."""


def begin(folder: Path | None = None) -> logging.Handler:
    """Have messages written to the log in a folder, or the user's own; return what writes them."""
    handler = _Quiet(folder or log_folder())
    log.addHandler(handler)
    log.setLevel(logging.INFO)
    return handler


def end(handler: logging.Handler) -> None:
    """Close what `begin` returned."""
    log.removeHandler(handler)
    with contextlib.suppress(OSError):  # what a full disk did not take is tried again
        handler.close()
