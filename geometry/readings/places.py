"""Where rim, fixing and hub are: plain numbers for the readings by name."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class RimPlaces:
    """Where the rim is, in the hub's frame: flange faces along z, specified diameter, flange height; mm."""

    outer_face_z: float
    inner_face_z: float
    diameter_mm: float
    flange_height_mm: float


@dataclass(frozen=True)
class FixingGeometry:
    """Bolts or nuts on a circle, mm.

    Attributes:
        seat_land_mm: height of the seat's inner edge over the mounting face.
        socket_mm: diameter of the bore for the socket on the street side; 0 for none.
    """

    count: int
    circle_mm: float
    hole_mm: float
    seat_land_mm: float
    socket_mm: float = 0.0


@dataclass(frozen=True)
class SingleNutGeometry:
    """One central nut: height of its seat's inner edge over the mounting face, drive pins on a circle; mm."""

    seat_land_mm: float
    pins: int
    pin_circle_mm: float
    pin_hole_mm: float


@dataclass(frozen=True)
class HubGeometry:
    """Wheel side and vehicle side of the hub, mm; None stands for not known (see app.project.wheel.Hub)."""

    bore_mm: float
    hub_pad_mm: float
    chamfer_mm: float
    spigot_mm: float | None = None
    spigot_length_mm: float | None = None
    spigot_root_radius_mm: float | None = None
    flange_mm: float | None = None
    stud_length_mm: float | None = None
    thread_mm: float | None = None
    aluminium_nut: bool = False
    hub_ring: bool = False


@dataclass(frozen=True)
class CoatingGeometry:
    """What a coating adds to the surfaces that hub and bolts meet.

    Attributes:
        name: in words.
        growth_mm: a side, over the machined size; 0 for none, None while its thickness is not known.
        on_bore: it lies in the bore; None while nobody has said.
        on_seats: it lies on hub pad and seats; None while nobody has said.
    """

    name: str
    growth_mm: float | None
    on_bore: bool | None
    on_seats: bool | None
