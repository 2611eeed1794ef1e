"""What a blank is beside its outline: where it comes from, what it may differ by, what it costs."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import fields, replace
from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QPushButton, QWidget

from app.language import spoken, tr
from app.project import edits
from app.project.project import Project
from app.studies.usable_blank import drawn_path
from app.window.dialogs.blank_quotes import save_quotes
from app.window.dialogs.blank_spinning import SpinningPage
from app.window.dialogs.blank_tools import ToolsPage
from app.window.dialogs.form import Form, ProjectDialog
from app.window.dialogs.rows_field import Column, RowsField
from app.window.dialogs.typed_fields import (
    NUMBER,
    ChoiceField,
    DateField,
    Field,
    FieldError,
    NumberField,
    TextField,
    length,
    plain,
)
from geometry.errors import GeometryError
from geometry.forging.starting import starting_tolerances
from geometry.readings.solid import volume_mm3
from geometry.shape.blank import BlankState, Cause, PriceStep, Quote, Supply, Tolerance

_KG_PER_MM3 = 2712.6e-9
_DIRECTIONS = tr(
    "Minus: metal that may be missing; it is taken off what can be cut, by its own direction. Plus: metal "
    "that may be surplus; it adds mass and chips and takes nothing off."
)
_VARIANT = tr(
    "What one set of tools allows (charge mass: height of the ring; closing height: thickness of the disc; "
    "inserts: bore or dish) is the forge's answer. It stands on the page Tools of the blank with the dies."
)
_CHANGED = tr("Quote, holder or variant changed since it was taken over: take it over again.")


class BlankDialog(ProjectDialog):
    """Edits the details of one blank; its outline is edited on the drawing."""

    def __init__(self, project: Project, name: str, parent: QWidget | None = None) -> None:
        super().__init__(tr("Blank: {name}", name=name), project, parent)
        self.blank = edits.find(project, edits.BLANK, name)
        self._general(self.page(tr("Blank")))
        self._tolerances(self.page(tr("Tolerances")))
        money = self.page(tr("Price and dies"))
        self._money(money)
        self._tools(money)
        self._runs(money)
        self.spinning = SpinningPage(self.page(tr("Spinning")), project, self.blank, self._currency())
        self.spinning.follow(self.supply)
        self.tools = ToolsPage(self.page(tr("Tools")), project, self.blank)
        self._quotes(self.page(tr("Quotes")))
        self.resize(900, 600)

    def _general(self, form: Form) -> None:
        blank, kind = self.blank, length(self.project.display_unit)
        self.name = form.add(tr("Name"), TextField(blank.name, required=True))
        self.supply = form.add(tr("Supply"), ChoiceField([(spoken(s), s) for s in Supply], blank.supply))
        self.state = form.add(tr("State"), ChoiceField([(spoken(s), s) for s in BlankState], blank.state))
        self.skin = form.add(
            tr("Skin to come off"),
            NumberField(kind, blank.skin_mm, least=0.0),
            tr("Depth of as-forged skin that must come off everywhere; it is taken off the stock."),
        )
        self.parting = form.add(
            tr("Parting line, z"),
            NumberField(kind, blank.parting_mm, optional=True),
            tr(
                "Where the dies meet on the outside wall, in the blank's own frame. Without it the "
                "flash may be "
                "anywhere along that wall."
            ),
        )
        self.source = form.add(
            tr("Source"), TextField(blank.source, hint=tr("whose drawing, which revision"))
        )

    def _tolerances(self, form: Form) -> None:
        kind = length(self.project.display_unit)
        form.note(_DIRECTIONS)
        columns = (
            Column(tr("Cause"), lambda v: ChoiceField([(spoken(c), c) for c in Cause], v), 3),
            Column(tr("Minus"), lambda v: NumberField(kind, v, least=0.0), 2),
            Column(tr("Plus"), lambda v: NumberField(kind, v, least=0.0), 2),
            Column(tr("Source"), lambda v: TextField(v, hint=tr("whose value")), 4),
        )
        rows = [(t.cause, t.minus_mm, t.plus_mm, t.source) for t in self.blank.tolerances]
        self.tolerances = RowsField(tr("tolerance"), columns, rows, (Cause.CLOSURE, 0.0, 0.0, ""))
        form.fields.append(self.tolerances)
        form.row(self.tolerances)
        self.start = QPushButton(tr("&Starting values"))
        self.start.setAutoDefault(False)
        self.start.setToolTip(
            tr("Fill in every cause with a starting value by area and mass, with its source.")
        )
        self.start.clicked.connect(self._fill)
        form.row(self.start)
        others = self._others()
        form.head(tr("Measured on forgings"))
        self.least = form.add(
            tr("Least outline"),
            ChoiceField[str | None](others, self.blank.measured_least),
            tr(
                "A blank of this project that holds the least outline measured: it stands in place of the "
                "forging's own minus sides."
            ),
        )
        greatest = ChoiceField[str | None](others, self.blank.measured_greatest)
        self.greatest = form.add(tr("Greatest outline"), greatest)
        pieces = NumberField(NUMBER, self.blank.measured_pieces, optional=True, least=1.0, whole=True)
        self.pieces = form.add(tr("Forgings measured"), pieces)

    def _others(self) -> list[tuple[str, str | None]]:
        return [
            (tr("(none)"), None),
            *((b.name, b.name) for b in self.project.blanks if b.name != self.blank.name),
        ]

    def _money(self, form: Form) -> None:
        blank = self.blank
        form.note(self._currency())
        self.price = form.add(
            tr("Price a piece"),
            _amount(blank.price),
            tr(
                "Of a bought blank, or of a piece from own dies without the dies; of a spun one without "
                "spinning, where the page Spinning says what that costs."
            ),
        )
        columns = (
            Column(tr("From pieces a year"), lambda v: NumberField(NUMBER, v, least=1.0, whole=True), 1),
            Column(tr("Price a piece"), lambda v: NumberField(NUMBER, v, least=0.0), 1),
        )
        steps = [(step.pieces, step.price) for step in blank.price_steps]
        self.steps = RowsField(tr("price step"), columns, steps, (None, None))
        tip = tr("By yearly order, pieces rising; below the first step the price above holds.")
        form.add(tr("Price steps"), self.steps, tip)
        self.order = form.add(tr("Least order"), _amount(blank.least_order, whole=True))
        self.lead = form.add(tr("Lead time, weeks"), _amount(blank.lead_weeks))
        self.slug = form.add(
            tr("Slug pierced out, kg"),
            _amount(blank.slug_kg),
            tr(
                "Of an own blank whose outline is drawn pierced: the log holds it; it is kept as solid scrap."
            ),
        )

    def _tools(self, form: Form) -> None:
        blank = self.blank
        form.head(tr("Dies"))
        holders = [(f"{h.name}, {plain(h.cost)}", h.name) for h in self.project.programme.holders]
        self.holder = form.add(
            tr("Holder"),
            ChoiceField[str | None]([(tr("(none)"), None), *holders], blank.holder),
            tr(
                "Outer tools that the blanks of one diameter share, paid once. Holders and their prices are "
                "added in the programme's settings."
            ),
        )
        self.variant = form.add(
            tr("Variant of"),
            ChoiceField[str | None](self._others(), blank.variant_of),
            tr("The blank whose tools also yield this one; its dies are not paid again."),
        )
        form.note(_VARIANT)
        self.dies = form.add(
            tr("Price of the dies"),
            _amount(blank.die_cost),
            tr(
                "Without a holder the whole set; with one this blank's inserts; of a variant only what "
                "it needs "
                "beside the other blank's tools. A mandrel has its own price on the page Spinning."
            ),
        )
        self.shared = form.add(
            tr("Shared by, wheels"),
            NumberField(NUMBER, blank.die_shared_by, optional=True, least=1.0, whole=True),
            tr("The rule by which a wheel carries its share of the dies."),
        )
        self.proof = form.add(
            tr("Tryout and proof"), _amount(blank.proof_cost), tr("First forgings and proof tests.")
        )

    def _runs(self, form: Form) -> None:
        blank = self.blank
        form.head(tr("Forging runs"))
        self.run_setup = form.add(
            tr("Set-up of a run"),
            _amount(blank.run_setup),
            tr("Price of each run: the dies changed and heated."),
        )
        self.least_run = form.add(tr("Least run, pieces"), _amount(blank.least_run, whole=True))
        hour = NumberField(NUMBER, blank.pieces_hour, optional=True, above=0.0)
        self.pieces_hour = form.add(tr("Pieces an hour"), hour, tr("Of the press, without set-up."))
        self.setup_hours = form.add(
            tr("Set-up, hours"), _amount(blank.setup_hours), tr("Of the press, for a run.")
        )

    def _quotes(self, form: Form) -> None:
        form.note(
            tr(
                "What each forge offered; a cell is empty where it said nothing. {currency}",
                currency=self._currency(),
            )
        )
        columns = (
            Column(tr("Forge"), lambda v: _shown_whole(TextField(v, required=True)), 4),
            Column(tr("On"), DateField, 3),
            Column(tr("Holder"), _quoted, 2),
            Column(tr("Inserts"), _quoted, 2),
            Column(tr("Piece"), _quoted, 2),
            Column(tr("Run set-up"), _quoted, 2),
            Column(tr("Least run"), lambda v: _quoted(v, whole=True), 2),
            Column(tr("Lead, weeks"), _quoted, 2),
            Column(tr("Payment"), lambda v: _shown_whole(TextField(v, hint=tr("steps"))), 6),
        )
        rows = [_cells(quote) for quote in self.blank.quotes]
        self.quotes = RowsField(tr("quote"), columns, rows, _cells(Quote("")))
        form.fields.append(self.quotes)
        form.row(self.quotes)
        self.save_quotes = QPushButton(tr("&Save as a table..."))
        self.save_quotes.setAutoDefault(False)
        self.save_quotes.clicked.connect(self._save_quotes)
        form.row(self.save_quotes)
        form.head(tr("Take over"))
        self.chosen = form.add(tr("Chosen quote"), ChoiceField[Field | None]([(tr("(none)"), None)], None))
        self.take = QPushButton(tr("&Take over the chosen quote"))
        self.take.setAutoDefault(False)
        self.take.setToolTip(tr("Fill price, dies, run and lead time of the page before; OK keeps them."))
        self.take.clicked.connect(self._take)
        form.row(self.take)
        self.taken = QLabel()
        self.taken.setWordWrap(True)
        self.taken.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        form.row(self.taken)
        self._offer()
        if len(self.quotes.cells) == 1:
            self.chosen.choose(self.quotes.cells[0][0])
        self.quotes.edited.connect(self._offer)
        for field in (self.quotes, self.chosen, self.holder, self.variant):
            field.edited.connect(self._changed)

    def _save_quotes(self) -> None:
        """Write the quotes as they stand in the table."""
        if not self.quotes.check():
            self.taken.setText(tr("A quote has a cell that cannot be read: mend it first."))
            return
        quotes = [_quote(row) for row in self.quotes.read()]
        self.taken.setText(save_quotes(self, self.blank.name, quotes, self.project.currency))

    def _currency(self) -> str:
        words = self.project.currency or tr("the project's currency, which is not stated")
        return tr("Money in {words}.", words=words)

    def _offer(self) -> None:
        """Offer the quotes as the table has them now; a quote that was removed is no longer chosen."""
        rows: list[tuple[str, Field | None]] = [(tr("(none)"), None)]
        for k, cells in enumerate(self.quotes.cells):
            words = [c.line.text().strip() for c in cells[:2] if isinstance(c, TextField)]
            rows.append((", ".join(w for w in words if w) or tr("quote {k}", k=k + 1), cells[0]))
        now = self.chosen.read()
        self.chosen.offer(rows, next((field for _, field in rows if field is now), None))

    def _changed(self) -> None:
        if self.taken.text():
            self.taken.setText(_CHANGED)

    def _take(self) -> None:
        """Fill the page before from the chosen quote, and say what was filled and what was not."""
        chosen = self.chosen.read()
        row = next((cells for cells in self.quotes.cells if cells[0] is chosen), None)
        if row is None:
            self.taken.setText(tr("No quote is chosen: choose one above."))
            return
        wrong = [cell for cell in row if not cell.check()]
        if wrong:
            self.taken.setText(tr("The chosen quote has a cell that cannot be read: mend it first."))
            return
        quote = _quote([cell.read() for cell in row])
        dies, why = self._dies_of(quote)
        given = (
            (tr("price a piece"), self.price, quote.piece),
            (tr("price of the dies"), self.dies, dies),
            (tr("set-up of a run"), self.run_setup, quote.run_setup),
            (tr("least run"), self.least_run, quote.least_run),
            (tr("lead time"), self.lead, quote.lead_weeks),
        )
        for _, field, value in given:
            if value is not None:
                field.put(value)
        filled = [f"{words} {plain(value, 4)}" for words, _, value in given if value is not None]
        left = [words for words, _, value in given if value is None]
        left += [tr("price steps")] if self.steps.cells else []
        left += [tr("least order")] if self.order.read() is not None else []
        said = [tr("Filled on the page Price and dies: {filled}.", filled=", ".join(filled) or tr("nothing"))]
        said += [tr("Not in the quote, left as it was: {left}.", left=", ".join(left))] if left else []
        self.taken.setText(" ".join([*said, *why, tr("Nothing is written before OK.")]))

    def _dies_of(self, quote: Quote) -> tuple[float | None, list[str]]:
        """Return the price of this blank's dies by a quote, None where it cannot be told, and how it came."""
        if self.variant.read() is not None:
            return quote.inserts, [tr("Of a variant the inserts alone are the price of the dies.")]
        holder = next((h for h in self.project.programme.holders if h.name == self.holder.read()), None)
        if self.holder.read() is not None:
            words = tr(
                "The dies are the inserts alone; the holder's price stands in the programme's settings"
            )
            asked = (
                "" if quote.holder is None else tr(", the quote asks {plain}", plain=plain(quote.holder, 4))
            )
            return quote.inserts, [f"{words}{f' ({plain(holder.cost, 4)})' if holder else ''}{asked}."]
        if quote.holder is None:
            return quote.inserts, [tr("The quote names no holder: the dies are the inserts alone.")]
        if quote.inserts is None:
            return None, [tr("The quote names a holder without inserts: that is no price of the dies.")]
        return quote.holder + quote.inserts, [
            tr("Without a holder of the programme the dies are both together.")
        ]

    def _fill(self) -> None:
        """Put a starting value for every cause into the table."""
        try:
            path = drawn_path(self.blank)
        except GeometryError as error:
            self.say(tr("The outline has a fault, so there is no area to go by: {error}", error=error))
            return
        found = starting_tolerances(path, volume_mm3(path) * _KG_PER_MM3)
        self.tolerances.put([(t.cause, t.minus_mm, t.plus_mm, t.source) for t in found])
        self.tolerances.edited.emit()

    def made(self) -> tuple[Project, str]:
        """Return the project with the blank's details changed."""
        tolerances = tuple(Tolerance(*_row(row)) for row in self.tolerances.read())
        causes = [t.cause for t in tolerances]
        twice = next((c for c in causes if causes.count(c) > 1), None)
        if twice is not None:
            raise FieldError(tr("'{twice}' stands twice among the tolerances; keep one.", twice=twice))
        blank = replace(
            self.blank,
            name=self.name.read(),
            supply=self.supply.read(),
            state=self.state.read(),
            skin_mm=self.skin.number(),
            source=self.source.read(),
            parting_mm=self.parting.read(),
            tolerances=tolerances,
            measured_least=self.least.read(),
            measured_greatest=self.greatest.read(),
            measured_pieces=_whole(self.pieces),
            price=self.price.read(),
            least_order=_whole(self.order),
            lead_weeks=self.lead.read(),
            slug_kg=self.slug.read(),
            die_cost=self.dies.read(),
            die_shared_by=_whole(self.shared),
            holder=self.holder.read(),
            variant_of=self._variant(),
            proof_cost=self.proof.read(),
            run_setup=self.run_setup.read(),
            least_run=_whole(self.least_run),
            pieces_hour=self.pieces_hour.read(),
            setup_hours=self.setup_hours.read(),
            price_steps=self._price_steps(),
            quotes=tuple(_quote(row) for row in self.quotes.read()),
            spun=self.spinning.read(self.supply.read()),
            tools=self.tools.read(),
        )
        return edits.replaced(self.project, edits.BLANK, self.blank.name, blank), tr(
            "Blank {name}", name=blank.name
        )

    def _variant(self) -> str | None:
        """Return the blank whose tools are used.

        Raises:
            FieldError: its own tools are this blank's, over however many blanks.
        """
        chosen = at = self.variant.read()
        tools = {b.name: b.variant_of for b in self.project.blanks}
        for _ in tools:
            if at == self.blank.name:
                raise FieldError(
                    tr(
                        "'{chosen}' is itself forged with the tools of '{at}': one of them must have "
                        "its own dies. Choose another blank under 'Variant of', or none.",
                        chosen=chosen,
                        at=at,
                    )
                )
            at = tools.get(at) if at is not None else None
        return chosen

    def _price_steps(self) -> tuple[PriceStep, ...]:
        """Return the price steps.

        Raises:
            FieldError: their pieces do not rise.
        """
        steps = tuple(PriceStep(int(pieces), float(price)) for pieces, price in self.steps.read())
        for before, after in itertools.pairwise(steps):
            if after.pieces <= before.pieces:
                raise FieldError(
                    tr(
                        "Price steps: {pieces} pieces stand after {pieces_2}; put them in rising "
                        "order, each once.",
                        pieces=after.pieces,
                        pieces_2=before.pieces,
                    )
                )
        return steps


def _amount(value: float | None, *, whole: bool = False) -> NumberField:
    return NumberField(NUMBER, value, optional=True, least=0.0, whole=whole)


def _quoted(value: float | None, *, whole: bool = False) -> NumberField:
    return NumberField(NUMBER, value, optional=True, least=0.0, whole=whole, empty="")


def _shown_whole(field: TextField) -> TextField:
    """Return a field that shows its words under the pointer: they may be longer than their column."""
    field.line.setToolTip(field.line.text())
    field.line.textChanged.connect(field.line.setToolTip)
    return field


def _cells(quote: Quote) -> tuple[Any, ...]:
    """Return the values of a quote in the order of the table, which is the order of its fields."""
    return tuple(getattr(quote, f.name) for f in fields(Quote))


def _quote(row: Sequence[Any]) -> Quote:
    quote = Quote(*row)
    return replace(quote, least_run=None if quote.least_run is None else int(quote.least_run))


def _row(row: list[Any]) -> tuple[Cause, float, float, str]:
    cause, minus, plus, source = row
    return cause, float(minus), float(plus), source


def _whole(field: NumberField) -> int | None:
    value = field.read()
    return None if value is None else int(value)
