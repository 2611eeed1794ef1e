"""How a spun blank comes about, as a page of its details: ring, mandrel, price of spinning, walls."""

from __future__ import annotations

from app.language import tr
from app.project.project import Project
from app.window.dialogs.form import Form
from app.window.dialogs.typed_fields import (
    NUMBER,
    PER_CENT,
    ChoiceField,
    Field,
    NumberField,
    TextField,
    length,
)
from geometry.shape.blank import Blank, SpunFrom, Supply
from geometry.shape.outline import Corner

_ABOUT = tr(
    "Of a blank whose supply is spun, on the page Blank. Its outline is the spun one, trimmed. The order is: "
    "forge, spin, heat-treat, turn."
)


class SpinningPage:
    """The fields of the page; they can be filled for a spun blank alone."""

    def __init__(self, form: Form, project: Project, blank: Blank, currency: str) -> None:
        self._before = blank.spun
        spun, kind = blank.spun or SpunFrom(), length(project.display_unit)
        form.note(f"{_ABOUT} {currency}")
        self.ring = form.add(
            tr("Outline as forged"),
            ChoiceField[tuple[Corner, ...]](_rings(project, blank, spun.ring), spun.ring),
            tr(
                "The ring that the barrel is drawn from, in this blank's own frame: draw it as a blank "
                "of its "
                "own and choose it here; its outline is copied."
            ),
        )
        self.mandrel = form.add(
            tr("Price of the mandrel"),
            _amount(spun.mandrel_price),
            tr("Paid once, beside the price of the dies; leave it out where that holds it."),
        )
        self.price = form.add(
            tr("Price of spinning"),
            _amount(spun.spinning_price),
            tr("Of one piece, beside the price a piece."),
        )
        self.minutes = form.add(
            tr("Minutes of spinning"),
            _amount(spun.spinning_min),
            tr("Of one piece; paid at the shop's hour where no price of spinning is given."),
        )
        share = None if spun.reduction is None else 100.0 * spun.reduction
        self._share = share
        self.reduction = form.add(
            tr("Largest reduction"),
            NumberField(PER_CENT, share, optional=True, least=0.0, most=99.9),
            tr("Of any metal: 1 - spun wall / forged wall."),
        )
        self.passes = form.add(
            tr("Passes"), NumberField(NUMBER, spun.passes, optional=True, least=1.0, whole=True)
        )
        self.wall = form.add(
            tr("Least wall as spun"), NumberField(kind, spun.wall_mm, optional=True, least=0.0)
        )
        self.trim = form.add(
            tr("Trim"),
            NumberField(kind, spun.trim_mm, optional=True, least=0.0),
            tr("Length of the spun end that is cut off; the ring holds it too."),
        )
        self.source = form.add(tr("Source"), TextField(spun.source, hint=tr("whose numbers")))

    @property
    def fields(self) -> tuple[Field, ...]:
        """All fields, from above."""
        money = (self.mandrel, self.price, self.minutes)
        return (self.ring, *money, self.reduction, self.passes, self.wall, self.trim, self.source)

    def follow(self, supply: ChoiceField[Supply]) -> None:
        """Let the page be filled while the supply is spun."""

        def enable() -> None:
            for field in self.fields:
                field.setEnabled(supply.read() is Supply.SPUN)

        supply.edited.connect(enable)
        enable()

    def read(self, supply: Supply) -> SpunFrom | None:
        """Return how a spun blank comes about; None of another, and where nothing was ever said.

        Raises:
            FieldError: a field cannot be read.
        """
        if supply is not Supply.SPUN:
            return None
        passes = self.passes.read()
        found = SpunFrom(
            ring=self.ring.read(),
            mandrel_price=self.mandrel.read(),
            spinning_price=self.price.read(),
            spinning_min=self.minutes.read(),
            reduction=self._reduction(),
            passes=None if passes is None else int(passes),
            wall_mm=self.wall.read(),
            trim_mm=self.trim.read(),
            source=self.source.read(),
        )
        return None if self._before is None and found == SpunFrom() else found

    def _reduction(self) -> float | None:
        """Return the share; what nobody typed anew stays to the last digit."""
        share = self.reduction.read()
        if share is None or (self._before is not None and share == self._share):
            return None if share is None or self._before is None else self._before.reduction
        return share / 100.0


def _rings(project: Project, blank: Blank, own: tuple[Corner, ...]) -> list[tuple[str, tuple[Corner, ...]]]:
    """Return what the ring can be: not known, the one there is, or the outline of another blank."""
    rows: list[tuple[str, tuple[Corner, ...]]] = [(tr("not known"), ())]
    rows += [(tr("as it is, {own} corners", own=len(own)), own)] if own else []
    others = [b for b in project.blanks if b.name != blank.name and len(b.corners) > 2]
    return rows + [(tr("outline of {name}", name=b.name), b.corners) for b in others if b.corners != own]


def _amount(value: float | None) -> NumberField:
    return NumberField(NUMBER, value, optional=True, least=0.0)
