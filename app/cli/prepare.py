"""Making the machine code of the live readings on the first start, so that no later call waits for it."""

from __future__ import annotations

import sys

import numpy as np

from app.files.project_file import load
from app.resources import samples
from app.studies.fit import hold
from geometry.compiled import is_prepared, set_prepared
from geometry.readings.bands import strips
from geometry.readings.measure import Held, measure
from geometry.readings.profile import profile, walls_along
from geometry.shape.hatch import hatch
from geometry.shape.section import Outline, build

WORDS = "Preparing the geometry for this machine, once: about half a minute"


def prepare() -> None:
    """Read every sample, clear and touching, as the window would."""
    for path in samples():
        project = load(path)
        for wheel in project.wheels:
            outline, held = build(wheel.section), hold(project, wheel)
            if isinstance(outline, Outline) and isinstance(held, Held):
                measure(outline, held)
                profile(outline, held)
                _draw(outline)
    from app.files.readers import mesh  # the window takes its words from here, and needs no reader

    mesh.prepare()
    set_prepared()


def _draw(outline: Outline) -> None:
    """Ask for what the drawing of a wheel does."""
    walls = walls_along(outline)
    strips(outline, walls.piece, np.zeros_like(walls.piece), 1, 1.0)
    outline.path.at(walls.piece, walls.share)
    outline.path.tangents(walls.piece, walls.share)
    hatch(outline.path.flattened(), 5.0)


def prepare_once() -> None:
    """Prepare where that has not been done, with a word on standard error."""
    if not is_prepared():
        print(f"blankwright: {WORDS[0].lower()}{WORDS[1:]} ...", file=sys.stderr)
        prepare()
