"""Versions of wheels: which was made from which, and why."""

from __future__ import annotations

from copy import deepcopy
from dataclasses import replace

from app.project import edits
from app.project.project import Project
from app.project.wheel import Wheel


def new_version(project: Project, name: str, new: str, why: str) -> Project:
    """Return the project with a copy of a wheel that says what it was made from.

    It stands behind the wheel and all that go back to it, so that older versions come first.

    Raises:
        EditError: there is no such wheel, or the new name is empty or taken.
    """
    wheel: Wheel = edits.find(project, edits.WHEEL, name)
    made = replace(deepcopy(wheel), name=new, made_from=name, why=why.strip(), locked=False)
    project = edits.add(project, edits.WHEEL, made)
    *others, last = project.wheels
    line = [k for k, w in enumerate(others) if w.name == name or name in made_from(project, w.name)]
    at = line[-1] + 1
    return replace(project, wheels=(*others[:at], last, *others[at:]))


def free_name(project: Project, name: str) -> str:
    """Return a name for the next version: "Track 18" gives "Track 18, v2", that gives "Track 18, v3"."""
    stem, mark, number = name.rpartition(", v")
    if not (mark and number.isdecimal()):
        stem, number = name, "1"
    taken = set(edits.WHEEL.names(project))
    k = int(number) + 1
    while f"{stem}, v{k}" in taken:
        k += 1
    return f"{stem}, v{k}"


def made_from(project: Project, name: str) -> tuple[str, ...]:
    """Return the versions that a wheel goes back to, the nearest first; a circle is followed once."""
    parents = {wheel.name: wheel.made_from for wheel in project.wheels}
    found: list[str] = []
    at = parents.get(name)
    while at is not None and at != name and at not in found:
        found.append(at)
        at = parents.get(at)
    return tuple(found)


def may_be_made_from(project: Project, name: str) -> tuple[str, ...]:
    """Return the wheels that a wheel can be said to be made from: all but itself and what goes back to it."""
    return tuple(w.name for w in project.wheels if w.name != name and name not in made_from(project, w.name))


def circles(project: Project) -> tuple[int, ...]:
    """Return the positions of wheels that go back to themselves."""
    parents = {wheel.name: wheel.made_from for wheel in project.wheels}
    found = []
    for i, wheel in enumerate(project.wheels):
        at, seen = wheel.made_from, set[str]()
        while at is not None and at != wheel.name and at not in seen:
            seen.add(at)
            at = parents.get(at)
        if at == wheel.name:
            found.append(i)
    return tuple(found)


def parent(project: Project, wheel: Wheel) -> str | None:
    """Return what a wheel stands under in the tree of versions: what it was made from, unless in a circle."""
    if wheel.made_from is None or wheel.made_from not in edits.WHEEL.names(project):
        return None
    at = project.wheels.index(wheel)
    return None if at in circles(project) else wheel.made_from
