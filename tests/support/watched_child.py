"""The reading child with an audit hook: notes what it touches beside its own code and its two pipes.

Run by tests in place of the program, as `python -I watched_child.py ROOT NOTES REQUEST...`. Notes are lines
of JSON, written at once, so that they outlive a kill: `["touched", event, arguments]`, at the end
`["peak", bytes of address space]`.
"""

import json
import os
import re
import sys
from pathlib import Path

ROOT, NOTES, *REQUEST = sys.argv[1:]
sys.path.insert(0, ROOT)
_STATUS = os.open("/proc/self/status", os.O_RDONLY) if Path("/proc/self/status").exists() else -1
_NOTES = os.open(NOTES, os.O_WRONLY | os.O_CREAT | os.O_APPEND)

#: Families of audit events that leave the process, as the standard library's table has them.
_FAMILIES = frozenset(
    {
        "open",
        "os",
        "socket",
        "subprocess",
        "shutil",
        "ctypes",
        "urllib",
        "tempfile",
        "sqlite3",
        "ftplib",
        "http",
    }
    | {"pty", "resource", "signal", "glob", "pathlib", "compile", "exec", "webbrowser", "mmap"}
)

#: Code of the installation may be loaded late; asking where it lies touches folders of that code alone.
_CODE = tuple(
    os.path.realpath(folder) + os.sep for folder in {ROOT, sys.prefix, sys.base_prefix, *sys.path} if folder
)
_CODE_ENDS = (".py", ".pyc", ".so", ".pyd", ".nbi", ".nbc")


def _note(*what: object) -> None:
    os.write(_NOTES, (json.dumps(what, default=repr) + "\n").encode())


def _is_code(event: str, arguments: tuple[object, ...]) -> bool:
    """Whether an event only loads code of this installation."""
    if event in ("compile", "exec", "os.fspath"):
        return event == "os.fspath" or _loads_module()
    if not arguments or not isinstance(arguments[0], str | bytes):
        return event == "os.listdir" and _loads_module()
    path = os.path.realpath(os.fsdecode(arguments[0]))
    reads = event != "open" or arguments[1] in (None, "r", "rb")
    if not reads or not path.startswith(_CODE):
        return False
    return path.endswith(_CODE_ENDS) if event == "open" else event in ("os.listdir", "os.scandir")


def _loads_module() -> bool:
    frame = sys._getframe()
    while frame is not None:
        if "importlib" in frame.f_code.co_filename:
            return True
        frame = frame.f_back  # type: ignore[assignment]
    return False


def _hook(event: str, arguments: tuple[object, ...]) -> None:
    if event.split(".")[0] in _FAMILIES and not _is_code(event, arguments):
        _note("touched", event, [repr(a)[:200] for a in arguments])


def _watch() -> int:
    from importlib import import_module

    from app.files.readers import worker
    from app.files.readers.limits import Limits

    limit = worker._limit_this_process

    def limit_and_watch(limits: Limits) -> None:
        limit(limits)
        sys.addaudithook(_hook)

    worker._limit_this_process = limit_and_watch
    import_module("encodings.utf_8_sig")
    code = worker.main(REQUEST)
    if _STATUS >= 0:
        peak = re.search(rb"VmPeak:\s+(\d+) kB", os.pread(_STATUS, 4096, 0))
        _note("peak", int(peak[1]) * 1024 if peak else 0)
    return code


sys.exit(_watch())
