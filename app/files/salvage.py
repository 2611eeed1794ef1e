"""What a damaged project file still holds, on request and with a list; nothing of it is trusted.

Each outline, and each rule set, blank and other part, is taken whole or not at all: half of it would read a
larger gap than there is. Of wheels and shapes other members may be lost, which is listed. Since a number may
have been altered unseen, every answer on a source card is open again, so that no gap is clear before a person
has looked. A shape that a wheel must clear and that was lost stands there by its name with every question
open; where anything was lost, every wheel must clear one more such stand-in.
"""

from __future__ import annotations

import contextlib
import json
import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any, get_args, get_origin

from app.files import schema
from app.files.migrations import FORMAT, migrated
from app.files.on_disk import digest
from app.files.project_file import NewerFormat, ProjectFileError, opened, printable
from app.files.untrusted import distrusted
from app.project.edits import SHAPE, WHEEL
from app.project.project import Project
from geometry.shape.outline import Motion, StayOut

#: A member of the project, and a part within a list of it, as the file is laid out; a break may be damaged.
_START = re.compile(r'^ "(?P<key>[a-z_0-9]{1,40})": |(?<! ) {2}(?=\{\n)', re.MULTILINE)
_MEMBER = re.compile(r'^ {3}"(?P<key>[a-z_0-9]{1,40})": ', re.MULTILINE)
_NAME = re.compile(r'"(?:name|words|revision)": ("(?:[^"\\\n]|\\.){0,200}")')
_DECODER = json.JSONDecoder(object_pairs_hook=schema.object_of)

#: Signs between pieces, and how much else makes one.
_PARTING, _LEAST_PIECE = " \n,[]{}", 8

#: Of these a part is taken without what is lost of it: they are the work, and read not known until looked at.
_PARTLY = (WHEEL.field, SHAPE.field)

#: A longer list is no help.
_MOST_SAID = 200


@dataclass(frozen=True)
class Salvaged:
    """What was recovered.

    Attributes:
        project: never to be saved over the damaged file unasked.
        kept: what it holds, one line for each kind.
        lost: what could not be read or was let go, one line each.
        open: what a person must say again before it counts.
    """

    project: Project
    kept: tuple[str, ...]
    lost: tuple[str, ...]
    open: tuple[str, ...]

    @property
    def lines(self) -> tuple[str, ...]:
        """Everything, as it is shown: what is lost first."""
        lost = self.lost[:_MOST_SAID]
        more = (f"and {len(self.lost) - len(lost)} more",) if len(self.lost) > len(lost) else ()
        return (*(f"lost: {x}" for x in (*lost, *more)), *self.open, *(f"recovered: {x}" for x in self.kept))


def salvage(data: bytes) -> Salvaged:
    """Return what can be read of the bytes of a damaged file.

    Raises:
        NewerFormat: it says that a newer version wrote it.
        ProjectFileError: no part of it can be read, or nothing is wrong with it.
    """
    try:
        opened(data)
    except NewerFormat:
        raise
    except ProjectFileError:
        pass
    else:
        raise ProjectFileError("Nothing is wrong with the file; open it.")
    lost: list[str] = []
    tree = _tree(data.decode("utf-8-sig", "replace"), lost)
    written = tree.pop("format", None)
    if type(written) is not int or not 1 <= written <= FORMAT:
        lost.append("which format it has; read as one of this version")
        written = FORMAT
    tree.pop("sha256", None)
    try:
        tree = migrated(_tidied(tree, lost), written)
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise ProjectFileError(f"What is left of format {written} cannot be brought to {FORMAT}.") from error
    project = _project(tree, lost)
    kept = tuple(_counted(project))
    if not kept:
        raise ProjectFileError("No part of the project can be read; restore an earlier copy.")
    project, let_go, opens = distrusted(project, bool(lost))
    lost.extend(let_go)
    wrong = schema.problems(project)
    if wrong:
        raise ProjectFileError(
            f"What can be read of the project contradicts itself: {wrong[0]}.", tuple(wrong)
        )
    notes = {**project.notes, "recovered": {"from sha256": digest(data), "lost": lost[:_MOST_SAID]}}
    return Salvaged(replace(project, notes=notes), kept, tuple(lost), opens)


