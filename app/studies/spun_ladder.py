"""The ladder of a spun blank: where its kilograms are, and where in its half-section they lie."""

from __future__ import annotations

import numpy as np
import shapely

from app.studies.ladder import Rung
from geometry.forging.corner import FLAT_MM
from geometry.forging.profile import HIGH, LOW, clipped, heights
from geometry.forging.spinning import Spun
from geometry.shape.curve import Array

#: Places along the ring at which its skins are read, beside their own ends.
_PLACES = 600
#: Beyond every ring, mm.
_FAR_MM = 10_000.0


def spun_rungs(found: Spun, density_kg_mm3: float, trim_mm: float) -> tuple[Rung, ...]:
    """Return the rungs of a spun blank, from its disc to the forging that is paid for.

    Args:
        found: outline as spun, and its skins.
        density_kg_mm3: of the metal.
        trim_mm: length that is cut off after spinning.
    """
    v, skins, end = found.volumes, found.skins, found.end_mm
    whole = shapely.make_valid(shapely.Polygon(found.path.flattened(FLAT_MM)))
    z, _ = found.root
    beyond = shapely.Polygon([*_line(found.mandrel, end), (z, _FAR_MM), (end, _FAR_MM)])
    ring = shapely.make_valid(whole.intersection(shapely.make_valid(beyond)))
    needed = _between(skins.bore, skins.asked, end)
    draft = _between(found.mandrel, skins.bore, end)
    flanks = _between(skins.asked, skins.reached, end)
    wall = _between(skins.reached, skins.walled, end, float(found.outside[-1, HIGH]))
    root = ring.difference(shapely.union_all([needed, draft, flanks, wall]))
    (inner, outer) = (float(heights(f, np.array([0.0]))[0]) for f in (found.mandrel, found.outside))
    found_rungs: list[Rung] = []
    total = 0.0
    for words, volume, metal in (
        ("disc and outer lip between two dies, to the disc's root", v.disc, whole.difference(ring)),
        ("barrel and inner lip with their stock", v.needed, needed),
        ("draft of the mandrel", v.draft, draft),
        ("flanks and hollows that rollers do not reach", v.flanks, flanks),
        ("wall kept: least wall and greatest reduction", v.least_wall, wall),
        ("shoulder and back-flow at the disc's root", v.root, root),
        ("trim of the spun end", v.trim, shapely.box(end - trim_mm, inner, end, outer)),
    ):
        total += volume * density_kg_mm3
        found_rungs.append(Rung(words, total, metal))
    return tuple(found_rungs)


def _between(
    inner: Array, outer: Array, end_mm: float, most_mm: float = _FAR_MM
) -> shapely.geometry.base.BaseGeometry:
    """Return the half-section between two skins of the ring, where both are, no farther from its end."""
    reach = min(float(inner[-1, HIGH]), float(outer[-1, HIGH]), most_mm)
    rows = [*_line(inner, end_mm, reach), *reversed(_line(outer, end_mm, reach))]
    return shapely.make_valid(shapely.Polygon(rows))


def _line(skin: Array, end_mm: float, reach_mm: float | None = None) -> list[tuple[float, float]]:
    """Return places (z, r) of a skin from the ring's end on."""
    kept = clipped(skin, 0.0, float(skin[-1, HIGH]) if reach_mm is None else reach_mm)
    low, high = float(kept[0, LOW]), float(kept[-1, HIGH])
    x = np.unique(np.concatenate([np.linspace(low, high, _PLACES), kept[:, LOW], kept[:, HIGH]]))
    r = heights(kept, np.clip(x, low, high))
    return [(end_mm + float(a), float(b)) for a, b in zip(x, r, strict=True)]
