"""Section sheets: which paper a draft goes on, and what a release asks for."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from PySide6.QtWidgets import QDialogButtonBox, QLabel, QWidget

from app.language import spoken, tr
from app.project.project import Project
from app.project.release import date_trouble, next_revision, of_wheel, people_trouble
from app.project.wheel import Wheel
from app.reports.releases import FIRST, Facts, hindered, standing
from app.reports.section_sheet import paper_of
from app.views.readings_text import minus
from app.window.dialogs.form import Form, ProjectDialog
from app.window.dialogs.typed_fields import ChoiceField, DateField, TextField, named


class SectionSheetDialog(ProjectDialog):
    """Asks on which paper a draft is drawn, and says what keeps it from release; changes nothing."""

    def __init__(self, project: Project, wheel: Wheel, parent: QWidget | None = None) -> None:
        super().__init__(tr("Section sheet"), project, parent)
        form = self.page(tr("Sheet"))
        self.paper = form.add(tr("Paper"), _papers(project))
        form.note(
            tr(
                "{name}: {words}. A draft is stamped 'not released'; a released sheet is "
                "printed again with File, Released sheets.",
                name=wheel.name,
                words=minus(spoken(standing(project, wheel).words)),
            )
        )
        self.hindrances = _tell_hindrances(form, hindered(project, wheel))
        self.resize(560, 220 if not self.hindrances else 300)

    def made(self) -> tuple[Project, str]:
        """Return the project as it is."""
        return self.project, ""


class ReleaseDialog(ProjectDialog):
    """Asks who drew and who checked, and what changed; a sheet that something hinders cannot be released."""

    def __init__(self, project: Project, wheel: Wheel, parent: QWidget | None = None) -> None:
        super().__init__(tr("Release section sheet"), project, parent)
        own = of_wheel(project.releases, wheel.name)
        self._is_first = not own
        form = self.page(tr("Release"))
        self.revision = next_revision(project.releases, wheel.name)
        form.note(
            tr(
                "{name}: {words}. This will be revision {revision}.",
                name=wheel.name,
                words=minus(spoken(standing(project, wheel).words)),
                revision=self.revision,
            )
        )
        self.on = form.add(tr("Date of issue"), DateField(date.today().isoformat()))
        self.drawn_by = form.add(tr("Drawn by"), TextField(own[-1].drawn_by if own else project.author))
        self.checked_by = form.add(tr("Checked by"), TextField(""))
        hint = spoken(FIRST) if self._is_first else tr("since the revision before")
        self.change = form.add(tr("What changed"), TextField("", hint=hint))
        self.paper = form.add(tr("Paper"), _papers(project))
        form.note(
            tr(
                "Wheel, blank, shapes, rules, conditions, material, tolerances, notes and results are "
                "frozen. "
                "The sheet can be printed again byte for byte, whatever is edited later; undo does not "
                "take it "
                "back."
            )
        )
        self.hindrances = _tell_hindrances(form, hindered(project, wheel))
        ok = self.buttons.button(QDialogButtonBox.StandardButton.Ok)
        ok.setText(tr("&Release revision {revision}", revision=self.revision))
        ok.setEnabled(not self.hindrances)
        self.resize(620, 360 if not self.hindrances else 440)

    def facts(self) -> Facts:
        """Return what was typed."""
        return Facts(self.on.read(), self.drawn_by.read(), self.checked_by.read(), self.change.read())

    def made(self) -> tuple[Project, str]:
        """Return the project as it is: the release itself is made of it by who opened the dialog.

        Raises:
            ValueError: it is not two people, no date, or nothing is said of what changed.
        """
        facts = self.facts()
        wrong = people_trouble(facts.drawn_by, facts.checked_by) or date_trouble(facts.on)
        if not wrong and not facts.change and not self._is_first:
            wrong = tr("Say what changed since the revision before.")
        if wrong:
            raise ValueError(wrong)
        return self.project, ""


def _papers(project: Project) -> ChoiceField[str]:
    papers = ("Tabloid", "Letter") if project.paper == "Letter" else ("A3", "A4")
    return ChoiceField(named(papers), paper_of(project))


def _tell_hindrances(form: Form, reasons: Sequence[str]) -> QLabel | None:
    """Say what keeps the sheet from release, or nothing where it may be released."""
    if not reasons:
        form.note(tr("Nothing keeps it from release."))
        return None
    form.head(tr("What keeps it from release"))
    label = QLabel(minus("\n".join(f"▸ {reason}" for reason in reasons)))
    label.setWordWrap(True)
    form.row(label)
    return label
