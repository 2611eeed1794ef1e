"""What is made from the schema: the newest golden file, its keys by format, and a part of DEVELOPERS.md.

Run as `python -m tests.support.project_docs` to write them anew.
"""

from __future__ import annotations

import json
import re
from dataclasses import MISSING, fields, is_dataclass
from enum import Enum
from pathlib import Path
from typing import Any, get_args, get_type_hints

from app.files.caps import table
from app.files.migrations import FORMAT
from app.files.project_file import dumps
from app.files.schema import described, hints_of, inner
from app.project.project import Project
from tests.support.whole_projects import compact, every_class

ROOT = Path(__file__).resolve().parents[2]
DEVELOPERS = ROOT / "DEVELOPERS.md"
GOLDEN = ROOT / "tests" / "unit" / "files_project" / "golden"

#: Every key there ever was: the first format with it, class and field, and the classes that it leads to.
KEYS = GOLDEN.parent / "keys.txt"

#: Class by class the fields of a format, each with the classes that it leads to.
Known = dict[str, dict[str, tuple[str, ...]]]


def _inner(hint: Any) -> list[type[Any]]:
    """Return the classes and closed lists that a type hint leads to."""
    if isinstance(hint, type) and hint.__module__.startswith(("app.", "geometry.")):
        return [hint]
    return [cls for argument in get_args(hint) for cls in _inner(argument)]


def _reached(cls: type[Any], found: list[type[Any]]) -> list[type[Any]]:
    """Return a class and all that its fields lead to, each once, in the order of the file."""
    if cls not in found:
        found.append(cls)
        if not issubclass(cls, Enum):
            for hint in get_type_hints(cls).values():
                for inner in _inner(hint):
                    _reached(inner, found)
    return found


def golden(written: int) -> Path:
    """Return the golden file of a format."""
    return GOLDEN / f"format-{written}.blankwright"


def keys_today() -> Known:
    """Return the keys of today's schema."""
    return {
        cls.__name__: {name: tuple(c.__name__ for c in inner(h)) for name, h in hints_of(cls).items()}
        for cls in _reached(Project, [])
        if is_dataclass(cls)
    }


def keys_of(written: int) -> Known:
    """Return the keys that a format knows, as they were noted when it was the newest."""
    known: Known = {}
    for line in KEYS.read_text("utf-8").splitlines():
        since, key, *leads = line.split()
        cls, _, field = key.partition(".")
        if int(since) <= written:
            known.setdefault(cls, {})[field] = tuple(leads)
    return known


def _note_keys() -> None:
    before = keys_of(FORMAT - 1)
    kept = [x for x in KEYS.read_text("utf-8").splitlines() if int(x.split()[0]) < FORMAT]
    new = [
        " ".join([str(FORMAT), f"{cls}.{field}", *leads])
        for cls, held in keys_today().items()
        for field, leads in held.items()
        if field not in before.get(cls, {})
    ]
    KEYS.write_text("\n".join([*kept, *new]) + "\n", "utf-8")


def _default(field: Any) -> str:
    """Return what stands for a key that is left out, empty where it must be given."""
    if field.default is MISSING:
        return "" if field.default_factory is MISSING else " = {}"
    return " = its defaults" if is_dataclass(field.default) else f" = {json.dumps(field.default)}"


def schema_text() -> str:
    """Return the schema as text: every class with its keys in order, what they hold, and their defaults."""
    lines = []
    for cls in _reached(Project, []):
        if issubclass(cls, Enum):
            continue
        lines.append(f"{cls.__name__} in {cls.__module__}")
        hints = get_type_hints(cls)
        lines += [f"  {f.name}: {described(hints[f.name])}{_default(f)}" for f in fields(cls)]
    return "\n".join(lines) + "\n"


def block(name: str, text: str) -> str:
    """Return the code block called `name` in a Markdown text.

    Raises:
        ValueError: there is none.
    """
    match = re.search(_pattern(name), text, re.DOTALL)
    if match is None:
        raise ValueError(f"no block {name!r}")
    return match[2]


def _pattern(name: str) -> str:
    if name == "caps":  # a table as it is
        return r"(<!-- caps -->\n\n)((?:\|[^\n]*\n)*)()"
    return rf"(<!-- {name} -->\n```[a-z]*\n)(.*?)(```\n)"


def _write() -> None:
    golden(FORMAT).write_bytes(dumps(every_class()))
    _note_keys()
    text = DEVELOPERS.read_text("utf-8")
    for name, content in (
        ("schema", schema_text()),
        ("example", dumps(compact()).decode()),
        ("caps", table()),
    ):
        block(name, text)
        text = re.sub(_pattern(name), lambda m, c=content: m[1] + c + m[3], text, flags=re.DOTALL)  # type: ignore[misc]
    DEVELOPERS.write_text(text, "utf-8")


if __name__ == "__main__":
    _write()
