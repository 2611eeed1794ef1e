"""The project file: one UTF-8 JSON object that is the same bytes for the same project.

    {"sha256": "<of all bytes after this line>",
     "format": 1,
     "name": "Track wheels",
     ...

Keys stand in the order of the project's dataclasses, and one vertex, corner, pair or rule fills a line.
A file whose text no longer belongs to its digest is never opened silently: it was damaged, or edited by
hand, and only `ignore_digest` opens it.
"""

from __future__ import annotations

import hashlib
import json
import re
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import msgspec

from app.files import conversion, schema
from app.files.atomic import SaveError, save_bytes
from app.files.migrations import FORMAT, migrated
from app.files.readers.limits import PROJECT_BYTES
from app.project.holding import with_settled
from app.project.project import Project

LARGEST_BYTES = PROJECT_BYTES

#: An object within a list is a row, on one line, from this depth on; the named parts above it are not.
ROW_DEPTH = 3

_FIRST_LINE = re.compile(rb'\{"sha256": "([0-9a-f]{64})",')


def printable(text: str) -> str:
    """Return a text as one line; what cannot be shown, such as half a character, is a question mark."""
    return text if text.isprintable() else "".join(c if c.isprintable() else "?" for c in text)


class ProjectFileError(Exception):
    """A project file that cannot be opened or saved; the message is one line and says how to mend it.

    Attributes:
        errors: what is wrong in the file, each with its path; empty when it cannot be read at all.
    """

    def __init__(self, message: str, errors: tuple[str, ...] = ()) -> None:
        super().__init__(printable(message))
        self.errors = tuple(map(printable, errors))


class EditedOutside(ProjectFileError):  # noqa: N818 - a question to the user rather than a failure
    """The text is whole but does not belong to its digest: edited by another program, merged, or damaged.

    With `errors` empty it can be opened as it is.
    """


class NewerFormat(ProjectFileError):  # noqa: N818 - nothing is wrong with the file
    """A newer version of the program wrote it, in a format that this one does not read."""


@dataclass(frozen=True)
class Opened:
    """A project out of a file.

    Attributes:
        written: the format that the file has.
        changes: what opening it in today's format means, one sentence each; empty for a file of today's.
    """

    project: Project
    written: int
    changes: tuple[str, ...] = ()

    @property
    def heading(self) -> str:
        """What is said before the changes."""
        return f"The file has format {self.written}; saving writes {FORMAT}, which older versions refuse."


def load(path: Path, ignore_digest: bool = False) -> Project:
    """Return the project of a file, with what its formulas drive in place.

    Raises:
        EditedOutside: the digest does not hold, and `ignore_digest` is False.
        ProjectFileError: it is not there, cannot be read, is no project file, or holds something wrong.
    """
    return open_file(path, ignore_digest).project


def open_file(path: Path, ignore_digest: bool = False) -> Opened:
    """Return the project of a file and what opening it changes.

    Raises:
        EditedOutside, ProjectFileError: as `load`.
    """
    data = bytes_of(path)
    try:
        found = opened(data, ignore_digest)
    except ProjectFileError as error:
        raise type(error)(f"{path}: {error}", error.errors) from error.__cause__
    return replace(found, project=with_settled(found.project))


def bytes_of(path: Path) -> bytes:
    """Return the bytes of a file, cut behind the first one too many.

    Raises:
        ProjectFileError: it is not there, or cannot be read.
    """
    try:
        with path.open("rb") as file:
            return file.read(LARGEST_BYTES + 1)
    except FileNotFoundError:
        raise ProjectFileError(f"{path}: there is no such file; check its name and folder.") from None
    except IsADirectoryError:
        raise ProjectFileError(f"{path}: this is a folder; choose a file in it.") from None
    except OSError as error:
        raise ProjectFileError(
            f"{path}: cannot be read ({error.strerror}); check its permissions."
        ) from error


def loads(data: bytes, ignore_digest: bool = False) -> Project:
    """Return the project of a file's bytes.

    Raises:
        EditedOutside, ProjectFileError: as `load`.
    """
    return opened(data, ignore_digest).project


def opened(data: bytes, ignore_digest: bool = False) -> Opened:
    """Return the project of a file's bytes and what opening it changes.

    Raises:
        EditedOutside, ProjectFileError: as `load`.
    """
    if len(data) > LARGEST_BYTES:
        raise ProjectFileError(f"The file is larger than {LARGEST_BYTES / 1e6:g} MB; split the project.")
    tree = _parsed(data)
    written = _checked(tree.pop("format"))
    whole = _digest_holds(data)
    tree.pop("sha256", None)
    errors: list[str] = []
    found = _read(tree, written, errors)
    if not whole and not ignore_digest:
        raise EditedOutside(_edited(errors), tuple(errors))
    if found is None or errors:
        raise ProjectFileError(_listed(errors), tuple(errors))
    return found


def from_tree(tree: Any, written: Any) -> Opened:
    """Return the project of a tree of plain objects and lists, held in the format `written`.

    Raises:
        ProjectFileError: the format is not read here, or the tree holds something wrong.
    """
    errors: list[str] = []
    found = _read(tree, _checked(written), errors)
    if found is None or errors:
        raise ProjectFileError(_listed(errors), tuple(errors))
    return found


