"""What a screening says of each case and zone, in words and signs; the same for page, text and JSON.

A zone is 'over' where its use is above 1. It is 'under' only where the case exercises it, the figure is
known, and would stay at most 1 on a mesh halved FURTHER times, each as the last halving did, and with the
factor of a recorded test that broke there; nothing is 'under' of which one speaks that failed and gives no
factor. All else is 'not known' or 'not exercised'; none of them says that a wheel holds.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum

from app.reports.tables import Table
from app.studies.strength.calibration import Unread
from app.studies.strength.cases import has_stress
from app.studies.strength.run import Screening
from app.studies.strength.zones import Level, ZoneStress
from geometry.readings.measure import Place
from geometry.shape.section import ZONES, Zone
from geometry.strength.life import cycles_words
from geometry.strength.loads import EXERCISED, TestLoad

#: Two more halvings of the mesh leave edges of some 0.05 mm at a fillet, finer than a corner that is machined
#: (common practice, no source). At a sharp corner each halving raises the figure by the same share.
FURTHER = 2

#: Stands for a figure that is not converged, and its word.
OPEN_SIGN, OPEN_WORD = "≈", "not converged"


class Verdict(StrEnum):
    """What a case says of a zone."""

    OVER = "over"
    NOT_KNOWN = "not known"
    UNDER = "under"
    ENERGY = "energy only"
    NOT_EXERCISED = "not exercised"


#: Read before any colour; 'under' has none, since nothing is cleared by a screening.
VERDICT_SIGNS: dict[Verdict, str] = {
    Verdict.OVER: "▼",
    Verdict.NOT_KNOWN: "?",
    Verdict.UNDER: "",
    Verdict.ENERGY: "",
    Verdict.NOT_EXERCISED: "-",
}

SIGNS_SAID = (
    "use: the greater of stress over yield strength and, for a test with cycles, stress over that at which "
    "95 % of specimens last as long. ▼ over 1; ? not known; - not exercised by the test, so that a low "
    f"stress there shows nothing; {OPEN_SIGN} {OPEN_WORD}: the figure still moves with the mesh; energy: see "
    "the lips; ? failed: a sample failed on record, and gives no factor"
)

#: A space between a number and its unit.
_UNIT = re.compile(r"(?<=[0-9]) (?=(?:N|N/mm|MPa|J|kg|mm|in|lb|m/s)\b|%)")

#: Places along a spoke in words.
SPOKE_PLACES = {"hub": "hub end", "weakest": "weakest place", "rim": "rim end"}

NO_REFERENCE = (
    "No reference wheel is named: figures of a lip alone say little. Name one that passed its tests, with "
    "--against or as the wheel's reference."
)


#: Said wherever figures stand of a wheel whose load, metal or spokes fall short.
NOT_WHOLE = "not judged whole"


@dataclass(frozen=True)
class Cell:
    """What one case says of one zone: its row where it has one, and the verdict with its reason.

    Attributes:
        failed: names of recorded tests that failed, speak of it and give no factor.
    """

    case: TestLoad
    zone: Zone
    verdict: Verdict
    row: ZoneStress | None
    why: str = ""
    failed: tuple[str, ...] = ()

    @property
    def use(self) -> str:
        """Sign and use, or the words that stand in its place."""
        sign = VERDICT_SIGNS[self.verdict]
        if self.failed and self.verdict is Verdict.NOT_KNOWN:
            return f"{sign} failed"
        if self.row is None:
            return {Verdict.ENERGY: "energy", Verdict.NOT_KNOWN: f"{sign} left out"}.get(self.verdict, sign)
        if self.row.use is None:
            if self.verdict is Verdict.OVER:
                return f"{sign} yield" if self.row.above_yield else f"{sign} life"
            return f"{sign} not known" if self.verdict is Verdict.NOT_KNOWN else sign
        if self.verdict is Verdict.OVER and self.row.use <= 1.0:
            return f"{sign} life"
        return f"{sign} {marked(use_words(self.row.use), self.row)}".strip()

    @property
    def stress(self) -> str:
        """Greatest von Mises stress in MPa with the mark of a figure that is not converged."""
        return "" if self.row is None else marked(f"{self.row.von_mises_mpa:.0f}", self.row)

    @property
    def life(self) -> str:
        """Mean life at the first level."""
        if self.row is None or not self.row.exercised or not self.case.levels:
            return "" if self.verdict is not Verdict.NOT_EXERCISED else VERDICT_SIGNS[self.verdict]
        words = life_words(self.row.levels[0]) if self.row.levels else "?"
        return words if self.row.life_converged else f"{OPEN_SIGN} {words}"


def kept(words: str) -> str:
    """Return the words with no-break spaces between a number, its mark and its unit."""
    return _UNIT.sub(
        "\u00a0",
        words.replace("N m", "N\u00a0m")
        .replace(" @ ", "\u00a0@\u00a0")
        .replace(f"{OPEN_SIGN} ", f"{OPEN_SIGN}\u00a0"),
    )


def kept_table(table: Table) -> Table:
    """Return a table with its figures kept whole where lines break."""
    rows = tuple(replace(row, cells=tuple(map(kept, row.cells))) for row in table.rows)
    return replace(table, rows=rows, notes=tuple(map(kept, table.notes)))


def marked(words: str, row: ZoneStress) -> str:
    """Return a figure with its mark where it is not converged."""
    return words if row.converged else f"{OPEN_SIGN} {words}"


def use_words(use: float) -> str:
    """Return a use with two decimals; with four where two would hide on which side of 1 it lies."""
    return f"{use:.4f}" if abs(use - 1.0) < 0.005 else f"{use:.2f}"


def verdict(row: ZoneStress, case: TestLoad) -> tuple[Verdict, str]:
    """Return what a row says, and why where it is not known."""
    if not row.exercised:
        return Verdict.NOT_EXERCISED, "not exercised by this test"
    if row.use is not None and row.use > 1.0:
        return Verdict.OVER, ""
    # Where the fatigue data do not reach, what they say of other levels, and the yield strength, still hold.
    if row.above_yield:
        return Verdict.OVER, "stress above the yield strength"
    for level in row.levels:
        # A curve that ends before the cycles asked for gives a use by its yield strength alone.
        if level.damage is not None and level.damage > 1.0:
            if "beyond" in level.life.note:
                return Verdict.NOT_KNOWN, f"the data end before the {cycles_words(level.cycles)} cycles asked"
            return Verdict.OVER, "mean life is shorter than the cycles asked"
    if case.levels and not row.levels:
        return Verdict.NOT_KNOWN, "no fatigue curve of this metal: only the yield strength is looked at"
    open_ = next((level.life.note for level in row.levels if level.life.mean is None), None)
    if open_ is not None:
        return Verdict.NOT_KNOWN, open_
    if row.use is None:
        return Verdict.NOT_KNOWN, "no use was found"
    rise = row.von_mises_mpa / row.before_mpa if row.before_mpa > 0.0 else float("inf")
    growth = max(rise, row.growth, 1.0)
    if row.use * growth**FURTHER > 1.0:
        # A stress that is converged may still move by what is left to a use of 1.
        word = "close to 1" if row.converged else OPEN_WORD
        return Verdict.NOT_KNOWN, f"{word}: on a mesh {2**FURTHER} times as fine it may be over 1"
    return Verdict.UNDER, ""


def zones_of(found: Screening) -> tuple[Zone, ...]:
    """Return the zones that the section has, in the order of the list of zones."""
    there = set(found.ready.outline.zone.tolist())
    return tuple(zone for k, zone in enumerate(ZONES) if k in there)


def cell(found: Screening, case: TestLoad, zone: Zone) -> Cell:
    """Return what a case says of a zone, and what recorded tests that failed leave of it."""
    one = _by_figures(found, case, zone)
    failed = [u for u in found.unread if u.closes(case, zone)]
    if not failed or one.verdict is Verdict.NOT_EXERCISED:
        return one
    said = one.verdict if one.verdict is Verdict.OVER else Verdict.NOT_KNOWN
    why = " ".join(filter(None, [*(u.words for u in failed), one.why]))
    return replace(one, verdict=said, why=why, failed=tuple(u.record for u in failed))


def _by_figures(found: Screening, case: TestLoad, zone: Zone) -> Cell:
    if zone.value not in EXERCISED[case.kind]:
        return Cell(case, zone, Verdict.NOT_EXERCISED, found.zone(case.name, zone))
    if not has_stress(case):
        return Cell(case, zone, Verdict.ENERGY, None, case.note)
    row = found.zone(case.name, zone)
    if row is None:
        return Cell(case, zone, Verdict.NOT_KNOWN, None, left_out(found, case))
    said, why = verdict(row, case)
    if said is Verdict.UNDER and found.ready.short:
        # Load, metal or spokes fall short, so that every figure may be too low.
        said, why = Verdict.NOT_KNOWN, "; ".join((NOT_WHOLE, *found.ready.short))
    if said is Verdict.UNDER and (apart := left_out(found, case)):
        said, why = Verdict.NOT_KNOWN, apart
    if said is Verdict.UNDER and row.use is not None:
        broke = max(
            (c.factor for c in found.calibrations if not c.at_most and c.zone == zone.value), default=1.0
        )
        if row.use * broke > 1.0:
            said = Verdict.NOT_KNOWN
            why = (
                f"a sample broke here as if at {broke:.2f} of the screened stress: with that,"
                f" use would be {row.use * broke:.2f}"
            )
    return Cell(case, zone, said, row, why)


def left_out(found: Screening, case: TestLoad) -> str:
    """Return why a case could not be put to the section, or not be trusted; empty where it was."""
    return next((words for words in found.missing if words.startswith(f"{case.name}: ")), "")


def parts_left_out(found: Screening) -> list[str]:
    """Return what keeps a wheel from being judged whole, each with its reason.

    Its load or metal fall short, or cases and lips are there that this section could not be put to.
    """
    return list(found.missing)


def failed_unread(found: Screening) -> list[Unread]:
    """Return the recorded tests that failed and give no factor."""
    return [one for one in found.unread if one.failed]


def failed_words(found: Screening) -> list[str]:
    """Return what recorded tests that failed say of a wheel, with a factor or without one."""
    broke = [one.words for one in found.calibrations if not one.at_most]
    return [*(one.words for one in failed_unread(found)), *broke]


def cells(found: Screening) -> Iterator[Cell]:
    """Yield every case's cells by zone."""
    for case in found.cases:
        for zone in zones_of(found):
            yield cell(found, case, zone)


