"""Opening and saving projects, with the questions that keep work from being lost."""

from __future__ import annotations

import os
import time
from dataclasses import replace
from pathlib import Path

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QApplication, QFileDialog, QInputDialog, QWidget

from app import resources
from app.files.atomic import SaveError
from app.files.hold import HeldError, Hold, Holder
from app.files.journal import Left, discard
from app.files.kept import keep, keep_replaced, kept_states
from app.files.on_disk import has_changed, may_have_changed, see
from app.files.project_file import (
    EditedOutside,
    Opened,
    ProjectFileError,
    bytes_of,
    dumps,
    load,
    open_file,
)
from app.files.readers.read import sweep_homes
from app.files.salvage import salvage
from app.language import spoken, tr
from app.project.project import Project
from app.session.document import Document
from app.session.recovery import Recovery
from app.window.questions import ask, inform, tell
from app.window.recovered import choose, clock, name_of
from app.window.settings import Settings

SUFFIX = ".blankwright"
_MOST_ERRORS = 20
_NO_LOCKS = tr("This folder knows no locks: a note beside the file tells other windows that it is open here.")
_PROJECTS = tr("Projects (*{suffix});;All files (*)", suffix=SUFFIX)


class ProjectFiles(QObject):
    """The window's actions with project files."""

    def __init__(
        self,
        window: QWidget,
        document: Document,
        settings: Settings,
        recovery: Recovery,
        state: Path,
    ) -> None:
        super().__init__(window)
        self._window = window
        self._document = document
        self._settings = settings
        self._recovery = recovery
        self._state = state
        self._hold: Hold | None = None
        self._asked = ""

    # Projects

    def new(self) -> None:
        """Begin an empty project."""
        if self.may_leave():
            self._let_go()
            self._recovery.file = None
            self._document.start(Project("Untitled"))

    def open(self) -> None:
        """Ask for a project file and open it."""
        name, _ = QFileDialog.getOpenFileName(self._window, tr("Open a project"), self._folder(), _PROJECTS)
        if name:
            self.open_path(Path(name))

    def open_recent(self) -> None:
        """Choose one of the files opened last."""
        paths = self._settings.recent
        if not paths:
            self._document.say(tr("No project was opened yet."))
            return
        self._choose(tr("Open recent"), paths, [f"{p.stem}   ({p.parent})" for p in paths])

    def open_sample(self) -> None:
        """Choose one of the sample projects."""
        paths = resources.samples()
        if not paths:
            self._document.say(tr("No sample projects are installed."))
            return
        self._choose(tr("Open a sample"), paths, [p.stem.replace("_", " ") for p in paths])

    def _choose(self, title: str, paths: list[Path], labels: list[str]) -> None:
        label, chosen = QInputDialog.getItem(self._window, title, tr("Project"), labels, 0, False)
        if chosen:
            self.open_path(paths[labels.index(label)])

    def open_path(self, path: Path) -> bool:
        """Open a project file; True if it is the document now."""
        if not self.may_leave():
            return False
        try:
            return self._open(path, ignore_digest=False)
        except EditedOutside as question:
            if question.errors:
                return self._offer_salvage(path, question)
            words = tr("{question}\n\nOpen as it is?", question=question)
            if ask(self._window, tr("Edited outside"), words, [tr("Open as it is")]) is None:
                return False
            try:
                return self._open(path, ignore_digest=True)
            except ProjectFileError as error:
                return self._offer_salvage(path, error)
        except ProjectFileError as error:
            return self._offer_salvage(path, error)

    def _offer_salvage(self, path: Path, error: ProjectFileError) -> bool:
        """Say why a file cannot be opened and, where parts can be read, offer them as a new project."""
        listed = "\n".join(error.errors[:_MOST_ERRORS])
        try:
            found = salvage(bytes_of(path))
        except ProjectFileError:
            tell(self._window, tr("Cannot open"), spoken(str(error)), listed)
            return False
        words = tr(
            "{error}\n\nOf its parts these can be read: {kept}.", error=error, kept="; ".join(found.kept)
        )
        if ask(self._window, tr("Cannot open"), words, [tr("Recover what can be read")], listed) is None:
            return False
        self._let_go()
        self._recovery.file = None
        self._document.start(found.project, None, modified=True)
        self._document.say(
            tr("Recovered from {name}, which stays as it is; saving asks for a name.", name=path.name)
        )
        words = tr(
            "Parts of a damaged file. None of it is confirmed: look over what it says, also the numbers."
        )
        inform(self._window, tr("Recovered from a damaged file"), words, found.lines)
        return True

    def _open(self, path: Path, ignore_digest: bool) -> bool:
        seen = see(path)
        found = open_file(path, ignore_digest=ignore_digest)
        if not self._take(path):
            return False
        if self._hold is None:
            self._recovery.file = None
            self._document.start(found.project, None, modified=True)
            self._document.say(tr("A copy of {name}, not saved yet; saving asks for a name.", name=path.name))
        else:
            self._document.start(found.project, path)
            self._recovery.file = seen
            if path not in resources.samples():
                self._settings.remember(path)
        if self._hold is not None and self._hold.is_by_note:
            self._document.say(_NO_LOCKS)
        self._tell_conversion(found)
        return True

    def _tell_conversion(self, found: Opened) -> None:
        """List what opening an older format means, if it is one."""
        if found.changes:
            words = tr(
                "{heading} The file as it is now is kept among the earlier states.", heading=found.heading
            )
            inform(self._window, tr("Converted from an older format"), words, found.changes)

    def save(self) -> bool:
        """Save where the project came from; True if it is saved."""
        path = self._document.path
        if path is None or path in resources.samples():
            return self.save_as()
        if self._recovery.file is not None and has_changed(path, self._recovery.file):
            return self._save_over_another(path)
        return self._save(path)

    def _save_over_another(self, path: Path) -> bool:
        """Ask what is to become of a file that another program changed; True if the work is saved."""
        lost = _lost_releases(path, self._document.project)
        words = tr("{name} was changed by another program since it was opened here.", name=path.name)
        if lost:
            words += tr(" It holds what was released meanwhile and would be lost: {lost}.", lost=lost)
        answers = [tr("Save as another file"), *([] if lost else [tr("Overwrite it")]), tr("Reload it")]
        answer = ask(self._window, tr("Changed on disk"), words, answers)
        if answer == tr("Reload it"):
            self._reload(path)
        if answer == tr("Overwrite it"):
            return self._save(path)
        return answer == tr("Save as another file") and self.save_as()

    def look_at_disk(self) -> None:
        """Ask what to do where another program changed the document's file, once for each change."""
        path, before = self._document.path, self._recovery.file
        if path is None or before is None or QApplication.activeModalWidget() is not None:
            return
        if not may_have_changed(path, before):
            return
        now = see(path)
        if now is None or now.sha256 in (before.sha256, self._asked):
            return
        self._asked = now.sha256
        words = tr("{name} was changed by another program.", name=path.name)
        if self._document.is_modified:
            words += tr(" There is unsaved work on it here; reloading puts that among the earlier states.")
        answer = ask(
            self._window,
            tr("Changed on disk"),
            words,
            [tr("Reload it"), tr("Save mine as another file")],
            stay=tr("Keep mine"),
        )
        if answer == tr("Reload it"):
            self._reload(path)
        if answer == tr("Save mine as another file"):
            self.save_as()

    def _reload(self, path: Path) -> None:
        """Take what another program wrote; unsaved work goes among the earlier states first."""
        try:
            if self._document.is_modified:
                keep(path, dumps(self._document.project), time.time(), self._state)
            seen = see(path)
            found = open_file(path)
            self._document.start(found.project, path)
            self._recovery.file = seen
            self._document.say(tr("Reloaded {name}.", name=path.name))
            self._tell_conversion(found)
        except (SaveError, ProjectFileError, OSError) as error:
            tell(self._window, tr("Not reloaded"), spoken(str(error)))

    def open_earlier(self) -> None:
        """Choose one of the last saved states of the document's file and go on from it, unsaved."""
        path = self._document.path
        states = kept_states(path, self._state) if path is not None else []
        if path is None or not states:
            self._document.say(
                tr("No earlier state: each save keeps the one it replaces, the last five of a file.")
            )
            return
        labels = [
            tr("{k}: of {at}   ({size:.0f} kB)", k=k + 1, at=clock(kept.at), size=kept.size / 1000)
            for k, kept in enumerate(states)
        ]
        label, chosen = QInputDialog.getItem(
            self._window,
            tr("Open an earlier state"),
            tr("States of {name}", name=path.name),
            labels,
            0,
            False,
        )
        if not chosen or not self.may_leave():
            return
        kept = states[labels.index(label)]
        try:
            earlier = open_file(kept.path)
        except ProjectFileError as error:
            tell(self._window, tr("Cannot open"), spoken(str(error)), "\n".join(error.errors))
            return
        # What went out stays on record, whichever state is gone on from.
        releases, seen = self._document.project.releases, self._recovery.file
        self._document.start(replace(earlier.project, releases=releases), path, modified=True)
        self._recovery.file = seen
        self._document.say(
            tr("The state of {at}, not saved; saving keeps the present file among them.", at=clock(kept.at))
        )
        self._tell_conversion(earlier)

    def _take(self, path: Path) -> bool:
        """Hold a file that is to be opened; False where it is not to be opened at all.

        Where another window holds it, the user may have a copy, which holds nothing.
        """
        if self._hold is not None and self._hold.target == Path(os.path.realpath(path)):
            return True
        try:
            hold = Hold(path)
        except HeldError as error:
            words = tr("{name} is open in another window{whose}.", name=path.name, whose=_whose(error.holder))
            if ask(self._window, tr("Open elsewhere"), words, [tr("Open a copy")]) is None:
                return False
            self._let_go()
            return True
        self._let_go()
        self._hold = hold
        return True

    def _let_go(self) -> None:
        self._asked = ""
        if self._hold is not None:
            self._hold.release()
            self._hold = None

    def save_as(self) -> bool:
        """Ask for a name and save there; True if it is saved."""
        start = self._document.path or Path(self._folder()) / (self._document.project.name + SUFFIX)
        name, _ = QFileDialog.getSaveFileName(self._window, tr("Save the project"), str(start), _PROJECTS)
        if not name:
            return False
        path = Path(name)
        return self._save(path if path.suffix else path.with_suffix(SUFFIX))

    def _save(self, path: Path) -> bool:
        if not self._may_write(path):
            return False
        try:
            keep_replaced(path, self._state)
            not_kept = ""
        except (SaveError, OSError) as error:
            not_kept = tr(" The state before is not among the earlier ones: {error}", error=error)
        try:
            self._document.save(path)
        except (SaveError, ProjectFileError) as error:
            cause = error.__cause__ if isinstance(error, ProjectFileError) else error
            if isinstance(cause, SaveError) and cause.replaced:
                self._recovery.file = see(path)
            tell(self._window, tr("Not saved"), spoken(str(error)))
            return False
        self._recovery.file = see(path)
        self._settings.remember(path)
        no_locks = f" {_NO_LOCKS}" if self._hold is not None and self._hold.is_by_note else ""
        self._document.say(
            tr("Saved {name}.{not_kept}{no_locks}", name=path.name, not_kept=not_kept, no_locks=no_locks)
        )
        return True

    def _may_write(self, path: Path) -> bool:
        """Hold a file that is to be written; where another window holds it, ask."""
        if self._hold is not None and self._hold.target == Path(os.path.realpath(path)):
            return True
        try:
            hold = Hold(path)
        except HeldError as error:
            words = tr(
                "{name} is open in another window{whose}; its work would be overwritten.",
                name=path.name,
                whose=_whose(error.holder),
            )
            return ask(self._window, tr("Open elsewhere"), words, [tr("Overwrite it")]) is not None
        self._let_go()
        self._hold = hold
        return True

    def may_leave(self) -> bool:
        """Ask about unsaved changes; True if the document may be left."""
        if not self._document.is_modified:
            return True
        name = self._document.path.name if self._document.path else self._document.project.name
        answer = ask(
            self._window,
            tr("Unsaved changes"),
            tr("{name} has unsaved changes.", name=name),
            [tr("Save"), tr("Discard")],
        )
        if answer == tr("Save"):
            return self.save()
        return answer == tr("Discard")

    def leave(self) -> None:
        """Forget the unsaved work on a document that is closed on purpose."""
        self._let_go()
        self._recovery.leave()

    # Work that was not saved

    def offer_recovered(self) -> bool:
        """Offer what ended processes left behind, if there is anything; True if one was opened."""
        sweep_homes()
        chosen, _ = choose(self._window, self._state / "journals")
        return chosen is not None and self._go_on(chosen)

    def open_recovered(self) -> None:
        """Show what ended processes left behind, and say where there is nothing."""
        chosen, is_any = choose(self._window, self._state / "journals")
        if chosen is not None:
            self._go_on(chosen)
        elif not is_any:
            self._document.say(tr("There is no unsaved work of an earlier run."))

    def _go_on(self, left: Left) -> bool:
        state = left.state
        if state is None or not self.may_leave():
            return False
        origin = state.origin
        if origin is not None and not self._take(origin):
            return False
        if origin is None:
            self._let_go()
        elif self._hold is None:
            origin = None  # another window holds the file: this is a copy
        self._recovery.file = state.file if origin is not None else None
        self._document.start(state.project, origin, modified=True)
        if self._recovery.flush():  # in a journal of this process before the old one goes
            discard(left)
        self._document.say(tr("Went on with {name_of}; it is not saved yet.", name_of=name_of(state)))
        if state.changes:
            words = tr("An older version kept this work, in an older format.")
            inform(self._window, tr("Converted from an older format"), words, state.changes)
        return True

    def _folder(self) -> str:
        path = self._document.path
        if path is not None and path not in resources.samples():
            return str(path.parent)
        recent = self._settings.recent
        return str(recent[0].parent) if recent else str(Path.home())


def _whose(holder: Holder) -> str:
    if not holder.pid:
        return ""
    return tr(
        " since {at}, process {pid} on {host}",
        at=clock(holder.at, time.time()),
        pid=holder.pid,
        host=holder.host,
    )


def _lost_releases(path: Path, project: Project) -> str:
    """Return by name the releases that a file holds and a project does not."""
    try:
        there = load(path, ignore_digest=True).releases
    except ProjectFileError:
        return ""
    return "; ".join(release.words for release in there if release not in project.releases)