def _read(tree: Any, written: int, errors: list[str]) -> Opened | None:
    """Return the project of a tree, or None; what is wrong is added to `errors`."""
    tidy = migrated(schema.tidied(tree, errors), written)
    project = None if errors else schema.read(tidy, errors)
    if project is None:
        return None
    errors.extend(schema.problems(project))
    return Opened(project, written, () if errors else conversion.changes(tidy, written))


def dumps(project: Project) -> bytes:
    """Return the bytes of a project's file; `loads` gives an equal project.

    Raises:
        ProjectFileError: it holds what a project file cannot, such as a number that is not finite.
    """
    errors: list[str] = []
    tree = schema.tidied(project, errors)
    # Reading back turns whole numbers into the field's own type, and proves that the file can be opened.
    again = None if errors else schema.read(tree, errors)
    if again is not None:
        errors.extend(schema.problems(again))
    if again is None or errors:
        raise ProjectFileError(f"The project cannot be saved: {_listed(errors)}", tuple(errors))
    body = {"format": FORMAT, **msgspec.to_builtins(again)}
    text = _laid_out(body, 0).removeprefix(b"{\n") + b"\n"
    data = b'{"sha256": "%s",\n%s' % (hashlib.sha256(text).hexdigest().encode(), text)
    if len(data) > LARGEST_BYTES:
        raise ProjectFileError(f"The project is larger than {LARGEST_BYTES / 1e6:g} MB; split it.")
    return data


def save(project: Project, path: Path) -> None:
    """Write a project to a file, whole or not at all.

    Raises:
        ProjectFileError: as `dumps`, or the file cannot be written (then caused by a SaveError).
    """
    try:
        save_bytes(path, dumps(project))
    except SaveError as error:
        raise ProjectFileError(str(error)) from error


def _parsed(data: bytes) -> dict[str, Any]:
    """Return the JSON object of a file, keys of doubled objects remembered."""
    try:
        text = data.decode("utf-8-sig")
        tree = json.loads(text, object_pairs_hook=schema.object_of)
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise ProjectFileError(f"Line {line} is not UTF-8 text. {_DAMAGED}") from error
    except json.JSONDecodeError as error:
        where = f"line {error.lineno}, column {error.colno}"
        raise ProjectFileError(f"This is no whole project file ({where}: {error.msg}). {_DAMAGED}") from error
    except RecursionError:
        raise ProjectFileError(f"The file nests deeper than {schema.DEEPEST} levels. {_DAMAGED}") from None
    except ValueError as error:
        raise ProjectFileError(f"The file holds a number of too many digits. {_DAMAGED}") from error
    if not isinstance(tree, dict) or "format" not in tree:
        raise ProjectFileError('This is no project file: it has no "format". Choose a .blankwright file.')
    return tree


def _checked(written: Any) -> int:
    """Return a format's number; refuse one that this program does not read."""
    if type(written) is not int or written < 1:
        raise ProjectFileError(f"format is {json.dumps(written)[:40]}; it must be a whole number from 1.")
    if written > FORMAT:
        raise NewerFormat(
            f"The file has format {written} and this program reads up to {FORMAT}; "
            f"open it with a newer version, one that reads format {written}."
        )
    return written


def _digest_holds(data: bytes) -> bool:
    first, _, rest = data.partition(b"\n")
    match = _FIRST_LINE.fullmatch(first)
    return match is not None and match[1].decode() == hashlib.sha256(rest).hexdigest()


_DAMAGED = "Mend that place, or restore an earlier copy."


def _listed(errors: list[str]) -> str:
    more = f" (and {len(errors) - 1} more)" if len(errors) > 1 else ""
    return f"{errors[0]}{more}."


def _edited(errors: list[str]) -> str:
    changed = "The file was edited outside or damaged: its text does not belong to its digest"
    if errors:
        return f"{changed}, and it cannot be opened as it is: {_listed(errors)}"
    return f"{changed}. Look it over and open it as it is, or restore an earlier copy."


def _laid_out(value: Any, depth: int, row: bool = False) -> bytes:
    """Return a tree as JSON text: flat lists and rows on one line, else one member to a line."""
    if not _is_branch(value):
        return _one_line(value)
    named = isinstance(value, dict)
    members = list(value.values() if named else value)
    if (row or not named) and not any(_is_branch(member) for member in members):
        return _one_line(value)
    rows = not named and depth >= ROW_DEPTH
    lines = [_laid_out(member, depth + 1, rows) for member in members]
    if named:
        lines = [msgspec.json.encode(key) + b": " + line for key, line in zip(value, lines, strict=True)]
    left, right = (b"{", b"}") if named else (b"[", b"]")
    edge = b"\n" + b" " * depth
    return left + edge + b" " + (b"," + edge + b" ").join(lines) + edge + right


def _is_branch(value: Any) -> bool:
    return isinstance(value, (dict, list, tuple)) and len(value) > 0


def _one_line(value: Any) -> bytes:
    return msgspec.json.format(msgspec.json.encode(value), indent=0)
