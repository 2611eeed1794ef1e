"""Two wheels beside each other: mass, inertia, lips, use by zone, life. A ratio, never a promise."""

from __future__ import annotations

from dataclasses import dataclass

from app.project.project import Project
from app.studies.fit import measure_wheel
from app.studies.strength.run import Screening


@dataclass(frozen=True)
class Compared:
    """One figure of both wheels.

    Attributes:
        name, unit: in words. first, second: None where a wheel has none.
        more_is_better: True, False, or None where neither is.
        converged: False where one of the two is marked as not converged.
        bounds: True for each that is a bound of the data and not a figure.
    """

    name: str
    unit: str
    first: float | None
    second: float | None
    more_is_better: bool | None = None
    converged: bool = True
    bounds: tuple[bool, bool] = (False, False)

    @property
    def ratio(self) -> float | None:
        """The first over the second; None without both, with a second of 0, or where one is a bound."""
        if self.first is None or not self.second or any(self.bounds):
            return None
        return self.first / self.second


def compared(project: Project, first: Screening, second: Screening) -> tuple[Compared, ...]:
    """Return the figures of a wheel beside those of a reference, each as found under its own loads."""
    rows: list[Compared] = []
    solids = [measure_wheel(project, s.ready.wheel).measurements for s in (first, second)]
    a, b = (m.solid if m is not None else None for m in solids)
    rows.append(Compared("mass", "kg", a.mass_kg if a else None, b.mass_kg if b else None, False))
    inertia = [s.polar_kg_mm2 * 1e-6 if s else None for s in (a, b)]
    rows.append(Compared("polar inertia", "kg m2", inertia[0], inertia[1], False))
    rows.append(Compared("wheel load", "kg", first.ready.load_kg, second.ready.load_kg))
    for lip in first.lips:
        other = next((x for x in second.lips if x.lip is lip.lip), None)
        if other is None:
            continue
        name = lip.lip.value
        sound = lip.lip not in (*first.moving_lips, *second.moving_lips)
        rows += [
            Compared(f"{name}, stiffness", "N/mm", lip.stiffness_n_mm, other.stiffness_n_mm, True),
            Compared(f"{name}, load to first yield", "N", lip.yield_n, other.yield_n, True, sound),
            Compared(f"{name}, energy to first yield", "J", lip.yield_j, other.yield_j, True, sound),
            Compared(
                f"{name}, energy to a dent of {lip.dent_mm:g} mm",
                "J",
                lip.dent_j,
                other.dent_j,
                True,
            ),
        ]
    for zone in first.zones:
        other_zone = second.zone(zone.case, zone.zone)
        if not zone.exercised or other_zone is None:
            continue
        sound = zone.converged and other_zone.converged
        steady = zone.life_converged and other_zone.life_converged
        name = f"{zone.case}, {zone.zone.value}"
        rows.append(Compared(f"{name}, use", "", zone.use, other_zone.use, False, sound))
        if zone.life_cycles is not None or other_zone.life_cycles is not None:
            lives = zone.life_cycles, other_zone.life_cycles
            bounds = zone.life_is_bound, other_zone.life_is_bound
            rows.append(Compared(f"{name}, life", "cycles", *lives, True, steady, bounds))
    return tuple(rows)
