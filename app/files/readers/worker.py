"""The child process that reads one foreign file, and can be killed.

It gets the file on its standard input and the request as its argument, limits itself before it looks at a
byte, and writes one line of JSON with finite numbers: the outline, or what is wrong. Where it would need more
than it has loaded by then, it writes nothing and ends with a code of its own (`late.py`).
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import math
import os
import sys
import time
from collections.abc import Sequence
from dataclasses import asdict
from importlib import import_module
from pathlib import Path

import msgspec

from app.files.readers import late
from app.files.readers.answer import ReadError, ReadOutline, Request, one_line
from app.files.readers.limits import DRAWING, MESH, OPEN_FILES, STEP, TABLE, WORKBOOK, Limits

#: Suffix to the module and function that read it, imported when asked for, and what such a file may take.
_READERS: dict[str, tuple[str, str, Limits]] = {
    ".dxf": ("app.files.readers.dxf", "read_dxf", DRAWING),
    ".svg": ("app.files.readers.svg", "read_svg", DRAWING),
    **dict.fromkeys(
        (".csv", ".txt", ".tsv", ".dat", ".xyz", ".asc"), ("app.files.readers.table", "read_table", TABLE)
    ),
    ".xlsx": ("app.files.readers.xlsx", "read_xlsx", WORKBOOK),
    **dict.fromkeys((".stl", ".obj", ".ply", ".3mf"), ("app.files.readers.mesh", "read_mesh", MESH)),
    **dict.fromkeys((".step", ".stp"), ("app.files.readers.step", "read_step", STEP)),
}

#: The suffixes that can be read.
SUFFIXES = tuple(_READERS)

#: Where machine code must still be made: names the file that a child makes when that is done and it is ready
#: to read, from when on its parent's clock runs.
READY = "BLANKWRIGHT_READY"

#: First argument where a picture is asked for, to be traced by a person, instead of an outline.
PICTURE = "picture"

#: First argument where the cells of a workbook are asked for, as texts.
CELLS = "cells"


def limits_of(suffix: str) -> Limits:
    """Return what a file of this kind may take."""
    return _READERS[suffix][2] if suffix in _READERS else TABLE


def read(data: bytes, request: Request) -> ReadOutline:
    """Return the outline in the bytes of a foreign file, in this process.

    Raises:
        ReadError: the file gives no outline.
    """
    if request.suffix not in _READERS:
        raise ReadError(f"files of the kind {request.suffix!r} are not read; bring {', '.join(SUFFIXES)}")
    if not data.strip():
        raise ReadError("the file is empty")
    size = limits_of(request.suffix).size_bytes
    if len(data) > size:
        raise ReadError(f"the file is larger than {size // 1_000_000} MB; export the outline alone")
    module, function, _ = _READERS[request.suffix]
    reader = getattr(import_module(module), function)
    found: ReadOutline = reader(data, request, hashlib.sha256(data).hexdigest())
    return found


def main(argv: Sequence[str]) -> int:
    """Read standard input as the request in argv[0] asks, write the answer, return 0, or 2 for an error."""
    if list(argv[:1]) == [PICTURE]:
        from app.files.readers import picture

        return picture.main(argv[1:], _limit_this_process)
    if list(argv[:1]) == [CELLS]:
        from app.files.readers import workbook_cells

        return workbook_cells.main(argv[1:], _limit_this_process)
    try:
        text, *words = argv or ("",)
        request = _request(text)
        limits = limits_of(request.suffix)
        if request.suffix in _READERS:
            _load(request, limits, is_whole=late.WORD in words)
        _limit_this_process(limits)
        answer = asdict(read(sys.stdin.buffer.read(limits.size_bytes + 1), request))
        text = json.dumps(answer, allow_nan=False, separators=(",", ":"))
    except ReadError as error:
        text = json.dumps({"error": one_line(str(error))})
    except late.NotLoadedError:
        return late.CODE
    except MemoryError:
        text = json.dumps({"error": "the file asks for more memory than a reader may take; export less"})
    sys.stdout.write(text)
    sys.stdout.flush()
    return 2 if text.startswith('{"error"') else 0


def _load(request: Request, limits: Limits, is_whole: bool) -> None:
    """Load all that reading may need, before the limits: libraries open files, and may make machine code."""
    import_module(_READERS[request.suffix][0])
    is_first = READY in os.environ
    if limits in (MESH, STEP) or is_first:
        from app.files.readers import mesh

        mesh.prepare(is_fitted=is_first or request.axle == "fitted")
    is_table = limits in (TABLE, WORKBOOK)
    asks = request.points == "cloud" or request.axle == "fitted" or request.ball_mm
    is_whole = bool(is_whole or is_first or (is_table and asks))
    if is_whole:
        late.load(is_fitted=request.axle == "fitted")
    late.shut(is_whole or limits in (MESH, STEP))


def _request(text: str) -> Request:
    try:
        return msgspec.json.decode(text, type=Request)
    except (ValueError, msgspec.MsgspecError):
        raise ReadError("the reader takes its request as JSON") from None


def _limit_this_process(limits: Limits) -> None:
    """Set the system's limits, where it has them; the parent's clock ends the process everywhere.

    Both count from here on, and not what it took to get ready.
    """
    if READY in os.environ:
        Path(os.environ[READY]).touch()
    with contextlib.suppress(ImportError):
        import resource

        for kind, most in (
            (resource.RLIMIT_AS, limits.memory_bytes),
            (resource.RLIMIT_CPU, math.ceil(time.process_time() + limits.seconds)),
            (resource.RLIMIT_FSIZE, limits.written_bytes),
            (resource.RLIMIT_NOFILE, OPEN_FILES),
        ):
            # A system that refuses one of them, or has a lower one, keeps its own.
            with contextlib.suppress(ValueError, OSError):
                resource.setrlimit(kind, (most, most))
