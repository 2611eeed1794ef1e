"""Random valid sections and shapes: closed outlines of lines and arcs that never cross themselves."""

from __future__ import annotations

import numpy as np
from hypothesis import strategies as st

from geometry.shape.curve import Path
from geometry.shape.outline import Corner, outline_path
from geometry.shape.rim import Humps, RimContour, WellSide
from geometry.shape.section import Outline, Section, Vertex, Zone, build

Rng = np.random.Generator

#: Whole and half sizes with every kind of hump and well.
rim_contours = st.builds(
    RimContour,
    diameter_code=st.integers(13, 22),
    width_code=st.integers(9, 26).map(lambda n: n / 2),
    flange=st.sampled_from(["J", "B", "JJ"]),
    humps=st.sampled_from(Humps),
    well=st.sampled_from(WellSide),
)


def random_ring(rng: Rng, centre: tuple[float, float], size: float, count: int) -> list[tuple[float, float]]:
    """Return a star-shaped counterclockwise ring of corners round a centre, radii 0.45 to 1 of size."""
    angles = np.sort(rng.uniform(0.0, 2.0 * np.pi, count))
    steps = np.linspace(0.0, 2.0 * np.pi, count, endpoint=False)
    angles = 0.35 * (angles - angles[0]) + 0.65 * steps
    reach = size * rng.uniform(0.45, 1.0, count)
    return [
        (centre[0] + d * np.cos(a), centre[1] + d * np.sin(a)) for a, d in zip(angles, reach, strict=True)
    ]


def random_shape(rng: Rng, centre: tuple[float, float], size: float) -> Path:
    """Return a random rounded outline about a centre; corners whose radius does not fit stay sharp."""
    ring = random_ring(rng, centre, size, int(rng.integers(4, 12)))
    corners = [Corner(z, r, float(rng.choice([0.0, size * 0.05, size * 0.12]))) for z, r in ring]
    for k, corner in enumerate(corners):
        if isinstance(outline_path(tuple(corners)), tuple):
            corners[k] = Corner(corner.z, corner.r)
    path = outline_path(tuple(corners))
    assert isinstance(path, Path), "a ring without corner radii never crosses itself"
    return path


_BRAKE = (Zone.INNER_LIP, Zone.BARREL, Zone.WELL, Zone.SHOULDER, Zone.SPOKE_BACK, Zone.HUB_PAD)
_STREET = (Zone.SPOKE_FACE, Zone.OUTER_LIP, Zone.OUTER_SEAT, Zone.INNER_SEAT)


def random_section(rng: Rng) -> Section:
    """Return a random valid L-shaped wheel section: barrel, disc, hub, with corner radii and arc edges."""
    half = rng.uniform(70.0, 150.0)
    wall = rng.uniform(4.0, 9.0)
    top = rng.uniform(190.0, 260.0)
    disc_z = rng.uniform(-20.0, 40.0)
    depth = rng.uniform(15.0, 35.0)
    hub, bore = rng.uniform(60.0, 80.0), rng.uniform(25.0, 45.0)
    thick = rng.uniform(30.0, 45.0)
    lean = rng.uniform(-12.0, 12.0)
    dip = rng.uniform(0.0, 12.0)
    rows: list[tuple[float, float, float, Zone]] = [
        (half, top, 2.0, Zone.OUTER_SEAT),
        (half * 0.6, top - dip, 6.0, Zone.WELL),
        (0.0, top - dip, 8.0, Zone.BARREL),
        (-half, top, 2.0, Zone.INNER_LIP),
        (-half, top - wall, 1.5, Zone.BARREL),
        (-0.1 * half, top - dip - wall, 5.0, Zone.SHOULDER),
        (disc_z, top - dip - wall - 2.0, 9.0, Zone.SPOKE_BACK),
        (disc_z + lean, hub, 6.0, Zone.SPOKE_BACK),
        (0.0 + min(disc_z + lean, 0.0) - 5.0, hub - 4.0, 2.0, Zone.HUB_PAD),
        (0.0 + min(disc_z + lean, 0.0) - 5.0, bore, 1.0, Zone.BORE),
        (min(disc_z + lean, 0.0) + thick, bore, 1.0, Zone.HUB_FACE),
        (min(disc_z + lean, 0.0) + thick, hub, 4.0, Zone.SPOKE_FACE),
        (max(disc_z + lean, disc_z) + depth + 3.0, hub + 12.0, 8.0, Zone.SPOKE_FACE),
        (disc_z + depth + 6.0, top - dip - wall - 6.0, 5.0, Zone.SPOKE_FACE),
        (half, top - wall, 1.5, Zone.OUTER_LIP),
    ]
    for _ in range(40):
        jitter = rng.uniform(-1.0, 1.0, (len(rows), 2))
        bulges = np.where(rng.uniform(size=len(rows)) < 0.25, rng.uniform(-0.08, 0.08, len(rows)), 0.0)
        vertices = tuple(
            Vertex(
                z + float(jitter[k, 0]),
                r + float(jitter[k, 1]),
                radius * float(rng.uniform(0.3, 1.0)) if rng.uniform() < 0.8 else 0.0,
                float(bulges[k]),
                zone,
            )
            for k, (z, r, radius, zone) in enumerate(rows)
        )
        section = Section(vertices)
        if isinstance(build(section), Outline):
            return section
    return random_section(rng)


def random_outline(rng: Rng) -> Outline:
    """Return the built outline of a random valid section."""
    outline = build(random_section(rng))
    assert isinstance(outline, Outline)
    return outline