def worst_of(found: Screening, case: TestLoad) -> ZoneStress | None:
    """Return a case's row of greatest use, None without any."""
    used = [z for z in found.zones if z.case == case.name and z.use is not None]
    return max(used, key=lambda z: z.use or 0.0, default=None)


def not_screened(found: Screening) -> tuple[Zone, ...]:
    """Return the zones that no case in use exercises with a stress."""
    kinds = [c.kind for c in found.cases if has_stress(c)]
    return tuple(z for z in zones_of(found) if not any(z.value in EXERCISED[kind] for kind in kinds))


def is_open(found: Screening) -> bool:
    """Return True where a use is over 1, something is not known, or the wheel is not judged whole.

    So also where a sample failed on record and gives no factor, whatever case it speaks of.
    """
    bad = (Verdict.OVER, Verdict.NOT_KNOWN)
    return (
        bool(parts_left_out(found))
        or bool(not_screened(found))
        or bool(failed_unread(found))
        or any(one.verdict in bad for one in cells(found))
    )


def summary(found: Screening) -> str:
    """Return the worst of a screening in one line."""
    count = {v: sum(one.verdict is v for one in cells(found)) for v in Verdict}
    counts = (
        f"{count[Verdict.OVER]} over 1, {count[Verdict.NOT_KNOWN]} not known, {count[Verdict.UNDER]} under"
    )
    said = [counts]
    if zones := not_screened(found):
        said.append(f"{len(zones)} zones not screened by any case in use")
    if found.ready.short:
        said.append(f"{NOT_WHOLE}: {'; '.join(found.ready.short)}")
    if failed := failed_unread(found):
        said.append(f"failed on record, without a factor: {', '.join(one.record for one in failed)}")
    worst = found.worst()
    if worst is None:
        return "; ".join(["no use was found", *said])
    use, zone = use_words(worst.use or 0.0), worst.zone.value
    first = (
        f"greatest use {use}: {zone} in {worst.case}"
        if worst.converged
        else f"greatest use {use} ({OPEN_SIGN} not converged): {zone} in {worst.case}"
    )
    return "; ".join([first, *said])


