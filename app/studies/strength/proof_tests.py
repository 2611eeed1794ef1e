"""Which physical tests a family of wheels needs, on which version, and what earlier tests cover.

Samples after the German guideline for special wheels as test laboratories quote it (secondary): one bolt
circle 2 + 2, several 1 + 1 on the smallest and on the largest; an inset that changes by up to 5 mm one more
at 75 %, by more 1 + 1; a later load up to 10 % higher 1 + 1; an impact one sample at each of two places.
Bolt circles that differ by more than 6.5 mm from a tested one need a test of their own (UN R124, supplement
3, summary read). How many samples the other standards ask for was not read.

A record is one sample, and covers one sample of one line: of the same drawing of wheel and blank, run no less
hard and no less long.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from app.project.project import Project
from app.project.strength import CASES, TESTS, Outcome, Struck, TestRecord
from app.project.tyres import TyreError, overall_diameter_mm, parse_tyre
from app.project.wheel import Fixing, SingleNut, Wheel
from app.studies.strength.cases import case_of
from app.studies.strength.inputs import tyre_of
from app.studies.strength.tested import NOT_RECORDED, differs
from app.units import format_length
from geometry.errors import GeometryError
from geometry.strength.life import cycles_words
from geometry.strength.loads import Kind, TestLoad

#: Insets and bolt circles that differ by no more go with a tested one, mm; loads, as a share.
INSET_MM, CIRCLE_MM, LOAD_SHARE = 5.0, 6.5, 0.10
#: Loads and cycles are written down rounded; so small a share less is none.
ROUNDED = 1e-3
#: An earlier test counts while blank, forge and heat treatment stay the same.
REOPENS = (
    "a new blank, forge or heat treatment opens every line again; wheel, metal and blank are compared as they"
    " are drawn, a change of forge is not seen here"
)
_GUIDE = "German guideline, as test laboratories quote it (secondary)"
_NOT_READ = "the number of samples was not read in the standard, the least is listed"


@dataclass(frozen=True)
class Samples:
    """Samples of one line that are tested alike.

    Attributes:
        words: what each must stand, or where it is struck. count: how many.
        load: least moment in N m or force in N; cycles: least; both None for an impact.
        struck: place of an impact, None where any will do. covered_by: records, each one of these samples.
    """

    words: str
    count: int
    load: float | None = None
    cycles: float | None = None
    struck: Struck | None = None
    covered_by: tuple[str, ...] = ()


@dataclass(frozen=True)
class Planned:
    """One line of the plan.

    Attributes:
        test: key of the load case; standard. wheel: the worst version, which is tested. why: it is that one.
        levels: samples, by what each must stand.
        source: of the rule. price: of one sample's test, None where none is given.
        failed: records of samples like these that broke before they had stood what is asked, of this drawing
            or of nobody knows which.
        not_counted: records of this test and wheel that cover nothing, each with the reason.
    """

    test: str
    standard: str
    wheel: str
    why: str
    levels: tuple[Samples, ...]
    source: str
    price: float | None = None
    failed: tuple[str, ...] = ()
    not_counted: tuple[str, ...] = ()

    @property
    def count(self) -> int:
        """Samples in all."""
        return sum(level.count for level in self.levels)

    @property
    def samples(self) -> str:
        """Samples of each level in words."""
        return ", ".join(f"{level.count} {level.words}" for level in self.levels)

    @property
    def covered_by(self) -> tuple[str, ...]:
        """Records that cover a sample."""
        return tuple(name for level in self.levels for name in level.covered_by)

    @property
    def open_count(self) -> int:
        """Samples that no record covers."""
        return self.count - len(self.covered_by)

    @property
    def is_open(self) -> bool:
        """True where a level lacks a sample, or one broke too early."""
        return self.open_count > 0 or bool(self.failed)

    @property
    def cost(self) -> float | None:
        """What the samples that are open cost; None where no price is given."""
        return None if self.price is None else self.price * self.open_count


def plan_of(project: Project, wheels: Sequence[Wheel], records: Sequence[TestRecord]) -> tuple[Planned, ...]:
    """Return the tests of a family of wheels of one design, of the cases that the project has in use.

    Args:
        project: that holds them.
        wheels: versions by inset, bolt circle, load.
        records: tests that were made.

    Raises:
        GeometryError: there is no wheel, or one of them lacks load or tyre, or sizes differ.
    """
    if not wheels:
        raise GeometryError("Choose at least one wheel for the plan of tests.")
    sizes = {str(w.size) for w in wheels}
    if len(sizes) > 1:
        raise GeometryError(f"A family has one size; these are {', '.join(sorted(sizes))}.")
    blanks = list(dict.fromkeys(w.blank for w in wheels))
    lines: list[Planned] = []
    for key in (c for c in CASES if c in project.strength.cases and c in TESTS):
        loads = {w.name: _load(project, w, key) for w in wheels}
        for blank in blanks:
            # A new blank opens every line, so that each blank of the family has lines of its own.
            of_it = [w for w in wheels if w.blank == blank]
            made = (
                _bending(of_it, loads, records, project)
                if key == "R124 bending"
                else [_worst_line(of_it, loads, key)]
            )
            of = f"blank {blank or 'not named'}: " if len(blanks) > 1 else ""
            lines += [replace(line, why=f"{of}{line.why}") for line in made]
    by, prices = {w.name: w for w in wheels}, {p.case: p.price for p in project.strength.prices}
    return tuple(
        _covered(project, replace(line, price=prices.get(line.test)), by[line.wheel], records)
        for line in lines
    )


def _load(project: Project, wheel: Wheel, key: str) -> TestLoad:
    if wheel.load_kg is None:
        raise GeometryError(f"{wheel.name} has no wheel load: the worst version cannot be named without it.")
    return case_of(key, wheel.load_kg, tyre_of(wheel), wheel.inset_mm, project.strength)


# Which version, and how many samples


_Worst = tuple[Callable[[TestLoad], float], str]
#: Kinds of physical tests beside R124 bending: what makes a version the worst, and in which words.
_WORST: Mapping[Kind, _Worst] = {
    Kind.BENDING: (lambda c: c.moment_nm or 0.0, "greatest moment of the family, {0:.0f} N m"),
    Kind.ROLLING: (lambda c: c.force_n or 0.0, "greatest load of the family, {0:.0f} N"),
    Kind.IMPACT_13: (lambda c: c.energy_j or 0.0, "greatest energy of the family, {0:.0f} J"),
    Kind.IMPACT_90: (
        lambda c: c.energy_j or 0.0,
        "{0:.0f} J at the inner half; where the standard is asked for",
    ),
}


def _worst_line(wheels: Sequence[Wheel], loads: Mapping[str, TestLoad], key: str) -> Planned:
    """Return a test's line on the version it is hardest on; among equals the one on the smallest tyre."""
    of, words = _WORST[loads[wheels[0].name].kind]
    worst = max(wheels, key=lambda w: (of(loads[w.name]), -tyre_of(w).outside_mm))
    load = loads[worst.name]
    why = words.format(of(load))
    if load.kind is Kind.IMPACT_13:
        why += f"; on the smallest tyre that is recommended, {worst.tyre.strip()} or smaller"
        levels = tuple(Samples(str(at), 1, struck=at) for at in (Struck.SPOKE, Struck.BETWEEN))
        return Planned(key, load.standard, worst.name, why, levels, _GUIDE)
    if load.kind is Kind.IMPACT_90:
        return Planned(key, load.standard, worst.name, why, (Samples("at the inner flange", 1),), _NOT_READ)
    source = _GUIDE if key == "R124 rolling" else _NOT_READ
    return Planned(key, load.standard, worst.name, why, asked_of(load), source)


