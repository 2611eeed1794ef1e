"""What physical tests say of the screening: the stress that a test shows over the screened one.

A sample that broke at n cycles is read on the mean of the metal's curve as if it were of average life: the
stress there over the screened one is the factor. A sample that passed gives a bound in the same sense only:
one that is better than the average stands more, so the bound is not a sure one.

A sample that failed where no factor can be formed still failed: what it speaks of stays not known, until one
of a changed drawing stands the same test (`reopened`).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from app.project.project import Project
from app.project.strength import Outcome, TestRecord
from app.project.wheel import Wheel
from app.studies.strength.cases import BLOWS, KINDS
from app.studies.strength.reopened import overtaken
from app.studies.strength.tested import differs
from app.studies.strength.zones import ZoneStress
from geometry.errors import GeometryError
from geometry.shape.section import Zone
from geometry.strength.life import SAME_RATIO, Factors, cycles_words, stress_for
from geometry.strength.loads import EXERCISED, TestLoad
from geometry.strength.metals import SnCurve, SnTable

if TYPE_CHECKING:
    from app.studies.strength.run import Screening


@dataclass(frozen=True)
class Calibration:
    """What one record says.

    Attributes:
        record, family, case: names. zone: that it speaks of.
        factor: stress of the test over the screened one. at_most: True where it is only a bound.
        words: one sentence to print with later results.
        drawing: why the sample was of another drawing than today's, or nobody knows; empty where it was not.
    """

    record: str
    family: str
    case: str
    zone: str
    factor: float
    at_most: bool
    words: str
    drawing: str = ""


@dataclass(frozen=True)
class Unread:
    """A record that speaks for a wheel and gives no factor.

    Attributes:
        record: its name. case: key of its load case, zone: where it broke; empty where not said.
        failed: the sample did not stand the test, and none of a changed drawing has stood it since. words:
            why there is no factor, and what mends it.
    """

    record: str
    case: str
    zone: str
    failed: bool
    words: str

    def closes(self, case: TestLoad, zone: Zone) -> bool:
        """Return True where a case says nothing good of a zone, since this sample failed.

        A load of the same kind differs by a share alone. A factor would count for the zone that broke under
        every load; so does the lack of one, save that of a blow, which is no matter of stress.
        """
        kind = KINDS.get(self.case)
        here = not self.zone or self.zone == zone.value
        # One that its test does not load says nothing of where it broke.
        misplaced = kind is not None and self.zone not in EXERCISED[kind]
        if self.failed and (kind is None or kind is case.kind) and (here or misplaced):
            return True
        return self.failed and self.zone == zone.value and kind not in BLOWS and case.kind not in BLOWS


def unread(record: TestRecord, why: str, wheel: Wheel, project: Project) -> Unread:
    """Return a record that speaks for a wheel without a factor.

    Args:
        record: of a test.
        why: there is none; a sentence without its full stop, with what mends it.
        wheel: that is screened.
        project: that holds both.
    """
    failed = record.outcome is Outcome.FAILED
    if not failed:
        words = f"Record {record.name} gives no factor: {why}."
        return Unread(record.name, record.case, record.zone, failed, words)
    under = record.case if record.case in KINDS else "a test that is not named"
    since = overtaken(record, wheel, project)
    if since.by:
        words = (
            f"Record {record.name}: a sample of another drawing failed in {under}; record {since.by}, of"
            " today's, stood the same later and no less hard, which lifts it."
        )
        return Unread(record.name, record.case, record.zone, False, words)
    tested = next((w for w in project.wheels if w.name == record.wheel), None)
    drawing = "" if tested is None else differs(project, tested, record)
    words = f"Record {record.name}: a sample failed in {under}, and gives no factor: {why}."
    shut = ["What it speaks of is not known.", f"What would lift it: {since.lacks}."]
    words = " ".join([words, *shut, *_held_against(drawing)])
    return Unread(record.name, record.case, record.zone, failed, words)


def _held_against(drawing: str) -> list[str]:
    return [f"Held against today's drawing: {drawing}."] if drawing else []


def sample_of(record: TestRecord, wheel: Wheel, project: Project) -> Wheel:
    """Return the drawn wheel whose screening a record is held against, to say something of a wheel.

    Raises:
        GeometryError: the record is of no load case or a blow, or of a wheel that is not drawn or of another
            metal.
    """
    if record.case not in KINDS:
        raise GeometryError("name the load case that was run")
    if KINDS.get(record.case) in BLOWS:
        raise GeometryError(
            "a blow has an energy and no stress here; where it was of another design, give it that family"
        )
    tested = next((w for w in project.wheels if w.name == record.wheel), None)
    if tested is None:
        raise GeometryError("the wheel that was tested is not drawn here; draw it and name it in the record")
    if tested.material != wheel.material:
        raise GeometryError(
            f"its sample was of {tested.material}, which says nothing of {wheel.material}; a wheel of another"
            " metal is another family"
        )
    return tested


def calibration(record: TestRecord, screening: Screening, project: Project) -> Calibration:
    """Return what a record says of the screening of the wheel that was tested.

    The screening is of today's drawing; where the sample was of another one, the words say so.

    Raises:
        GeometryError: the record lacks load, cycles or case, or its zone is none that the case exercises, or
            the curve's data do not reach; it says which, and what mends it.
    """
    case = next((c for c in screening.cases if c.key == record.case), None)
    if case is None:
        raise GeometryError(f"'{record.case}' is no load case; name the one that was run")
    if not case.levels:
        raise GeometryError(f"{case.name} does not repeat, so that no life can be read of it")
    whole = case.moment_nm if case.moment_nm is not None else case.force_n
    if whole is None or record.load is None or record.cycles is None or not record.load > 0.0:
        raise GeometryError("give it the load and the cycles that were run")
    curve = screening.ready.metal.sn
    if curve is None:
        raise GeometryError(f"give {screening.ready.metal.name} a fatigue curve, it has none here")
    zones = [z for z in screening.zones if z.case == case.name and z.exercised and z.greatest_mpa]
    if record.outcome is Outcome.FAILED:
        zones = [z for z in zones if z.zone.value == record.zone]
        if not zones:
            raise GeometryError(f"name the zone where it broke, one that {case.name} exercises")
    if not zones:
        raise GeometryError(f"{case.name} gave no stress for the wheel that was tested")
    low, high = curve.ratios
    # Farther off, a factor would come out too low.
    read = [z for z in zones if low - SAME_RATIO <= _ratio(z) <= high + SAME_RATIO]
    if not read:
        there = ", ".join(sorted({f"{_ratio(z):.2f}" for z in zones}))
        data = f"{low:g}" if low == high else f"{low:g} to {high:g}"
        raise GeometryError(
            f"stress ratio {there} is outside the data of the curve ({data}); give"
            f" {screening.ready.metal.name} one that reaches there"
        )
    zones, share, cycles = read, record.load / whole, record.cycles
    shown = [(_shown(curve, cycles, z, screening.factors) / (share * _greatest(z)), z) for z in zones]
    factor, zone = min(shown, key=lambda pair: pair[0])
    passed = record.outcome is Outcome.PASSED
    family = record.family or screening.ready.wheel.name
    name, broke_in = record.name, zone.zone.value
    said = (
        [
            f"{name}, family {family}: one sample passed {cycles_words(cycles)} cycles.",
            f"Were it of average life, the stress in its {broke_in} would be at most {factor:.2f} of the"
            " screened one.",
            "A sample better than the average stands more, so this is no sure bound.",
        ]
        if passed
        else [
            f"{name}, family {family}: one sample broke in its {broke_in} at {cycles_words(cycles)} cycles.",
            f"Were it of average life, the stress there would be {factor:.2f} of the screened one.",
        ]
    )
    if not zone.converged:
        said.append("The screened figure is not converged.")
    drawing = differs(project, screening.ready.wheel, record)
    words = " ".join([*said, *_held_against(drawing)])
    return Calibration(record.name, family, case.name, zone.zone.value, factor, passed, words, drawing)


def _greatest(zone: ZoneStress) -> float:
    return zone.greatest_mpa if zone.greatest_mpa is not None else math.nan


def _shown(curve: SnCurve | SnTable, cycles: float, zone: ZoneStress, factors: Factors) -> float:
    """Return the stress that has a mean life of so many cycles at the zone's stress ratio, MPa."""
    low, high = curve.ratios
    return stress_for(curve, cycles, min(max(_ratio(zone), low), high)) * factors.all


def _ratio(zone: ZoneStress) -> float:
    return zone.ratio if zone.ratio is not None else -1.0


def speaks_for(record: TestRecord, wheel: Wheel) -> bool:
    """Return True where a record speaks for a wheel: its own, or one whose name begins with its family.

    Whole words count: the family 'Track' is that of 'Track 18', 'Tr' is not.
    """
    family, name = record.family.casefold().split(), wheel.name.casefold().split()
    return record.wheel == wheel.name or (bool(family) and name[: len(family)] == family)


def in_order(found: Sequence[Calibration]) -> tuple[Calibration, ...]:
    """Return calibrations, measured factors before bounds."""
    return tuple(sorted(found, key=lambda c: (c.at_most, c.case, c.record)))