def place(found: Screening, at: Place) -> Place:
    """Return a place of the wheel in the hub's frame."""
    return (at[0] + found.ready.wheel.spacer_mm, at[1])


def load_words(case: TestLoad) -> str:
    """Return the load of a case with its units."""
    parts: list[str] = []
    if case.moment_nm is not None:
        parts.append(f"{case.moment_nm:.1f} N m")
    if case.force_n is not None:
        parts.append(f"{case.force_n:.0f} N towards the axle")
    if case.lateral_n is not None:
        parts.append(f"{case.lateral_n:.0f} N along the axle")
    if case.torque_nm is not None:
        parts.append(f"{case.torque_nm:.1f} N m about the axle")
    if case.pressure_mpa is not None:
        parts.append(f"{case.pressure_mpa:g} MPa inflation")
    if case.energy_j is not None:
        parts.append(f"{case.energy_j:.1f} J: {case.striker_kg:g} kg from {case.drop_mm:g} mm")
        parts.append(f"{case.speed_m_s:.3f} m/s")
    return "; ".join(parts)


def levels_words(case: TestLoad) -> str:
    """Return how long a sample must stand at which share of the load."""
    if not case.levels:
        return "once"
    return "; ".join(f"{cycles_words(n)} cycles at {percent(share)}" for share, n in case.levels)