def asked_of(load: TestLoad) -> tuple[Samples, ...]:
    """Return what a test asks of samples, one at each of its levels; an impact is one, struck anywhere."""
    if load.energy_j is not None:
        return (Samples("at any place", 1),)
    whole = load.moment_nm if load.moment_nm is not None else load.force_n or 0.0
    return tuple(_at(whole, share, cycles, 1) for share, cycles in load.levels)


def _at(whole: float, share: float, cycles: float, count: int) -> Samples:
    """Return samples at a share of the whole load."""
    return Samples(
        f"at {share:.0%} for {cycles_words(cycles)} cycles".replace("%", " %"), count, share * whole, cycles
    )


def _both(load: TestLoad, *counts: int) -> tuple[Samples, ...]:
    """Return so many samples at each level of rotating bending, the higher first."""
    pairs = zip(load.levels, counts, strict=False)
    return tuple(_at(load.moment_nm or 0.0, share, cycles, n) for (share, cycles), n in pairs)


def _bending(
    wheels: Sequence[Wheel], loads: Mapping[str, TestLoad], records: Sequence[TestRecord], project: Project
) -> list[Planned]:
    """Return the lines of rotating bending: bolt circles, then insets apart from those that are tested."""
    out: list[Planned] = []

    def line(wheel: Wheel, why: str, *counts: int) -> None:
        load = loads[wheel.name]
        out.append(Planned(load.key, load.standard, wheel.name, why, _both(load, *counts), _GUIDE))

    def top(wheel: Wheel) -> float:
        return loads[wheel.name].moment_nm or 0.0

    def length(value_mm: float) -> str:
        return f"{value_mm:g} mm" if project.display_unit != "in" else format_length(value_mm, "in")

    circles = _circles(wheels)
    worst = max(wheels, key=top)
    if len(circles) <= 1:
        earlier = _stood(project, worst, loads[worst.name], records)
        if earlier is not None and earlier * (1.0 + ROUNDED) < top(worst) <= (1.0 + LOAD_SHARE) * earlier:
            raised = (
                f"moment {top(worst):.0f} N m, up to {LOAD_SHARE:.0%} above the {earlier:.0f} N m that passed"
            )
            line(worst, raised.replace("%", " %"), 1, 1)
        else:
            line(worst, f"greatest moment of the family, {top(worst):.0f} N m", 2, 2)
    else:
        ends = {min(circles): "smallest", max(circles): "largest"}
        for circle, of_it in sorted(circles.items()):
            of = max(of_it, key=top)
            if circle in ends:
                why = f"{ends[circle]} bolt circle, {length(circle)}; its greatest moment, {top(of):.0f} N m"
                line(of, why, 1, 1)
            elif min(abs(circle - end) for end in ends) > CIRCLE_MM:
                line(
                    of, f"bolt circle {length(circle)}, more than {length(CIRCLE_MM)} from those tested", 1, 1
                )
    tested = {planned.wheel for planned in out}
    for wheel in sorted(wheels, key=lambda w: (w.inset_mm, w.name)):
        away = min(abs(wheel.inset_mm - w.inset_mm) for w in wheels if w.name in tested)
        if wheel.name not in tested and away > 0.0:
            counts = (1, 1) if away > INSET_MM else (1,)
            line(wheel, f"inset {length(wheel.inset_mm)}, {length(away)} from one that is tested", *counts)
            tested.add(wheel.name)
    return out


