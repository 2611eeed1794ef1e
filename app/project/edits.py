"""Edits of a project as pure functions: new, replace, duplicate, rename, delete.

Every named part lies in one list of the project and is reached by its kind and name. Names are unique
within a kind; a renamed part keeps its users; a part in use is not deleted.
"""

from __future__ import annotations

import re
import unicodedata
from copy import deepcopy
from dataclasses import dataclass, replace
from typing import Any, Generic, TypeVar

from app.project.project import Fitment, Material, Project, TrialFit
from app.project.strength import TestRecord
from app.project.wheel import Wheel
from geometry.readings.conditions import Conditions
from geometry.readings.rules import RuleSet
from geometry.shape.blank import Blank
from geometry.shape.outline import StayOut

Part = TypeVar(
    "Part",
    bound=Wheel | Blank | StayOut | RuleSet | Conditions | Material | Fitment | TrialFit | TestRecord,
)


class EditError(ValueError):
    """An edit that would leave the project wrong; the message says why and how to mend it."""


@dataclass(frozen=True)
class Kind(Generic[Part]):
    """One of the project's lists of named parts.

    Attributes:
        field: name of the list in the project.
        word: what one of them is called.
    """

    field: str
    word: str

    def of(self, project: Project) -> tuple[Part, ...]:
        """Return the project's parts of this kind."""
        parts: tuple[Part, ...] = getattr(project, self.field)
        return parts

    def names(self, project: Project) -> tuple[str, ...]:
        """Return their names, in the project's order."""
        return tuple(part.name for part in self.of(project))


WHEEL: Kind[Wheel] = Kind("wheels", "wheel")
BLANK: Kind[Blank] = Kind("blanks", "blank")
SHAPE: Kind[StayOut] = Kind("shapes", "shape")
RULE_SET: Kind[RuleSet] = Kind("rule_sets", "rule set")
CONDITIONS: Kind[Conditions] = Kind("conditions", "set of conditions")
MATERIAL: Kind[Material] = Kind("materials", "material")
FITMENT: Kind[Fitment] = Kind("fitments", "fitment")

TRIAL_FIT: Kind[TrialFit] = Kind("trial_fits", "trial fit")

TEST_RECORD: Kind[TestRecord] = Kind("test_records", "test record")

KINDS: tuple[Kind[Any], ...] = (
    *(WHEEL, BLANK, SHAPE, RULE_SET, CONDITIONS, MATERIAL, FITMENT, TRIAL_FIT, TEST_RECORD),
)


@dataclass(frozen=True)
class Reference:
    """A field by which parts of one kind name one part (or, as a tuple, several) of another.

    Attributes:
        holds: what is named cannot be deleted; else what it named in the same field itself takes its place.
    """

    holder: Kind[Any]
    field: str
    target: Kind[Any]
    holds: bool = True

    def names(self, part: Any) -> tuple[str, ...]:
        """Return the names that a part of the holding kind refers to."""
        value = getattr(part, self.field)
        if value is None:
            return ()
        return (value,) if isinstance(value, str) else tuple(value)

    def renamed(self, part: Any, old: str, new: str) -> Any:
        """Return the part with references to `old` pointing to `new`."""
        if old not in self.names(part):
            return part
        value = getattr(part, self.field)
        changed = new if isinstance(value, str) else tuple(new if name == old else name for name in value)
        return replace(part, **{self.field: changed})


class HeldClear(Reference):
    """The shapes that constraints of a part keep clear of."""

    def names(self, part: Any) -> tuple[str, ...]:
        """Return the names of the shapes."""
        return tuple(dict.fromkeys(c.shape for c in getattr(part, self.field) if c.shape is not None))

    def renamed(self, part: Any, old: str, new: str) -> Any:
        """Return the part with its constraints on `old` on `new`."""
        if old not in self.names(part):
            return part
        changed = (replace(c, shape=new) if c.shape == old else c for c in getattr(part, self.field))
        return replace(part, **{self.field: tuple(changed)})


REFERENCES: tuple[Reference, ...] = (
    HeldClear(WHEEL, "constraints", SHAPE),
    Reference(WHEEL, "blank", BLANK),
    Reference(BLANK, "measured_least", BLANK),
    Reference(BLANK, "measured_greatest", BLANK),
    Reference(BLANK, "variant_of", BLANK),
    Reference(WHEEL, "clears", SHAPE),
    Reference(WHEEL, "rules", RULE_SET),
    Reference(WHEEL, "conditions", CONDITIONS),
    Reference(WHEEL, "material", MATERIAL),
    Reference(WHEEL, "reference", WHEEL),
    Reference(WHEEL, "made_from", WHEEL, holds=False),
    Reference(TEST_RECORD, "wheel", WHEEL),
    Reference(FITMENT, "shape", SHAPE),
    Reference(FITMENT, "compromise_shape", SHAPE),
    Reference(FITMENT, "rules", RULE_SET),
    Reference(FITMENT, "wheel", WHEEL),
    Reference(TRIAL_FIT, "wheel", WHEEL),
    Reference(TRIAL_FIT, "shape", SHAPE),
)


