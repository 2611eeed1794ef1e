"""Dimensions on the drawing: which are shown, added and removed, and typed in place."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, QRectF, Qt
from PySide6.QtGui import QFocusEvent, QKeyEvent
from PySide6.QtWidgets import QLineEdit

from app.language import spoken, tr
from app.project.project import Project
from app.session import dimensions
from app.session.dimensions import Dimension, Measure, Wanted
from app.session.document import Document
from app.session.driving import Driven, with_value
from app.session.edited import Edited, EditError, Kind
from app.session.shown import Shown
from app.units import UnitsError, format_angle, parse_angle_deg, parse_length_mm
from app.views.canvas.boxes import shown as coordinate
from app.views.canvas.dimension_layout import text
from app.views.canvas.finding import Finding, Place
from app.views.canvas.plot import Sheet
from app.views.theme import Theme, figures

_HOW = tr(
    "Choose two vertices for their distance, one for its angle, or point at the skin of a wheel for its "
    "wall; the same key takes it away again."
)


class Dimensioning(QObject):
    """Shows dimensions, and changes the document by what is typed into one.

    A typed number is shown while it is typed; Enter makes it one step, Escape leaves all as it was, and the
    tabulator goes on to the next that can be typed. Added dimensions are part of the project: each is a step.

    Attributes:
        box: where a number is typed.
    """

    def __init__(self, document: Document, sheet: Sheet, finding: Finding, theme: Theme) -> None:
        super().__init__(sheet)
        self._document, self._sheet, self._finding, self._theme = document, sheet, finding, theme
        self._on = True
        self._typed: Dimension | None = None
        self._base: Project | None = None
        self._typed_of: tuple[Edited | None, str] = None, ""
        self.box = QLineEdit(sheet.viewport())
        self.box.setFont(figures(self.box.font()))
        self.box.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.box.hide()
        self.box.installEventFilter(self)
        self.box.textEdited.connect(lambda _text: self._try())
        sheet.dimensions.clicked.connect(self.type_into)
        sheet.scaled.connect(self._put_box)

    # What is shown

    def set_on(self, on: bool) -> None:
        """Show or hide all dimensions."""
        self._on = on
        self.show_state(self._document.state)

    def show_state(self, shown: Shown) -> None:
        """Show the dimensions of another state."""
        if self._typed is not None and (
            _of(shown) != self._typed_of or (not shown.dragging and shown.project is not self._base)
        ):
            self._close()  # undo, or another part of the window, has changed what is typed into
        self._sheet.dimensions.set_dimensions(self._found(shown), self._sheet.unit())

    def _found(self, shown: Shown) -> list[Dimension]:
        """Return what is shown, the nearest to what is edited first."""
        if not self._on:
            return []
        added = _added(shown)
        wanted = dimensions.of_vertex(shown)
        if added:  # one of these may be there already
            wanted = [*dict.fromkeys([*wanted, *added])]
        found = [dimensions.found(shown, each) for each in wanted]
        return [*(each for each in found if each is not None), *dimensions.found_of_wheel(shown)]

    # Added and removed

    def dimension_these(self, pointer: Place | None) -> None:
        """Add a dimension of what is chosen; where it is there already, the next one, and then none."""
        if not self._on:
            self._document.say(tr("Dimensions are hidden: show them first, with H."))
            return
        ways = self._ways(pointer)
        if not ways:
            self._document.say(_HOW)
            return
        state, edited = self._document.state, ways[0].of
        added = dimensions.added(state.project, edited)
        there = next((k for k, wanted in enumerate(ways) if wanted in added), None)
        kept = [wanted for wanted in added if wanted not in ways]
        for wanted in ways[0 if there is None else there + 1 :]:
            dimension = dimensions.found(state, wanted)
            if dimension is not None:
                kept.append(wanted)
                again = tr("the next way") if wanted != ways[-1] else tr("none")
                words = tr(
                    "{name}: {value_text}. The same key again: {again}.",
                    name=dimension.name,
                    value_text=text(dimension, self._sheet.unit()),
                    again=again,
                )
                step = tr(
                    "Dimension: {lower}{name}", lower=dimension.name[:1].lower(), name=dimension.name[1:]
                )
                break
        else:
            words = tr("There is no wall here.") if there is None else tr("The dimension is taken away.")
            step = tr("Take a dimension away")
        self._document.commit(dimensions.with_added(self._document.project, edited, kept), step)
        self._document.say(words)

    def _ways(self, pointer: Place | None) -> list[Wanted]:
        document = self._document
        edited, group = document.edited, document.group
        if edited is None:
            return []
        state = document.state
        if len(group) == 2:
            # The one selected last is the one that moves.
            a, b = group if document.selected != group[0] else group[::-1]
            return dimensions.between(state, a, b)
        if len(group) == 1:
            return [Wanted(Measure.ANGLE, edited, group[0])]
        hit = self._finding.edge_at(pointer) if pointer is not None and not group else None
        if hit is None:
            return []
        assert pointer is not None
        added = dimensions.added(state.project, edited)
        near = [w for w in added if w.measure is Measure.WALL and w.a == hit[0]]
        made = dimensions.place_on(state, hit[0], pointer)
        return near or ([made] if made is not None else [])

    # Typed

    @property
    def is_typing(self) -> bool:
        """True while a number is typed on the drawing."""
        return self._typed is not None

    def type_first(self) -> None:
        """Put the keys into the first dimension that can be typed."""
        self._go_on(None)

    def type_into(self, dimension: Dimension) -> None:
        """Open the box over a dimension's number; of a reference dimension say why it is one."""
        if not dimension.drives:
            self._document.say(
                tr("{name} is for reference. {why_not}", name=dimension.name, why_not=dimension.why_not)
            )
            return
        self._typed, self._base = dimension, self._document.project
        self._typed_of = _of(self._document.state)
        unit = self._sheet.unit()
        words = (
            format_angle(dimension.value)[:-1]
            if dimension.is_angle
            else coordinate(dimension.value, unit, grade=dimension.grade)
        )
        self.box.setText(words)
        self.box.setModified(False)
        self.box.setAccessibleName(dimension.name)
        self.box.setToolTip(
            tr(
                "{name}, {unit}. Enter, or Escape.",
                name=dimension.name,
                unit=tr("degrees") if dimension.is_angle else unit,
            )
        )
        self._dress(False)
        self._put_box()
        self.box.show()
        self.box.setFocus(Qt.FocusReason.OtherFocusReason)
        self.box.selectAll()

    def cancel(self) -> None:
        """Leave the box without a change."""
        if self._typed is not None:
            self._close()
            self._document.cancel()

    def _put_box(self) -> None:
        """Stand over the number as it was drawn when typing began; it does not run away while it changes."""
        if self._typed is None:
            return
        place = self._sheet.dimensions.box_of(self._typed.wanted)
        if place is None:
            place = QRectF(self.box.geometry())
        width = max(place.width(), self.box.fontMetrics().horizontalAdvance("−1234.56 + 12")) + 12
        height = self.box.sizeHint().height()
        centre, room = place.center(), self._sheet.viewport().rect()
        left = min(max(centre.x() - width / 2.0, 2.0), room.width() - width - 2.0)
        top = min(max(centre.y() - height / 2.0, 2.0), room.height() - height - 2.0)
        self.box.setGeometry(round(left), round(top), round(width), height)

    def _driven(self) -> Driven:
        """Return what the typed number makes.

        Raises:
            UnitsError: it is no number.
            EditError: it cannot be had.
        """
        dimension, base = self._typed, self._base
        assert dimension is not None
        assert base is not None
        typed = self.box.text()
        unit = self._sheet.unit()
        value = parse_angle_deg(typed) if dimension.is_angle else parse_length_mm(typed, unit)
        return with_value(base, dimension, value)

    def _try(self) -> None:
        """Show what the number makes while it is typed; half a number is no mistake yet."""
        self._dress(False)
        try:
            made = self._driven()
        except (UnitsError, EditError):
            self._document.cancel()
            return
        self._document.preview(made.project)

    def _apply(self) -> bool:
        """Make the typed number one step; False, with its words, where it cannot be."""
        if self._typed is None:
            return True
        if not self.box.isModified():
            self._close()
            return True
        try:
            made = self._driven()
        except (UnitsError, EditError) as refused:
            self._document.cancel()
            self._dress(True)
            self._document.say(spoken(str(refused)))
            self.box.setToolTip(spoken(str(refused)))
            if isinstance(refused, UnitsError):
                self.box.setSelection(refused.position, max(1, len(self.box.text()) - refused.position))
            return False
        self._close()
        self._document.commit(made.project, made.step, words=made.words)
        return True

    def _go_on(self, after: Wanted | None) -> None:
        """Open the box over the next dimension that can be typed, round and round."""
        every = [laid.dimension for laid in self._sheet.dimensions.laid if laid.dimension.drives]
        if not every:
            self._document.say(
                tr("No dimension that can be typed is shown.") if self._on else tr("Show them with H.")
            )
            return
        wanted = [dimension.wanted for dimension in every]
        self.type_into(every[(wanted.index(after) + 1) % len(every) if after in wanted else 0])

    def _close(self) -> None:
        self._typed = self._base = None
        had = self.box.hasFocus()
        self.box.hide()
        if had:
            self._sheet.setFocus(Qt.FocusReason.OtherFocusReason)

    def _dress(self, refused: bool) -> None:
        colours = self._theme.colours
        edge = colours.short if refused else colours.accent
        self.box.setStyleSheet(
            f"QLineEdit {{ background: {colours.paper}; color: {colours.ink}; "
            f"border: {2 if refused else 1}px {'dashed' if refused else 'solid'} {edge}; padding: 1px; }}"
        )

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Take Enter, Escape, the tabulator and the loss of the keys."""
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress:
            if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
                self._apply()
                return True
            if event.key() == Qt.Key.Key_Escape:
                self.cancel()
                return True
            if event.key() == Qt.Key.Key_Tab:
                wanted = self._typed.wanted if self._typed is not None else None
                if self._apply():
                    self._go_on(wanted)
                return True
        if isinstance(event, QFocusEvent) and event.type() == QEvent.Type.FocusOut:
            window_reasons = (Qt.FocusReason.ActiveWindowFocusReason, Qt.FocusReason.PopupFocusReason)
            if event.reason() not in window_reasons and self._typed is not None and not self._apply():
                self.cancel()
        return super().eventFilter(watched, event)


def _of(shown: Shown) -> tuple[Edited | None, str]:
    """Return what is edited, and the wheel that is shown."""
    return shown.edited, "" if shown.wheel is None else shown.wheel.name


def _added(shown: Shown) -> list[Wanted]:
    """Return what was added to the shown wheel and to what is edited."""
    wheel, edited = shown.wheel, shown.edited
    of = [] if edited is None else [edited]
    if wheel is not None and (edited is None or (edited.kind, edited.name) != (Kind.WHEEL, wheel.name)):
        of.insert(0, Edited(Kind.WHEEL, wheel.name))
    return [wanted for each in of for wanted in dimensions.added(shown.project, each)]
