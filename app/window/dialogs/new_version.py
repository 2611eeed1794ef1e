"""Versions of wheels: a new one with its name and why it is made; which one a wheel was made from."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtWidgets import QWidget

from app.language import tr
from app.project import versions
from app.project.project import Project
from app.project.wheel import Wheel
from app.window.dialogs.form import Form, ProjectDialog
from app.window.dialogs.typed_fields import ChoiceField, TextField


class NewVersionDialog(ProjectDialog):
    """Asks for the name of a version made from a wheel, with a note."""

    def __init__(self, project: Project, name: str, parent: QWidget | None = None) -> None:
        super().__init__(tr("New version of {name}", name=name), project, parent)
        self.old = name
        form = self.page(tr("Version"))
        self.name = form.add(tr("Name"), TextField(versions.free_name(project, name), required=True))
        self.why = form.add(
            tr("Why"), TextField("", hint=tr("spoke back 1 mm deeper for the larger caliper"))
        )
        form.note(tr("The note stays in the house: no customer's copy holds it."))
        self.name.line.selectAll()
        self.resize(520, 180)

    def made(self) -> tuple[Project, str]:
        """Return the project with the version behind the wheel it was made from."""
        new = self.name.read()
        return versions.new_version(self.project, self.old, new, self.why.read()), tr(
            "New version {new}", new=new
        )


class OriginFields:
    """Which version a wheel was made from, and why."""

    def __init__(self, form: Form, wheel: Wheel, project: Project) -> None:
        names = versions.may_be_made_from(project, wheel.name)
        given = wheel.made_from if wheel.made_from in names else None
        self.made_from = form.add(
            tr("Made from"),
            ChoiceField([(tr("(none)"), None), *((name, name) for name in names)], given),
            tr("The version that this one was made from; the parts show it under that one."),
        )
        self.why = form.add(
            tr("Why"), TextField(wheel.why, hint=tr("what this version is for; it stays in the house"))
        )

    def changed(self, wheel: Wheel) -> Wheel:
        """Return the wheel with what these fields hold."""
        return replace(wheel, made_from=self.made_from.read(), why=self.why.read())
