"""Reading a picture to be traced: decoded in the child process, handed back as bare pixels."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import asdict, dataclass
from pathlib import Path

import msgspec

from app.files.readers.answer import CancelledError, ReadError, one_line, plain
from app.files.readers.limits import PICTURE
from app.files.readers.read import ask_child, error_said
from app.files.readers.worker import PICTURE as ASK_FOR_PICTURE

#: The suffixes of pictures that can be traced.
PICTURE_SUFFIXES = (".png", ".jpg", ".jpeg", ".pdf")

_MEND = "save the picture smaller, as PNG"


@dataclass(frozen=True)
class PictureRequest:
    """Which picture is wanted.

    Attributes:
        suffix: of the file's name, lower case with its point.
        page: of a PDF, from 0.
    """

    suffix: str
    page: int = 0


class PictureHead(msgspec.Struct, forbid_unknown_fields=True):
    """What the child says of the pixels that follow, one line of JSON.

    Attributes:
        width, height: of what is handed back, in pixels, upper left first, row by row.
        channels: bytes to a pixel: 1 for grey, 3 for red, green, blue.
        full_width, full_height: of the picture in the file; of a PDF page what it was drawn at.
        pages: of a PDF; 1 for a picture.
        sha256: of the file.
        notes: what was done to it, one sentence each.
    """

    width: int
    height: int
    channels: int
    full_width: int
    full_height: int
    pages: int
    sha256: str
    notes: list[str]


@dataclass(frozen=True, eq=False)
class Picture:
    """A picture as it came, and its pixels."""

    head: PictureHead
    pixels: bytes
    file_name: str
    page: int


def read_picture(path: Path, page: int = 0, cancelled: Callable[[], bool] | None = None) -> Picture:
    """Return a picture, or a page of a PDF, shrunk to what can be traced.

    Args:
        path: a file of one of PICTURE_SUFFIXES.
        page: of a PDF, from 0.
        cancelled: asked about 20 times a second; True ends the read.

    Raises:
        ReadError: one line that says what is wrong, and how to mend it.
        CancelledError: `cancelled` returned True.
    """
    request = PictureRequest(path.suffix.lower(), page)
    name = plain(path.name)
    try:
        _check(request, path)
        with path.open("rb") as file:
            arguments = [ASK_FOR_PICTURE, json.dumps(asdict(request))]
            out, code = ask_child(arguments, file, PICTURE.seconds, cancelled)
    except OSError as error:
        raise ReadError(f"{name}: cannot be opened: {error.strerror or error}; check the path") from error
    except CancelledError:
        raise
    except ReadError as error:
        raise ReadError(one_line(f"{name}: {error}")) from None
    line, _, pixels = out.partition(b"\n")
    head = _head(line, len(pixels)) if code == 0 else None
    if head is None:
        raise ReadError(one_line(f"{name}: {error_said(out, code, _MEND)}"))
    return Picture(head, pixels, path.name, page)


def _check(request: PictureRequest, path: Path) -> None:
    """Refuse what needs no child process to be refused."""
    if request.suffix not in PICTURE_SUFFIXES:
        raise ReadError(f"files of this kind are no pictures to trace; bring {', '.join(PICTURE_SUFFIXES)}")
    if not path.exists():
        raise ReadError("there is no such file; check the path")
    if not path.is_file():
        raise ReadError("it is no ordinary file")
    size, most = path.stat().st_size, PICTURE.size_bytes
    if size > most:
        raise ReadError(
            f"the file has {size / 1e6:.0f} MB, more than the {most // 1_000_000} MB that are read; "
            "save the picture smaller, or its page alone"
        )


def _head(line: bytes, count: int) -> PictureHead | None:
    """Return the child's head if the pixels that came are those it speaks of."""
    try:
        head = msgspec.json.decode(line, type=PictureHead)
    except msgspec.MsgspecError:
        return None
    is_sound = (
        head.width > 0
        and head.height > 0
        and head.channels in (1, 3)
        and head.width * head.height <= PICTURE.points
        and head.width * head.height * head.channels == count
        and head.pages > 0
    )
    return head if is_sound else None
