"""Where a wheel's load rating comes from, and which wheel its strength is compared with."""

from __future__ import annotations

from dataclasses import replace

from app.language import spoken, tr
from app.project import edits
from app.project.project import Project
from app.project.strength import Basis, Rating
from app.project.wheel import Wheel
from app.window.dialogs.form import Form
from app.window.dialogs.typed_fields import MASS, NUMBER, ChoiceField, NumberField, TextField


class RatingPage:
    """The page "Rating" of the wheel's details."""

    def __init__(self, form: Form, wheel: Wheel, project: Project) -> None:
        rating = wheel.rating
        form.note(
            tr("The wheel load on the first page is what is screened; here stands where it comes from.")
        )
        self.basis = form.add(tr("Load is"), ChoiceField([(spoken(b.value), b) for b in Basis], rating.basis))
        self.axle = form.add(tr("Heaviest axle"), NumberField(MASS, rating.axle_kg, optional=True, above=0.0))
        self.static = form.add(
            tr("Static load, race"), NumberField(MASS, rating.static_kg, optional=True, above=0.0)
        )
        self.aero = form.add(
            tr("Aerodynamic load, race"), NumberField(MASS, rating.aero_kg, optional=True, least=0.0)
        )
        self.factor = form.add(
            tr("Factor, race"),
            NumberField(NUMBER, rating.factor, optional=True, above=0.0),
            tr("1 where it is empty."),
        )
        self.edition = form.add(
            tr("Edition"), TextField(rating.edition, hint=tr("of the standard that the rating is made for"))
        )
        names = [name for name in edits.WHEEL.names(project) if name != wheel.name]
        given = wheel.reference if wheel.reference in names else None
        self.reference = form.add(
            tr("Compare strength with"),
            ChoiceField([(tr("(none)"), None), *((name, name) for name in names)], given),
            tr("A wheel that passed its tests; figures are shown as shares of its own."),
        )

    def changed(self, wheel: Wheel) -> Wheel:
        """Return the wheel with this page's values."""
        rating = Rating(
            self.basis.read(),
            self.axle.read(),
            self.static.read(),
            self.aero.read(),
            self.factor.read(),
            self.edition.read(),
        )
        return replace(wheel, rating=rating, reference=self.reference.read())
