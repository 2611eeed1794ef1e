"""Another name for a part; its users follow."""

from __future__ import annotations

from typing import Any

from PySide6.QtWidgets import QWidget

from app.language import tr
from app.project import edits
from app.project.edits import Kind
from app.project.project import Project
from app.window.dialogs.form import ProjectDialog
from app.window.dialogs.typed_fields import TextField


class RenameDialog(ProjectDialog):
    """Asks for the new name of one part."""

    def __init__(self, project: Project, kind: Kind[Any], name: str, parent: QWidget | None = None) -> None:
        super().__init__(tr("Rename {word}", word=kind.word), project, parent)
        self.kind, self.old = kind, name
        self.name = self.page(tr("Name")).add(tr("Name"), TextField(name, required=True))
        self.name.line.selectAll()
        self.resize(420, 140)

    def made(self) -> tuple[Project, str]:
        """Return the project with the part renamed."""
        new = self.name.read()
        return edits.renamed(self.project, self.kind, self.old, new), tr(
            "Rename {old} to {new}", old=self.old, new=new
        )
