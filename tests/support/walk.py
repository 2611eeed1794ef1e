"""A random walk on the drawing: someone who does anything, in any order, for thousands of steps.

After each action the project still opens as it was saved and the readings are whole or absent; every hundred
they are those of a cold start; at the end undo leads all the way back, and redo forward again.

Ten thousand of them, with another start of the random numbers: `python -m tests.support.walk --seed 7`.
"""

from __future__ import annotations

import argparse
import math
import os
import random
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from types import TracebackType

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QLineEdit

from app.files import project_file
from app.project import edits, versions, wheel_edits
from app.project.project import Project
from app.project.wheel import Wheel
from app.session.document import Document
from app.session.edited import Edited, Kind, offset_mm, section_of, vertices_of, with_section
from app.session.shaping import TOOLS
from app.studies.fit import measure_wheel
from app.views.canvas.editor import Canvas
from app.views.theme import Theme
from geometry.errors import GeometryError
from geometry.shape.edits import with_zone
from geometry.shape.section import Zone
from tests.support.anew import forget

COLD_EVERY = 100
PLAIN, CTRL = Qt.KeyboardModifier.NoModifier, Qt.KeyboardModifier.ControlModifier
#: What people type, and what they should not.
TEXTS = (
    "5", "5,5", "12.7 + 3", '1/2"', "5 1/2 in", "0", "-3", "−2,5", "0.001", "40", "90", "1e5", "", "abc",
    "1,2,3", "5 mmm", "9999", "99999", "3 - 3", "1/0", "¼",
)  # fmt: skip


