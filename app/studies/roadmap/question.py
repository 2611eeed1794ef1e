"""The roadmap put to the die programme: fitments as rows, blanks as options, what lacks something listed."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from app.project.programme import Volumes
from app.project.project import Fitment, Project
from app.studies.programme import inputs
from app.studies.programme.inputs import Kind, Limits, Mode, Option, Payment, Question, Row
from app.studies.roadmap.coverage import Coverage, CoverRow
from app.studies.roadmap.own_part import COVERED
from geometry.shape.blank import Blank, BlankState, Supply

#: Lead times under half a year still serve the year of the order.
WEEKS_A_YEAR, SAME_YEAR = 52.0, 0.5
#: Dies in these states are paid for.
THERE = (BlankState.ORDERED, BlankState.TRIED_OUT, BlankState.PROVED)
_KINDS = {
    Supply.OWN: Kind.OWN_DIE,
    Supply.BOUGHT: Kind.BOUGHT,
    Supply.SPUN: Kind.SPUN,
    Supply.BLOCK: Kind.BLOCK,
}
#: How a compromise without words of its own is called.
COMPROMISE = "by compromise"


@dataclass(frozen=True)
class Asked:
    """The roadmap as a question, and what could not be asked.

    Attributes:
        programme: rows and options by name.
        not_known: fitment and why nothing is planned for it; it counts as uncovered.
        left_out: blank and why it is no option.
        notes: what was taken for what nobody said.
    """

    programme: inputs.Programme
    not_known: tuple[tuple[str, str], ...]
    left_out: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]


def asked(project: Project, found: Coverage, question: Question = Question.LEAST_COST) -> Asked:
    """Return the roadmap as a question to the die programme.

    Args:
        project: holds fitments, blanks and settings.
        found: their coverage.
        question: least cost of all must rows, greatest present value, fewest dies, or most wheels.

    Raises:
        ProgrammeError: a setting that cannot be planned with.
    """
    notes: list[str] = []
    options, left_out = _options(project, found)
    prices = {option.name: option.price for option in options}
    rows, not_known = [], []
    for fitment in project.fitments:
        mine = [row for row in found.rows if row.fitment == fitment.name]
        if not mine:
            continue
        why = _unknown(project, fitment, mine[0])
        if why:
            not_known.append((fitment.name, why))
        else:
            # A wheel of several pieces hits the brake as one of a blank does.
            clears = mine[0].own is not None and mine[0].own.state in COVERED
            extra = _multi_piece(fitment) if clears else []
            options += extra
            rows.append(_row(project, fitment, mine, prices, extra, notes, question))
    settings = project.programme
    years = sorted({year for row in rows for year in row.volumes})
    hours = {} if settings.press_hours is None else dict.fromkeys(years, settings.press_hours)
    budgets = {b.year: b.money for b in settings.budgets}
    at_once = payments(project, 0.0)
    programme = inputs.Programme(
        rows=tuple(rows),
        options=tuple(options),
        holders=tuple(inputs.Holder(h.name, h.cost, at_once) for h in settings.holders),
        limits=Limits(settings.most_dies, budget_by_year=budgets, press_hours=hours),
        question=question,
        rate=settings.rate,
        base_year=settings.first_year,
    )
    return Asked(programme, tuple(not_known), tuple(left_out), tuple(dict.fromkeys(notes)))


def yearly(project: Project, fitment: Fitment) -> float | None:
    """Return the wheels a year that count for a fitment; None where nobody said."""
    settings = project.programme
    volume = {
        Volumes.LOW: fitment.volume_low,
        Volumes.LIKELY: fitment.volume_likely,
        Volumes.HIGH: fitment.volume_high,
    }[settings.volumes]
    if volume is None:
        return None
    if not settings.by_certainty:
        return float(volume)
    return None if fitment.certainty is None else volume * fitment.certainty


# Rows


def _unknown(project: Project, fitment: Fitment, row: CoverRow) -> str:
    """Return why nothing can be planned for a fitment; empty where it can."""
    if row.unknown:
        return " ".join(row.unknown)
    if row.cells and all(cell.word == "not known" for cell in row.cells):
        return row.cells[0].what
    for value, what in (
        (fitment.first_year, "Its first year is not known."),
        (fitment.last_year, "Its last year is not known."),
        (fitment.must, "Nobody said whether it must be served or is wanted."),
    ):
        if value is None:
            return what
    return _years_wrong(project, fitment) or _volume_unknown(project, fitment)


def _years_wrong(project: Project, fitment: Fitment) -> str:
    first, last, start = fitment.first_year, fitment.last_year, project.programme.first_year
    assert first is not None
    assert last is not None
    if last < first:
        return f"Its years run backwards, {first} to {last}: exchange them."
    return f"Its years, {first} to {last}, are over in {start}." if start is not None and last < start else ""


def _volume_unknown(project: Project, fitment: Fitment) -> str:
    if yearly(project, fitment) is not None:
        return ""
    missing = "certainty" if fitment.certainty is None and project.programme.by_certainty else "volume"
    return f"Its {missing} is not known."


def _row(
    project: Project,
    fitment: Fitment,
    covered: list[CoverRow],
    prices: Mapping[str, float],
    extra: list[Option],
    notes: list[str],
    question: Question,
) -> Row:
    if question is Question.GREATEST_VALUE and fitment.contribution is None:
        notes.append(f"{fitment.name}: its contribution is not known; planned with none.")
    modes = []
    for row in covered:
        # A blank of a wheel in another material costs another price: the difference stands with the wheel.
        costs = {
            c.blank: c.cost + (c.blank_cost or 0.0) - prices[c.blank]
            for c in row.cells
            if c.is_covered and c.cost is not None and c.blank in prices
        }
        if not row.compromise:
            costs |= dict.fromkeys((o.name for o in extra), 0.0)
            modes.append(Mode(costs, fitment.contribution or 0.0))
        elif fitment.compromise is not None and fitment.compromise.share > 0.0:
            given = fitment.compromise
            modes.append(Mode(costs, given.contribution or 0.0, given.words or COMPROMISE, given.share, True))
    must = bool(fitment.must) or not project.programme.may_refuse
    return Row(fitment.name, asked_volumes(project, fitment), tuple(modes), must)


def asked_volumes(project: Project, fitment: Fitment) -> dict[int, float]:
    """Return year to wheels of a fitment whose years are known, from the programme's first year on."""
    assert fitment.first_year is not None
    assert fitment.last_year is not None
    start = project.programme.first_year
    first = fitment.first_year if start is None else max(fitment.first_year, start)
    return dict.fromkeys(range(first, fitment.last_year + 1), yearly(project, fitment) or 0.0)


