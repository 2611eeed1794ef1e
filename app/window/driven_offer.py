"""Said over the drawing when something driven was to be moved: what drives it, and a way to release it."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent, QPalette
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QPushButton, QWidget

from app.language import spoken, tr
from app.project.holding import Refusal
from app.project.parameters import released
from app.session.document import Document
from app.session.edited import Edited, EditError, outline_of, with_asked


class DrivenOffer(QFrame):
    """A strip over the drawing; it goes with the next edit, or by Escape.

    Attributes:
        words: what is driven by what. release_button: lets it go. show_button: shows the parameters.

    Signals:
        parameters_wanted(): the parameters are to be shown.
    """

    parameters_wanted = Signal()

    def __init__(self, document: Document, over: QWidget) -> None:
        super().__init__(over)
        self._document, self._over = document, over
        self._refused: tuple[Refusal, ...] = ()
        self._of: Edited | None = None
        self.setAutoFillBackground(True)
        self.setBackgroundRole(QPalette.ColorRole.Base)
        self.setFrameShape(QFrame.Shape.StyledPanel)
        self.words = QLabel()
        self.release_button, self.show_button = QPushButton(), QPushButton(tr("Parameters..."))
        self.close_button = QPushButton(tr("Keep"))
        row = QHBoxLayout(self)
        row.setContentsMargins(12, 6, 8, 6)
        row.addWidget(self.words)
        for button in (self.release_button, self.show_button, self.close_button):
            row.addWidget(button)
        self.release_button.clicked.connect(self._release)
        self.show_button.clicked.connect(self._show_parameters)
        self.close_button.clicked.connect(self.hide)
        document.refused.connect(self._offer)
        document.undo_stack.indexChanged.connect(lambda _index: self.hide())
        for watched in (over, over.window()):
            watched.installEventFilter(self)
        self.hide()

    def _offer(self, refused: tuple[Refusal, ...]) -> None:
        edited = self._document.edited
        own = tuple(r for r in refused if edited is not None and r.name == edited.name)
        if edited is None or not own:
            return
        self._refused, self._of = own, edited
        more = tr(" (and {own} more)", own=len(own) - 1) if len(own) > 1 else ""
        given, words = own[0].given, spoken(own[0].given.words)
        self.words.setText(
            tr(
                "{upper}{words} is driven by {by}{more}.",
                upper=words[:1].upper(),
                words=words[1:],
                by=given.by,
                more=more,
            )
        )
        self.release_button.setText(tr("Release all") if len(own) > 1 else tr("Release it"))
        self._place()
        self.show()
        self.raise_()

    def _release(self) -> None:
        document, of = self._document, self._of
        outline = outline_of(document.project, of) if of is not None else None
        self.hide()
        if outline is None or of is None:
            return
        parameters = outline.parameters
        for refusal in self._refused:
            parameters = released(parameters, refusal.given.drive)
        try:
            project = with_asked(document.project, of, parameters)
        except EditError as refused:
            document.say(spoken(str(refused)))
            return
        words = tr(
            "Released: {words}. It moves freely now.",
            words=", ".join(spoken(r.given.words) for r in self._refused),
        )
        step = tr("Release {words}", words=spoken(self._refused[0].given.words))
        document.commit(project, step, words=words)

    def _show_parameters(self) -> None:
        self.hide()
        self.parameters_wanted.emit()

    def _place(self) -> None:
        self.adjustSize()
        self.move(max((self._over.width() - self.width()) // 2, 0), 12)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Stay in the middle, and go at Escape."""
        if self.isVisible():
            if watched is self._over and event.type() == QEvent.Type.Resize:
                self._place()
            is_key = event.type() == QEvent.Type.KeyPress and isinstance(event, QKeyEvent)
            if is_key and event.key() == Qt.Key.Key_Escape:  # type: ignore[attr-defined]
                self.hide()
        return False
