"""The blank that `blankwright blank` found, held against the tools of a blank of the project."""

from __future__ import annotations

import argparse
import textwrap

from app.cli.terminal import printed
from app.project.project import Project
from app.reports.numbers import Numbers, unit_of
from app.reports.variant_words import ABOUT_TOOLS, variant_head, variant_lines
from app.studies.blank_variant import Answer, VariantCheck
from app.studies.composite import Composite
from app.studies.forging_needs import ForgingSettings
from app.studies.found_blank import against_tools
from app.studies.spun import SpunBlank
from geometry.errors import GeometryError
from geometry.shape.blank import Blank


def tools_of(args: argparse.Namespace, project: Project) -> Blank | None:
    """Return the blank whose tools the found one is held against, None where none are named.

    Raises:
        GeometryError: the project has no such blank, or it is itself made with another one's tools.
    """
    if args.tools is None:
        return None
    named = {b.name: b for b in project.blanks if b.variant_of is None}
    if args.tools in named:
        return named[args.tools]
    of = next((b.variant_of for b in project.blanks if b.name == args.tools), None)
    if of is not None:
        raise GeometryError(f"--tools {args.tools}: that blank is made with the tools of {of}; name {of}")
    known = ", ".join(named) or "none"
    raise GeometryError(f"--tools {args.tools}: no blank of this project; those with tools: {known}")


def variant_owner(args: argparse.Namespace, owner: Blank | None, check: VariantCheck | None) -> Blank | None:
    """Return the blank whose variant the found one is to be added as, None where that was not asked for.

    Raises:
        GeometryError: no tools are named, or it does not keep their limits.
    """
    if not args.variant:
        return None
    if owner is None or check is None:
        raise GeometryError("--variant: name the blank whose tools are meant with --tools")
    if args.out is None or args.out.suffix.lower() != ".blankwright":
        raise GeometryError("--variant: give the project that it is added to with --out FILE.blankwright")
    if args.spun:
        raise GeometryError("--variant: a spun blank has a mandrel of its own; leave --spun out")
    if check.answer is not Answer.WITHIN:
        off = ", ".join(f"{c.what}: {c.answer}" for c in check.checks if c.answer is not Answer.WITHIN)
        raise GeometryError(
            f"--variant: it is not within the limits of the tools of {owner.name} ({off}); see --tools "
            "without --variant"
        )
    return owner


def judged(
    owner: Blank | None, result: Composite, spun: SpunBlank | None, settings: ForgingSettings
) -> VariantCheck | None:
    """Return the found blank, or the ring that a spun one is forged as, held against tools; None for none."""
    if owner is None:
        return None
    density = result.found.mass_kg / result.found.blank.volume_mm3 * 1e9
    if spun is not None:
        return against_tools(spun.found.preform.path, spun.mass_kg, settings, density, owner)
    return against_tools(result.path, result.mass_kg, settings, density, owner)


def tools_text(project: Project, check: VariantCheck) -> str:
    """Return what the tools make of it, limit by limit, for a person."""
    lines = variant_lines(check, Numbers(unit_of(project)))
    told_by = [f"    {c.answer}: {line}" for c, line in zip(check.checks, lines, strict=True)]
    about = textwrap.wrap(ABOUT_TOOLS, 98, initial_indent="    ", subsequent_indent="    ")
    return printed([f"  {variant_head(check)}", *told_by, *about])
