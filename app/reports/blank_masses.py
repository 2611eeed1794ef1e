"""Where the metal of a group's blank goes: a bar for each wheel, and the ladder of masses with its money."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

from app.project.project import Project
from app.reports.drawing import Anchor, Canvas, Contour, Pen, line, wrapped
from app.reports.flow import Draw
from app.reports.look import BODY, BODY_BOLD, FIRST_LINE, HAIR, INK, LABEL, QUIET
from app.reports.page import Area
from app.studies.composite import Composite, GroupWheel
from app.studies.ladder import Rung
from app.studies.ladder_money import BOUGHT_MONEY, SPUN_MONEY, TURNED_MONEY, spun_money, turned_money
from app.studies.spun import SpunBlank
from app.units import LengthUnit, MassUnit, format_mass

#: Colours of the wheels, one after the other; each wheel's number stands beside its stretch as well.
WHEEL_COLOURS = ("#2f6db5", "#b5562b", "#3f8f5b", "#8a5bb0", "#a07a10", "#1f8a9c", "#b23a6b", "#5f6b2b")

#: Said under the bars.
BARS = "full: the finished wheel; pale: chips; hatched: what the wheel costs all the others, of these chips"
_CHIPS, _OUTLINE, _HATCH = "#E4E0D6", Pen(0.18, INK), Pen(0.15, INK)
#: A wheel that asks for less of a rung is not named, kg.
SHARE_KG = 0.005
_BAR, _RUNG, _APART = 3.2, 2.6, 1.1


def mass_unit(unit: LengthUnit) -> MassUnit:
    """Return the unit of masses that goes with one of length."""
    return "lb" if unit == "in" else "kg"


def bare_mass(mass_kg: float, unit: LengthUnit) -> str:
    """Return a mass without its unit, in lb where lengths are in inches."""
    return format_mass(mass_kg, mass_unit(unit), with_unit=False)


@dataclass(frozen=True)
class MassBar:
    """What of the blank one wheel keeps.

    Attributes:
        words: number and name of the wheel.
        blank_kg, wheel_kg: masses. costs_kg: by how much the others' blank would be lighter, 0 for nothing.
        says: its masses in words.
    """

    words: str
    blank_kg: float
    wheel_kg: float
    costs_kg: float
    says: str


def mass_bars(blank_kg: float, wheels: Sequence[GroupWheel], unit: LengthUnit) -> tuple[MassBar, ...]:
    """Return a bar for each wheel of a blank."""
    found = []
    for k, wheel in enumerate(wheels):
        costs = wheel.costs_others_kg if wheel.costs_others_kg is not None and wheel.decides else 0.0
        said = "" if wheel.costs_others_kg is None else ", decides nothing"
        if costs:
            said = f", costs the others {bare_mass(costs, unit)}"
        says = (
            f"{bare_mass(wheel.mass_kg, unit)} {mass_unit(unit)} + {bare_mass(wheel.chips_kg, unit)} of chips"
        )
        found.append(MassBar(f"{k + 1}  {wheel.name}", blank_kg, wheel.mass_kg, costs, says + said))
    return tuple(found)


# The ladder


@dataclass(frozen=True)
class Ladder:
    """Where the metal is: rungs of words and the mass reached, kg, with the money reached or None."""

    rungs: tuple[tuple[str, float], ...]
    money: tuple[float, ...] | None
    says: str
    currency: str = ""

    def rows(self, unit: LengthUnit) -> list[tuple[str, str, str, str]]:
        """Return what, mass reached, mass added and money added of each rung; masses without their unit."""
        found = []
        for k, (words, mass) in enumerate(self.rungs):
            added = "" if k == 0 else _signed(bare_mass(mass - self.rungs[k - 1][1], unit))
            cost = "asked" if self.money is None else f"{self.money[0]:.2f}"
            if k and self.money is not None:
                cost = _signed(f"{self.money[k] - self.money[k - 1]:.2f}")
            found.append((words, bare_mass(mass, unit), added, cost))
        return found

    def heads(self, unit: LengthUnit) -> tuple[str, str, str, str]:
        """Return the heads of the columns of `rows`."""
        return "", mass_unit(unit), "added", self.currency or "money"


def _signed(text: str) -> str:
    return text if text.startswith("-") else f"+{text}"


def turned_ladder(project: Project, result: Composite) -> Ladder:
    """Return the ladder of a turned blank with its money at the project's rates."""
    density = result.found.mass_kg / result.found.blank.volume_mm3 * 1e9
    rungs = result.ladder
    money = turned_money(rungs, density, project.rates, result.forged.slug_kg)
    return Ladder(rungs, money, BOUGHT_MONEY if money is None else TURNED_MONEY, project.currency)


def spun_ladder(project: Project, spun: SpunBlank) -> Ladder:
    """Return the ladder of a spun blank with its money at the project's rates."""
    money = spun_money(spun.ladder, project.rates)
    return Ladder(spun.ladder, money, BOUGHT_MONEY if money is None else SPUN_MONEY, project.currency)


