"""Making the machine code of the live readings on the first start, so that no later call waits for it.

Two processes make it side by side. Both look on the disk first, so that neither makes again what the other
has made.
"""

from __future__ import annotations

import os
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager

import numpy as np

from app import resources
from app.files.project_file import load
from app.studies.fit import hold
from geometry.compiled import is_prepared, kept_in, set_prepared
from geometry.readings.bands import levels, strips
from geometry.readings.columns import least_by_column
from geometry.readings.gap import gaps
from geometry.readings.measure import Held, measure
from geometry.readings.missing import missing_metal
from geometry.readings.moves import clearing_move
from geometry.readings.profile import profile, walls_along
from geometry.readings.solid import SpokeRegion, spoke_region
from geometry.shape.boxes import shared
from geometry.shape.curve import Path
from geometry.shape.distance import contains
from geometry.shape.edits import nearest_edge
from geometry.shape.hatch import hatch
from geometry.shape.section import ZONES, Outline, Section, Vertex, build

WORDS = "Preparing the geometry for this machine, once: about a minute"
#: It is given up after so long.
_LONGEST_S = 600.0


def prepare() -> None:
    """Read every sample, clear and touching, as the window would."""
    with _process_beside():
        for outline, held in _samples():
            measure(outline, held)
    _draw_samples()
    load_rare()
    from app.files.readers import mesh  # the window takes its words from here, and needs no reader

    mesh.prepare()
    set_prepared()


def prepare_beside() -> None:
    """Do what `prepare` does last, and end with the process that holds the other end of standard input."""
    threading.Thread(target=_end_with_parent, daemon=True).start()
    from app.files.readers import mesh

    mesh.prepare()
    _draw_samples()


def _end_with_parent() -> None:
    # Past Python's buffer: a thread that waits in that when the work is done makes Python abort at its end.
    os.read(sys.stdin.fileno(), 1)
    os._exit(1)


@contextmanager
def _process_beside() -> Iterator[None]:
    """Have another process prepare beside, and wait for it; what it could not do is left to this one."""
    if not kept_in():  # nothing that it made could be found
        yield
        return
    try:
        child = subprocess.Popen(
            resources.program("--prepare-beside"),
            stdin=subprocess.PIPE,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
    except OSError:
        yield
        return
    try:
        yield
        child.wait(_LONGEST_S)
    except subprocess.TimeoutExpired:
        pass
    finally:
        child.kill()
        child.communicate()


def _samples() -> Iterator[tuple[Outline, Held]]:
    for path in resources.samples():
        project = load(path)
        for wheel in project.wheels:
            outline, held = build(wheel.section), hold(project, wheel)
            if isinstance(outline, Outline) and isinstance(held, Held):
                yield outline, held


def _draw_samples() -> None:
    for outline, held in _samples():
        _draw(outline, held)


def load_rare() -> None:
    """Load what a drag comes to once in a while: a shape that is touched, radii that do not fit.

    Else the drag would stand still for a blink where it first does.
    """
    metal, shape = (Path.closed([(z, 0.0), (z + 10.0, 0.0), (z + 10.0, 10.0), (z, 10.0)]) for z in (0.0, 5.0))
    zone, every = np.zeros(len(metal), dtype=np.intp), np.ones(len(metal), dtype=np.bool_)
    gaps(metal, zone, every, shape)
    clearing_move(metal, shape, "z")
    contains(metal, shape.points)
    missing_metal(metal, shape, 0.0)
    spoke_region(metal, SpokeRegion(5, ((0.0, 1.0),), 2.0, (-1.0, 8.0), (11.0, 8.0)))
    for radius in (30.0, 6.0):  # neither fits: longer than an edge, and two on one edge
        corners = tuple(Vertex(z, r, radius) for z, r, _ in metal.rows())
        build(Section(corners))
    nearest_edge(corners, 0.0, 0.0)


def _draw(outline: Outline, held: Held) -> None:
    """Ask for what the drawing of a wheel does, and the strip below it."""
    along = profile(outline, held)
    values, needs = np.stack([along.gap_mm, along.wall_mm, along.stock_mm]), np.zeros((3, len(ZONES)))
    least_by_column(along.z, values, along.side == 0, along.zone, needs)
    walls = walls_along(outline)
    strips(outline, walls.piece, levels(walls.wall_mm, 0.0, 1.0, 1), 1, 1.0)
    outline.path.at(walls.piece, walls.share)
    outline.path.tangents(walls.piece, walls.share)
    hatch(outline.path.flattened(), 5.0)
    box = np.array([[0.0, 0.0, 1.0, 1.0]])
    shared(box, box)


def prepare_once() -> None:
    """Prepare where that has not been done, with a word on standard error."""
    if not is_prepared():
        print(f"blankwright: {WORDS[0].lower()}{WORDS[1:]} ...", file=sys.stderr)
        prepare()