def _multi_piece(fitment: Fitment) -> list[Option]:
    if fitment.multi_piece_price is None:
        return []
    name = f"several pieces for {fitment.name}"
    return [Option(name, Kind.MULTI_PIECE, fitment.multi_piece_price, state=BlankState.PROVED)]


# Options


def _options(project: Project, found: Coverage) -> tuple[list[Option], list[tuple[str, str]]]:
    options: list[Option] = []
    left_out: list[tuple[str, str]] = []
    prices = _prices(found)
    blanks = {b.name: b for b in project.blanks}
    holders = {h.name for h in project.programme.holders}
    # A die that cuts nothing itself may still yield a variant that does.
    parents = {blanks[name].variant_of for name in prices}
    paid = {b.holder for b in project.blanks if b.state in THERE}
    for name in found.blanks:
        blank = blanks[name]
        why = _why_not(blank, prices, holders, blanks)
        if why:
            left_out.append((name, why))
        elif name in prices or name in parents:
            price = prices.get(name, blank.piece_price(project.rates.hour_price) or 0.0)
            options.append(_option(project, blank, price, None if blank.holder in paid else blank.holder))
        else:
            left_out.append((name, "It cuts nothing of the roadmap."))
    kept = {option.name for option in options}
    lost = [o for o in options if o.variant_of is not None and o.variant_of not in kept]
    left_out += [(o.name, f"The blank '{o.variant_of}' whose dies it needs is no option.") for o in lost]
    return [option for option in options if option not in lost], left_out


