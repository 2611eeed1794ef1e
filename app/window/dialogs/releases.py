"""The releases of a project, and a released sheet printed again."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QAbstractItemView,
    QDialog,
    QDialogButtonBox,
    QHeaderView,
    QLabel,
    QPushButton,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.language import spoken, tr
from app.project.project import Project
from app.project.release import Release, troubles
from app.reports.releases import FIRST, standing
from app.views.readings_text import minus
from app.window.dialogs.form import quiet_label

_HEADS = (
    tr("Wheel"),
    tr("Rev."),
    tr("Date"),
    tr("Drawn by"),
    tr("Checked by"),
    tr("Paper"),
    tr("What changed"),
    tr("Record"),
)


class ReleasesDialog(QDialog):
    """Lists releases, those of the shown wheel first and the newest on top; one can be saved again.

    Signals:
        wanted(Release): its sheet is to be written to a file.
    """

    wanted = Signal(object)

    def __init__(self, project: Project, wheel: str | None, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(tr("Released sheets"))
        self.project = project
        newest = list(reversed(project.releases))
        self.rows = [r for r in newest if r.wheel == wheel] + [r for r in newest if r.wheel != wheel]
        column = QVBoxLayout(self)
        column.setContentsMargins(12, 12, 12, 12)
        shown = next((w for w in project.wheels if w.name == wheel), None)
        said = "" if shown is None else f"{shown.name}: {spoken(standing(project, shown).words)}."
        self.words = QLabel(minus(said))
        self.words.setWordWrap(True)
        column.addWidget(self.words)
        self.table = self._table()
        column.addWidget(self.table, 1)
        wrong = troubles(project.releases)
        column.addWidget(
            quiet_label(
                "\n".join(wrong) or tr("A sheet is saved byte for byte as it was released. Print at 100 %.")
            )
        )
        self.buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        self.save = QPushButton(tr("&Save the PDF again..."))
        self.buttons.addButton(self.save, QDialogButtonBox.ButtonRole.ActionRole)
        self.buttons.rejected.connect(self.reject)
        self.save.clicked.connect(self._want)
        self.table.itemSelectionChanged.connect(self._allow)
        column.addWidget(self.buttons)
        if self.rows:
            self.table.selectRow(0)
        self._allow()
        self.resize(860, 380)

    def _table(self) -> QTableWidget:
        table = QTableWidget(len(self.rows), len(_HEADS))
        table.setHorizontalHeaderLabels(list(_HEADS))
        table.verticalHeader().hide()
        table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        table.setTabKeyNavigation(False)
        for i, r in enumerate(self.rows):
            record = tr("damaged") if self._is_damaged(r) else tr("whole")
            change = spoken(r.change) if r.change == FIRST else r.change
            cells = (r.wheel, r.revision, r.on, r.drawn_by, r.checked_by, r.paper, change, record)
            for k, words in enumerate(cells):
                item = QTableWidgetItem(words)
                item.setToolTip(words)
                item.setFlags(item.flags() & ~Qt.ItemFlag.ItemIsEditable)
                table.setItem(i, k, item)
        header = table.horizontalHeader()
        header.setHighlightSections(False)
        header.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(_HEADS.index(tr("What changed")), QHeaderView.ResizeMode.Stretch)
        return table

    def _is_damaged(self, record: Release) -> bool:
        own = [r for r in self.project.releases if (r.wheel, r.revision) == (record.wheel, record.revision)]
        return bool(troubles(own))

    @property
    def chosen(self) -> Release | None:
        """The release whose row is selected."""
        rows = {index.row() for index in self.table.selectedIndexes()}
        return self.rows[rows.pop()] if len(rows) == 1 else None

    def _allow(self) -> None:
        chosen = self.chosen
        self.save.setEnabled(chosen is not None and not self._is_damaged(chosen))

    def _want(self) -> None:
        if self.chosen is not None:
            self.wanted.emit(self.chosen)
