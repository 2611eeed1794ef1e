"""The gesture of an edit that asks for places and values: choose, type, see it, then Enter or Escape.

What comes out is shown as a preview as soon as every place is chosen; only Enter makes it a step.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from PySide6.QtCore import QObject, QTimer, Signal

from app.language import spoken, tr
from app.project.project import Project
from app.session.asked import Asked, Chosen, Made, Pick, Tool
from app.session.document import Document
from app.session.edited import EditError
from app.session.shaping import TOOLS, made
from app.session.shown import Shown
from app.units import UnitsError
from app.views.canvas.overlays import Overlay
from app.views.canvas.tool_row import ToolRow

Place = tuple[float, float]
#: Finds what a click at a place of the drawing (hub's frame, mm) chooses, or None.
Find = Callable[[Place, Pick], Chosen | None]


class Shaping(QObject):
    """One tool under way, or none.

    Signals:
        began(), ended(): a tool asks; none does.
    """

    began = Signal()
    ended = Signal()

    def __init__(self, document: Document, row: ToolRow, overlay: Overlay, find: Find) -> None:
        super().__init__(row)
        self._document, self._row, self._overlay, self._find = document, row, overlay, find
        self._tool: Tool | None = None
        self._base: Project | None = None
        self._asked: Asked | None = None
        self._made: Made | None = None
        row.changed.connect(self._try)
        row.entered.connect(self._enter)
        row.finished.connect(self._finish)
        row.left.connect(self.cancel)

    @property
    def is_active(self) -> bool:
        """True while a tool is under way."""
        return self._tool is not None

    def start(self, name: str) -> None:
        """Begin a tool; one that was under way ends without a change."""
        self.cancel()
        document = self._document
        if document.edited is None:
            document.say(tr("There is nothing to edit yet."))
            return
        tool = TOOLS[name]
        asked = Asked(
            document.project,
            document.edited,
            document.wheel,
            group=document.group,
            zone=document.state.zone,
            saved=document.state.saved,
        )
        choices = tool.choices(asked)
        self._tool, self._base = tool, document.project
        self._asked = replace(asked, choice=choices[0] if choices else "")
        self._row.begin(tool, asked.unit, choices)
        self.began.emit()
        self._prompt()

    def wall(self) -> None:
        """Make a wall between two places."""
        self.start("wall")

    def offset(self) -> None:
        """Move a stretch of the skin by a distance."""
        self.start("offset")

    def relief(self) -> None:
        """Cut the skin back from a stay-out shape."""
        self.start("relief")

    def take_over(self) -> None:
        """Copy a stretch from another wheel of the same size."""
        self.start("take_over")

    def take_zone(self) -> None:
        """Copy a whole zone from another version, or from the last saved state."""
        self.start("take_zone")

    def legs(self) -> None:
        """Draw a chain by lengths and angles."""
        self.start("legs")

    def blend(self) -> None:
        """Blend two edges by a tangent arc."""
        self.start("blend")

    def arc_to(self) -> None:
        """Lead a tangent arc from an edge to a vertex."""
        self.start("arc_to")

    def edge(self) -> None:
        """Type the length and the angle of an edge."""
        self.start("edge")

    def lead(self) -> None:
        """Trim or extend an edge to another outline."""
        self.start("lead")

    def move(self) -> None:
        """Move and turn the chosen vertices by typed values."""
        self.start("move")

    def click(self, place: Place) -> None:
        """Take what was clicked as the next answer."""
        tool, asked = self._tool, self._asked
        if tool is None or asked is None or len(asked.chosen) >= len(tool.picks):
            return
        kind, words = tool.picks[len(asked.chosen)]
        found = self._find(place, kind)
        if found is None:
            self._row.say(tr("There is nothing of that kind here. {words}", words=words), refused=True)
            return
        self._asked = replace(asked, chosen=(*asked.chosen, found))
        self._overlay.chosen = (*self._overlay.chosen, place)
        self._overlay.update()
        self._prompt()

    def cancel(self) -> None:
        """End the tool without a change."""
        if self._tool is not None:
            self._end()
            self._document.cancel()

    def watch(self, shown: Shown) -> None:
        """End the tool when the project is another, as by undo, or what is shown or edited; else preview."""
        asked = self._asked
        if asked is None:
            return
        name = None if asked.wheel is None else asked.wheel.name
        shown_name = None if shown.wheel is None else shown.wheel.name
        is_other = (shown.edited, shown_name) != (asked.edited, name)
        if is_other or (not shown.dragging and shown.project is not self._base):
            self._end()
        elif not shown.dragging and self._made is not None:
            QTimer.singleShot(0, self._try)  # a vertex was selected, which ended the preview

    def _prompt(self) -> None:
        tool, asked = self._tool, self._asked
        assert tool is not None
        assert asked is not None
        if len(asked.chosen) < len(tool.picks):
            self._row.say(tool.picks[len(asked.chosen)][1])
            return
        self._row.set_values(tool.starts(asked))
        self._row.start()
        self._try()

    def _try(self) -> None:
        """Show what comes out of the answers so far."""
        tool, asked = self._tool, self._asked
        self._made = None
        if tool is None or asked is None or len(asked.chosen) < len(tool.picks):
            return
        try:
            asked = replace(
                asked,
                values=self._row.values(),
                swapped=self._row.swap.isChecked(),
                choice=self._row.choice.currentText(),
            )
            self._made = made(tool, asked)
        except (UnitsError, EditError) as refused:
            self._row.say(spoken(str(refused)), refused=True)
            self._document.cancel()
            return
        self._asked = asked
        self._row.say(
            f"{self._made.words} {tr('Enter adds the next; Done finishes.') if tool.repeats else ''}".strip()
        )
        self._document.preview(self._made.project)

    def _enter(self) -> None:
        tool, asked = self._tool, self._asked
        if tool is None or asked is None:
            return
        if not tool.repeats or self._made is None:
            self._finish()
            return
        if asked.values["length"] <= 0.0:
            self._finish()
            return
        self._asked = replace(asked, legs=(*asked.legs, (asked.values["length"], asked.values["angle"])))
        self._row.again("length", 0.0)
        self._row.start()
        self._try()

    def _finish(self) -> None:
        self._try()
        tool, found = self._tool, self._made
        if tool is None or found is None:
            return
        self._end()
        self._document.commit(found.project, tool.title, selected=None, words=found.words)

    def _end(self) -> None:
        self._tool = self._asked = self._base = self._made = None
        self._overlay.chosen = ()
        self._overlay.update()
        self.ended.emit()
