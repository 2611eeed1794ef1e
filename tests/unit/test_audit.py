"""The scan for known weaknesses: what its reports are turned into.

The form of a report is that of pip-audit's documentation (README, "--format json"): a list of dependencies,
each with `vulns`, or with `skip_reason` where it was not looked up.
"""

from __future__ import annotations

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest

SOURCE = Path(__file__).parents[2] / ".ci" / "audit.py"


@pytest.fixture(scope="module")
def audit() -> ModuleType:
    spec = importlib.util.spec_from_file_location("audit", SOURCE)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_a_known_weakness_fails_and_names_the_version_that_mends_it(audit: ModuleType) -> None:
    weakness = {"id": "PYSEC-0000-1", "fix_versions": ["1.1"], "aliases": ["CVE-0000-1"], "description": "-"}
    parts = [
        {"name": "sound", "version": "2.0", "vulns": []},
        {"name": "weak", "version": "1.0", "vulns": [weakness]},
    ]
    lines, code = audit.told({"requirements.lock": {"dependencies": parts, "fixes": []}})
    assert code == 1
    assert "weak 1.0: PYSEC-0000-1, CVE-0000-1; mended in 1.1" in lines[1]


def test_what_was_not_looked_up_is_named_and_not_called_sound(audit: ModuleType) -> None:
    parts = [{"name": "sound", "version": "2.0", "vulns": []}, {"name": "other", "skip_reason": "no answer"}]
    lines, code = audit.told({"a.lock": {"dependencies": parts}, "b.lock": None})
    assert code == 0
    assert lines[0] == "a.lock: 1 of 2 packages looked up"
    assert lines[1].endswith(": other")
    assert lines[2] == "b.lock: no report: nothing is known of it"
