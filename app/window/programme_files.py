"""What is written out of the die programme's window: its tables, and the board paper."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtWidgets import QFileDialog, QWidget

from app.files.atomic import SaveError, save_bytes
from app.files.writers.table_book import sections_csv, sections_xlsx
from app.language import spoken, tr
from app.project.project import Project
from app.studies.roadmap.dossier import Dossier
from app.studies.roadmap.plan_tables import sheets
from app.window.questions import tell


def save_tables(parent: QWidget, folder: Path, project: Project, found: Dossier) -> None:
    """Ask for a file and write every table that is shown, as a workbook or as text."""
    kinds = tr("Workbooks (*.xlsx);;Tables, one under the other (*.csv)")
    name, chosen = QFileDialog.getSaveFileName(
        parent, tr("Save the tables"), str(folder / "die programme.xlsx"), kinds
    )
    if not name:
        return
    out = Path(name)
    as_text = out.suffix.lower() == ".csv" or (not out.suffix and "csv" in chosen)
    tables = [(s.key, [head.words for head in s.heads], s.rows) for s in sheets(project, found)]
    content = sections_csv(tables) if as_text else sections_xlsx(tables)
    _write(parent, out.with_suffix(".csv" if as_text else ".xlsx"), content)


def save_paper(parent: QWidget, folder: Path, project: Project, found: Dossier) -> None:
    """Ask for a file and write the board paper of what is shown."""
    from app.reports.board_paper import write_board_paper

    name, _ = QFileDialog.getSaveFileName(
        parent, tr("Save the board paper"), str(folder / "die programme.pdf"), tr("Pages (*.pdf)")
    )
    if name:
        _write(parent, Path(name).with_suffix(".pdf"), write_board_paper(project, found))


def _write(parent: QWidget, out: Path, content: bytes) -> None:
    try:
        save_bytes(out, content)
    except SaveError as error:
        tell(parent, tr("Not saved"), spoken(str(error)))
