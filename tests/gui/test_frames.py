"""What stands on the screen after each step is what a new window would show of the same state.

Panels and layers keep what they drew last and leave alone what has not changed. So every step is held against
a second window that has never shown anything else, and the screen's own pixels against a whole new paint.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from PySide6.QtCore import QEvent, QModelIndex, QObject, QPoint, QRectF, Qt
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QApplication

from app.project.project import Project
from app.reports.rows import worst_three
from app.session.edited import Edited, Kind, vertices_of, with_vertices
from app.session.shown import Shown
from app.studies.fit import measure_wheel
from app.units import format_length, format_mass
from app.views.canvas.boxes import shown
from app.views.readings_model import lines
from app.views.readings_text import sentence
from app.views.readings_tree import RULE, ReadingsModel
from app.views.strip_curves import SIDES
from app.views.vertex_model import HEADS
from app.window.main_window import MainWindow
from geometry.readings.rules import State
from geometry.shape.section import Side
from tests.gui.conftest import Person
from tests.support import example
from tests.support.anew import forget
from tests.support.told import readings, told

#: A vertex of the example: where the spoke back turns to the hub.
BACK = 40

Fresh = Callable[[MainWindow], MainWindow]


@pytest.fixture
def fresh(make_window: Callable[[], MainWindow]) -> Iterator[Fresh]:
    """Return a maker of new windows that show what another one shows, and nothing before."""
    made: list[MainWindow] = []

    def show(other: MainWindow) -> MainWindow:
        window = make_window()
        made.append(window)
        document, state = window.document, other.document.state
        window.theme.set_dark(other.theme.dark)
        # Its wheel first, so that no other is ever shown.
        project, name = other.document.project, other.document.wheel_name
        wheels = sorted(project.wheels, key=lambda wheel: wheel.name != name)
        document.start(replace(project, wheels=tuple(wheels)))
        if state.edited is not None:
            document.edit(state.edited)
        document.select_vertex(state.selected)
        document.select_zone(state.zone)
        document.compare(state.compared)
        _settle()
        window.canvas.sheet.box.setRange(other.canvas.sheet.box.viewRect(), padding=0.0)
        if state.dragging:
            document.preview(state.project)
        _settle()
        return window

    yield show
    for window in made:
        window.document.undo_stack.setClean()


def _settle() -> None:
    for _ in range(3):
        QApplication.processEvents()


def check(person: Person, fresh: Fresh) -> None:
    """Fail unless the window tells what a new one tells, and the screen shows what a new paint would."""
    window = person.window
    on_screen = window.screen().grabWindow(window.winId()).toImage()
    window.canvas.sheet.resetCachedContent()  # the ground too is painted anew
    assert on_screen == window.grab().toImage().convertToFormat(on_screen.format())
    other = fresh(window)
    assert other.canvas.sheet.box.viewRect() == window.canvas.sheet.box.viewRect()
    mine, new = told(window), told(other)
    for panel, said in new.items():
        assert mine[panel] == said, panel
    other.strip.plot.setFixedSize(window.strip.plot.size())
    _settle()
    # An axis stays where it was fitted while the wheel changes.
    view = QRectF(window.strip.plot.getPlotItem().vb.viewRect())
    other.strip.plot.getPlotItem().vb.setRange(view, padding=0.0)
    _settle()
    assert strip(other) == strip(window)
    other.hide()


def strip(window: MainWindow) -> QImage:
    """Return the profile strip as it is seen, its axes with their numbers too."""
    return QImage(window.strip.plot.grab().toImage())


class Frames(QObject):
    """Notes what the panels say of each step of a drag, before any event can follow the one that made it.

    The drawing is painted first: of each step it must be that step's, and the panels' turn must come at once.
    """

    def __init__(self, person: Person) -> None:
        super().__init__()
        self._window = person.window
        self._painted: Shown | None = None
        self.seen: list[tuple[Shown, dict[str, Any]]] = []
        self._window.canvas.sheet.viewport().installEventFilter(self)
        self._window.document.shown.connect(self._note)  # after all panels

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Take down what the drawing is painted of."""
        if event.type() == QEvent.Type.Paint:
            self._painted = self._window.canvas.sheet._shown
        return False

    def _note(self, shown: Shown) -> None:
        """Take down every panel."""
        if shown.dragging:
            assert self._painted is shown
            self.seen.append((shown, told(self._window)))


@pytest.fixture
def near(person: Person) -> None:
    """Look at the lower spoke back, 120 mm across, its vertex selected."""
    person.window.canvas.sheet.zoom_to((40.0, 120.0), 120.0)
    person.settle()
    person.click(person.at(*person.vertex(BACK)))


