"""The pages of the manual: Markdown with what the program itself knows put in, so that it stays true."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from app import resources
from app.language import language, spoken, tr
from app.project.caution import CAUTION
from app.views.explained import EXPLAINED
from app.window.commands import commands
from app.window.dialogs.keys import ON_THE_DRAWING
from app.window.key_bindings import native

if TYPE_CHECKING:
    from app.window.main_window import MainWindow

#: Name of each page and its title, in their order.
PAGES = {
    "start": tr("Start"),
    "drawing": tr("Drawing"),
    "parameters": tr("Parameters and constraints"),
    "readings": tr("Readings"),
    "blanks": tr("Blanks"),
    "programme": tr("Programme"),
    "strength": tr("Strength"),
    "files": tr("Files and recovery"),
    "commands": tr("Commands and keys"),
    "scripting": tr("Scripting"),
}

#: A script that a test runs as it stands here.
EXAMPLE = """from app import api

project = api.open_sample("1-track-18-own-blank")
wheel = api.wheel(project, "Track 18")
for inset_mm in (37.0, 38.0, 39.0):
    changed = api.with_inset(wheel, inset_mm)
    found = api.measure(api.with_wheel(project, changed), wheel.name)
    print(inset_mm, found.least_gap.zone, found.least_gap.least_mm, found.state)"""

_FIELD = re.compile(r"\{([a-z ]+)(?::([a-z_]+))?\}")


def page(name: str, window: MainWindow) -> str:
    """Return a page as Markdown, with the keys that hold in a window now.

    Raises:
        KeyError: there is no such page, or it names what the program does not know.
    """
    text = resources.manual(name, language()).read_text(encoding="utf-8")
    made: dict[str, Callable[[], str]] = {
        "caution": lambda: spoken(CAUTION),
        "readings": _readings,
        "commands": lambda: _commands(window),
        "drawing keys": lambda: _table((tr("On the drawing"), tr("Key or mouse")), ON_THE_DRAWING),
        "example": lambda: EXAMPLE,
        "api": _api,
    }

    def put(found: re.Match[str]) -> str:
        what, of = found.groups()
        if what == "key":
            return f"**{native(window.keys.key(of)) or tr('no key')}**"
        return made[what]()

    return _FIELD.sub(put, text)


def _table(heads: tuple[str, ...], rows: Sequence[tuple[str, ...]]) -> str:
    lines = [heads, ("---",) * len(heads), *rows]
    return "\n".join("| " + " | ".join(cell.replace("|", "/") for cell in line) + " |" for line in lines)


def _readings() -> str:
    return "\n\n".join(
        tr(
            "### {name}\n\n{definition}\n\n*How:* {formula}\n\n*Rests on:* {source}",
            name=e.name,
            definition=e.definition,
            formula=e.formula,
            source=e.source,
        )
        for e in EXPLAINED.values()
    )


def _commands(window: MainWindow) -> str:
    return _table(
        (tr("Command"), tr("Where"), tr("Key")), [(c.words, c.place, c.key) for c in commands(window)]
    )


def _api() -> str:
    from app import api

    functions = [getattr(api, name) for name in api.__all__ if name.islower()]
    rows = [(f"`{f.__name__}`", str(f.__doc__).strip().splitlines()[0]) for f in functions]
    return _table((tr("Function"), tr("Does")), rows)
