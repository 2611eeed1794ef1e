"""The manual: pages of Markdown in a window of their own, with pictures that the program draws of itself."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QProcess, QProcessEnvironment, QSize, Qt, QUrl
from PySide6.QtGui import (
    QImage,
    QKeySequence,
    QShortcut,
    QTextBlockFormat,
    QTextCursor,
    QTextDocument,
    QTextTable,
)
from PySide6.QtWidgets import QHBoxLayout, QLineEdit, QListWidget, QTextBrowser, QVBoxLayout, QWidget

from app import resources
from app.language import language, tr
from app.window.manual_pages import PAGES, page
from app.window.pictures import digest

if TYPE_CHECKING:
    from app.window.main_window import MainWindow


class _Pages(QTextBrowser):
    """Asks for its pictures by their names."""

    def __init__(self, picture: Callable[[str], QImage]) -> None:
        super().__init__()
        self._picture = picture

    def loadResource(self, kind: int, name: QUrl | str) -> object:  # noqa: N802
        """Return a picture; there is nothing else to load."""
        if kind == QTextDocument.ResourceType.ImageResource.value:
            return self._picture(name.toString() if isinstance(name, QUrl) else name)
        return None


class Manual(QWidget):
    """Shows one page at a time.

    Attributes:
        pages: the list of pages. search: words to be found on them. text: the page that is shown.
    """

    def __init__(self, window: MainWindow) -> None:
        # Without a parent, so that no dialog of the window blocks it.
        super().__init__(None, Qt.WindowType.Window)
        QShortcut(QKeySequence(Qt.Key.Key_Escape), self, self.close)
        self._window = window
        self._child: QProcess | None = None
        self.name = ""
        self.setWindowTitle(tr("Manual - Blankwright"))
        self.resize(1040, 820)
        self.pages = QListWidget()
        self.pages.setAccessibleName(tr("Pages"))
        self.pages.setFixedWidth(190)
        self.search = QLineEdit()
        self.search.setPlaceholderText(tr("Find in the manual, Enter for the next"))
        self.search.setClearButtonEnabled(True)
        self.search.setAccessibleName(tr("Find in the manual"))
        self.text = _Pages(self._picture)
        self.text.setOpenLinks(False)
        self.text.setAccessibleName(tr("Page of the manual"))
        self.text.document().setDocumentMargin(18)
        for title in PAGES.values():
            self.pages.addItem(title)
        right = QVBoxLayout()
        right.addWidget(self.search)
        right.addWidget(self.text, 1)
        row = QHBoxLayout(self)
        row.addWidget(self.pages)
        row.addLayout(right, 1)
        self.pages.currentRowChanged.connect(lambda k: self.show_page(list(PAGES)[k]))
        self.search.returnPressed.connect(self.find_next)
        window.theme.changed.connect(self._renew)
        window.keys.changed.connect(self._renew)

    def show_page(self, name: str) -> None:
        """Show a page; its pictures follow where they are still being drawn."""
        if name != self.name:
            self.name = name
            self.pages.setCurrentRow(list(PAGES).index(name))
            self._show()
        self._draw_pictures()

    def find_next(self) -> None:
        """Go to the next place of the words, on this page and then on those behind it, round to this one."""
        words = self.search.text()
        if not words or self.text.find(words):
            return
        names = list(PAGES)
        at = names.index(self.name)
        for name in (*names[at + 1 :], *names[: at + 1]):
            if words.lower() in page(name, self._window).lower():
                self.show_page(name)
                self.text.moveCursor(QTextCursor.MoveOperation.Start)
                if self.text.find(words):
                    return

    def end(self) -> None:
        """Close, and end the drawing of pictures; the main window is going."""
        if self._child is not None:
            self._child.kill()
            self._child.waitForFinished()
        self.close()

    def _renew(self) -> None:
        if self.name:
            self._show()
            if self.isVisible():
                self._draw_pictures()

    def _show(self) -> None:
        self.text.setMarkdown(page(self.name, self._window))
        _space(self.text.document())

    def _picture(self, name: str) -> QImage:
        """Return a picture, or one that cannot be seen while it is not drawn."""
        image = QImage(str(self.folder / f"{name}.png"))
        if image.isNull():
            image = QImage(QSize(1, 1), QImage.Format.Format_ARGB32)
            image.fill(Qt.GlobalColor.transparent)
        else:
            image.setDevicePixelRatio(self._scale)
        return image

    @property
    def _scale(self) -> float:
        return float(max(1, round(self._window.devicePixelRatioF())))

    @property
    def folder(self) -> Path:
        """Where the pictures of this version, theme and scale lie."""
        theme = "dark" if self._window.theme.dark else "light"
        return self._window.settings.cache / "manual" / f"{digest()}-{theme}-{self._scale:g}x-{language()}"

    def _draw_pictures(self) -> None:
        """Have a child draw the pictures, unless they are there or being drawn."""
        folder = self.folder
        if folder.is_dir() or self._child is not None:
            return
        for old in folder.parent.glob("*") if folder.parent.is_dir() else ():
            if not old.name.startswith(folder.name.split("-")[0]):
                shutil.rmtree(old, ignore_errors=True)
        environment = QProcessEnvironment.systemEnvironment()
        environment.insert("QT_QPA_PLATFORM", "offscreen")
        environment.insert("QT_SCALE_FACTOR", f"{self._scale:g}")
        self._child = QProcess(self)
        self._child.setProcessEnvironment(environment)
        self._child.finished.connect(self._drawn)
        self._child.errorOccurred.connect(self._drawn)
        program, *arguments = resources.program("--pictures")
        theme = "dark" if self._window.theme.dark else "light"
        self._child.start(program, [*arguments, str(folder), theme, language()])

    def _drawn(self, *_: object) -> None:
        """Show the page with its pictures; without a child it stays without, and is tried again later."""
        self._child = None
        at = self.text.verticalScrollBar().value()
        self._show()
        self.text.verticalScrollBar().setValue(at)


def _space(document: QTextDocument) -> None:
    """Give paragraphs air, and tables lines and padding, which Markdown has none of."""
    for frame in document.rootFrame().childFrames():
        if isinstance(frame, QTextTable):
            form = frame.format().toTableFormat()
            form.setCellPadding(5)
            form.setCellSpacing(0)
            form.setBorder(0)
            frame.setFormat(form)
    block = document.begin()
    while block.isValid():
        if block.textList() is None and QTextCursor(block).currentTable() is None:
            form_of = QTextBlockFormat()
            form_of.setBottomMargin(8)
            form_of.setTopMargin(14 if block.blockFormat().headingLevel() else 0)
            QTextCursor(block).mergeBlockFormat(form_of)
        block = block.next()
