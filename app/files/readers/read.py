"""Reading a foreign file from the outside: starts the child process, waits, and trusts only its numbers."""

from __future__ import annotations

import json
import os
import subprocess
import tempfile
import time
from collections.abc import Callable
from dataclasses import asdict, replace
from pathlib import Path
from typing import BinaryIO

import msgspec

from app.files.readers.answer import (
    JOIN_MM,
    SIDES,
    UNITS,
    CancelledError,
    ReadError,
    ReadOutline,
    Request,
    one_line,
    plain,
)
from app.files.readers.worker import SUFFIXES, limits_of
from app.resources import program

__all__ = ["SUFFIXES", "CancelledError", "ReadError", "ReadOutline", "read_outline"]

#: The window's clock: how often a waiting read looks whether it was cancelled.
_LOOK_S = 0.05

#: What the child keeps of the environment: enough to start an interpreter, nothing that leads to a home.
_KEPT = ("PATH", "LD_LIBRARY_PATH", "DYLD_LIBRARY_PATH", "SYSTEMROOT", "WINDIR")


class _Answer(msgspec.Struct, forbid_unknown_fields=True):
    """What the child may say when it fails."""

    error: str


def read_outline(
    path: Path,
    *,
    unit: str | None = None,
    layer: str | tuple[str, ...] | None = None,
    join_mm: float = JOIN_MM,
    side: str = "nearest",
    close: bool = False,
    cancelled: Callable[[], bool] | None = None,
) -> ReadOutline:
    """Return the closed outlines in a foreign file.

    Args:
        path: a DXF drawing or a table of points (CSV).
        unit: "mm" or "in"; None takes what the file states. Where it states nothing the answer's unit is
            "not known" and its lengths are the file's; ReadOutline.loops_mm refuses them.
        layer: names of the layers to read; None reads all that are visible.
        join_mm: ends nearer than this belong together.
        side: "outward" keeps replaced curves outside the area (stay-out shapes), "inward" inside (blanks),
            "nearest" on both sides (wheels).
        close: join the ends of a single open outline by a straight line.
        cancelled: asked about 20 times a second; True ends the read.

    Raises:
        ReadError: one line that says what is wrong, where, and how to mend it.
        CancelledError: `cancelled` returned True.
    """
    layers = (layer,) if isinstance(layer, str) else layer or ()
    request = Request(path.suffix.lower(), unit, layers, join_mm, side, close)
    name = plain(path.name)
    try:
        _check(request, path)
        with path.open("rb") as file:
            answer = _ask(file, request, cancelled)
    except OSError as error:
        raise ReadError(f"{name}: cannot be opened: {error.strerror or error}; check the path") from error
    except CancelledError:
        raise
    except ReadError as error:
        raise ReadError(one_line(f"{name}: {error}")) from None
    return replace(answer, file_name=path.name)


def _check(request: Request, path: Path) -> None:
    """Refuse what needs no child process to be refused."""
    if request.unit is not None and request.unit not in UNITS:
        raise ReadError(f"the unit {plain(request.unit)!r} is not known; it is mm or in")
    if request.side not in SIDES:
        raise ValueError(f"side {request.side!r} is none of {SIDES}")
    if request.suffix not in SUFFIXES:
        raise ReadError(f"files of this kind are not read; bring {', '.join(SUFFIXES)}")
    if not 0.0 < request.join_mm < float("inf"):
        raise ReadError(f"a join distance of {request.join_mm:g} mm is no distance; it is more than 0")
    if not path.exists():
        raise ReadError("there is no such file; check the path")
    if not path.is_file():
        raise ReadError("it is no ordinary file")
    size, most = path.stat().st_size, limits_of(request.suffix).size_bytes
    if size > most:
        raise ReadError(
            f"the file has {size / 1e6:.0f} MB, more than the {most // 1_000_000} MB that are read; "
            "export the outline alone"
        )


def _ask(file: BinaryIO, request: Request, cancelled: Callable[[], bool] | None) -> ReadOutline:
    with (
        tempfile.TemporaryDirectory(prefix="blankwright-reader-", ignore_cleanup_errors=True) as home,
        subprocess.Popen(
            [*program("--reader"), json.dumps(asdict(request))],
            stdin=file,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            cwd=home,
            env=_environment(home),
        ) as child,
    ):
        try:
            out = _wait(child, limits_of(request.suffix).seconds, cancelled)
        finally:
            child.kill()
    return _decoded(out, child.returncode)


def _environment(home: str) -> dict[str, str]:
    kept = {name: os.environ[name] for name in _KEPT if name in os.environ}
    places = ("HOME", "USERPROFILE", "TMPDIR", "TEMP", "TMP", "XDG_CACHE_HOME", "XDG_CONFIG_HOME")
    return kept | dict.fromkeys(places, home)


def _wait(child: subprocess.Popen[bytes], seconds: float, cancelled: Callable[[], bool] | None) -> bytes:
    end = time.monotonic() + seconds
    while True:
        try:
            return child.communicate(timeout=_LOOK_S)[0]
        except subprocess.TimeoutExpired:
            if cancelled is not None and cancelled():
                raise CancelledError("reading was cancelled") from None
            if time.monotonic() > end:
                raise ReadError(f"reading took over {seconds:g} s and was stopped; export less") from None


def _decoded(out: bytes, code: int) -> ReadOutline:
    """Return the child's answer; msgspec refuses numbers that are not finite and unknown fields."""
    try:
        if code == 0:
            return msgspec.json.decode(out, type=ReadOutline)
        error = msgspec.json.decode(out, type=_Answer).error
    except msgspec.MsgspecError:
        error = (
            f"the reader ended without an answer (code {code}), at a limit of memory or time or by a fault; "
            "export the outline alone"
        )
    raise ReadError(one_line(error))
