"""What stands over the picture of a group's blank."""

from __future__ import annotations

from html import escape

from app.project.project import Project
from app.reports.blank_masses import mass_unit
from app.reports.numbers import Numbers, unit_of
from app.reports.press_words import load_words
from app.studies.composite import Composite
from app.studies.forging_needs import ForgingSettings
from app.studies.mixed_diameters import mixed_words
from app.units import format_length


def blank_head(result: Composite, settings: ForgingSettings, project: Project) -> str:
    """Return mass and proof, sizes, log and loads, and what else there is to know, as rich text."""
    numbers, found = Numbers(unit_of(project)), result.found
    proof = "proven the lightest" if found.is_proven else "not proven the lightest"
    beside = [
        *(["corners"] if result.corner is not None else []),
        *(["the height asked for"] if settings.how.parting_mm is not None else []),
    ]
    corner = "".join(f" and {words}" for words in beside)
    z, r = result.parting_mm
    log, (low, high) = result.log, result.fill_mn
    buckles = ", may buckle" if log.may_buckle else ""
    sizes = (2.0 * r, z, result.web_mm, log.diameter_mm, log.length_mm)
    diameter, parting, web, thick, long = (format_length(x, numbers.unit) for x in sizes)
    shared = (
        f"{escape(mixed_words(result.diameters, mass_unit(numbers.unit)))}<br>" if result.diameters else ""
    )
    return (
        f"{shared}<b>{numbers.mass(result.mass_kg)}</b>, {proof} but for fillets{corner} (no lighter than "
        f"{numbers.mass(found.bound_kg)}); diameter {diameter}, dies meet at z {parting}"
        f"{'' if settings.how.parting_mm is None else ' as asked'}, least web {web}<br>"
        f"log {thick} x {long}, {numbers.mass(log.mass_kg, 1)}{buckles}; last press "
        f"{load_words(result.flow_mn)} to move the metal, {load_words(low, high)} to fill corners"
        f"{_said(result, settings, numbers)}"
    )


def _said(result: Composite, settings: ForgingSettings, numbers: Numbers) -> str:
    """Return what else there is to know of the blank, each on a line of its own."""
    lines = []
    if settings.pierced_mm is not None:
        wide, slug = numbers.length(settings.pierced_mm), numbers.mass(result.slug_kg)
        lines.append(f"hub pierced {wide} wide: slug {slug}, kept as solid scrap")
    lines += [f"window of {escape(words)}: +{numbers.mass(kg)} a blank" for words, kg in result.windows]
    if settings.fits_drawn_alone:
        lines.append("it fits only the drawn wheels: no insets and no headroom were asked for")
    if result.corner is not None:
        band = f"{numbers.mass(result.found.mass_kg)} to {numbers.mass(result.mass_kg)}"
        lines.append(f"corners {numbers.radius(result.corner.corner_mm)}: a blank lies between {band}")
    if result.proved_mn is not None:
        lines.append(f"last press by what was proved: {load_words(result.proved_mn)}")
    lines += [escape(found.words(numbers.long, numbers.mass)) for found in result.warnings]
    return "".join(f"<br>{line}" for line in lines)
