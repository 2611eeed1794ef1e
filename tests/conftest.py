"""Set-up of every test run; imports no Qt, so that the pure tests run where Qt is missing."""

import atexit
import gc
import importlib.util
import os
import tempfile
from collections.abc import Iterator

import pytest
from hypothesis import settings

from geometry.compiled import is_prepared

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
# Tests run side by side: threads of a numeric library in each would wait for each other. For the processes
# that this one starts, since it has loaded the library.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

# No test, and no program that a test starts, sees the user's own settings, journals and logs.
_own = tempfile.TemporaryDirectory(prefix="blankwright-tests-", ignore_cleanup_errors=True)
atexit.register(_own.cleanup)  # left to itself, it is a warning, which is an error here
for _name in ("XDG_STATE_HOME", "XDG_CONFIG_HOME"):
    os.environ[_name] = os.path.join(_own.name, _name.lower())  # noqa: PTH118 - needs no path object

# The same examples in every run; `explore` looks for new ones.
settings.register_profile("repeatable", deadline=None, derandomize=True, max_examples=30)
settings.register_profile("explore", deadline=None, max_examples=2000, print_blob=True)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "repeatable"))


def _is_installed(package: str) -> bool:
    """Return whether a package is there; compiled files that an uninstall left make only an empty one."""
    spec = importlib.util.find_spec(package)
    return spec is not None and spec.origin is not None


HAS_QT = _is_installed("PySide6")

# Without Qt only the pure part is there to be tested.
collect_ignore = [] if HAS_QT else ["gui", "timing"]


def pytest_addoption(parser: pytest.Parser) -> None:
    """Know pytest-qt's settings where the plugin is missing, so that strict settings stay strict."""
    if not _is_installed("pytestqt"):
        for name in ("qt_api", "qt_log_level_fail"):
            parser.addini(name, "unused without pytest-qt")


@pytest.hookimpl(wrapper=True)
def pytest_collection() -> Iterator[None]:
    """Keep what collecting makes, which lives as long as the run, out of every later search for garbage.

    Searches are made as seldom as the program makes them (`app/window/main.py`).
    """
    gc.disable()
    try:
        yield
    finally:
        gc.enable()
        gc.collect()
        gc.freeze()
        gc.set_threshold(10_000, 10, 10)


@pytest.fixture(scope="session", autouse=True)
def _prepared() -> None:
    """Make machine code before the first test, so that commands under test do not speak of it."""
    if not is_prepared():
        from app.cli.prepare import prepare  # takes a second, which most processes that tests start can spare

        prepare()


@pytest.fixture
def solved_here(monkeypatch: pytest.MonkeyPatch) -> None:
    """Solve plans in the test's own process, as a worker of a cluster does: a child takes a second to start.

    The child is tried where it counts: told and stopped in unit/studies/programme/test_plans.py, with sums of
    its own in reference/test_programme.py.
    """
    from app.studies.programme.highs import Solver

    monkeypatch.setattr(Solver.__init__, "__defaults__", (False,))
