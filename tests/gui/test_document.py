"""The open document without a window: previews, steps, selection."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from app.project.project import Project
from app.project.wheel import Wheel
from app.session import drag
from app.session.document import Document
from app.session.edited import Edited, Kind
from app.session.shown import Shown
from app.studies.fit import Measured, measure_wheel
from tests.support import example

WHEEL = Edited(Kind.WHEEL, example.WHEEL)
BACK = 40


class Counter:
    """Measures, and counts how often."""

    def __init__(self) -> None:
        self.count = 0

    def __call__(self, project: Project, wheel: Wheel) -> Measured:
        self.count += 1
        return measure_wheel(project, wheel)


@pytest.fixture
def counter() -> Counter:
    return Counter()


@pytest.fixture
def document(qtbot: QtBot, counter: Counter) -> Document:
    made = Document(measure=counter)
    made.start(example.project())
    counter.count = 0
    return made


def moved(z: float) -> Project:
    return drag.moved(example.project(), WHEEL, BACK, z, 134.0)


def test_of_several_previews_in_one_turn_the_newest_is_measured_once(
    qtbot: QtBot, document: Document, counter: Counter
) -> None:
    seen: list[Shown] = []
    document.shown.connect(seen.append)
    for z in (51.0, 52.0, 53.0):
        document.preview(moved(z))
    qtbot.waitUntil(lambda: bool(seen))
    qtbot.wait(20)
    assert [s.project for s in seen] == [moved(53.0)]
    assert seen[0].dragging
    assert counter.count == 1
    assert document.project == example.project()


def test_a_commit_of_what_was_shown_last_measures_nothing_anew(
    qtbot: QtBot, document: Document, counter: Counter
) -> None:
    last = moved(53.0)
    document.preview(last)
    qtbot.waitUntil(lambda: counter.count == 1)
    document.commit(last, "Move")
    assert counter.count == 1
    assert not document.state.dragging
    assert document.undo_stack.undoText() == "Move"


def test_a_preview_that_was_cancelled_is_shown_no_more(qtbot: QtBot, document: Document) -> None:
    seen: list[Shown] = []
    document.preview(moved(53.0))
    document.cancel()
    document.shown.connect(seen.append)
    qtbot.wait(20)
    assert seen == []


def test_a_commit_that_changes_nothing_leaves_no_step(document: Document) -> None:
    document.commit(example.project(), "Nothing")
    assert document.undo_stack.count() == 0
    assert not document.is_modified


def test_selecting_measures_nothing_and_leaves_no_step(document: Document, counter: Counter) -> None:
    document.select_vertex(BACK)
    document.edit(Edited(Kind.BLANK, example.BLANK))
    document.edit(Edited(Kind.SHAPE, "not there"))
    document.select_zone("barrel")
    assert counter.count == 0
    assert document.undo_stack.count() == 0
    assert document.edited == Edited(Kind.BLANK, example.BLANK)
    assert document.state.zone == "barrel"


def test_undo_brings_back_where_one_was(document: Document) -> None:
    document.select_vertex(BACK)
    document.commit(drag.deleted(document.project, WHEEL, BACK), "Delete", selected=BACK - 1)
    assert document.selected == BACK - 1
    document.edit(Edited(Kind.BLANK, example.BLANK))
    document.undo()
    assert (document.edited, document.selected) == (WHEEL, BACK)
    document.redo()
    assert (document.edited, document.selected) == (WHEEL, BACK - 1)


def test_a_vertex_that_is_not_there_is_not_selected(document: Document) -> None:
    document.select_vertex(999)
    assert document.selected is None
    document.select_vertex(-1)
    assert document.selected is None


def test_a_renamed_blank_stays_the_one_that_is_edited(document: Document) -> None:
    document.edit(Edited(Kind.BLANK, example.BLANK))
    blank = replace(document.project.blanks[0], name="B18")
    wheel = replace(document.project.wheels[0], blank="B18")
    document.commit(replace(document.project, blanks=(blank,), wheels=(wheel,)), "Rename")
    assert document.edited == Edited(Kind.BLANK, "B18")


def test_the_profile_is_computed_once_for_all_views(document: Document) -> None:
    state = document.state
    assert state.profile is not None
    assert state.profile is state.profile


def test_a_failed_open_leaves_everything_as_it_was(document: Document, tmp_path: Path) -> None:
    document.commit(moved(52.0), "Move")
    with pytest.raises(Exception, match="not there"):
        document.open(tmp_path / "not there.blankwright")
    assert document.project == moved(52.0)
    assert document.undo_stack.count() == 1


def test_saving_without_a_path_is_refused(document: Document) -> None:
    with pytest.raises(ValueError, match="needs a path"):
        document.save()
