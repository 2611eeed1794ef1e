"""Saving the quotes of a blank as a table or a workbook."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtWidgets import QFileDialog, QWidget

from app.files.atomic import SaveError
from app.files.writers.quotes import SUFFIXES, write_quotes
from app.language import ntr, tr
from geometry.shape.blank import Quote


def save_quotes(parent: QWidget, blank: str, quotes: Sequence[Quote], currency: str) -> str:
    """Ask for a file and write the quotes to it; return what is to be said, empty where none was named."""
    if not quotes:
        return tr("There is no quote to save: add one above.")
    plain = "".join(c if c.isalnum() or c in " -_" else "_" for c in blank)
    name, chosen = QFileDialog.getSaveFileName(
        parent,
        tr("Save the quotes"),
        str(Path.home() / f"{plain} quotes.xlsx"),
        tr("Workbook (*.xlsx);;Table (*.csv)"),
    )
    if not name:
        return ""
    out = Path(name)
    if out.suffix.lower() not in SUFFIXES:
        out = out.with_name(out.name + (".csv" if "csv" in chosen else ".xlsx"))
    try:
        write_quotes(out, [(blank, quotes)], currency)
    except SaveError as error:
        return tr("Not saved: {error}", error=error)
    return ntr(
        "{count} quote written to {name}, as the table above has it.",
        "{count} quotes written to {name}, as the table above has them.",
        len(quotes),
        name=out.name,
    )
