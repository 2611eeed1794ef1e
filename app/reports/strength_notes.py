"""What a screening rests on and what a reader must know, in words; the same for page, text and JSON."""

from __future__ import annotations

from collections.abc import Sequence

from app.project.strength import StrengthSettings
from app.reports.numbers import Numbers
from app.reports.strength_parts import sums_agree
from app.reports.strength_words import failed_unread, not_screened, parts_left_out
from app.studies.strength.calibration import Calibration
from app.studies.strength.run import Screening
from app.studies.strength.zones import LIFE_MOVES, SINGLE_SPOKES, ZoneStress
from geometry.strength.life import Factors, cycles_words
from geometry.strength.metals import SnTable


def factor_words(factors: Factors) -> list[tuple[str, str]]:
    """Return the factors on fatigue strength, 1 as 'not included'."""
    return [(name, "not included" if x == 1.0 else f"{x:g}") for name, x in vars(factors).items()]


def factors_line(factors: Factors) -> str:
    """Return the factors in one line."""
    given = factor_words(factors)
    none = [name for name, words in given if words == "not included"]
    some = [f"{name} {words}" for name, words in given if words != "not included"]
    return "; ".join([*some, *([f"{', '.join(none)}: not included"] if none else [])])


def factor_of(learned: Calibration) -> str:
    """Return what a recorded test says, in short."""
    record, factor, zone, case = learned.record, f"{learned.factor:.2f}", learned.zone, learned.case
    told = (
        f"{record}: stress at most {factor} of the screened one, one sample taken as average ({zone}, {case},"
        f" family {learned.family})"
        if learned.at_most
        else f"{record}: stress {factor} of the screened one, one sample taken as average ({zone}, {case},"
        f" family {learned.family})"
    )
    return f"{told}; {learned.drawing}" if learned.drawing else told


def failed_told(found: Screening) -> list[str]:
    """Return the recorded tests that failed and give no factor, in short."""
    return [
        f"{one.record}: a sample failed and gives no factor, see recorded tests"
        for one in failed_unread(found)
    ]


def facts(found: Screening, settings: StrengthSettings, numbers: Numbers) -> list[tuple[str, str]]:
    """Return what the screening rests on, label and words."""
    ready, of = found.ready, numbers.length
    wheel, tyre, metal = ready.wheel, ready.tyre, ready.metal
    edition = wheel.rating.edition or "not named"
    thick = (
        "" if ready.thickest_mm is None else f"; blank {of(ready.thickest_mm, with_unit=True)} thick at most"
    )
    own = [f"{c.case}: {c.symbol} {c.value:g}" for c in settings.constants]
    lines = [
        ("Wheel", f"{wheel.name}, {wheel.size}, inset: {of(wheel.inset_mm, with_unit=True)}"),
        (
            "Wheel load",
            f"{numbers.mass(ready.load_kg, 1)}, {wheel.rating.basis.value}; edition of the rule: {edition}",
        ),
        (
            "Tyre",
            f"{wheel.tyre.strip()}: rolling radius {of(tyre.dynamic_mm)}, static {of(tyre.static_mm)}, "
            f"outside {of(tyre.outside_mm, with_unit=True)} across",
        ),
        (
            "Metal",
            f"{metal.name}: yield {metal.yield_mpa:.1f} MPa, least value{thick}",
        ),
        ("Factors on fatigue", factors_line(found.factors)),
    ]
    told = [*failed_told(found), *(factor_of(c) for c in found.calibrations)]
    if refused := len(found.unread) - len(failed_unread(found)):
        told.append(f"{refused} without a factor: see recorded tests")
    lines.append(("Recorded tests", "; ".join(told) or "none"))
    if own:
        lines.append(("Own constants", "; ".join(own)))
    return lines


def curve_words(found: Screening) -> str:
    """Return the source of the lives and the ranges they hold for."""
    curve = found.ready.metal.sn
    if curve is None:
        return f"no fatigue curve of {found.ready.metal.name} was found: no life is given"
    read = "" if curve.range_read else "; that range was not read for this curve"
    (low, high), (fewest, most) = curve.ratios, curve.lives
    ratios = f"stress ratio {low:g}" if low == high else f"stress ratios {low:g} to {high:g}"
    return (
        f"life of plain specimens: {curve.source}; holds for {ratios} and lives {cycles_words(fewest)} to "
        f"{cycles_words(most)}{read}"
    )


def series_words(found: Screening) -> list[str]:
    """Return how far each sum of harmonics goes, and what its later half changes."""
    return [
        f"{s.case}: {s.harmonics} harmonics; the later half of them changes the greatest stress by "
        f"{'less than 0.1' if s.change < 0.001 else f'{100.0 * s.change:.1f}'} %"
        for s in found.series
    ]


def all_notes(found: Screening) -> list[str]:
    """Return what a reader must know, once each."""
    said = [*parts_left_out(found), *found.notes]
    zones = not_screened(found)
    if zones:
        said.append(f"not screened by any case in use: {', '.join(z.value for z in zones)}")
    curve = found.ready.metal.sn
    if isinstance(curve, SnTable):
        said.append("the table of fatigue gives no scatter: use is against its mean life, not that of 95 %")
    said += [
        "the spoke zone is a smeared material; stress at windows, bolt holes and the valve hole is not in it,"
        " nor how the rim bends between two spokes, the more the fewer they are",
        "a bolted or clamped face is held rigidly, which raises the stress at its edge",
        f"properties of the metal: {found.ready.metal.source}",
    ]
    said += [*series_words(found), *filter(None, [sums_agree(found)])]
    for words in dict.fromkeys(s.note for s in found.spoked if s.note):
        cases = [s.case for s in found.spoked if s.note == words]
        said.append(words if len(cases) == len(found.spoked) else f"{', '.join(cases)}: {words}")
    return list(dict.fromkeys(said))


def row_notes(rows: Sequence[ZoneStress]) -> list[str]:
    """Return the distinct notes of the rows that a case exercises, each with its zones.

    How lives move with the mesh stands beside them; what single spokes add is said case by case.
    """
    by: dict[str, list[str]] = {}
    for row in (r for r in rows if r.exercised):
        for said in filter(None, row.note.split("; ")):
            if said.startswith(LIFE_MOVES):
                continue
            words = f"{row.case}, {said}" if SINGLE_SPOKES in said else said
            by.setdefault(words, []).append(row.zone.value)
    return [f"{words}: {', '.join(dict.fromkeys(zones))}" for words, zones in by.items()]
