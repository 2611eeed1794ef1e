"""What a blank is beside its outline: where it comes from, how far it has come, its skin."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtWidgets import QWidget

from app.project import edits
from app.project.project import Project
from app.window.dialogs.form import ProjectDialog
from app.window.dialogs.typed_fields import ChoiceField, NumberField, TextField, length
from geometry.shape.blank import BlankState, Supply


class BlankDialog(ProjectDialog):
    """Edits the details of one blank; its outline is edited on the drawing."""

    def __init__(self, project: Project, name: str, parent: QWidget | None = None) -> None:
        super().__init__(f"Blank: {name}", project, parent)
        self.blank = edits.find(project, edits.BLANK, name)
        form = self.page("Blank")
        self.name = form.add("Name", TextField(name, required=True))
        self.supply = form.add("Supply", ChoiceField([(str(s), s) for s in Supply], self.blank.supply))
        self.state = form.add("State", ChoiceField([(str(s), s) for s in BlankState], self.blank.state))
        self.skin = form.add(
            "Skin to come off",
            NumberField(length(project.display_unit), self.blank.skin_mm, least=0.0),
            "Depth of as-forged skin that must come off everywhere; it is taken off the stock.",
        )
        self.source = form.add("Source", TextField(self.blank.source, hint="whose drawing, which revision"))
        self.resize(480, 280)

    def made(self) -> tuple[Project, str]:
        """Return the project with the blank's details changed."""
        blank = replace(
            self.blank,
            name=self.name.read(),
            supply=self.supply.read(),
            state=self.state.read(),
            skin_mm=self.skin.number(),
            source=self.source.read(),
        )
        return edits.replaced(self.project, edits.BLANK, self.blank.name, blank), f"Blank {blank.name}"
