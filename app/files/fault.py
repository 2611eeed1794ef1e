"""What is said of an unexpected error: on the screen in full, in a report without anything private.

The report names the kind of error, the places in the code, the program and the machine. It leaves out the
error's own words, since these may quote a name or a number of the project, and every folder.
"""

from __future__ import annotations

import errno
import sysconfig
import traceback
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType

from app.files import system

_MOST_FRAMES = 40
_MOST_WORDS = 400

#: Code is named relative to these; of any other file the name alone is said.
_ROOTS = tuple(
    sorted(
        {
            Path(__file__).resolve().parents[2],
            *(Path(sysconfig.get_path(name)).resolve() for name in ("purelib", "platlib", "stdlib")),
        },
        key=lambda path: -len(path.parts),
    )
)


@dataclass(frozen=True)
class Fault:
    """An unexpected error.

    Attributes:
        words: its kind and its own words in one line, for the screen alone.
        place: where in the code it was raised.
        trace: kinds and places from the outside in, of its causes too, without anything private.
    """

    words: str
    place: str
    trace: str

    @property
    def key(self) -> tuple[str, str]:
        """Errors with the same key are one fault that is repeated."""
        return self.words.partition(":")[0], self.place


def fault(error: BaseException, trace: TracebackType | None = None) -> Fault:
    """Return what is said of an error; `trace` is where it was caught, if it is not its own."""
    words = " ".join(str(error).split())[:_MOST_WORDS]
    kind = type(error).__name__
    frames = list(_frames(trace or error.__traceback__))
    parts = [_part(each, trace if each is error else None) for each in _chain(error)]
    return Fault(
        f"{kind}: {words}" if words else kind,
        frames[-1][0] if frames else "unknown place",
        "\n".join(parts),
    )


def report(faults: list[tuple[Fault, int]]) -> str:
    """Return a report of faults, each with how often it came, and of the program and the machine."""
    lines = [f"Blankwright {system.program_version()}: unexpected error"]
    for each, count in faults:
        lines += ["", each.trace, *([f"({count} times)"] if count > 1 else [])]
    return "\n".join([*lines, "", *system.lines(), ""])


def _chain(error: BaseException) -> list[BaseException]:
    """Return an error's causes from the first on, and it."""
    found: list[BaseException] = []
    now: BaseException | None = error
    while now is not None and now not in found:
        found.append(now)
        now = now.__cause__ or (None if now.__suppress_context__ else now.__context__)
    return found[::-1]


def _part(error: BaseException, trace: TracebackType | None) -> str:
    lines = [line for frame in _frames(trace or error.__traceback__) for line in frame if line]
    kind = f"{type(error).__module__}.{type(error).__qualname__}".removeprefix("builtins.")
    return "\n".join([*lines, kind + _detail(error)])


def _detail(error: BaseException) -> str:
    """Return what an error says by itself of the code or the system, not of the work."""
    if isinstance(error, AttributeError) and error.name is not None:
        return f" (no attribute {error.name} of {type(error.obj).__name__})"
    if isinstance(error, NameError) and error.name is not None:
        return f" (no name {error.name})"
    if isinstance(error, OSError) and error.errno is not None:
        return f" ({errno.errorcode.get(error.errno, error.errno)})"
    return ""


def _frames(trace: TracebackType | None) -> Iterator[tuple[str, str]]:
    """Yield place and line of code of each frame, from the outside in; of very many the innermost."""
    for frame in traceback.extract_tb(trace)[-_MOST_FRAMES:]:
        yield (
            f"{_relative(frame.filename)}:{frame.lineno} {frame.name}",
            f"    {frame.line}" if frame.line else "",
        )


def _relative(name: str) -> str:
    path = Path(name)
    for root in _ROOTS:
        for each in (path, path.resolve()):
            if each.is_relative_to(root):
                return each.relative_to(root).as_posix()
    return path.name
