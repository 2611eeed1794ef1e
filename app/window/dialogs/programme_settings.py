"""Settings of the die programme: years and volumes, money, limits, holders, in one step; where it runs."""

from __future__ import annotations

import re
from dataclasses import replace
from importlib.util import find_spec

from PySide6.QtWidgets import QWidget

from app.language import tr
from app.project.programme import STARTING_VALUES, Holder, Programme, Volumes, YearMoney
from app.project.project import Project
from app.studies.executor import CORES, SERIAL
from app.window.dialogs.form import Form, ProjectDialog
from app.window.dialogs.rows_field import Column, RowsField
from app.window.dialogs.typed_fields import (
    NUMBER,
    PER_CENT,
    CheckField,
    ChoiceField,
    FieldError,
    NumberField,
    TextField,
)
from app.window.settings import Settings

_FIRST, _LAST = 1900.0, 2200.0
_CLUSTER = "cluster"
#: How the scheduler of a cluster is addressed.
_ADDRESS = re.compile(r"(tcp|tls|ws|wss)://[^\s/:]+:\d{1,5}")
NOT_INSTALLED = tr(
    "The optional part for clusters is not installed here: install blankwright[cluster], then start the "
    "program again; or choose all cores."
)


class ProgrammeDialog(ProjectDialog):
    """Edits the settings; a field says below the pointer what its starting value rests on.

    Where the computing runs is this user's, not the project's: it is kept in the window's settings.
    """

    def __init__(self, project: Project, settings: Settings, parent: QWidget | None = None) -> None:
        super().__init__(tr("Die programme settings"), project, parent)
        self.given, self._settings = project.programme, settings
        self._years(self.page(tr("Years and volumes")))
        self._money(self.page(tr("Money")))
        self._limits(self.page(tr("Limits")))
        self._holders(self.page(tr("Holders")))
        self._computing(self.page(tr("Computing")))
        self.resize(600, 460)

    def _years(self, form: Form) -> None:
        given = self.given
        self.first_year = form.add(
            tr("First year"),
            NumberField(
                NUMBER,
                given.first_year,
                optional=True,
                least=_FIRST,
                most=_LAST,
                whole=True,
                empty=tr("of the fitments"),
            ),
            tr(
                "Money is discounted to its start, and nothing can be had before it. Its start is today "
                "for lead "
                "times."
            ),
        )
        volumes = [(tr("low"), Volumes.LOW), (tr("likely"), Volumes.LIKELY), (tr("high"), Volumes.HIGH)]
        self.volumes = form.add(
            tr("Volumes"),
            ChoiceField(volumes, given.volumes),
            tr("Which of a fitment's three volumes counts."),
        )
        self.by_certainty = form.add(
            "",
            CheckField(tr("times the certainty of each fitment"), given.by_certainty),
            tr("A fitment of certainty 0.4 then counts with 0.4 of its wheels; one without any with none."),
        )
        self.may_refuse = form.add(
            "",
            CheckField(tr("want rows may be refused"), given.may_refuse),
            tr("Else every row must be served, and what nothing serves counts as a must row uncovered."),
        )

    def _money(self, form: Form) -> None:
        given = self.given
        self.rate = self._share(form, tr("Rate of discount, a year"), "rate", given.rate, most=99.9)
        form.head(tr("Payment of a die"))
        self.order = self._share(form, tr("At its order"), "order_share", given.order_share)
        self.tryout = self._share(form, tr("At tryout"), "tryout_share", given.tryout_share)
        form.note(tr("The rest is paid at release, in the year of first use."))
        form.head(tr("Pieces that a run or an order leaves over, of the piece price"))
        self.carrying = self._share(form, tr("Carried for a year"), "carrying_share", given.carrying_share)
        self.write_off = self._share(form, tr("Written off"), "write_off_share", given.write_off_share)
        words = self.project.currency or tr("the project's currency, which is not stated")
        form.note(
            tr(
                "Money in {words}. What dies cost stands with each blank, what hours cost in the shop rates.",
                words=words,
            )
        )

    @staticmethod
    def _share(form: Form, label: str, name: str, value: float, most: float = 100.0) -> NumberField:
        source = STARTING_VALUES.get(name)
        field = NumberField(PER_CENT, value * 100.0, least=0.0, most=most)
        return form.add(label, field, tr("Starting value: {source}.", source=source) if source else "")

    def _limits(self, form: Form) -> None:
        given = self.given
        self.most_dies = form.add(
            tr("Most own dies"),
            NumberField(NUMBER, given.most_dies, optional=True, least=0.0, whole=True, empty=tr("no limit")),
            tr("Sets of inserts; variants of a die are not counted."),
        )
        self.press_hours = form.add(
            tr("Press hours a year"),
            NumberField(NUMBER, given.press_hours, optional=True, least=0.0, empty=tr("no limit")),
        )
        form.head(tr("Most that may be paid once in a year"))
        columns = [
            Column(tr("year"), lambda v: NumberField(NUMBER, v, least=_FIRST, most=_LAST, whole=True)),
            Column(tr("money"), lambda v: NumberField(NUMBER, v, least=0.0), 2),
        ]
        self.budgets = RowsField(
            tr("year"), columns, [(b.year, b.money) for b in given.budgets], (None, None)
        )
        form.fields.append(self.budgets)
        form.row(self.budgets)
        form.note(tr("A year that is not named has no limit."))

    def _holders(self, form: Form) -> None:
        form.note(tr("Outer tools that the dies of one diameter stand in, paid once for all of them."))
        columns = [
            Column(tr("name"), lambda v: TextField(str(v), required=True), 3),
            Column(tr("price"), lambda v: NumberField(NUMBER, v, least=0.0), 2),
        ]
        rows = [(h.name, h.cost) for h in self.given.holders]
        self.holders = RowsField(tr("holder"), columns, rows, ("", None))
        form.fields.append(self.holders)
        form.row(self.holders)
        form.note(tr("A blank names its holder in its details."))

    def _computing(self, form: Form) -> None:
        now = self._settings.computing
        is_cluster = now not in (SERIAL, CORES)
        ways = [(tr("in this process"), SERIAL), (tr("on all cores"), CORES), (tr("on a cluster"), _CLUSTER)]
        self.where = form.add(
            tr("Coverage and risk run"),
            ChoiceField(ways, _CLUSTER if is_cluster else now),
            tr("The results are the same. All cores pay from about ten fitments on."),
        )
        self.address = form.add(
            tr("Address of its scheduler"),
            TextField(now if is_cluster else "", hint="tcp://127.0.0.1:8786"),
            tr("Of a running Dask scheduler whose workers have this program."),
        )
        self.remedy = form.note()
        form.note(tr("Kept for this user on this machine; it is no part of the project."))

        def show() -> None:
            is_chosen = self.where.read() == _CLUSTER
            form.show_field(self.address, is_chosen)
            lacks = is_chosen and not has_cluster()
            self.remedy.setText(NOT_INSTALLED if lacks else "")
            self.remedy.setVisible(lacks)

        self.where.edited.connect(show)
        show()

    def _chosen_computing(self) -> str:
        """Return where computing runs.

        Raises:
            FieldError: a cluster without an address or without the optional part for it.
        """
        where = self.where.read()
        if where != _CLUSTER:
            return where
        address = self.address.read()
        if not has_cluster():
            raise FieldError(NOT_INSTALLED)
        if not _ADDRESS.fullmatch(address):
            raise FieldError(tr("Computing: give the scheduler's address, as tcp://127.0.0.1:8786."))
        return address

    def made(self) -> tuple[Project, str]:
        """Return the project with other settings, and keep where the computing runs.

        Raises:
            ValueError: no cluster can be reached so, shares above the whole, a year or a holder twice, a
                holder that a blank still names.
        """
        first, most, where = self.first_year.read(), self.most_dies.read(), self._chosen_computing()
        settings = Programme(
            first_year=None if first is None else int(first),
            rate=self.rate.number() / 100.0,
            volumes=self.volumes.read(),
            by_certainty=self.by_certainty.read(),
            most_dies=None if most is None else int(most),
            budgets=tuple(YearMoney(int(year), money) for year, money in self.budgets.read()),
            press_hours=self.press_hours.read(),
            order_share=self.order.number() / 100.0,
            tryout_share=self.tryout.number() / 100.0,
            carrying_share=self.carrying.number() / 100.0,
            write_off_share=self.write_off.number() / 100.0,
            may_refuse=self.may_refuse.read(),
            holders=tuple(Holder(name, cost) for name, cost in self.holders.read()),
        )
        kept = {holder.name for holder in settings.holders}
        gone = {holder.name for holder in self.given.holders} - kept
        lost = next((b for b in self.project.blanks if b.holder in gone), None)
        if lost is not None:
            raise FieldError(
                tr(
                    "Blank '{name}' stands in the holder '{holder}': keep it, or mend the blank first.",
                    name=lost.name,
                    holder=lost.holder,
                )
            )
        # Before the project is handed on: whoever plans again does so there.
        self._settings.computing = where
        return replace(self.project, programme=settings), tr("Die programme settings")


def has_cluster() -> bool:
    """Return True where the optional part for clusters is installed."""
    return find_spec("distributed") is not None
