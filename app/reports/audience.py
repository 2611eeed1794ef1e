"""Whom a report is for, and what of the project may then be in it at all.

A customer's copy is made from a project that no longer holds what it must not show: what is not there cannot
be printed, drawn or named in the file's metadata. What people typed into the rest is searched for the names
that were taken out.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, fields, is_dataclass, replace
from enum import Enum
from typing import TypeVar

from app.project.programme import SHIPPED_PROGRAMME
from app.project.project import Material, Project
from app.project.sheet import SHIPPED
from app.project.strength import SHIPPED_STRENGTH, STATED
from app.project.wheel import Wheel
from geometry.readings.conditions import Conditions
from geometry.readings.rules import RuleSet
from geometry.shape.blank import Blank
from geometry.shape.outline import QUESTIONS, Answer, NamedOutline, StayOut

Drawn = TypeVar("Drawn", Wheel, Blank, NamedOutline)


@dataclass(frozen=True)
class Audience:
    """Whom a report is for.

    Attributes:
        customer: the addressee, empty for a customer without a name; None for the house itself.
    """

    customer: str | None = None

    @property
    def is_customer(self) -> bool:
        """True for a copy that leaves the house."""
        return self.customer is not None

    def may_see(self, shape: StayOut) -> bool:
        """Return whether a shape may be shown: all to the house, its own and the house's to a customer."""
        owner = _folded(shape.owner)
        return self.customer is None or not owner or owner == _folded(self.customer)

    @property
    def words(self) -> str:
        """What stands at the head of the report."""
        if self.customer is None:
            return "Section report · internal copy"
        return f"Section report for {self.customer.strip()}" if self.customer.strip() else "Section report"


INTERNAL = Audience()


class NameShownError(ValueError):
    """A text of a customer's copy names what the copy must not show."""


def used_by(project: Project, wheel: Wheel) -> Project:
    """Return the part of a project that a wheel's reports rest on; their digest is that of this part."""
    return replace(
        project,
        # Strength has pages of its own, which rest on the whole project.
        wheels=(_as_drawn(replace(wheel, reference=None, made_from=None, why="", rating=STATED)),),
        blanks=_blanks_of(project, wheel),
        shapes=tuple(_shape_as_drawn(s) for s in project.shapes if s.name in wheel.clears),
        rule_sets=tuple(r for r in project.rule_sets if r.name == wheel.rules),
        conditions=tuple(c for c in project.conditions if c.name == wheel.conditions),
        materials=tuple(m for m in project.materials if m.name == wheel.material),
        fitments=(),
        trial_fits=tuple(
            t for t in project.trial_fits if t.wheel == wheel.name and t.shape in (None, *wheel.clears)
        ),
        strength=SHIPPED_STRENGTH,
        test_records=(),
        sheet=SHIPPED,
        programme=SHIPPED_PROGRAMME,
        presses=(),
        releases=(),
        notes={},
    )


def _blanks_of(project: Project, wheel: Wheel) -> tuple[Blank, ...]:
    """Return the wheel's blank and those that hold its measured outlines, no set that it varies."""
    own = next((b for b in project.blanks if b.name == wheel.blank), None)
    if own is None:
        return ()
    names = own.name, own.measured_least, own.measured_greatest
    return tuple(_as_drawn(replace(b, variant_of=None)) for b in project.blanks if b.name in names)


def _as_drawn(part: Drawn) -> Drawn:
    """Return a part without how its outline is driven and held: what it is stands in its vertices."""
    return replace(part, parameters=(), constraints=(), dimensions=())


def _shape_as_drawn(shape: StayOut) -> StayOut:
    if not any(o.parameters or o.constraints or o.dimensions for o in shape.outlines):
        return shape
    return replace(shape, outlines=tuple(_as_drawn(o) for o in shape.outlines))


def shown_to(project: Project, wheel: Wheel, audience: Audience) -> tuple[Project, Wheel]:
    """Return the project and the wheel as a report for this audience may know them.

    A customer's hold no blank, no stock rule, no reason of a rule, no shape of another owner, no other wheel,
    no fitment and no note; of the wheel's trial fits those on shapes that it shows, without who measured.

    Raises:
        NameShownError: a text that stays names something that was taken out, or nobody is named where shapes
            have owners.
    """
    if not audience.is_customer:
        return project, wheel
    part = used_by(project, wheel)
    owned = [f"'{s.name}' of {s.owner}" for s in part.shapes if s.owner.strip()]
    if owned and not _folded(audience.customer or ""):
        raise NameShownError(
            f"Name the customer (--customer NAME): the wheel must clear {', '.join(owned)}, which a copy for "
            "nobody in particular would leave out and not judge."
        )
    if owned and not _is_known(project, audience):
        raise NameShownError(
            f"Nobody called '{(audience.customer or '').strip()}' owns a shape or has a fitment here, and "
            f"the wheel must clear {', '.join(owned)}: was another name meant? Write it as it stands there, "
            "or enter a fitment of this customer."
        )
    shapes = tuple(_as_shown(s) for s in part.shapes if audience.may_see(s))
    names = {shape.name for shape in shapes}
    clears = tuple(name for name in wheel.clears if name in names or _is_absent(project, name))
    shown = replace(
        part.wheels[0], clears=clears, blank=None, seat_mm=0.0, sequence="", unlocked=None, notes={}
    )
    part = replace(
        part,
        wheels=(shown,),
        blanks=(),
        shapes=shapes,
        rule_sets=tuple(_without_reasons(r) for r in part.rule_sets),
        trial_fits=tuple(replace(t, by="", notes={}) for t in part.trial_fits if t.shape in names),
    )
    _check(project, part, audience)
    return part, shown