def percent(share: float) -> str:
    """Return a share of the load as '75 %'."""
    return f"{100.0 * share:g} %"


def short_words(case: TestLoad) -> str:
    """Return load and levels as shortly as they can be said."""
    parts = (
        (case.moment_nm, "{:.1f} N m"),
        (case.force_n, "{:.0f} N"),
        (case.lateral_n, "{0:.0f} N axial"),
        (case.torque_nm, "{:.1f} N m"),
        (case.pressure_mpa, "{:g} MPa"),
        (case.energy_j, "{:.1f} J"),
    )
    load = ", ".join(words.format(value) for value, words in parts if value is not None)
    levels = ", ".join(f"{cycles_words(n)} @ {percent(share)}" for share, n in case.levels)
    return f"{load}; {levels}" if levels else load


def standard_words(case: TestLoad) -> str:
    """Return the standard of a case."""
    return "no standard" if case.standard == "none" else case.standard


def held_words(case: TestLoad) -> str:
    """Return how the test holds the wheel; an impact's stress is not computed."""
    return case.clamp.value if has_stress(case) else "not computed: energy beside the lips'"


def constants_words(case: TestLoad) -> str:
    """Return the constants of a case, each with source and status."""
    return "; ".join(f"{k} {c.value:g}: {c.source} ({c.status})" for k, c in case.constants.items())


def life_words(level: Level) -> str:
    """Return the mean life at a level; a bound says so."""
    mean = level.life.mean
    if mean is None:
        return "< data" if "shorter" in level.life.note else "no data"
    return f">{cycles_words(mean)}" if "beyond" in level.life.note else cycles_words(mean)
