"""What `blankwright blank` says of the blank that was found: JSON, and text for a person."""

from __future__ import annotations

import textwrap
from dataclasses import asdict
from functools import partial
from typing import Any

from app.cli import told
from app.cli.terminal import printed
from app.project.project import Project
from app.reports.blank_masses import turned_ladder
from app.reports.numbers import Numbers, unit_of
from app.studies.composite import Composite
from app.studies.forging_needs import ForgingSettings
from app.studies.mixed_diameters import mixed_words

_STARTING = (
    "{forged}; closure and wear of the dies add. Draft, fillets, loss, flash, temperature and press speed "
    "are starting values until the shop's own."
)


def as_json(project: Project, result: Composite, settings: ForgingSettings) -> dict[str, Any]:
    """Return what was found, as documented in DEVELOPERS.md; money at the project's rates."""
    ladder, metric = turned_ladder(project, result), Numbers("mm")
    path = result.path
    rows = zip(path.points.tolist(), path.bulges.tolist(), strict=True)
    low, high = result.press_mn
    return {
        "format": 1,
        "mass_kg": result.mass_kg,
        "bound_kg": result.found.bound_kg,
        "is_proven": result.found.is_proven,
        "outline": [[z, r, bulge] for (z, r), bulge in rows],
        "log": {
            "diameter_mm": result.log.diameter_mm,
            "length_mm": result.log.length_mm,
            "mass_kg": result.log.mass_kg,
            "may_buckle": result.log.may_buckle,
        },
        "to_draw": {
            "mass_kg": result.forged.mass_kg,
            "surplus_kg": result.forged.surplus_kg,
            "web_mm": result.forged.sizes.web_mm,
            "outline": [list(row) for row in result.forged.path.rows()],
        },
        "press_mn": [low, high],
        "flow_mn": result.flow_mn,
        "fill_mn": list(result.fill_mn),
        "proved_mn": result.proved_mn,
        "plan": [
            {
                "step": s.name,
                "press": s.press.name,
                "capacity_mn": s.press.capacity_mn,
                "diameter_mm": s.diameter_mm,
                "height_mm": s.height_mm,
                "area_cm2": s.area_cm2,
                "stress_mpa": s.stress_mpa,
                "load_mn": [s.low_mn, s.high_mn],
                "fits": str(s.fits),
                "refused": s.refused_words(metric.long) or None,
            }
            for s in result.steps
        ],
        "warnings": [found.words(metric.long, metric.mass) for found in result.warnings],
        "diameters": [asdict(each) for each in result.diameters],
        "corner": None
        if result.corner is None
        else {
            "radius_mm": result.corner.corner_mm,
            "grown_mm": result.corner.grown_mm,
            "axially": result.corner.axially,
            "band_kg": [result.found.mass_kg, result.mass_kg],
        },
        "windows": [{"words": words, "costs_kg": kg} for words, kg in result.windows],
        "web_mm": result.web_mm,
        "parting": list(result.parting_mm),
        "slug_kg": result.forged.slug_kg,
        "ladder": [
            {
                "words": rung.words,
                "mass_kg": rung.mass_kg,
                "money": None if ladder.money is None else ladder.money[k],
                "wheels_kg": list(rung.wheels_kg),
            }
            for k, rung in enumerate(result.rungs)
        ],
        "wheels": [
            {
                "name": w.name,
                "seat_mm": w.seat_mm,
                "mass_kg": w.mass_kg,
                "chips_kg": w.chips_kg,
                "costs_others_kg": w.costs_others_kg,
                "decides": w.decides,
            }
            for w in result.wheels
        ],
    }