# Text


def _tree(text: str, lost: list[str]) -> dict[str, Any]:
    """Return what can be read of a text, member by member and part by part."""
    try:
        whole = json.loads(text, object_pairs_hook=schema.object_of)
    except (ValueError, RecursionError):
        return _pieces(text, lost)
    return dict(whole) if isinstance(whole, dict) else {}


def _pieces(text: str, lost: list[str]) -> dict[str, Any]:
    lists = {key for key, hint in schema.hints_of(Project).items() if _is_list(hint)}
    tree: dict[str, Any] = {}
    field, at, is_said = "", text.find("\n") + 1, False
    while (found := _START.search(text, at)) is not None:
        if not is_said:
            _take_between(text[at : found.start()], tree, field, lost)
        key, at, is_said = found["key"], found.end(), False
        try:
            value, end = _DECODER.raw_decode(text, at)
        except (ValueError, RecursionError):
            value = end = None
        if key is not None:
            field = key if key in lists else ""
            if end is not None:
                tree[key], at = value, end
            elif not field:
                lost.append(f"{_shown(key)}, which is not whole")
                is_said = True
            continue
        if end is None:
            after = _START.search(text, at)
            end = after.start() if after is not None else len(text)
            value = _by_member(text[at:end], lost)
        _take(value, text[at:end], tree, field, lost)
        at = end
    if not is_said:
        _take_between(text[at:], tree, field, lost)
    return tree


def _take(value: Any, text: str, tree: dict[str, Any], field: str, lost: list[str]) -> None:
    """Put a part into the list where it stands or, where that is not known, the one with its keys."""
    lists = {key: hint for key, hint in schema.hints_of(Project).items() if _is_list(hint)}
    of = field if field and _fits(value, lists[field]) else ""
    of = of or next((name for name, hint in lists.items() if _fits(value, hint)), "")
    held = tree.setdefault(of, []) if of else None
    if isinstance(held, list):
        held.append(value)
    else:
        lost.append(_lost_part(text, field))


def _take_between(text: str, tree: dict[str, Any], field: str, lost: list[str]) -> None:
    """Look at what stands between two pieces: signs that part them, or a piece whose beginning is damaged."""
    if len(text.strip(_PARTING)) < _LEAST_PIECE:
        return
    value = None
    with contextlib.suppress(ValueError, RecursionError):
        value = _DECODER.raw_decode(text, text.index("{"))[0]
    _take(value, text, tree, field, lost)


def _by_member(text: str, lost: list[str]) -> dict[str, Any] | None:
    """Return a wheel or shape without its members that are not whole; None for any other part."""
    value: dict[str, Any] = {}
    for found in _MEMBER.finditer(text):
        with contextlib.suppress(ValueError, RecursionError):
            value[found["key"]] = _DECODER.raw_decode(text, found.end())[0]
    hints = schema.hints_of(Project)
    field = next((field for field in _PARTLY if _fits(value, hints[field])), None)
    if field is None:
        return None
    if field == SHAPE.field:
        value.setdefault("motion", Motion.NOT_SAID.value)
    gone = schema.hints_of(schema.class_of(value, hints[field])).keys() - value.keys()
    lost.append(
        f'of "{_shown(str(value["name"]))}" what stood in {", ".join(sorted(gone)) or "a damaged place"}'
    )
    return value


def _lost_part(text: str, field: str) -> str:
    name = _NAME.search(text)
    called = f"a part called {_shown(name[1])}" if name else "a part without a readable name"
    return f"{called}, which is not whole{f' (in {field})' if field else ''}"


def _fits(value: Any, hint: Any) -> bool:
    """Return whether an object has all keys that a list's class must have, and no others than it may have."""
    if not isinstance(value, dict):
        return False
    cls = schema.class_of(value, hint)
    return set(schema.required(cls)) <= value.keys() <= schema.hints_of(cls).keys()


def _is_list(hint: Any) -> bool:
    return get_origin(hint) is tuple and bool(schema.inner(hint))


def _shown(text: str) -> str:
    plain = printable(text)
    return plain if len(plain) <= 60 else f"{plain[:56]} ..."


