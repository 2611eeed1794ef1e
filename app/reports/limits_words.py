"""What a second blank gives up against a first one, in words."""

from __future__ import annotations

from app.project.project import Project
from app.reports.numbers import Numbers, unit_of
from app.studies.limits_against import Against


def mass_words(project: Project, found: Against) -> str:
    """Return how much lighter or heavier the second blank is."""
    numbers = Numbers(unit_of(project))
    less = "lighter" if found.lighter_kg >= 0.0 else "heavier"
    names = f"{found.second.blank} against {found.first.blank}"
    return f"{names}: {numbers.mass(abs(found.lighter_kg))} {less} blank, and as much in chips"


def money_words(project: Project, found: Against) -> str:
    """Return how much cheaper or dearer a wheel from the second blank is, or what is missing to say so."""
    if found.cheaper is None:
        return "which is cheaper is not known: state price and dies of both in the blanks' details"
    money = f" {project.currency}" if project.currency else ""
    word = "cheaper" if found.cheaper >= 0.0 else "dearer"
    said = f"{abs(found.cheaper):,.2f}{money} {word} a wheel, with its share of the dies"
    holders = {b.holder for b in project.blanks if b.name in (found.first.blank, found.second.blank)} - {None}
    return f"{said}, without the holder that dies of a diameter share" if holders else said


def alone_words(found: Against) -> str:
    """Return how many cells can be cut from one of the two alone."""
    counts = ((found.first.blank, found.only_first), (found.second.blank, found.only_second))
    return "; ".join(
        f"cut from {blank} alone: {len(cells)} cell{'s' * (len(cells) != 1)}" for blank, cells in counts
    )
