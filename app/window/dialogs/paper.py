"""What goes on paper, and for whom: a customer's copy of the report, and the paper gauge."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from app.language import tr
from app.project.project import Project
from app.project.wheel import Wheel
from app.reports.audience import INTERNAL, Audience
from app.reports.gauge import BAR, LEAST_BAR, MOST_BAR, Correction, GaugeOf
from app.window.dialogs.form import Form, ProjectDialog
from app.window.dialogs.typed_fields import CheckField, ChoiceField, NumberField, TextField, length


class CustomerReportDialog(ProjectDialog):
    """Asks for the addressee of a customer's copy; changes nothing in the project."""

    def __init__(self, project: Project, wheel: Wheel, parent: QWidget | None = None) -> None:
        super().__init__(tr("Report for the customer"), project, parent)
        form = self.page(tr("For"))
        self.customer = form.add(
            tr("Customer"),
            TextField(_only_customer(project, wheel), hint=tr("as written at the shapes' owner")),
        )
        form.note(
            tr(
                "The copy holds no blank, no stock, no reasons of rules, no other wheel, and only "
                "shapes of the "
                "house and of this customer."
            )
        )
        self.resize(460, 190)

    def audience(self) -> Audience:
        """Return the addressee as typed."""
        return Audience(self.customer.read())

    def made(self) -> tuple[Project, str]:
        """Return the project as it is."""
        return self.project, ""


class PaperGaugeDialog(ProjectDialog):
    """Asks what a gauge shows, for whom, and what the bars of an uncorrected print measured."""

    def __init__(self, project: Project, wheel: Wheel, parent: QWidget | None = None) -> None:
        super().__init__(tr("Paper gauge"), project, parent)
        form = self.page(tr("Gauge"))
        options = [(tr("the brake, to hold against a wheel"), GaugeOf.BRAKE)]
        options.append((tr("the wheel's inside, to hold over a brake"), GaugeOf.WHEEL))
        self.of = form.add(tr("Cut out"), ChoiceField(options, GaugeOf.BRAKE))
        self._for_whom(form, _only_customer(project, wheel))
        form.head(tr("Bars of an uncorrected print measured"))
        bar = length("mm")
        self.level = form.add(tr("Level bar"), NumberField(bar, BAR, least=LEAST_BAR, most=MOST_BAR))
        self.upright = form.add(tr("Upright bar"), NumberField(bar, BAR, least=LEAST_BAR, most=MOST_BAR))
        form.note(
            tr(
                "Leave 100 for a first print. Print at 100 %; trust a gauge only if both bars measure "
                "100.00 mm."
            )
        )
        self.resize(max(480, form.sizeHint().width() + 60), 360)

    def _for_whom(self, form: Form, customer: str) -> None:
        self.outside = form.add("", CheckField(tr("for a customer: shapes of other owners are left out")))
        self.customer = form.add(tr("Customer"), TextField(customer))
        self.outside.edited.connect(lambda: form.show_field(self.customer, self.outside.read()))
        form.show_field(self.customer, False)

    def audience(self) -> Audience:
        """Return whom the gauge is for."""
        return Audience(self.customer.read()) if self.outside.read() else INTERNAL

    def correction(self) -> Correction:
        """Return the correction that the measured bars ask for; none where both are 100 mm."""
        return Correction.of_bars(self.level.number(), self.upright.number())

    def made(self) -> tuple[Project, str]:
        """Return the project as it is."""
        return self.project, ""


def _only_customer(project: Project, wheel: Wheel) -> str:
    """Return the one customer that the wheel's fitments and shapes name; nothing where there are several."""
    names = {f.customer.strip() for f in project.fitments if f.wheel == wheel.name}
    names |= {s.owner.strip() for s in project.shapes if s.name in wheel.clears}
    names.discard("")
    return names.pop() if len(names) == 1 else ""
