"""What a section sheet says beyond the model: tolerances, surfaces and notes, each the user's to set."""

from __future__ import annotations

from dataclasses import dataclass

#: Words that a new project's sheets start with.
STAGE = "finished part, machined all over; sizes before coating"
FINISH = "colour as ordered; mounting face, bore and bolt seats stay bare"
MARKING = "hub face, between the bolt holes: size, inset, load rating, date and mark of the maker"
EDGES = "all edges broken 0.3 to 0.5 mm unless a radius is drawn"
GENERAL = "sizes without a tolerance: ISO 2768-m"


@dataclass(frozen=True)
class SheetSettings:
    """Tolerances, surfaces and notes of a project's section sheets; None, or no words, stands for not stated.

    Attributes:
        owner: legal owner of the drawing, as printed in its title block.
        stage: what stage of the part the sheet shows. finish, marking, edges, general: notes.
        inset_mm, width_mm, seat_diameter_mm: either way; the width is that between the flanges.
        radial_run_out_mm, axial_run_out_mm: of both bead seats and flanges to A-B, total.
        flatness_mm: of the mounting face.
        bore_mm, hole_mm: over the diameter, nothing under it.
        hole_position_mm: diameter of the zone in which a hole's axis lies, to A-B.
        seat_land_mm, seat_angle_deg: of the bolt seats, either way.
        surface_mm: of the brake side, either way.
        coating_mm: at most, on the brake side.
        face_ra_um, seat_ra_um, other_ra_um: roughness Ra of mounting face and bore, bead seats, all else.
        large: A3 or Tabloid rather than A4 or Letter.
        third_angle: which projection symbol is printed.
        starting_values: True while the numbers and notes are the ones shipped.
    """

    owner: str = ""
    stage: str = STAGE
    finish: str = FINISH
    marking: str = MARKING
    edges: str = EDGES
    general: str = GENERAL
    inset_mm: float | None = 0.2
    width_mm: float | None = 1.5
    seat_diameter_mm: float | None = 0.4
    radial_run_out_mm: float | None = 0.3
    axial_run_out_mm: float | None = 0.3
    flatness_mm: float | None = 0.1
    bore_mm: float | None = 0.1
    hole_mm: float | None = 0.2
    hole_position_mm: float | None = 0.2
    seat_land_mm: float | None = 0.2
    seat_angle_deg: float | None = 0.5
    surface_mm: float | None = 0.1
    coating_mm: float | None = 0.1
    face_ra_um: float | None = 3.2
    seat_ra_um: float | None = 3.2
    other_ra_um: float | None = 6.3
    large: bool = True
    third_angle: bool = False
    starting_values: bool = True


#: As shipped.
SHIPPED = SheetSettings()

#: What each is called, on the sheet's list of what is not stated and in the window.
NAMES: dict[str, str] = {
    "owner": "legal owner",
    "stage": "stage",
    "finish": "finish",
    "marking": "marking place",
    "edges": "edges",
    "general": "general tolerance",
    "inset_mm": "tolerance of the inset",
    "width_mm": "tolerance of the width between the flanges",
    "seat_diameter_mm": "tolerance of the bead seats' diameter",
    "radial_run_out_mm": "radial run-out",
    "axial_run_out_mm": "axial run-out",
    "flatness_mm": "flatness of the mounting face",
    "bore_mm": "tolerance of the bore",
    "hole_mm": "tolerance of the holes' diameter",
    "hole_position_mm": "position of the holes",
    "seat_land_mm": "tolerance of the bolt seats' depth",
    "seat_angle_deg": "tolerance of the bolt seats' angle",
    "surface_mm": "tolerance of the brake side",
    "coating_mm": "thickness of the coating",
    "face_ra_um": "roughness of mounting face and bore",
    "seat_ra_um": "roughness of the bead seats",
    "other_ra_um": "roughness of all other surfaces",
}

#: What a starting value rests on.
REASONS: dict[str, str] = {
    "stage": "common practice, no source",
    "finish": "common practice, no source",
    "marking": "common practice, no source",
    "edges": "common practice, no source",
    "general": "ISO 2768-1, class medium: from memory",
    "inset_mm": "common practice, no source",
    "width_mm": "1.5 mm either way from 5J up: from memory, not confirmed; a rim maker's patent abstract "
    "(WO 2026/126219) calls 0.5 mm an improvement over usual practice",
    "seat_diameter_mm": "0.4 mm either way on the specified diameter: from memory",
    "radial_run_out_mm": "0.25 to 0.8 mm in public workshop manuals; 0.2 to 0.3 mm for machined forged "
    "wheels: from memory",
    "axial_run_out_mm": "0.25 to 0.8 mm in public workshop manuals; 0.2 to 0.3 mm for machined forged "
    "wheels: from memory",
    "flatness_mm": "common practice, no source",
    "bore_mm": "common practice, no source",
    "hole_mm": "common practice, no source",
    "hole_position_mm": "common practice, no source",
    "seat_land_mm": "common practice, no source",
    "seat_angle_deg": "common practice, no source",
    "surface_mm": "common practice, no source",
    "coating_mm": "0.05 to 0.15 mm: from memory",
    "face_ra_um": "common practice, no source",
    "seat_ra_um": "common practice, no source",
    "other_ra_um": "common practice, no source",
}

#: Without these a sheet may go out: they are printed as not stated.
MAY_BE_OPEN = ("owner", "edges", "general", "face_ra_um", "seat_ra_um", "other_ra_um")


def not_stated(settings: SheetSettings) -> tuple[str, ...]:
    """Return the keys of all that the settings leave open, in their order."""
    return tuple(key for key in NAMES if getattr(settings, key) in (None, ""))


def started_with(settings: SheetSettings) -> tuple[str, ...]:
    """Return the keys that still are as shipped; none once the settings are the user's own."""
    if not settings.starting_values:
        return ()
    return tuple(key for key in REASONS if getattr(settings, key) == getattr(SHIPPED, key))
