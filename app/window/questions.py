"""Questions to the user, each with answers that say what they do."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QMessageBox, QPushButton, QWidget

from app.language import spoken, tr


def ask(
    parent: QWidget | None,
    title: str,
    text: str,
    answers: list[str],
    details: str = "",
    stay: str = tr("Cancel"),
) -> str | None:
    """Return the answer that was chosen; the first one is the default.

    None when the question was closed, or answered by the last button, called `stay`: nothing is done.
    """
    box = QMessageBox(QMessageBox.Icon.Question, title, spoken(text), parent=parent)
    buttons: dict[QPushButton, str] = {}
    for answer in answers:
        button = box.addButton(answer, QMessageBox.ButtonRole.AcceptRole)
        buttons[button] = answer
    box.setDefaultButton(next(iter(buttons)))
    box.setEscapeButton(box.addButton(stay, QMessageBox.ButtonRole.RejectRole))
    if details:
        box.setInformativeText(spoken(details))
    box.exec()
    clicked = box.clickedButton()
    return next((answer for button, answer in buttons.items() if button is clicked), None)


def tell(parent: QWidget | None, title: str, text: str, details: str = "") -> None:
    """Tell the user something that needs to be read."""
    box = QMessageBox(QMessageBox.Icon.Warning, title, spoken(text), QMessageBox.StandardButton.Ok, parent)
    if details:
        box.setInformativeText(spoken(details))
    box.exec()


def inform(parent: QWidget | None, title: str, text: str, lines: Sequence[str]) -> None:
    """Tell the user what was done by the program itself, as a list to be read."""
    box = QMessageBox(
        QMessageBox.Icon.Information, title, spoken(text), QMessageBox.StandardButton.Ok, parent
    )
    box.setTextFormat(Qt.TextFormat.PlainText)
    box.setInformativeText("\n".join(f"\N{BULLET} {spoken(line)}" for line in lines))
    box.exec()
