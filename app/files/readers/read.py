"""Reading a foreign file from the outside: starts the child process, waits, and trusts only its numbers."""

from __future__ import annotations

import contextlib
import json
import math
import os
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import asdict, replace
from pathlib import Path
from typing import BinaryIO, TypedDict, Unpack

import msgspec

from app.files.atomic import is_running
from app.files.readers import late
from app.files.readers.answer import (
    AXLES,
    LEAST_BALL_MM,
    POINTS,
    SIDES,
    UNITS,
    CancelledError,
    ReadError,
    ReadOutline,
    Request,
    one_line,
    plain,
)
from app.files.readers.worker import READY, SUFFIXES, limits_of
from app.resources import program
from geometry.compiled import KEPT_IN, is_prepared, kept_in

__all__ = ["SUFFIXES", "CancelledError", "ReadError", "ReadOutline", "read_outline"]

#: The window's clock: how often a waiting read looks whether it was cancelled.
_LOOK_S = 0.05

#: What a child may take to get ready where machine code has not been made on this machine, s: some ten times
#: what it takes on a common one.
PREPARING_S = 300.0

#: What the child keeps of the environment: enough to start an interpreter, nothing that leads to a home.
_KEPT = ("PATH", "LD_LIBRARY_PATH", "DYLD_LIBRARY_PATH", "SYSTEMROOT", "WINDIR")


#: A child's home in the folder for such, then the parent's process.
_HOME = "blankwright-reader-"

#: Signals that end a process at a fault of its own.
_FAULTS = (signal.SIGSEGV, signal.SIGABRT, signal.SIGFPE, signal.SIGILL)

#: Probe balls are a few millimetres large.
LARGEST_BALL_MM = 50.0


class Options(TypedDict, total=False):
    """How a file is to be read: the fields of Request that a caller may set."""

    unit: str | None
    side: str
    layers: tuple[str, ...]
    colours: tuple[str, ...]
    kinds: tuple[str, ...]
    join_mm: float
    close: bool
    mirror: bool
    drop_open: bool
    axle: str
    axle_named: bool
    axle_at: tuple[float, float]
    bodies: tuple[int, ...]
    points: str
    columns: tuple[str, ...]
    sheet: str
    ball_mm: float
    quantile: float


class _Answer(msgspec.Struct, forbid_unknown_fields=True):
    """What the child may say when it fails."""

    error: str


def read_outline(
    path: Path, *, cancelled: Callable[[], bool] | None = None, **how: Unpack[Options]
) -> ReadOutline:
    """Return what a foreign file holds.

    Args:
        path: a file of one of SUFFIXES.
        cancelled: asked about 20 times a second; True ends the read.
        how: the fields of Request but for the suffix. Where the unit is neither given nor stated in the file,
            the answer's unit is "not known" and its lengths are the file's.

    Raises:
        ReadError: one line that says what is wrong, where, and how to mend it.
        CancelledError: `cancelled` returned True.
    """
    request = Request(path.suffix.lower(), **how)
    name = plain(path.name)
    try:
        _check(request, path)
        with path.open("rb") as file:
            answer = _ask(file, request, limits_of(request.suffix).seconds, cancelled)
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
        raise ReadError(f"the unit {plain(request.unit)!r} is not known; it is {', '.join(UNITS)}")
    for word, words in ((request.side, SIDES), (request.axle, AXLES), (request.points, POINTS)):
        if word not in words:
            raise ReadError(f"{plain(word)!r} is not known here; it is one of {', '.join(words)}")
    if not (request.ball_mm == 0.0 or LEAST_BALL_MM <= request.ball_mm < LARGEST_BALL_MM):
        raise ReadError(
            f"a probe ball of radius {request.ball_mm:g} mm is none; it is 0, or {LEAST_BALL_MM:g} to "
            f"{LARGEST_BALL_MM:g}"
        )
    if not 0.5 <= request.quantile <= 1.0:
        raise ReadError(f"a share of {request.quantile:g} of the points is no envelope; it is 0.5 to 1")
    if not all(map(math.isfinite, request.axle_at)):
        raise ReadError("the place of the axle line is not a number")
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


