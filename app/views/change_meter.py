"""What the shown wheel has gained or lost since it was last saved, by zone, in grams: one quiet line."""

from __future__ import annotations

from app.language import tr
from app.project.project import Project
from app.project.wheel import Wheel
from app.session.shown import Shown
from app.studies.differences import Differences, change_words, differences
from app.studies.fit import Measured
from app.views.readout import Readout
from geometry.errors import GeometryError


class ChangeMeter(Readout):
    """Shows the change since the last save; while a gesture is under way, of the whole mass alone."""

    def __init__(self) -> None:
        super().__init__()
        self.setAccessibleName(tr("Change of mass since the last save"))
        self.setToolTip(tr("Change of mass since the last save, by zone"))
        self._of: tuple[Project | None, Project | None, Wheel | None] = (None, None, None)
        self._found: Differences | None = None

    def show_state(self, shown: Shown) -> None:
        """Show another state."""
        if shown.dragging:
            self.show_text(self._whole(shown))
            return
        of = (shown.saved, shown.project, shown.wheel)
        if not all(a is b for a, b in zip(of, self._of, strict=True)):
            self._of, self._found = of, self._differences(shown)
        self.show_text(
            ""
            if self._found is None
            else tr("since saved: {change_words}", change_words=change_words(self._found, 2))
        )

    def _differences(self, shown: Shown) -> Differences | None:
        """Return what changed; None where nothing was saved, nothing changed, or there is a fault."""
        saved, before, wheel = shown.saved, shown.saved_wheel, shown.wheel
        if saved is None or before is None or wheel is None or shown.measurements is None:
            return None
        if before is wheel or (before == wheel and saved.materials == shown.project.materials):
            return None
        now = Measured(shown.outline, shown.faults, shown.measurements)
        try:
            return differences((saved, before), (shown.project, wheel), now)
        except GeometryError:
            return None  # the saved wheel had a fault: there is nothing to hold this one against

    def _whole(self, shown: Shown) -> str:
        """Return the change of the whole mass, where the change at the last rest was known."""
        if self._found is None or shown.measurements is None:
            return ""
        grams = round((shown.measurements.solid.mass_kg - self._found.mass_kg[0]) * 1000.0)
        return tr(
            "since saved: {chr}{grams} g in all",
            chr="+" if grams > 0 else chr(8722) if grams < 0 else "±",
            grams=abs(grams),
        )
