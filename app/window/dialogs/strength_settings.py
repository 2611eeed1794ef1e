"""What the screening for strength rests on: cases, constants and their sources, factors, clamp, reference."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtWidgets import QWidget

from app.language import spoken, tr
from app.project import edits
from app.project.project import Project
from app.project.strength import CASES, TESTS, OwnConstant, StrengthSettings, TestPrice
from app.window.dialogs.form import ProjectDialog
from app.window.dialogs.typed_fields import (
    MM,
    NUMBER,
    CheckField,
    ChoiceField,
    FieldError,
    NumberField,
    length,
)
from geometry.strength.constants import CONSTANTS

_FACTORS = (
    ("surface", tr("Surface"), tr("Finish of the surface against that of polished specimens.")),
    ("size", tr("Size"), tr("A larger section holds less than a thin specimen.")),
    (
        "forging",
        tr("Direction of the grain"),
        tr("Across the grain of a forging less is held than along it."),
    ),
    ("temperature", tr("Temperature"), tr("Brake heat softens the metal near the hub and the spokes.")),
    ("coating", tr("Coating"), tr("Anodising and some coatings shorten life.")),
)
#: Constants that may be nought; every other one is above it.
_MAY_BE_NONE = ("p", "bead")
#: What the letters of the formulas stand for.
_SYMBOLS = {
    "S": tr("S, factor on the load"),
    "Sm": tr("Sm, factor on the load"),
    "mu": tr("mu, friction of tyre and road"),
    "theta0": tr("theta0, half of the contact arc, °"),
    "p": tr("p, inflation, MPa"),
    "bead": tr("bead on its seat, N/mm"),
    "mass factor": tr("mass factor on the wheel load"),
    "mass offset": tr("mass added, kg"),
    "drop": tr("free fall, mm"),
    "striker": tr("striker, kg"),
    "transfer": tr("transfer, share of the static load"),
}


class StrengthDialog(ProjectDialog):
    """Edits the settings; a constant without a number of the user's own is the shipped one."""

    def __init__(self, project: Project, wheel: str | None, parent: QWidget | None = None) -> None:
        super().__init__(tr("Strength settings"), project, parent)
        given = project.strength
        self._wheel = wheel
        self._in_use(given)
        self._constants(given)
        self._factors(given)
        self._holding(given)
        self._prices(given)
        self.resize(680, 560)

    def _in_use(self, given: StrengthSettings) -> None:
        form = self.page(tr("Cases"))
        form.note(tr("Load cases that a wheel is put to. What is left out is said in the study."))
        self.cases = {name: CheckField(spoken(name), name in given.cases) for name in CASES}
        for name, field in self.cases.items():
            field.name(spoken(name))
            form.fields.append(field)
            form.row(field)

    def _constants(self, given: StrengthSettings) -> None:
        form = self.page(tr("Constants"))
        form.note(tr("As shipped unless another number is typed; that is then marked as the user's own."))
        self.constants: dict[tuple[str, str], NumberField] = {}
        for case in CASES:
            own = given.own(case)
            if case in CONSTANTS:
                form.head(spoken(case))
            for symbol, shipped in CONSTANTS.get(case, {}).items():
                none = symbol in _MAY_BE_NONE
                field = NumberField(
                    NUMBER,
                    own.get(symbol),
                    optional=True,
                    least=0.0 if none else None,
                    above=None if none else 0.0,
                    empty=f"{shipped.value:g}",
                )
                self.constants[case, symbol] = form.add(
                    _SYMBOLS.get(symbol, symbol), field, spoken(shipped.source)
                )
                form.note(
                    tr(
                        "shipped {value:g}: {source} ({status})",
                        value=shipped.value,
                        source=shipped.source,
                        status=shipped.status,
                    )
                )

    def _factors(self, given: StrengthSettings) -> None:
        form = self.page(tr("Factors"))
        form.note(tr("On fatigue strength of plain specimens, above 0 and up to 1; 1 is 'not included'."))
        self.factors = {
            name: form.add(words, NumberField(NUMBER, getattr(given, name), above=0.0, most=1.0), tip)
            for name, words, tip in _FACTORS
        }

    def _holding(self, given: StrengthSettings) -> None:
        form = self.page(tr("Clamp, dent, reference"))
        self.flange = form.add(
            tr("Rotating bending holds"),
            ChoiceField(
                [(tr("the inner flange (usual)"), False), (tr("the outer flange"), True)], given.outer_flange
            ),
            tr("The clamped lip is hardly loaded: a low stress there is not strength."),
        )
        unit = self.project.display_unit
        self.dent = form.add(
            tr("Dent of the lips' plastic estimate"),
            NumberField(length(unit) if unit == "in" else MM, given.dent_mm, above=0.0),
        )
        self.reference: ChoiceField[str | None] | None = None
        others = [w.name for w in self.project.wheels if w.name != self._wheel]
        if self._wheel is None:
            form.note(tr("No wheel is shown: a reference belongs to a wheel."))
            return
        wheel = edits.find(self.project, edits.WHEEL, self._wheel)
        options: list[tuple[str, str | None]] = [(tr("(none)"), None), *((name, name) for name in others)]
        self.reference = form.add(
            tr("Reference of {wheel}", wheel=self._wheel),
            ChoiceField(options, wheel.reference),
            tr("A wheel whose tests are known; figures then stand beside its own as ratios."),
        )

    def _prices(self, given: StrengthSettings) -> None:
        form = self.page(tr("Prices"))
        money = tr(", in {currency}", currency=self.project.currency) if self.project.currency else ""
        form.note(
            tr(
                "What one sample's test costs{money}, for the list of tests; empty where it is not known.",
                money=money,
            )
        )
        there = {p.case: p.price for p in given.prices}
        self.prices = {
            case: form.add(spoken(case), NumberField(NUMBER, there.get(case), optional=True, least=0.0))
            for case in TESTS
        }

    def made(self) -> tuple[Project, str]:
        """Return the project with other settings, and the shown wheel with its reference."""
        cases = tuple(name for name in CASES if self.cases[name].read())
        if not cases:
            raise FieldError(tr("No load case is in use: tick at least one under Cases."))
        own = []
        for (case, symbol), field in self.constants.items():
            value = field.read()
            if value is not None:
                own.append(OwnConstant(case, symbol, value))
        prices = ((case, field.read()) for case, field in self.prices.items())
        factors = {name: field.number() for name, field in self.factors.items()}
        strength = replace(
            replace(self.project.strength, **factors),  # type: ignore[arg-type]
            cases=cases,
            constants=tuple(own),
            outer_flange=self.flange.read(),
            dent_mm=self.dent.number(),
            prices=tuple(TestPrice(case, price) for case, price in prices if price is not None),
        )
        project = replace(self.project, strength=strength)
        if self.reference is not None and self._wheel is not None:
            wheel = edits.find(project, edits.WHEEL, self._wheel)
            if wheel.reference != self.reference.read():
                changed = replace(wheel, reference=self.reference.read())
                project = edits.replaced(project, edits.WHEEL, wheel.name, changed)
        return project, tr("Strength settings")