def _stood(project: Project, wheel: Wheel, load: TestLoad, records: Sequence[TestRecord]) -> float | None:
    """Return the greatest whole moment for which this drawing passed all four samples; None without them."""
    share = load.levels[0][0]
    runs = {r.load / share for r in records if r.load is not None and r.case == load.key}
    for moment in sorted(runs, reverse=True):
        asked = Planned(load.key, "", wheel.name, "", _both(replace(load, moment_nm=moment), 2, 2), "")
        if not _covered(project, asked, wheel, records).is_open:
            return moment
    return None


def _circles(wheels: Sequence[Wheel]) -> dict[float, list[Wheel]]:
    """Return the wheels by bolt circle; single nuts stand under the circle of their pins."""
    out: dict[float, list[Wheel]] = {}
    for w in wheels:
        f = w.fixing
        circle = (
            f.circle_mm if isinstance(f, Fixing) else f.pin_circle_mm if isinstance(f, SingleNut) else 0.0
        )
        out.setdefault(circle, []).append(w)
    return out


# What earlier tests cover


def _covered(project: Project, line: Planned, wheel: Wheel, records: Sequence[TestRecord]) -> Planned:
    """Return a line with what earlier records say of it; each record is one sample."""
    blow = _load(project, wheel, line.test) if line.levels[0].load is None else None
    fits: dict[str, list[int]] = {}
    failed: list[str] = []
    idle: list[str] = []
    for record in (r for r in records if r.case == line.test):
        other = differs(project, wheel, record)
        broke = record.outcome is Outcome.FAILED and any(broke_early(record, x) for x in line.levels)
        if other:
            # One that broke may have been of this drawing where nobody said of which.
            if record.wheel == wheel.name and broke and other == NOT_RECORDED:
                failed.append(record.name)
            elif record.wheel == wheel.name:
                idle.append(f"{record.name}: {other}")
            continue
        short = [short_of(record, level, wheel, blow) for level in line.levels]
        if record.outcome is Outcome.FAILED:
            if broke:
                failed.append(record.name)
            else:
                idle.append(f"{record.name}: it broke, above what is asked or after it")
        elif all(short):
            idle.append(f"{record.name}: {short[0]}")
        else:
            fits[record.name] = [k for k, why in enumerate(short) if not why]
    taken: list[list[str]] = [[] for _ in line.levels]
    # Those that fit one level alone first, so that what fits several fills what is left.
    for name, places in sorted(fits.items(), key=lambda pair: len(pair[1])):
        free = next((k for k in places if len(taken[k]) < line.levels[k].count), None)
        if free is None:
            idle.append(f"{name}: one more than is asked")
        else:
            taken[free].append(name)
    levels = tuple(
        replace(level, covered_by=tuple(names)) for level, names in zip(line.levels, taken, strict=True)
    )
    return replace(line, levels=levels, failed=tuple(failed), not_counted=tuple(idle))


