"""Variants of one brake: another disc, side or end of the car moves the outline, until it is measured."""

from __future__ import annotations

from dataclasses import replace

from app.project.edits import EditError
from geometry.shape.outline import (
    Answer,
    Brake,
    CarEnd,
    CarSide,
    Corner,
    Extent,
    Grade,
    Known,
    NamedOutline,
    StayOut,
)


def usual_move(brake: Brake, disc_mm: float | None, hat_height_mm: float | None) -> tuple[float, float]:
    """Return how far a brake's outline moves (dz, dr) for another disc, mm; 0 where a size is not known.

    A caliper sits on its disc's edge: it goes out by half the change of diameter. A higher hat carries the
    disc, and the caliper with it, farther inboard. Common practice, no source.
    """
    disc, hat = brake.disc_mm, brake.hat_height_mm
    dr = (disc_mm - disc) / 2.0 if disc is not None and disc_mm is not None else 0.0
    dz = hat - hat_height_mm if hat is not None and hat_height_mm is not None else 0.0
    return dz, dr


def variant(
    shape: StayOut,
    name: str,
    dz_mm: float,
    dr_mm: float,
    *,
    family: str,
    disc_mm: float | None,
    hat_height_mm: float | None,
    side: CarSide = CarSide.NOT_SAID,
    end: CarEnd = CarEnd.NOT_SAID,
) -> StayOut:
    """Return a shape moved for another disc, side or end: graded as a tracing at best, nothing confirmed.

    Raises:
        EditError: it has no name of a family, or its outline would reach below the axle line.
    """
    if not family.strip():
        raise EditError("A variant belongs to a family: give the brake a name that all its variants share.")
    low = min((c.r for outline in shape.outlines for c in outline.corners), default=0.0)
    if low + dr_mm < 0.0:
        raise EditError(
            f"Moved by {dr_mm:.2f} along r the outline reaches {low + dr_mm:.2f}, below the axle line; "
            f"at least {-low:.2f} is possible."
        )
    card = shape.card
    order = list(Grade)
    told = f"variant of '{shape.name}'" + (f", disc {disc_mm:g}" if disc_mm is not None else "")
    words = " ".join(w for w in (str(side), str(end)) if w)
    return replace(
        shape,
        name=name,
        outlines=tuple(_moved(outline, dz_mm, dr_mm) for outline in shape.outlines),
        card=replace(
            card,
            source=f"{told}: moved z {dz_mm:+.2f}, r {dr_mm:+.2f}, not measured. {card.source}".strip(),
            grade=max(card.grade, Grade.TRACING, key=order.index),
            datum_checked_by="",
            datum_checked_on="",
            disc_and_pads=Answer(Known.OPEN, f"{told} {words}".strip(), ""),
        ),
        extent=_moved_extent(shape.extent, dz_mm, dr_mm),
        brake=Brake(family.strip(), disc_mm, hat_height_mm, side, end, shape.name, dz_mm, dr_mm),
    )


def _moved(outline: NamedOutline, dz: float, dr: float) -> NamedOutline:
    return replace(
        outline, corners=tuple(Corner(c.z + dz, c.r + dr, c.radius, c.bulge) for c in outline.corners)
    )


def _moved_extent(extent: Extent, dz: float, dr: float) -> Extent:
    """Return the known interval moved with the outline; nobody has confirmed it there."""

    def by(value: float | None, step: float) -> float | None:
        return None if value is None else value + step

    return replace(
        extent,
        z_low=by(extent.z_low, dz),
        z_high=by(extent.z_high, dz),
        cut_r_low=by(extent.cut_r_low, dr),
        cut_r_high=by(extent.cut_r_high, dr),
        confirmed_by="",
    )
