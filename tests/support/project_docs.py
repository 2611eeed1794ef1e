"""What is made from the schema: the golden file of the newest format, and a part of DEVELOPERS.md.

Run as `python -m tests.support.project_docs` to write both anew.
"""

from __future__ import annotations

import json
import re
from dataclasses import MISSING, fields, is_dataclass
from enum import Enum
from pathlib import Path
from typing import Any, get_args, get_type_hints

from app.files.migrations import FORMAT
from app.files.project_file import dumps
from app.files.schema import described
from app.project.project import Project
from tests.support.projects import compact, every_class

ROOT = Path(__file__).resolve().parents[2]
DEVELOPERS = ROOT / "DEVELOPERS.md"
GOLDEN = ROOT / "tests" / "unit" / "files_project" / "golden"


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
    return rf"(<!-- {name} -->\n```[a-z]*\n)(.*?)(```\n)"


def _write() -> None:
    (GOLDEN / f"format-{FORMAT}.blankwright").write_bytes(dumps(every_class()))
    text = DEVELOPERS.read_text("utf-8")
    for name, content in (("schema", schema_text()), ("example", dumps(compact()).decode())):
        block(name, text)
        text = re.sub(_pattern(name), lambda m, c=content: m[1] + c + m[3], text, flags=re.DOTALL)  # type: ignore[misc]
    DEVELOPERS.write_text(text, "utf-8")


if __name__ == "__main__":
    _write()
