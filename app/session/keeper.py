"""Writing a journal beside the window: no frame waits for the disk. No Qt here.

The thread takes the newest state alone; what was superseded before it came to be written is in the newer one.
It lives while there is something to write or to force to the disk, and ends by itself about a second later.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable

from app.files.journal import Journal, JournalError, State

#: What is written is forced to the disk this often at most.
SYNC_S = 1.0


class Keeper:
    """Keeps the newest state of a document in its journal.

    Attributes:
        told: called in the thread, with why the last state is not kept, or with nothing when it is again.
    """

    def __init__(self, journal: Journal, told: Callable[[str], None]) -> None:
        self.told = told
        self._journal = journal
        self._changed = threading.Condition()
        self._thread: threading.Thread | None = None
        self._forget = False
        self._state: State | None = None
        self._busy = False
        self._trouble = ""

    def keep(self, state: State) -> None:
        """Have a state written; returns at once."""
        with self._changed:
            self._state = state
            self._wake()

    def forget(self) -> None:
        """Have the journal removed, with what was kept before this call; returns at once."""
        with self._changed:
            self._state, self._forget = None, True
            self._wake()

    def flush(self, seconds: float = 5.0) -> bool:
        """Wait until everything asked for is written; False if it was not within that time, or failed."""
        with self._changed:
            done = self._changed.wait_for(lambda: not self._wanted() and not self._busy, seconds)
            return done and not self._trouble

    def _wake(self) -> None:
        if self._thread is None:
            self._thread = threading.Thread(target=self._run, name="journal", daemon=True)
            self._thread.start()
        self._changed.notify_all()

    def _wanted(self) -> bool:
        return self._forget or self._state is not None

    def _run(self) -> None:
        synced, is_loose = time.monotonic(), False
        while True:
            with self._changed:
                self._busy = False
                self._changed.notify_all()
                left = synced + SYNC_S - time.monotonic() if is_loose else 0.0
                if not self._wanted() and left > 0.0:
                    self._changed.wait_for(self._wanted, left)
                if not self._wanted() and not is_loose:
                    self._thread = None
                    return
                forget, state = self._forget, self._state
                self._forget, self._state = False, None
                self._busy = True
            try:
                if forget:
                    self._journal.clear()
                    is_loose = False
                if state is not None:
                    self._journal.append(state)
                    synced, is_loose = (synced if is_loose else time.monotonic()), True
                if is_loose and time.monotonic() - synced >= SYNC_S:
                    is_loose = False
                    self._journal.sync()
                self._tell("")
            except JournalError as error:
                self._tell(str(error))
            except Exception as error:  # the work goes on, and the next state is tried again
                self._tell(f"{type(error).__name__}: {error}")

    def _tell(self, trouble: str) -> None:
        before, self._trouble = self._trouble, trouble
        if bool(trouble) != bool(before):
            self.told(trouble)
