"""What people gave names to: no page and no window translates it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import AbstractContextManager
from dataclasses import fields, is_dataclass

from app.language import keeping
from app.project.project import Project
from geometry.shape.held import Parameter

#: Fields of a project's parts that hold a name of a part, a person or a house.
_FIELDS = frozenset({"name", "author", "owner", "drawn_by", "checked_by"})


def keeping_names(project: Project) -> AbstractContextManager[None]:
    """Keep the names of a project as they are, in whatever language its pages are written."""
    return keeping(names_of(project))


def names_of(project: Project) -> frozenset[str]:
    """Return what people gave names to; names of parameters stand in formulas alone."""
    return frozenset(_names(project))


def _names(part: object) -> Iterator[str]:
    if isinstance(part, tuple):
        for item in part:
            yield from _names(item)
    elif is_dataclass(part) and not isinstance(part, Parameter):
        for field in fields(part):
            value = getattr(part, field.name)
            if isinstance(value, str):
                if field.name in _FIELDS and value:
                    yield value
            else:
                yield from _names(value)
