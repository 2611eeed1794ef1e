"""Points of a measured section out of any file that the readers know."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from app.files.readers.answer import NOT_KNOWN, CancelledError, ReadError, ReadOutline
from app.files.readers.read import Options, read_outline

Place = tuple[float, float]


@dataclass(frozen=True)
class MeasuredPoints:
    """Measured places (z, r) in the file's own plane, mm, and what the reader had to say."""

    places: tuple[Place, ...]
    said: tuple[str, ...]
    file_name: str
    sha256: str


def read_points(
    path: Path,
    unit: str | None = None,
    columns: tuple[str, ...] = (),
    sheet: str = "",
    cancelled: Callable[[], bool] | None = None,
) -> MeasuredPoints:
    """Return the points of a file: as its rows follow each other, else in any order.

    Args:
        path: of a table, or any other file that the readers know; of a drawing its vertices are taken.
        unit: of the file where it states none.
        columns: what unnamed columns are.
        sheet: of a workbook.
        cancelled: as for `read_outline`.

    Raises:
        ReadError: the file cannot be read, its unit is not known, or it holds no points.
    """
    how: Options = {"unit": unit, "columns": columns, "sheet": sheet, "points": "outline"}
    try:
        found = read_outline(path, cancelled=cancelled, **how)
    except CancelledError:
        raise
    except ReadError:
        how["points"] = "cloud"
        found = read_outline(path, cancelled=cancelled, **how)
    if found.unit == NOT_KNOWN:
        why = found.unit_doubt or "the file does not state its unit"
        raise ReadError(f"{found.file_name}: {why}; say which (mm or in)")
    places = _places(found)
    if not places:
        raise ReadError(f"{found.file_name}: there are no points in it")
    said = [] if not found.cloud else [s for s in found.warnings if "along the outline" not in s]
    dropped = [f"{count} left out: {what}" for what, count in found.skipped.items()]
    return MeasuredPoints(places, (*said, *dropped), found.file_name, found.sha256)


def _places(found: ReadOutline) -> tuple[Place, ...]:
    if found.cloud:
        return found.cloud
    return tuple((z, r) for loop in (*found.loops, *found.open) for z, r, _ in loop)
