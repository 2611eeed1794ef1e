"""The report's drawing as plain geometry and text, in mm of the hub's half-plane (z, r)."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from shapely import Polygon, unary_union

from app.project.wheel import Wheel
from app.reports.callouts import Callout, End, Rail
from app.reports.dimensions import dimension_callouts, edges, face_of, flange_faces
from app.reports.numbers import Numbers
from app.reports.rows import rank
from app.reports.sentences import SIGNS
from app.studies.fit import Measured
from geometry.errors import GeometryError
from geometry.readings.measure import Held, Measurements, Place
from geometry.readings.rules import RuleSet, State
from geometry.shape.curve import Path
from geometry.shape.outline import StayOut
from geometry.shape.section import Outline
from geometry.tolerances import LARGEST_MM, STRAIGHT_BULGE

#: The required-gap line is a picture: arcs are flattened within this.
_FLAT_MM = 0.005


@dataclass(frozen=True)
class ShapePicture:
    """A stay-out shape: its positions, and the line round them that the skin must stay outside of.

    Attributes:
        gap_lines: closed polygons, (z, r) rows; empty without a rule.
    """

    name: str
    paths: tuple[Path, ...]
    gap_lines: tuple[tuple[Place, ...], ...]


@dataclass(frozen=True)
class AxialSpan:
    """A dimension along the axle between two places (z, r) with its words; `low` has the smaller z."""

    low: Place
    high: Place
    words: str


@dataclass(frozen=True)
class TightMark:
    """The deciding gap: both witness places, its state and its number."""

    at_wheel: Place
    at_shape: Place
    state: State | None
    number: str


@dataclass(frozen=True)
class Figure:
    """What is drawn.

    Attributes:
        outline: the wheel, or None when it has faults.
        chain: vertices (z, r, bulge) of a section with faults, as far as there are any; else empty.
        faults: places of the faults.
        rings: bodies that turn with the wheel.
        tyre: its ring, or None.
        spans: dimensions below the axle line; width: the one above the drawing, or None.
        gap_line_words: what the required-gap lines stand for; empty without one.
        datum_a, datum_b: places on the mounting face and on the bore, or None.
        bolt_line: the bolt circle's axis across the hub, two places, or None.
    """

    outline: Path | None
    chain: tuple[tuple[float, float, float], ...]
    faults: tuple[Place, ...]
    blank: Path | None
    shapes: tuple[ShapePicture, ...]
    rings: tuple[Path, ...]
    tyre: Path | None
    rim_centre_z: float
    spans: tuple[AxialSpan, ...]
    width: AxialSpan | None
    callouts: tuple[Callout, ...]
    tightest: TightMark | None
    gap_line_words: str
    datum_a: Place | None
    datum_b: Place | None
    bolt_line: tuple[Place, Place] | None

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """(z low, z high, r low, r high) in mm of all that is drawn; r low is the axle line."""
        paths = [p for p in (self.outline, self.blank, self.tyre) if p is not None]
        paths += [p for shape in self.shapes for p in shape.paths] + list(self.rings)
        boxes = [p.bounds for p in paths]
        boxes += [(z, z, r, r) for z, r, _ in self.chain] + [(self.rim_centre_z, self.rim_centre_z, 0.0, 1.0)]
        boxes += [(z, z, r, r) for s in self.shapes for ring in s.gap_lines for z, r in ring]
        z_low, z_high = min(b[0] for b in boxes), max(b[1] for b in boxes)
        return z_low, z_high, 0.0, max(b[3] for b in boxes)


def build_figure(
    wheel: Wheel, measured: Measured, held: Held | None, numbers: Numbers, tyre: Path | None = None
) -> Figure:
    """Return the drawing of a wheel and what it is held against; `held` is None where a part is missing.

    A tyre's ring is drawn where one is given.
    """
    outline, found = measured.outline, measured.measurements
    if outline is not None and not _drawable(outline.path.bounds):
        outline = None
    held = None if held is None else _drawable_parts(held)
    shapes = _shapes(held) if held is not None else ()
    callouts: list[Callout] = []
    spans: tuple[AxialSpan, ...] = ()
    width = tightest = datum_a = datum_b = bolt_line = None
    if outline is not None and found is not None:
        dimensions = dimension_callouts(wheel, outline, found, numbers)
        callouts += dimensions.callouts
        spans, width = axial_spans(wheel, outline, numbers)
        datum_a, datum_b, bolt_line = dimensions.datum_a, dimensions.datum_b, dimensions.bolt_line
        tightest = _tightest(found, numbers)
        callouts += _marks(found, outline, numbers)
    if held is not None:
        callouts += _names(held)
    if tyre is not None:
        z_low, z_high, _, r_high = tyre.bounds
        place = ((z_low + z_high) / 2.0, r_high)
        callouts.append(Callout(place, Rail.TOP, f"tyre {wheel.tyre} as a ring", "", End.LINE, weight=4))
    return Figure(
        outline=None if outline is None else outline.path,
        chain=() if outline is not None else _chain(wheel),
        faults=tuple(f.place for f in measured.faults if f.place is not None and _drawable(f.place)),
        blank=None if held is None else held.blank,
        shapes=shapes,
        rings=() if held is None else tuple(ring.path for ring in held.rings),
        tyre=tyre,
        rim_centre_z=min(max(face_of(wheel) - wheel.inset_mm, -LARGEST_MM), LARGEST_MM),
        spans=spans,
        width=width,
        callouts=tuple(callouts),
        tightest=tightest,
        gap_line_words=_gap_words(held, numbers) if held is not None else "",
        datum_a=datum_a,
        datum_b=datum_b,
        bolt_line=bolt_line,
    )


def _chain(wheel: Wheel) -> tuple[tuple[float, float, float], ...]:
    """Vertices as they stand; the free ones alone where the locked contour cannot be drawn."""
    try:
        vertices = wheel.section.vertices
    except GeometryError:
        vertices = wheel.vertices
    dz = wheel.spacer_mm
    rows = [(v.z + dz, v.r, v.bulge) for v in vertices if _drawable((v.z + dz, v.r))]
    following = [*rows[1:], *rows[:1]]
    return tuple(
        (z, r, b if _is_arc(b, math.hypot(next_z - z, next_r - r)) else 0.0)
        for (z, r, b), (next_z, next_r, _) in zip(rows, following, strict=True)
    )


def _drawable(place: tuple[float, ...]) -> bool:
    """True where a place can be drawn: a project may hold absurd numbers."""
    return all(abs(x) <= LARGEST_MM for x in place)


def _drawable_parts(held: Held) -> Held:
    """Return what can be drawn: an arc may reach beyond all bounds where its ends do not."""
    return replace(
        held,
        shapes=tuple((shape, tuple(p for p in paths if _drawable(p.bounds))) for shape, paths in held.shapes),
        rings=tuple(ring for ring in held.rings if _drawable(ring.path.bounds)),
        blank=held.blank if held.blank is not None and _drawable(held.blank.bounds) else None,
    )


def _is_arc(bulge: float, chord_mm: float) -> bool:
    """True where a bulge makes an arc that can be drawn; its height is half the chord times the bulge."""
    return STRAIGHT_BULGE <= abs(bulge) <= 1.0 / STRAIGHT_BULGE and abs(bulge) * chord_mm / 2.0 <= LARGEST_MM


def _required(shape: StayOut, rules: RuleSet | None) -> float | None:
    """Return how far the skin must stay off: the largest rule of any zone, plus error, less included gap."""
    rule = rules.largest_gap(shape.kind) if rules is not None else None
    return None if rule is None else rule.paper_mm + shape.card.error_mm - shape.card.included_gap_mm


def _shapes(held: Held) -> tuple[ShapePicture, ...]:
    pictures = []
    for shape, paths in held.shapes:
        reach = _required(shape, held.rules)
        lines: tuple[tuple[Place, ...], ...] = ()
        if reach is not None and 0.0 < reach <= LARGEST_MM and paths:
            grown = unary_union([Polygon(p.flattened(_FLAT_MM)).buffer(reach, quad_segs=48) for p in paths])
            # What would lie below the axle line is drawn on it.
            lines = tuple(
                tuple((float(z), max(float(r), 0.0)) for z, r in part.exterior.coords)
                for part in getattr(grown, "geoms", [grown])
                if _drawable(part.bounds)
            )
        pictures.append(ShapePicture(shape.name, paths, lines))
    return tuple(pictures)


def _gap_words(held: Held, numbers: Numbers) -> str:
    words = []
    for shape, _ in held.shapes:
        reach = _required(shape, held.rules)
        if reach is not None:
            made = numbers.length(reach - shape.card.error_mm + shape.card.included_gap_mm)
            made += f" + error {numbers.length(shape.card.error_mm)}" if shape.card.error_mm else ""
            made += (
                f" − included {numbers.length(shape.card.included_gap_mm)}"
                if shape.card.included_gap_mm
                else ""
            )
            words.append(f"{made} round {shape.name}")
    return "; ".join(words)


def axial_spans(
    wheel: Wheel, outline: Outline, numbers: Numbers
) -> tuple[tuple[AxialSpan, ...], AxialSpan | None]:
    """Return the dimensions along the axle, the inset first, and the width between the flange faces."""
    face, centre = (face_of(wheel), 0.0), (face_of(wheel) - wheel.inset_mm, 0.0)
    inner, outer = edges(outline)
    between = sorted((centre, face))
    spans = [
        AxialSpan(between[0], between[1], f"inset {numbers.length(wheel.inset_mm)} from rim centre"),
        AxialSpan(inner, face, f"backspace {numbers.length(face[0] - inner[0])}"),
        AxialSpan(face, outer, f"front {numbers.length(outer[0] - face[0])}"),
    ]
    if wheel.spacer_mm:
        hub = sorted(((0.0, 0.0), face))
        spans.append(AxialSpan(hub[0], hub[1], f"spacer {numbers.length(wheel.spacer_mm)}"))
    faces = flange_faces(outline)
    width = None
    if faces is not None:
        width = AxialSpan(*faces, f"{numbers.length(faces[1][0] - faces[0][0])} between flanges")
    return tuple(spans), width


def _tightest(found: Measurements, numbers: Numbers) -> TightMark | None:
    row = min(found.gap, key=rank, default=None)
    if row is None:
        return None
    return TightMark(row.at_wheel, row.at_shape, row.state, numbers.length(row.least_mm, row.grade))


def _marks(found: Measurements, outline: Outline, numbers: Numbers) -> Iterator[Callout]:
    """Yield the callouts of the deciding gap and the least stock."""
    z_low, z_high, _, _ = outline.path.bounds

    def side_of(z: float) -> Rail:
        return Rail.LEFT if z < (z_low + z_high) / 2.0 else Rail.RIGHT

    gap, stock = min(found.gap, key=rank, default=None), min(found.stock, key=rank, default=None)
    if gap is not None:
        sign = f"{SIGNS[gap.state]} " if gap.state is not None else ""
        place = ((gap.at_wheel[0] + gap.at_shape[0]) / 2.0, (gap.at_wheel[1] + gap.at_shape[1]) / 2.0)
        needs = f", needs {numbers.length(gap.required_mm)}" if gap.required_mm is not None else ""
        name = f"least spare gap: {gap.body or gap.zone} to {gap.shape}{needs}"
        number = sign + numbers.length(gap.least_mm, gap.grade)
        yield Callout(place, side_of(gap.at_wheel[0]), name, number, End.LINE, state=gap.state, weight=9)
    if stock is not None:
        sign = f"{SIGNS[stock.state]} " if stock.state is not None else ""
        needs = f", needs {numbers.length(stock.required_mm)}" if stock.required_mm is not None else ""
        rail = Rail.TOP if stock.side == "tyre" else side_of(stock.at[0])
        name = f"least stock: {stock.zone}{'' if rail is Rail.TOP else needs}"
        number = sign + numbers.length(stock.least_mm)
        yield Callout(stock.at, rail, name, number, End.ARROW, state=stock.state, weight=8)


def _names(held: Held) -> Iterator[Callout]:
    """Yield the names of what is drawn beside the wheel."""
    for shape, paths in held.shapes:
        if paths:
            point = Polygon(paths[0].flattened(0.1)).buffer(0.0).representative_point()
            yield Callout((point.x, point.y), Rail.LEFT, shape.name, "", End.DOT, weight=5)
    for ring in held.rings:
        z_low, z_high, r_low, r_high = ring.path.bounds
        yield Callout(
            ((z_low + z_high) / 2, (r_low + r_high) / 2), Rail.LEFT, ring.name, "", End.DOT, weight=3
        )
    if held.blank is not None:
        z, r = max(((float(z), -float(r)) for z, r in held.blank.points), key=lambda p: p)
        yield Callout((z, -r), Rail.RIGHT, f"blank {held.blank_name}", "", End.DOT, weight=4)
