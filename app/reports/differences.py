"""What differs between two versions of what a wheel rests on, in short words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from typing import Any

from app.project.project import Project

#: The lists of a project, with what one of their parts is called.
_LISTS = (
    ("wheels", "wheel"),
    ("blanks", "blank"),
    ("shapes", "stay-out shape"),
    ("rule_sets", "rule set"),
    ("conditions", "conditions"),
    ("materials", "material"),
)
_UNITS = ("_mm", "_deg", "_um", "_kg_m3", "_kg", "_k")


def differences(before: Project, after: Project) -> list[str]:
    """Return what changed from one frozen part of a project to another; empty where nothing did."""
    found: list[str] = []
    for field, word in _LISTS:
        old, new = ({part.name: part for part in getattr(p, field)} for p in (before, after))
        found += [f"{word} '{name}' is gone" for name in old if name not in new]
        found += [f"{word} '{name}' is new" for name in new if name not in old]
        for name in old.keys() & new.keys():
            what = "" if field == "wheels" else f"{word} '{name}' "
            found += list(_told(old[name], new[name], what))
    for key in ("name", "display_unit"):
        found += list(_told(getattr(before, key), getattr(after, key), f"project {_words(key)}"))
    found += list(_told(before.sheet, after.sheet, "sheet "))
    return sorted(found)


def _told(old: Any, new: Any, what: str) -> Iterator[str]:
    if old == new:
        return
    if is_dataclass(old) and type(old) is type(new):
        for field in fields(old):
            yield from _told(getattr(old, field.name), getattr(new, field.name), _under(what, field.name))
    elif isinstance(old, tuple) and isinstance(new, tuple):
        yield from _listed(old, new, what.strip())
    elif _is_short(old) and _is_short(new):
        yield f"{what.strip()} {_shown(old)} to {_shown(new)}"
    else:
        yield f"{what.strip()} changed"


def _under(what: str, field: str) -> str:
    gap = "" if not what or what.endswith(" ") else " "
    return f"{what}{gap}{_words(field)}"


def _listed(old: tuple[Any, ...], new: tuple[Any, ...], what: str) -> Iterator[str]:
    if len(old) != len(new):
        yield f"{what}: {len(old)} became {len(new)}"
        return
    changed = [i for i, (a, b) in enumerate(zip(old, new, strict=True)) if a != b]
    if len(changed) == 1:
        i = changed[0]
        yield from _told(old[i], new[i], f"{what} {i + 1}")
    else:
        yield f"{what}: {len(changed)} of {len(old)} changed"


def _words(field: str) -> str:
    for unit in _UNITS:
        field = field.removesuffix(unit)
    return field.replace("_", " ")


def _is_short(value: Any) -> bool:
    return (
        value is None or isinstance(value, bool | int | float) or (isinstance(value, str) and len(value) < 40)
    )


def _shown(value: Any) -> str:
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.6g}"
    return f"'{value}'" if isinstance(value, str) else str(value)