def broke_early(record: TestRecord, level: Samples) -> bool:
    """Return True unless a sample broke under over a tenth more than is asked, or after as many cycles."""
    if level.load is None or level.cycles is None or record.load is None or record.cycles is None:
        return True
    return record.load <= level.load * (1.0 + LOAD_SHARE) and record.cycles < level.cycles


def short_of(record: TestRecord, level: Samples, wheel: Wheel, blow: TestLoad | None) -> str:
    """Return by what a passed record falls short of a sample; empty where it does not."""
    if blow is not None:
        return _short_blow(record, level, wheel, blow)
    asked = ((record.load, level.load or 0.0, "load"), (record.cycles, level.cycles or 0.0, "cycles"))
    for run, least, what in asked:
        if run is None or not run * (1.0 + ROUNDED) >= least:
            return f"{what} {'not recorded' if run is None else f'{run:.6g}'}, {least:.6g} asked"
    return ""


def _short_blow(record: TestRecord, level: Samples, wheel: Wheel, blow: TestLoad) -> str:
    """Return by what a passed impact falls short: striker, fall, place, or a tyre that shelters the rim."""
    asked = (
        (record.striker_kg, blow.striker_kg, "striker", "kg"),
        (record.drop_mm, blow.drop_mm, "fall", "mm"),
    )
    for run, least, what, unit in asked:
        if run is None or least is None or not run * (1.0 + ROUNDED) >= least:
            said = "not recorded" if run is None else f"{run:g} {unit}"
            return f"{what} {said}, {least or 0.0:g} {unit} asked"
    if level.struck is not None and record.struck is not level.struck:
        return (
            f"struck {record.struck.value}"
            if record.struck is not Struck.NOT_SAID
            else "place of the blow not said"
        )
    if not record.tyre.strip():
        return "its tyre is not recorded"
    try:
        larger = larger_tyre(record.tyre, wheel.tyre)
    except TyreError as error:
        return str(error)
    if larger:
        return f"run on {record.tyre.strip()}, larger than {wheel.tyre.strip()}, which shelters the rim more"
    return ""


def larger_tyre(tyre: str, than: str) -> bool:
    """Return True where a tyre is wider or taller than another, so that it shelters the rim more.

    Raises:
        TyreError: one of them is no tyre size.
    """
    run_on, own = parse_tyre(tyre), parse_tyre(than)
    taller = overall_diameter_mm(run_on) > overall_diameter_mm(own) + 1e-9
    return run_on.width_mm > own.width_mm or taller
