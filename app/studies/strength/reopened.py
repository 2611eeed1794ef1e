"""What lifts a test that failed: a later one of a changed drawing that passed.

A sample that failed speaks of the drawing it was made to. Where that drawing is today's, another sample that
passes is scatter, and what failed stays not known. Where the drawing was changed since, a sample of today's
that stood the same test later, no less hard than the one that failed and as the test asks, overtakes it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from app.project.project import Project
from app.project.strength import TESTS, Outcome, Struck, TestRecord
from app.project.tyres import TyreError
from app.project.wheel import Wheel
from app.studies.strength.cases import BLOWS, KINDS, case_of
from app.studies.strength.inputs import tyre_of
from app.studies.strength.proof_tests import ROUNDED, asked_of, broke_early, larger_tyre, short_of
from app.studies.strength.tested import NOT_RECORDED, differs
from geometry.errors import GeometryError
from geometry.strength.loads import Kind, TestLoad

#: What a record must be to lift one that failed.
_ASKED = "a record of this test that passed later, of today's drawing and no less hard"


@dataclass(frozen=True)
class Overtaken:
    """Whether a failed record is overtaken by one that passed.

    Attributes:
        by: name of the record that passed, empty where none overtakes it. lacks: what would, in words.
    """

    by: str
    lacks: str = ""


def overtaken(failed: TestRecord, wheel: Wheel, project: Project) -> Overtaken:
    """Return whether a later record overtakes one that failed and speaks for a wheel, and what lacks."""
    if failed.case not in KINDS:
        return Overtaken("", "its load case, named, and then a later record of it that passed")
    drawn = differs(project, wheel, failed)
    if not drawn:
        return Overtaken("", "a change of the drawing, and a later record that passed of what is drawn then")
    if drawn == NOT_RECORDED:
        return Overtaken("", f"the drawing of the sample that failed, recorded as another, and {_ASKED}")
    if lacks := _not_said(failed):
        return Overtaken("", f"{lacks} of the sample that failed, recorded, and {_ASKED}")
    why = ""
    for passed in project.test_records:
        if passed.case != failed.case or passed.outcome is not Outcome.PASSED:
            continue
        if not (short := _short(passed, failed, wheel, project)):
            return Overtaken(passed.name)
        if passed.wheel == wheel.name:
            why = f"; record {passed.name} passed, but {short}"
    return Overtaken("", f"{_ASKED}{why}")


def _not_said(failed: TestRecord) -> str:
    """Return what a failed record must say so that another can be held against it; empty where it does."""
    if _day(failed) is None:
        return "the date"
    if KINDS[failed.case] in BLOWS:
        if KINDS[failed.case] is Kind.IMPACT_13 and failed.struck is Struck.NOT_SAID:
            return "the place of the blow"
        return "" if failed.striker_kg and failed.drop_mm else "striker and fall"
    return "" if failed.load and failed.cycles else "load and cycles"


def _day(record: TestRecord) -> date | None:
    try:
        return date.fromisoformat(record.on)
    except ValueError:
        return None


def _short(passed: TestRecord, failed: TestRecord, wheel: Wheel, project: Project) -> str:
    """Return by what a passed record falls short of overtaking a failed one; empty where it does not."""
    if drawn := differs(project, wheel, passed):
        return drawn
    day, before = _day(passed), _day(failed)
    if day is None or before is None:
        return "its date is not recorded"
    if not day > before:
        return f"on {passed.on}, not after {failed.on}"
    pairs = (
        (passed.load, failed.load, "load", ""),
        (passed.cycles, failed.cycles, "cycles", ""),
        (passed.striker_kg, failed.striker_kg, "striker", " kg"),
        (passed.drop_mm, failed.drop_mm, "fall", " mm"),
    )
    for run, before_, what, unit in pairs:
        if before_ and not (run or 0.0) * (1.0 + ROUNDED) >= before_:
            return f"{what} {run or 0.0:.6g}{unit}, that which failed {before_:.6g}{unit}"
    try:
        return _short_of_asked(passed, failed, wheel, _load(project, wheel, failed.case))
    except (GeometryError, TyreError) as error:
        return str(error)


def _short_of_asked(passed: TestRecord, failed: TestRecord, wheel: Wheel, load: TestLoad) -> str:
    if load.kind in BLOWS:
        if failed.struck is not passed.struck:
            return f"struck {passed.struck.value}, that which failed {failed.struck.value}"
        if failed.tyre.strip() and passed.tyre.strip() and larger_tyre(passed.tyre, failed.tyre):
            return f"run on {passed.tyre.strip()}, larger than {failed.tyre.strip()}, which failed"
    if load.key not in TESTS:
        return ""
    levels = asked_of(load)
    if load.energy_j is not None:
        return short_of(passed, levels[0], wheel, load)
    # The mildest level that the sample which failed did not stand; any where it broke beyond them all.
    missed = sorted((x for x in levels if broke_early(failed, x)), key=lambda x: x.load or 0.0)[:1]
    short = [short_of(passed, level, wheel, None) for level in missed or levels]
    return "" if "" in short else short[0]


def _load(project: Project, wheel: Wheel, key: str) -> TestLoad:
    if wheel.load_kg is None:
        raise GeometryError(f"{wheel.name} has no wheel load")
    return case_of(key, wheel.load_kg, tyre_of(wheel), wheel.inset_mm, project.strength)
