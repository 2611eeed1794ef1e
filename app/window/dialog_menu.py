"""Opens the dialogs of the project's parts; each loads on first use."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QDialog, QWidget

from app.session.document import Document
from app.session.edited import Edited, Kind


class Dialogs(QObject):
    """One method for each dialog; every one is window-modal and blocks no event loop."""

    def __init__(self, window: QWidget, document: Document) -> None:
        super().__init__(window)
        self._window = window
        self._document = document

    def wish(self, what: str, kind: str, name: str) -> None:
        """Open what a panel wishes for: a new part of a kind, or the properties of one that is there."""
        if what == "new":
            self.new(kind)
        else:
            self.properties(kind, name)

    def new(self, kind: str) -> QDialog:
        """Make a wheel, blank, shape, rule set, material or fitment."""
        from app.window.dialogs import new_blank, new_shape, new_wheel, properties

        made = {"wheel": new_wheel.show, "blank": new_blank.show, "shape": new_shape.show}
        if kind in made:
            return made[kind](self._window, self._document)
        return properties.show(self._window, self._document, kind, "")

    def properties(self, kind: str, name: str) -> None:
        """Edit what a part is made of; a blank's outline is edited on the drawing too."""
        from app.window.dialogs import properties

        if kind == "blank":
            self._document.edit(Edited(Kind.BLANK, name))
        properties.show(self._window, self._document, kind, name)

    def new_wheel(self) -> None:
        """Make a wheel."""
        self.new("wheel")

    def new_blank(self) -> None:
        """Make a blank."""
        self.new("blank")

    def new_shape(self) -> None:
        """Make a stay-out shape."""
        self.new("shape")

    def new_rules(self) -> None:
        """Make a rule set."""
        self.new("rules")

    def new_material(self) -> None:
        """Make a material."""
        self.new("material")

    def new_fitment(self) -> None:
        """Make a fitment."""
        self.new("fitment")

    def change_size(self) -> None:
        """Change width, diameter or inset of the shown wheel."""
        from app.window.dialogs import size

        if self._shown_wheel() is not None:
            size.show(self._window, self._document)

    def details(self) -> None:
        """Edit what the shown wheel is made of."""
        name = self._shown_wheel()
        if name is not None:
            self.properties("wheel", name)

    def import_outline(self, path: Path) -> None:
        """Read a foreign drawing and ask what it becomes."""
        from app.window.dialogs import import_outline

        import_outline.show(self._window, self._document, path)

    def _shown_wheel(self) -> str | None:
        if self._document.wheel_name is None:
            self._document.say("No wheel: make one with Project, New wheel.")
        return self._document.wheel_name
