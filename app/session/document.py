"""The open document: one immutable project, what is selected in it, and its history.

How the window hangs together:

* A view gets the document, connects to `shown` and draws its part of the `Shown` it is handed. Every field is
  an immutable value, so a view may compare by identity with what it drew last and skip what is the same.
* A view changes nothing itself. A finished edit is `commit(new_project, "Move vertex 12")`; a gesture under
  way calls `preview(new_project)` as often as it likes and ends with `commit` or `cancel`.
* `select_vertex`, `select_zone`, `select_wheel`, `edit` and `compare` are not part of the project: no undo
  step, nothing to save.
* Every committed value is told by `committed`, with the step's words: the journal keeps it.
* `say` puts a sentence in the status line: why something was refused, what was copied.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from pathlib import Path

from PySide6.QtCore import QObject, QTimer, Signal
from PySide6.QtGui import QUndoCommand, QUndoStack

from app.language import spoken, tr
from app.project.edits import EditError
from app.project.holding import Held, held
from app.project.project import Project
from app.project.release import Release
from app.project.wheel import Wheel
from app.session.edited import Edited, Kind, find, names, vertices_of
from app.session.shown import Shown
from app.studies.fit import Measured, measure_wheel

Measure = Callable[[Project, Wheel], Measured]

#: A commit leaves the selection as it is.
AS_IT_IS = -1


@dataclass(frozen=True)
class _Value:
    """What undo and redo bring back: the project, and where in it one was."""

    project: Project
    wheel: str | None
    edited: Edited | None
    selected: int | None


class Document(QObject):
    """The open project with its selection, undo history and file."""

    shown = Signal(object)  # Shown
    committed = Signal(object, str)  # Project, the step that led to it
    modified = Signal(bool)
    path_changed = Signal(object)  # Path, or None for a project that was never saved
    started = Signal()  # another project is the document; not when the same file is read again
    said = Signal(str)
    refused = Signal(object)  # tuple[Refusal, ...]: what is driven, and was not moved by an edit

    def __init__(self, parent: QObject | None = None, measure: Measure = measure_wheel) -> None:
        super().__init__(parent)
        self._measure = measure
        self._value = _Value(Project("Untitled"), None, None, None)
        self._preview: Project | None = None
        self._held: Held | None = None
        self._shown_last: Held | None = None
        self._next_turn = QTimer(self)
        self._next_turn.setSingleShot(True)
        self._next_turn.timeout.connect(self._show_preview)
        self._saved: Project | None = None
        self._zone: str | None = None
        self._compared: tuple[str, ...] = ()
        self._group: frozenset[int] = frozenset()
        self._path: Path | None = None
        self._gesture = 0
        self._measured: tuple[Project, Wheel, Measured] | None = None
        self.undo_stack = QUndoStack(self)
        self.undo_stack.cleanChanged.connect(self._tell_clean)

    # What is there

    @property
    def project(self) -> Project:
        """The project as last committed; a gesture under way is not in it."""
        return self._value.project

    @property
    def wheel_name(self) -> str | None:
        """Name of the shown wheel, None in a project without wheels."""
        return self._value.wheel

    @property
    def wheel(self) -> Wheel | None:
        """The shown wheel as last committed."""
        return _wheel(self.project, self.wheel_name)

    @property
    def edited(self) -> Edited | None:
        """Whose vertices are edited."""
        return self._value.edited

    @property
    def selected(self) -> int | None:
        """Index of the selected vertex of the edited thing."""
        return self._value.selected

    @property
    def group(self) -> tuple[int, ...]:
        """Indices of the vertices that move together: those chosen besides the selected one, and it."""
        count = len(vertices_of(self.project, self.edited)) if self.edited else 0
        chosen = self._group if self.selected is None else self._group | {self.selected}
        return tuple(sorted(i for i in chosen if i < count))

    @property
    def path(self) -> Path | None:
        """Where the project is saved, None while it never was."""
        return self._path

    @property
    def is_modified(self) -> bool:
        """True while there is something to save."""
        return not self.undo_stack.isClean()

    @property
    def state(self) -> Shown:
        """What `shown` would hand out now."""
        return self._state()

    # Files

    def start(self, project: Project, path: Path | None = None, modified: bool = False) -> None:
        """Take `project` as the document, with an empty history.

        `modified` says that it is not what the file holds.
        """
        is_other = path is None or path != self._path
        self._preview = None
        self._saved = project if path is not None and not modified else _saved(path)
        self._zone, self._compared, self._group = None, (), frozenset()
        first = project.wheels[0].name if project.wheels else None
        edited = Edited(Kind.WHEEL, first) if first is not None else None
        self._value = _Value(project, first, edited, None)
        self.undo_stack.clear()
        if modified:
            self.undo_stack.resetClean()
        else:
            self.undo_stack.setClean()  # an empty history is not made clean by clearing it
        self._set_path(path)
        self._show()
        if is_other:
            self.started.emit()
        self.modified.emit(self.is_modified)
        if modified:
            self.committed.emit(project, tr("Go on with unsaved work"))

    def open(self, path: Path, ignore_digest: bool = False) -> None:
        """Read the project file `path` and take it as the document.

        Raises:
            ProjectFileError: it cannot be read; the document stays as it was.
        """
        from app.files import project_file

        self.start(project_file.load(path, ignore_digest=ignore_digest), path)

    def save(self, path: Path | None = None) -> None:
        """Write the project to `path`, or to where it came from.

        Raises:
            SaveError: it could not be written; the document stays modified.
        """
        from app.files import project_file

        target = path or self._path
        if target is None:
            raise ValueError(tr("a project that was never saved needs a path"))
        project_file.save(self.project, target)
        self._saved = self.project
        self._set_path(target)
        self.undo_stack.setClean()
        self._show()

    # Edits

    def commit(
        self,
        project: Project,
        text: str,
        *,
        joins: str | None = None,
        selected: int | None = AS_IT_IS,
        exact: bool = False,
        words: str = "",
    ) -> None:
        """Make `project` the present value as one undo step called `text`; none if nothing changed.

        What is driven keeps its value, what constraints hold follows, and what names a vertex that goes is
        dropped: all is said. Where constraints cannot be held there is no step. With `exact` each number that
        was changed stays as it is, as one that was typed.
        Steps with the same word in `joins` that follow each other at one selection become one step.
        `selected` is the vertex to be selected with it; `words` are said of it, after what was dropped.
        """
        had_preview, self._preview = self._preview is not None, None
        self._shown_last = None
        try:
            found = held(self.project, self._with_releases(project), exact)
        except EditError as refused:
            if had_preview:
                self._show()
            self.say(str(refused))
            return
        if found.project == self.project:
            if had_preview:
                self._show()
        else:
            value = self._value if selected == AS_IT_IS else replace(self._value, selected=selected)
            after = _settled(value, found.project)
            key = None if joins is None else f"{self._gesture} {joins}"
            self.undo_stack.push(_Swap(self, self._value, after, text, key))
        self._tell_held(found, words)
        if found.refused:
            self.refused.emit(found.refused)

    def preview(self, project: Project) -> None:
        """Show `project` during a gesture; of calls before the next turn only the last is measured."""
        self._preview, self._held = project, None
        if not self._next_turn.isActive():
            self._next_turn.start()

    def cancel(self) -> None:
        """End a gesture without a change: show the committed project again."""
        if self._preview is not None:
            self._preview = self._shown_last = None
            self._show()

    def undo(self) -> None:
        """Go back one step; a gesture under way is dropped first."""
        self.cancel()
        self.undo_stack.undo()

    def redo(self) -> None:
        """Go forward one step; a gesture under way is dropped first."""
        self.cancel()
        self.undo_stack.redo()

    def release(self, record: Release) -> None:
        """Keep the record of a release. It is no step of the history: what went out is not undone."""
        self.cancel()
        project = replace(self.project, releases=(*self.project.releases, record))
        self._value = replace(self._value, project=project)
        self.undo_stack.resetClean()
        self._show()
        self.modified.emit(self.is_modified)
        self.committed.emit(project, tr("Release {words}", words=record.words))

    # Selection

    def select_wheel(self, name: str) -> None:
        """Show the wheel called `name` and edit its vertices."""
        if _wheel(self.project, name) is not None:
            self._select(wheel=name, edited=Edited(Kind.WHEEL, name), selected=None)

    def edit(self, edited: Edited) -> None:
        """Edit the vertices of a wheel, a blank or a shape; a wheel is shown too."""
        if edited.kind is Kind.WHEEL:
            self.select_wheel(edited.name)
        elif find(self.project, edited) is not None:
            self._select(edited=edited, selected=None)

    def select_vertex(self, index: int | None) -> None:
        """Select a vertex of the edited thing, or none."""
        count = len(vertices_of(self.project, self.edited)) if self.edited else 0
        self._select(selected=index if index is not None and 0 <= index < count else None)

    def select_group(self, indices: Iterable[int]) -> None:
        """Choose vertices of the edited thing to be moved together; the last of them is the selected one."""
        chosen = list(indices)
        count = len(vertices_of(self.project, self.edited)) if self.edited else 0
        chosen = [i for i in chosen if 0 <= i < count]
        group, self._group = self._group, frozenset(chosen)
        self._select(keep=True, selected=chosen[-1] if chosen else None)
        if group != self._group:
            self._show()

    def select_zone(self, zone: str | None) -> None:
        """Look at a zone: the required gap is drawn for its rule."""
        if zone != self._zone:
            self._zone = zone
            self._show()

    def compare(self, names: Iterable[str]) -> None:
        """Draw these wheels behind the shown one."""
        self._compared = tuple(names)
        self._show()

    def say(self, text: str) -> None:
        """Put a sentence in the status line."""
        self.said.emit(text)

    # Inside

    def _select(self, *, keep: bool = False, **changes: object) -> None:
        if not keep and self._group:
            self._group = frozenset()
            if changes.get("selected", AS_IT_IS) == self.selected:
                self._show()
        value = replace(self._value, **changes)  # type: ignore[arg-type]
        if value != self._value:
            self._value = value
            self._gesture += 1
            self._preview = None
            self._show()

    def _tell_clean(self, clean: bool) -> None:
        self.modified.emit(not clean)

    def _restore(self, value: _Value, words: str) -> None:
        if _count(value) != _count(self._value):
            self._group = frozenset()  # its numbers stand for other vertices now
        self._value = replace(value, project=self._with_releases(value.project))
        self.committed.emit(self.project, words)  # first: a fault while it is drawn costs nothing
        self._show()

    def _with_releases(self, project: Project) -> Project:
        """Return a project with every release there is: an edit or undo neither adds nor drops one."""
        releases = self.project.releases
        return project if project.releases is releases else replace(project, releases=releases)

    def _set_path(self, path: Path | None) -> None:
        self._path = path
        self.path_changed.emit(path)

    def _show_preview(self) -> None:
        if self._preview is not None:
            self._show()
            self._tell_held(self._previewed())

    def _previewed(self) -> Held:
        """Return what the gesture under way would leave."""
        assert self._preview is not None
        if self._held is None:
            try:
                self._held = held(self.project, self._preview)
            except EditError as refused:  # what was shown last stays until it can be held again
                self._held = replace(self._shown_last or Held(self.project), said=(str(refused),))
            self._shown_last = self._held
        return self._held

    def _tell_held(self, found: Held, done: str = "") -> None:
        words = [*found.said, *(refusal.words for refusal in found.refused)]
        more = tr(" And {words} more.", words=len(words) - 2) if len(words) > 2 else ""
        said = [spoken(" ".join(words[:2]) + more), done] if words else [done]
        if any(said):
            self.say(" ".join(filter(None, said)))

    def _show(self) -> None:
        self.shown.emit(self._state())

    def _state(self) -> Shown:
        project = self._previewed().project if self._preview is not None else self.project
        wheel = _wheel(project, self.wheel_name)
        measured = self._measured_for(project, wheel) if wheel is not None else None
        return Shown(
            project=project,
            wheel=wheel,
            outline=measured.outline if measured else None,
            faults=measured.faults if measured else (),
            measurements=measured.measurements if measured else None,
            selected=self.selected,
            dragging=self._preview is not None,
            edited=self.edited,
            zone=self._zone,
            compared=self._compared,
            saved=self._saved,
            group=self.group,
        )

    def _measured_for(self, project: Project, wheel: Wheel) -> Measured:
        if self._measured is None or self._measured[0] is not project or self._measured[1] is not wheel:
            self._measured = (project, wheel, self._measure(project, wheel))
        return self._measured[2]


class _Swap(QUndoCommand):
    """The one kind of undo step: swaps immutable values."""

    def __init__(self, document: Document, before: _Value, after: _Value, text: str, key: str | None) -> None:
        super().__init__(text)
        self._document, self._before, self._after, self._key = document, before, after, key

    def undo(self) -> None:
        self._document._restore(self._before, tr("Undo {value_text}", value_text=self.text()))

    def redo(self) -> None:
        self._document._restore(self._after, self.text())

    def id(self) -> int:
        return -1 if self._key is None else 1

    def mergeWith(self, other: QUndoCommand) -> bool:  # noqa: N802
        if not isinstance(other, _Swap) or other._key != self._key:
            return False
        self._after = other._after
        self.setObsolete(self._after.project == self._before.project)
        return True


def _count(value: _Value) -> int:
    """Return how many vertices the edited thing of a value has."""
    return len(vertices_of(value.project, value.edited)) if value.edited is not None else 0


def _saved(path: Path | None) -> Project | None:
    """Return what a file holds beside unsaved work that was taken up; None where it cannot be read."""
    from app.files import project_file

    if path is None:
        return None
    try:
        return project_file.load(path)
    except project_file.ProjectFileError:
        return None


def _wheel(project: Project, name: str | None) -> Wheel | None:
    return next((w for w in project.wheels if w.name == name), None)


def _settled(value: _Value, project: Project) -> _Value:
    """Return the value with a new project; names that went are replaced by what stands in their place."""
    before, after = value.project.wheels, project.wheels
    name = value.wheel
    if _wheel(project, name) is None:
        index = next((i for i, w in enumerate(before) if w.name == name), 0)
        name = after[min(index, len(after) - 1)].name if after else None
    edited = value.edited
    if edited is None or find(project, edited) is None:
        edited = _renamed(value, project) or (Edited(Kind.WHEEL, name) if name is not None else None)
    count = len(vertices_of(project, edited)) if edited is not None else 0
    selected = value.selected if value.selected is not None and value.selected < count else None
    return _Value(project, name, edited, selected)


def _renamed(value: _Value, project: Project) -> Edited | None:
    """Return the edited blank or shape under its new name, if only the name changed."""
    if value.edited is None or value.edited.kind is Kind.WHEEL:
        return None
    before, after = names(value.project, value.edited.kind), names(project, value.edited.kind)
    if len(before) != len(after) or value.edited.name not in before:
        return None
    return replace(value.edited, name=after[before.index(value.edited.name)])