def find(project: Project, kind: Kind[Part], name: str) -> Part:
    """Return the part called `name`.

    Raises:
        EditError: there is none; the message lists the names there are.
    """
    for part in kind.of(project):
        if part.name == name:
            return part
    names = ", ".join(kind.names(project))
    raise EditError(
        f'There is no {kind.word} called "{name}"; ' + (f"there are: {names}." if names else "there is none.")
    )


def users(project: Project, kind: Kind[Part], name: str) -> tuple[str, ...]:
    """Return who refers to a part, in words: 'wheel "Track 18"'."""
    return tuple(
        f'{reference.holder.word} "{part.name}"'
        for reference in REFERENCES
        if reference.target is kind and reference.holds
        for part in reference.holder.of(project)
        if name in reference.names(part)
    )


def free_name(project: Project, kind: Kind[Part], wanted: str) -> str:
    """Return `wanted`, or with the first number from 2 behind it that makes it unique."""
    return _numbered(wanted, set(kind.names(project)))


def add(project: Project, kind: Kind[Part], part: Part) -> Project:
    """Return the project with a new part at the end of its list.

    Raises:
        EditError: the name is empty, not text, or taken.
    """
    part = replace(part, name=_checked(project, kind, part.name))
    return _with(project, kind, (*kind.of(project), part))


def replaced(project: Project, kind: Kind[Part], name: str, part: Part) -> Project:
    """Return the project with `part` in place of the one called `name`; its users follow a new name.

    Raises:
        EditError: there is no such part, or the new name is empty, not text, or taken.
    """
    find(project, kind, name)
    if part.name != name:
        part = replace(part, name=_checked(project, kind, part.name, but=name))
    project = _with(project, kind, tuple(part if old.name == name else old for old in kind.of(project)))
    return _followed(project, kind, name, part.name)


def renamed(project: Project, kind: Kind[Part], name: str, new: str) -> Project:
    """Return the project with a part under another name; its users follow.

    Raises:
        EditError: as `replaced`.
    """
    return replaced(project, kind, name, replace(find(project, kind, name), name=new))


def duplicated(project: Project, kind: Kind[Part], name: str) -> tuple[Project, str]:
    """Return the project with a copy right behind the part called `name`, and the copy's name.

    "Track 18" gives "Track 18 copy", then "Track 18 copy 2", also from a copy.

    Raises:
        EditError: there is no such part.
    """
    part = find(project, kind, name)
    stem = re.sub(r" copy( \d+)?$", "", name)
    copy = replace(deepcopy(part), name=free_name(project, kind, f"{stem} copy"))
    parts = kind.of(project)
    after = parts.index(part) + 1
    return _with(project, kind, (*parts[:after], copy, *parts[after:])), copy.name


def deleted(project: Project, kind: Kind[Part], name: str) -> Project:
    """Return the project without the part called `name`.

    Raises:
        EditError: there is no such part, or others refer to it; the message names them.
    """
    part = find(project, kind, name)
    in_use = users(project, kind, name)
    if in_use:
        where = ", ".join(in_use)
        raise EditError(
            f'The {kind.word} "{name}" is used by {where}; choose another {kind.word} there first.'
        )
    project = _with(project, kind, tuple(other for other in kind.of(project) if other is not part))
    for reference in REFERENCES:
        if reference.target is kind and not reference.holds:
            project = _handed_on(project, reference, part)
    return project


def _handed_on(project: Project, reference: Reference, gone: Any) -> Project:
    """Return the project in which those that named a part which went name what that one named."""
    changes: dict[str, Any] = {reference.field: getattr(gone, reference.field)}
    holders = tuple(
        replace(part, **changes) if gone.name in reference.names(part) else part
        for part in reference.holder.of(project)
    )
    return _with(project, reference.holder, holders)


def _with(project: Project, kind: Kind[Part], parts: tuple[Part, ...]) -> Project:
    changes: dict[str, Any] = {kind.field: parts}
    return replace(project, **changes)


def _followed(project: Project, kind: Kind[Part], old: str, new: str) -> Project:
    """Return the project with every reference to `old` pointing to `new`."""
    if old == new:
        return project
    for reference in REFERENCES:
        if reference.target is kind:
            holders = tuple(reference.renamed(part, old, new) for part in reference.holder.of(project))
            project = _with(project, reference.holder, holders)
    return project


def _checked(project: Project, kind: Kind[Part], name: str, but: str | None = None) -> str:
    """Return a name as it is kept: composed (NFC), without blanks at its ends, unique within its kind."""
    name = unicodedata.normalize("NFC", name).strip()
    if not name:
        raise EditError(f"A {kind.word} needs a name; type one.")
    if not name.isprintable():
        raise EditError(f"The name {name!r} holds a character that cannot be printed; type it anew.")
    if name != but and name in kind.names(project):
        raise EditError(f'There is already a {kind.word} called "{name}"; choose another name.')
    return name


def _numbered(wanted: str, taken: set[str]) -> str:
    name, number = wanted, 2
    while name in taken:
        name, number = f"{wanted} {number}", number + 1
    return name
