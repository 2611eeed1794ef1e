"""Opening, saving, importing, exporting and printing, with the questions that keep work from being lost."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtWidgets import QDialog, QFileDialog, QInputDialog, QWidget

from app import resources
from app.files.atomic import SaveError
from app.files.project_file import EditedOutside, ProjectFileError
from app.project.project import Project
from app.session.document import Document
from app.session.jobs import Jobs
from app.window.questions import ask, tell
from app.window.settings import Settings

if TYPE_CHECKING:
    from app.window.snapshots import Snapshots

SUFFIX = ".blankwright"
_PROJECTS = f"Projects (*{SUFFIX});;All files (*)"


class Files(QObject):
    """The file actions of the window.

    Signals:
        stored(wheel, path): a report, gauge or sheet of a wheel was written there.
    """

    stored = Signal(str, object)

    def __init__(
        self,
        window: QWidget,
        document: Document,
        settings: Settings,
        snapshots: Snapshots,
        jobs: Jobs,
        import_paths: Callable[[Sequence[Path]], None],
    ) -> None:
        super().__init__(window)
        self._window = window
        self._document = document
        self._settings = settings
        self._snapshots = snapshots
        self._jobs = jobs
        self._import_paths = import_paths
        self._digest: str | None = None

    # Projects

    def new(self) -> None:
        """Begin an empty project."""
        if self.may_leave():
            self._forget()
            self._digest = None
            self._document.start(Project("Untitled"))

    def open(self) -> None:
        """Ask for a project file and open it."""
        name, _ = QFileDialog.getOpenFileName(self._window, "Open a project", self._folder(), _PROJECTS)
        if name:
            self.open_path(Path(name))

    def open_recent(self) -> None:
        """Choose one of the files opened last."""
        paths = self._settings.recent
        if not paths:
            self._document.say("No project was opened yet.")
            return
        self._choose("Open recent", paths, [f"{p.stem}   ({p.parent})" for p in paths])

    def open_sample(self) -> None:
        """Choose one of the sample projects."""
        paths = resources.samples()
        if not paths:
            self._document.say("No sample projects are installed.")
            return
        self._choose("Open a sample", paths, [p.stem.replace("_", " ") for p in paths])

    def _choose(self, title: str, paths: list[Path], labels: list[str]) -> None:
        label, chosen = QInputDialog.getItem(self._window, title, "Project", labels, 0, False)
        if chosen:
            self.open_path(paths[labels.index(label)])

    def open_path(self, path: Path) -> bool:
        """Open a project file; True if it is the document now."""
        if not self.may_leave():
            return False
        try:
            self._open(path, ignore_digest=False)
        except EditedOutside as question:
            listed = "\n".join(question.errors)
            answer = ask(
                self._window, "Edited outside", f"{question}\n\nOpen as it is?", ["Open as it is"], listed
            )
            if answer is None:
                return False
            try:
                self._open(path, ignore_digest=True)
            except ProjectFileError as error:
                tell(self._window, "Cannot open", str(error), "\n".join(error.errors))
                return False
        except ProjectFileError as error:
            tell(self._window, "Cannot open", str(error), "\n".join(error.errors))
            return False
        return True

    def _open(self, path: Path, ignore_digest: bool) -> None:
        before = self._document.path
        digest = _digest(path)
        self._document.open(path, ignore_digest=ignore_digest)
        self._snapshots.forget(before)
        self._digest = digest
        if path not in resources.samples():
            self._settings.remember(path)

    def save(self) -> bool:
        """Save where the project came from; True if it is saved."""
        path = self._document.path
        if path is None or path in resources.samples():
            return self.save_as()
        if self._digest is not None and path.exists() and _digest(path) != self._digest:
            lost = _lost_releases(path, self._document.project)
            words = f"{path.name} was changed by another program since it was opened here."
            if lost:
                words += f" It holds what was released meanwhile and would be lost: {lost}."
            answers = ["Save as another file", *([] if lost else ["Overwrite it"])]
            answer = ask(self._window, "Changed on disk", words, answers)
            if answer is None:
                return False
            if answer == "Save as another file":
                return self.save_as()
        return self._save(path)

    def save_as(self) -> bool:
        """Ask for a name and save there; True if it is saved."""
        start = self._document.path or Path(self._folder()) / (self._document.project.name + SUFFIX)
        name, _ = QFileDialog.getSaveFileName(self._window, "Save the project", str(start), _PROJECTS)
        if not name:
            return False
        path = Path(name)
        return self._save(path if path.suffix else path.with_suffix(SUFFIX))

    def _save(self, path: Path) -> bool:
        before = self._document.path
        try:
            self._document.save(path)
        except (SaveError, ProjectFileError) as error:
            tell(self._window, "Not saved", str(error))
            return False
        self._snapshots.forget(before)
        self._digest = _digest(path)
        self._settings.remember(path)
        self._document.say(f"Saved {path.name}.")
        return True

    def may_leave(self) -> bool:
        """Ask about unsaved changes; True if the document may be left."""
        if not self._document.is_modified:
            return True
        name = self._document.path.name if self._document.path else self._document.project.name
        answer = ask(self._window, "Unsaved changes", f"{name} has unsaved changes.", ["Save", "Discard"])
        if answer == "Save":
            return self.save()
        return answer == "Discard"

    def leave(self) -> None:
        """Drop the snapshot of a document that is closed on purpose."""
        self._forget()

    def _forget(self) -> None:
        self._snapshots.forget(self._document.path)

    # Other files

    def open_dropped(self, paths: Sequence[Path]) -> None:
        """Open the first project among the files, or read all of them as outlines where there is none."""
        projects = [path for path in paths if path.suffix.lower() == SUFFIX]
        if projects:
            self.open_path(projects[0])
        elif paths:
            self._import_paths(paths)

    def import_outline(self) -> None:
        """Ask for foreign files and read them."""
        from app.files.readers.read import SUFFIXES

        kinds = " ".join(f"*{suffix}" for suffix in SUFFIXES)
        names, _ = QFileDialog.getOpenFileNames(
            self._window, "Import outlines", self._folder(), f"Outlines ({kinds});;All files (*)"
        )
        if names:
            self._import_paths([Path(name) for name in names])

    def export(self) -> None:
        """Ask for a name and write the shown wheel's section as DXF or CSV."""
        wheel = self._document.wheel
        if wheel is None:
            self._document.say("There is no wheel to export.")
            return
        start = str(Path(self._folder()) / f"{wheel.name}.dxf")
        kinds = "Drawing, exact lines and arcs (*.dxf);;Table of z and r (*.csv)"
        name, kind = QFileDialog.getSaveFileName(self._window, "Export the section", start, kinds)
        if not name:
            return
        path = Path(name)
        if not path.suffix:
            path = path.with_suffix(".csv" if "csv" in kind else ".dxf")
        project = self._document.project

        def work() -> str:
            from app.reports.outputs import export_section

            export_section(project, wheel, path)
            return f"Exported {path.name}, mm, hub frame."

        self._write(f"exporting {path.name}", work)

    def report(self) -> None:
        """Ask for a name and write the house's own copy of the section report."""
        wheel, project = self._document.wheel, self._document.project
        if wheel is None:
            self._document.say("There is no wheel to report on.")
            return

        def write(path: Path) -> str:
            from app.reports.outputs import write_report

            return _said(write_report(project, wheel, path))

        self.write_paper("Section report, internal copy", wheel.name, write)

    def customer_report(self) -> None:
        """Ask for the addressee and a name, and write a customer's copy of the section report."""
        from app.window.dialogs.paper import CustomerReportDialog

        wheel, project = self._document.wheel, self._document.project
        if wheel is None:
            self._document.say("There is no wheel to report on.")
            return
        dialog = CustomerReportDialog(project, wheel, self._window)

        def go_on() -> None:
            audience = dialog.audience()

            def write(path: Path) -> str:
                from app.reports.outputs import left_out, write_report

                held_back = write_report(project, wheel, path, audience=audience)
                return _said(held_back, left_out(project, wheel, audience))

            self.write_paper("Report for the customer", f"{wheel.name} for the customer", write)

        self._ask(dialog, go_on)

    def paper_gauge(self) -> None:
        """Ask what to cut out and for a name, and write the paper gauge."""
        from app.window.dialogs.paper import PaperGaugeDialog

        wheel, project = self._document.wheel, self._document.project
        if wheel is None:
            self._document.say("There is no wheel to make a gauge of.")
            return
        dialog = PaperGaugeDialog(project, wheel, self._window)

        def go_on() -> None:
            of, correction, audience = dialog.of.read(), dialog.correction(), dialog.audience()

            def write(path: Path) -> str:
                from app.reports.outputs import left_out, write_paper_gauge

                held_back = write_paper_gauge(project, wheel, path, of, correction, audience=audience)
                return _said(held_back, left_out(project, wheel, audience))

            self.write_paper("Paper gauge", f"{wheel.name} gauge", write)

        self._ask(dialog, go_on)

    def _ask(self, dialog: QDialog, go_on: Callable[[], None]) -> None:
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.accepted.connect(go_on)
        dialog.open()

    def write_paper(self, title: str, stem: str, write: Callable[[Path], str]) -> None:
        """Ask for a name and write a PDF; `write` returns what is to be said of it, or nothing."""
        start = str(Path(self._folder()) / f"{stem}.pdf")
        name, _ = QFileDialog.getSaveFileName(self._window, title, start, "PDF (*.pdf)")
        if not name:
            return
        path = Path(name) if Path(name).suffix else Path(name).with_suffix(".pdf")

        wheel = self._document.wheel_name or ""

        def work() -> str:
            return f"Wrote {path.name}.{write(path)}"

        def written(words: str) -> None:
            self._document.say(words)
            self.stored.emit(wheel, path)

        self._jobs.start(f"writing {path.name}", work, written, self._tell_not_written)

    def _write(self, words: str, work: Callable[[], str]) -> None:
        """Write a file in the background, then say what was written or why it was not."""
        self._jobs.start(words, work, self._document.say, self._tell_not_written)

    def _tell_not_written(self, error: Exception) -> None:
        if not isinstance(error, (ValueError, ProjectFileError, SaveError)):
            raise error
        tell(self._window, "Not written", str(error))

    def print_drawing(self) -> None:
        """Print the drawing to a stated scale."""
        from app.window.printing import print_drawing

        words = print_drawing(self._window, self._document.state)
        if words:
            self._document.say(words)

    def _folder(self) -> str:
        path = self._document.path
        if path is not None and path not in resources.samples():
            return str(path.parent)
        recent = self._settings.recent
        return str(recent[0].parent) if recent else str(Path.home())


def _said(held_back: str, left_out: str = "") -> str:
    """Return what the user must know of a PDF that was written: what it leaves out, and its stamp."""
    words = f" {left_out[0].upper()}{left_out[1:]}." if left_out else ""
    return words + (f" It is stamped 'not for release': {held_back}" if held_back else "")


def _lost_releases(path: Path, project: Project) -> str:
    """Return by name the releases that a file holds and a project does not."""
    from app.files.project_file import load

    try:
        there = load(path, ignore_digest=True).releases
    except ProjectFileError:
        return ""
    return "; ".join(release.words for release in there if release not in project.releases)


def _digest(path: Path) -> str | None:
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError:
        return None
