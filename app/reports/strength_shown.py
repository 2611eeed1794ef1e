"""All that is shown of a wheel's screening, for text, JSON and pages alike."""

from __future__ import annotations

from collections.abc import Callable, Container, Sequence
from dataclasses import dataclass

from app.project.strength import StrengthSettings
from app.reports.strength_family import Evidence
from app.reports.strength_parts import SMEARED_SAID
from app.reports.strength_words import OPEN_SIGN, OPEN_WORD
from app.reports.tables import Column, Row, Table
from app.studies.strength.compare import Compared
from app.studies.strength.run import Screening
from app.studies.strength.sensitivity import Gain
from geometry.shape.section import Zone
from geometry.strength.loads import TestLoad

#: MPa per kg below which a millimetre counts as lowering nothing.
LEAST_GAIN = 0.5


@dataclass(frozen=True, eq=False)
class Shown:
    """A screening with what stands beside it.

    Attributes:
        found: the wheel's; settings: it was made with.
        against: that of a reference wheel, None for none; figures: of both beside each other.
        evidence: recorded tests and those that are needed.
        case, gains: what 1 mm more metal on each zone does under this case; None and empty if not asked.
    """

    found: Screening
    settings: StrengthSettings
    against: Screening | None
    figures: tuple[Compared, ...]
    evidence: Evidence
    case: TestLoad | None = None
    gains: tuple[Gain, ...] = ()


def moving(shown: Shown) -> frozenset[Zone]:
    """Return the zones whose stress under the case is not converged: so are its changes."""
    name = "" if shown.case is None else shown.case.name
    return frozenset(row.zone for row in shown.found.zones if row.case == name and not row.converged)


def gain_lines(gains: Sequence[Gain], moving: Container[Zone] = ()) -> list[str]:
    """Return what a millimetre on each zone does, a line each; `moving`: zones that are not converged."""
    parts = ((g, gain_words(g, moving), ", ".join(change_words(g, moving))) for g in gains)
    return [f"{g.zone.value}: {g.kg:+.3f} kg; {'; '.join(filter(None, words))}" for g, *words in parts]


def gain_words(gain: Gain, moving: Container[Zone] = ()) -> str:
    """Return what a millimetre lowers most."""
    if gain.best is None or gain.best_mpa_kg < LEAST_GAIN:
        return "lowers no zone"
    sign = f"{OPEN_SIGN} " if gain.best in moving else ""
    return f"lowers {gain.best.value} most, {sign}{gain.best_mpa_kg:.0f} MPa per kg"


def change_words(gain: Gain, moving: Container[Zone] = ()) -> list[str]:
    """Return the change of each zone's greatest stress that is worth a digit, with its unit."""
    return [f"{words} MPa" for words in changes(gain, moving)]


def changes(gain: Gain, moving: Container[Zone] = (), said: Callable[[str], str] = str) -> list[str]:
    """Return the change of each zone's greatest stress that is worth a digit, MPa; `said`: zones in words."""
    signs = {zone: f"{OPEN_SIGN} " if zone in moving else "" for zone in gain.mpa}
    return [f"{said(zone.value)} {signs[zone]}{x:+.1f}" for zone, x in gain.mpa.items() if abs(x) >= 0.05]


def _best(gain: Gain, moving: Container[Zone]) -> tuple[str, str]:
    """Return the zone that a millimetre lowers most, and by how much per kg."""
    if gain.best is None or gain.best_mpa_kg < LEAST_GAIN:
        return "none", ""
    return (
        gain.best.value,
        f"{OPEN_SIGN} {gain.best_mpa_kg:.0f}" if gain.best in moving else f"{gain.best_mpa_kg:.0f}",
    )


def gain_table(shown: Shown, said: Callable[[str], str] = str) -> Table:
    """Return what a millimetre on each zone does; `said`: words in the language of who reads."""
    columns = (
        Column("1 mm more on", 1.6),
        Column("kg", 1.0, True),
        Column("Lowers most", 2.0),
        Column("MPa per kg", 1.4, True),
        Column("Change of each zone's greatest stress, MPa", 11.0),
    )
    still = moving(shown)
    rows = tuple(
        Row((g.zone.value, f"{g.kg:+.3f}", *_best(g, still), ", ".join(changes(g, still, said))))
        for g in shown.gains
    )
    name = "" if shown.case is None else shown.case.name
    notes = (
        "By solving again with the skin moved out by 0.2 mm, off the tyre's side; per mm, for small changes."
        f" {OPEN_SIGN} {OPEN_WORD}: the stress that changes still moves with the mesh.",
        *([SMEARED_SAID] if shown.found.ready.spokes is not None else []),
    )
    return Table(f"What 1 mm more metal does under {name}", columns, rows, notes)