@pytest.mark.usefixtures("near")
def test_every_number_changes_in_the_frame_in_which_the_section_changes(person: Person) -> None:
    frames = Frames(person)
    road = person.window.document.state.road
    person.drag(BACK, (44.1, 137.0))
    assert len({said["boxes"]["z"] for _, said in frames.seen}) >= 4
    states = set()
    for state, said in frames.seen:
        wheel, found, curves = state.wheel, state.measurements, said["strip"]["curves"]
        assert wheel is not None
        assert found is not None
        assert state.profile is not None
        states.add(found.state)
        # Of the section that is shown, not of the one before; made without anything that was kept.
        forget()
        assert measure_wheel(state.project, wheel).measurements == found
        model = ReadingsModel()
        model.set_lines(lines(state, road), "mm")
        assert said["readings"] == readings(model)
        v = wheel.section.vertices[BACK]
        assert said["boxes"]["z"] == shown(v.z, "mm")
        row = said["vertices"][1].splitlines()[1 + BACK].split("\t")
        assert row[:3] == [format_length(x, "mm", with_unit=False) for x in (v.z, v.r, v.radius)]
        title, _, worst, mass = said["summary"]
        assert str(found.state) in title
        assert mass.startswith(format_mass(found.solid.mass_kg))
        assert sentence(worst_three(found)[0], "mm") in worst
        least = {name: min(float(v) for v in values if v != "nan") for name, (_, values) in curves.items()}
        brake = state.profile.side == SIDES.index(Side.BRAKE)
        assert least["gap"] == pytest.approx(np.nanmin(state.profile.gap_mm[brake]))
        assert least["wall"] == pytest.approx(np.nanmin(state.profile.wall_mm[brake]))
        assert least["stock"] == pytest.approx(np.nanmin(state.profile.stock_mm[brake]))
        assert state.outline is not None
        low, high = state.outline.path.bounds[:2]
        places = np.array([place[1:] for place in said["layers"]["wheel edge"][0]])
        assert (places[:, 0].min(), places[:, 0].max()) == pytest.approx((low, high), abs=0.05)
    assert State.TOUCHING in states
    assert len(states) > 1


