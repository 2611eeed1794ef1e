"""A material: name, density, and its own row of properties where the published one is not taken."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtWidgets import QWidget

from app.files.sense import nonsense
from app.language import tr
from app.project import edits
from app.project.project import FatiguePoint, Material, Project
from app.window.dialogs.form import Form, ProjectDialog
from app.window.dialogs.rows_field import Column, RowsField
from app.window.dialogs.typed_fields import DENSITY, NUMBER, STRESS, NumberField, TextField
from geometry.strength.metals import row_for

#: What a field of the schema is called here.
_LABELS = {
    "elastic_mpa": tr("Modulus"),
    "poisson": tr("Poisson's ratio"),
    "fatigue": tr("Own table of lives"),
}


class MaterialDialog(ProjectDialog):
    """Edits a material, or makes one where no name is given."""

    def __init__(self, project: Project, name: str | None = None, parent: QWidget | None = None) -> None:
        super().__init__(tr("Material: {name}", name=name) if name else tr("New material"), project, parent)
        self.old = name
        free = edits.free_name(project, edits.MATERIAL, "Material")
        material = edits.find(project, edits.MATERIAL, name) if name else Material(free)
        self.material = material
        form = self.page(tr("Material"))
        self.name = form.add(tr("Name"), TextField(material.name, required=True))
        self.density = form.add(
            tr("Density"), NumberField(DENSITY, material.density_kg_m3, least=500.0, most=25_000.0)
        )
        self.source = form.add(
            tr("Source"), TextField(material.source, hint=tr("where the density comes from"))
        )
        self._strength(self.page(tr("Strength")), material)
        self.resize(560, 420)

    def _strength(self, form: Form, material: Material) -> None:
        row = row_for(material.name)
        published = (
            tr("The published row '{name}' is taken", name=row.name)
            if row
            else tr("There is no published row of this name")
        )
        form.note(
            tr(
                "{published} unless the four numbers are given here: all of them, or none.",
                published=published,
            )
        )
        self.elastic = form.add(
            tr("Modulus"), NumberField(STRESS, material.elastic_mpa, optional=True, above=0.0)
        )
        self.poisson = form.add(
            tr("Poisson's ratio"), NumberField(NUMBER, material.poisson, optional=True, least=0.0, most=0.499)
        )
        self.yields = form.add(
            tr("Yield strength, least"), NumberField(STRESS, material.yield_mpa, optional=True, above=0.0)
        )
        self.ultimate = form.add(
            tr("Tensile strength, least"),
            NumberField(STRESS, material.ultimate_mpa, optional=True, above=0.0),
        )
        self.strength_source = form.add(
            tr("Source"), TextField(material.strength_source, hint=tr("where the four numbers come from"))
        )
        columns = (
            Column(tr("Cycles"), lambda v: NumberField(NUMBER, v, above=0.0)),
            Column(tr("Greatest stress"), lambda v: NumberField(STRESS, v, above=0.0)),
        )
        points = [(p.cycles, p.stress_mpa) for p in material.fatigue]
        self.fatigue = form.add(
            tr("Own table of lives"),
            RowsField(tr("point"), columns, points, (None, None)),
            tr("Mean lives, rising cycles and falling stress; in place of the published curve."),
        )
        self.ratio = form.add(
            tr("Stress ratio of the table"),
            NumberField(NUMBER, material.fatigue_ratio, least=-1.0, most=0.99),
            tr("Least over greatest stress; -1 is alternating."),
        )
        self.fatigue_source = form.add(
            tr("Source of the table"),
            TextField(material.fatigue_source, hint=tr("specimens, metal, laboratory")),
        )

    def made(self) -> tuple[Project, str]:
        """Return the project with the material."""
        material = replace(
            self.material,
            name=self.name.read(),
            density_kg_m3=self.density.number(),
            source=self.source.read(),
            elastic_mpa=self.elastic.read(),
            poisson=self.poisson.read(),
            yield_mpa=self.yields.read(),
            ultimate_mpa=self.ultimate.read(),
            strength_source=self.strength_source.read(),
            fatigue=tuple(FatiguePoint(cycles, stress) for cycles, stress in self.fatigue.read()),
            fatigue_ratio=self.ratio.number(),
            fatigue_source=self.fatigue_source.read(),
        )
        for name, sentence in nonsense(material):
            raise ValueError(f"{_LABELS.get(name, name)}: {sentence}.")
        if self.old is None:
            return edits.add(self.project, edits.MATERIAL, material), tr(
                "New material {name}", name=material.name
            )
        project = edits.replaced(self.project, edits.MATERIAL, self.old, material)
        return project, tr("Material {name}", name=material.name)