def as_text(project: Project, result: Composite, settings: ForgingSettings) -> str:
    """Return the result for a person: mass and proof, wheels, ladder of kilograms, log and press."""
    numbers, found = Numbers(unit_of(project)), result.found
    unit, bare = told.mass_unit(numbers), partial(told.bare_mass, numbers)
    proof = "proven" if found.is_proven else "not proven"
    z, r, slug_kg = result.parting_mm[0], result.forged.sizes.rim_mm, result.forged.slug_kg
    of = f"{len(result.wheels)} wheels" if len(result.wheels) > 1 else result.wheels[0].name
    asked = settings.how.parting_mm
    more = (" and least web", settings.how.web_mm > 0.0), (" and the height asked for", asked is not None)
    web = "without fillets" + "".join(words for words, is_asked in more if is_asked)
    lines = [
        f"Smallest forgeable blank of {of}: {numbers.mass(result.forged.mass_kg)} as forged, "
        f"{numbers.mass(result.mass_kg)} of it usable{_surplus_words(result, numbers)}",
        *([f"  {mixed_words(result.diameters, unit)}"] if result.diameters else []),
        f"  usable: {web} {numbers.mass(found.draft_mass_kg)}, "
        f"no lighter than {numbers.mass(found.bound_kg)} ({proof})",
        f"  greatest diameter {numbers.length(2.0 * r)}, dies meet at z {numbers.length(z)}"
        f"{'' if asked is None else ' as asked'}, least web {numbers.length(result.forged.sizes.web_mm)}",
        *(
            [f"  hub pierced {numbers.length(settings.pierced_mm)} wide: slug {numbers.mass(slug_kg)}"]
            if settings.pierced_mm is not None
            else []
        ),
        "",
        f"  {'wheel':<24} {'seat':>8} {'wheel ' + unit:>9} {'chips ' + unit:>9} "
        f"{'costs the others, usable ' + unit:>27}",
    ]
    for w in result.wheels:
        costs = "" if w.costs_others_kg is None else bare(w.costs_others_kg) if w.decides else "nothing"
        seat = numbers.length(w.seat_mm)
        lines.append(f"  {w.name:<24} {seat:>8} {bare(w.mass_kg):>9} {bare(w.chips_kg):>9} {costs:>27}")
    if settings.fits_drawn_alone:
        lines.append("  It fits only the drawn wheels: no window of insets and no headroom was asked for.")
    lines += [f"  window of {words}: +{numbers.mass(kg)} a blank" for words, kg in result.windows]
    if result.corner is not None:
        way = "drawn out along the axle" if result.corner.axially else "grown all round"
        by = numbers.length(result.corner.grown_mm)
        lines.append(
            f"  corners {numbers.radius(result.corner.corner_mm)}: {way} by {by}, from "
            f"{numbers.mass(found.mass_kg)}, no blank is lighter, to {numbers.mass(result.mass_kg)}"
        )
    elif settings.corner_mm:
        lines.append(f"  corners {numbers.radius(settings.corner_mm)}: the stock's own radius suffices")
    lines += told.ladder_lines(numbers, turned_ladder(project, result))
    log = result.log
    buckles = ", longer than three diameters: it may buckle" if log.may_buckle else ""
    lines += [
        "",
        f"  log {numbers.length(log.diameter_mm)} x {numbers.length(log.length_mm)}, "
        f"{numbers.mass(log.mass_kg, 1)} with {settings.loss:.0%} loss, "
        f"{log.slenderness:.2f} diameters long{buckles}",
        f"  last press: {told.load_words(result.flow_mn)} to move the metal, "
        f"{told.load_words(*result.fill_mn)} to fill corners against flash",
        *_plan(result, numbers),
        *textwrap.wrap(
            _STARTING.format(forged=_forged_words(settings)), 98, initial_indent="  ", subsequent_indent="  "
        ),
    ]
    return printed(lines)


def _surplus_words(result: Composite, numbers: Numbers) -> str:
    surplus = result.forged.surplus_kg
    return f"; closure and wear add up to {numbers.mass(surplus)}" if surplus > 0.0 else ""


def _forged_words(settings: ForgingSettings) -> str:
    if settings.holds_missing:
        return "The stock holds what may be missing: dies are drawn to the usable outline"
    return (
        "Log, loads, chips and money are of the outline as forged: the usable one with all that may be "
        "missing by starting values"
    )


def _plan(result: Composite, numbers: Numbers) -> list[str]:
    """Return the forging's steps, each load as a band against its press."""
    lines = [] if result.proved_mn is None else [f"  by what was proved: {told.load_words(result.proved_mn)}"]
    area, stress, load = told.press_units(numbers)
    lines += [
        "",
        f"  {'step':<12} {'press':<18} {'across':>8} {'height':>8} {area:>7} {stress:>6} {load:>14}",
    ]
    for s in result.steps:
        across, height = numbers.length(s.diameter_mm), numbers.length(s.height_mm)
        area, stress = told.press_area(numbers, s.area_cm2), told.press_stress(numbers, s.stress_mpa)
        load = " to ".join(told.press_load(numbers, each) for each in (s.low_mn, s.high_mn))
        refused = s.refused_words(numbers.long)
        why = f": {refused}" if refused else f" ({told.capacity_words(numbers, s.press.capacity_mn)})"
        lines.append(
            f"  {s.name:<12} {s.press.name:<18} {across:>8} {height:>8} {area:>7} {stress:>6} {load:>14}  "
            f"{s.fits}{why}"
        )
    return [*lines, *(f"  {found.words(numbers.long, numbers.mass)}" for found in result.warnings)]
