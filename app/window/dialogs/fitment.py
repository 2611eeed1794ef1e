"""A fitment: one wheel need, from the enquiry to the row of a roadmap."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from PySide6.QtWidgets import QWidget

from app.language import tr
from app.project import edits
from app.project.edits import Kind
from app.project.project import Compromise, Fitment, Project
from app.window.dialogs.form import Form, ProjectDialog
from app.window.dialogs.typed_fields import (
    CODE,
    MASS,
    NUMBER,
    YES_NO_OPEN,
    ChoiceField,
    FieldError,
    NumberField,
    TextField,
    length,
)
from app.window.dialogs.typed_fields import Kind as NumberKind

_NOTHING_GIVEN = Compromise()
#: What the dialog says for the words that a roadmap has.
_AXLES = {"front": tr("front"), "rear": tr("rear"), "both": tr("both")}
_USES = {"road": tr("road use"), "track": tr("track use"), "both": tr("road and track")}


class FitmentDialog(ProjectDialog):
    """Edits a fitment, or makes one where no name is given; what is left empty is not known."""

    def __init__(self, project: Project, name: str | None = None, parent: QWidget | None = None) -> None:
        super().__init__(tr("Fitment: {name}", name=name) if name else tr("New fitment"), project, parent)
        self.old = name
        free = edits.free_name(project, edits.FITMENT, "Fitment")
        self.fitment = edits.find(project, edits.FITMENT, name) if name else Fitment(free)
        self._length = length(project.display_unit)
        self._need(self.page(tr("Need")))
        self._hub(self.page(tr("Hub and brake")))
        self._programme(self.page(tr("Programme")))
        self._compromise(self.page(tr("Compromise")))
        self.resize(560, 600)

    def _need(self, form: Form) -> None:
        f = self.fitment
        self.name = form.add(tr("Name"), TextField(f.name, required=True))
        self.customer = form.add(tr("Customer or plan"), TextField(f.customer))
        self.car = form.add(tr("Car"), TextField(f.car))
        self.car_class = form.add(tr("Car class"), TextField(f.car_class))
        self.axle = form.add(tr("Axle"), ChoiceField(_one_of(_AXLES, f.axle), f.axle))
        self.use = form.add(tr("Use"), ChoiceField(_one_of(_USES, f.use), f.use))
        self.diameter_code = form.add(tr("Diameter"), _open_number(CODE, f.diameter_code, above=0.0))
        self.width_code = form.add(tr("Width"), _open_number(CODE, f.width_code, above=0.0))
        self.flange = form.add(tr("Flange"), ChoiceField([(x, x) for x in ("J", "JJ", "B")], f.flange))
        self.inset_low = form.add(tr("Inset from"), _open_number(self._length, f.inset_low_mm))
        self.inset_high = form.add(tr("Inset to"), _open_number(self._length, f.inset_high_mm))
        self.tyre = form.add(tr("Tyre"), TextField(f.tyre, hint="265/35R18"))
        self.load = form.add(tr("Wheel load"), _open_number(MASS, f.load_kg, above=0.0))
        self.lip = form.add(tr("Least inner lip"), _open_number(self._length, f.lip_mm, least=0.0))
        self.spoke = form.add(tr("Least spoke depth"), _open_number(self._length, f.spoke_mm, least=0.0))

    def _hub(self, form: Form) -> None:
        f, project = self.fitment, self.project
        self.count = form.add(
            tr("Bolts"), _open_number(NUMBER, f.bolt_count, least=1.0, most=20.0, whole=True)
        )
        self.circle = form.add(tr("Bolt circle"), _open_number(self._length, f.bolt_circle_mm, above=0.0))
        self.bore = form.add(tr("Bore"), _open_number(self._length, f.bore_mm, above=0.0))
        self.shape = form.add(tr("Brake shape"), _part(project, edits.SHAPE, f.shape))
        self.rules = form.add(tr("Rule set"), _part(project, edits.RULE_SET, f.rules))
        self.wheel = form.add(tr("Wheel that serves it"), _part(project, edits.WHEEL, f.wheel))

    def _programme(self, form: Form) -> None:
        f = self.fitment
        self.must = form.add(
            tr("Must be served"), ChoiceField([*YES_NO_OPEN[:2], (tr("no, it is wanted"), False)], f.must)
        )
        self.certainty = form.add(
            tr("Certainty, 0 to 1"), _open_number(NUMBER, f.certainty, least=0.0, most=1.0)
        )
        self.first_year = form.add(tr("First year"), _year(f.first_year))
        self.last_year = form.add(tr("Last year"), _year(f.last_year))
        form.head(tr("Wheels a year"))
        self.low = form.add(tr("Low"), _count(f.volume_low))
        self.likely = form.add(tr("Likely"), _count(f.volume_likely))
        self.high = form.add(tr("High"), _count(f.volume_high))
        self.contribution = form.add(
            tr("Contribution per wheel"),
            _open_number(self._money(), f.contribution),
            tr("Price less everything but blank and machining."),
        )
        self.multi_piece = form.add(
            tr("Multi-piece price"),
            _open_number(self._money(), f.multi_piece_price, least=0.0, empty=tr("not offered")),
            tr("Of a wheel made of several pieces without dies."),
        )

    def _compromise(self, form: Form) -> None:
        f, given = self.fitment, self.fitment.compromise or _NOTHING_GIVEN
        share = given.share if f.compromise is not None else None
        form.note(
            tr(
                "What would still sell where the need itself is not served; what is left empty stays as "
                "needed."
            )
        )
        self.given_words = form.add(tr("What is given up"), TextField(given.words))
        self.given_width = form.add(
            tr("Width"), _open_number(CODE, given.width_code, above=0.0, empty=tr("as needed"))
        )
        self.given_low = form.add(
            tr("Inset from"), _open_number(self._length, given.inset_low_mm, empty=tr("as needed"))
        )
        self.given_high = form.add(
            tr("Inset to"), _open_number(self._length, given.inset_high_mm, empty=tr("as needed"))
        )
        self.given_lip = form.add(
            tr("Inner lip"), _open_number(self._length, given.lip_mm, least=0.0, empty=tr("as needed"))
        )
        options: list[tuple[str, str | None]] = [(tr("as needed"), None)]
        options += [(name, name) for name in edits.SHAPE.names(self.project)]
        self.given_shape = form.add(tr("Smaller brake"), ChoiceField(options, f.compromise_shape))
        self.share = form.add(
            tr("Share, 0 to 1"),
            _open_number(NUMBER, share, least=0.0, most=1.0, empty=tr("no compromise")),
            tr("Share of the volume that would still sell."),
        )
        self.given_contribution = form.add(
            tr("Contribution per wheel"), _open_number(self._money(), given.contribution)
        )

    def _money(self) -> NumberKind:
        money = " ".join(str(x) for x in (self.project.currency, self.project.currency_year) if x)
        return NumberKind(money, NUMBER.read, NUMBER.show)

    def _given_up(self) -> Compromise | None:
        """Return the compromise, None where none is stated.

        Raises:
            FieldError: something is given up, but no share of the volume is stated.
        """
        share = self.share.read()
        kept = (self.given_width, self.given_low, self.given_high, self.given_lip, self.given_contribution)
        width, low, high, lip, contribution = (field.read() for field in kept)
        words = self.given_words.read()
        if share is not None:
            return Compromise(words, width, low, high, lip, share, contribution)
        if (
            words
            or self.given_shape.read()
            or any(x is not None for x in (width, low, high, lip, contribution))
        ):
            raise FieldError(
                tr("Compromise: state the share of the volume that would still sell, from 0 to 1.")
            )
        return None

    def made(self) -> tuple[Project, str]:
        """Return the project with the fitment.

        Raises:
            FieldError: a range runs backwards.
        """
        made = replace(
            self.fitment,
            name=self.name.read(),
            customer=self.customer.read(),
            car=self.car.read(),
            axle=self.axle.read(),
            use=self.use.read(),
            diameter_code=self.diameter_code.read(),
            width_code=self.width_code.read(),
            flange=self.flange.read(),
            inset_low_mm=self.inset_low.read(),
            inset_high_mm=self.inset_high.read(),
            tyre=self.tyre.read(),
            load_kg=self.load.read(),
            bolt_count=_whole(self.count),
            bolt_circle_mm=self.circle.read(),
            bore_mm=self.bore.read(),
            shape=self.shape.read(),
            rules=self.rules.read(),
            wheel=self.wheel.read(),
            must=self.must.read(),
            certainty=self.certainty.read(),
            first_year=_whole(self.first_year),
            last_year=_whole(self.last_year),
            volume_low=_whole(self.low),
            volume_likely=_whole(self.likely),
            volume_high=_whole(self.high),
            contribution=self.contribution.read(),
            car_class=self.car_class.read(),
            lip_mm=self.lip.read(),
            spoke_mm=self.spoke.read(),
            compromise=self._given_up(),
            compromise_shape=self.given_shape.read(),
            multi_piece_price=self.multi_piece.read(),
        )
        _refuse_backwards(tr("Inset"), made.inset_low_mm, made.inset_high_mm)
        if made.compromise is not None:
            low, high = made.compromise.inset_low_mm, made.compromise.inset_high_mm
            low = made.inset_low_mm if low is None else low
            high = made.inset_high_mm if high is None else high
            _refuse_backwards(tr("Inset of the compromise"), low, high)
        _refuse_backwards(tr("Years"), made.first_year, made.last_year)
        _refuse_backwards(tr("Wheels a year"), made.volume_low, made.volume_likely, made.volume_high)
        if self.old is None:
            return edits.add(self.project, edits.FITMENT, made), tr("New fitment {name}", name=made.name)
        return edits.replaced(self.project, edits.FITMENT, self.old, made), tr(
            "Fitment {name}", name=made.name
        )


def _open_number(kind: NumberKind, value: float | None, **limits: Any) -> NumberField:
    return NumberField(kind, value, optional=True, **limits)


def _one_of(words: dict[str, str], given: str) -> list[tuple[str, str]]:
    """Return closed answers by what they say, none of them and any other that the fitment holds."""
    return [
        (tr("not stated"), ""),
        *((words.get(w, w), w) for w in dict.fromkeys([*words, given]) if w),
    ]


def _year(value: int | None) -> NumberField:
    return _open_number(NUMBER, value, least=1900.0, most=2200.0, whole=True)


def _count(value: int | None) -> NumberField:
    return _open_number(NUMBER, value, least=0.0, whole=True)


def _whole(field: NumberField) -> int | None:
    value = field.read()
    return None if value is None else int(value)


def _part(project: Project, kind: Kind[Any], value: str | None) -> ChoiceField[str | None]:
    options: list[tuple[str, str | None]] = [(tr("not known"), None), *((n, n) for n in kind.names(project))]
    return ChoiceField(options, value)


def _refuse_backwards(what: str, *values: float | None) -> None:
    known = [v for v in values if v is not None]
    if known != sorted(known):
        raise FieldError(
            tr(
                "{what}: {v} runs backwards; the smaller comes first.",
                what=what,
                v=", ".join(f"{v:g}" for v in known),
            )
        )
