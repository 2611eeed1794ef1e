"""What each reading means: definition, formula and source, in one table for the panel and the manual."""

from __future__ import annotations

from dataclasses import dataclass

from app.views.readings_model import Line


@dataclass(frozen=True)
class Explanation:
    """What there is to know about one kind of reading.

    Attributes:
        name: of the kind, as a heading. definition: what is read, in a sentence. formula: how, with units.
        source: what definition or requirement rests on.
    """

    name: str
    definition: str
    formula: str
    source: str

    @property
    def text(self) -> str:
        """All of it, for a person."""
        return f"{self.definition}\nHow: {self.formula}\nRests on: {self.source}"


_OURS = "a definition of this program, checked against closed forms and OpenCASCADE"
_PRACTICE = "common practice, no source; a starting value that you set"
_LIP_CUT = "cut 6.5 mm from the flange face, about under the bead's heel: common practice, no source"
_NO_BREAK = "plain geometry; that it may not fall below 0 is common practice, no source"

#: By the beginning of a line's key; the longest that fits counts.
EXPLAINED: dict[str, Explanation] = {
    "gap": Explanation(
        "Gap",
        "The least distance from a zone of the wheel, or a body that turns with it, to a stay-out shape, in "
        "the half-section as drawn. Negative is the depth of an overlap. Spokes count as if turned full.",
        "exact between lines and arcs; spare = gap - the shape's stated error + gap already in the outline - "
        "required gap. Touching: any shared area.",
        f"{_OURS}; required gaps come from the wheel's rule set",
    ),
    "worst": Explanation(
        "Worst state",
        "What is left of a gap with tilt, run-out, tolerances, heat and the outline's error at their worst "
        "limits at once.",
        "the wheel is posed at every combination of the limits and the gap searched anew; spare = what is "
        "left + gap already in the outline - what must remain. Beside it the root of the sum of squares of "
        "the single losses.",
        "limits of the conditions that the wheel names; shipped ones are common practice, no source",
    ),
    "stones": Explanation(
        "Holds stones",
        "A stretch of skin along which the gap to a shape stays narrow, where a stone can jam.",
        "gap under the conditions' limit along at least their length (5 mm along 40 mm as shipped)",
        _PRACTICE,
    ),
    "stock": Explanation(
        "Stock",
        "Metal between the finished skin and the blank's usable outline, by zone and side; negative where "
        "the wheel stands outside its blank.",
        "signed least distance, after what the forging may lack (closure along z, mismatch along r) and the "
        "skin; spare = stock - required stock",
        f"{_OURS}; tolerances and required stock are the blank's and the rule set's",
    ),
    "missing": Explanation(
        "Missing metal",
        "Volume of the wheel that lies outside its blank.",
        "area outside, turned about the axle: 2 pi times the integral of r; outlines flattened, so about",
        _OURS,
    ),
    "wall": Explanation(
        "Wall",
        "Diameter of the largest disc that lies in the metal and touches the skin at a place of the zone, "
        "where two of its contacts face each other.",
        "contacts at least 150 degrees apart seen from the disc's centre; in a plate of thickness t it is t, "
        "between faces 2a apart in angle 2 t cos a / (1 + cos a). Gauge: length along the normal there.",
        f"{_OURS}; required walls come from the rule set",
    ),
    "lip inner_lip_axial": Explanation(
        "Lip, axial",
        "Thickness of the flange along the axle at half its height.",
        "length of metal along z at r = D / 2 + G / 2, D the specified diameter, G the flange height",
        "the name that engineers use; common practice, no source",
    ),
    "lip inner_lip_under_heel": Explanation(
        "Lip, under the heel",
        "Thickness of the rim along r under the heel of the tyre's bead.",
        "length of metal along r, 6.5 mm from the flange face",
        _LIP_CUT,
    ),
    "lip inner_lip_height": Explanation(
        "Lip, seat to end",
        "How far the lip rises over the bead seat.",
        "greatest r of the lip - D / 2",
        "rim standards give the flange height; the reading is that of the drawn section",
    ),
    "lip inner_lip_area": Explanation(
        "Lip, area",
        "Area of the half-section beyond the cut that parts the lip from the rim.",
        "area of the section beyond the cut, mm2",
        _LIP_CUT,
    ),
    "lip inner_lip_second_moment": Explanation(
        "Lip, second moment",
        "How much the lip's section resists bending along r, about its own axis parallel to the axle.",
        "integral of (r - r of its centre) squared over the area beyond the cut, mm4",
        f"textbook second moment of area; {_LIP_CUT}",
    ),
    "lip spoke_depth": Explanation(
        "Spoke depth",
        "Thickness of the disc or spokes along the axle at a radius; the least of all radii is named least.",
        "length of metal along z at that r",
        "the name that engineers use; common practice, no source",
    ),
    "lip valve_land": Explanation(
        "Valve land",
        "Thickness of the well's wall where the valve sits.",
        "length of metal square to the middle of the longest straight piece of the well's outboard wall",
        "common practice, no source",
    ),
    "lip valve_flat": Explanation(
        "Valve land, flat",
        "Straight length on which the valve's seal can sit.",
        "length of that straight piece",
        "common practice, no source",
    ),
    "lip valve_room": Explanation(
        "Room over the valve land",
        "Room along r from the valve land to the bead seat's diameter, for valve and sensor.",
        "D / 2 - r at the middle of the land",
        "common practice, no source",
    ),
    "lip weight_band": Explanation(
        "Weight band",
        "A straight stretch of the barrel's brake side that takes stick-on weights, and the room below it.",
        "flat: length along z. room: least distance along r to a stay-out shape",
        "common practice, no source",
    ),
    "lip face_proud": Explanation(
        "Face proud of outer lip",
        "How far the spokes stand outboard of the outer lip; negative where the lip stands farther out.",
        "greatest z of the spoke face - greatest z of the outer lip",
        "plain geometry",
    ),
    "hub seat_land": Explanation(
        "Seat land",
        "Metal between the bolt or nut seat and the mounting face.",
        "length of metal along z on the bolt circle, from the mounting face to the seat's inner edge",
        _PRACTICE,
    ),
    "hub hole": Explanation(
        "Metal beside holes",
        "Metal from the edge of a bolt hole, drive-pin hole or socket bore to bore, edge or the next.",
        "to the bore (C - d - b) / 2; to the edge (p - C - d) / 2; to the next C sin(180 deg / n) - d; "
        "C bolt circle, d hole, b bore, p hub pad, n holes",
        _NO_BREAK,
    ),
    "hub pad_on_flange": Explanation(
        "Hub pad inside the flat",
        "How far the hub pad stays inside the flat of hub flange or disc hat.",
        "(flat diameter - hub-pad diameter) / 2",
        _NO_BREAK,
    ),
    "hub bore_over_spigot": Explanation(
        "Bore over spigot",
        "Play between the wheel's bore and the hub's spigot, on the diameter.",
        "bore - spigot; wide play does not centre without a ring",
        _PRACTICE,
    ),
    "hub chamfer_over_root": Explanation(
        "Bore chamfer against spigot root",
        "Whether the bore's chamfer clears the radius at the spigot's root; else the wheel sits proud.",
        "chamfer, needs the root radius",
        "plain geometry",
    ),
    "hub spigot_engaged": Explanation(
        "Spigot engaged",
        "Length of the spigot that the bore holds.",
        "the lesser of spigot length and bore depth, less spacer and chamfer",
        _PRACTICE,
    ),
    "hub spigot_to": Explanation(
        "Room before the spigot",
        "Room from the spigot's end to a body of the wheel before it, such as a cap.",
        "least z of the body - spigot length",
        _NO_BREAK,
    ),
    "hub hole_over_thread": Explanation(
        "Hole over thread",
        "Room of the stud in its hole, on the diameter.",
        "hole - thread diameter",
        _NO_BREAK,
    ),
    "hub thread_engaged": Explanation(
        "Thread engaged",
        "Length of stud that the nut holds.",
        "stud length - spacer - seat land; needs a multiple of the thread's diameter",
        _PRACTICE,
    ),
    "tyre": Explanation(
        "Tyre and size",
        "What the tyre's size says about rim, load and room, and the gaps of the fitted tyre to body and "
        "suspension.",
        "by the published formulas of tyre sizes; each line names its source, and how sure it is",
        "the source that the line names",
    ),
    "mass": Explanation(
        "Mass",
        "Mass of the finished wheel: the section turned, spoke windows, holes and pockets taken off.",
        "density times volume, closed sums over lines and arcs; in the spoke region metal counts "
        "min(1, n w(r) / (2 pi r)), n spokes of width w at radius r",
        "checked against an OpenCASCADE revolve to 1e-9; density of the wheel's material",
    ),
    "mass full": Explanation(
        "Mass as a full body",
        "Mass of the same section turned without windows or holes.",
        "density times 2 pi times the integral of r over the section",
        "checked against an OpenCASCADE revolve to 1e-9",
    ),
    "polar": Explanation(
        "Polar inertia",
        "Moment of inertia about the axle.",
        "integral of r squared over the mass, kg m2",
        "textbook definition; checked against an OpenCASCADE revolve",
    ),
    "centre": Explanation(
        "Centre of mass",
        "Where the wheel's centre of mass lies along the axle, + outboard of where it bears on the hub.",
        "integral of z over the mass, divided by the mass, mm",
        "textbook definition; checked against an OpenCASCADE revolve",
    ),
    "blank mass": Explanation(
        "Blank mass",
        "Mass of the blank as drawn.",
        "density times the turned volume of its outline",
        "checked against an OpenCASCADE revolve",
    ),
    "chips": Explanation("Chips", "Metal that is cut off.", "blank mass - wheel mass", "plain arithmetic"),
    "ratio": Explanation(
        "Mass ratio", "How much is bought for what is sold.", "blank mass / wheel mass", "plain arithmetic"
    ),
    "asks": Explanation(
        "Questions",
        "What is missing for a full answer; while a question is open, what rests on it is not known.",
        "each names what must be stated, and where",
        "what is not known is never clear",
    ),
    "fault": Explanation(
        "Faults of an outline",
        "Why the outline is none, such as a crossing or a radius that does not fit, with its place.",
        "readings are complete or absent: while there is a fault there are none",
        "a rule of this program",
    ),
}

#: Keys that stand for the same kind of reading as another.
_SAME = {
    "lip outer_lip_": "lip inner_lip_",
    "hub pin_hole": "hub hole",
    "hub socket": "hub hole",
    "faults": "fault",
    "none": "fault",
    "empty": "fault",
    "mass group": "mass",
}


def explanation(line: Line) -> Explanation | None:
    """Return what a line of the readings means, None where the table does not know its kind."""
    key = line.key
    for said, same in _SAME.items():
        if key.startswith(said):
            key = same + key[len(said) :]
            break
    fitting = [start for start in EXPLAINED if key.startswith(start)]
    if fitting:
        return EXPLAINED[max(fitting, key=len)]
    # A group of readings by name has no key of its own kind.
    return EXPLAINED["hub seat_land"] if key in ("hub", "hub empty") else None
