"""A blank found for a group is edited on the drawing, and stays checked against the wheels cut from it."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest

from app.project import edits
from app.project.project import Project
from app.session.edited import Edited, Kind
from app.studies.blank_group import checked
from app.studies.composite import composite
from app.studies.fit import measure_wheel
from app.studies.forging_needs import ForgingSettings
from app.studies.found_blank import as_forged, cut_from_blank
from app.views.canvas.content import Ring, Words
from tests.gui.conftest import Person
from tests.unit.studies.test_composite import group


@pytest.fixture(scope="module")
def made() -> Project:
    """Three wheels cut from the blank that was found for them."""
    project, settings = group(), ForgingSettings()
    found = composite(project, [w.name for w in project.wheels], settings)
    with_blank = edits.add(project, edits.BLANK, as_forged(found, "found", settings))
    return cut_from_blank(with_blank, "found", found.wheels)


@pytest.fixture
def cut(person: Person, made: Project) -> Person:
    """The blank found for the three is edited."""
    person.window.document.start(made)
    person.window.document.edit(Edited(Kind.BLANK, "found"))
    person.settle()
    return person


def hints(person: Person) -> list[str]:
    return person.window.canvas.sheet.overlay.content.hints


def of_group(person: Person) -> list[str]:
    return [hint for hint in hints(person) if "blank" in hint or "▼" in hint]


def outermost(person: Person) -> int:
    """Return the vertex of the blank that lies farthest to the street side, on its face."""
    corners = person.project.blanks[-1].corners
    return int(np.argmax([c.z + 0.001 * c.r for c in corners]))


def test_as_found_it_holds_all_its_wheels(cut: Person) -> None:
    assert of_group(cut) == ["● This blank holds all 3 wheels cut from it, with stock."]


def test_a_wheel_that_no_longer_fits_is_said_with_its_place_when_let_go(cut: Person) -> None:
    index = outermost(cut)
    z, r = cut.vertex(index)
    end = cut.drag(index, (z - 6.0, r))
    assert of_group(cut) == ["3 wheels are cut from this blank: read when you let go."]
    cut.release(end)
    missed = [hint for hint in of_group(cut) if hint.startswith("▼")]
    name = cut.project.blanks[-1].name
    short = [m for m in checked(cut.project, name) if not m.holds]
    assert len(missed) == len(short) >= 1
    for line, member in zip(missed, short, strict=True):
        # The single check of the same wheel says the same.
        (wheel,) = (w for w in cut.project.wheels if w.name == member.wheel)
        read = measure_wheel(cut.project, wheel).measurements
        assert read is not None
        assert member.tightest is not None
        least = min(row.spare_mm for row in read.stock if row.spare_mm is not None)
        assert member.tightest.spare_mm == pytest.approx(least, abs=1e-9)
        assert line.startswith(f"▼ {member.wheel}: {member.tightest.zone.capitalize()} stock, ")
    cut.do("undo")
    assert of_group(cut) == ["● This blank holds all 3 wheels cut from it, with stock."]


def test_the_place_of_a_wheel_that_is_not_shown_is_ringed(cut: Person) -> None:
    index = outermost(cut)
    z, r = cut.vertex(index)
    cut.release(cut.drag(index, (z - 6.0, r)))
    shown = cut.window.document.wheel_name
    others = [
        m.wheel for m in checked(cut.project, cut.project.blanks[-1].name) if not m.holds and m.wheel != shown
    ]
    marks = cut.window.canvas.sheet.overlay.content.marks
    named = [m for m in marks if isinstance(m, Words) and m.text.startswith("short for ")]
    said = [name for m in named for name in m.text.removeprefix("short for ").split(", ")]
    assert said == others != []
    # Names at places close to each other share a line, so that none is written over another.
    places = [m.place for m in named]
    assert all(math.dist(a, b) > 12.0 for a, b in combinations(places, 2))
    # On the face that was taken back, where the drawing has it.
    for mark in named:
        assert any(isinstance(m, Ring) and m.place == mark.place for m in marks)
        assert mark.place[0] > z - 12.0 + cut.window.document.wheel.seat_mm  # type: ignore[union-attr]


def test_a_blank_that_no_wheel_is_cut_from_says_so(person: Person) -> None:
    project = group()
    loose = replace(project, wheels=tuple(replace(w, blank=None) for w in project.wheels))
    person.window.document.start(loose)
    person.window.document.edit(Edited(Kind.BLANK, loose.blanks[0].name))
    person.settle()
    assert "No wheel is cut from this blank" in hints(person)[0]
