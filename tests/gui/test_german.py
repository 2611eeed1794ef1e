"""The window in German, beside the same in English: other words, the same files."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pypdf
import pytest

from tests.support.catalogue import ROOT

FILES = ("saved.blankwright", "section.dxf", "section.csv", "match.csv")


@pytest.fixture(scope="module")
def folders(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """What a window leaves in each language; both run at once."""
    made = {code: tmp_path_factory.mktemp(code) for code in ("en", "de")}
    children = [
        subprocess.Popen(
            [sys.executable, "-m", "tests.support.spoken_window", code, str(folder)],
            cwd=ROOT,
            env={**os.environ, "PYTHONPATH": str(ROOT), "QT_QPA_PLATFORM": "offscreen"},
            stderr=subprocess.PIPE,
        )
        for code, folder in made.items()
    ]
    for child in children:
        _, told = child.communicate(timeout=120)
        assert child.returncode == 0, told.decode()
    return made


@pytest.fixture(scope="module")
def words(folders: dict[str, Path]) -> dict[str, Any]:
    found = {code: json.loads((folder / "words.json").read_text()) for code, folder in folders.items()}
    assert found["en"]["menus"] == ["&File", "&Edit", "&Draw", "H&old", "&Project", "&View", "&Help"]
    assert found["en"]["state"] == "short"
    de: dict[str, Any] = found["de"]
    return de


@pytest.mark.parametrize("name", FILES)
def test_files_are_the_same_byte_for_byte(folders: dict[str, Path], name: str) -> None:
    assert (folders["de"] / name).read_bytes() == (folders["en"] / name).read_bytes()
    assert (folders["de"] / name).stat().st_size > 100


def test_pages_speak_german_with_the_same_numbers(folders: dict[str, Path]) -> None:
    said = {}
    for code, folder in folders.items():
        pages = pypdf.PdfReader(folder / "pages.pdf").pages
        said[code] = "\n".join(page.extract_text() for page in pages)
    assert "Section report" in said["en"]
    assert "Section report" not in said["de"]
    assert "Schnittbericht · internes Exemplar" in said["de"]
    assert "zugelassener Ingenieur" in said["de"]
    number = re.compile(r"(?<![\w.,])-?\d+\.\d+(?![\w.])")
    assert sorted(number.findall(said["de"])) == sorted(number.findall(said["en"]))


def test_menus_actions_readings_and_errors_speak_german(
    folders: dict[str, Path], words: dict[str, Any]
) -> None:
    english = json.loads((folders["en"] / "words.json").read_text())
    assert words["menus"] == [
        "&Datei",
        "&Bearbeiten",
        "&Zeichnen",
        "&Festhalten",
        "&Projekt",
        "&Ansicht",
        "&Hilfe",
    ]
    same = [name for name, text in words["actions"].items() if text == english["actions"][name]]
    assert sorted(same) == ["hold_radius", "roadmap"]  # words that both languages share
    assert words["readings"] == "Freigang"
    assert words["state"] == "verfehlt"
    assert words["status"] == (
        "Ein Umriss braucht mindestens drei Eckpunkte; löschen Sie stattdessen den ganzen Teil."
    )


def test_a_file_is_imported_as_a_shape_a_blank_and_a_wheel(words: dict[str, Any]) -> None:
    """The readers know English words alone; what a field shows is none of them."""
    assert len(words["imported"]) == 3
    assert all(words["imported"])


def test_letters_of_the_menu_bar_are_all_different(words: dict[str, Any]) -> None:
    letters = [title[title.index("&") + 1].lower() for title in words["menus"]]
    assert len(set(letters)) == len(letters)


def test_no_label_of_the_main_window_is_cut(words: dict[str, Any]) -> None:
    assert [text for text in words["cut"] if text] == []
