"""Section sheets in the window: drafts, releases, and how the shown wheel stands to its latest release."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt, QTimer
from PySide6.QtWidgets import QDialog, QLabel, QWidget

from app.language import spoken, tr
from app.project.release import Release, of_wheel, troubles
from app.project.wheel import Wheel
from app.session.document import Document
from app.session.shown import Shown
from app.views.readings_text import minus
from app.window.questions import tell

if TYPE_CHECKING:
    from app.window.files import Files

#: More of what changed stands in the label's tip.
_MOST_LETTERS = 64


class Sheets(QObject):
    """The actions of section sheets, and the words for the status line.

    Attributes:
        label: says whether the shown wheel is as it was released; empty for one that never was.
    """

    def __init__(self, window: QWidget, document: Document, files: Files) -> None:
        super().__init__(window)
        self._window, self._document, self._files = window, document, files
        self.label = QLabel()
        self._checked: tuple[Release, ...] = ()
        document.shown.connect(self._show)
        document.path_changed.connect(self._check)

    # Actions

    def section_sheet(self) -> None:
        """Ask for the paper and a name, and write a draft."""
        from app.window.dialogs.section_sheet import SectionSheetDialog

        wheel, project = self._wheel(), self._document.project
        if wheel is None:
            return
        dialog = SectionSheetDialog(project, wheel, self._window)

        def go_on() -> None:
            paper = dialog.paper.read()

            def write(path: Path) -> str:
                from app.files.atomic import save_bytes
                from app.reports.releases import draft

                pdf, reasons = draft(project, wheel, paper)
                save_bytes(path, pdf)
                return tr(
                    " It is stamped 'not released'. {reasons}", reasons=reasons[0] if reasons else ""
                ).rstrip()

            self._files.write_paper(tr("Section sheet"), f"{wheel.name} section sheet draft", write)

        self._ask(dialog, go_on)

    def release(self) -> None:
        """Ask for two people and release the shown wheel's sheet."""
        from app.reports.releases import HeldBackError, release
        from app.window.dialogs.section_sheet import ReleaseDialog

        wheel, project = self._wheel(), self._document.project
        if wheel is None:
            return
        dialog = ReleaseDialog(project, wheel, self._window)

        def go_on() -> None:
            try:
                record = release(project, wheel, dialog.facts(), dialog.paper.read())
            except HeldBackError as error:
                tell(self._window, tr("Not released"), "\n".join(error.reasons))
                return
            self._document.release(record)
            self._checked = self._document.project.releases
            self._document.say(
                tr(
                    "Released {words}. Save the project to keep it; File, Released sheets writes its PDF.",
                    words=record.words,
                )
            )

        self._ask(dialog, go_on)

    def releases(self) -> None:
        """List what was released, and write a sheet again."""
        from app.window.dialogs.releases import ReleasesDialog

        project = self._document.project
        if not project.releases:
            self._document.say(tr("Nothing was released yet: use File, Release section sheet."))
            return
        dialog = ReleasesDialog(project, self._document.wheel_name, self._window)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.wanted.connect(self._reprint)
        dialog.open()

    def settings(self) -> None:
        """Edit tolerances and notes of the project's sheets."""
        from app.window.dialogs.sheet_settings import SheetSettingsDialog

        dialog = SheetSettingsDialog(self._document.project, self._window)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.applied.connect(self._document.commit)
        dialog.open()

    def _reprint(self, record: Release) -> None:
        project = self._document.project

        def write(path: Path) -> str:
            from app.files.atomic import save_bytes
            from app.reports.releases import reprint

            save_bytes(path, reprint(project, record))
            return tr(" It is {words}, as released on {on}.", words=record.words, on=record.on)

        self._files.write_paper(tr("Released sheet"), f"{record.wheel} revision {record.revision}", write)

    def _ask(self, dialog: QDialog, go_on: Callable[[], None]) -> None:
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.accepted.connect(go_on)
        dialog.open()

    def _wheel(self) -> Wheel | None:
        if self._document.wheel is None:
            self._document.say(tr("There is no wheel to draw a section sheet of."))
        return self._document.wheel

    # What is said

    def _show(self, shown: Shown) -> None:
        """Say how the shown wheel stands to its latest release; a gesture under way is no edit yet."""
        if shown.dragging:
            return
        words = ""
        if shown.wheel is not None and of_wheel(shown.project.releases, shown.wheel.name):
            from app.reports.releases import standing

            words = minus(spoken(standing(shown.project, shown.wheel).words))
        short = words if len(words) <= _MOST_LETTERS else f"{words[: _MOST_LETTERS - 1]}…"
        self.label.setText(short)
        self.label.setToolTip(words)

    def _check(self, _path: Path | None) -> None:
        """Warn once of records that are not what was released; the project is open by then."""
        releases = self._document.project.releases
        if releases is self._checked:
            return
        self._checked = releases
        if troubles(releases):
            QTimer.singleShot(0, self._warn)

    def _warn(self) -> None:
        wrong = troubles(self._document.project.releases)
        if wrong:
            tell(self._window, tr("Damaged releases"), "\n\n".join(wrong))
