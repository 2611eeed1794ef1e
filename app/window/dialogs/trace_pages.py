"""The pages of a tracing: how the picture lies, its scale and zero, its outline."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from PySide6.QtWidgets import QGridLayout, QLabel, QPushButton, QWidget

from app.language import spoken, tr
from app.project import edits
from app.project.project import Project
from app.window.dialogs.form import Form, quiet_label
from app.window.dialogs.trace_state import LENGTH_AXES, Task, Trace
from app.window.dialogs.typed_fields import (
    NUMBER,
    CheckField,
    ChoiceField,
    Field,
    Kind,
    NumberField,
    TextField,
    plain,
)
from geometry.shape.outline import Corner, ShapeKind
from geometry.shape.tracing import KnownLength, lean_deg, length_px

F = TypeVar("F", bound=Field)
Point = Callable[[Task], None]

_TURNS = [
    (tr("as it is"), 0),
    (tr("a quarter to the left"), 1),
    (tr("half round"), 2),
    (tr("a quarter to the right"), 3),
]
#: A known length that leans more than this off its axis is worth a second look, degrees.
_LEANING_DEG = 5.0


def _shown(field: NumberField, value: float | None) -> None:
    """Show a value unless the field's text says it already, or is being typed into."""
    try:
        if field.read() == value:
            return
    except ValueError:
        if field.line.hasFocus():
            return
    field.put(value)


class _Grid(QWidget):
    """Rows of buttons and fields that stand under each other."""

    def __init__(self, form: Form) -> None:
        super().__init__()
        self._form = form
        self._rows = QGridLayout(self)
        self._rows.setContentsMargins(0, 0, 0, 0)
        self._rows.setHorizontalSpacing(8)
        self._rows.setVerticalSpacing(4)
        self._rows.setColumnStretch(1, 1)

    def add(self, row: int, button: QPushButton, field: F, name: str) -> F:
        """Put a button and its field into a row."""
        field.name(name)
        self._form.fields.append(field)
        self._rows.addWidget(button, row, 0)
        self._rows.addWidget(field, row, 1)
        return field

    def note(self, row: int) -> QLabel:
        """Put a line of quiet words into a row and return it."""
        label = quiet_label()
        self._rows.addWidget(label, row, 0, 1, 2)
        return label

    def lone(self, row: int, button: QPushButton) -> None:
        """Put a button without a field into a row."""
        self._rows.addWidget(button, row, 0)


def _button(task: Task, point: Point) -> QPushButton:
    button = QPushButton(task.button)
    button.setAutoDefault(False)
    button.setCheckable(True)
    button.clicked.connect(lambda: point(task))
    return button


class PicturePage:
    """Which page, how it is turned, and what makes it level."""

    def __init__(
        self, form: Form, point: Point, changed: Callable[[], None], paged: Callable[[], None]
    ) -> None:
        self._form = form
        self.page = form.add(tr("Page"), NumberField(NUMBER, 1.0, whole=True, least=1.0))
        self.turns: ChoiceField[int] = form.add(tr("Turned"), ChoiceField(_TURNS, 0))
        self.flip = form.add("", CheckField(tr("flip: outboard is to the left in the picture")))
        self.level = _button(Task.LEVEL, point)
        grid = _Grid(form)
        grid.lone(0, self.level)
        form.row(grid)
        self.tilt = form.note()
        self.about = form.note()
        form.note(
            tr(
                "Outboard to the right and the axle line below, as everywhere here. A photograph should "
                "be taken "
                "square to the axle and from far away: nothing here takes out a slanting view."
            )
        )
        form.show_field(self.page, False)
        self.turns.edited.connect(changed)
        self.flip.edited.connect(changed)
        self.page.line.editingFinished.connect(paged)

    def show(self, trace: Trace, pages: int, about: str) -> None:
        """Show how the picture lies."""
        self._form.show_field(self.page, pages > 1)
        self.page.most = float(pages)
        _shown(self.page, trace.page + 1.0)
        for field, value in ((self.turns, trace.lie.turns), (self.flip, trace.lie.flip)):
            field.blockSignals(True)
            if isinstance(field, ChoiceField):
                field.choose(value)
            else:
                field.box.setChecked(bool(value))
            field.blockSignals(False)
        tilt = plain(abs(trace.lie.tilt_deg))
        way = tr("right") if trace.lie.tilt_deg > 0.0 else tr("left")
        levelled = (
            tr("Turned to the {way} by {tilt}° to make it level.", way=way, tilt=tilt)
            if float(tilt)
            else tr("It was level.")
        )
        self.tilt.setText(levelled if trace.lie.level is not None else tr("Not levelled: taken as it lies."))
        self.about.setText(about)


