"""A screening for other programs: plain values with the keys of DEVELOPERS.md, and a table of its zones."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from typing import Any

from app.project.cells import no_formula
from app.reports.strength_family import evidence_lines
from app.reports.strength_notes import all_notes, factor_words
from app.reports.strength_shown import Shown
from app.reports.strength_words import (
    Cell,
    cell,
    cells,
    failed_words,
    not_screened,
    parts_left_out,
    place,
    zones_of,
)
from app.studies.strength.agree import Sum
from app.studies.strength.compare import Compared
from app.studies.strength.proof_tests import Planned
from app.studies.strength.run import Screening
from app.studies.strength.sensitivity import Gain
from app.studies.strength.spoked import Spoked, Turned
from app.studies.strength.zones import Level, ZoneStress
from geometry.strength.cuts import Total
from geometry.strength.lip import Lip
from geometry.strength.loads import TestLoad
from geometry.strength.spokes import Bolts, Root

_HEADS = (
    "wheel",
    "case",
    "zone",
    "verdict",
    "use",
    "von_mises_mpa",
    "coarser_mpa",
    "converged",
    "z_mm",
    "r_mm",
    "greatest_mpa",
    "ratio",
    "life_cycles",
    "life_lower_cycles",
    "note",
)


def as_csv(*screenings: Screening) -> str:
    """Return case x zone of screenings as one table with a heading row; places in the hub's frame."""
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    table.writerow(_HEADS)
    for found in screenings:
        for one in cells(found):
            name = no_formula(found.ready.wheel.name)
            table.writerow([name, no_formula(one.case.name), one.zone.value, *_csv(found, one)])
    return out.getvalue()


def _csv(found: Screening, one: Cell) -> list[str]:
    row = one.row
    if row is None:
        return [one.verdict.value, *[""] * 10, no_formula(one.why)]
    z, r = place(found, row.at)
    life = row.levels[0].life if row.levels else None
    return [
        one.verdict.value,
        _shown(row.use, 3),
        _shown(row.von_mises_mpa, 2),
        _shown(row.before_mpa, 2),
        "yes" if row.converged else "no",
        f"{z:.2f}",
        f"{r:.2f}",
        _shown(row.greatest_mpa, 2),
        _shown(row.ratio, 3),
        "" if life is None or life.mean is None else f"{life.mean:.4g}",
        "" if life is None or life.lower is None else f"{life.lower:.4g}",
        no_formula(_note(one, row)),
    ]


def _note(one: Cell, row: ZoneStress) -> str:
    return "; ".join(dict.fromkeys(filter(None, [one.why, *row.note.split("; ")])))


def _shown(value: float | None, digits: int) -> str:
    return "" if value is None else f"{value:.{digits}f}"


def as_json(shown: Shown) -> dict[str, Any]:
    """Return a screening as plain values; lengths in mm, places [z, r] in the hub's frame."""
    found, against, ready = shown.found, shown.against, shown.found.ready
    tyre, metal = ready.tyre, ready.metal
    return {
        "format": 1,
        "wheel": ready.wheel.name,
        "load": {
            "kg": ready.load_kg,
            "basis": ready.wheel.rating.basis.value,
            "edition": ready.wheel.rating.edition,
        },
        "tyre": {
            "size": ready.wheel.tyre.strip(),
            "rolling_mm": tyre.dynamic_mm,
            "static_mm": tyre.static_mm,
            "outside_mm": tyre.outside_mm,
        },
        "metal": {
            "name": metal.name,
            "yield_mpa": metal.yield_mpa,
            "ultimate_mpa": metal.ultimate_mpa,
            "source": metal.source,
            "curve": None if metal.sn is None else metal.sn.source,
        },
        "factors": dict(vars(found.factors)),
        "not_included": [name for name, words in factor_words(found.factors) if words == "not included"],
        "cases": [{**_case(case), "failed": _failed(found, case)} for case in found.cases],
        "zones": [_zone(found, one, one.row) for one in cells(found) if one.row is not None],
        "not_screened": [zone.value for zone in not_screened(found)],
        "left_out": parts_left_out(found),
        "spokes": [_spoked(one) for one in found.spoked],
        "torque": [_turned(one) for one in found.turned],
        "series": [vars(one) for one in found.series],
        "lip": {lip.lip.value: _lip(found, lip) for lip in found.lips},
        "against": None if against is None else _against(against, shown.figures),
        "per_mm": None if shown.case is None else {"case": shown.case.name, "zones": _gains(shown.gains)},
        "calibration": [vars(c) for c in shown.evidence.found],
        "records": list(evidence_lines(shown.evidence)),
        "plan": [_planned(p) for p in shown.evidence.plan],
        "notes": all_notes(found),
        "caution": found.caution,
    }


def _case(case: TestLoad) -> dict[str, Any]:
    load = {
        "moment_nm": case.moment_nm,
        "force_n": case.force_n,
        "lateral_n": case.lateral_n,
        "pressure_mpa": case.pressure_mpa,
        "torque_nm": case.torque_nm,
        "energy_j": case.energy_j,
        "striker_kg": case.striker_kg,
        "drop_mm": case.drop_mm,
        "speed_m_s": case.speed_m_s,
    }
    return {
        "name": case.name,
        "key": case.key,
        "standard": case.standard,
        "kind": case.kind.value,
        **{key: value for key, value in load.items() if value is not None},
        "cycles": case.levels[0][1] if case.levels else None,
        "levels": [{"share": share, "cycles": cycles} for share, cycles in case.levels],
        "clamp": case.clamp.value,
        "source": case.source,
        "status": case.status.value,
        "constants": [
            {"symbol": k, "value": c.value, "source": c.source, "status": c.status.value}
            for k, c in case.constants.items()
        ],
        "note": case.note,
    }


