"""Which dialog belongs to which part of the project; each loads on first use and blocks no event loop."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt
from PySide6.QtWidgets import QFileDialog, QWidget

from app.language import tr
from app.project import edits
from app.project.project import Project
from app.session.dimensions_wheel import said_locked
from app.session.document import Document
from app.session.edited import Edited, Kind, names
from app.window.dialogs.form import ProjectDialog
from app.window.settings import Settings

if TYPE_CHECKING:
    from app.window.dialogs.import_queue import ImportQueue


class Dialogs(QObject):
    """Opens dialogs and commits what they make. Parts go by the project's list they are in."""

    def __init__(self, window: QWidget, document: Document, settings: Settings) -> None:
        super().__init__(window)
        self._window, self._settings = window, settings
        self._document = document
        self._imports: ImportQueue | None = None

    def new(self, field: str) -> None:
        """Make a new part in one of the project's lists."""
        {
            "wheels": self.new_wheel,
            "blanks": self.new_blank,
            "shapes": self.new_shape,
            "rule_sets": self.new_rules,
            "conditions": self.new_conditions,
            "materials": self.new_material,
            "fitments": self.new_fitment,
            "trial_fits": self.new_trial_fit,
            "test_records": self.new_test_record,
        }[field]()

    def edit(self, field: str, name: str) -> None:
        """Edit a part that is there; the outline of a blank or shape is edited on the drawing."""
        project, window = self._document.project, self._window
        if field == "blanks":
            from app.window.dialogs.blank_details import BlankDialog

            self._open(BlankDialog(project, name, window))
        elif field == "wheels":
            from app.window.dialogs.wheel_details import WheelDetailsDialog

            self._open(WheelDetailsDialog(project, name, window))
        elif field == "shapes":
            from app.window.dialogs.source_card import SourceCardDialog

            self._open(SourceCardDialog(project, name, window))
        elif field == "rule_sets":
            self._rules(name)
        elif field == "conditions":
            self._conditions(name)
        elif field == "materials":
            self._material(name)
        elif field == "fitments":
            self._fitment(name)
        elif field == "trial_fits":
            self._trial_fit(name)
        elif field == "test_records":
            self._test_record(name)

    def edit_card(self, shape: str) -> None:
        """Edit the source card of a shape."""
        self.edit("shapes", shape)

    def rename(self, field: str, name: str) -> None:
        """Ask for another name of a part."""
        from app.window.dialogs.rename import RenameDialog

        kind = next(k for k in edits.KINDS if k.field == field)
        self._open(RenameDialog(self._document.project, kind, name, self._window))

    def new_version(self) -> None:
        """Make a new version of the shown wheel."""
        name = self._shown_wheel()
        if name is not None:
            self.new_version_of(name)

    def new_version_of(self, name: str) -> None:
        """Make a new version of a wheel."""
        from app.window.dialogs.new_version import NewVersionDialog

        self._open(NewVersionDialog(self._document.project, name, self._window))

    def new_rules(self) -> None:
        """Make a rule set."""
        self._rules(None)

    def new_conditions(self) -> None:
        """Make a set of conditions."""
        self._conditions(None)

    def new_material(self) -> None:
        """Make a material."""
        self._material(None)

    def new_fitment(self) -> None:
        """Make a fitment."""
        self._fitment(None)

    def new_trial_fit(self) -> None:
        """Record what a trial fit measured."""
        self._trial_fit(None)

    def new_test_record(self) -> None:
        """Record a physical test that was made."""
        self._test_record(None)

    def shop_rates(self) -> None:
        """Edit what cutting and metal cost."""
        from app.window.dialogs.shop_rates import ShopRatesDialog

        self._open(ShopRatesDialog(self._document.project, self._window))

    def strength(self) -> None:
        """Edit what the screening for strength rests on."""
        from app.window.dialogs.strength_settings import StrengthDialog

        self._open(StrengthDialog(self._document.project, self._document.wheel_name, self._window))

    def programme(self) -> None:
        """Edit years, money and limits of the die programme."""
        from app.window.dialogs.programme_settings import ProgrammeDialog

        self._open(ProgrammeDialog(self._document.project, self._settings, self._window))

    def _rules(self, name: str | None) -> None:
        from app.window.dialogs.rules import RuleSetDialog

        self._open(RuleSetDialog(self._document.project, name, parent=self._window))

    def _conditions(self, name: str | None) -> None:
        from app.window.dialogs.conditions import ConditionsDialog

        self._open(ConditionsDialog(self._document.project, name, self._window))

    def _material(self, name: str | None) -> None:
        from app.window.dialogs.materials import MaterialDialog

        self._open(MaterialDialog(self._document.project, name, self._window))

    def _fitment(self, name: str | None) -> None:
        from app.window.dialogs.fitment import FitmentDialog

        self._open(FitmentDialog(self._document.project, name, self._window))

    def _trial_fit(self, name: str | None) -> None:
        from app.window.dialogs.trial_fit import TrialFitDialog

        project, wheel = self._document.project, self._document.wheel_name
        self._open(TrialFitDialog(project, name, self._window, wheel=wheel))

    def _test_record(self, name: str | None) -> None:
        from app.window.dialogs.strength_test import TestRecordDialog

        project, wheel = self._document.project, self._document.wheel_name
        self._open(TestRecordDialog(project, name, wheel, self._window))

    def new_wheel(self) -> None:
        """Make a wheel."""
        from app.window.dialogs.new_wheel import NewWheelDialog

        self._open(NewWheelDialog(self._document.project, self._window))

    def new_blank(self) -> None:
        """Make a blank."""
        from app.window.dialogs.new_blank import NewBlankDialog

        self._open(NewBlankDialog(self._document.project, self._window))

    def new_shape(self) -> None:
        """Make a stay-out shape."""
        from app.window.dialogs.new_shape import NewShapeDialog

        self._open(NewShapeDialog(self._document.project, self._window))

    def brake_sheet(self) -> None:
        """Make a stay-out shape of the numbers of a sheet, a mail or a call."""
        from app.window.dialogs.brake_sheet import BrakeSheetDialog

        self._open(BrakeSheetDialog(self._document.project, self._document.wheel_name, self._window))

    def trace_picture(self) -> None:
        """Ask for a picture and trace a stay-out shape over it."""
        from app.files.readers.read_picture import PICTURE_SUFFIXES

        kinds = " ".join(f"*{suffix}" for suffix in PICTURE_SUFFIXES)
        folder = self._document.path.parent if self._document.path is not None else Path.home()
        name, _ = QFileDialog.getOpenFileName(
            self._window,
            tr("Trace a picture"),
            str(folder),
            tr("Pictures ({kinds});;All files (*)", kinds=kinds),
        )
        if name:
            self.trace(Path(name))

    def trace(self, path: Path) -> None:
        """Trace a stay-out shape over a picture."""
        from app.window.dialogs.trace_picture import TraceDialog

        self._open(TraceDialog(self._document.project, path, self._document.wheel_name, self._window))

    def brake_variant(self) -> None:
        """Make another disc, side or end of a brake that is there."""
        from app.window.dialogs.brake_variant import BrakeVariantDialog

        project, edited = self._document.project, self._document.edited
        if not project.shapes:
            self._document.say(
                tr("No stay-out shape: import one, or make one with Project, New stay-out shape.")
            )
            return
        name = edited.name if edited is not None and edited.kind is Kind.SHAPE else None
        self._open(BrakeVariantDialog(project, name, self._window))

    def new_like(self) -> None:
        """Make a wheel of the shown wheel's design in another size."""
        from app.window.dialogs.family import FamilyDialog

        name = self._shown_wheel()
        if name is not None:
            self._open(FamilyDialog(self._document.project, name, self._window))

    def change_size(self) -> None:
        """Change width, diameter or inset of the shown wheel."""
        from app.window.dialogs.change_size import ChangeSizeDialog

        name, wheel = self._shown_wheel(), self._document.wheel
        if wheel is not None and wheel.locked:
            self._document.say(said_locked(wheel.name))
        elif name is not None:
            self._open(ChangeSizeDialog(self._document.project, name, self._window))

    def details(self) -> None:
        """Edit what the shown wheel is made of."""
        name = self._shown_wheel()
        if name is not None:
            self.edit("wheels", name)

    def import_outlines(self, paths: Sequence[Path]) -> None:
        """Read foreign files, one after the other, and ask of each what it becomes; a picture is traced."""
        from app.files.readers.read_picture import PICTURE_SUFFIXES

        if len(paths) == 1 and paths[0].suffix.lower() in PICTURE_SUFFIXES:
            self.trace(paths[0])
            return
        if self._imports is None:
            from app.window.dialogs.import_queue import ImportQueue

            self._imports = ImportQueue(self._window, self._document, self._open)
        self._imports.bring(paths)

    def _shown_wheel(self) -> str | None:
        if self._document.wheel_name is None:
            self._document.say(tr("No wheel: make one with Project, New wheel."))
        return self._document.wheel_name

    def _open(self, dialog: ProjectDialog) -> None:
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.applied.connect(self._commit)
        dialog.open()

    def _commit(self, project: Project, text: str) -> None:
        """Commit what a dialog made, and show what is new."""
        before = self._document.project
        self._document.commit(project, text)
        for kind in Kind:
            new = [name for name in names(project, kind) if name not in names(before, kind)]
            if len(names(project, kind)) > len(names(before, kind)) and new:
                self._document.edit(Edited(kind, new[0]))
