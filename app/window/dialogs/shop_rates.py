"""The shop's rates and prices: what chips, time and money are reckoned with."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from PySide6.QtWidgets import QWidget

from app.language import spoken, tr
from app.project.project import Project
from app.project.shop import LOG_PRICE, STARTING_VALUES, ShopRates
from app.project.steps_text import steps, written
from app.window.dialogs.form import Form, ProjectDialog
from app.window.dialogs.presses_page import PressesPage
from app.window.dialogs.typed_fields import NUMBER, PER_CENT, FieldError, NumberField, TextField
from geometry.errors import GeometryError

#: No spacer is thicker, mm.
MOST_SPACER_MM = 100.0

_CUTTING = (
    ("turning_cm3_min", tr("Turning, cm³ a minute")),
    ("milling_cm3_min", tr("Milling, cm³ a minute")),
    ("drilling_cm3_min", tr("Drilling, cm³ a minute")),
    ("energy_j_mm3", tr("Specific energy, J/mm³")),
    ("efficiency", tr("Efficiency of the machine")),
    ("setups", tr("Set-ups a wheel")),
    ("setup_min", tr("Minutes a set-up")),
    ("hour_price", tr("Price of an hour at the machine")),
)
_METAL = (
    ("log_price_kg", tr("Log, a kg")),
    ("loss", tr("Flash, scale and saw")),
    ("forging_price", tr("Forging, a piece")),
    ("treatment_price_kg", tr("Heat treatment, a kg")),
    ("bought_price", tr("Bought blank, in place of these")),
    ("chip_share", tr("Chips, share of the price below")),
    ("slug_share", tr("Solid scrap, share of it")),
    ("chip_price_kg", tr("That price, a kg")),
)
#: Kept as shares, shown in per cent.
_SHARES = ("efficiency", "loss", "chip_share", "slug_share")
_PERHAPS = ("bought_price", "chip_price_kg")


class ShopRatesDialog(ProjectDialog):
    """Edits the rates of a project; a field says below the pointer what its starting value rests on."""

    def __init__(self, project: Project, parent: QWidget | None = None) -> None:
        super().__init__(tr("Shop rates and prices"), project, parent)
        self.rates: dict[str, NumberField] = {}
        self._fill(self.page(tr("Cutting")), _CUTTING)
        metal = self.page(tr("Metal and chips"))
        self._fill(metal, _METAL)
        self.chip_price = metal.add(
            tr("Name of that price"),
            TextField(project.rates.chip_price_name, required=True),
            tr(
                "'{log_price}' takes the log's; any other name needs a price of its own.", log_price=LOG_PRICE
            ),
        )
        on_hand = self.page(tr("Spacers"))
        self.spacers = on_hand.add(
            tr("On hand, mm"),
            TextField(written(project.spacers_mm) if project.spacers_mm else "", hint="3, 5, 8"),
            tr("Only these are offered where a spacer would clear a brake."),
        )
        self.presses = PressesPage(self.page(tr("Presses")), project)
        words = project.currency or tr("the project's currency, which is not stated")
        metal.note(tr("Money in {words}. Dies stand with each blank.", words=words))
        self.resize(820, 480)

    def _fill(self, form: Form, rows: tuple[tuple[str, str], ...]) -> None:
        for name, words in rows:
            value = getattr(self.project.rates, name)
            share = name in _SHARES
            field = NumberField(
                PER_CENT if share else NUMBER,
                None if value is None else value * (100.0 if share else 1.0),
                optional=name in _PERHAPS,
                least=0.0,
                most=100.0 if share else None,
                whole=name == "setups",
            )
            source = STARTING_VALUES.get(name)
            self.rates[name] = form.add(
                words, field, tr("Starting value: {source}.", source=source) if source else ""
            )

    def made(self) -> tuple[Project, str]:
        """Return the project with other rates."""
        given: dict[str, Any] = {}
        for name, field in self.rates.items():
            value = field.read()
            given[name] = value / 100.0 if value is not None and name in _SHARES else value
        given["setups"] = int(given["setups"])
        rates = ShopRates(chip_price_name=self.chip_price.read(), **given)
        typed = self.spacers.read().strip()
        try:
            spacers = steps(typed, tr("Spacers")) if typed else ()
        except GeometryError as error:
            raise FieldError(spoken(str(error))) from None
        if not all(0.0 < t <= MOST_SPACER_MM for t in spacers):
            raise FieldError(
                tr(
                    "Spacers: '{typed}'; each is above 0 and {most_spacer_mm:g} mm at most.",
                    typed=typed,
                    most_spacer_mm=MOST_SPACER_MM,
                )
            )
        presses = self.presses.read()
        return (
            replace(self.project, rates=rates, spacers_mm=spacers, presses=presses),
            tr("Shop rates and prices"),
        )
