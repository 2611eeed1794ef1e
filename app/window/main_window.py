"""The main window: the drawing in the middle, parts and vertices left, readings right, the strip below."""

from __future__ import annotations

from pathlib import Path

from platformdirs import user_state_path
from PySide6.QtCore import QEvent, Qt, QTimer
from PySide6.QtGui import QCloseEvent, QDragEnterEvent, QDropEvent
from PySide6.QtWidgets import (
    QApplication,
    QLabel,
    QMainWindow,
    QMenu,
    QSplitter,
    QToolBar,
    QVBoxLayout,
    QWidget,
)

from app.language import keep, language, spoken, tr
from app.project.project import Project
from app.session.document import Document
from app.session.jobs import Jobs
from app.session.recovery import Recovery
from app.session.shown import Shown
from app.units import format_length
from app.views.canvas.editor import Canvas
from app.views.change_meter import ChangeMeter
from app.views.heard import Heard
from app.views.parts import PartsPanel
from app.views.readings import ReadingsPanel
from app.views.readings_text import minus, unit_of
from app.views.readout import Readout, ReadoutLine
from app.views.strip import ProfileStrip
from app.views.summary import SummaryPanel
from app.views.theme import Theme, figures
from app.views.vertex_table import VertexTable
from app.window import actions
from app.window.beside import Beside
from app.window.dialog_menu import Dialogs
from app.window.driven_offer import DrivenOffer
from app.window.editing import Editing
from app.window.files import Files
from app.window.first_steps import FirstSteps
from app.window.help import Help
from app.window.holding import Holding
from app.window.key_bindings import KeyBindings
from app.window.settings import Settings
from app.window.sheets import Sheets
from app.window.showing import Showing
from app.window.stored_reports import StoredReports
from app.window.strength_live import LiveStressView
from app.window.toggles import Toggles

#: Between what stands in the status line, as its own layout has it.
_STATUS_GAP_PX = 6


