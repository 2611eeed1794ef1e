"""Windows and dialogs in German, with what someone has in them: no English is left, no name is translated."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from app import language
from app.views.plain_table import PlainTable
from tests.gui.conftest import Person
from tests.support import example, tracing
from tests.support.catalogue import ROOT
from tests.support.german import left
from tests.support.shown_words import words_of

#: Those that are there at once; the others are asked by command before a release.
SCENES = (
    "bare",
    "fault",
    "driven",
    "versions",
    "roadmap",
    "first-off",
    "releases",
    "blank-details",
    "fitment",
    "trial-fit",
    "source-card",
)
LATER = (
    *("source-card", "offers", "face", "constraints", "release-sheet", "sheet-settings", "wheel-of-sample"),
    *("test-record", "programme-settings", "trace-done", "new-blank", "new-like", "strength-settings"),
    *("match", "match-insets", "programme-plan", "programme-dies", "programme-risk", "programme-fitments"),
    *("programme-unserved", "family", "limits-two-mm", "stages-mm", "group-blank-mm", "group-blank-dies-mm"),
    *("group-blank-spun-metal-mm", "strength-failed", "shop-rates", "conditions", "variant", "sheet"),
    *("change-size", "new-wheel", "new-material", "recovered", "trace", "paper-gauge", "customer-report"),
)
#: What people wrote, a parameter's name among it, and a unit.
WRITTEN = ("= wall", "log price", "1.4 mm more behind the spoke", "load lowered after", "short tons")


def english_left(folder: Path, scenes: tuple[str, ...]) -> list[str]:
    command = [sys.executable, "-m", "tests.support.screenshots", str(folder), "--words", "--language", "de"]
    for scene in scenes:
        command += ["--scene", scene]
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "QT_QPA_PLATFORM": "offscreen"}
    subprocess.run(command, cwd=ROOT, env=environment, check=True, capture_output=True)
    said = json.loads((folder / "words.json").read_text(encoding="utf-8"))
    assert set(said) == set(scenes)
    assert all(len(words) > 5 for words, _ in said.values())
    return [
        f"{scene}: {found}"
        for scene, (texts, names) in said.items()
        for text in texts
        if not any(words in text for words in WRITTEN)
        for found in left(text, names)
    ]


def test_no_english_is_left_in_windows_and_dialogs(tmp_path: Path) -> None:
    assert english_left(tmp_path, SCENES) == []


@pytest.mark.long
def test_no_english_is_left_in_windows_that_take_their_time(tmp_path: Path) -> None:
    assert english_left(tmp_path, LATER) == []


@pytest.fixture
def german(person: Person) -> Iterator[Person]:
    """Someone at a window in German, with a brake and a test whose names are half words of the program."""
    shapes = tuple(replace(s, name="Caliper 380") for s in example.project().shapes[:1])
    wheel = replace(example.project().wheels[0], name="Wall", clears=("Caliper 380",))
    with language.speaking("de"):
        person.window.document.start(replace(example.project(), wheels=(wheel,), shapes=shapes))
        person.settle()
        yield person
    language.keep(frozenset())


def test_names_of_the_users_things_are_no_words_of_the_program(german: Person) -> None:
    said = "\n".join(words_of(german.window))
    assert "Caliper 380" in said
    assert "Bremssattel 380" not in said
    table = PlainTable("T")
    german.qtbot.addWidget(table)
    table.show_rows(["Rad", "Zone"], [["Wall", "spoke back"], ["Caliper 380", "barrel"]])
    cells = [[table.model().index(k, column).data() for column in (0, 1)] for k in (0, 1)]
    assert cells == [["Wall", "Speiche hinten"], ["Caliper 380", "Felgenbett"]]


def test_another_project_keeps_its_own_names(german: Person) -> None:
    german.window.document.start(example.project())
    german.settle()
    assert language.spoken("Caliper 380") == "Bremssattel 380"
    assert language.spoken(example.CALIPER) == example.CALIPER


def test_a_picture_is_scaled_by_lengths_typed_in_german(qtbot: QtBot, tmp_path: Path) -> None:
    with language.speaking("de"):
        dialog, _ = tracing.opened(qtbot, tmp_path)
        tracing.set_scale(dialog)
        assert [length.true_mm for length in dialog.trace.lengths] == [108.0, 86.0, 199.0, 134.0]
        assert dialog.scale.lengths[0].line.text() == "108,0"


def test_the_check_notices_english_and_leaves_names(person: Person) -> None:
    top: QWidget = person.window
    found = [x for text in words_of(top) for x in left(text, ["Track 18"])]
    assert len(found) > 20
    assert left("Track 18 of the wall", ["Track 18 of the wall"]) == []