class ScalePage:
    """Known lengths along both axes, and where the zeros are."""

    def __init__(self, form: Form, kind: Kind, point: Point, typed: Callable[[str], None]) -> None:
        self.buttons: dict[Task, QPushButton] = {}
        self.lengths: list[NumberField] = []
        self.notes: list[QLabel] = []
        for axis, name in (("z", tr("Known lengths along z, the axle")), ("r", tr("Known lengths along r"))):
            form.head(name)
            grid = _Grid(form)
            for k in (s for s, a in enumerate(LENGTH_AXES) if a == axis):
                row, task = 2 * (k % 2), Task.of_length(k)
                self.buttons[task] = _button(task, point)
                word = tr("first") if k % 2 == 0 else tr("second")
                field = NumberField(kind, None, optional=True, above=0.0, empty=tr("its true length"))
                grid.add(
                    row,
                    self.buttons[task],
                    field,
                    tr("True length of the {word} along {axis}", word=word, axis=axis),
                )
                field.edited.connect(lambda k=k: typed(f"length {k}"))
                self.lengths.append(field)
                self.notes.append(grid.note(row + 1))
            form.row(grid)
        form.head(tr("Zero"))
        grid = _Grid(form)
        for row, task in enumerate((Task.BEARING, Task.FLANGE, Task.AXLE)):
            self.buttons[task] = _button(task, point)
            grid.lone(row, self.buttons[task])
        form.row(grid)
        self.face = form.add(
            tr("z of the face"),
            NumberField(kind, 0.0),
            tr("0; or the z of another place that was pointed at instead."),
        )
        self.axle = form.add(
            tr("r of the axle line"),
            NumberField(kind, 0.0, least=0.0),
            tr(
                "0; where the axle line is not in the picture, the r of the place that was pointed at "
                "instead."
            ),
        )
        self.face.edited.connect(lambda: typed("face"))
        self.axle.edited.connect(lambda: typed("axle"))

    def show(self, trace: Trace, task: Task) -> None:
        """Show what was pointed at and typed."""
        for one, button in self.buttons.items():
            button.setChecked(one is task)
        for k, length in enumerate(trace.lengths):
            _shown(self.lengths[k], length.true_mm)
            self.notes[k].setText(self._said(trace, k))
            self.notes[k].setVisible(bool(self.notes[k].text()))
        _shown(self.face, trace.face_mm)
        _shown(self.axle, trace.axle_mm)

    @staticmethod
    def _said(trace: Trace, k: int) -> str:
        length = trace.lengths[k]
        if length.ends is None:
            return ""
        known = KnownLength(LENGTH_AXES[k], length.ends, length.true_mm or 1.0)
        pixels, lean = length_px(known, trace.lie), lean_deg(known, trace.lie)
        words = tr("{pixels:.0f} pixels along {axis}", pixels=pixels, axis=known.axis)
        if length.true_mm is not None and pixels:
            words += tr(", {true_mm:.4f} mm a pixel", true_mm=length.true_mm / pixels)
        if lean > _LEANING_DEG:
            words += tr("; its ends lie {lean:.0f}° off the axis, of which nothing is counted", lean=lean)
        return words


