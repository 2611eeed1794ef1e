"""One screened wheel for all tests of a process."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

from app.files.project_file import load
from app.project.project import Project
from app.project.strength import SHIPPED_STRENGTH
from app.project.wheel import Wheel
from app.resources import samples
from app.studies.strength.run import Screening, screen

FEW = replace(SHIPPED_STRENGTH, cases=("R124 bending", "JWL bending", "R124 rolling", "13 degree impact"))


@lru_cache(maxsize=1)
def track() -> tuple[Project, Wheel]:
    """Return the first sample and its first wheel, Track 18."""
    project = load(samples()[0])
    return project, project.wheels[0]


@lru_cache(maxsize=1)
def screened() -> Screening:
    """Return its screening under FEW, on the mesh that is set when it is first asked for."""
    return screen(*track(), FEW)
