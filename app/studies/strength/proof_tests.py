"""Which physical tests a family of wheels needs, on which version, and what earlier tests cover.

Samples after the German guideline for special wheels as test laboratories quote it (secondary): one bolt
circle 2 + 2, several 1 + 1 on the smallest and on the largest; an inset that changes by up to 5 mm one more
at 75 %, by more 1 + 1; a later load up to 10 % higher 1 + 1. Bolt circles that differ by more than 6.5 mm
from a tested one need a test of their own (UN R124, supplement 3, summary read). The 1 + 1 are one sample at
each of the two levels.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from app.project.project import Project
from app.project.strength import Outcome, TestRecord
from app.project.wheel import Fixing, SingleNut, Wheel
from app.studies.strength.cases import ROLLING_KM
from app.studies.strength.inputs import tyre_of
from geometry.errors import GeometryError
from geometry.strength.loads import TestLoad, bending, revolutions, rolling

#: Insets and bolt circles that differ by no more go with a tested one, mm; loads, as a share.
INSET_MM, CIRCLE_MM, LOAD_SHARE = 5.0, 6.5, 0.10
#: Loads and cycles are written down rounded; so small a share less is none.
_ROUNDED = 1e-3
#: An earlier test counts while blank, forge and heat treatment stay the same.
REOPENS = "a new blank, forge or heat treatment opens every line again"


@dataclass(frozen=True)
class Planned:
    """One line of the plan.

    Attributes:
        test: its name; standard. wheel: the worst version, which is tested. why: it is that one.
        samples: wheels needed, in words by level; count: their number.
        source: of the rule. covered_by: records of a passed test that cover it; empty where none does.
        cost: of the samples' tests, None where no price is given.
    """

    test: str
    standard: str
    wheel: str
    why: str
    samples: str
    count: int
    source: str
    covered_by: tuple[str, ...]
    cost: float | None

    @property
    def is_open(self) -> bool:
        """True where earlier tests, a sample each, are fewer than it needs."""
        return len(self.covered_by) < self.count


_GUIDE = "German guideline, as test laboratories quote it (secondary)"


def plan_of(
    project: Project,
    wheels: Sequence[Wheel],
    records: Sequence[TestRecord],
    prices: Mapping[str, float] | None = None,
) -> tuple[Planned, ...]:
    """Return the tests of a family of wheels of one design.

    Args:
        project: that holds them.
        wheels: versions by inset, bolt circle, load.
        records: tests that were made.
        prices: of one sample's test, by test name.

    Raises:
        GeometryError: there is no wheel, or one of them lacks load or tyre, or sizes differ.
    """
    if not wheels:
        raise GeometryError("Choose at least one wheel for the plan of tests.")
    sizes = {str(w.size) for w in wheels}
    if len(sizes) > 1:
        raise GeometryError(f"A family has one size; these are {', '.join(sorted(sizes))}.")
    moments = {w.name: _moment(project, w) for w in wheels}
    worst = max(wheels, key=lambda w: moments[w.name])
    heaviest = max(wheels, key=lambda w: w.load_kg or 0.0)
    lines = _bending(wheels, moments, worst, records, project)
    lines += [
        (
            "R124 rolling",
            "UN R124",
            heaviest,
            f"greatest load, {heaviest.load_kg:g} kg",
            "1 over 2,000 km",
            1,
        ),
        (
            "13 degree impact",
            "ISO 7141, SAE J175",
            heaviest,
            f"greatest load, {heaviest.load_kg:g} kg; smallest recommended tyre",
            "1 at the spoke-to-rim joint, 1 between two spokes near the valve hole",
            2,
        ),
        (
            "radial impact",
            "SAE J3203",
            heaviest,
            "inner half; where the standard is asked for",
            "1",
            1,
        ),
    ]
    given = prices or {}
    return tuple(
        Planned(
            test,
            standard,
            wheel.name,
            why,
            samples,
            count,
            _GUIDE if "R124" in standard else f"{standard}, summary (secondary)",
            _covering(project, records, test, wheel),
            given[test] * count if test in given else None,
        )
        for test, standard, wheel, why, samples, count in lines
    )


_Line = tuple[str, str, Wheel, str, str, int]


def _tested_moment(wheel: Wheel, records: Sequence[TestRecord], project: Project) -> float | None:
    """Return the greatest moment, as of 100 %, that wheels like this one passed at 75 %; None without one."""
    passed = [
        r.load / 0.75
        for r in records
        if r.load is not None and r.case == "R124 bending" and r.outcome is Outcome.PASSED
        if any(w.name == r.wheel and _like(w, wheel) for w in project.wheels)
    ]
    return max(passed, default=None)


def _like(tested: Wheel, wheel: Wheel) -> bool:
    """Return True where a test of one speaks for the other: same size, blank, inset and bolt circle."""
    return (
        str(tested.size) == str(wheel.size)
        and tested.blank == wheel.blank
        and abs(tested.inset_mm - wheel.inset_mm) < 1e-9
        and _circles([tested]).keys() == _circles([wheel]).keys()
    )


def _bending(
    wheels: Sequence[Wheel],
    moments: Mapping[str, float],
    worst: Wheel,
    records: Sequence[TestRecord],
    project: Project,
) -> list[_Line]:
    """Return the lines of rotating bending: bolt circles, then insets and loads apart from the worst."""
    test, standard = "R124 bending", "UN R124"
    top = moments[worst.name]
    circles = _circles(wheels)
    out: list[_Line] = []
    earlier = _tested_moment(worst, records, project)
    if len(circles) <= 1 and earlier is not None and earlier < top <= (1.0 + LOAD_SHARE) * earlier:
        why = f"moment {top:.0f} N m, up to {LOAD_SHARE:.0%} above the {earlier:.0f} N m that passed"
        out.append((test, standard, worst, why, "1 at 75 %, 1 at 50 %", 2))
    elif len(circles) <= 1:
        why = f"greatest moment of the family, {top:.0f} N m"
        out.append((test, standard, worst, why, "2 at 75 %, 2 at 50 %", 4))
    else:
        for circle, word in ((min(circles), "smallest"), (max(circles), "largest")):
            of = max(circles[circle], key=lambda w: moments[w.name])
            why = f"{word} bolt circle, {circle:g} mm; its greatest moment, {moments[of.name]:.0f} N m"
            out.append((test, standard, of, why, "1 at 75 %, 1 at 50 %", 2))
        ends = (min(circles), max(circles))
        for circle, of_it in sorted(circles.items()):
            if circle not in ends and min(abs(circle - end) for end in ends) > CIRCLE_MM:
                of = max(of_it, key=lambda w: moments[w.name])
                why = f"bolt circle {circle:g} mm, more than {CIRCLE_MM:g} mm from those tested"
                out.append((test, standard, of, why, "1 at 75 %, 1 at 50 %", 2))
    tested = {line[2].name for line in out}
    for wheel in sorted(wheels, key=lambda w: (w.inset_mm, w.name)):
        if wheel.name in tested:
            continue
        away = min(abs(wheel.inset_mm - w.inset_mm) for w in wheels if w.name in tested)
        if away == 0.0:
            continue
        far = away > INSET_MM
        why = f"inset {wheel.inset_mm:g} mm, {away:g} mm from one that is tested"
        out.append(
            (test, standard, wheel, why, "1 at 75 %, 1 at 50 %" if far else "1 at 75 %", 2 if far else 1)
        )
        tested.add(wheel.name)
    return out


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


def _moment(project: Project, wheel: Wheel) -> float:
    return _bending_of(project, wheel).moment_nm or 0.0


def _bending_of(project: Project, wheel: Wheel) -> TestLoad:
    if wheel.load_kg is None:
        raise GeometryError(f"{wheel.name} has no wheel load: the worst version cannot be named without it.")
    own = project.strength.own("R124 bending")
    return bending("R124 bending", wheel.load_kg, tyre_of(wheel), wheel.inset_mm, own)


def _asked(project: Project, test: str, wheel: Wheel) -> tuple[tuple[float, float], ...]:
    """Return what one sample must stand, (N m or N, cycles), any one of these; empty for an impact."""
    if test == "R124 bending":
        load = _bending_of(project, wheel)
        return tuple((share * (load.moment_nm or 0.0), cycles) for share, cycles in load.levels)
    if test == "R124 rolling":
        force = rolling(test, wheel.load_kg or 0.0, project.strength.own(test)).force_n or 0.0
        return ((force, revolutions(ROLLING_KM, 2.0 * math.pi * tyre_of(wheel).dynamic_mm)),)
    return ()


def _covering(project: Project, records: Sequence[TestRecord], test: str, wheel: Wheel) -> tuple[str, ...]:
    """Return the passed records that cover a line: same test, like wheel and blank, no less load and cycles.

    An impact has neither; there the tested wheel's load must be no less.
    """
    asked = _asked(project, test, wheel)
    out: list[str] = []
    for record in records:
        tested = next((w for w in project.wheels if w.name == record.wheel), None)
        if record.outcome is not Outcome.PASSED or record.case != test or tested is None:
            continue
        if not _like(tested, wheel):
            continue
        if asked:
            load, cycles = record.load or 0.0, (record.cycles or 0.0) * (1.0 + _ROUNDED)
            if not any(load * (1.0 + _ROUNDED) >= least and cycles >= most for least, most in asked):
                continue
        elif (tested.load_kg or 0.0) < (wheel.load_kg or 0.0):
            continue
        out.append(record.name)
    return tuple(out)
