"""What the strength window writes: its tables as one file, or the report's pages."""

from __future__ import annotations

from pathlib import Path

from app.files.atomic import save_bytes
from app.files.writers.table import Cell as TableCell
from app.files.writers.table_book import Sheet, sections_csv, sections_xlsx
from app.project.caution import CAUTION
from app.project.project import Project
from app.reports.numbers import Numbers, unit_of
from app.reports.outputs import strength_pdf
from app.reports.strength_family import evidence_lines, plan_table
from app.reports.strength_notes import all_notes, facts
from app.reports.strength_shown import Shown, gain_table
from app.reports.strength_tables import tables
from app.reports.strength_words import SIGNS_SAID, cells, place
from app.reports.tables import Table
from app.studies.strength.run import Screening

_HEADS = (
    *("Wheel", "Case", "Zone", "Verdict", "Use", "von Mises, MPa", "On the mesh half as fine, MPa"),
    *("Converged", "z, mm", "r, mm", "Greatest of the cycle, MPa", "Stress ratio"),
    *("Mean life, cycles", "95 % reach, cycles", "Note"),
)


def sheets(project: Project, shown: Shown) -> list[Sheet]:
    """Return everything that the window shows, as tables; places in the hub's frame."""
    numbers = Numbers(unit_of(project))
    screenings = [s for s in (shown.found, shown.against) if s is not None]
    said: list[list[TableCell]] = [["caution", CAUTION], ["signs", SIGNS_SAID]]
    said += [[label.lower(), words] for label, words in facts(shown.found, shown.settings, numbers)]
    said += [["note", words] for words in all_notes(shown.found)]
    said += [["test made", words] for words in evidence_lines(shown.evidence)]
    out: list[Sheet] = [
        ("Read first", ("What", "Words"), said),
        ("Case x zone", _HEADS, [row for s in screenings for row in _rows(s)]),
    ]
    more = [*tables(shown.found, shown.against, shown.figures, numbers), plan_table(shown.evidence)]
    if shown.case is not None:
        more.append(gain_table(shown))
    return [*out, *map(_sheet, more)]


def _rows(found: Screening) -> list[list[TableCell]]:
    rows: list[list[TableCell]] = []
    for one in cells(found):
        head: list[TableCell] = [found.ready.wheel.name, one.case.name, one.zone.value, one.verdict.value]
        row = one.row
        if row is None:
            rows.append([*head, *[None] * 10, one.why])
            continue
        z, r = place(found, row.at)
        life = row.levels[0].life if row.levels else None
        figures: list[TableCell] = [row.use, row.von_mises_mpa, row.before_mpa]
        figures += ["yes" if row.converged else "no", z, r, row.greatest_mpa, row.ratio]
        figures += [None, None] if life is None else [life.mean, life.lower]
        rows.append([*head, *figures, "; ".join(dict.fromkeys(w for w in (one.why, row.note) if w))])
    return rows


def _sheet(table: Table) -> Sheet:
    rows = [list(row.cells) for row in table.rows]
    width = max(len(table.columns), 1)
    rows += [[words, *[""] * (width - 1)] for words in table.notes]
    return table.title, [c.head for c in table.columns], rows


def write(out: Path, project: Project, shown: Shown) -> None:
    """Write a screening to a file by its suffix: .csv, .xlsx or .pdf.

    Raises:
        SaveError: it cannot be written.
        ValueError: another suffix.
    """
    suffix = out.suffix.lower()
    if suffix == ".pdf":
        save_bytes(out, strength_pdf(project, shown))
    elif suffix == ".csv":
        save_bytes(out, sections_csv(sheets(project, shown)))
    elif suffix == ".xlsx":
        save_bytes(out, sections_xlsx(sheets(project, shown)))
    else:
        raise ValueError(f"{out.name}: name a file that ends in .csv, .xlsx or .pdf.")
