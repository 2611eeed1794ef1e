"""What new blanks have as forged beyond their usable outlines, by diameter."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from app.studies.forged import forged
from app.studies.forging_needs import ForgingSettings
from app.studies.made_blank import made_blank
from geometry.errors import GeometryError
from geometry.forging.seats import seated

if TYPE_CHECKING:
    from app.studies.roadmap.new_blanks import Member


@dataclass(frozen=True)
class Allowance:
    """What a forging has beyond its usable outline, taken as the same for all new blanks of a diameter.

    It follows the outline's length, which groups of a diameter hardly differ in; a chosen blank's own is
    computed.

    Attributes:
        mass_kg: more than the usable outline. out_mm: farther out at the rim.
    """

    mass_kg: float = 0.0
    out_mm: float = 0.0


def allowances_of(members: Mapping[str, Member], forging: ForgingSettings) -> dict[float, Allowance]:
    """Return what a forging has beyond its usable outline, by diameter: of a fitment's own blank."""
    found: dict[float, Allowance] = {}
    for name in sorted(members):
        member = members[name]
        if member.diameter_code in found:
            continue
        try:
            one = seated(member.needs, forging.how, density_kg_m3=member.density_kg_m3)
            made = made_blank(one, None)
            drawn = forged(made.path, one.mass_kg, forging)
        except GeometryError:
            continue
        out = drawn.sizes.rim_mm - made.sizes.rim_mm
        found[member.diameter_code] = Allowance(drawn.mass_kg - one.mass_kg, out)
    return {m.diameter_code: found.get(m.diameter_code, Allowance()) for m in members.values()}