@pytest.mark.usefixtures("near")
def test_a_step_that_changes_nothing_is_not_shown_again(
    person: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    document = person.window.document
    steps: list[bool] = []
    person.press(person.at(*person.vertex(BACK)))
    person.move(person.at(47.0, 134.0))
    for panel in (person.window.summary, person.window.strip):
        monkeypatch.setattr(panel, "show_state", lambda shown: steps.append(shown.dragging))
    shown = document.state.project
    document.preview(replace(shown, wheels=tuple(replace(wheel) for wheel in shown.wheels)))
    person.settle()
    assert steps == []
    person.move(person.at(42.0, 136.0))
    assert steps == [True] * 2
    person.release(person.at(42.0, 136.0))
    assert steps[-2:] == [False] * 2


@pytest.mark.usefixtures("near")
def test_a_fault_clears_every_number_in_its_frame(person: Person) -> None:
    frames = Frames(person)
    person.drag(BACK, (90.0, 128.0))
    faulty = [said for state, said in frames.seen if state.faults]
    assert faulty
    for said in faulty:
        assert not any(re.search(r"\d", cell) for row in said["readings"] for cell in row[1:5])
        title, _, worst, mass = said["summary"]
        assert "fault" in title
        assert mass == ""
        assert "needs" not in worst
        strip = said["strip"]
        assert strip["note"] == "No curves while the outline has faults."
        assert strip["curves"] == strip["names"] == {}
        assert not any([*strip["lines"].values(), *strip["rules"].values()])
        layers = said["layers"]
        assert layers["band"] == []
        assert not any(layers[name][0] for name in ("wheel fill", "wheel edge", "missing", "missing hatch"))
        assert said["words"]["callouts"] == []


@pytest.mark.usefixtures("near")
def test_a_fault_that_comes_and_goes_empties_the_lines_and_moves_none(person: Person) -> None:
    """Nothing is folded or scrolled by it; let go there, the faults stand."""
    window = person.window
    tree, model, axis = window.readings.tree, window.readings.model, window.strip.plot.getPlotItem().vb

    def key(index: QModelIndex) -> str:
        line = model.line(index)
        assert line is not None
        return line.key

    def order() -> list[str]:
        return [key(index) for index in model.every()]

    def stands() -> tuple[Any, ...]:
        return (
            key(tree.currentIndex()),
            tree.verticalScrollBar().value(),
            tree.columnWidth(RULE),
            axis.viewRect(),
        )

    tree.setCurrentIndex(next(index for index in model.every() if key(index) == "mass full"))
    person.settle()
    start = person.at(*person.vertex(BACK))
    person.press(start)
    person.move(person.at(52.0, 131.0))
    before, keys = stands(), order()
    assert before[1] > 0
    full = [row[:5] for row in readings(model)]
    person.move(person.at(90.0, 128.0))
    assert window.document.state.faults
    empty = [row[:5] for row in readings(model)]
    assert [row[0] for row in empty] == [row[0] for row in full]
    assert not any(cell for row in empty for cell in row[1:])
    assert (stands(), order()) == (before, keys)
    assert window.readings.detail.toPlainText() == "No readings while the outline has faults"
    person.move(person.at(52.0, 131.0))
    assert [row[:5] for row in readings(model)] == full
    assert (stands(), order()) == (before, keys)
    person.move(person.at(90.0, 128.0))
    person.release(person.at(90.0, 128.0))
    assert order()[:2] == ["faults", "fault 0"]


@pytest.mark.usefixtures("near")
def test_scrolled_readings_are_painted_whole_when_a_fault_comes_and_goes(person: Person) -> None:
    """Many lines change at once, the first of them out of view."""
    window = person.window
    bar = window.readings.tree.verticalScrollBar()
    bar.setValue(bar.maximum() // 2)
    person.press(person.at(*person.vertex(BACK)))
    person.move(person.at(46.0, 135.0))
    assert bar.value() > 0
    for to in ((90.0, 128.0), (42.0, 136.0)):
        person.move(person.at(*to))
        on_screen = window.screen().grabWindow(window.winId()).toImage()
        assert on_screen == window.grab().toImage().convertToFormat(on_screen.format())


@pytest.mark.usefixtures("near")
def test_every_step_of_a_drag_shows_what_a_new_window_would(person: Person, fresh: Fresh) -> None:
    """Clear, touching, faulty, and back; then the release."""
    start = person.at(*person.vertex(BACK))
    person.press(start)
    for to in ((47.0, 134.0), (42.0, 136.0), (90.0, 128.0), (52.0, 131.0)):
        person.move(person.at(*to))
        check(person, fresh)
    person.release(person.at(52.0, 131.0))
    check(person, fresh)
    person.do("undo")
    check(person, fresh)
    person.do("redo")
    check(person, fresh)


@pytest.mark.usefixtures("near")
def test_the_radius_of_an_edge_follows_its_far_end(person: Person, fresh: Fresh) -> None:
    """The edge before the dragged vertex is an arc: another row of the table changes with it."""
    document, table = person.window.document, person.window.vertices.table
    assert document.edited is not None
    bent = [*vertices_of(person.project, document.edited)]
    bent[BACK - 1] = replace(bent[BACK - 1], bulge=0.1)
    document.commit(with_vertices(person.project, document.edited, bent), "Bend")
    table.scrollTo(table.model().index(BACK - 1, 0))
    person.settle()
    before = table.model().index(BACK - 1, HEADS.index("edge")).data()
    person.drag(BACK, (52.0, 131.0))
    assert table.model().index(BACK - 1, HEADS.index("edge")).data() != before
    check(person, fresh)


@pytest.mark.usefixtures("near")
def test_a_drag_broken_off_shows_what_was_before(person: Person, fresh: Fresh) -> None:
    person.drag(BACK, (44.0, 134.0))
    person.key(Qt.Key.Key_Escape)
    check(person, fresh)


@pytest.mark.parametrize(("kind", "name"), [(Kind.BLANK, example.BLANK), (Kind.SHAPE, example.CALIPER)])
def test_dragging_blank_and_shape_draws_the_ground_anew(
    person: Person, fresh: Fresh, kind: Kind, name: str
) -> None:
    person.window.document.edit(Edited(kind, name))
    person.settle()
    z, r = person.vertex(1)
    start = person.at(z, r)
    person.press(start)
    for step in (1, 2):
        person.move(start + QPoint(-6 * step, 5 * step))
        check(person, fresh)
    person.release(start + QPoint(-12, 10))
    check(person, fresh)


def test_another_wheel_theme_unit_zone_and_view_leave_nothing_of_the_last(
    person: Person, fresh: Fresh
) -> None:
    window, document = person.window, person.window.document
    first = person.project.wheels[0]
    second = replace(
        first, name="Second", inset_mm=44.0, spacer_mm=3.0, seat_mm=11.5, clears=(example.TIE_ROD,), rings=()
    )
    bare = replace(first, name="Bare", blank=None, clears=(), rules=None, spokes=None)
    document.commit(replace(person.project, wheels=(first, second, bare)), "More wheels")
    person.settle()
    person.drag(BACK, (44.0, 134.0))
    person.release(person.at(44.0, 134.0))
    steps: list[Callable[[], object]] = [
        lambda: person.do("next_wheel"),
        lambda: person.do("next_wheel"),
        lambda: person.do("dark"),
        lambda: person.do("next_wheel"),
        lambda: person.do("inch"),
        lambda: document.select_zone("well"),
        lambda: document.compare(("Second",)),
        lambda: window.canvas.sheet.zoom(2),
        lambda: person.do("undo"),
        lambda: person.do("dark"),
        lambda: document.commit(_with_blank(person, skin_mm=4.0), "Skin"),
        lambda: document.commit(_with_blank(person, visible=False), "Hide"),
        lambda: person.do("undo"),
    ]
    for step in steps:
        step()
        person.settle()
        check(person, fresh)


def _with_blank(person: Person, **changes: Any) -> Project:
    blanks = tuple(replace(b, **changes) if b.name == example.BLANK else b for b in person.project.blanks)
    return replace(person.project, blanks=blanks)
