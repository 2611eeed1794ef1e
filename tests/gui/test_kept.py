"""What panels keep from one step of a gesture to the next, and the room that they keep for it."""

from __future__ import annotations

from PySide6.QtWidgets import QVBoxLayout, QWidget
from pytestqt.qtbot import QtBot

from app.views.last_made import LastMade
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
