"""Everything that the window can do, as a list to be searched: words, place, key, and why not now."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QMenu

from app.language import tr
from app.session.edited import Kind
from app.session.restoring import sources

if TYPE_CHECKING:
    from app.window.main_window import MainWindow


@dataclass(frozen=True)
class Command:
    """One thing that can be done.

    Attributes:
        words: as in its menu, without the mark of its letter.
        place: where it lies, from the menu bar down, or the panel that it belongs to.
        key: as this platform writes it; empty where it has none.
        item: what runs it.
    """

    words: str
    place: str
    key: str
    item: QAction

    def fits(self, asked: str) -> int | None:
        """Return how well the command fits what was typed, 0 best; None where a word of it is missing."""
        said = self.words.lower()
        beside = f"{self.place} {self.key} {ALSO.get(self.item.objectName(), '')}".lower()
        words = asked.lower().split()
        if not all(word in said or word in beside for word in words):
            return None
        if said.startswith(asked.lower().strip()):
            return 0
        starts = [part for part in said.split() for word in words if part.startswith(word)]
        return 1 if len(starts) >= len(words) else 2 if all(word in said for word in words) else 3


#: Other words that people use for the same thing.
ALSO = {
    "change_size": tr("inset ET offset backspace width diameter"),
    "details": tr("material spacer tyre load hub bore rule set conditions"),
    "import": tr("dxf svg stl step scan table brake caliper"),
    "trace": "photo png jpeg pdf page",
    "export": tr("dxf csv"),
    "insert_vertex": tr("add point"),
    "delete_vertex": tr("remove point"),
    "round_vertex": tr("radius fillet corner"),
    "type_coordinates": tr("z r value"),
    "wall": tr("thickness make offset"),
    "offset": tr("parallel thicken thin"),
    "relief": tr("clear cut caliper"),
    "lead": tr("cut lengthen shorten"),
    "blend": tr("fillet tangent join"),
    "legs": tr("polyline chain draw"),
    "dimension": tr("distance angle measure size"),
    "dimensions": tr("sizes measures show hide"),
    "magnifier": tr("zoom lens tightest"),
    "type_dimension": tr("size width inset backspace value"),
    "offers": tr("mend cure spacer inset clears"),
    "match": tr("table brakes wheels clear"),
    "tightest": tr("least gap"),
    "band": tr("wall thickness"),
    "stress": tr("strength load"),
    "language": tr("Deutsch English German words translation"),
    "dark": tr("night colours light"),
    "inch": tr("mm unit"),
    "programme": tr("dies money plan"),
    "family": tr("design of blanks"),
    "limits": tr("width inset map"),
    "face": tr("street side windows spokes fill ratio shaded picture valve"),
    "hold_radius": tr("constraint fillet arc"),
    "hold_tangent": tr("constraint arc smooth"),
    "hold_horizontal": tr("constraint horizontal level"),
    "hold_vertical": tr("constraint vertical upright"),
    "hold_angle": tr("constraint slope"),
    "hold_distance": tr("constraint length"),
    "hold_along_z": tr("constraint axial horizontal distance"),
    "hold_along_r": tr("constraint radial vertical distance"),
    "hold_equal_wall": tr("constraint same thickness"),
    "hold_clear": tr("constraint gap caliper brake"),
    "constraints": tr("held let go delete conflict"),
    "parameters": tr("formula name value drive variable equation"),
    "stages": tr("lathe sides operations"),
    "manual": tr("help book how"),
    "first_steps": tr("tour begin tutorial try sample"),
    "keys": tr("shortcuts hotkeys"),
    "explain": tr("definition formula source meaning"),
}

_NO_WHEEL = tr("No wheel: make one with Project, New wheel.")
_NO_VERTEX = tr("No vertex is selected: click one on the drawing.")

_NOTHING = tr("There is nothing to edit yet: make a wheel with Project, New wheel, or open a project.")
_NO_GROUP = tr("No vertices are chosen: click one, Shift-click more, or draw a box with Shift held.")
_NO_VERSION = tr(
    "There is no other wheel of this size to copy from, and no saved state that differs; make a new version."
)

Need = tuple[Callable[["MainWindow"], bool], str]


def _has_wheel(window: MainWindow) -> bool:
    return window.document.wheel is not None


def _has_blank(window: MainWindow) -> bool:
    wheel = window.document.wheel
    return wheel is not None and wheel.blank is not None


def _has_shape(window: MainWindow) -> bool:
    return bool(window.document.project.shapes)


def _has_vertex(window: MainWindow) -> bool:
    return window.document.selected is not None


def _has_edited(window: MainWindow) -> bool:
    return window.document.edited is not None


def _has_version(window: MainWindow) -> bool:
    document, wheel = window.document, window.document.wheel
    own = document.edited is not None and document.edited.kind is Kind.WHEEL
    return own and wheel is not None and bool(sources(document.project, document.state.saved, wheel))


def _has_chosen(least: int) -> Callable[[MainWindow], bool]:
    return lambda window: len(window.document.group) >= least


def _of_edited(*names: str) -> dict[str, Need]:
    return dict.fromkeys(names, (_has_edited, _NOTHING))


def _of_wheel(*names: str) -> dict[str, Need]:
    return dict.fromkeys(names, (_has_wheel, _NO_WHEEL))


#: What an action needs, and the words where that is missing; one that is not here can always be done.
NEEDS: dict[str, Need] = {
    **_of_wheel("export", "report", "customer_report", "paper_gauge", "section_sheet", "release_sheet"),
    **_of_wheel("copy_table", "new_like", "change_size", "details", "edit_wheel", "offers", "limits"),
    **_of_wheel("stages", "strength", "explain", "face"),
    **dict.fromkeys(
        ("delete_vertex", "round_vertex", "type_coordinates", "zone_vertices"), (_has_vertex, _NO_VERTEX)
    ),
    **_of_edited("insert_vertex", "next_vertex", "previous_vertex", "wall", "offset", "legs", "blend"),
    **_of_edited("arc_to", "edge", "lead", "dimension", "type_dimension"),
    **dict.fromkeys(("take_over", "take_zone"), (_has_version, _NO_VERSION)),
    "move_together": (lambda w: bool(w.document.group), _NO_GROUP),
    **dict.fromkeys(("edit_blank", "seat"), (_has_blank, tr("The wheel has no blank: choose or draw one."))),
    **dict.fromkeys(
        ("edit_shape", "brake_variant", "relief"),
        (_has_shape, tr("No stay-out shape: import one, or make one with Project, New stay-out shape.")),
    ),
    **dict.fromkeys(
        ("next_wheel", "previous_wheel"),
        (lambda w: len(w.document.project.wheels) > 1, tr("The project holds no other wheel.")),
    ),
    "open_recent": (lambda w: bool(w.settings.recent), tr("No project was opened yet.")),
    "releases": (lambda w: bool(w.document.project.releases), tr("Nothing was released yet.")),
    "tightest": (
        lambda w: w.document.state.measurements is not None,
        tr("There are no readings: the outline has faults, or there is no wheel."),
    ),
    **_of_edited("parameters", "constraints"),
    **{
        name: (_has_chosen(least), words)
        for name, least, words in (
            ("hold_radius", 1, tr("Choose a vertex, or the two ends of an arc, first.")),
            ("hold_tangent", 1, tr("Choose the vertex at which an arc and its neighbour meet first.")),
            ("hold_clear", 1, tr("Choose a vertex, or the two ends of an edge, first.")),
            ("hold_equal_wall", 4, tr("Choose four vertices first: the ends of two walls.")),
            *(
                (f"hold_{name}", 2, tr("Choose two vertices first: click one, Shift-click the other."))
                for name in ("horizontal", "vertical", "angle", "distance", "along_z", "along_r")
            ),
        )
    },
    "undo": (lambda w: w.document.undo_stack.canUndo(), tr("Nothing to undo.")),
    "redo": (lambda w: w.document.undo_stack.canRedo(), tr("Nothing to redo.")),
}


def why_not(window: MainWindow, item: QAction) -> str:
    """Return why something cannot be done now, with what would mend it; empty where it can be done."""
    need = NEEDS.get(item.objectName())
    if need is not None and not need[0](window):
        return need[1]
    return "" if item.isEnabled() else item.whatsThis() or tr("Not possible now.")


def plain(text: str) -> str:
    """Return the words of an action without the marks that menus need."""
    return text.split("\t")[0].replace("&", "").rstrip(".")


def commands(window: MainWindow) -> list[Command]:
    """Return everything that can be done: the menus from left to right, then what the panels add."""
    found: list[Command] = []
    for top in window.menuBar().actions():
        menu = top.menu()
        if isinstance(menu, QMenu):
            found += _of_menu(menu, plain(menu.title()))
    panels = (
        (tr("Parts, chosen in the list"), window.parts.actions_by_name.values()),
        (tr("Readings, chosen in the list"), [window.readings.copy_row_action]),
    )
    for place, items in panels:
        for item in items:
            key = item.text().partition("\t")[2]
            found.append(Command(item.iconText() or plain(item.text()), place, key, item))
    return found


def _of_menu(menu: QMenu, place: str) -> Iterator[Command]:
    for item in menu.actions():
        below = item.menu()
        if isinstance(below, QMenu):
            yield from _of_menu(below, f"{place}, {plain(below.title())}")
        elif not item.isSeparator():
            native = item.shortcut().toString(QKeySequence.SequenceFormat.NativeText)
            yield Command(plain(item.text()), place, native, item)