def _prices(found: Coverage) -> dict[str, float]:
    """Return the least price of a piece by blank, of those that cut something."""
    found_prices: dict[str, float] = {}
    for row in found.rows:
        for cell in row.cells:
            if cell.is_covered and cell.blank_cost is not None:
                least = found_prices.get(cell.blank, cell.blank_cost)
                found_prices[cell.blank] = min(least, cell.blank_cost)
    return found_prices


def _why_not(
    blank: Blank, prices: Mapping[str, float], holders: set[str], blanks: Mapping[str, Blank]
) -> str:
    """Return why a blank is no option; empty where it is one."""
    if blank.price is None and blank.name in prices:
        if blank.supply not in (Supply.OWN, Supply.SPUN):
            return "It is not forged in own dies and has no price: state it in the blank's details."
        if blank.supply is Supply.SPUN and (blank.spun is None or blank.spun.spinning(0.0) is None):
            return (
                "It has no price, and what spinning a piece costs is not stated either: state one in the "
                "blank's details."
            )
    if _needs_dies(blank) and blank.die_cost is None:
        return "The price of its dies is not stated: state it in the blank's details."
    if blank.holder is not None and blank.holder not in holders and blank.state not in THERE:
        return (
            f"Its holder '{blank.holder}' is not in the programme's settings: add it there, with its price."
        )
    if blank.variant_of is not None and blank.variant_of not in blanks:
        return f"The blank '{blank.variant_of}' whose dies it needs is not in the project."
    parent = None if blank.variant_of is None else blanks[blank.variant_of]
    if parent is not None and parent.supply is not Supply.OWN:
        return f"Only own dies yield variants, and '{parent.name}' is none: it is {_KINDS[parent.supply]}."
    return ""


def _needs_dies(blank: Blank) -> bool:
    own = blank.supply in (Supply.OWN, Supply.SPUN)
    return own and blank.state not in THERE


def _option(project: Project, blank: Blank, price: float, holder: str | None) -> Option:
    there = blank.state in THERE
    lead = 0.0 if there else (blank.lead_weeks or 0.0) / WEEKS_A_YEAR
    lead = lead if lead >= SAME_YEAR else 0.0
    kind = Kind.VARIANT if blank.variant_of is not None else _KINDS[blank.supply]
    settings = project.programme
    fixed = 0.0 if there else (blank.tools_cost or 0.0) + (blank.proof_cost or 0.0)
    return Option(
        blank.name,
        kind,
        price,
        _steps(project, blank),
        fixed,
        payments(project, lead),
        None if there else holder,
        blank.variant_of,
        lead_years=lead,
        least_run=float(max(blank.least_run or 0, blank.least_order or 0)),
        left_over_cost=price * min(settings.carrying_share + settings.write_off_share, 1.0),
        set_up=blank.run_setup or 0.0,
        hours_per_piece=1.0 / blank.pieces_hour if blank.pieces_hour else 0.0,
        hours_per_run=blank.setup_hours or 0.0,
        state=blank.state,
        is_there=there and kind is Kind.OWN_DIE,
    )


def _steps(project: Project, blank: Blank) -> tuple[inputs.PriceStep, ...]:
    """Return the prices of a piece by yearly order, with spinning, which no order makes cheaper."""
    spinning = blank.spun.spinning(project.rates.hour_price) if blank.spun is not None else None
    return tuple(inputs.PriceStep(float(s.pieces), s.price + (spinning or 0.0)) for s in blank.price_steps)


def payments(project: Project, lead_years: float) -> tuple[Payment, ...]:
    """Return the steps of a die's price: order and tryout before its first use, the rest in that year."""
    settings = project.programme
    early = math.ceil(lead_years)
    rest = max(1.0 - settings.order_share - settings.tryout_share, 0.0)
    steps = ((settings.order_share, early), (settings.tryout_share, early // 2), (rest, 0))
    by_year: dict[int, float] = {}
    for share, before in steps:
        by_year[before] = by_year.get(before, 0.0) + share
    return tuple(
        Payment(share, before) for before, share in sorted(by_year.items(), reverse=True) if share > 0.0
    )
