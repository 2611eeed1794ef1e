"""`blankwright wheel FOLDER`: a wheel from every drawing; the output ends with what to look at."""

from __future__ import annotations

import csv
from collections.abc import Container
from dataclasses import dataclass, replace
from pathlib import Path

from app.cli.wheel import Options, Taken, add_wheel, load_or_new
from app.files.kept import save_over
from app.files.readers.answer import ReadError, one_line, plain
from app.project.edits import EditError
from app.project.project import Project
from app.project.size_text import parse_size
from app.project.wheel import SizeCode
from app.units import UnitsError, parse_length_mm
from geometry.errors import GeometryError

#: Gives drawings of the folder a size, inset and mounting face of their own.
LIST_NAME = "wheels.csv"
#: Read whether listed or not.
_KINDS = (".dxf", ".csv")
_COLUMNS = ("file", "size", "inset_mm", "face_z_mm")

#: What makes one drawing fail while the others go on.
_UNREAD = (ReadError, GeometryError, UnitsError, EditError)


@dataclass(frozen=True)
class Stated:
    """What wheels.csv states for one drawing, as typed; empty where it leaves a cell out."""

    size: str = ""
    inset: str = ""
    face_z: str = ""


def take_over_folder(
    folder: Path, size: SizeCode | None, inset_mm: float | None, out: Path, options: Options
) -> tuple[str, int]:
    """Add a wheel for every drawing of a folder to a project file, in the order of their names.

    Args:
        folder: its .dxf and .csv files are read; `wheels.csv` lists their own size, inset and face.
        size: of every drawing that the list gives none; None where none was stated.
        inset_mm: likewise.
        out: the project file, made if it is not there; it is not touched when nothing was taken.
        options: how every drawing is read.

    Returns:
        What was found, ending with what needs a look and what could not be read; how many were taken.

    Raises:
        ReadError: the folder holds no drawing, or its list cannot be read.
        ProjectFileError: the project cannot be read or written.
    """
    listed = read_list(folder / LIST_NAME)
    drawings = _drawings(folder, listed)
    if not drawings and not listed:
        raise ReadError(f"{folder}: no drawing in this folder; it takes {' and '.join(_KINDS)}")
    project = load_or_new(out)
    taken: list[Taken] = []
    missing = listed.keys() - {drawing.name for drawing in drawings}
    unread = [
        f"{plain(name)}: {LIST_NAME} names it, but the folder holds no such drawing" for name in missing
    ]
    for drawing in drawings:
        try:
            project, found = _one(
                project, drawing, listed.get(drawing.name, Stated()), size, inset_mm, options
            )
        except _UNREAD as error:
            reason = str(error)
            for name in (drawing.name, plain(drawing.name)):
                reason = reason.removeprefix(f"{name}: ")
            unread.append(one_line(f"{plain(drawing.name)}: {reason}"))
        else:
            taken.append(found)
    if taken:
        save_over(project, out)
    return _report(taken, sorted(unread), out), len(taken)


def _one(
    project: Project,
    drawing: Path,
    own: Stated,
    size: SizeCode | None,
    inset_mm: float | None,
    options: Options,
) -> tuple[Project, Taken]:
    if own.size:
        size = parse_size(own.size)
    if own.inset:
        inset_mm = parse_length_mm(own.inset)
    if own.face_z:
        options = replace(options, face_z=parse_length_mm(own.face_z))
    if size is None or inset_mm is None:
        what = "size" if size is None else "inset"
        raise ReadError(f"no {what} is stated for it; give --{what}, or a row in {LIST_NAME}")
    return add_wheel(project, drawing, size, inset_mm, options)


def _drawings(folder: Path, listed: Container[str]) -> list[Path]:
    try:
        found = sorted(folder.iterdir(), key=lambda path: path.name.casefold())
    except OSError as error:
        raise ReadError(f"{folder}: cannot be opened: {error.strerror or error}; check the path") from error
    kept = [p for p in found if p.name != LIST_NAME and not p.name.startswith(".")]
    return [p for p in kept if (p.suffix.lower() in _KINDS or p.name in listed) and p.is_file()]


def read_list(path: Path) -> dict[str, Stated]:
    """Return what a wheels.csv states by file name, empty where there is no such file.

    Commas, semicolons or tabs separate; the first row names the columns, and all but `file` may be missing.

    Raises:
        ReadError: it is no such list, or names a file twice.
    """
    if not path.exists():
        return {}
    try:
        text = path.read_text("utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise ReadError(f"{path}: cannot be read ({error}); save it as CSV text in UTF-8") from error
    head = text.partition("\n")[0]
    rows = csv.reader(text.splitlines(), delimiter=max(",;\t", key=head.count))
    columns = [cell.strip().lower() for cell in next(rows, [])]
    wrong = [name for name in columns if name not in _COLUMNS]
    if "file" not in columns or wrong or len(set(columns)) < len(columns):
        have = plain(", ".join(columns)) or "nothing"
        raise ReadError(f"{path}: its first row has {have}; it names the columns {', '.join(_COLUMNS)}")
    listed: dict[str, Stated] = {}
    for number, cells in enumerate(rows, start=2):
        if not any(cell.strip() for cell in cells):
            continue
        if len(cells) > len(columns):
            raise ReadError(
                f"{path}: row {number} has {len(cells)} cells for {len(columns)} columns; where a comma is "
                "the decimal mark, separate by semicolons"
            )
        row = dict(zip(columns, (cell.strip() for cell in cells), strict=False))
        name = row.get("file", "")
        if not name or name in listed:
            why = "names no file" if not name else f"names {plain(name)!r} a second time"
            raise ReadError(f"{path}: row {number} {why}; each drawing has one row")
        listed[name] = Stated(row.get("size", ""), row.get("inset_mm", ""), row.get("face_z_mm", ""))
    return listed


def _report(taken: list[Taken], unread: list[str], out: Path) -> str:
    looks = [one_line(f"{plain(t.file_name)}: {sentence}") for t in taken for sentence in _looks(t)]
    lines = [t.text(out) for t in taken]
    for title, items in (("needs a look", looks), ("could not be read", unread)):
        lines += [f"{title}: {len(items) or 'none'}", *(f"  {item}" for item in items)]
    return "\n".join(lines)


def _looks(taken: Taken) -> tuple[str, ...]:
    missing = ", ".join(taken.missing)
    return (*taken.looks, f"not recognised: {missing}") if missing else taken.looks
