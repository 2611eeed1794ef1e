"""Quotes of blanks as a table or a workbook, by the file's suffix."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields
from pathlib import Path

from app.files.atomic import save_bytes
from app.files.writers.table import Cell, table_bytes
from app.files.writers.table_book import sections_xlsx
from geometry.shape.blank import Quote

SUFFIXES = (".csv", ".xlsx")
_HEADS = ("blank", *(field.name for field in fields(Quote)), "currency")


def write_quotes(target: Path, quoted: Sequence[tuple[str, Sequence[Quote]]], currency: str) -> None:
    """Write a row for each quote: money as numbers, a cell empty where a forge said nothing.

    Args:
        target: a file that ends in .xlsx, else a table separated by commas.
        quoted: names of blanks with their quotes.
        currency: of all money, empty where the project does not state it.

    Raises:
        SaveError: it cannot be written; what was there is as it was.
    """
    rows: list[list[Cell]] = [
        [name, *(getattr(q, field.name) for field in fields(Quote)), currency or "not stated"]
        for name, quotes in quoted
        for q in quotes
    ]
    is_book = target.suffix.lower() == ".xlsx"
    save_bytes(target, sections_xlsx([("Quotes", _HEADS, rows)]) if is_book else table_bytes(_HEADS, rows))