# Parts


def _tidied(tree: dict[str, Any], lost: list[str]) -> dict[str, Any]:
    """Return members and parts that hold nothing that no project may."""
    tidy: dict[str, Any] = {}
    for key, value in tree.items():
        if not isinstance(value, list):
            errors: list[str] = []
            whole = schema.tidied({key: value}, errors)
            if not _said(errors, lost):
                tidy.update(whole)
            continue
        tidy[key] = []
        for i, item in enumerate(value):
            errors = []
            part = schema.tidied(item, errors, f"{key}[{i}]", depth=3)
            if not _said(errors, lost):
                tidy[key].append(part)
    return tidy


def _said(errors: list[str], lost: list[str]) -> bool:
    """Add the first of what is wrong with a part to what is lost; return whether there was anything."""
    lost.extend(printable(error)[:300] for error in errors[:1])
    return bool(errors)


def _project(tree: dict[str, Any], lost: list[str]) -> Project:
    hints = schema.hints_of(Project)
    lost.extend(f"{_shown(key)}, which is no key of the project" for key in tree.keys() - hints.keys())
    values: dict[str, Any] = {}
    for key, hint in hints.items():
        if key not in tree:
            continue
        if _is_list(hint) and isinstance(tree[key], list):
            cls = get_args(hint)[0]
            values[key] = tuple(_parts(tree[key], cls, key, lost))
            continue
        value, errors = _read(tree[key], hint, key)
        if not _said(errors, lost):
            values[key] = value
    missing = [key for key in hints if key not in tree]
    if missing:
        lost.append(f"anything that stood in {', '.join(missing)}; starting values stand there")
    name = values.pop("name", "").strip() or "Recovered"
    return _sensible(Project(name, **values), lost)


def _sensible(project: Project, lost: list[str]) -> Project:
    """Return the project with the starting value where one of its own fields holds what it may not."""
    for error in schema.wrong_values("", project):
        lost.append(printable(error)[:300])
        key = error.split(" ")[0]
        changes: dict[str, Any] = {key: getattr(Project("plain"), key)}
        project = replace(project, **changes)
    return project


def _parts(items: list[Any], cls: type, field: str, lost: list[str]) -> Iterator[Any]:
    names: set[str] = set()
    for i, item in enumerate(items):
        path = f"{field}[{i}]"
        part, errors = _read(item, cls, path)
        if errors and field in _PARTLY and isinstance(item, dict):
            part, errors = _read_partly(item, cls, path, errors, lost)
        name = getattr(part, "name", path)
        if not errors and (not name.strip() or name in names):
            errors = [f"{path}: its name is empty or another's"]
        if errors and isinstance(item, dict) and isinstance(item.get("name"), str):
            errors = [f'"{_shown(item["name"])}": {errors[0]}']
        if not _said(errors, lost):
            names.add(name)
            yield part


def _read(tree: Any, hint: Any, path: str) -> tuple[Any, list[str]]:
    errors: list[str] = []
    value = schema.read_as(tree, hint, path, errors)
    return value, errors or list(schema.wrong_within(value, path))


def _read_partly(
    item: dict[str, Any], cls: type, path: str, errors: list[str], lost: list[str]
) -> tuple[Any, list[str]]:
    """Return a wheel or shape without the members that are wrong, and what is wrong even so."""
    wrong = {error[len(path) + 1 :].split(".")[0].split("[")[0].split(" ")[0] for error in errors}
    less = {key: value for key, value in item.items() if key not in wrong}
    if cls is StayOut:
        less.setdefault("motion", Motion.NOT_SAID.value)
    part, still = _read(less, cls, path)
    if still:
        return None, errors
    lost.extend(printable(f'of "{part.name}": {error}')[:300] for error in errors)
    return part, []


def _counted(project: Project) -> Iterator[str]:
    for key, hint in schema.hints_of(Project).items():
        if _is_list(hint) and (count := len(getattr(project, key))):
            named = [getattr(part, "name", "") for part in getattr(project, key)]
            shown = ", ".join(filter(None, named[:8])) + (" ..." if count > 8 else "")
            yield f"{count} in {key}{f': {shown}' if any(named) else ''}"
