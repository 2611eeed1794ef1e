"""The tyre's ring on the drawing: where its published size puts it, and gone with the tyre."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.gui.conftest import Person


def ring(person: Person) -> tuple[float, float, float, float]:
    box = person.window.canvas.sheet.drawing._layers["tyre"].path().boundingRect()
    return box.left(), box.right(), min(box.top(), box.bottom()), max(box.top(), box.bottom())


def test_it_stands_on_the_rim_as_large_as_its_size_says(person: Person) -> None:
    document = person.window.document
    wheel = replace(document.project.wheels[0], tyre="245/40R18", tyre_growth_percent=0.0)
    document.commit(replace(document.project, wheels=(wheel, *document.project.wheels[1:])), "Tyre")
    person.settle()
    inner, outer, low, high = ring(person)
    # checks.md T30: 653.2 mm over all; T02: the rim's specified diameter is 462.0.
    assert high == pytest.approx(653.2 / 2.0, abs=0.05)
    assert low == pytest.approx(462.0 / 2.0, abs=0.05)
    assert (inner + outer) / 2.0 == pytest.approx(-wheel.inset_mm, abs=0.01)
    words = [mark.text for mark in person.window.canvas.sheet.drawing._words.tyre]  # type: ignore[union-attr]
    assert words == ["tyre 245/40R18"]


def test_without_a_tyre_there_is_none(person: Person) -> None:
    document = person.window.document
    wheel = replace(document.project.wheels[0], tyre="")
    document.commit(replace(document.project, wheels=(wheel, *document.project.wheels[1:])), "No tyre")
    person.settle()
    assert person.window.canvas.sheet.drawing._layers["tyre"].path().isEmpty()
