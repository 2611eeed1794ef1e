"""Reading a foreign outline: what was found, in both units; its unit is stated or asked, never guessed."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QLabel, QWidget

from app.files.readers.answer import NOT_KNOWN, UNITS, ReadOutline, Row, plain
from app.files.readers.read import read_outline
from app.project import edits
from app.project.project import Project
from app.session.jobs import Jobs
from app.window.dialogs.form import Form, ProjectDialog
from app.window.dialogs.import_wheel import WheelFields
from app.window.dialogs.new_shape import motion_of
from app.window.dialogs.outline_preview import OutlinePreview
from app.window.dialogs.typed_fields import CheckField, ChoiceField, Field, FieldError, TextField
from app.window.dialogs.wheel_pages import ChecksField
from geometry.shape.blank import Blank
from geometry.shape.outline import (
    Answer,
    Corner,
    Grade,
    Known,
    NamedOutline,
    ShapeKind,
    SourceCard,
    StayOut,
)

SHAPE, BLANK, WHEEL = "stay-out shape", "blank", "wheel"
_SIDES = {SHAPE: "outward", BLANK: "inward", WHEEL: "nearest"}
_ASK = "not stated: choose"
#: A drawing with a layer of this name shows a wheel; our own exports have one.
_WHEEL_LAYER = "WHEEL"

Read = Callable[..., ReadOutline]


class ImportDialog(ProjectDialog):
    """Reads a file in the background and adds its outline to the shapes, the blanks or the wheels.

    Whatever changes how the file is to be read (unit, what it becomes, layers) reads it again, since replaced
    curves lie outside a shape, inside a blank and on either side of a wheel.

    Args:
        project: as it is now.
        path: the file to read.
        wheel: name of the wheel that is shown, None for none; a new shape can be held against it.
        parent: window it belongs to.
        read: reads the file.

    Signals:
        shape_made(name): OK was pressed and a stay-out shape was added; the dialog is closed by then.
    """

    shape_made = Signal(str)

    def __init__(
        self,
        project: Project,
        path: Path,
        wheel: str | None = None,
        parent: QWidget | None = None,
        read: Read = read_outline,
    ) -> None:
        super().__init__(f"Import outline: {path.name}", project, parent)
        self.path, self._shown_wheel, self._read = path, wheel, read
        self._made_shape = ""
        self.found: ReadOutline | None = None
        self.jobs = Jobs(self)
        self._stop = threading.Event()
        self.report, self.preview = QLabel(), OutlinePreview()
        self.report.setWordWrap(True)
        self.report.setAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop)
        self.column.insertWidget(0, self.report)
        self.column.insertWidget(1, self.preview)
        self._form = self.page("Outline")
        self._fill(self._form)
        self.wheel = WheelFields(self.page("Wheel"), project, self._taken)
        self.pages.setTabVisible(1, False)
        self.preview.clicked.connect(self._pointed)
        self.resize(640, 680)
        self._start()

    def _fill(self, form: Form) -> None:
        names: list[tuple[str, str | None]] = [(_ASK, None), ("mm", "mm"), ("in", "in")]
        self.unit = form.add("Unit of the file", ChoiceField(names, None))
        self.becomes = form.add("It becomes a", ChoiceField([(w, w) for w in (SHAPE, BLANK, WHEEL)], SHAPE))
        free = edits.free_name(self.project, edits.SHAPE, self.path.stem)
        self.name = form.add("Name", TextField(free, required=True))
        self.kind = form.add("Kind", ChoiceField([(str(k), k) for k in ShapeKind], ShapeKind.CALIPER))
        self.grade = form.add("Grade", ChoiceField([(str(g), g) for g in Grade], Grade.HEARSAY))
        self.hold = form.add("", CheckField("hold the shown wheel against it", True))
        form.show_field(self.hold, self._shown_wheel is not None)
        self.close_open = form.add("", CheckField("close an open outline by a straight line"))
        self.loops = ChecksField((), (), "none found yet")
        self.layers = ChecksField((), (), "")
        self._loops_shown: tuple[str, ...] = ()
        self._layers_shown: tuple[str, ...] = ()
        self._unit_typed = self._is_unit_stated = self._is_target_chosen = False
        self.unit.edited.connect(self._unit_chosen)
        self.becomes.edited.connect(self._target_changed)
        self.close_open.edited.connect(self._start)

    # Reading

    def _unit_chosen(self) -> None:
        self._unit_typed = True
        self._start()

    def _target_changed(self) -> None:
        shape = self.becomes.read() == SHAPE
        self._is_target_chosen = True
        self.pages.setTabVisible(1, self.becomes.read() == WHEEL)
        for field in (self.kind, self.grade):
            self._form.show_field(field, shape)
        self._form.show_field(self.hold, shape and self._shown_wheel is not None)
        self._start()

    def _start(self) -> None:
        """Read the file as the fields ask; the answer comes back through `_came` or `_failed`."""
        self.found = None
        chosen = self.layers.read()
        if self._layers_shown and not chosen:
            self.jobs.drop("reading")
            self._failed(ValueError("No layer is ticked: tick at least one."))
            return
        self._tell(f"Reading {self.path.name}...")
        work = partial(
            self._read,
            self.path,
            unit=self.unit.read() if self._unit_typed else None,
            layers=chosen if len(chosen) < len(self._layers_shown) else (),
            side=_SIDES[self.becomes.read()],
            close=self.close_open.read(),
            cancelled=self._stop.is_set,
        )
        self.jobs.start("reading", work, self._came, self._failed)

    def _tell(self, text: str) -> None:
        """Write the header; it never gets lower, so that nothing below it jumps."""
        if self.isVisible():
            self.report.setMinimumHeight(max(self.report.minimumHeight(), self.report.height()))
        self.report.setText(text)

    def _came(self, found: ReadOutline) -> None:
        self.found = found
        self.say("")
        if not self._unit_typed and found.unit in UNITS:
            self._is_unit_stated = True
            stated = (f"{found.unit}, as the file states", found.unit)
            self.unit.offer([stated, *_others(found.unit)], found.unit)
        self._tell(report(found, self._is_unit_stated))
        self.preview.show_loops(found.loops)
        self._offer_layers(tuple(found.layers))
        self._offer_loops(found)
        if not self._is_target_chosen and any(name.upper() == _WHEEL_LAYER for name in found.layers):
            self.becomes.choose(WHEEL)

    def _failed(self, error: Exception) -> None:
        self._tell("Nothing was read.")
        self.preview.show_loops(())
        self.say(str(error))

    def _offer_layers(self, layers: tuple[str, ...]) -> None:
        if self._layers_shown or len(layers) < 2:
            return
        self._layers_shown = layers
        self.layers = ChecksField(layers, layers, "")
        for name, box in self.layers.boxes.items():
            # An ampersand in a label stands for a key.
            box.setText(plain(name).replace("&", "&&"))
            box.setToolTip(name)
        self._form.add("Layers", self.layers)
        self.layers.edited.connect(self._start)

    def _offer_loops(self, found: ReadOutline) -> None:
        names = tuple(f"outline {k + 1}: {len(loop)} vertices" for k, loop in enumerate(found.loops))
        if names == self._loops_shown:
            self._loops_chosen()
            return
        if self._loops_shown:
            self._form.remove(self.loops)
        self._loops_shown = names
        self.loops = ChecksField(names, names, "")
        self._form.add("Take", self.loops)
        self._form.show_field(self.loops, len(names) > 1)
        self.loops.edited.connect(self._loops_chosen)
        self._loops_chosen()

    def _loops_chosen(self) -> None:
        self.preview.choose(self._chosen())
        if self.becomes.read() == WHEEL:
            self.wheel.follow()

    def _pointed(self, z: float, r: float) -> None:
        if self.becomes.read() == WHEEL:
            self.wheel.point_at(z, r)

    def _taken(self) -> tuple[tuple[Row, ...], ...]:
        return tuple(self.found.loops[k] for k in self._chosen()) if self.found is not None else ()

    def _chosen(self) -> list[int]:
        taken = self.loops.read()
        return [k for k, name in enumerate(self._loops_shown) if name in taken]

    def fields(self) -> list[Field]:
        """Return every field in use; those of a wheel count only for a wheel."""
        if self.becomes.read() == WHEEL:
            return super().fields()
        return [field for field in super().fields() if field not in self.wheel.fields()]

    def done(self, result: int) -> None:
        """Break a reading off before the dialog goes."""
        self._stop.set()
        self.jobs.drop("reading")
        super().done(result)
        if result and self._made_shape:
            self.shape_made.emit(self._made_shape)

    # What it becomes

    def made(self) -> tuple[Project, str]:
        """Return the project with the outline added.

        Raises:
            FieldError: nothing was read, the unit is open, or the wrong number of outlines is chosen.
        """
        found = self.found
        if found is None:
            raise FieldError("There is no outline yet: wait for the reader, or mend what it says.")
        if found.hindrance:
            raise FieldError(found.hindrance)
        if found.unit == NOT_KNOWN:
            raise FieldError(f"{_unit_words(found)}: choose it. {_both(found)}")
        loops = [found.loops[k] for k in self._chosen()]
        if not loops:
            raise FieldError("Choose at least one outline.")
        if self.becomes.read() == WHEEL:
            source = f"read from {found.file_name}, {found.unit}, sha256 {found.sha256}, {found.reader}"
            project, wheel = self.wheel.added(self.project, self.name.read(), source)
            return project, f"Import wheel {wheel.name}"
        if self.becomes.read() == BLANK:
            if len(loops) > 1:
                raise FieldError("A blank is one outline: choose one of those found.")
            blank = Blank(self.name.read(), corners(loops[0]), source=f"read from {found.file_name}")
            return edits.add(self.project, edits.BLANK, blank), f"Import blank {blank.name}"
        project = edits.add(self.project, edits.SHAPE, self._shape(found, loops))
        name = self._made_shape = project.shapes[-1].name
        if self._shown_wheel is not None and self.hold.read():
            wheel = edits.find(project, edits.WHEEL, self._shown_wheel)
            held = replace(wheel, clears=(*wheel.clears, name))
            project = edits.replaced(project, edits.WHEEL, wheel.name, held)
        return project, f"Import stay-out shape {name}"

    def _shape(self, found: ReadOutline, loops: list[tuple[Row, ...]]) -> StayOut:
        how, who = (
            ("chosen at import", "importer") if self._unit_typed else ("stated in the file", "the file")
        )
        unit = Answer(Known.ASSUMED, f"{found.unit}, {how}", who)
        kind = self.kind.read()
        one = len(loops) == 1
        return StayOut(
            self.name.read(),
            tuple(
                NamedOutline("as read" if one else f"outline {k + 1}", corners(loop))
                for k, loop in enumerate(loops)
            ),
            kind=kind,
            motion=motion_of(kind),
            card=SourceCard(
                source=f"read from {found.file_name}",
                grade=self.grade.read(),
                unit=unit,
                file_name=found.file_name,
                file_sha256=found.sha256,
                file_unit=found.unit,
                reader=found.reader,
            ),
        )


def corners(loop: tuple[Row, ...]) -> tuple[Corner, ...]:
    """Return the rows of an outline as corners without radii; its arcs stay exact as bulges."""
    return tuple(Corner(z, r, bulge=bulge) for z, r, bulge in loop)


def report(found: ReadOutline, is_unit_stated: bool = False) -> str:
    """Return what was found in a file: outlines, unit, bounds, what was joined and left out.

    Where the file does not state its unit, the bounds stand in both units.
    """
    count = len(found.loops)
    vertices = sum(len(loop) for loop in found.loops)
    said = [f"{count} closed outline{'s' if count > 1 else ''}, {vertices} vertices, from a {found.kind}."]
    z0, z1, r0, r1 = found.bounds
    spans = f"It spans z {z0:.1f} to {z1:.1f}, r {r0:.1f} to {r1:.1f} mm."
    said.append(f"{_unit_words(found)}.\n{spans if is_unit_stated else _both(found, chr(10))}")
    if found.joined:
        ends = "end" if found.joined == 1 else "ends"
        said.append(f"{found.joined} {ends} joined, at most {found.largest_join_mm:.3f} apart.")
    if found.doubles:
        said.append(f"{found.doubles} drawn twice and dropped.")
    if found.curves:
        said.append(f"{found.curves} curves replaced by arcs within {found.curve_error_mm:.4f} mm.")
    if found.skipped:
        said.append("Left out: " + ", ".join(f"{n} {what}" for what, n in found.skipped.items()) + ".")
    return "\n".join([*said, *(w for w in found.warnings if w != found.unit_doubt)])


def _unit_words(found: ReadOutline) -> str:
    if found.unit != NOT_KNOWN:
        return f"Read as {found.unit}"
    doubt = found.unit_doubt or "the file states no unit"
    return f"{doubt[0].upper()}{doubt[1:]}"


def _both(found: ReadOutline, between: str = " ") -> str:
    """Return the size of what was found as it would be with the file's numbers in mm, and in inches."""
    in_file = 1.0 / UNITS.get(found.unit, 1.0)
    z0, z1, r0, r1 = (x * in_file for x in found.bounds)

    def size(scale: float) -> str:
        return f"z {z0 * scale:.1f} to {z1 * scale:.1f}, r {r0 * scale:.1f} to {r1 * scale:.1f} mm"

    return f"Drawn in mm it spans {size(1.0)};{between}drawn in inches {size(UNITS['in'])}."


def _others(unit: str) -> list[tuple[str, str | None]]:
    return [(name, name) for name in UNITS if name != unit]
