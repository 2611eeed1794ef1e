"""One input read in this process, as the child and its parent would read it, and how that ended."""

from __future__ import annotations

import contextlib
import faulthandler
import json
import os
import signal
import sys
import time
import traceback
import warnings
from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass
from pathlib import Path

import msgspec

from app.files.readers import imported
from app.files.readers import read as parent
from app.files.readers.answer import ReadError, ReadOutline, Request, above_axle
from app.files.readers.limits import OPEN_FILES
from app.files.readers.read import read_outline
from app.files.readers.worker import limits_of, read
from tests.fuzz import reached
from tests.fuzz.holds import of_answer, of_message
from tests.fuzz.inside import of_places
from tests.fuzz.made import Made
from tests.fuzz.own_files import OWN, own_read

#: Ends at its limit or in ten seconds, whichever is less.
MOST_S = 10.0
#: Starting and ending a child takes this much more than its limit, on a machine that does other work.
_AROUND_S = 10.0
#: How many times its processor seconds a read may take by the clock, on a machine that does other work.
CLOCK = 12.0

READ, HINDERED, REFUSED = "read", "hindered", "refused"
RAISED, BROKEN, TOUCHED, MEMORY, HUNG, DIED = "raised", "broken", "touched", "memory", "hung", "died"

#: Ways to end that nobody is to find.
FINDINGS = (RAISED, BROKEN, TOUCHED, MEMORY, HUNG, DIED)

ROOT = Path(__file__).resolve().parents[2]


@dataclass(frozen=True)
class Outcome:
    """How reading an input ended.

    Attributes:
        kind: one of the words above.
        key: the same for findings of one cause.
        text: the message, or the end of the traceback.
        seconds: of the processor; through the real child, of the clock.
        lines: how many were reached for the first time in the process, where that is followed.
    """

    kind: str
    key: str = ""
    text: str = ""
    seconds: float = 0.0
    lines: int = 0


def seconds_for(suffix: str) -> float:
    """Return how many seconds of the processor a file of this kind may take."""
    return min(MOST_S, limits_of(suffix).seconds)


def outcome(made: Made) -> Outcome:
    """Read an input and do with the answer what the program does, until it would be shown."""
    reached.more()
    start = time.process_time()
    kind, key, text = _ended(made)
    return Outcome(kind, key, text, time.process_time() - start, reached.more())


def _own_ended(made: Made) -> tuple[str, str, str]:
    with _watched() as touched:
        try:
            is_read, said, wrong = own_read(made.data, made.request.suffix)
        except MemoryError:
            return MEMORY, f"memory {made.request.suffix}", traceback.format_exc()[-3000:]
        except Exception as error:
            return RAISED, _place(error), traceback.format_exc()[-3000:]
    if touched:
        return TOUCHED, f"touched {touched[0].split()[0]}", "; ".join(touched[:5])
    if wrong:
        return BROKEN, wrong[0][:60], f"{'; '.join(wrong[:5])}: {said}"
    return (READ if is_read else REFUSED), "", said


def _ended(made: Made) -> tuple[str, str, str]:
    if made.request.suffix in OWN:
        return _own_ended(made)
    found: ReadOutline | None = None
    with _watched() as touched:
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("error", RuntimeWarning)  # of numbers that came to be none unnoticed
                found = read(made.data, made.request)
        except ReadError as error:
            said = str(error)
        except MemoryError:
            return MEMORY, f"memory {made.request.suffix}", traceback.format_exc()[-3000:]
        except Exception as error:
            return RAISED, _place(error), traceback.format_exc()[-3000:]
    if touched:
        return TOUCHED, f"touched {touched[0].split()[0]}", "; ".join(touched[:5])
    if found is None:
        wrong = list(of_message(said))
        return (BROKEN, wrong[0], said) if wrong else (REFUSED, "", said)
    wrong = list(of_answer(found, made.request)) or list(of_places(made.data, found, made.request))
    if wrong:
        return BROKEN, wrong[0], "; ".join(dict.fromkeys(wrong))
    try:
        _used(found)
    except Exception as error:
        return RAISED, _place(error), traceback.format_exc()[-3000:]
    return (HINDERED if found.hindrance else READ), "", found.hindrance


def _used(found: ReadOutline) -> None:
    """Send an answer through the pipe, and make a shape and the words of it."""
    text = json.dumps(asdict(found), allow_nan=False, separators=(",", ":"))
    back = msgspec.json.decode(text, type=ReadOutline)
    imported.findings(back), imported.sizes(back), imported.unit_words(back)
    with contextlib.suppress(ReadError):
        loops = back.usable_loops_mm()
        loops = above_axle(tuple(loops[k] for k in imported.at_first(back)), "file")
        imported.stay_out(back, loops, "shape")