class MainWindow(QMainWindow):
    """The window of one open document."""

    def __init__(self, settings: Settings | None = None, state_folder: Path | None = None) -> None:
        super().__init__()
        self.settings: Settings = settings or Settings()
        self.theme = Theme(self.settings.dark, self)
        self.document: Document = Document(self)
        self.document.shown.connect(_keep_names)  # before any panel says one
        self.jobs = Jobs(self)
        state = state_folder or user_state_path("blankwright", appauthor=False)
        self.recovery = Recovery(self.document, state / "journals", self)
        self.dialogs = Dialogs(self, self.document, self.settings)
        self.files = Files(
            self,
            self.document,
            self.settings,
            self.recovery,
            state,
            self.jobs,
            self.dialogs.import_outlines,
        )
        self.sheets = Sheets(self, self.document, self.files)
        self.reports = StoredReports(self, self.document, self.settings)
        self.files.stored.connect(self.reports.remember)
        self.help = Help(self)
        self.toggles, self.editing = Toggles(self), Editing(self.document)
        self.theme.changed.connect(self._set_palette)  # before any panel dresses itself
        self._set_palette()
        self._make_panels()
        self.beside = Beside(self, self.document, self.theme, self.canvas, self.settings)
        self.holding = Holding(self, self.document)
        self.driven_offer = DrivenOffer(self.document, self.canvas.sheet)
        self.driven_offer.parameters_wanted.connect(self.beside.show_parameters)
        self.live_stress = LiveStressView(self, self.document, self.canvas)
        self._make_status_line()
        self.actions_by_name = actions.install(self, self.theme)
        self.keys = KeyBindings(self.settings, self.actions_by_name, self)
        self._add_loads()
        self._connect()
        self.setAcceptDrops(True)
        self.resize(1480, 920)
        self._restore()
        self._dress()
        self._show(self.document.state)

    # Making

    def _make_panels(self) -> None:
        document, theme = self.document, self.theme
        self.canvas = Canvas(document, theme)
        self.parts, self.vertices = PartsPanel(theme), VertexTable(theme)
        self.summary, self.readings = SummaryPanel(theme), ReadingsPanel(theme)
        self.strip = ProfileStrip(theme)
        self.left = _split(Qt.Orientation.Vertical, self.parts, self.vertices)
        self.right = QWidget()
        column = QVBoxLayout(self.right)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.summary)
        column.addWidget(self.readings, 1)
        self.middle = _split(Qt.Orientation.Vertical, self.canvas, self.strip)
        self.whole = _split(Qt.Orientation.Horizontal, self.left, self.middle, self.right)
        # Widths of their own, so that no longer or shorter word in a panel moves the drawing.
        for panel, least in ((self.left, 220), (self.middle, 360), (self.right, 260), (self.strip, 360)):
            panel.setMinimumWidth(least)
        self.whole.setStretchFactor(1, 1)
        self.middle.setStretchFactor(0, 1)
        self.whole.setSizes([348, 662, 470])
        self.middle.setSizes([690, 170])
        self.left.setSizes([400, 460])
        self.first_steps = FirstSteps(self)
        middle = QWidget()
        rows = QVBoxLayout(middle)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(0)
        rows.addWidget(self.first_steps)
        rows.addWidget(self.whole, 1)
        self.setCentralWidget(middle)

    def _make_status_line(self) -> None:
        bar = self.statusBar()
        bar.setSizeGripEnabled(False)
        self.busy_label = QLabel()
        self.move_label, self.snap_label = Readout(at_right=True), Readout(at_right=True)
        self.change_meter = ChangeMeter()
        self._showing = Showing(
            (self.summary, self.readings, self.strip, self.vertices, self.parts, self.change_meter)
        )
        self._heard = Heard(self.canvas.sheet, self.summary.worst)
        self.pointer_label = Readout(room_for="z −1234.56   r 1234.56   ⌀ 1234.56 mm")
        readouts = (self.change_meter, self.move_label, self.snap_label, self.pointer_label)
        words = (self.reports.label, self.sheets.label, self.busy_label)
        for label in (*words, *readouts):
            label.setFont(figures(label.font()))
        # Where the pointer is can be read off the drawing too.
        dispensable = (self.change_meter, self.snap_label, self.pointer_label)
        for widget in (*words, ReadoutLine(readouts, dispensable, _STATUS_GAP_PX)):
            bar.addPermanentWidget(widget)

    def _add_loads(self) -> None:
        """Put the choice of the previewed load under the action that switches the preview on."""
        action = self.actions_by_name["stress"]
        menu = next(m for m in action.associatedObjects() if isinstance(m, QMenu))
        self.live_stress.add_loads(menu, action)

    def _connect(self) -> None:
        document, canvas = self.document, self.canvas
        document.shown.connect(self._show)
        document.modified.connect(self.setWindowModified)
        document.path_changed.connect(self._name)
        document.said.connect(self.say)
        self.recovery.troubled.connect(self.say)
        self.jobs.busy.connect(self._tell_busy)
        canvas.pointed.connect(self._point)
        canvas.snapped.connect(self._tell_snap)
        canvas.moved.connect(self.move_label.show_text)
        for panel in (self.parts, self.vertices):
            panel.changed.connect(self._commit_typed)
        for speaking in (self.parts, self.vertices, self.readings):
            speaking.said.connect(self.say)
        for showing in (self.summary, self.readings, self.strip):
            showing.place_clicked.connect(self._look_at)
        self.vertices.vertex_selected.connect(document.select_vertex)
        self.readings.zone_selected.connect(document.select_zone)
        self.parts.wheel_selected.connect(document.select_wheel)
        self.parts.outline_selected.connect(document.edit)
        self.parts.compare_changed.connect(document.compare)
        self.parts.new_wanted.connect(self.dialogs.new)
        self.parts.edit_wanted.connect(self.dialogs.edit)
        self.parts.rename_wanted.connect(self.dialogs.rename)
        self.parts.version_wanted.connect(self.dialogs.new_version_of)
        self.readings.card_wanted.connect(self.dialogs.edit_card)
        self.theme.changed.connect(self._dress)
        self.beside.settings_wanted.connect(self.dialogs.strength)
        self.beside.details_wanted.connect(lambda name: self.dialogs.edit("wheels", name))
        stack = document.undo_stack
        stack.indexChanged.connect(self._tell_history)
        self._tell_history()
        self.first_steps.follow()

    def _restore(self) -> None:
        made = self.actions_by_name
        for name in ("band", "dimensions", "magnifier", "parts", "readings", "strip"):
            made[name].setChecked(True)
        made["dark"].setChecked(self.theme.dark)
        geometry = self.settings.geometry("window")
        if geometry is not None:
            self.restoreGeometry(geometry)
        for name in ("whole", "middle", "left"):
            kept = self.settings.geometry(name)
            if kept is not None:
                getattr(self, name).restoreState(kept)
        self._name(None)

    # Showing

    def _show(self, shown: Shown) -> None:
        if shown.dragging:
            self.statusBar().clearMessage()
        inch = self.actions_by_name["inch"]
        if inch.isChecked() != (shown.project.display_unit == "in"):
            inch.blockSignals(True)
            inch.setChecked(shown.project.display_unit == "in")
            inch.blockSignals(False)
        if shown.dragging:
            # The drawing stays with the pointer; the panels show the same state right after.
            self.canvas.sheet.paint_now()
        try:
            self._showing.show_state(shown)
            self._heard.show_state(shown)
        finally:  # beside a panel that failed too: no number of an older step stays
            self.canvas.tell_drag()

    def _name(self, path: Path | None) -> None:
        name = path.name if path is not None else self.document.project.name
        self.setWindowTitle(tr("{name}[*] - Blankwright", name=name))
        self.setWindowFilePath(str(path) if path is not None else "")
        self.setWindowModified(self.document.is_modified)

    def _set_palette(self) -> None:
        QApplication.setPalette(self.theme.palette())

    def _dress(self) -> None:
        actions.dress(self.actions_by_name, self.theme)
        line = self.theme.colours.hairline
        # On these alone: a style sheet on the window would keep its children from following the palette.
        for splitter in (self.whole, self.middle, self.left):
            for k in range(1, splitter.count()):
                splitter.handle(k).setStyleSheet(f"background: {line};")
        for bar in self.findChildren(QToolBar):
            bar.setStyleSheet(f"QToolBar {{ border: 0; border-bottom: 1px solid {line}; padding: 3px; }}")
        self.statusBar().setStyleSheet(
            f"QStatusBar {{ border-top: 1px solid {line}; }} QStatusBar::item {{ border: 0; }}"
        )

    def _look_at(self, z: float, r: float) -> None:
        self.canvas.sheet.look_at((z, r))

    def _tell_busy(self, words: str) -> None:
        self.busy_label.setText(f"{words}..." if words else "")

    def _tell_snap(self, words: str) -> None:
        self.snap_label.show_text(tr("snap: {words}", words=words) if words else "")

    def _tell_history(self, _index: int = 0) -> None:
        """Name what undo and redo would do; what was said before belongs to another edit."""
        self.statusBar().clearMessage()
        stack = self.document.undo_stack
        for name, word, can, text in (
            ("undo", tr("Undo"), stack.canUndo(), stack.undoText()),
            ("redo", tr("Redo"), stack.canRedo(), stack.redoText()),
        ):
            action = self.actions_by_name[name]
            action.setEnabled(can)
            action.setText(f"&{word} {text[:1].lower()}{text[1:]}" if text else f"&{word}")

    def say(self, words: str) -> None:
        """Put a sentence in the status line."""
        said = minus(spoken(words))
        self.statusBar().showMessage(said)
        # A long sentence is cut off there.
        self.statusBar().setToolTip(said)

    def _point(self, place: tuple[float, float] | None) -> None:
        if place is None:
            self.pointer_label.show_text("")
            return
        unit = unit_of(self.document.project)
        z, r = place
        numbers = [format_length(x, unit, with_unit=False).replace("-", "−") for x in (z, r, 2.0 * r)]
        self.pointer_label.show_text(f"z {numbers[0]}   r {numbers[1]}   ⌀ {numbers[2]} {unit}")

    def _commit_typed(self, project: Project, text: str) -> None:
        self.document.commit(project, text, exact=True)

    # Actions that concern several views

    def zoom_to_tightest(self) -> None:
        """Show the rule with the least to spare, large."""
        if not self.canvas.sheet.zoom_to_tightest():
            self.say(tr("There is no reading with a rule to zoom to."))

    def zoom_in(self) -> None:
        """Enlarge one step."""
        self.canvas.sheet.zoom(1)

    def zoom_out(self) -> None:
        """Make smaller by one step."""
        self.canvas.sheet.zoom(-1)

    def next_vertex(self) -> None:
        """Select the next vertex along the outline."""
        self.canvas.vertices.select_next(1)

    def previous_vertex(self) -> None:
        """Select the vertex before."""
        self.canvas.vertices.select_next(-1)

    def copy_readings(self) -> None:
        """Copy all readings as a table."""
        self.readings.copy_table()

    def focus_canvas(self) -> None:
        """Give the keys to the drawing."""
        self.canvas.sheet.setFocus(Qt.FocusReason.ShortcutFocusReason)

    # Events

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Take files."""
        if any(url.isLocalFile() for url in event.mimeData().urls()):
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        """Open a project, or read outlines; of several files the first project wins."""
        event.acceptProposedAction()
        self.files.open_dropped(
            [Path(url.toLocalFile()) for url in event.mimeData().urls() if url.isLocalFile()]
        )

    def changeEvent(self, event: QEvent) -> None:
        """Look whether another program changed the file, each time the window is gone back to."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.ActivationChange and self.isActiveWindow():
            QTimer.singleShot(0, self.files.look_at_disk)

    def closeEvent(self, event: QCloseEvent) -> None:
        """Ask about unsaved changes; keep sizes."""
        if not self.files.may_leave():
            event.ignore()
            return
        self.files.leave()
        self.live_stress.end()
        self.beside.end()
        self.help.end()
        self.settings.keep_geometry("window", self.saveGeometry())
        for name in ("whole", "middle", "left"):
            self.settings.keep_geometry(name, getattr(self, name).saveState())
        event.accept()


def _keep_names(shown: Shown) -> None:
    """Let no word of the program be read into a name; in English nothing is read."""
    if language() != "en" and not shown.dragging:
        from app.reports.names import names_of

        keep(names_of(shown.project))


def _split(orientation: Qt.Orientation, *widgets: QWidget) -> QSplitter:
    splitter = QSplitter(orientation)
    splitter.setHandleWidth(1)
    splitter.setChildrenCollapsible(False)
    for widget in widgets:
        splitter.addWidget(widget)
    return splitter
