"""Does a tyre side hold the published limits of its size? Each limit that it breaks is named.

The tyre side may come from the standard contour, from an unlocked wheel or from a reader: nothing here asks
how it was drawn.

How two open points are judged:
    seat width P     from the flange face to the hump crest; without a hump, to the end of the straight seat
    place of well M  to the well's centre and to its near edge: both hold, both fail, or "not known"
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from geometry.shape.curve import Path
from geometry.shape.published import FlangeRow, Number, Status, flange_row, specified_diameter_mm, width_mm
from geometry.shape.rim import WellSide
from geometry.shape.rim_measure import Half, free_spans, measured_half, mirrored
from geometry.shape.section import Outline, Vertex

#: Rounding of a coordinate must not break a limit that is met exactly.
SLACK_MM = 1e-6
#: Two directions of one smooth joint differ by less than this; more is an edge that was not broken.
SMOOTH_DEG = 1.0
WIDTH_TOLERANCE_MM = Number(1.5, "tolerance on A, 5 J and wider", Status.MEMORY)
DIAMETER_TOLERANCE_MM = Number(0.4, "tolerance on D", Status.MEMORY)
SEAT_TOLERANCE_DEG = Number(1.0, "tolerance on the seat angle", Status.MEMORY)
EDGE_RADIUS_MIN = Number(0.5, "JIS D 4218:2021 figure 1: break corner", Status.READ)
HUMP_NEEDED = Number(1.0, "JIS D 4218:2021 figure 1: hump on the outer side for tubeless tyres", Status.READ)

Place = tuple[float, float] | None


@dataclass(frozen=True)
class Finding:
    """One limit and what the tyre side has.

    Attributes:
        symbol: published symbol, as H. side: "outer", "inner" or "" where it concerns both.
        found: what was measured, mm or degrees; None where it could not be.
        limit: the limit in words. holds: None where it cannot be judged.
        source, status: of the limit.
        place: (z, r) in the rim's frame, or None.
    """

    symbol: str
    side: str
    found: float | None
    limit: str
    holds: bool | None
    source: str
    status: Status
    place: Place = None

    def __str__(self) -> str:
        side = f", {self.side} side" if self.side else ""
        found = "not found" if self.found is None else f"{self.found:.2f}"
        word = "not known" if self.holds is None else "holds" if self.holds else "broken"
        return f"{self.symbol}{side}: {found}, limit {self.limit} ({self.source}, {self.status}): {word}"


def tyre_side(outline: Outline, inset_mm: float) -> Path:
    """Return the tyre side of a built section in the rim's frame, closed by one straight line at the end."""
    n = len(outline.path)
    first = next((i for i in range(n) if outline.side[i] == 0 and outline.side[i - 1] != 0), 0)
    order = [(first + k) % n for k in range(int(np.sum(outline.side == 0)))]
    points = np.vstack([outline.path.points[order], outline.path.ends[order[-1]][None, :]])
    return Path(points, np.append(outline.path.bulges[order], 0.0)).moved(dz=inset_mm)


def contour_path(vertices: Sequence[Vertex]) -> Path:
    """Return contour vertices as a path, closed by one straight line at the end."""
    return Path(np.array([(v.z, v.r) for v in vertices]), np.array([v.bulge for v in vertices[:-1]] + [0.0]))


def check_tyre_side(
    path: Path,
    diameter_code: float,
    width_code: float,
    flange: str = "J",
    well: WellSide | None = None,
    tubeless: bool = True,
) -> tuple[Finding, ...]:
    """Return every limit of a size with what a tyre side has: width, outer side, inner side, hump, well.

    Args:
        path: from the outboard flange edge to the inboard one, z from the rim centre plane; its last piece
            closes it and is not read.
        diameter_code: of the size, as 18.
        width_code: of the size, as 10.
        flange: letter of the size.
        well: side the tyre is mounted from; None takes the side that the well lies nearer to.
        tubeless: a hump is required on the outer side.

    Raises:
        GeometryError: the size is not known.
    """
    row = flange_row(diameter_code, flange)
    diameter = specified_diameter_mm(diameter_code)
    outer, inner = measured_half(path), measured_half(mirrored(path))
    out = [_width(outer, inner, width_mm(width_code))]
    out += _side(outer, "outer", row, diameter)
    out += _side(inner, "inner", row, diameter)
    out.append(_hump(outer, tubeless))
    return (*out, *_well(path, outer, inner, row, diameter / 2.0, well))


