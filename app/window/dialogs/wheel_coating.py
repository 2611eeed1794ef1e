"""What a wheel is coated with, and where: for the fit on the hub after coating."""

from __future__ import annotations

from dataclasses import replace

from app.language import spoken, tr
from app.project.coating import ANODIC, CURE, Coat, Coating
from app.project.wheel import Wheel
from app.window.dialogs.form import Form
from app.window.dialogs.typed_fields import YES_NO_OPEN, ChoiceField, Kind, NumberField


class CoatingPage:
    """The page "Coating" of the wheel's details."""

    def __init__(self, form: Form, wheel: Wheel, kind: Kind) -> None:
        self.form = form
        given = wheel.coating
        self.coat = form.add(tr("Coating"), ChoiceField([(spoken(c), c) for c in Coat], given.kind))
        self.thickness = form.add(
            tr("Thickness, at most"),
            NumberField(kind, given.thickness_mm, optional=True, above=0.0),
            tr("Of the film, a side. Paint 0.05 to 0.15 mm, powder more (from memory)."),
        )
        self.bore = form.add(
            tr("Bore coated"),
            ChoiceField(YES_NO_OPEN, given.on_bore),
            tr("Bore over spigot is then judged coated."),
        )
        self.seats = form.add(
            tr("Hub pad and seats coated"),
            ChoiceField(YES_NO_OPEN, given.on_seats),
            tr("They should be bare: a coating under them settles and bolts lose their tension."),
        )
        self.grows = form.note(tr("It grows half its thickness out of the metal; sizes count that half."))
        self.cure = form.note(spoken(CURE))
        self.coat.edited.connect(self._show)
        self._show()

    def _show(self) -> None:
        coat = self.coat.read()
        for field in (self.thickness, self.bore, self.seats):
            self.form.show_field(field, coat not in (Coat.OPEN, Coat.NONE))
        self.grows.setVisible(coat in ANODIC)
        self.cure.setVisible(coat is Coat.POWDER)

    def changed(self, wheel: Wheel) -> Wheel:
        """Return the wheel with this coating."""
        coat = self.coat.read()
        if coat in (Coat.OPEN, Coat.NONE):
            return replace(wheel, coating=Coating(coat))
        return replace(
            wheel, coating=Coating(coat, self.thickness.read(), self.bore.read(), self.seats.read())
        )
