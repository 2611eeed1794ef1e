"""A rule set: what gap, wall and stock must be, by kind of shape and zone, each with reserve and reason."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

from PySide6.QtWidgets import QWidget

from app.language import spoken, tr
from app.project import edits
from app.project.demo import rule_sets
from app.project.project import Project
from app.window.dialogs.form import Form, ProjectDialog
from app.window.dialogs.rows_field import Column, RowsField
from app.window.dialogs.typed_fields import (
    CheckField,
    ChoiceField,
    Field,
    FieldError,
    NumberField,
    TextField,
    length,
)
from geometry.readings.rules import GapRule, RuleSet, StockRule, WallRule
from geometry.shape.outline import ShapeKind
from geometry.shape.section import Zone

_ZONES: list[tuple[str, Zone]] = [(spoken(zone), zone) for zone in Zone]
#: What of the wheel a gap rule is for.
_RINGS = [(tr("the skin"), False), (tr("ring bodies"), True)]
_ANY_ZONE: list[tuple[str, Zone | None]] = [(tr("any zone"), None), *_ZONES]
_ANY_KIND: list[tuple[str, ShapeKind | None]] = [
    (tr("any shape"), None),
    *((spoken(k), k) for k in ShapeKind),
]


class RuleSetDialog(ProjectDialog):
    """Edits a rule set; where no name is given, makes one, starting from a shipped set or one of the project.

    The first change of a rule raises a revision that is a number and takes the mark 'starting values' off;
    both can be set otherwise before OK.
    """

    def __init__(
        self,
        project: Project,
        name: str | None = None,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(tr("Rule set: {name}", name=name) if name else tr("New rule set"), project, parent)
        self.old = name
        if name is not None:
            self.rules = edits.find(project, edits.RULE_SET, name)
        else:
            self.rules = self._named_freely(rule_sets()[0])
        self._length = length(project.display_unit)
        self._general(self.page(tr("Rule set")))
        self.gap = self._rows(
            tr("Gap"), tr("gap rule"), self._gap_columns(), (None, None, False, None, None, 0.5, "")
        )
        self.wall = self._rows(
            tr("Wall"), tr("wall rule"), self._columns(_ZONES), (Zone.BARREL, None, 0.5, "")
        )
        self.stock = self._rows(
            tr("Stock"), tr("stock rule"), self._columns(_ANY_ZONE), (None, None, 0.5, "")
        )
        self._put_rows()
        for field in (self.gap, self.wall, self.stock, self.seat_land):
            field.edited.connect(self._touched)
        self.resize(900, 560)

    def _general(self, form: Form) -> None:
        rules = self.rules
        if self.old is None:
            shipped = [(tr("{name} (shipped)", name=r.name), r) for r in rule_sets()]
            own = [(r.name, r) for r in self.project.rule_sets]
            self.start = form.add(tr("Start from"), ChoiceField([*shipped, *own], shipped[0][1]))
            self.start.edited.connect(self._start_anew)
        self.name = form.add(tr("Name"), TextField(rules.name, required=True))
        self.revision = form.add(tr("Revision"), TextField(rules.revision, required=True))
        self.starting = form.add(
            "", CheckField(tr("starting values, not yet our own"), rules.starting_values)
        )
        self.seat_land = form.add(
            tr("Least seat land"),
            NumberField(self._length, rules.seat_land_mm, optional=True, least=0.0, empty=tr("no rule")),
            tr("Metal between bolt seat and mounting face."),
        )
        form.note(
            tr(
                "A gap rule has two parts: on paper (nominal parts at rest, new brake pads), and what must "
                "remain in the worst state. The rule that fits best counts: shape and zone, then shape, then "
                "zone, then any. What is met by less than the reserve reads 'tight'."
            )
        )

    def _rows(
        self,
        title: str,
        what: str,
        columns: Sequence[Column],
        blank: Sequence[Any],
    ) -> RowsField:
        form = self.page(title)
        field = RowsField(what, columns, (), blank)
        form.fields.append(field)
        form.row(field)
        return field

    def _named_freely(self, rules: RuleSet) -> RuleSet:
        return replace(rules, name=edits.free_name(self.project, edits.RULE_SET, rules.name))

    def _put_rows(self) -> None:
        rules = self.rules
        self.gap.put(
            [(g.kind, g.zone, g.rings, g.paper_mm, g.worst_mm, g.reserve_mm, g.reason) for g in rules.gap]
        )
        self.wall.put([(w.zone, w.required_mm, w.reserve_mm, w.reason) for w in rules.wall])
        self.stock.put([(s.zone, s.required_mm, s.reserve_mm, s.reason) for s in rules.stock])

    def _start_anew(self) -> None:
        """Show the numbers of the set chosen to start from."""
        self.rules = self._named_freely(self.start.read())
        self.name.put(self.rules.name)
        self.starting.box.setChecked(self.rules.starting_values)
        self.seat_land.put(self.rules.seat_land_mm)
        self._put_rows()

    def _number(self) -> Callable[[Any], Field]:
        return lambda value: NumberField(self._length, value, least=0.0)

    def _columns(self, zones: Sequence[tuple[str, Any]]) -> list[Column]:
        return [
            Column(tr("zone"), lambda value: ChoiceField(zones, value), 2),
            Column(tr("required"), self._number(), 2),
            Column(tr("reserve"), self._number(), 2),
            Column(tr("reason"), _words, 4),
        ]

    def _gap_columns(self) -> list[Column]:
        return [
            Column(tr("shape"), lambda value: ChoiceField(_ANY_KIND, value), 2),
            Column(tr("zone"), lambda value: ChoiceField(_ANY_ZONE, value), 2),
            Column(tr("to"), lambda value: ChoiceField(_RINGS, value), 2),
            Column(tr("on paper"), self._number(), 2),
            Column(tr("worst state"), self._number(), 2),
            Column(tr("reserve"), self._number(), 2),
            Column(tr("reason"), _words, 4),
        ]

    def _touched(self) -> None:
        """The numbers are no longer the shipped ones, and no longer those of the old revision."""
        self.starting.box.setChecked(False)
        if (
            self.old is not None
            and self.revision.line.text() == self.rules.revision
            and self.rules.revision.isdigit()
        ):
            self.revision.put(str(int(self.rules.revision) + 1))

    def made(self) -> tuple[Project, str]:
        """Return the project with the rule set.

        Raises:
            FieldError: two rules say something about the same shape and zone.
        """
        gap = tuple(
            GapRule(paper, worst, reserve, kind, zone, why, rings)
            for kind, zone, rings, paper, worst, reserve, why in self.gap.read()
        )
        wall = tuple(WallRule(*row) for row in self.wall.read())
        stock = tuple(
            StockRule(required, reserve, zone, why) for zone, required, reserve, why in self.stock.read()
        )
        _refuse_twice(
            tr("gap"),
            [
                f"{spoken(g.kind or 'any shape')}, "
                f"{spoken(g.zone or 'any zone')}{tr(', ring bodies') * g.rings}"
                for g in gap
            ],
        )
        _refuse_twice(tr("wall"), [str(w.zone) for w in wall])
        _refuse_twice(tr("stock"), [str(s.zone or tr("any zone")) for s in stock])
        rules = RuleSet(
            self.name.read(),
            self.revision.read(),
            self.starting.read(),
            gap,
            wall,
            stock,
            self.seat_land.read(),
        )
        if self.old is None:
            return edits.add(self.project, edits.RULE_SET, rules), tr("New rule set {name}", name=rules.name)
        return edits.replaced(self.project, edits.RULE_SET, self.old, rules), tr(
            "Rule set {name}", name=rules.name
        )


def _words(value: Any) -> Field:
    return TextField(str(value), hint=tr("why"))


def _refuse_twice(what: str, keys: list[str]) -> None:
    twice = next((key for k, key in enumerate(keys) if key in keys[:k]), None)
    if twice is not None:
        raise FieldError(
            tr("There are two {what} rules for {twice}: remove one of them.", what=what, twice=twice)
        )
