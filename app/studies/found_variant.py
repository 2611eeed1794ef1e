"""A blank that was found, held against tools that another blank has, and as their variant."""

from __future__ import annotations

from dataclasses import replace

from app.studies.blank_variant import VariantCheck, check_outline
from geometry.forging.starting import starting_tolerances
from geometry.forging.usable import drawn_round
from geometry.shape.blank import Blank, Cause, Tolerance
from geometry.shape.curve import Path
from geometry.shape.outline import Corner


def against_tools(path: Path, mass_kg: float, density_kg_m3: float, owner: Blank) -> VariantCheck:
    """Return a usable outline, mm, of a mass held against the tools of a blank, by its outline to draw.

    Raises:
        GeometryError: an outline is not one, or not closed to the axle.
    """
    return check_outline(_to_draw(path, mass_kg, owner)[0], "The blank that was found", owner, density_kg_m3)


def as_variant(blank: Blank, path: Path, mass_kg: float, owner: Blank) -> Blank:
    """Return a found blank as a variant of the tools of another: its outline to draw, with their tolerances.

    It is drawn as forged, its hub not pierced: tools are held against that.

    Args:
        blank: as it would be added with tools of its own.
        path: its usable outline, mm.
        mass_kg: its mass.
        owner: whose tools they are.
    """
    drawn, tolerances = _to_draw(path, mass_kg, owner)
    rows = zip(drawn.points.tolist(), drawn.bulges.tolist(), strict=True)
    corners = tuple(Corner(z, r, bulge=bulge) for (z, r), bulge in rows)
    source = f"{blank.source.rsplit('; ', 1)[0]}; the outline to draw, its tolerances those of {owner.name}"
    return replace(
        blank,
        corners=corners,
        tolerances=tolerances,
        skin_mm=owner.skin_mm,
        slug_kg=None,
        source=source,
        holder=owner.holder,
        variant_of=owner.name,
    )


def _to_draw(path: Path, mass_kg: float, owner: Blank) -> tuple[Path, tuple[Tolerance, ...]]:
    """Return the outline to draw in mm, and the tolerances that it was drawn with."""
    tolerances = owner.tolerances or tuple(starting_tolerances(path, mass_kg))
    # The skin lies square to the outline as dents do, but is no tolerance of its own.
    dents = next((t for t in tolerances if t.cause is Cause.DENTS), Tolerance(Cause.DENTS))
    with_skin = replace(dents, minus_mm=dents.minus_mm + owner.skin_mm)
    others = [t for t in tolerances if t.cause is not Cause.DENTS]
    return drawn_round(path, [*others, with_skin]), tolerances
