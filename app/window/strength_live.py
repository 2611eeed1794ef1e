"""Stress on the drawing while it is edited: the action that switches it on, and the choice of its load."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject
from PySide6.QtGui import QAction, QActionGroup
from PySide6.QtWidgets import QMenu, QWidget

from app.language import spoken, tr
from app.project.strength import CASES
from app.session.document import Document
from app.views.canvas.editor import Canvas

if TYPE_CHECKING:
    from app.session.stress import LiveStress, StressFollower

#: Load cases that have a stress which follows a drag: rotating bending, rolling and inflation.
FOLLOWED: tuple[str, ...] = tuple(c for c in CASES if "bending" in c or "rolling" in c or c == "inflation")


class LiveStressView(QObject):
    """Joins what follows the section's stress to the canvas.

    Attributes:
        follower: works the stress out; None until it is first switched on. case: the load that is chosen.
        loads: the actions of the loads by case name.
    """

    def __init__(self, window: QWidget, document: Document, canvas: Canvas) -> None:
        super().__init__(window)
        self._document, self._drawing = document, canvas.sheet.drawing
        self.follower: StressFollower | None = None
        self.case = FOLLOWED[0]
        self.loads: dict[str, QAction] = {}

    def add_loads(self, menu: QMenu, after: QAction) -> None:
        """Add the choice of the load to a menu, under the action that switches the stress on."""
        choice = QMenu(tr("Stress &under"), menu)
        group = QActionGroup(choice)
        for case in FOLLOWED:
            action = QAction(spoken(case), choice)
            action.setCheckable(True)
            action.setChecked(case == self.case)
            action.triggered.connect(partial(self._choose, case))
            group.addAction(action)
            choice.addAction(action)
            self.loads[case] = action
        actions = menu.actions()
        menu.insertMenu(actions[actions.index(after) + 1], choice)

    def set_on(self, on: bool) -> None:
        """Show or hide the stress."""
        if self.follower is None and on:
            from app.session.stress import StressFollower
            from app.views.canvas.stress_bands import drawn_step

            self.follower = StressFollower(self._document, self.case, drawn_step, self)
            self.follower.changed.connect(self._show)
        if self.follower is not None:
            self.follower.set_on(on)

    def end(self) -> None:
        """End what is under way; the window is going."""
        if self.follower is not None:
            self.follower.end()

    def _choose(self, case: str, _checked: bool = True) -> None:
        self.case = case
        if self.follower is not None:
            self.follower.set_case(case)

    def _show(self, live: LiveStress | None) -> None:
        self._drawing.set_stress(live)