def rung_words(rungs: Sequence[Rung], rung: Rung, wheels: Sequence[str], unit: LengthUnit) -> str:
    """Return what a rung adds, and how much of it each wheel of a group asks for, numbered as drawn."""
    k = next((i for i, each in enumerate(rungs) if each is rung), 0)
    mass = mass_unit(unit)
    added = bare_mass(rung.mass_kg - (rungs[k - 1].mass_kg if k else 0.0), unit)
    lines = [f"{rung.words}: {added if k == 0 else _signed(added)} {mass}"]
    if len(wheels) > 1 and rung.wheels_kg:
        asked = [
            f"{i + 1} {name} {bare_mass(kg, unit)}"
            for i, (name, kg) in enumerate(zip(wheels, rung.wheels_kg, strict=True))
            if kg >= SHARE_KG
        ]
        lines.append(f"asked for by {', '.join(asked)}")
    return "\n".join(lines)


# On paper


def masses_sheet(
    bars: Sequence[MassBar], ladder: Ladder, unit: LengthUnit, name: str, area: Area
) -> list[Draw]:
    """Return the page, or pages where wheels are many, of bars and ladder at one scale of mass."""
    most = max(*(mass for _, mass in ladder.rungs), *(bar.blank_kg for bar in bars))
    a_bar, a_rung = _BAR + 2.0 * 3.0 + _APART, _RUNG + _APART
    room = area.height - 18.0
    first = max(int((room - a_rung * len(ladder.rungs) - 26.0) // a_bar), 1)
    pages: list[Draw] = []
    rest = list(bars)
    of = partial(_sheet, most=most, ladder=ladder, unit=unit, name=name, area=area)
    while len(rest) > first:
        count = min(max(int(room // a_bar), 1), len(rest))
        pages.append(partial(of, rest[:count], with_ladder=False))
        rest = rest[count:]
    return [*pages, partial(of, rest, with_ladder=True)]


def _sheet(
    bars: Sequence[MassBar],
    canvas: Canvas,
    *,
    most: float,
    ladder: Ladder,
    unit: LengthUnit,
    name: str,
    area: Area,
    with_ladder: bool,
) -> None:
    (first,) = wrapped(canvas, f"{name}: where the metal goes", FIRST_LINE, area.width, 1)
    canvas.text((area.left, area.top - FIRST_LINE.size_mm), first, FIRST_LINE)
    y = area.top - FIRST_LINE.size_mm - 2.0
    line(canvas, (area.left, y), (area.right, y), HAIR)
    long = area.width / most
    for bar in bars:
        y = _draw_bar(canvas, bar, area, y - 1.5, long)
    if bars:
        y -= 3.6
        canvas.text((area.left, y), f"{BARS}; the whole bar is the blank", LABEL)
    if with_ladder:
        _draw_ladder(canvas, ladder, unit, area, y - 6.5)


def _draw_bar(canvas: Canvas, bar: MassBar, area: Area, top: float, long: float) -> float:
    """Draw a bar under its words; return its lower edge."""
    colour = WHEEL_COLOURS[(int(bar.words.split()[0]) - 1) % len(WHEEL_COLOURS)]
    says_wide = canvas.text_width(bar.says, BODY)
    (words,) = wrapped(canvas, bar.words, BODY_BOLD, area.width - says_wide - 4.0, 1)
    y = top - BODY.size_mm
    canvas.text((area.left, y), words, BODY_BOLD)
    canvas.text((area.right, y), bar.says, BODY, Anchor.RIGHT)
    y -= 1.2 + _BAR
    canvas.path([Contour.rectangle(area.left, y, long * bar.blank_kg, _BAR)], None, _CHIPS)
    canvas.path([Contour.rectangle(area.left, y, long * bar.wheel_kg, _BAR)], None, colour)
    end = area.left + long * bar.blank_kg
    x = end - long * bar.costs_kg
    while x < end - 1e-9:
        reach = min(_BAR, end - x)
        line(canvas, (x, y), (x + reach, y + reach), _HATCH)
        x += 1.2
    canvas.path([Contour.rectangle(area.left, y, long * bar.blank_kg, _BAR)], _OUTLINE)
    return y - _APART


def _draw_ladder(canvas: Canvas, ladder: Ladder, unit: LengthUnit, area: Area, top: float) -> None:
    """Draw a step for each rung: where it begins and ends, its words, mass and money."""
    words_wide, number = 84.0, 17.0
    left = area.left + words_wide + 3.0 * number + 3.0
    most = max(mass for _, mass in ladder.rungs)
    long = (area.right - left) / most
    rights = [area.left + words_wide + number * (k + 1) for k in range(3)]
    y = top
    canvas.text(
        (area.left, y), "Where the kilograms are" if unit != "in" else "Where the pounds are", BODY_BOLD
    )
    for head, right in zip(ladder.heads(unit)[1:], rights, strict=True):
        canvas.text((right, y), head, LABEL, Anchor.RIGHT)
    y -= 1.6
    line(canvas, (area.left, y), (area.right, y), HAIR)
    before = 0.0
    for (_, mass), texts in zip(ladder.rungs, ladder.rows(unit), strict=True):
        y -= _RUNG + _APART
        (words,) = wrapped(canvas, texts[0], BODY, words_wide, 1)
        canvas.text((area.left, y + 0.3), words, BODY)
        for text, right in zip(texts[1:], rights, strict=True):
            canvas.text((right, y + 0.3), text, BODY, Anchor.RIGHT)
        low, high = sorted((before, mass))
        canvas.path(
            [Contour.rectangle(left + long * low, y, max(long * (high - low), 0.2), _RUNG)],
            _OUTLINE,
            _CHIPS if before else QUIET,
        )
        before = mass
    y -= 1.5
    for text in wrapped(canvas, ladder.says, LABEL, area.width):
        y -= 3.4
        canvas.text((area.left, y), text, LABEL)
