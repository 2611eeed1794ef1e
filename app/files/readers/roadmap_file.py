"""A roadmap table out of a file or off the clipboard: cut into texts, row by row.

Text is UTF-8 (or UTF-16 with its mark), its columns parted by tabs, semicolons or commas, whichever makes
the most heads; a cell with that sign, a line break or a quotation mark in front stands in quotes. A workbook
is read in the child process.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

import msgspec

from app.files.readers.answer import CancelledError, ReadError, one_line, plain
from app.files.readers.limits import ROADMAP_BYTES, WORKBOOK
from app.files.readers.read import ask_child, error_said
from app.files.readers.worker import CELLS
from app.project.cells import FORMULA_SIGNS
from app.project.project import Project
from app.project.roadmap_heads import TITLE_ROWS, find_head, has_heads
from app.project.roadmap_rows import ReadTable, read_table

#: The suffixes of files with a table.
ROADMAP_SUFFIXES = (".csv", ".xlsx", ".tsv", ".txt")

_SEPARATORS = ("\t", ";", ",")


class Cells(msgspec.Struct, forbid_unknown_fields=True):
    """Cells as texts, row by row from the first of the sheet, and what is to be said of them."""

    rows: list[list[str]]
    said: list[str]


def read_roadmap(path: Path, project: Project, cancelled: Callable[[], bool] | None = None) -> ReadTable:
    """Return the rows of a table in a file, against a project.

    Raises:
        ReadError: as `read_cells`.
        CancelledError: `cancelled` returned True.
    """
    return table_of(read_cells(path, cancelled), project)


def table_of(cells: Cells, project: Project) -> ReadTable:
    """Return the rows of a table, read against a project."""
    table = read_table(cells.rows, project)
    return replace(table, said=(*cells.said, *table.said))


def read_cells(path: Path, cancelled: Callable[[], bool] | None = None) -> Cells:
    """Return the cells of a table in a file.

    Args:
        path: a file of one of ROADMAP_SUFFIXES; of a workbook, the first sheet that holds anything.
        cancelled: asked about 20 times a second while a workbook is read; True ends the read.

    Raises:
        ReadError: the file cannot be read as a table; what is wrong in its cells is no error but a problem.
        CancelledError: `cancelled` returned True.
    """
    name = plain(path.name)
    try:
        return _cells(path, cancelled)
    except OSError as error:
        raise ReadError(f"{name}: cannot be opened: {error.strerror or error}; check the path") from error
    except CancelledError:
        raise
    except ReadError as error:
        raise ReadError(one_line(f"{name}: {error}")) from None


def _cells(path: Path, cancelled: Callable[[], bool] | None) -> Cells:
    suffix = path.suffix.lower()
    if suffix not in ROADMAP_SUFFIXES:
        raise ReadError(f"a roadmap table is a file of the kind {', '.join(ROADMAP_SUFFIXES)}")
    if not path.exists():
        raise ReadError("there is no such file; check the path")
    most = WORKBOOK.size_bytes if suffix == ".xlsx" else ROADMAP_BYTES
    if path.stat().st_size > most:
        raise ReadError(f"the file is larger than {most // 1_000_000} MB; save the table alone")
    if suffix != ".xlsx":
        return Cells(grid_of(decoded(path.read_bytes())), [])
    with path.open("rb") as file:
        out, code = ask_child([CELLS], file, WORKBOOK.seconds, cancelled)
    if code == 0:
        try:
            return msgspec.json.decode(out, type=Cells)
        except msgspec.MsgspecError:
            pass
    raise ReadError(error_said(out, code, "save the sheet as CSV"))


def decoded(data: bytes) -> str:
    """Return the text of a file.

    Raises:
        ReadError: it is neither UTF-8 nor UTF-16 with its mark.
    """
    if b"\0" in data and not data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise ReadError("it is no text; save the table as CSV in UTF-8, or as .xlsx")
    try:
        return data.decode("utf-16" if data.startswith((b"\xff\xfe", b"\xfe\xff")) else "utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise ReadError(f"line {line} is not UTF-8; save the table as CSV in UTF-8, or as .xlsx") from None


def grid_of(text: str) -> list[list[str]]:
    """Return the cells of a table of text.

    Raises:
        ReadError: a quotation mark opens a cell and none closes it.
    """
    text = _plain_breaks(text)
    top = text.split("\n", 2 * TITLE_ROWS)[: 2 * TITLE_ROWS]
    found = max(_SEPARATORS, key=lambda separator: _score(top, separator))
    return split(text, found)


def _plain_breaks(text: str) -> str:
    return text.replace("\r\n", "\n").replace("\r", "\n")


def _score(top: Sequence[str], separator: str) -> tuple[int, int]:
    """Return how many heads and how many cells a separator makes of one of the first lines, at most."""
    most = (0, 0)
    for line in top:
        try:
            cells = split(line, separator)[0]
        except ReadError:  # a cell in quotes over several lines
            continue
        most = max(most, (sum(find_head(cell) is not None for cell in cells), len(cells)))
    return most


def pasted(text: str) -> list[list[str]]:
    """Return the cells of a text off the clipboard: with tabs, unless its first row holds heads.

    Raises:
        ReadError: as `grid_of`.
    """
    grid = grid_of(text)
    return (
        grid
        if any(map(has_heads, grid[:TITLE_ROWS]))
        else split(text.replace("\r\n", "\n").replace("\r", "\n"), "\t")
    )


def split(text: str, separator: str) -> list[list[str]]:
    """Return rows of cells; line breaks are plain, and every sign is looked at twice at most.

    Raises:
        ReadError: a quotation mark opens a cell and none closes it.
    """
    rows: list[list[str]] = [[]]
    place, size = 0, len(text)
    line_end = text.find("\n")
    while True:
        if line_end < place:
            line_end = text.find("\n", place)
            line_end = size if line_end < 0 else line_end
        if text.startswith('"', place):
            cell, end = _quoted(text, place, separator, len(rows))
        else:
            end = text.find(separator, place, line_end)
            end = line_end if end < 0 else end
            cell = text[place:end]
        rows[-1].append(_bare(cell))
        if end >= size:
            break
        place = end + 1
        if text[end] == "\n":
            if place >= size:
                break
            rows.append([])
    return rows


def _quoted(text: str, place: int, separator: str, row: int) -> tuple[str, int]:
    """Return a cell that opens with a quotation mark, and where it ends.

    Quotes that do not go round the whole cell are part of it, as spreadsheets put it on the clipboard.
    """
    at = place + 1
    while True:
        at = text.find('"', at)
        if at < 0:
            shown = plain(text[place : place + 20].strip())
            raise ReadError(
                f"row {row}: a quotation mark opens at {shown!r} and never closes; close or delete it"
            )
        if text.startswith('"', at + 1):
            at += 2
            continue
        end = at + 1
        if end >= len(text) or text[end] in (separator, "\n"):
            return text[place + 1 : at].replace('""', '"'), end
        ends = [k for k in (text.find(separator, end), text.find("\n", end)) if k >= 0]
        end = min(ends, default=len(text))
        return text[place:end], end


def _bare(cell: str) -> str:
    """Return a cell without the mark that keeps a text from being taken for a formula."""
    return cell[1:] if cell.startswith("'") and _is_formula(cell[1:]) else cell


def _is_formula(text: str) -> bool:
    return text.lstrip("' \t\n\r").startswith(FORMULA_SIGNS)


def guarded(text: str) -> str:
    """Return a text that no spreadsheet takes for a formula; reading it gives the text back."""
    return f"'{text}" if _is_formula(text) else text


def as_text(rows: Sequence[Sequence[str]], separator: str) -> str:
    """Return rows of cells as text, in quotes where that is needed."""
    odd = (separator, '"', "\n", "\r")

    def cell(text: str) -> str:
        doubled = text.replace('"', '""')
        return f'"{doubled}"' if any(sign in text for sign in odd) else text

    return "".join(separator.join(map(cell, row)) + "\n" for row in rows)
