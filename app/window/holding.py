"""The actions of the menu Hold: each asks one constraint of the chosen vertices."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from app.language import spoken, tr
from app.project.edits import EditError
from app.project.numbering import constraint_words
from app.session import asking
from app.session.document import Document
from app.session.edited import EditError as LockedError
from app.views.readings_text import unit_of
from geometry.errors import GeometryError
from geometry.shape.held import Hold

if TYPE_CHECKING:
    from app.window.constraints_window import ConstraintsWindow


class Holding(QObject):
    """Asks constraints, and lists them.

    Attributes:
        listed: the window of constraints, None until asked for.
    """

    def __init__(self, window: QWidget, document: Document) -> None:
        super().__init__(window)
        self._window, self._document = window, document
        self.listed: ConstraintsWindow | None = None

    def ask(self, kind: Hold) -> None:
        """Hold one thing of the chosen vertices, as one step."""
        document = self._document
        edited = document.edited
        if edited is None:
            document.say(tr("Nothing is being edited."))
            return
        try:
            new = asking.asked(document.state, kind)
            project = asking.with_new(document.project, edited, new)
        except (EditError, LockedError, GeometryError) as refused:
            document.say(spoken(str(refused)))
            return
        last = document.selected
        group = sorted(document.group, key=lambda i: i == last)
        words = tr(
            "Held from now on: {constraint_words}.",
            constraint_words=constraint_words(new, unit_of(project)),
        )
        document.commit(project, tr("Hold {kind}", kind=kind), words=words)
        document.select_group(group)

    def radius(self) -> None:
        """Hold the radius of a corner or an arc."""
        self.ask(Hold.RADIUS)

    def tangent(self) -> None:
        """Hold an arc tangent to its neighbour."""
        self.ask(Hold.TANGENT)

    def horizontal(self) -> None:
        """Hold two vertices on a line along the axle."""
        self.ask(Hold.HORIZONTAL)

    def vertical(self) -> None:
        """Hold two vertices on a line square to the axle."""
        self.ask(Hold.VERTICAL)

    def angle(self) -> None:
        """Hold an angle."""
        self.ask(Hold.ANGLE)

    def distance(self) -> None:
        """Hold a distance."""
        self.ask(Hold.DISTANCE)

    def along_z(self) -> None:
        """Hold a distance along the axle."""
        self.ask(Hold.ALONG_Z)

    def along_r(self) -> None:
        """Hold a distance away from the axle."""
        self.ask(Hold.ALONG_R)

    def equal_wall(self) -> None:
        """Hold two walls equal."""
        self.ask(Hold.EQUAL_WALL)

    def clear(self) -> None:
        """Hold a vertex or an edge clear of the nearest shape."""
        self.ask(Hold.CLEAR)

    def show_list(self) -> None:
        """Show the constraints of what is edited."""
        from app.window.constraints_window import ConstraintsWindow

        if self.listed is None:
            self.listed = ConstraintsWindow(self._document, self._window)
        self.listed.show()
        self.listed.activateWindow()
