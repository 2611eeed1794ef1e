"""What each start loads: no Qt without a window, and nothing heavy before it is needed."""

import subprocess
import sys

import pytest

QT = {"PySide6", "shiboken6", "pyqtgraph"}
ON_FIRST_USE = {"ezdxf", "reportlab", "pint", "scipy.optimize"}


def loaded_by(statement: str) -> set[str]:
    code = f"import sys; {statement}; print(*sys.modules)"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return set(run.stdout.split())


@pytest.mark.parametrize(
    "module", ["app.entry", "app.cli.command_line", "app.files.readers.worker", "app.api"]
)
def test_starts_without_a_window_load_no_qt(module: str) -> None:
    assert loaded_by(f"import {module}").isdisjoint(QT | ON_FIRST_USE)


def test_a_check_loads_no_qt_and_no_writer() -> None:
    check = "from app import resources as r; from app.cli.command_line import main; "
    check += "main(['check', str(r.samples()[0]), '--json'])"
    # Nor what numba asks for beside the loops that are used here.
    assert loaded_by(check).isdisjoint(QT | {"ezdxf", "reportlab", "scipy.linalg"})


def test_the_window_loads_heavy_parts_on_first_use() -> None:
    pytest.importorskip("PySide6", reason="the window needs Qt")
    assert loaded_by("import app.window.main").isdisjoint({*ON_FIRST_USE, "app.cli.command_line"})