class OutlinePage:
    """What the shape is called, and its points one by one: typed numbers win over the click."""

    def __init__(
        self,
        form: Form,
        project: Project,
        name: str,
        kind: Kind,
        has_wheel: bool,
        point: Point,
        selected: Callable[[int], None],
        typed: Callable[[str], None],
    ) -> None:
        self.name = form.add(
            tr("Name"), TextField(edits.free_name(project, edits.SHAPE, name), required=True)
        )
        kinds = [(spoken(k), k) for k in ShapeKind]
        self.kind: ChoiceField[ShapeKind] = form.add(tr("Kind"), ChoiceField(kinds, ShapeKind.CALIPER))
        self.hold = form.add("", CheckField(tr("hold it against the shown wheel"), has_wheel))
        form.show_field(self.hold, has_wheel)
        form.head(tr("Its points"))
        self.draw = _button(Task.OUTLINE, point)
        drawing = _Grid(form)
        drawing.lone(0, self.draw)
        form.row(drawing)
        self.point: ChoiceField[int] = form.add(tr("Point"), ChoiceField([(tr("(none)"), -1)], -1))

        def place(least: float | None) -> NumberField:
            return NumberField(kind, None, optional=True, least=least, empty=tr("as clicked"))

        tip = tr("A typed number wins over the click; empty it to take the click again.")
        self.z = form.add("z", place(None), tip)
        self.r = form.add("r", place(0.0), tip)
        self.radius = form.add(tr("Corner radius"), NumberField(kind, 0.0, least=0.0))
        self.close, self.remove = QPushButton(tr("&Close the outline")), QPushButton(tr("Re&move the point"))
        self.undo, self.redo = QPushButton(tr("&Undo")), QPushButton(tr("Re&do"))
        row = QWidget()
        grid = QGridLayout(row)
        grid.setContentsMargins(0, 0, 0, 0)
        for k, button in enumerate((self.close, self.remove, self.undo, self.redo)):
            button.setAutoDefault(False)
            grid.addWidget(button, k // 2, k % 2)
        form.row(row)
        form.note(
            tr(
                "A straight side between two points of a curve cuts it off: click outside of the curve, "
                "where "
                "its sides would meet, and type the corner radius."
            )
        )
        self.point.edited.connect(lambda: selected(self.point.read()))
        for field, word in ((self.z, "z"), (self.r, "r"), (self.radius, "radius")):
            field.edited.connect(lambda word=word: typed(word))

    def show(self, trace: Trace, corners: tuple[Corner, ...], selected: int | None, task: Task) -> None:
        """Show the points and the one that is selected."""
        self.draw.setChecked(task is Task.OUTLINE)
        count = len(trace.points)
        words = [tr("{k} of {count}", k=k + 1, count=count) for k in range(count)]
        if corners:
            words = [f"{w}: z {c.z:.1f}, r {c.r:.1f}" for w, c in zip(words, corners, strict=True)]
        rows = [(tr("(none)"), -1), *((w.replace("-", "−"), k) for k, w in enumerate(words))]
        self.point.offer(rows, -1 if selected is None else selected)
        chosen = trace.points[selected] if selected is not None else None
        for field in (self.z, self.r, self.radius):
            field.setEnabled(chosen is not None)
        _shown(self.z, None if chosen is None else chosen.z)
        _shown(self.r, None if chosen is None else chosen.r)
        _shown(self.radius, 0.0 if chosen is None else chosen.radius)
        at = corners[selected] if selected is not None and corners else None
        self.z.line.setPlaceholderText(
            tr("as clicked") if at is None else tr("as clicked, {z:.1f} mm", z=at.z)
        )
        self.r.line.setPlaceholderText(
            tr("as clicked") if at is None else tr("as clicked, {r:.1f} mm", r=at.r)
        )
        self.close.setEnabled(not trace.is_closed and count > 2)
        self.remove.setEnabled(count > 0)
