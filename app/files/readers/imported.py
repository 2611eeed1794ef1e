"""What a read outline becomes: words for a person, and a stay-out shape with an open source card."""

from __future__ import annotations

from collections.abc import Sequence

from app.files.readers.answer import NOT_KNOWN, UNITS, Loop, ReadOutline
from geometry.shape.outline import (
    Answer,
    Corner,
    Grade,
    Known,
    NamedOutline,
    ShapeKind,
    SourceCard,
    StayOut,
    motion_of,
)

#: The best grade that a kind of file can have before anybody has proved it.
_GRADES = {"drawing": Grade.DRAWING, "mesh": Grade.SCAN, "points": Grade.SCAN, "table": Grade.HEARSAY}


def at_first(found: ReadOutline) -> list[int]:
    """Return the numbers of the loops that are taken unless others are chosen: outer ones, but for frames."""
    if not found.within:
        return [k for k in range(len(found.loops)) if k not in found.frames]
    outer = (-1, *found.frames)
    return [k for k, by in enumerate(found.within) if by in outer and k not in found.frames]


def corners(loop: Loop) -> tuple[Corner, ...]:
    """Return the rows of an outline as corners without radii; its arcs stay exact as bulges."""
    return tuple(Corner(z, r, bulge=bulge) for z, r, bulge in loop)


def usual_grade(found: ReadOutline) -> Grade:
    """Return the grade that a file of this kind has at most before it was proved."""
    return _GRADES.get(found.kind, Grade.HEARSAY)


def stay_out(
    found: ReadOutline,
    loops: Sequence[Loop],
    name: str,
    kind: ShapeKind = ShapeKind.CALIPER,
    grade: Grade | None = None,
    unit_by: str = "",
) -> StayOut:
    """Return a shape of placed loops; every question but the unit is open, and the datum is not checked.

    Args:
        found: where the loops come from.
        loops: in the hub's frame, mm.
        name: of the shape.
        kind: of the shape; it moves as its kind does as a rule.
        grade: None for the best that such a file can have.
        unit_by: who said the unit; empty where the file states it.
    """
    how = f"chosen by {unit_by}" if unit_by else "stated in the file"
    one = len(loops) == 1
    return StayOut(
        name,
        tuple(
            NamedOutline("as read" if one else f"outline {k + 1}", corners(loop))
            for k, loop in enumerate(loops)
        ),
        kind=kind,
        motion=motion_of(kind),
        card=SourceCard(
            source=f"read from {found.file_name}",
            grade=usual_grade(found) if grade is None else grade,
            error_mm=found.tolerance_mm if found.kind == "points" else 0.0,
            unit=Answer(Known.ASSUMED, f"{found.unit}, {how}", unit_by or "the file"),
            file_name=found.file_name,
            file_sha256=found.sha256,
            file_unit=found.unit,
            reader=found.reader,
        ),
    )


def unit_words(found: ReadOutline) -> str:
    """Return how the unit is known, or why it is not."""
    if found.unit != NOT_KNOWN:
        return f"read as {found.unit}"
    return found.unit_doubt or "the file states no unit"


def sizes(found: ReadOutline) -> dict[str, str]:
    """Return what the outline spans in mm if the file's numbers are in each unit."""
    in_file = 1.0 / UNITS.get(found.unit, 1.0)
    z0, z1, r0, r1 = (x * in_file for x in found.bounds)
    return {
        unit: f"z {z0 * f:.1f} to {z1 * f:.1f}, r {r0 * f:.1f} to {r1 * f:.1f} mm"
        for unit, f in UNITS.items()
    }


def findings(found: ReadOutline) -> list[str]:
    """Return what was joined, dropped, replaced, widened and left out, one sentence each."""
    said: list[str] = []
    if found.joined:
        ends = "gap" if found.joined == 1 else "gaps"
        said.append(f"{found.joined} {ends} joined, the largest {found.largest_join_mm:.3f}")
    if found.doubles:
        said.append(f"{found.doubles} drawn more than once and dropped")
    if found.frames:
        names = " and ".join(str(k + 1) for k in found.frames)
        said.append(f"left out at first: outline {names}, a drawing sheet's frame round all others")
    inner = sum(k >= 0 and k not in found.frames for k in found.within)
    if inner:
        said.append(f"{inner} of {len(found.loops)} outlines lie within another")
    if found.curves:
        said.append(f"{found.curves} curves replaced by arcs, at most {found.curve_error_mm:.4f} mm off")
    if found.ball_mm:
        said.append(f"the radius of the probe ball, {found.ball_mm:g} mm, is taken off")
    if found.tolerance_mm:
        said.append(f"the outline lies up to {found.tolerance_mm:.3f} mm outside what was read, never inside")
    if found.outside_count:
        said.append(f"{found.outside_count} points lie outside it, as the share of points asks")
    if found.bodies:
        open_ = sum(not body.is_closed for body in found.bodies)
        bodies = "1 body" if len(found.bodies) == 1 else f"{len(found.bodies)} bodies"
        said.append(f"{bodies}, {sum(b.triangles for b in found.bodies)} triangles, {open_} of them open")
    if found.fit is not None:
        what = "points lie off" if found.kind == "points" else "surfaces' normals pass it by"
        said.append(f"axle line fitted; the {what} {found.fit.rms_mm:.3f} mm on average")
    if found.skipped:
        said.append("left out: " + ", ".join(f"{n} {what}" for what, n in found.skipped.items()))
    return [*said, *(w for w in found.warnings if w != found.unit_doubt)]
