"""Machine code for the loops of the live readings, made by numba on first use and kept on disk.

A compiled function takes numbers and arrays and loops in plain scalar code; with NUMBA_DISABLE_JIT=1 in the
environment the same lines run as ordinary Python, slow, for a debugger or a coverage run.

numba keeps code by the date and size of the file that a function stands in. That misses a change in another
file that it calls, and dates of installed files are no proof: the code is kept in a folder named for the
digest of all sources here, so that other sources never find it.
"""

from __future__ import annotations

import contextlib
import hashlib
import importlib
import os
import shutil
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar, cast

import numba
from numba.core import codegen

Function = TypeVar("Function", bound=Callable[..., Any])


_PACKAGE = Path(__file__).parent


def _load_without(left_out: str, module: str) -> None:
    """Load a module, where there is one, that does without another which it asks for."""
    modules: dict[str, Any] = sys.modules
    if left_out in modules:
        return
    modules[left_out] = None  # so Python is told that a module cannot be loaded
    try:
        with contextlib.suppress(ImportError):
            importlib.import_module(module)
    finally:
        del modules[left_out]


# For products of matrices, which no loop here has, it would load BLAS and with it all of scipy.linalg: a
# tenth of a second of every start. Convolutions, too, are then compiled as plain loops.
_load_without("scipy.linalg.cython_blas", "numba.np.arraymath")


def _sources() -> list[Path]:
    """Return every source that compiled code can come from: all but geometry.strength.

    That folder compiles nothing and no other may import it, so its sources change no machine code.
    """
    return sorted(set(_PACKAGE.rglob("*.py")) - set((_PACKAGE / "strength").rglob("*.py")))


def _digest() -> str:
    """Return the digest of all sources."""
    found = hashlib.sha256()
    for source in _sources():
        found.update(source.relative_to(_PACKAGE).as_posix().encode())
        found.update(source.read_bytes())
    return found.hexdigest()[:16]


#: Names the folder of the parent to a child that has no home of its own.
KEPT_IN = "BLANKWRIGHT_KERNELS"


def _folder() -> Path | None:
    """Return where machine code is kept: where a parent keeps it, beside the sources, else the user's cache.

    None where nothing can be written; code is then made anew by every process.
    """
    given = os.environ.get(KEPT_IN)
    if given:
        return Path(given)
    beside = _PACKAGE / "__pycache__"
    if sys.platform == "win32":
        user = Path(os.environ.get("LOCALAPPDATA", Path.home() / "AppData" / "Local"))
    else:
        user = Path(os.environ.get("XDG_CACHE_HOME", Path.home() / ".cache"))
    for parent in (beside, user / "blankwright"):
        with contextlib.suppress(OSError):
            folder = parent / f"kernels-{_digest()}"
            folder.mkdir(parents=True, exist_ok=True)
            if os.access(folder, os.W_OK):
                return folder
    return None


_KEPT = _folder()
if _KEPT is not None:
    numba.config.CACHE_DIR = str(_KEPT)


def kept_in() -> str:
    """Return the folder of machine code, empty where there is none."""
    return "" if _KEPT is None else str(_KEPT)


def compiled(function: Function) -> Function:
    """Return the function as machine code; division by zero gives infinity or NaN, as in numpy.

    No second way in is made, which C libraries alone would take.
    """
    made = numba.njit(cache=_KEPT is not None, error_model="numpy", nogil=True, no_cfunc_wrapper=True)
    return cast(Function, made(function))


def _mark() -> Path | None:
    """Return the file that says that all code is made: for this Python, numba, processor and these sources.

    numba looks for code by place, date and size of the sources: of a second installation, or of the same one
    installed anew, it finds none, whatever lies in the folder.
    """
    made_for = hashlib.sha256()
    made_for.update(f"{codegen.ll.get_host_cpu_name()} {codegen.get_host_cpu_features()}".encode())
    for source in _sources():
        stamp = source.stat()
        made_for.update(f"\n{source} {stamp.st_mtime_ns} {stamp.st_size}".encode())
    name = f"prepared-{sys.implementation.cache_tag}-{numba.__version__}-{made_for.hexdigest()[:8]}"
    return _KEPT and _KEPT / name


def is_prepared() -> bool:
    """Return False where code must still be made: on the first start with these sources."""
    mark = _mark()
    return numba.config.DISABLE_JIT or (mark is not None and mark.exists())


def set_prepared() -> None:
    """Remember that all code is made, and drop what earlier sources left."""
    mark = _mark()
    if mark is None or _KEPT is None:
        return
    with contextlib.suppress(OSError):
        mark.touch()
        for old in _KEPT.parent.glob("kernels-*"):
            if old != _KEPT:
                shutil.rmtree(old, ignore_errors=True)