def _zone(found: Screening, one: Cell, row: ZoneStress) -> dict[str, Any]:
    return {
        "zone": row.zone.value,
        "case": row.case,
        "von_mises_mpa": row.von_mises_mpa,
        "at": list(place(found, row.at)),
        "life_cycles": row.life_cycles,
        "note": _note(one, row),
        "verdict": one.verdict.value,
        "use": row.use,
        "exercised": row.exercised,
        "converged": row.converged,
        "life_converged": row.life_converged,
        "coarser_mpa": row.before_mpa,
        "greatest_mpa": row.greatest_mpa,
        "ratio": row.ratio,
        "levels": [_level(level) for level in row.levels],
    }


def _failed(found: Screening, case: TestLoad) -> list[str]:
    """Return the records that failed, give no factor, and leave some zone of a case not known."""
    names = (name for zone in zones_of(found) for name in cell(found, case, zone).failed)
    return list(dict.fromkeys(names))


def _level(level: Level) -> dict[str, Any]:
    return {
        "share": level.share,
        "cycles": level.cycles,
        "life_cycles": level.life.mean,
        "life_lower_cycles": level.life.lower,
        "damage": level.damage,
        "note": level.life.note,
    }


def _spoked(one: Spoked) -> dict[str, Any]:
    return {
        "case": one.case,
        "smeared": [_root(root) for root in one.smeared],
        "beams": [_root(root) for root in one.beams],
        "carried_nm": one.sums[0].beams.moment_nmm / 1000.0 if one.sums else None,
        "smeared_nm": one.sums[0].section.moment_nmm / 1000.0 if one.sums else None,
        "sums": [_sum(total) for total in one.sums],
        "bolts": None if one.bolts is None else _bolts(one.bolts),
        "note": one.note,
    }


def _root(root: Root) -> dict[str, Any]:
    return {
        "place": root.place,
        "r_mm": root.r_mm,
        "axial_n": root.axial_n,
        "radial_n": root.radial_n,
        "moment_nm": root.moment_nmm / 1000.0,
        "bending_mpa": root.bending_mpa,
        "shear_mpa": root.shear_mpa,
        "side_mpa": root.side_mpa,
        "twist_mpa": root.twist_mpa,
        "at_deg": root.at_deg,
        "turn_mpa": root.equivalent_mpa,
        "moving": [_KEYS.get(name, name) for name in root.moving],
    }


#: Keys of figures that are called otherwise here.
_KEYS = {"moment_nmm": "moment_nm", "equivalent_mpa": "turn_mpa"}


def _sum(one: Sum) -> dict[str, Any]:
    return {
        "place": one.place,
        "r_mm": one.r_mm,
        "smeared": _total(one.section),
        "beams": _total(one.beams),
        "off": one.off,
        "agrees": one.agrees,
    }


def _total(total: Total) -> dict[str, float]:
    return {
        "axial_n": total.axial_n,
        "across_n": total.across_n,
        "moment_nm": total.moment_nmm / 1000.0,
        "torque_nm": total.torque_nmm / 1000.0,
    }


def _bolts(found: Bolts) -> dict[str, Any]:
    return {
        "bolt_n": found.bolt_n,
        "seat_mpa": found.seat_mpa,
        "ligament_mm": found.ligament_mm,
        "pad_mpa": found.pad_mpa,
    }


def _lip(found: Screening, lip: Lip) -> dict[str, Any]:
    return {
        "stiffness_n_mm": lip.stiffness_n_mm,
        "peak_mpa_kn": lip.peak_mpa_kn,
        "at": list(place(found, lip.at)),
        "yield_n": lip.yield_n,
        "yield_j": lip.yield_j,
        "yield_converged": lip.lip not in found.moving_lips,
        "dent_mm": lip.dent_mm,
        "dent_j": lip.dent_j,
    }


def _turned(one: Turned) -> dict[str, Any]:
    return {
        "case": one.case,
        "spoke_n": None if one.spokes is None else one.spokes.force_n,
        "root_mpa": None if one.spokes is None else list(one.spokes.root_mpa),
        "pin_n": one.pin_n,
        "pin_mpa": one.pin_mpa,
        "note": one.note,
    }


def _gains(gains: Sequence[Gain]) -> list[dict[str, Any]]:
    return [
        {
            "zone": g.zone.value,
            "kg": g.kg,
            "mpa": {zone.value: x for zone, x in g.mpa.items()},
            "best": None if g.best is None else g.best.value,
            "best_mpa_kg": g.best_mpa_kg,
        }
        for g in gains
    ]


def _planned(planned: Planned) -> dict[str, Any]:
    return {
        "test": planned.test,
        "standard": planned.standard,
        "wheel": planned.wheel,
        "why": planned.why,
        "samples": planned.samples,
        "count": planned.count,
        "levels": [
            {
                **vars(level),
                "struck": level.struck and level.struck.value,
                "covered_by": list(level.covered_by),
            }
            for level in planned.levels
        ],
        "source": planned.source,
        "covered_by": list(planned.covered_by),
        "failed": list(planned.failed),
        "not_counted": list(planned.not_counted),
        "open": planned.open_count,
        "cost": planned.cost,
    }


def _against(other: Screening, figures: Sequence[Compared]) -> dict[str, Any]:
    return {
        "wheel": other.ready.wheel.name,
        "lip": {lip.lip.value: _lip(other, lip) for lip in other.lips},
        "left_out": parts_left_out(other),
        "failed": failed_words(other),
        "figures": [
            {
                "name": f.name,
                "unit": f.unit,
                "first": f.first,
                "second": f.second,
                "ratio": f.ratio,
                "converged": f.converged,
                "bounds": list(f.bounds),
            }
            for f in figures
        ],
    }
