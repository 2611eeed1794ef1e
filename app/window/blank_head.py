"""What stands over the picture of a group's blank."""

from __future__ import annotations

from html import escape

from app.language import spoken, tr
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
    proof = tr("proven the lightest") if found.is_proven else tr("not proven the lightest")
    beside = [
        *([tr("corners")] if result.corner is not None else []),
        *([tr("the height asked for")] if settings.how.parting_mm is not None else []),
    ]
    corner = "".join(tr(" and {words}", words=words) for words in beside)
    z, r, web_mm = result.parting_mm[0], result.forged.sizes.rim_mm, result.forged.sizes.web_mm
    log, (low, high) = result.log, result.fill_mn
    buckles = tr(", may buckle") if log.may_buckle else ""
    sizes = (2.0 * r, z, web_mm, log.diameter_mm, log.length_mm)
    diameter, parting, web, thick, long = (format_length(x, numbers.unit) for x in sizes)
    mixed = spoken(mixed_words(result.diameters, mass_unit(numbers.unit))) if result.diameters else ""
    shared = f"{escape(mixed)}<br>" if mixed else ""
    return tr(
        "{shared}<b>{forged_kg}</b> as forged; {mass_kg} of it usable, {proof} but for fillets{corner} "
        "(no lighter than {bound_kg}); diameter {diameter}, dies meet at z {parting}{parting_mm}, least "
        "web {web}<br>log {thick} x {long}, {mass_kg_2}{buckles}; last press "
        "{load_words} to move the metal, {load_words_2} to fill corners{said}",
        shared=shared,
        forged_kg=numbers.mass(result.forged.mass_kg),
        mass_kg=numbers.mass(result.mass_kg),
        proof=proof,
        corner=corner,
        bound_kg=numbers.mass(found.bound_kg),
        diameter=diameter,
        parting=parting,
        parting_mm="" if settings.how.parting_mm is None else tr(" as asked"),
        web=web,
        thick=thick,
        long=long,
        mass_kg_2=numbers.mass(log.mass_kg, 1),
        buckles=buckles,
        load_words=load_words(result.flow_mn),
        load_words_2=load_words(low, high),
        said=_said(result, settings, numbers),
    )


def _said(result: Composite, settings: ForgingSettings, numbers: Numbers) -> str:
    """Return what else there is to know of the blank, each on a line of its own."""
    lines = list[str]()
    if result.forged.surplus_kg > 0.0:
        surplus = numbers.mass(result.forged.surplus_kg)
        lines.append(tr("dies that do not close, their wear and a long ring end add up to {kg}", kg=surplus))
    if settings.pierced_mm is not None:
        wide, slug = numbers.length(settings.pierced_mm), numbers.mass(result.forged.slug_kg)
        lines.append(tr("hub pierced {wide} wide: slug {slug}, kept as solid scrap", wide=wide, slug=slug))
    lines += [
        tr("window of {words}: +{kg} a blank", words=escape(words), kg=numbers.mass(kg))
        for words, kg in result.windows
    ]
    if settings.fits_drawn_alone:
        lines.append(tr("it fits only the drawn wheels: no insets and no headroom were asked for"))
    if result.corner is not None:
        band = tr(
            "{mass_kg} to {mass_kg_2}",
            mass_kg=numbers.mass(result.found.mass_kg),
            mass_kg_2=numbers.mass(result.mass_kg),
        )
        lines.append(
            tr(
                "corners {radius}: a usable blank lies between {band}",
                radius=numbers.radius(result.corner.corner_mm),
                band=band,
            )
        )
    if result.proved_mn is not None:
        lines.append(
            tr("last press by what was proved: {load_words}", load_words=load_words(result.proved_mn))
        )
    lines += [escape(spoken(found.words(numbers.long, numbers.mass))) for found in result.warnings]
    return "".join(f"<br>{line}" for line in lines)
