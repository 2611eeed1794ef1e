"""Standard output and error that no name or text of a file can command a terminal through."""

from __future__ import annotations

import contextlib
import sys
from collections.abc import Iterable, Iterator, Mapping
from typing import Any, TextIO, cast

#: What a terminal obeys in place of showing it (ECMA-48: C0 without tab and line end, DEL, C1), and what
#: turns the direction of writing (Unicode, annex 9).
_OBEYED = (
    *(n for n in range(0x20) if chr(n) not in "\t\n"),
    *range(0x7F, 0xA0),
    *range(0x202A, 0x202F),
    *range(0x2066, 0x206A),
)
_TEXT = dict.fromkeys(_OBEYED, "?")
#: The same text to whoever reads the JSON.
_JSON = {n: f"\\u{n:04x}" for n in _OBEYED}


class _Shown:
    """A stream through a table of signs."""

    def __init__(self, stream: TextIO, table: Mapping[int, str]) -> None:
        self._stream, self._table = stream, table

    def write(self, text: str) -> int:
        """Write a text, and return how much of it was taken."""
        back = text[: text.startswith("\r")]  # progress goes back to the start of its line
        self._stream.write(back + text[len(back) :].translate(self._table))
        return len(text)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)


@contextlib.contextmanager
def shown(is_json: bool) -> Iterator[None]:
    """Let what is printed be shown and not obeyed, as long as this lasts.

    Args:
        is_json: signs become escapes, which mean the same; else question marks.
    """
    out = cast(TextIO, _Shown(sys.stdout, _JSON if is_json else _TEXT))
    errors = cast(TextIO, _Shown(sys.stderr, _TEXT))
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(errors):
        yield


def printed(lines: Iterable[str]) -> str:
    """Return lines below each other; a name or text of a file that holds line ends begins none of its own."""
    return "\n".join(" ".join(line.splitlines()) for line in lines)