def _place(error: Exception) -> str:
    """Return what was raised and where in our code."""
    ours = [f for f in traceback.extract_tb(error.__traceback__) if Path(f.filename).is_relative_to(ROOT)]
    ours = [f for f in ours if "site-packages" not in f.filename] or ours
    last = ours[-1]
    return f"{type(error).__name__} in {Path(last.filename).relative_to(ROOT)}: {last.name}"


def through_child(made: Made, stem: Path, is_patient: bool = False) -> Outcome:
    """Write an input to a file, read it through the real child, and return how that ended.

    Args:
        made: the input.
        stem: the file, without its suffix.
        is_patient: let the clock run for longer than the program does, on a machine that does other work:
            what hangs is then ended by the limit of processor time that the child sets itself, as always.
    """
    path = stem.with_suffix(made.request.suffix)
    path.write_bytes(made.data)
    how = {key: value for key, value in asdict(made.request).items() if key != "suffix"}
    start, used = time.monotonic(), _of_children()
    found: ReadOutline | None = None
    said = ""
    try:
        found = _read_patiently(path, made.request) if is_patient else read_outline(path, **how)
    except ReadError as error:
        said = str(error)
    except Exception as error:
        return Outcome(RAISED, f"{type(error).__name__} in the parent", repr(error))
    finally:
        path.unlink()
    seconds, used = time.monotonic() - start, _of_children() - used
    is_late = (used if is_patient else seconds) > seconds_for(path.suffix) + _AROUND_S
    if is_late or "was stopped" in said or (is_patient and _is_out_of_time(said)):
        return Outcome(
            HUNG, f"hung {path.suffix}", f"{seconds:.1f} s, {used:.1f} s of the processor", seconds
        )
    wrong = list(of_message(said) if found is None else of_answer(found, made.request))
    if wrong:
        return Outcome(BROKEN, f"through the child: {wrong[0]}", said or "; ".join(wrong), seconds)
    if found is None:
        return Outcome(REFUSED, "", said, seconds)
    return Outcome(HINDERED if found.hindrance else READ, "", found.hindrance, seconds)


def _read_patiently(path: Path, asked: Request) -> ReadOutline:
    """Return what the real child answers, given all the clock that a busy machine takes."""
    with path.open("rb") as file:
        return parent._ask(file, asked, CLOCK * limits_of(path.suffix).seconds, None)


def _is_out_of_time(said: str) -> bool:
    """Return whether the system ended a child at its limit of processor time."""
    return any(f"(code {-code})" in said for code in (signal.SIGXCPU, signal.SIGKILL))


def _of_children() -> float:
    """Return the processor time of all children that have ended, s."""
    import resource

    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


# What it touches

_FAMILIES = (
    "open",
    "os",
    "socket",
    "subprocess",
    "shutil",
    "tempfile",
    "ctypes",
    "urllib",
    "ftplib",
    "http",
    "pty",
)
_CODE_ENDS = (".py", ".pyc", ".so", ".pyd")
_watching: list[list[str]] = []


@contextlib.contextmanager
def _watched() -> Iterator[list[str]]:
    """Note what is touched beside code, as long as this lasts."""
    touched: list[str] = []
    _watching.append(touched)
    try:
        yield touched
    finally:
        _watching.pop()


def _hook(event: str, arguments: tuple[object, ...]) -> None:
    if (
        not _watching
        or event.split(".")[0] not in _FAMILIES
        or event in ("os.fspath", "os.listdir", "os.scandir")
    ):
        return
    path = arguments[0] if arguments else None
    if event == "open" and isinstance(path, str | bytes) and os.fsdecode(path).endswith(_CODE_ENDS):
        return
    _watching[-1].append(f"{event} {arguments!r}"[:300])


def watch() -> None:
    """Begin to notice what reading touches; there is no end to it in this process."""
    sys.addaudithook(_hook)


# What it may take


def limit_this_process(suffix: str) -> None:
    """Give this process what a child has for a file of this kind, from here on."""
    import resource

    limits, used = limits_of(suffix), time.process_time()
    for kind, most in (
        (resource.RLIMIT_AS, limits.memory_bytes),
        (resource.RLIMIT_CPU, int(used + seconds_for(suffix)) + 1),
        (resource.RLIMIT_FSIZE, limits.written_bytes),
        (resource.RLIMIT_NOFILE, OPEN_FILES),
    ):
        resource.setrlimit(kind, (most, resource.getrlimit(kind)[1]))


def quietly(function: Callable[[], None]) -> None:
    """Call a function with what libraries and a dying process print out of the way."""
    faulthandler.disable()
    null = os.open(os.devnull, os.O_WRONLY)
    for stream in (1, 2):
        os.dup2(null, stream)
    function()