def _ask(
    file: BinaryIO, request: Request, seconds: float, cancelled: Callable[[], bool] | None
) -> ReadOutline:
    arguments, begun, was_prepared = [json.dumps(asdict(request))], time.monotonic(), is_prepared()
    out, code = ask_child(arguments, file, seconds, cancelled)
    if code == late.CODE:
        file.seek(0)
        # A first child that made machine code had its own time for that, which is not the file's.
        spent = time.monotonic() - begun if was_prepared else 0.0
        out, code = ask_child([*arguments, late.WORD], file, seconds, cancelled, spent)
    return _decoded(out, code)


def sweep_homes() -> list[Path]:
    """Remove what killed processes of this user left of their readers in the folder for such; return it.

    The operating system may do so too, some day; until then imported files may lie there.
    """
    removed = []
    for folder in Path(tempfile.gettempdir()).glob(f"{_HOME}*"):
        with contextlib.suppress(OSError):
            pid = folder.name.removeprefix(_HOME).partition("-")[0]
            is_ours = not hasattr(os, "getuid") or folder.lstat().st_uid == os.getuid()
            if pid.isdecimal() and is_ours and not folder.is_symlink() and not is_running(int(pid)):
                shutil.rmtree(folder)
                removed.append(folder)
    return removed


def ask_child(
    arguments: Sequence[str],
    file: BinaryIO,
    seconds: float,
    cancelled: Callable[[], bool] | None,
    spent: float = 0.0,
) -> tuple[bytes, int]:
    """Return what the reader's child process writes for a file on its standard input, and its exit code.

    Args:
        arguments: of the child, behind the one that makes it a reader.
        file: what it reads.
        seconds: of the clock, after which it is killed; where machine code must still be made, it starts when
            that is done.
        cancelled: as in `read_outline`.
        spent: of the seconds, by a child before.

    Raises:
        ReadError: it took too long.
        CancelledError: `cancelled` returned True.
    """
    prefix = f"{_HOME}{os.getpid()}-"
    with tempfile.TemporaryDirectory(prefix=prefix, ignore_cleanup_errors=True) as home:
        ready = None if is_prepared() else Path(home, "ready")
        with subprocess.Popen(
            [*program("--reader"), *arguments],
            stdin=file,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            cwd=home,
            env=_environment(home) | ({} if ready is None else {READY: str(ready)}),
        ) as child:
            try:
                out = _wait(child, seconds, spent, ready, cancelled)
            finally:
                child.kill()
    return out, child.returncode


def _environment(home: str) -> dict[str, str]:
    kept = {name: os.environ[name] for name in _KEPT if name in os.environ}
    places = ("HOME", "USERPROFILE", "TMPDIR", "TEMP", "TMP", "XDG_CACHE_HOME", "XDG_CONFIG_HOME")
    # Machine code lies beside the program or in the user's cache, which the child's home is not.
    # Threads of a numeric library take memory by the number of processors, and one file has no use for them.
    return kept | dict.fromkeys(places, home) | {KEPT_IN: kept_in(), "OPENBLAS_NUM_THREADS": "1"}


def _wait(
    child: subprocess.Popen[bytes],
    seconds: float,
    spent: float,
    ready: Path | None,
    cancelled: Callable[[], bool] | None,
) -> bytes:
    end = time.monotonic() + seconds - spent + (0.0 if ready is None else PREPARING_S)
    while True:
        try:
            return child.communicate(timeout=_LOOK_S)[0]
        except subprocess.TimeoutExpired:
            if cancelled is not None and cancelled():
                raise CancelledError("reading was cancelled") from None
            if ready is not None and ready.exists():
                ready, end = None, time.monotonic() + seconds - spent
            if time.monotonic() > end:
                raise ReadError(f"reading took over {seconds:.3g} s and was stopped; export less") from None


def _decoded(out: bytes, code: int) -> ReadOutline:
    """Return the child's answer; msgspec refuses numbers that are not finite and unknown fields."""
    if code == 0:
        with contextlib.suppress(msgspec.MsgspecError):
            return msgspec.json.decode(out, type=ReadOutline)
    raise ReadError(error_said(out, code, "export the outline alone"))


def error_said(out: bytes, code: int, mend: str) -> str:
    """Return what a child that gave no answer says is wrong, or how it ended and what to do about it."""
    try:
        error = msgspec.json.decode(out, type=_Answer).error
    except msgspec.MsgspecError:
        if -code in _FAULTS:
            error = (
                f"the reader broke down over the file (code {code}): it is likely damaged; export it again"
            )
        else:
            error = f"the reader ended without an answer (code {code}), at a limit of memory or time; {mend}"
    return one_line(error)