def broken(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """Return the findings that do not hold, broken ones before those not known."""
    return tuple(sorted((f for f in findings if f.holds is not True), key=lambda f: f.holds is None))


def _least(symbol: str, side: str, found: float | None, low: Number, place: Place, more: str = "") -> Finding:
    holds = None if found is None else found >= low.value - SLACK_MM
    return Finding(symbol, side, found, f"at least {low.value:g}{more}", holds, low.source, low.status, place)


def _near(
    symbol: str, side: str, found: float | None, nominal: float, tolerance: Number, place: Place
) -> Finding:
    holds = None if found is None else abs(found - nominal) <= tolerance.value + SLACK_MM
    limit = f"{nominal:g} +-{tolerance.value:g}"
    return Finding(symbol, side, found, limit, holds, tolerance.source, tolerance.status, place)


def _width(outer: Half, inner: Half, nominal: float) -> Finding:
    known = outer.face_z is not None and inner.face_z is not None
    found = (outer.face_z or 0.0) + (inner.face_z or 0.0) if known else None
    return _near("A", "", found, nominal, WIDTH_TOLERANCE_MM, None)


def _side(half: Half, side: str, row: FlangeRow, diameter: float) -> list[Finding]:
    """Return the findings on one flange and its seat."""
    sign = 1.0 if side == "outer" else -1.0
    top, edge = (sign * half.top_z, half.top_r), (sign * half.edge_z, half.top_r)
    seat: Place = None
    seat_d = None
    if half.face_z is not None and half.seat_r is not None:
        seat, seat_d = (sign * half.face_z, half.seat_r), 2.0 * half.seat_r
    b = None if half.face_z is None else half.edge_z - half.face_z
    height = Number(row.g_tolerance, row.g.source, row.g.status)
    p = ("P", row.p_min) if side == "outer" else ("P1", row.p1_min)
    out = [
        _least("B", side, b, row.b_min, edge),
        _near("G", side, half.top_r - diameter / 2.0, row.g.value, height, top),
        _least("R2", side, half.flange_radius, row.r2_min, top),
        _edge(half, side, edge),
        _near("D", side, seat_d, diameter, DIAMETER_TOLERANCE_MM, seat),
        _near("beta", side, half.seat_deg, 5.0, SEAT_TOLERANCE_DEG, seat),
        _least(p[0], side, half.seat_end_s, p[1], seat),
    ]
    if half.face_z is not None and half.top_z - half.face_z > row.b_min.value + SLACK_MM:
        limit = f"highest point within {row.b_min.value:g} of the flange face"
        source = ("JIS D 4218:2021 figure 1", Status.READ)
        out.append(Finding("B", side, half.top_z - half.face_z, limit, False, *source, top))
    return out


def _edge(half: Half, side: str, place: Place) -> Finding:
    """Return the finding on the flange edge: its radius is at least 0.5 and at most the flange's."""
    found = 0.0 if half.edge_turn_deg > SMOOTH_DEG else half.edge_radius
    finding = _least("R1", side, found, EDGE_RADIUS_MIN, place, ", at most R2")
    if found is not None and half.flange_radius is not None and found > half.flange_radius + SLACK_MM:
        return Finding("R1", side, found, finding.limit, False, finding.source, finding.status, place)
    return finding


def _hump(outer: Half, tubeless: bool) -> Finding:
    holds = None if outer.seat_deg is None else outer.hump or not tubeless
    limit = "one hump for tubeless tyres" if tubeless else "none with a tube"
    return Finding(
        "hump", "outer", float(outer.hump), limit, holds, HUMP_NEEDED.source, HUMP_NEEDED.status, None
    )


def _well(
    path: Path, outer: Half, inner: Half, row: FlangeRow, half_d: float, well: WellSide | None
) -> list[Finding]:
    """Return H, L and M; where the row has note b, the shallower well nearer the flange is tried too."""
    results = [
        _well_at(path, outer, inner, row, half_d, depth, m_max, well)
        for depth, m_max in ((row.h_min.value, row.m_max.value), (row.h_min_near, row.m_near))
    ]
    rank = {True: 0, None: 1, False: 2}
    return min(results, key=lambda result: max(rank[f.holds] for f in result))


def _well_at(
    path: Path,
    outer: Half,
    inner: Half,
    row: FlangeRow,
    half_d: float,
    depth: float,
    m_max: float,
    well: WellSide | None,
) -> list[Finding]:
    """Return H, L and M against one least depth and the greatest M that goes with it."""
    low = int(np.argmin(path.points[:-1, 1]))
    place = (float(path.points[low, 0]), float(path.points[low, 1]))
    spans = free_spans(path, half_d - depth)
    widest = max((b - a for a, b in spans), default=0.0)
    need = row.l_min.value
    h_min = Number(depth, row.h_min.source, row.h_min.status)
    out = [
        _least("H", "", half_d - path.bounds[2], h_min, place),
        _least("L", "", widest, row.l_min, place, f" at a depth of {depth:g}"),
    ]
    outboard = (well or _nearer_side(spans, path)) is WellSide.OUTBOARD
    face = outer.face_z if outboard else inner.face_z
    limit = f"at most {m_max:g}, read to the well's centre and to its near edge"
    source = (row.m_max.source, row.m_max.status)
    if face is None:
        return [*out, Finding("M", "", None, limit, None, *source, place)]
    edges = [face - b if outboard else face + a for a, b in spans if b - a >= need - SLACK_MM]
    if edges:
        near = min(edges)
        centre_holds, edge_holds = near + need / 2.0 <= m_max + SLACK_MM, near <= m_max + SLACK_MM
        holds = centre_holds if centre_holds == edge_holds else None
        out.append(Finding("M", "", near + need / 2.0, limit, holds, *source, place))
    return out


def _nearer_side(spans: list[tuple[float, float]], path: Path) -> WellSide:
    """Return the side of the rim that the widest free span lies nearer to."""
    low, high, _, _ = path.bounds
    a, b = max(spans, key=lambda x: x[1] - x[0], default=(low, high))
    return WellSide.OUTBOARD if a + b >= low + high else WellSide.INBOARD
