"""The parts that the program stands on, with their licences, against the lock and what is declared."""

from __future__ import annotations

import re
import tomllib
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from app.files.licences import licences, lines

ROOT = Path(__file__).parents[3]


def _canonical(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()


def _is_installed(name: str) -> bool:
    try:
        version(name)
    except PackageNotFoundError:
        return False
    return True


def test_every_declared_dependency_stands_there_with_its_version_and_a_licence() -> None:
    declared = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]["dependencies"]
    names = {_canonical(re.match(r"[\w.-]+", line)[0]) for line in declared}  # type: ignore[index]
    found = {_canonical(part.name): part for part in licences()}
    missing = {name for name in names if not _is_installed(name)}
    assert missing <= {"pyside6-essentials", "pyqtgraph"}  # the pure part runs without a window
    names -= missing
    assert names <= set(found)
    for name in names:
        assert found[name].version == version(name)
        assert found[name].licence != "not stated"


def test_what_is_listed_is_locked() -> None:
    locks = (ROOT / "requirements.lock").read_text() + (ROOT / ".ci" / "oracle.lock").read_text()
    locked = {_canonical(name) for name in re.findall(r"^([\w.-]+)==", locks, re.MULTILINE)}
    listed = {_canonical(part.name) for part in licences()} - {"blankwright", "dejavu fonts"}
    assert listed <= locked


def test_texts_come_with_the_parts() -> None:
    texts = "\n".join(lines(with_texts=True))
    assert "Bitstream Vera" in texts
    assert "numpy" in texts
    assert len(lines()) == len(licences())
