"""The forging of a blank: the usable outline with all that may be missing, which the dies are drawn to.

What is paid, pressed, heated and cut off is this one; the usable outline in it is what wheels can rely on.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from app.studies.dies_asked import without_slug
from app.studies.forging_needs import ForgingSettings
from app.studies.made_blank import outline_sizes
from geometry.forging.composite import Forgeable
from geometry.forging.plan import BlankSizes
from geometry.forging.starting import starting_tolerances
from geometry.forging.to_draw import drawn_round
from geometry.forging.usable import surplus_mm3
from geometry.readings.solid import volume_mm3
from geometry.shape.blank import Blank, Cause, Tolerance
from geometry.shape.curve import Path


@dataclass(frozen=True, eq=False)
class Forged:
    """A blank as it leaves the dies.

    Attributes:
        path: outline to draw, its hub solid. mass_kg: of it.
        tolerances: that it was drawn with; none where the stock holds what may be missing.
        sizes: what of it decides its forging.
        lathe: the outline as it comes to the lathe, its hub pierced where that was asked for.
        slug_kg: pierced out of it; the forging holds it, no wheel's chips do.
        surplus_kg: more where dies do not close, are worn, or the ring's end comes long: all plus sides.
    """

    path: Path
    mass_kg: float
    tolerances: tuple[Tolerance, ...]
    sizes: BlankSizes
    lathe: Path
    slug_kg: float
    surplus_kg: float

    @property
    def words(self) -> str:
        """Which outline it is, for the source of a blank."""
        if self.tolerances:
            return "the outline to draw, its tolerances starting values"
        return "what may be missing is held by the stock"

    @property
    def lathe_kg(self) -> float:
        """Mass that comes to the lathe."""
        return self.mass_kg - self.slug_kg


def forged(
    usable: Path,
    mass_kg: float,
    settings: ForgingSettings,
    *,
    pierced_mm: float | None = None,
) -> Forged:
    """Return the forging of a usable outline, drawn with the starting values of its size.

    Args:
        usable: outline that can be relied on, mm.
        mass_kg: of it.
        settings: its drafts and fillets, which the forging keeps, and whether the stock holds what may be
            missing.
        pierced_mm: diameter of a hole pierced in its hub; None for a solid one.

    Raises:
        GeometryError: the outline is no blank's.
    """
    tolerances = () if settings.holds_missing else starting_tolerances(usable, mass_kg)
    path = to_draw(usable, tolerances, settings.how) if tolerances else usable
    mass = mass_kg * volume_mm3(path) / volume_mm3(usable)
    lathe, slug = without_slug(path, mass, pierced_mm)
    surplus = mass * surplus_mm3(path, tolerances) / volume_mm3(path)
    return Forged(path, mass, tolerances, outline_sizes(path), lathe, slug, surplus)


def of_tools(
    usable: Path, mass_kg: float, settings: ForgingSettings, owner: Blank
) -> tuple[Path, tuple[Tolerance, ...]]:
    """Return the outline to draw, mm, with the tolerances of the tools of another blank, and these.

    Where the stock holds what may be missing the usable outline is the one to draw, without tolerances.

    Args:
        usable: outline that can be relied on, mm.
        mass_kg: of it.
        settings: that it was found with.
        owner: whose tools they are.

    Raises:
        GeometryError: the outline is no blank's.
    """
    if settings.holds_missing:
        return usable, ()
    tolerances = owner.tolerances or starting_tolerances(usable, mass_kg)
    # The skin lies square to the outline as dents do, but is no tolerance of its own.
    dents = next((t for t in tolerances if t.cause is Cause.DENTS), Tolerance(Cause.DENTS))
    with_skin = replace(dents, minus_mm=dents.minus_mm + owner.skin_mm)
    others = [t for t in tolerances if t.cause is not Cause.DENTS]
    return to_draw(usable, (*others, with_skin), settings.how), tolerances


# The same blank is drawn for its sizes, its pages and its tools.
@lru_cache(8)
def _drawn(usable: Path, tolerances: tuple[Tolerance, ...], fillet_mm: float, outside_deg: float) -> Path:
    return drawn_round(usable, tolerances, fillet_mm, outside_deg)


def to_draw(usable: Path, tolerances: Sequence[Tolerance], how: Forgeable) -> Path:
    """Return the outline to draw round a usable one, its drafts and fillets kept."""
    return _drawn(usable, tuple(tolerances), how.fillet_mm, how.outside_deg)