def _is_known(project: Project, audience: Audience) -> bool:
    """True for a customer whom the project names: a misspelt one would lose its own brake unseen."""
    names = {_folded(s.owner) for s in project.shapes} | {_folded(f.customer) for f in project.fitments}
    return _folded(audience.customer or "") in names


def _is_absent(project: Project, name: str) -> bool:
    """True for a shape that nobody has: the wheel then has a fault, which must not vanish."""
    return all(shape.name != name for shape in project.shapes)


def _as_shown(shape: StayOut) -> StayOut:
    """Return a shape without notes and without what tells where it came from but for its source in words.

    The file that an outline was read from is shown to its owner alone.
    """
    shape = replace(shape, notes={}, brake=replace(shape.brake, moved_from=""))
    if not shape.owner.strip():
        shape = shape.with_card(file_name="", file_sha256="", file_unit="", reader="")
        shape = _without_people(shape)
    return replace(shape, owner="")


def _without_people(shape: StayOut) -> StayOut:
    """Return the house's own shape without the names of those who checked it; that somebody did stays."""
    card = shape.card
    answers = {
        name: replace(value, by=_HOUSE if value.by.strip() else "")
        for name in QUESTIONS
        if isinstance(value := getattr(card, name), Answer)
    }
    checked = _HOUSE if card.datum_checked_by.strip() else ""
    extent = replace(shape.extent, confirmed_by=_HOUSE if shape.extent.confirmed_by.strip() else "")
    return replace(shape.with_card(datum_checked_by=checked, **answers), extent=extent)


def _without_reasons(rules: RuleSet) -> RuleSet:
    return replace(
        rules,
        gap=tuple(replace(rule, reason="") for rule in rules.gap),
        wall=tuple(replace(rule, reason="") for rule in rules.wall),
        stock=(),
    )


def _check(project: Project, part: Project, audience: Audience) -> None:
    """Raise where a text of what stays holds a name of what went, as words of its own."""
    own = {
        *_names_of_parts(part),
        *_names_of_addressee(project, audience),
        *(t.name for t in part.trial_fits),
    }
    others = {name for name in _all_names(project, audience) if name not in own}
    pattern, mask = _pattern(others), _pattern(own)
    parties = _pattern(_parties(project, audience) - _names_of_addressee(project, audience))
    for text in _texts(part):
        hit = None if pattern is None else pattern.search(text if mask is None else mask.sub(_MASK, text))
        # Whoever is not to be named stands in no name either.
        if hit is None and parties is not None:
            hit = parties.search(text)
        if hit is not None:
            raise NameShownError(
                f"The customer's copy would say '{hit.group(0)}', which is not this customer's to see: it "
                f"stands in '{text}'. Change that text, or rename what it names."
            )


#: Stands for whoever of the house checked something.
_HOUSE = "the wheel maker"

#: No name begins or ends in it, and it joins no words.
_MASK = " \0 "


def _parts(project: Project) -> Iterator[Wheel | Blank | StayOut | RuleSet | Conditions | Material]:
    yield from project.wheels
    yield from project.blanks
    yield from project.shapes
    yield from project.rule_sets
    yield from project.conditions
    yield from project.materials


def _names_of_parts(project: Project) -> set[str]:
    return {part.name for part in _parts(project)}


def _names_of_addressee(project: Project, audience: Audience) -> set[str]:
    """Return the addressee's name and those of the fitments that came from it."""
    customer = audience.customer or ""
    own = {f.name for f in project.fitments if customer.strip() and _folded(f.customer) == _folded(customer)}
    return own | {customer}


def _all_names(project: Project, audience: Audience) -> set[str]:
    """Return every name in a project, and what else tells whose a hidden shape is."""
    names = _names_of_parts(project)
    names |= {f.name for f in project.fitments} | {f.customer for f in project.fitments}
    names |= {t.name for t in project.trial_fits}
    names |= {quote.forge for blank in project.blanks for quote in blank.quotes}
    for shape in project.shapes:
        if _folded(shape.owner) != _folded(audience.customer or ""):
            names.add(shape.owner)
        if not audience.may_see(shape):
            names |= {shape.brake.family, shape.card.file_name}
    return names


def _parties(project: Project, audience: Audience) -> set[str]:
    """Return the names of other owners and customers, and of what is another owner's."""
    hidden = [shape for shape in project.shapes if not audience.may_see(shape)]
    names = {shape.owner for shape in hidden} | {shape.name for shape in hidden}
    return (
        names | {f.customer for f in project.fitments} | {q.forge for b in project.blanks for q in b.quotes}
    )


def _pattern(names: set[str]) -> re.Pattern[str] | None:
    """Return what finds any of the names as words of their own, the longest first; None without a name."""
    words = sorted({name.strip() for name in names if name.strip()}, key=lambda name: (-len(name), name))
    if not words:
        return None
    return re.compile(rf"(?<![^\W_])(?:{'|'.join(map(re.escape, words))})(?![^\W_])", re.IGNORECASE)


def _texts(value: object) -> Iterator[str]:
    """Yield every text that somebody typed, wherever it stands in a project."""
    if isinstance(value, str):
        if value and not isinstance(value, Enum):
            yield value
    elif is_dataclass(value) and not isinstance(value, type):
        for field in fields(value):
            yield from _texts(getattr(value, field.name))
    elif isinstance(value, tuple):
        for item in value:
            yield from _texts(item)


def _folded(name: str) -> str:
    return name.strip().casefold()
