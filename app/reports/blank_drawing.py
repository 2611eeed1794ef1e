"""The blank of a group as a drawing for the forge, to be written as DXF."""

from __future__ import annotations

from app.files.writers.dxf import BLANK, WHEEL, Drawing, Layer
from app.project.caution import CAUTION
from app.studies.composite import Composite
from app.studies.forging_needs import ForgingSettings


def blank_drawing(name: str, result: Composite, settings: ForgingSettings) -> Drawing:
    """Return a group's blank for the forge: outline in full, finished wheels phantom, notes."""
    how, (z, r) = settings.how, result.parting_mm
    wheels = tuple(
        Layer(f"{WHEEL} {words}", (path,), color=8, chain_dotted=True) for words, path in result.held
    )
    parting = Layer("PARTING", lines=(((z, r - 10.0), (z, r + 20.0)),), color=1, chain_dotted=True)
    notes = (
        name,
        f"draft {how.outside_deg:g} deg outside, {how.inside_deg:g} inside, fillets R{how.fillet_mm:g} least",
        f"parting line at z {z:.2f}, r {r:.2f}; {result.mass_kg:.2f} kg as drawn",
        "usable outline: closure, mismatch, wear and corner radii come on top",
        *(f"{w.name}: mounting face at z {w.seat_mm:.2f}" for w in result.wheels),
        CAUTION,
    )
    return Drawing((Layer(BLANK, (result.path,)), *wheels, parting), notes)
