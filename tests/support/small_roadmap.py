"""An invented roadmap of two fitments and two blanks, out of the shipped parts of sample 2."""

from __future__ import annotations

from dataclasses import replace

from app import resources
from app.files.project_file import load
from app.project import demo_roadmap
from app.project.programme import Programme
from app.project.project import Fitment, Project
from geometry.shape.blank import BlankState, Supply

WIDE, NARROW = "wide", "narrow"
OWN, BOUGHT = "A18", "B18"
DIE, PRICE = 100_000.0, 700.0


def small() -> Project:
    """Two must rows over a large brake, 18 x 10 and 18 x 9.5; the own blank, and one like it bought."""
    project = load(resources.sample("2-track-18-bought-blank"))
    own = next(b for b in project.blanks if b.name == OWN)
    # What the sample says of its tools and runs is no part of this roadmap.
    own = replace(own, die_shared_by=None, holder=None, least_run=None, tools=None)
    like = replace(own, name=BOUGHT, supply=Supply.BOUGHT, state=BlankState.PROVED, price=PRICE)
    own = replace(own, state=BlankState.IDEA, die_cost=DIE, lead_weeks=40.0)
    rows = {f.name: f for f in demo_roadmap.fitments()}
    return replace(
        project,
        wheels=demo_roadmap.wheels()[:1],
        shapes=demo_roadmap.shapes(),
        blanks=(own, like),
        fitments=(_row(rows["R-10"], WIDE, 38.0), _row(rows["R-11"], NARROW, 32.0, 9.5)),
        programme=Programme(2027),
        currency="EUR",
    )


def _row(fitment: Fitment, name: str, inset: float, width: float = 10.0) -> Fitment:
    return replace(
        fitment,
        name=name,
        width_code=width,
        inset_low_mm=inset,
        inset_high_mm=inset,
        must=True,
        first_year=2028,
        last_year=2031,
        volume_likely=100,
    )
