"""What a second blank gives up against a first one, in words."""

from __future__ import annotations

from app.project import edits
from app.project.project import Project
from app.reports.numbers import Numbers, unit_of
from app.studies.limits import InsetWindow
from app.studies.limits_against import Against
from geometry.shape.blank import Blank


def relied_words(project: Project, name: str) -> str:
    """Return what of a blank the stock is read to, or that nobody has said what may be missing of it."""
    blank: Blank = edits.find(project, edits.BLANK, name)
    if blank.tolerances or blank.measured_least is not None:
        return f"Stock is read to what can be relied on of {name}, its tolerances taken off."
    return f"No tolerance of {name} is stated: stock is read to its outline as if nothing could be missing."


def mass_words(project: Project, found: Against) -> str:
    """Return how much lighter or heavier the second blank is."""
    numbers = Numbers(unit_of(project))
    less = "lighter" if found.lighter_kg >= 0.0 else "heavier"
    names = f"{found.second.blank} against {found.first.blank}"
    both = all(min(side.first_mm, side.second_mm) >= 0.0 for side in found.sides)
    chips = "and as much in chips" if both else "and as much in chips where both hold the wheel"
    return f"{names}: {numbers.mass(abs(found.lighter_kg))} {less} blank, {chips}"


def held_seat_words(project: Project, found: Against) -> str:
    """Return where the drawn wheel sits in either blank when its sides are held against one another."""
    numbers = Numbers(unit_of(project))
    unit = "inch" if numbers.unit == "in" else numbers.unit
    said = [
        f"in {blank} {'as drawn' if is_drawn else 'at its best seat'} (its zero at z {numbers.length(seat)})"
        for blank, seat, is_drawn in zip(
            (found.first.blank, found.second.blank), found.seats_mm, found.as_drawn, strict=True
        )
    ]
    return f"the wheel sits {said[0]}, {said[1]}, {unit} from the mounting face"


def money_words(project: Project, found: Against) -> str:
    """Return how much cheaper or dearer a wheel from the second blank is, or what is missing to say so."""
    if found.cheaper is None:
        missing = [f"{money.blank}: {words}" for money in found.money for words in money.missing]
        return f"which is cheaper is not known ({'; '.join(missing)})"
    money = f" {project.currency}" if project.currency else ""
    word = "cheaper" if found.cheaper >= 0.0 else "dearer"
    least = {
        found.first.blank: min((side.first_mm for side in found.sides), default=0.0),
        found.second.blank: min((side.second_mm for side in found.sides), default=0.0),
    }
    short = [f"; {blank} does not hold the wheel as drawn" for blank, mm in least.items() if mm < 0.0]
    return (
        f"{found.second.blank}: {abs(found.cheaper):,.2f}{money} {word} a wheel at {_orders(found)}, "
        f"without proof, transport and coating{''.join(short)}"
    )


def _orders(found: Against) -> str:
    """Return the yearly order that prices hold for: one of both, or of each blank its own."""
    one, other = found.money
    if one.pieces == other.pieces:
        return f"{one.pieces} piece{'s' * (one.pieces != 1)} a year"
    return f"the least order of each blank ({one.blank} {one.pieces}, {other.blank} {other.pieces} a year)"


#: Said at the end of a window of insets that nothing closes: what was not looked at, and how it is.
LOWEST = "the lowest inset asked for: ask for lower ones"
HIGHEST = "the highest inset asked for: ask for higher ones"


def window_words(window: InsetWindow) -> str:
    """Return a window of insets and what closes it at either end, or that no inset beyond was asked for."""
    low, high = f"ET {window.low:.1f}", f"ET {window.high:.1f}"
    if low == high and not (window.closed_low_by or window.closed_high_by):
        return f"only {low} was asked for, and can be cut"
    below = f" ({window.closed_low_by})" if window.closed_low_by else f" ({LOWEST})"
    above = f" ({window.closed_high_by})" if window.closed_high_by else f" ({HIGHEST})"
    return f"from {low}{below} to {high}{above}"


def money_rows(found: Against) -> list[tuple[str, str, str, str]]:
    """Return the money of a wheel from both blanks as rows: line, first, second, how either comes about."""
    rows = []
    one, other = ({line.what: line for line in money.lines} for money in found.money)
    for what in dict.fromkeys([*one, *other]):
        lines = (one.get(what), other.get(what))
        texts = ["" if x is None else _money(x.money) for x in lines]
        names = (found.first.blank, found.second.blank)
        whys = [f"{name}: {x.why}" for name, x in zip(names, lines, strict=True) if x is not None and x.why]
        rows.append((what, texts[0], texts[1], "; ".join(whys)))
    total = [_money(money.total) for money in found.money]
    return [*rows, ("a wheel", total[0], total[1], "")]


def _money(value: float | None) -> str:
    return "not known" if value is None else f"{value:,.2f}"


def alone_words(found: Against) -> str:
    """Return how many cells can be cut from one of the two alone."""
    counts = ((found.first.blank, found.only_first), (found.second.blank, found.only_second))
    return "; ".join(
        f"cut from {blank} alone: {len(cells)} cell{'s' * (len(cells) != 1)}" for blank, cells in counts
    )
