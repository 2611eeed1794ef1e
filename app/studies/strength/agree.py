"""How far the smeared section and single beams agree on what a spoke carries."""

from __future__ import annotations

from collections.abc import Sequence

from geometry.readings.chords import along_z
from geometry.shape.curve import Path
from geometry.strength.spokes import Root, Spoke

#: A cut through this share more metal than the spokes' passes rim or hub too.
_PURE = 0.005
#: From the hub pad to the first cut, mm: its edge still holds what lies over it.
_OFF_PAD_MM = 3.0
#: Nearer than this to one another, as a share, two figures agree.
AGREES = 0.15

#: What is known of how radial forces differ: equilibrium of the smeared ring, and forces of a free beam.
_RADIAL = (
    "not found to agree: a smeared ring hands shear on from spoke to spoke, so that it falls with 1/r, and"
    " takes next to no twist of a spoke; along a single spoke neither changes"
)
#: Where moments come to differ.
_MOMENT = "along a spoke it grows by the axial force"
#: What single spokes have besides.
_AXIAL = "single spokes carry part of the moment by their twist, the smeared section all of it by these"


def cuts_of(path: Path, spoke: Spoke, pad_mm: float) -> list[float]:
    """Return the radii, rising, where both models are held against each other: hub, weakest place, rim.

    Only cuts through nothing but spokes count: nearer the rim a cylinder also passes the rim's own metal,
    whose hoop it would read as the spokes' force.

    Args:
        path: the section's outline.
        spoke: of it.
        pad_mm: outer radius of the hub pad.
    """
    pure = [
        float(r)
        for r, depth in zip(spoke.r, spoke.axial_depth, strict=True)
        if r > pad_mm + _OFF_PAD_MM and sum(b - a for a, b in along_z(path, float(r))) <= (1 + _PURE) * depth
    ]
    # One station from the ends: a cut follows edges of the mesh.
    inner = pure[1:-1] or [float(spoke.r[len(spoke.r) // 2])]
    weakest = min(max(spoke.weakest_mm, inner[0]), inner[-1])
    return sorted({inner[0], weakest, inner[-1]})


def agreement_words(smeared: Sequence[Root], beams: Sequence[Root]) -> str:
    """Return beams over smeared section, component by component, and what is known of why one does not agree.

    Args:
        smeared: at the same radii as the beams, hub first.
        beams: of single spokes.
    """
    ends = [(smeared[0], beams[0]), (smeared[-1], beams[-1])]
    axial = [b.axial_n / s.axial_n for s, b in ends]
    moment = [b.moment_nmm / s.moment_nmm for s, b in ends]
    radial = [b.radial_n / s.radial_n for s, b in ends]
    stress = [b.bending_mpa / s.bending_mpa for s, b in ends]
    off = max(abs(b.radial_n - s.radial_n) for s, b in ends)
    words = "one spoke, single beams over smeared section, at hub and rim: " + ", ".join(
        f"{name} {hub:.2f} and {rim:.2f}"
        for name, (hub, rim) in (
            ("axial force", axial),
            ("moment", moment),
            ("radial force", radial),
            ("bending stress", stress),
        )
    )
    reasons = []
    if any(abs(x - 1.0) > AGREES for x in axial):
        reasons.append(f"axial force: {_AXIAL}")
    if any(abs(x - 1.0) > AGREES for x in moment):
        reasons.append(f"moment: {_MOMENT}; take the greater stress (use by zone rests on the section)")
    if any(abs(x - 1.0) > AGREES for x in radial):
        reasons.append(f"radial force: {_RADIAL}; {off:.0f} N at most")
    return "; ".join([words, *reasons])
