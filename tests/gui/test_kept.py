"""What panels keep from one step of a gesture to the next, and the room that they keep for it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

import pytest
from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtWidgets import QApplication, QLabel, QLineEdit, QVBoxLayout, QWidget
from pytestqt.qtbot import QtBot

from app.views.last_made import LastMade
from app.views.number_box import NumberBox
from app.views.readings import ReadingsPanel
from app.views.readout import Readout, ReadoutLine, Title
from app.views.sentences import Sentence, Sentences
from app.views.summary import SummaryPanel
from app.views.theme import Theme
from tests.support.panels import document


def test_only_rows_that_are_others_are_made_anew() -> None:
    last, made = LastMade(), []

    def line(row: tuple[int], unit: str) -> list[object]:
        made.append(row)
        return [row, unit]

    one, two, three = (1,), (2,), (3,)
    first = last.each(line, [one, two], "mm")
    assert last.each(line, [one, two], "mm") == first
    assert made == [one, two]
    changed = last.each(line, [one, three], "mm")
    assert changed[0] is first[0]
    assert changed[1] == [three, "mm"]
    assert last.each(line, [one], "mm") == [[one, "mm"]]
    assert last.each(line, [one, two, three], "mm") == [[one, "mm"], [two, "mm"], [three, "mm"]]
    assert last.each(line, [one, two, three], "in")[0] == [one, "in"]
    del made[:]
    last.forget()
    last.each(line, [one], "in")
    assert made == [one]


def test_a_title_that_takes_another_line_cuts_no_sentence_off(qtbot: QtBot) -> None:
    """All rooms are right before any event is handled: no frame between shows less."""
    window, panel = QWidget(), SummaryPanel(Theme())
    qtbot.addWidget(window)
    column = QVBoxLayout(window)
    column.addWidget(panel)
    column.addWidget(QWidget(), 1)
    panel.show_state(document().state)
    window.resize(460, 700)
    window.show()
    qtbot.waitExposed(window)
    room, whole = panel._sentence_room, panel.height()
    before = room.height(), panel.facts.height()
    panel._title_room.show_text("a longer title " * 8)
    assert panel.title.height() >= panel.title.heightForWidth(panel.title.width())
    assert (room.height(), panel.facts.height()) == before
    assert panel.height() > whole


@pytest.mark.parametrize("text", ["−123.45", "0", "1" * 60, ""])
def test_a_box_without_the_keys_looks_as_the_toolkit_paints_one(qtbot: QtBot, text: str) -> None:
    """The reference is the toolkit's own line edit."""
    window, ours, theirs, keys = QWidget(), NumberBox(), QLineEdit(), QLineEdit()
    qtbot.addWidget(window)
    column = QVBoxLayout(window)
    for box in (keys, ours, theirs):
        box.setText("7.5")
        box.setFixedWidth(120)
        column.addWidget(box)
    window.show()
    keys.setFocus()
    qtbot.waitExposed(window)
    ours.grab()
    for box in (ours, theirs):
        box.setText(text)
    whole = window.grab().toImage()
    assert whole.copy(ours.geometry()) == whole.copy(theirs.geometry())


def test_readouts_never_lie_over_each_other(qtbot: QtBot) -> None:
    """Where room is short the least important are left out; what they say can still be read aloud."""
    meter, moved, snap, pointer = readouts = tuple(Readout() for _ in range(4))
    line = ReadoutLine(readouts, (meter, snap, pointer), 6)
    qtbot.addWidget(line)
    line.resize(2000, 20)
    line.show()
    for k, readout in enumerate(readouts):
        readout.show_text(f"readout {k} " * 3)
    widths = [readout.width() for readout in readouts]
    for width, seen in (
        (sum(widths) + 18, (meter, moved, snap, pointer)),
        (sum(widths) + 17, (moved, snap, pointer)),
        (sum(widths[1:]) + 11, (moved, pointer)),
        (widths[1] + 20, (moved,)),
    ):
        line.resize(width, 20)
        rooms = [readout.geometry() for readout in readouts if readout in seen]
        assert all(line.rect().contains(QRect(room.topLeft(), room.size() / 2)) for room in rooms)
        assert all(a.right() < b.left() for a, b in pairwise(rooms))
        assert all(not line.rect().intersects(r.geometry()) for r in readouts if r not in seen)
        without = line.grab().toImage()
        moved.show_text("")
        assert line.grab().toImage() != without
        moved.show_text("readout 1 " * 3)
    assert meter.text() == "readout 0 " * 3


