"""Importing, exporting, reporting and printing; what concerns projects alone stands in project_files.py."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QDialog, QFileDialog, QWidget

from app.files.atomic import SaveError
from app.files.project_file import ProjectFileError
from app.language import spoken, tr
from app.session.document import Document
from app.session.jobs import Jobs
from app.session.recovery import Recovery
from app.window.project_files import SUFFIX, ProjectFiles
from app.window.questions import tell
from app.window.settings import Settings


class Files(ProjectFiles):
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
        recovery: Recovery,
        state: Path,
        jobs: Jobs,
        import_paths: Callable[[Sequence[Path]], None],
    ) -> None:
        super().__init__(window, document, settings, recovery, state)
        self._jobs = jobs
        self._import_paths = import_paths

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
            self._window,
            tr("Import outlines"),
            self._folder(),
            tr("Outlines ({kinds});;All files (*)", kinds=kinds),
        )
        if names:
            self._import_paths([Path(name) for name in names])

    def export(self) -> None:
        """Ask for a name and write the shown wheel's section as DXF or CSV."""
        wheel = self._document.wheel
        if wheel is None:
            self._document.say(tr("There is no wheel to export."))
            return
        start = str(Path(self._folder()) / f"{wheel.name}.dxf")
        kinds = tr("Drawing, exact lines and arcs (*.dxf);;Table of z and r (*.csv)")
        name, kind = QFileDialog.getSaveFileName(self._window, tr("Export the section"), start, kinds)
        if not name:
            return
        path = Path(name)
        if not path.suffix:
            path = path.with_suffix(".csv" if "csv" in kind else ".dxf")
        project = self._document.project

        def work() -> str:
            from app.reports.outputs import export_section

            export_section(project, wheel, path)
            return tr("Exported {name}, mm, hub frame.", name=path.name)

        self._write(tr("exporting {name}", name=path.name), work)

    def report(self) -> None:
        """Ask for a name and write the house's own copy of the section report."""
        wheel, project = self._document.wheel, self._document.project
        if wheel is None:
            self._document.say(tr("There is no wheel to report on."))
            return

        def write(path: Path) -> str:
            from app.reports.outputs import write_report

            return _said(write_report(project, wheel, path))

        self.write_paper(tr("Section report, internal copy"), wheel.name, write)

    def customer_report(self) -> None:
        """Ask for the addressee and a name, and write a customer's copy of the section report."""
        from app.window.dialogs.paper import CustomerReportDialog

        wheel, project = self._document.wheel, self._document.project
        if wheel is None:
            self._document.say(tr("There is no wheel to report on."))
            return
        dialog = CustomerReportDialog(project, wheel, self._window)

        def go_on() -> None:
            audience = dialog.audience()

            def write(path: Path) -> str:
                from app.reports.outputs import left_out, write_report

                held_back = write_report(project, wheel, path, audience=audience)
                return _said(held_back, left_out(project, wheel, audience))

            self.write_paper(tr("Report for the customer"), f"{wheel.name} for the customer", write)

        self._ask(dialog, go_on)

    def paper_gauge(self) -> None:
        """Ask what to cut out and for a name, and write the paper gauge."""
        from app.window.dialogs.paper import PaperGaugeDialog

        wheel, project = self._document.wheel, self._document.project
        if wheel is None:
            self._document.say(tr("There is no wheel to make a gauge of."))
            return
        dialog = PaperGaugeDialog(project, wheel, self._window)

        def go_on() -> None:
            of, correction, audience = dialog.of.read(), dialog.correction(), dialog.audience()

            def write(path: Path) -> str:
                from app.reports.outputs import left_out, write_paper_gauge

                held_back = write_paper_gauge(project, wheel, path, of, correction, audience=audience)
                return _said(held_back, left_out(project, wheel, audience))

            self.write_paper(tr("Paper gauge"), f"{wheel.name} gauge", write)

        self._ask(dialog, go_on)

    def _ask(self, dialog: QDialog, go_on: Callable[[], None]) -> None:
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.accepted.connect(go_on)
        dialog.open()

    def write_paper(self, title: str, stem: str, write: Callable[[Path], str]) -> None:
        """Ask for a name and write a PDF; `write` returns what is to be said of it, or nothing."""
        start = str(Path(self._folder()) / f"{stem}.pdf")
        name, _ = QFileDialog.getSaveFileName(self._window, title, start, tr("PDF (*.pdf)"))
        if not name:
            return
        path = Path(name) if Path(name).suffix else Path(name).with_suffix(".pdf")

        wheel = self._document.wheel_name or ""

        def work() -> str:
            return tr("Wrote {name}.{write}", name=path.name, write=write(path))

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
        tell(self._window, tr("Not written"), spoken(str(error)))

    def print_drawing(self) -> None:
        """Print the drawing to a stated scale."""
        from app.window.printing import print_drawing

        words = print_drawing(self._window, self._document.state)
        if words:
            self._document.say(words)


def _said(held_back: str, left_out: str = "") -> str:
    """Return what the user must know of a PDF that was written: what it leaves out, and its stamp."""
    words = f" {left_out[0].upper()}{left_out[1:]}." if left_out else ""
    return words + (
        tr(" It is stamped 'not for release': {held_back}", held_back=held_back) if held_back else ""
    )