class Walk:
    """Walks over a project.

    Args:
        project: where it begins.
        seed: of the random numbers.
    """

    def __init__(self, project: Project, seed: int) -> None:
        self.random = random.Random(seed)
        self.document = Document()
        self.document.start(project)
        self.first = project
        self.canvas = Canvas(self.document, Theme())
        self.canvas.resize(760, 700)
        self.canvas.show()
        QApplication.processEvents()
        self.canvas.sheet.fit()
        self.done: list[str] = []
        self.counts: dict[str, int] = {}
        self._kept: Project | None = None
        self._caught: list[BaseException] = []
        self._actions: list[tuple[int, Callable[[], None]]] = [
            (14, self.drag), (6, self.nudge), (8, self.type_vertex), (5, self.insert), (4, self.delete),
            (14, self.tool), (9, self.dimension), (4, self.add_dimension), (5, self.undo), (5, self.redo),
            (4, self.version), (3, self.other_wheel), (4, self.zone), (3, self.size), (4, self.edit_other),
            (3, self.choose), (3, self.look), (2, self.escape), (2, self.unit), (1, self.lock),
        ]  # fmt: skip

    def walk(self, count: int, told: bool = False) -> None:
        """Do so many actions and check after each; `told` prints how far it has come.

        Raises:
            AssertionError: something does not hold; the last actions stand in the message.
        """
        hook, sys.excepthook = sys.excepthook, self._catch
        begun = time.monotonic()
        try:
            for k in range(count):
                weights, actions = zip(*self._actions, strict=True)
                action = self.random.choices(actions, weights)[0]
                self._note(action.__name__)
                self.counts[action.__name__] = self.counts.get(action.__name__, 0) + 1
                try:
                    action()
                    self.leave_faults()
                    self.check(cold=(k + 1) % COLD_EVERY == 0)
                except Exception as error:
                    raise AssertionError(f"action {k}: {error!r} after {self.done[-12:]}") from error
                if told and (k + 1) % 500 == 0:
                    steps = self.document.undo_stack.index()
                    print(f"{k + 1} actions, {steps} steps, {time.monotonic() - begun:.0f} s", flush=True)
            self.check_history()
        finally:
            sys.excepthook = hook
            self.canvas.close()

    def _catch(self, _kind: type[BaseException], error: BaseException, _trace: TracebackType | None) -> None:
        self._caught.append(error)

    def _note(self, words: str) -> None:
        self.done.append(words)

    # What must hold

    def check(self, cold: bool) -> None:
        """Hold the document against its file, and against a cold start."""
        if self._caught:
            raise self._caught[0]
        project, state = self.document.project, self.document.state
        assert not state.dragging, "a gesture was left open"
        assert state.project is project
        if state.wheel is not None:
            assert (state.measurements is None) == bool(state.faults), "readings are neither whole nor absent"
        if project is not self._kept:
            self._kept = project
            data = project_file.dumps(project)
            again = project_file.loads(data)
            assert again == project, "the file gives another project"
            assert project_file.dumps(again) == data, "the same project gives another file"
        edited = self.document.edited
        if edited is not None and self.document.selected is not None:
            assert self.document.selected < len(vertices_of(project, edited)), (
                "a vertex is selected that is not"
            )
        if cold and state.wheel is not None:
            fresh = project_file.loads(project_file.dumps(project))
            wheel = next(w for w in fresh.wheels if w.name == state.wheel.name)
            forget()
            found = measure_wheel(fresh, wheel)
            assert found.faults == state.faults, "a cold start finds other faults"
            assert found.measurements == state.measurements, "a cold start reads otherwise"

    def check_history(self) -> None:
        """Undo all the way back and redo all the way forward."""
        stack, last = self.document.undo_stack, self.document.project
        for _ in range(stack.index()):
            self.document.undo()
        assert self.document.project == self.first, "undo does not lead back to the start"
        while stack.canRedo():
            self.document.redo()
        assert stack.canUndo() or last == self.first

    def leave_faults(self) -> None:
        """Mend most faults by undo, as a person would, so that the walk goes on among sound outlines."""
        if self.document.state.faults and self.random.random() < 0.8:
            self._note("undo the fault")
            self.document.undo()

    # Small helps

    def settle(self) -> None:
        """Let posted work be done, now and then; else only the newest preview."""
        if self.random.random() < 0.1:
            QApplication.processEvents()
        else:
            self.document._show_preview()

    def place(self) -> tuple[float, float]:
        """Return a place in view, in the hub's frame; mostly on the edited outline."""
        edited = self.document.edited
        vertices = vertices_of(self.document.project, edited) if edited is not None else ()
        if edited is None or not vertices or self.random.random() < 0.1:
            return self.random.uniform(-200.0, 120.0), self.random.uniform(0.0, 260.0)
        k = self.random.randrange(len(vertices))
        v, w, t = (
            vertices[k],
            vertices[(k + 1) % len(vertices)],
            self.random.choice((0.0, self.random.random())),
        )
        dz = offset_mm(self.document.project, edited, self.document.wheel)
        return v.z + (w.z - v.z) * t + dz, v.r + (w.r - v.r) * t

    def vertex(self) -> int | None:
        """Return any vertex of what is edited, also a locked one; None where there is none."""
        edited = self.document.edited
        count = len(vertices_of(self.document.project, edited)) if edited is not None else 0
        return self.random.randrange(count) if count else None

    def fill(self, box: QLineEdit) -> None:
        """Type into a box."""
        text = self.random.choice(TEXTS)
        box.setText(text)
        box.setModified(True)
        box.textEdited.emit(text)

    def near(self, place: tuple[float, float], reach: float) -> tuple[float, float]:
        """Return a place nearby."""
        return place[0] + self.random.gauss(0.0, reach), place[1] + self.random.gauss(0.0, reach)

    # Actions

    def drag(self) -> None:
        """Drag a vertex over a few places; let go, or press Escape, or undo in mid drag."""
        index = self.vertex()
        if index is None:
            return
        edited = self.document.edited
        assert edited is not None
        v = vertices_of(self.document.project, edited)[index]
        at = (v.z + offset_mm(self.document.project, edited, self.document.wheel), v.r)
        dragging, sheet = self.canvas.dragging, self.canvas.sheet
        self.canvas._press(index, sheet.to_pixels(*at))
        reach = self.random.choice((0.3, 2.0, 15.0))
        for _ in range(self.random.randint(0, 4)):
            dragging.move(sheet.to_pixels(*self.near(at, reach)), self.random.choice((PLAIN, PLAIN, CTRL)))
            self.settle()
        end = self.random.random()
        if end < 0.1:
            self.canvas.cancel()
        elif end < 0.15:
            self.document.undo()
        dragging.release()

    def nudge(self) -> None:
        """Press an arrow a few times."""
        self.document.select_vertex(self.vertex())
        for _ in range(self.random.randint(1, 3)):
            step = self.random.choice((1.0, 10.0, 0.1, 0.01)) * self.random.choice((1.0, -1.0))
            self.canvas.vertices.nudge(*self.random.choice(((step, 0.0), (0.0, step))))

    def type_vertex(self) -> None:
        """Type into the coordinate boxes."""
        self.document.select_vertex(self.vertex())
        boxes = self.canvas.boxes
        for name in self.random.sample(("z", "r", "radius"), self.random.randint(1, 2)):
            if self.document.selected is not None and not boxes.boxes[name].isReadOnly():
                self.fill(boxes.boxes[name])
        if not boxes.apply() or self.random.random() < 0.1:
            boxes.restore()

    def insert(self) -> None:
        """Insert a vertex under the pointer or in the middle of an edge."""
        self.canvas._pointer = self.place() if self.random.random() < 0.5 else None
        self.document.select_vertex(self.vertex())
        self.canvas.vertices.insert()

    def delete(self) -> None:
        """Delete what is chosen."""
        if self.random.random() < 0.8:
            self.document.select_vertex(self.vertex())
        self.canvas.vertices.delete()

    def tool(self) -> None:
        """Begin a tool, click, type, and finish or leave it."""
        name = self.random.choice(tuple(TOOLS))
        self._note(name)
        shaping, row = self.canvas.shaping, self.canvas.row
        shaping.start(name)
        for _ in range(self.random.randint(1, 3)):
            shaping.click(self.place())
            self.settle()
        for _ in range(self.random.randint(0, 3)):
            if row.boxes and shaping.is_active:
                self.fill(self.random.choice(list(row.boxes.values())))
                self.settle()
        if self.random.random() < 0.2 and row.swap.text():
            row.swap.toggle()
        if self.random.random() < 0.3:
            row.entered.emit()
        if self.random.random() < 0.75:
            row.finished.emit()
        if shaping.is_active:
            self.canvas.cancel()

    def dimension(self) -> None:
        """Type into any dimension that is shown."""
        shown = self.canvas.sheet.dimensions._dimensions
        if not shown:
            return
        dimension = self.random.choice(shown)
        self._note(dimension.name)
        typing = self.canvas.dimensioning
        typing.type_into(dimension)
        if not typing.is_typing:
            return
        if self.random.random() < 0.6:  # something like what stands there
            text = f"{dimension.value + self.random.gauss(0.0, 3.0):.2f}"
            typing.box.setText(text)
            typing.box.setModified(True)
            typing.box.textEdited.emit(text)
        else:
            self.fill(typing.box)
        self.settle()
        if self.random.random() < 0.2 or not typing._apply():
            typing.cancel()

    def add_dimension(self) -> None:
        """Add, change or take away dimensions."""
        chosen = [k for k in (self.vertex() for _ in range(self.random.randint(0, 2))) if k is not None]
        self.document.select_group(chosen)
        self.canvas._pointer = self.place()
        for _ in range(self.random.randint(1, 4)):
            self.canvas.dimension_these()

    def undo(self) -> None:
        """Go back a few steps."""
        for _ in range(self.random.choice((1, 1, 1, 2, 5))):
            self.document.undo()

    def redo(self) -> None:
        """Go forward a few steps."""
        for _ in range(self.random.randint(1, 5)):
            self.document.redo()

    def version(self) -> None:
        """Make a version, or delete one of several."""
        project, wheel = self.document.project, self.document.wheel
        if wheel is None:
            return
        if len(project.wheels) > 4:
            self.document.commit(edits.deleted(project, edits.WHEEL, wheel.name), "Delete a version")
            return
        new = versions.free_name(project, wheel.name)
        self.document.commit(versions.new_version(project, wheel.name, new, "walk"), "New version")
        self.document.compare(self.random.sample([w.name for w in self.document.project.wheels], 2))

    def other_wheel(self) -> None:
        """Show another wheel."""
        names = [w.name for w in self.document.project.wheels]
        if names:
            self.document.select_wheel(self.random.choice(names))

    def zone(self) -> None:
        """Give an edge to another zone, or look at one."""
        edited, index = self.document.edited, self.vertex()
        if edited is None or index is None or edited.kind is not Kind.WHEEL:
            self.document.select_zone(self.random.choice((None, *map(str, Zone))))
            return
        project = self.document.project
        try:
            section = with_zone(section_of(project, edited), index, self.random.choice(tuple(Zone)))
        except GeometryError:
            return  # of the locked contour
        self.document.commit(with_section(project, edited, section), "Change a zone")

    def size(self) -> None:
        """Change width, diameter or inset, as the dialog does."""
        project, wheel = self.document.project, self.document.wheel
        if wheel is None:
            return
        try:
            made: Wheel = self.random.choice(
                (
                    lambda: wheel_edits.with_width(
                        wheel,
                        self.random.choice((9.0, 9.5, 10.0, 10.5, 11.0)),
                        self.random.choice(tuple(wheel_edits.OUTER_SHARE)),
                    ),
                    lambda: wheel_edits.with_inset(wheel, self.random.uniform(20.0, 55.0)),
                    lambda: wheel_edits.with_diameter(wheel, self.random.choice((17.0, 18.0, 19.0))),
                )
            )()
        except GeometryError:
            return
        self.document.commit(edits.replaced(project, edits.WHEEL, wheel.name, made), "Change size")

    def edit_other(self) -> None:
        """Put the handles on something else."""
        project = self.document.project
        every = [Edited(Kind.WHEEL, w.name) for w in project.wheels] * 3
        every += [Edited(Kind.BLANK, b.name) for b in project.blanks]
        every += [Edited(Kind.SHAPE, s.name) for s in project.shapes]
        if every:
            self.document.edit(self.random.choice(every))

    def choose(self) -> None:
        """Choose vertices together."""
        chosen = [k for k in (self.vertex() for _ in range(self.random.randint(0, 5))) if k is not None]
        self.document.select_group(chosen)

    def look(self) -> None:
        """Zoom somewhere; nothing of the project may change."""
        self.canvas.sheet.zoom_to(self.place(), math.exp(self.random.uniform(1.0, 6.5)))

    def escape(self) -> None:
        """Press Escape."""
        self.canvas.cancel()

    def unit(self) -> None:
        """Show inches or mm."""
        project = self.document.project
        unit = "in" if project.display_unit == "mm" else "mm"
        self.document.commit(replace(project, display_unit=unit), "Change unit")

    def lock(self) -> None:
        """Lock or unlock the shown wheel."""
        project, wheel = self.document.project, self.document.wheel
        if wheel is not None:
            other = replace(wheel, locked=not wheel.locked)
            self.document.commit(edits.replaced(project, edits.WHEEL, wheel.name, other), "Lock")


def main() -> int:
    """Walk and print what was done."""
    from app.window.main import application
    from tests.support import example

    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--actions", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=2)
    args = parser.parse_args()
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    app = application()
    walk = Walk(example.project(), args.seed)
    walk.walk(args.actions, told=True)
    print(f"seed {args.seed}: {args.actions} actions hold; {walk.counts}")
    del app
    return 0


if __name__ == "__main__":
    sys.exit(main())
