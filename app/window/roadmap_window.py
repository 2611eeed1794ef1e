"""The window of the roadmap: its fitments as a table, beside the drawing."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtGui import QCloseEvent, QGuiApplication, QKeySequence, QShortcut
from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QFileDialog,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QSplitter,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from app.files.atomic import SaveError
from app.files.readers.answer import ReadError
from app.files.readers.roadmap_file import (
    ROADMAP_SUFFIXES,
    Cells,
    as_text,
    guarded,
    pasted,
    read_cells,
    table_of,
)
from app.files.writers.roadmap import write_roadmap
from app.language import spoken, tr
from app.project import edits
from app.project.edits import EditError
from app.project.project import Fitment, Project
from app.project.roadmap_columns import BY_KEY, COLUMNS, GROUPS, cell_text
from app.project.roadmap_heads import TITLE_ROWS, has_heads
from app.project.roadmap_rows import Problem, ReadTable, read_rows, read_table, taken
from app.session.document import Document
from app.session.jobs import Jobs
from app.session.shown import Shown
from app.views.roadmap_model import meant
from app.views.roadmap_table import RoadmapTable
from app.views.theme import Theme
from app.window.dialogs.form import quiet_label
from app.window.questions import tell
from app.window.roadmap_review import Review

_JOB = "roadmap table"
_EMPTY = tr(
    "No fitment yet.\n\nPaste rows from a spreadsheet (Ctrl+V), import a CSV or XLSX table, or add a row.\n"
    "Export writes the row of heads to be filled."
)
_HINT = tr(
    "Type into a cell, or paste a block from a spreadsheet over cells; double-click a row for its page. "
    "Lengths in mm, '1.5 in' is read too; an empty cell is not known."
)


class RoadmapWindow(QDialog):
    """Shows and edits the fitments of the document; takes tables in and writes them out."""

    def __init__(self, document: Document, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(tr("Roadmap"))
        self._document, self._theme = document, theme
        self.jobs = Jobs(self)
        self.table = RoadmapTable(theme, document.commit)
        self.review = Review(theme)
        self.words, self.group, self.note = QLineEdit(), QComboBox(), QLabel()
        self.add, self.twice, self.delete = (
            QPushButton(tr("&Add row")),
            QPushButton(tr("D&uplicate")),
            QPushButton(tr("&Delete")),
        )
        self.take_in, self.write = QPushButton(tr("&Import...")), QPushButton(tr("&Export..."))
        self.pages, self.empty = QStackedWidget(), quiet_label(_EMPTY)
        self._lay_out()
        self._connect()
        self._colour()
        self._show(document.state)
        self.resize(1180, 620)
        (self.table if document.project.fitments else self.add).setFocus()

    def _lay_out(self) -> None:
        self.words.setPlaceholderText(tr("words in any cell"))
        self.words.setClearButtonEnabled(True)
        self.words.setAccessibleName(tr("Show rows with these words"))
        self.words.setMinimumWidth(200)
        self.group.setAccessibleName(tr("Show these columns"))
        self.group.addItem(tr("all columns"), "")
        for group in GROUPS:
            self.group.addItem(spoken(group), group)
        self.delete.setToolTip(tr("Delete the selected rows"))
        self.twice.setToolTip(tr("Copy the selected rows, each behind itself"))
        self.note.setWordWrap(True)
        self.note.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.note.setMinimumHeight(2 * self.note.fontMetrics().lineSpacing() + 2)
        self.note.setAlignment(Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignLeft)
        top = QHBoxLayout()
        for widget in (QLabel(tr("Show")), self.words, self.group):
            top.addWidget(widget)
        top.addStretch(1)
        for button in (self.add, self.twice, self.delete, self.take_in, self.write):
            button.setAutoDefault(False)
            top.addWidget(button)
        self.empty.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.pages.addWidget(self.table)
        self.pages.addWidget(self.empty)
        parts = QSplitter(Qt.Orientation.Vertical)
        parts.setChildrenCollapsible(False)
        parts.addWidget(self.pages)
        parts.addWidget(self.review)
        for k, stretch in enumerate((3, 2)):
            parts.setStretchFactor(k, stretch)
        column = QVBoxLayout(self)
        column.addLayout(top)
        column.addWidget(parts, 1)
        column.addWidget(self.note)

    def _connect(self) -> None:
        self.words.textChanged.connect(self.table.filter.let_through)
        self.group.currentIndexChanged.connect(lambda _k: self.table.show_group(self.group.currentData()))
        self.add.clicked.connect(self._add)
        self.twice.clicked.connect(self._duplicate)
        self.delete.clicked.connect(self._delete)
        self.take_in.clicked.connect(self._choose_import)
        self.write.clicked.connect(self._choose_export)
        self.table.fitment_wanted.connect(self._open)
        self.table.current_changed.connect(self._say)
        self.table.rows.dataChanged.connect(lambda *_: self._say())
        self.review.wanted.connect(self._take)
        self._document.shown.connect(self._show)
        self._document.path_changed.connect(self._maybe_another)
        self._theme.changed.connect(self._colour)
        keys: tuple[tuple[str, Callable[[], Any]], ...] = (
            ("Ctrl+V", self.paste),
            ("Ctrl+C", self.copy),
            ("Ctrl+Z", self._document.undo),
            ("Ctrl+Shift+Z", self._document.redo),
        )
        for key, call in keys:
            QShortcut(QKeySequence(key), self).activated.connect(call)

    def _colour(self) -> None:
        self._say()

    # Showing

    def _show(self, shown: Shown) -> None:
        project = shown.project
        before = self.table.rows.project
        if _inputs(project) == _inputs(before) and project.fitments is before.fitments:
            return
        at = self.table.currentIndex()
        self.table.rows.show(project)
        if not self.table.currentIndex().isValid() and at.isValid():
            self.table.setCurrentIndex(
                self.table.filter.index(min(at.row(), len(project.fitments) - 1), at.column())
            )
        self.pages.setCurrentWidget(self.table if project.fitments else self.empty)
        for widget in (self.twice, self.delete, self.words, self.group):
            widget.setEnabled(bool(project.fitments))
        self.review.read_again(project)
        self._say()

    def _maybe_another(self, _path: object) -> None:
        """Drop what was typed wrong, and a table that waits, where another document starts."""
        if self._document.undo_stack.count() == 0:
            self.table.rows.wrong.clear()
            if self.review.is_waiting:
                self.review.none.click()

    def _say(self) -> None:
        """Say what is wrong in the current cell, else in its row, else what the row leaves open."""
        index = self.table.filter.mapToSource(self.table.currentIndex())
        rows = self.table.rows
        text, is_wrong = _HINT, False
        if index.isValid() and index.row() < len(rows.fitments):
            name = rows.fitments[index.row()].name
            wrong = rows.wrong.get((name, COLUMNS[index.column()].key))
            is_wrong = wrong is not None or bool(rows.what_is_wrong(index.row()))
            text = wrong.message if wrong else rows.row_words(index.row()) or _HINT
        elif rows.wrong:
            text, is_wrong = next(iter(rows.wrong.values())).message, True
        self.note.setText(f"▸ {text}" if is_wrong else text)
        colours = self._theme.colours
        self.note.setStyleSheet(f"color: {colours.short if is_wrong else colours.quiet}")

    def _open(self, name: str) -> None:
        from app.window.dialogs.fitment import FitmentDialog

        dialog = FitmentDialog(self._document.project, name, self)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.applied.connect(self._document.commit)
        dialog.open()

    # Rows

    def _add(self) -> None:
        project = self._document.project
        name = edits.free_name(project, edits.FITMENT, "Fitment")
        self.words.clear()
        self._document.commit(
            edits.add(project, edits.FITMENT, Fitment(name)), tr("New fitment {name}", name=name)
        )
        self.table.go_to(name)
        self.table.setFocus()
        self.table.edit(self.table.currentIndex())

    def _duplicate(self) -> None:
        project, made = self._document.project, ""
        names = self.table.selected_names()
        for name in names:
            project, made = edits.duplicated(project, edits.FITMENT, name)
        if made:
            self._document.commit(project, tr("Duplicate {rows}", rows=_rows(names)))
            self.table.go_to(made)

    def _delete(self) -> None:
        project, names = self._document.project, self.table.selected_names()
        for name in names:
            project = edits.deleted(project, edits.FITMENT, name)
        if names:
            self._document.commit(project, tr("Delete {rows}", rows=_rows(names)))

    # Clipboard

    def copy(self) -> None:
        """Put the selected cells on the clipboard, with tabs; whole rows with their heads."""
        cells = self.table.selected_cells()
        fitments, columns = self.table.rows.fitments, sorted({k for row in cells.values() for k in row})
        if self.review.list.hasFocus():
            self.review.copy.click()
            return
        if not cells:
            return
        lines = [
            [_text(fitments[row], k) if k in chosen else "" for k in columns] for row, chosen in cells.items()
        ]
        if columns == self.table.shown_columns():
            lines.insert(0, [COLUMNS[k].head for k in columns])
        self._clipboard().setText(as_text(lines, "\t"))

    def paste(self) -> None:
        """Put one text into the selected cells, or show a block with its problems to be taken or not."""
        text = self._clipboard().text()
        if not text.strip():
            self._document.say(tr("There is no text on the clipboard."))
            return
        try:
            grid = pasted(text)
        except ReadError as error:
            tell(self, tr("Not pasted"), tr("The clipboard: {error}.", error=error))
            return
        if any(map(has_heads, grid[:TITLE_ROWS])):
            self.review.ask(tr("Pasted table"), partial(read_table, grid), self._document.project)
        elif len(grid) == 1 == len(grid[0]) and self.table.currentIndex().isValid():
            self.table.write(grid[0][0].strip())
        else:
            self._paste_block(grid)

    def _paste_block(self, grid: list[list[str]]) -> None:
        current = self.table.currentIndex()
        columns = [k for k in self.table.shown_columns() if k >= max(current.column(), 0)]
        names = self.table.shown_names()[max(current.row(), 0) :]
        where = tr("from {head}", head=spoken(COLUMNS[columns[0]].head)) + (
            tr(" of {names}", names=names[0]) if names else ""
        )
        read = partial(_block, grid, [COLUMNS[k].key for k in columns], names)
        self.review.ask(tr("Pasted cells, {where}", where=where), read, self._document.project)

    @staticmethod
    def _clipboard() -> Any:
        return QGuiApplication.clipboard()

    # Files

    def _choose_import(self) -> None:
        kinds = " ".join(f"*{suffix}" for suffix in ROADMAP_SUFFIXES)
        name, _ = QFileDialog.getOpenFileName(
            self, tr("Import a table"), str(self._folder()), tr("Tables ({kinds})", kinds=kinds)
        )
        if name:
            self.import_file(Path(name))

    def import_file(self, path: Path) -> None:
        """Read a table beside the window, and show it with its problems to be taken or not."""
        self.note.setText(tr("reading {name}", name=path.name))
        self.jobs.start(_JOB, partial(read_cells, path), partial(self._came, path), self._failed)

    def _came(self, path: Path, cells: Cells) -> None:
        self._say()
        self.review.ask(tr("Table {name}", name=path.name), partial(table_of, cells), self._document.project)

    def _failed(self, error: Exception) -> None:
        self._say()
        tell(self, tr("Not imported"), spoken(str(error)))

    def _choose_export(self) -> None:
        name, _ = QFileDialog.getSaveFileName(
            self, tr("Export the roadmap"), str(self._folder() / "roadmap.xlsx"), tr("Tables (*.xlsx *.csv)")
        )
        if name:
            try:
                write_roadmap(Path(name), self._document.project.fitments)
            except SaveError as error:
                tell(self, tr("Not exported"), spoken(str(error)))

    def _folder(self) -> Path:
        return self._document.path.parent if self._document.path is not None else Path.home()

    # Taking

    def _take(self, table: ReadTable) -> None:
        rows = table.sound
        try:
            project = taken(self._document.project, table)
        except EditError as error:
            tell(self, tr("Not taken"), spoken(str(error)))
            return
        self.words.clear()
        self._document.commit(
            project,
            tr("{rows} rows of the roadmap", rows=len(rows)) if len(rows) > 1 else tr("Row of the roadmap"),
        )
        self.table.go_to(rows[0].name)
        self.table.setFocus()

    def closeEvent(self, event: QCloseEvent) -> None:
        """Close; a table that waits is refused."""
        if self.review.is_waiting:
            self.review.none.click()
        super().closeEvent(event)

    def reject(self) -> None:
        """Close with Escape; a table that waits is refused first."""
        if self.review.is_waiting:
            self.review.none.click()
        else:
            if self.jobs.is_busy:
                self.jobs.drop(_JOB)
                self._say()
            super().reject()


def _inputs(project: Project) -> tuple[object, ...]:
    """Return what the table hangs on besides the fitments."""
    return (
        tuple(w.name for w in project.wheels),
        tuple(s.name for s in project.shapes),
        tuple(r.name for r in project.rule_sets),
        tuple(w.size for w in project.wheels),
        project.programme.first_year,
    )


def _rows(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else tr("{names} rows", names=len(names))


def _text(fitment: Fitment, column: int) -> str:
    cell = COLUMNS[column].cell(fitment)
    return guarded(cell) if isinstance(cell, str) else cell_text(cell)


def _block(grid: list[list[str]], keys: list[str], names: list[str], project: Project) -> ReadTable:
    """Return the rows of a pasted block: over the fitments of these names, then new ones."""
    known = {f.name: f for f in project.fitments}
    given: list[tuple[int, dict[str, str], Fitment | None]] = []
    problems: list[Problem] = []
    for k, row in enumerate(grid):
        base = known.get(names[k]) if k < len(names) else None
        if base is None and not any(cell.strip() for cell in row):
            continue
        if any(cell.strip() for cell in row[len(keys) :]):
            head = spoken(BY_KEY[keys[0]].head)
            words = tr(
                "has {row} cells, but from {head} on there are {keys} columns; paste further left",
                row=len(row),
                head=head,
                keys=len(keys),
            )
            problems.append(Problem(k + 1, "", words))
        typed = {key: meant(BY_KEY[key], cell) for key, cell in zip(keys, row, strict=False)}
        given.append((k + 1, typed, base))
    return ReadTable(tuple(read_rows(given, project)), tuple(problems))
