"""A material: name, density and where the density comes from."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtWidgets import QWidget

from app.project import edits
from app.project.project import Material, Project
from app.window.dialogs.form import ProjectDialog
from app.window.dialogs.typed_fields import DENSITY, NumberField, TextField


class MaterialDialog(ProjectDialog):
    """Edits a material, or makes one where no name is given."""

    def __init__(self, project: Project, name: str | None = None, parent: QWidget | None = None) -> None:
        super().__init__(f"Material: {name}" if name else "New material", project, parent)
        self.old = name
        free = edits.free_name(project, edits.MATERIAL, "Material")
        material = edits.find(project, edits.MATERIAL, name) if name else Material(free)
        self.material = material
        form = self.page("Material")
        self.name = form.add("Name", TextField(material.name, required=True))
        self.density = form.add(
            "Density", NumberField(DENSITY, material.density_kg_m3, least=500.0, most=25_000.0)
        )
        self.source = form.add("Source", TextField(material.source, hint="where the density comes from"))
        self.resize(480, 220)

    def made(self) -> tuple[Project, str]:
        """Return the project with the material."""
        material = replace(
            self.material,
            name=self.name.read(),
            density_kg_m3=self.density.number(),
            source=self.source.read(),
        )
        if self.old is None:
            return edits.add(self.project, edits.MATERIAL, material), f"New material {material.name}"
        project = edits.replaced(self.project, edits.MATERIAL, self.old, material)
        return project, f"Material {material.name}"
