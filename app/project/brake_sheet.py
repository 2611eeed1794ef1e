"""A brake typed from a sheet: largest radius, corner points, disc and hat, as far as anybody has said.

Words:
    outer half     what stands outboard of the disc, where spokes and shoulder of the wheel pass
    corner points  places of its outline, one after the other, from the lower edge up to the top or back
"""

from __future__ import annotations

from dataclasses import dataclass

from geometry.shape.outline import CarEnd, CarSide, Corner, Grade, Reach, ZeroFace

#: Corner points of a sheet: two say nothing of what lies between, more are a drawing.
LEAST_POINTS, MOST_POINTS = 3, 12
#: Places nearer than this are the same, mm.
SAME_MM = 1e-6


class SheetError(ValueError):
    """What was typed contradicts itself or gives no outline.

    Attributes:
        field: name of the field of BrakeSheet that should be looked at.
        row: which corner point, None where it is none of them.
    """

    def __init__(self, field: str, message: str, row: int | None = None) -> None:
        super().__init__(message)
        self.field, self.row = field, row


@dataclass(frozen=True)
class BrakeSheet:
    """What was typed, mm; None where nobody has said.

    Attributes:
        points: corner points of the outer half with their corner radii, in the order of the outline.
        is_straight: they are the corners of the outline, straight lines between them; else it is stepped.
        largest_r_mm, largest_z_mm: the brake's largest radius, and where along the axle it lies.
        inboard_z_mm: where the outline ends inboard; None for the innermost place.
        inboard_seen: the brake itself ends there, and not only the sheet.
        lower_r_mm: lowest radius of the brake.
        zero_at: the face that is z = 0 on the sheet.
        hat_mm: thickness of the disc hat; hat_between: it lies between hub and wheel.
        disc_mm, hat_height_mm: as in Brake.
        pads: "new" or "worn", empty where nobody has said.
        r_over: over what of the brake the largest radius was taken.
        included_gap_mm: gap that the numbers already hold.
        unit: of the sheet's numbers, "mm" or "in".
        said_by: who gave the answers; empty makes them assumptions.
    """

    points: tuple[Corner, ...]
    largest_r_mm: float
    error_mm: float
    largest_z_mm: float | None = None
    is_straight: bool = False
    inboard_z_mm: float | None = None
    inboard_seen: bool = False
    lower_r_mm: float | None = None
    zero_at: ZeroFace | None = None
    hat_mm: float | None = None
    hat_between: bool | None = None
    disc_mm: float | None = None
    hat_height_mm: float | None = None
    pads: str = ""
    side: CarSide = CarSide.NOT_SAID
    end: CarEnd = CarEnd.NOT_SAID
    r_over: Reach | None = None
    included_gap_mm: float | None = None
    unit: str = ""
    said_by: str = ""
    source: str = ""
    grade: Grade = Grade.HEARSAY
    left_out: str = ""
    family: str = ""


def check(sheet: BrakeSheet) -> None:
    """Refuse numbers that contradict each other.

    Raises:
        SheetError: which field, and what it contradicts.
    """
    largest, points = sheet.largest_r_mm, sheet.points
    outermost = max(p.z for p in points)
    for k, p in enumerate(points):
        if p.r > largest + SAME_MM:
            raise SheetError(
                "points",
                f"Corner point {k + 1} lies at r {p.r:.2f} mm, above the largest radius {largest:.2f} mm: "
                "correct one of them.",
                k,
            )
        if sheet.inboard_z_mm is not None and p.z < sheet.inboard_z_mm - SAME_MM:
            raise SheetError(
                "inboard_z_mm",
                f"The inboard end z {sheet.inboard_z_mm:.2f} mm lies outboard of corner point {k + 1} at z "
                f"{p.z:.2f} mm: correct one of them.",
            )
        if sheet.lower_r_mm is not None and p.r < sheet.lower_r_mm - SAME_MM:
            raise SheetError(
                "lower_r_mm",
                f"The lower edge r {sheet.lower_r_mm:.2f} mm lies above corner point {k + 1} at r {p.r:.2f} "
                "mm: correct one of them.",
            )
    z = sheet.largest_z_mm
    if z is not None and z > outermost + SAME_MM:
        raise SheetError(
            "largest_z_mm",
            f"The largest radius at z {z:.2f} mm would lie outboard of every corner point (up to z "
            f"{outermost:.2f} mm): correct one of them. + is outboard.",
        )
    if z is not None and sheet.inboard_z_mm is not None and z < sheet.inboard_z_mm - SAME_MM:
        raise SheetError(
            "largest_z_mm",
            f"The largest radius at z {z:.2f} mm would lie inboard of the inboard end z "
            f"{sheet.inboard_z_mm:.2f} mm: correct one of them.",
        )
    _check_disc(sheet)


def _check_disc(sheet: BrakeSheet) -> None:
    if sheet.disc_mm is not None and sheet.disc_mm / 2.0 >= sheet.largest_r_mm:
        raise SheetError(
            "disc_mm",
            f"A disc of diameter {sheet.disc_mm:.2f} mm reaches r {sheet.disc_mm / 2.0:.2f} mm, and its "
            f"caliper stands over it, but the largest radius is {sheet.largest_r_mm:.2f} mm: correct one "
            "of them.",
        )
    height, hat = sheet.hat_height_mm, sheet.hat_mm
    if height is not None and hat is not None and height < hat:
        raise SheetError(
            "hat_height_mm",
            f"A hat {height:.2f} mm high cannot be {hat:.2f} mm thick where the wheel bears: exchanged?",
        )
