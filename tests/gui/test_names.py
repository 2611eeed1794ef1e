"""What takes the keys has a name for a screen reader, in every window; what is drawn is said in words."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAccessible
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QComboBox,
    QLabel,
    QLineEdit,
    QTabBar,
    QTabWidget,
    QWidget,
)
from pytestqt.qtbot import QtBot

from tests.gui.conftest import Person
from tests.gui.test_closing import MORE, WINDOWS

DIALOGS = (
    *("details", "shop_rates", "sheet_settings", "new_rules", "new_fitment", "keys", "about", "commands"),
    *("brake_sheet", "brake_variant", "change_size", "customer_report", "new_blank", "new_conditions"),
    *("new_like", "new_material", "new_shape", "new_test", "new_trial_fit", "new_version", "new_wheel"),
    *("paper_gauge", "programme_settings", "strength_settings"),
)


def name_of(widget: QWidget) -> str:
    """The name itself, a button's or a label's own words, or those of a label that belongs to the widget."""
    if widget.accessibleName():
        return widget.accessibleName()
    if isinstance(widget, QAbstractButton | QLabel):
        return widget.text()
    labels = (label for label in widget.window().findChildren(QLabel) if label.buddy() is widget)
    return next((label.text() for label in labels), "")


def without_name(top: QWidget) -> Iterator[str]:
    for widget in [top, *top.findChildren(QWidget)]:
        takes_keys = widget.focusPolicy() != Qt.FocusPolicy.NoFocus and widget.focusProxy() is None
        if not takes_keys or widget.window() is not top or not (widget is top or widget.isVisibleTo(top)):
            continue
        if isinstance(widget, QLabel) and not widget.text():
            continue  # there is nothing to be said
        if isinstance(widget.parentWidget(), QComboBox) or isinstance(widget, QTabBar):
            continue  # said by the box's own name, and by the titles of the tabs
        if not name_of(widget).strip():
            yield f"{type(widget).__name__} in {type(widget.parentWidget()).__name__} {widget.toolTip()[:30]}"


def test_the_main_window(person: Person) -> None:
    assert list(without_name(person.window)) == []


@pytest.mark.parametrize("actions", [WINDOWS, MORE, DIALOGS], ids=["windows", "more", "dialogs"])
def test_every_window_and_dialog(person: Person, actions: tuple[str, ...]) -> None:
    unnamed = []
    for action in actions:
        person.do(action)
        tops = [w for w in QApplication.topLevelWidgets() if w.isVisible() and w is not person.window]
        assert tops, action
        for top in tops:
            unnamed += [f"{action}: {words}" for words in without_name(top)]
            for tabs in top.findChildren(QTabWidget):
                for k in range(1, tabs.count()):
                    tabs.setCurrentIndex(k)
                    unnamed += [f"{action}, page {k + 1}: {words}" for words in without_name(top)]
            top.close()
        person.settle()
    assert unnamed == []


def heard(widget: QWidget) -> str:
    """Name and description as they are handed to a screen reader."""
    found = QAccessible.queryAccessibleInterface(widget)
    assert found is not None
    kinds = (QAccessible.Text.Name, QAccessible.Text.Description)
    return ": ".join(found.text(kind) for kind in kinds)


def test_the_drawing_says_its_vertex_and_its_worst_readings(person: Person) -> None:
    sheet = person.window.canvas.sheet
    assert heard(sheet).startswith("Drawing of Track 18: The wheel is ")
    assert "Vertex" not in heard(sheet)
    person.click(person.at(*person.vertex(40)))
    said = heard(sheet)
    assert (
        "Vertex 41 of 56 of Track 18: z 50.10, r 134.00, corner radius 18.00 mm. Its edge is spoke back."
        in said
    )
    for row in (person.window.summary.worst.accessibleDescription(),):
        assert row
        assert row in said
    person.do("inch")
    assert "z 1.972, r 5.276, corner radius 0.709 in" in heard(sheet)  # 50.1, 134 and 18 over 25.4
    person.do("next_vertex")
    assert "Vertex 42 of 56" in heard(sheet)


def test_panels_say_their_values(person: Person) -> None:
    window = person.window
    assert window.summary.mass.text() in heard(window.summary.mass)
    assert heard(window.strip.plot).startswith("Profile strip: brake side. Least gap ")
    window.strip.sides[list(window.strip.sides)[1]].click()
    assert heard(window.strip.plot).startswith("Profile strip: tyre side.")
    tree = QAccessible.queryAccessibleInterface(window.readings.tree)
    assert tree is not None
    cells = [tree.child(k).text(QAccessible.Text.Name) for k in range(tree.childCount())]
    assert any("caliper" in cell.lower() for cell in cells)
    assert {"short", "clear"} & {word for cell in cells for word in cell.split()}


def test_the_check_notices_what_has_no_name(qtbot: QtBot) -> None:
    top = QWidget()
    qtbot.addWidget(top)
    line, named, box = QLineEdit(top), QLineEdit(top), QComboBox(top)
    named.setAccessibleName("Inset")
    label = QLabel("Bore", top)
    label.setBuddy(box)
    top.show()
    assert line.isVisible()
    assert [words.split()[0] for words in without_name(top)] == ["QLineEdit"]
