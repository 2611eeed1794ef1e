"""One state shown in every panel: where one cannot show it, nothing older is left standing in it."""

from __future__ import annotations

from collections.abc import Sequence
from operator import attrgetter
from typing import Protocol

from app.session.shown import Shown


class Panel(Protocol):
    """A panel of the window."""

    def show_state(self, shown: Shown) -> None:
        """Show another state."""

    def isHidden(self) -> bool:  # noqa: N802
        """Return whether it was hidden."""

    def setVisible(self, visible: bool, /) -> None:  # noqa: N802
        """Show or hide it."""


class Showing:
    """Shows each state in all panels; one that fails is hidden until it can show a state again."""

    def __init__(self, panels: Sequence[Panel]) -> None:
        self._panels = tuple(panels)
        self._hidden: list[Panel] = []
        self._last: Shown | None = None  # what all panels show

    def show_state(self, shown: Shown) -> None:
        """Show a state in every panel; a step of a gesture that changed nothing stands in them already.

        Raises:
            Exception: what the first panel that failed raised, after all others have shown the state: an
                older "clear" stands in none.
        """
        last, self._last = self._last, None
        if last is not None and _is_same_step(last, shown):
            self._last = last
            return
        first: Exception | None = None
        for panel in self._panels:
            try:
                panel.show_state(shown)
            except Exception as error:  # handed on below, to where unexpected errors are told
                first = first or error
                if not panel.isHidden():
                    panel.setVisible(False)
                    self._hidden.append(panel)
            else:
                if panel in self._hidden:
                    self._hidden.remove(panel)
                    panel.setVisible(True)
        if first is not None:
            raise first
        self._last = shown


def _is_same_step(before: Shown, now: Shown) -> bool:
    """True for two steps of one gesture with the same values; outline and readings follow from these."""
    return before.dragging and now.dragging and _values(before) == _values(now)


_values = attrgetter("project", "wheel", "edited", "selected", "group", "zone", "compared", "saved")
