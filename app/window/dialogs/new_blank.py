"""A new blank from five numbers, with a live picture."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from app.language import spoken, tr
from app.project import edits
from app.project.new_items import new_blank
from app.project.project import Project
from app.window.dialogs.form import ProjectDialog, quiet_label
from app.window.dialogs.outline_preview import OutlinePreview
from app.window.dialogs.typed_fields import NumberField, TextField, length
from geometry.shape.blank import Blank
from geometry.shape.curve import Path
from geometry.shape.outline import outline_path


class NewBlankDialog(ProjectDialog):
    """Makes a ring with a solid disc; draft and radii are drawn on from there."""

    def __init__(self, project: Project, parent: QWidget | None = None) -> None:
        super().__init__(tr("New blank"), project, parent)
        kind = length(project.display_unit)
        self.preview = OutlinePreview()
        self.preview.setAccessibleName(tr("Picture of the new blank's half-section"))
        self.column.insertWidget(0, self.preview)
        self.outcome = quiet_label()
        self.column.insertWidget(1, self.outcome)
        form = self.page(tr("Blank"))
        self.name = form.add(
            tr("Name"), TextField(edits.free_name(project, edits.BLANK, "Blank"), required=True)
        )
        self.outside = form.add(tr("Outside diameter"), NumberField(kind, 504.0, above=0.0))
        self.height_field = form.add(tr("Height of the ring"), NumberField(kind, 285.0, above=0.0))
        self.bore = form.add(tr("Inside diameter of the ring"), NumberField(kind, 436.0, above=0.0))
        self.disc = form.add(tr("Thickness of the disc"), NumberField(kind, 48.0, above=0.0))
        self.position = form.add(
            tr("Inboard end of the ring to the disc"),
            NumberField(kind, 181.0, least=0.0),
            tr("To the disc's inboard face, which is the blank's own zero."),
        )
        for field in self.fields():
            field.edited.connect(self._follow)
        self._follow()
        self.resize(520, 560)

    def blank(self) -> Blank:
        """Return the blank as the fields have it.

        Raises:
            ValueError: a field cannot be read, or disc and ring do not go together.
        """
        return new_blank(
            self.name.read(),
            self.outside.number(),
            self.height_field.number(),
            self.bore.number(),
            self.disc.number(),
            self.position.number(),
        )

    def _follow(self) -> None:
        try:
            blank = self.blank()
        except ValueError as error:
            self.preview.show_loops(())
            self.outcome.setText(spoken(str(error)))
            return
        path = outline_path(blank.corners)
        self.preview.show_loops([path.rows()] if isinstance(path, Path) else [])
        self.outcome.setText(spoken(blank.source))

    def made(self) -> tuple[Project, str]:
        """Return the project with the blank added."""
        blank = self.blank()
        return edits.add(self.project, edits.BLANK, blank), tr("New blank {name}", name=blank.name)