@pytest.mark.parametrize(
    "name",
    [
        "18 x 10 J  Track 18",
        "18 x 10 J  " + "Track 18 for the long wheelbase, " * 3,
        "18 x 10 J  Track18_second_version_for_the_long_wheelbase_with_the_wide_rear_axle_of_next_year",
        "Track &lt;18&gt; &amp; &quot;so on&quot;",
    ],
)
@pytest.mark.parametrize("width", [240, 420])
def test_a_title_looks_as_a_label_does(qtbot: QtBot, name: str, width: int) -> None:
    """Also a word longer than the room: the height is the label's, and the state stands in the last line."""
    ours, theirs = Title(), QLabel()
    theirs.setWordWrap(True)
    theirs.setTextFormat(Qt.TextFormat.RichText)
    theirs.setAlignment(ours.alignment())
    for label in (ours, theirs):
        qtbot.addWidget(label)
        label.setText(f"{name} &nbsp; <span style='color:#b00020'>▼ short on paper</span>")
        label.resize(width, label.heightForWidth(width))
    assert ours.size() == theirs.size()
    assert ours.grab().toImage() == theirs.grab().toImage()


def test_sentences_with_other_numbers_look_as_those_shown_first(qtbot: QtBot) -> None:
    """Lines broken for other digits, and only the changed sentence painted, leave the same picture."""

    def sentences(gap: str, more: str = "") -> list[Sentence]:
        words = "to the caliper, which stands near the spoke and is 3.00 wide"
        return [
            Sentence(f"Gap {gap} {words}{more}.", "▸ ", "#b00020"),
            Sentence(f"Wall 4.50 {words}.", "✓ ", "#107040"),
        ]

    def label() -> Sentences:
        made = Sentences()
        qtbot.addWidget(made)
        made.resize(230, 120)
        made.setAutoFillBackground(True)
        return made

    kept = label()
    kept.show()
    qtbot.waitExposed(kept)
    for shown in (
        sentences("1.11"),
        sentences("2.34"),
        sentences("12.34"),
        sentences("8.88", " and more" * 8),
    ):
        kept.show_sentences(shown)
        fresh = label()
        fresh.show_sentences(shown)
        assert kept.grab().toImage() == fresh.grab().toImage()
        assert kept.heightForWidth(230) == fresh.heightForWidth(230)


def test_readings_that_come_back_after_a_fault_look_as_if_nothing_was_kept(qtbot: QtBot) -> None:
    """Pictures of lines, made when they are painted whole for the second time, change no pixel."""
    panel, made = ReadingsPanel(Theme()), document()
    qtbot.addWidget(panel)
    panel.resize(480, 600)
    panel.show_state(made.state)
    panel.show()
    qtbot.waitExposed(panel)
    panel.choose_one()
    held = replace(made.state, dragging=True)
    fault = replace(held, measurements=None)
    pictures = []
    for state in (held, fault) * 3:
        panel.show_state(state)
        QApplication.processEvents()
        kept = panel.tree.viewport().grab().toImage()
        panel.tree._pictures.clear()
        assert kept == panel.tree.viewport().grab().toImage()
        panel.tree.viewport().grab()
        assert any(panel.tree._pictures.values())
        pictures.append(kept)
    assert pictures[0] == pictures[2] != pictures[1] == pictures[3]


def test_a_changed_reading_is_painted_where_its_line_lies_now(qtbot: QtBot) -> None:
    """Also after the list was scrolled, a group closed, or the panel made lower."""
    panel, made = ReadingsPanel(Theme()), document()
    qtbot.addWidget(panel)
    panel.resize(480, 300)
    panel.show_state(made.state)
    panel.show()
    qtbot.waitExposed(panel)
    tree, state = panel.tree, replace(made.state, dragging=True)
    moves: tuple[Callable[[], object], ...] = (
        lambda: None,
        lambda: tree.verticalScrollBar().setValue(4),
        lambda: tree.collapse(panel.model.at(0)),
        lambda: panel.resize(480, 500),
        lambda: tree.expand(panel.model.at(0)),
    )
    for k, move in enumerate(moves):
        move()
        QApplication.processEvents()
        assert state.measurements is not None
        gap = tuple(replace(row, least_mm=row.least_mm + 0.1 * k) for row in state.measurements.gap)
        panel.show_state(replace(state, measurements=replace(state.measurements, gap=gap)))
        QApplication.processEvents()
        screen = panel.screen().grabWindow(panel.winId()).toImage()
        room = QRect(tree.viewport().mapTo(panel, QPoint(0, 0)), tree.viewport().size())
        assert screen.copy(room) == tree.viewport().grab().toImage()
