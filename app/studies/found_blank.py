"""A blank that was found for a group, as one of the project or as a variant of other tools."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from app.project import edits
from app.project.project import Project
from app.project.wheel import Wheel
from app.studies.blank_variant import VariantCheck, check_outline
from app.studies.composite import Composite, GroupWheel
from app.studies.forged import of_tools
from app.studies.forging_needs import ForgingSettings
from geometry.shape.blank import Blank
from geometry.shape.curve import Path
from geometry.shape.outline import Corner


def as_forged(result: Composite, name: str, settings: ForgingSettings) -> Blank:
    """Return the outline to draw as a blank of a project, own and an idea, with where it comes from.

    It has the tolerances that it was drawn with; none where the stock holds what may be missing.
    """
    forged, how, of = result.forged, settings.how, ", ".join(w.name for w in result.wheels)
    return Blank(
        name,
        _corners(forged.lathe),
        parting_mm=result.parting_mm[0],
        source=f"smallest forgeable blank of {of}; draft {how.outside_deg:g} outside, {how.inside_deg:g} "
        f"inside, fillets {how.fillet_mm:g}; {forged.words}",
        tolerances=forged.tolerances,
        slug_kg=forged.slug_kg or None,
    )


def as_variant(blank: Blank, result: Composite, settings: ForgingSettings, owner: Blank) -> Blank:
    """Return a found blank as a variant of the tools of another: its outline to draw, with their tolerances.

    It is drawn as forged, its hub not pierced: tools are held against that.

    Args:
        blank: as it would be added with tools of its own.
        result: what was found.
        settings: that it was found with.
        owner: whose tools they are.
    """
    drawn, tolerances = of_tools(result.path, result.mass_kg, settings, owner)
    source = blank.source
    if tolerances:
        source = f"{source.rsplit('; ', 1)[0]}; the outline to draw, its tolerances those of {owner.name}"
    return replace(
        blank,
        corners=_corners(drawn),
        tolerances=tolerances,
        skin_mm=owner.skin_mm if tolerances else blank.skin_mm,
        slug_kg=None,
        source=source,
        holder=owner.holder,
        variant_of=owner.name,
    )


def against_tools(
    path: Path, mass_kg: float, settings: ForgingSettings, density_kg_m3: float, owner: Blank
) -> VariantCheck:
    """Return a usable outline, mm, of a mass held against the tools of a blank, by its outline to draw.

    Raises:
        GeometryError: an outline is not one, or not closed to the axle.
    """
    drawn, _ = of_tools(path, mass_kg, settings, owner)
    return check_outline(drawn, "The blank that was found", owner, density_kg_m3)


def cut_from_blank(project: Project, name: str, wheels: Sequence[GroupWheel]) -> Project:
    """Return the project with each wheel of a group naming a blank of it, at the seat that was found.

    Raises:
        EditError: a wheel that the project does not hold.
    """
    for each in wheels:
        wheel: Wheel = edits.find(project, edits.WHEEL, each.name)
        moved = replace(wheel, blank=name, seat_mm=-each.seat_mm)
        project = edits.replaced(project, edits.WHEEL, each.name, moved)
    return project


def _corners(path: Path) -> tuple[Corner, ...]:
    return tuple(Corner(z, r, bulge=bulge) for z, r, bulge in path.rows())
