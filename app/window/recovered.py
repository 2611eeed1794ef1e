"""Work that a process left behind when it ended without saving: shown, gone on with, or discarded."""

from __future__ import annotations

import time
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QHBoxLayout, QLabel, QListWidget, QPushButton, QVBoxLayout, QWidget

from app.files.journal import Left, State, discard, pending
from app.files.on_disk import has_changed
from app.language import tr
from app.window.questions import tell


def name_of(state: State) -> str:
    """Return what a document is called: its file, or its project if it was never saved."""
    return state.origin.name if state.origin is not None else state.project.name


def headline(state: State) -> str:
    """Return which document, when it was changed last, and when it was saved."""
    saved = (
        tr("saved {changed_ns}", changed_ns=clock(state.file.changed_ns / 1000000000.0, state.at))
        if state.file
        else tr("never saved")
    )
    return tr("{name_of}: changed {at}, {saved}", name_of=name_of(state), at=clock(state.at), saved=saved)


def details(left: Left) -> str:
    """Return what was done last, where the file lies and how it stands now."""
    state = left.state
    assert state is not None
    steps = tr("1 change") if state.edits == 1 else tr("{edits} changes", edits=state.edits)
    words = [tr("{steps} not saved, the last one: {words}.", steps=steps, words=state.words)]
    if state.changes:
        words.append(tr("An older version kept it; what that means is listed once it is open."))
    if left.trouble:
        words.append(tr("Of this journal {trouble}; the state before it is offered.", trouble=left.trouble))
    if state.origin is None:
        words.append(tr("It opens as a project that was never saved."))
    elif not state.origin.exists():
        words.append(tr("Its file is not there any more: {origin}.", origin=state.origin))
    else:
        words.append(tr("The file stays as it is until you save: {origin}.", origin=state.origin))
        if state.file is not None and has_changed(state.origin, state.file):
            words.append(tr("Another program changed it since; saving asks before it replaces that."))
    return "\n".join(words)


def clock(at: float, near: float | None = None) -> str:
    """Return a time of day with its date; without the date if it is that of `near`."""
    day = time.strftime("%Y-%m-%d", time.localtime(at))
    same = near is not None and day == time.strftime("%Y-%m-%d", time.localtime(near))
    return time.strftime("%H:%M" if same else "%Y-%m-%d %H:%M", time.localtime(at))


#: Damaged journals that are told one by one.
_TOLD = 5


class RecoveredDialog(QDialog):
    """The states that can be gone on with, newest first.

    Attributes:
        chosen: the one to go on with, once the dialog is accepted.
    """

    def __init__(self, found: list[Left], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(tr("Unsaved work found"))
        self.chosen: Left | None = None
        self._found = list(found)
        intro = QLabel(tr("The program ended before this was saved. It was kept; no file was changed by it."))
        self.list = QListWidget()
        self.list.setAccessibleName(tr("Unsaved work"))
        self.list.addItems([headline(left.state) for left in found if left.state is not None])
        self.details = QLabel()
        self.details.setTextFormat(Qt.TextFormat.PlainText)
        self.details.setWordWrap(True)
        self.details.setMinimumHeight(self.fontMetrics().lineSpacing() * 5)
        self.details.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.go_on = QPushButton(tr("&Go on with it"))
        self.discard = QPushButton(tr("&Discard it"))
        self.later = QPushButton(tr("Ask again &later"))
        self.go_on.setDefault(True)
        self.discard.setAutoDefault(False)
        row = QHBoxLayout()
        row.addWidget(self.discard)
        row.addStretch(1)
        row.addWidget(self.later)
        row.addWidget(self.go_on)
        column = QVBoxLayout(self)
        for widget in (intro, self.list, self.details):
            column.addWidget(widget)
        column.addLayout(row)
        self.resize(620, 340)
        self.list.currentRowChanged.connect(self._show_details)
        self.list.itemActivated.connect(self._go_on)
        self.go_on.clicked.connect(self._go_on)
        self.discard.clicked.connect(self._discard)
        self.later.clicked.connect(self.reject)
        self.list.setCurrentRow(0)
        self.list.setFocus()

    def _show_details(self, row: int) -> None:
        if 0 <= row < len(self._found):
            self.details.setText(details(self._found[row]))

    def _go_on(self) -> None:
        self.chosen = self._found[self.list.currentRow()]
        self.accept()

    def _discard(self) -> None:
        row = self.list.currentRow()
        discard(self._found.pop(row))
        self.list.takeItem(row)
        self._show_details(self.list.currentRow())
        if not self._found:
            self.reject()


def choose(parent: QWidget, journals: Path) -> tuple[Left | None, bool]:
    """Show what was left behind; return what to go on with, and whether there was anything."""
    found = pending(journals)
    for left in found:
        if left.is_newer:
            words = tr("A newer version kept unsaved work, which stays for it to offer.")
            tell(parent, tr("Unsaved work of a newer version"), f"{words} {left.trouble}")
    damaged = [left.trouble for left in found if left.state is None and not left.is_newer]
    if damaged:
        told = [
            tr("A journal of unsaved work is damaged: {trouble}.", trouble=trouble)
            for trouble in damaged[:_TOLD]
        ]
        more = [f"\N{HORIZONTAL ELLIPSIS} + {len(damaged) - _TOLD}"] if len(damaged) > _TOLD else []
        tell(parent, tr("Unsaved work is damaged"), "\n\n".join([*told, *more]))
    readable = [left for left in found if left.state is not None]
    if not readable:
        return None, bool(found)
    dialog = RecoveredDialog(readable, parent)
    dialog.exec()
    chosen = dialog.chosen
    dialog.deleteLater()
    return chosen, True
