"""What a wheel brings to its screening: outline, spokes, metal, tyre and load."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from app.project.project import Project
from app.project.strength import Basis, StrengthSettings
from app.project.tyres import (
    TyreError,
    load_of_index_kg,
    overall_diameter_mm,
    parse_tyre,
    static_loaded_radius_mm,
)
from app.project.wheel import Wheel
from app.studies.fit import spokes_of
from app.studies.usable_blank import drawn_path
from geometry.errors import GeometryError
from geometry.forging.thickest import thickest
from geometry.readings.solid import SpokeRegion
from geometry.shape.section import Outline, build
from geometry.strength.constants import CONSTANTS
from geometry.strength.loads import Tyre, check_tyre, wheel_force_n
from geometry.strength.metals import Metal, SnTable, row_for

#: Rolling circumference over overall diameter of a radial tyre: from memory, and in a public listing.
CIRCUMFERENCE = 3.05


@dataclass(frozen=True)
class Ready:
    """A wheel that can be screened.

    Attributes:
        outline, spokes: in the wheel's own frame, mounting face at z = 0.
        metal: row of properties; tyre: of the largest tyre named. thickest_mm: of the blank, picks the row.
        notes: what a reader must know of these. short: where the load that is screened is less than its
            rating comes to, the blank thicker than the metal's row, or spokes too few; such a wheel is not
            judged whole.
    """

    wheel: Wheel
    outline: Outline
    spokes: SpokeRegion | None
    metal: Metal
    tyre: Tyre
    load_kg: float
    thickest_mm: float | None
    notes: tuple[str, ...]
    short: tuple[str, ...] = ()


def ready(project: Project, wheel: Wheel) -> Ready:
    """Return what the screening needs of a wheel.

    Raises:
        GeometryError: the section has faults, or load, tyre or metal are missing or impossible; it says which
            and where to name them.
    """
    built = build(wheel.section)
    if isinstance(built, tuple):
        raise GeometryError(f"The section of {wheel.name} has faults: {built[0].message}", built[0].place)
    if wheel.load_kg is None:
        raise GeometryError(f"{wheel.name} has no wheel load: name it in the wheel's details.")
    wheel_force_n(wheel.load_kg)
    tyre = tyre_of(wheel)
    check_tyre(tyre, built.path.bounds[3])
    notes = [
        "tyre radii from its size: rolling 3.05 x overall diameter / 2 pi (from memory), static 12.7 x code +"
        " 0.78 H (secondary, 5 mm either way)"
    ]
    thick = _thickest(project, wheel)
    metal = metal_of(project, wheel.material, thick)
    if metal is None:
        raise GeometryError(
            f"{wheel.name} is of '{wheel.material}', which has no row of properties here: give its own in the"
            " material's dialog, or name 6061-T6,"
            " 2014-T6, 7075-T73 or ZK60A-T5."
        )
    thin: list[str] = []
    if thick is not None and thick > metal.thickest_mm:
        thin.append(
            f"the blank is {thick:.1f} mm thick, {thick - metal.thickest_mm:.1f} more than the row of"
            f" {metal.name} holds for: its least values are too high here; ask the forge"
        )
    if thick is None:
        notes.append(f"no blank named: properties of '{metal.name}' are taken; the blank's thickness decides")
    thin += _few_notes(wheel)
    told, short = _rating_notes(wheel)
    notes += told
    if metal.sn is None:
        notes.append(f"no fatigue curve of {metal.name} was found: no life is given")
    return Ready(
        wheel,
        built,
        spokes_of(replace(wheel, spacer_mm=0.0)),
        metal,
        tyre,
        wheel.load_kg,
        thick,
        tuple(notes),
        (*short, *thin),
    )


def metal_of(project: Project, name: str, thickest_mm: float | None) -> Metal | None:
    """Return the row of properties of a material: the user's own numbers before the published row.

    Args:
        project: that holds the material.
        name: of the material.
        thickest_mm: of the blank, picks the published row; None where it is not known.
    """
    row = row_for(name, thickest_mm)
    own = next((m for m in project.materials if m.name == name), None)
    if own is None:
        return row
    if own.elastic_mpa is not None:
        row = Metal(
            own.name,
            own.elastic_mpa,
            own.poisson or 0.0,
            own.density_kg_m3,
            own.yield_mpa or 0.0,
            own.ultimate_mpa or 0.0,
            0.0,
            own.strength_source or "the user's own",
        )
    if row is not None and own.fatigue:
        points = tuple((p.cycles, p.stress_mpa) for p in own.fatigue)
        row = replace(
            row, sn=SnTable(points, own.fatigue_ratio, own.fatigue_source or "the user's own table")
        )
    return row


def _few_notes(wheel: Wheel) -> list[str]:
    """Return that spokes stand wider apart than the arc over which a tyre presses, where they do."""
    count = wheel.spokes.count if wheel.spokes is not None else 0
    arc = 2.0 * CONSTANTS["R124 rolling"]["theta0"].value
    if not 0 < count < 360.0 / arc:
        return []
    return [
        f"{count} spokes stand {360.0 / count:.0f} degrees apart, more than the {arc:.0f} over which a tyre"
        " presses: the rim between them bends more than a smeared spoke zone shows; its figures are too low"
    ]


def _rating_notes(wheel: Wheel) -> tuple[list[str], list[str]]:
    """Return where the wheel load comes from, and by how much it is less than that comes to."""
    rating = wheel.rating
    index = None
    if rating.basis is Basis.TYRE_INDEX and wheel.tyre.strip():
        size = parse_tyre(wheel.tyre)
        index = None if size.load_index is None else load_of_index_kg(size.load_index)
    comes_to = rating.load_kg(index)
    short: list[str] = []
    notes = [f"wheel load {wheel.load_kg:g} kg, {rating.basis.value}"]
    if rating.edition:
        notes.append(f"edition: {rating.edition}")
    if rating.basis is not Basis.STATED and comes_to is None:
        notes.append(f"{rating.basis.value}: its numbers are not given, so that the load cannot be checked")
    elif comes_to is not None and wheel.load_kg is not None and comes_to > wheel.load_kg + 0.05:
        short.append(
            f"{rating.basis.value} comes to {comes_to:.1f} kg, {comes_to - wheel.load_kg:.1f} kg more than"
            " the wheel load that is screened: raise the wheel load"
        )
    return notes, short


def tyre_of(wheel: Wheel) -> Tyre:
    """Return the radii of the wheel's tyre.

    Raises:
        GeometryError: no tyre is named, its text is no size, or it is one of another rim.
    """
    if not wheel.tyre.strip():
        raise GeometryError(
            f"{wheel.name} names no tyre: the tests' loads need its radius; name it in the wheel's details."
        )
    try:
        size = parse_tyre(wheel.tyre)
    except TyreError as error:
        raise GeometryError(f"{wheel.name}: {error}") from error
    if size.rim_code != wheel.size.diameter_code:
        raise GeometryError(
            f"{wheel.name}: {size} fits a rim of {size.rim_code:g}; this rim is "
            f"{wheel.size.diameter_code:g}: name a tyre of this rim in the wheel's details."
        )
    outside = overall_diameter_mm(size)
    return Tyre(CIRCUMFERENCE * outside / (2.0 * math.pi), static_loaded_radius_mm(size), outside)


def _thickest(project: Project, wheel: Wheel) -> float | None:
    """Return the thickest place of the wheel's blank as forged, mm; None without a blank."""
    blank = next((b for b in project.blanks if b.name == wheel.blank), None)
    if blank is None:
        return None
    return thickest(drawn_path(blank))[0]


def settings_of(project: Project) -> StrengthSettings:
    """Return how a project screens for strength."""
    return project.strength
