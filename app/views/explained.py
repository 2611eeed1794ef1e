"""What each reading means: definition, formula and source, in one table for the panel and the manual."""

from __future__ import annotations

from dataclasses import dataclass

from app.language import tr
from app.views.readings_line import Line


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
        return tr(
            "{definition}\nHow: {formula}\nRests on: {source}",
            definition=self.definition,
            formula=self.formula,
            source=self.source,
        )


_OURS = tr("a definition of this program, checked against closed forms and OpenCASCADE")
_PRACTICE = tr("common practice, no source; a starting value that you set")
_LIP_CUT = tr("cut 6.5 mm from the flange face, about under the bead's heel: common practice, no source")
_NO_BREAK = tr("plain geometry; that it may not fall below 0 is common practice, no source")

#: By the beginning of a line's key; the longest that fits counts.
EXPLAINED: dict[str, Explanation] = {
    "gap": Explanation(
        tr("Gap"),
        tr(
            "The least distance from a zone of the wheel, or a body that turns with it, to a stay-out "
            "shape, in "
            "the half-section as drawn. Negative is the depth of an overlap. Spokes count as if turned full."
        ),
        tr(
            "exact between lines and arcs; spare = gap - the shape's stated error + gap already in the "
            "outline - "
            "required gap. Touching: any shared area."
        ),
        tr("{ours}; required gaps come from the wheel's rule set", ours=_OURS),
    ),
    "worst": Explanation(
        tr("Worst state"),
        tr(
            "What is left of a gap with tilt, run-out, tolerances, heat and the outline's error at "
            "their worst "
            "limits at once."
        ),
        tr(
            "the wheel is posed at every combination of the limits and the gap searched anew; spare = "
            "what is "
            "left + gap already in the outline - what must remain. Beside it the root of the sum of "
            "squares of "
            "the single losses."
        ),
        tr("limits of the conditions that the wheel names; shipped ones are common practice, no source"),
    ),
    "stones": Explanation(
        tr("Holds stones"),
        tr("A stretch of skin along which the gap to a shape stays narrow, where a stone can jam."),
        tr("gap under the conditions' limit along at least their length (5 mm along 40 mm as shipped)"),
        _PRACTICE,
    ),
    "stock": Explanation(
        tr("Stock"),
        tr(
            "Metal between the finished skin and the blank's usable outline, by zone and side; negative "
            "where "
            "the wheel stands outside its blank."
        ),
        tr(
            "signed least distance, after what the forging may lack (closure along z, mismatch along r) "
            "and the "
            "skin; spare = stock - required stock"
        ),
        tr("{ours}; tolerances and required stock are the blank's and the rule set's", ours=_OURS),
    ),
    "missing": Explanation(
        tr("Missing metal"),
        tr("Volume of the wheel that lies outside its blank."),
        tr("area outside, turned about the axle: 2 pi times the integral of r; outlines flattened, so about"),
        _OURS,
    ),
    "wall": Explanation(
        tr("Wall"),
        tr(
            "Diameter of the largest disc that lies in the metal and touches the skin at a place of the "
            "zone, "
            "where two of its contacts face each other."
        ),
        tr(
            "contacts at least 150 degrees apart seen from the disc's centre; in a plate of thickness t "
            "it is t, "
            "between faces 2a apart in angle 2 t cos a / (1 + cos a). Gauge: length along the normal there."
        ),
        tr("{ours}; required walls come from the rule set", ours=_OURS),
    ),
    "lip inner_lip_axial": Explanation(
        tr("Lip, axial"),
        tr("Thickness of the flange along the axle at half its height."),
        tr("length of metal along z at r = D / 2 + G / 2, D the specified diameter, G the flange height"),
        tr("the name that engineers use; common practice, no source"),
    ),
    "lip inner_lip_under_heel": Explanation(
        tr("Lip, under the heel"),
        tr("Thickness of the rim along r under the heel of the tyre's bead."),
        tr("length of metal along r, 6.5 mm from the flange face"),
        _LIP_CUT,
    ),
    "lip inner_lip_height": Explanation(
        tr("Lip, seat to end"),
        tr("How far the lip rises over the bead seat."),
        tr("greatest r of the lip - D / 2"),
        tr("rim standards give the flange height; the reading is that of the drawn section"),
    ),
    "lip inner_lip_area": Explanation(
        tr("Lip, area"),
        tr("Area of the half-section beyond the cut that parts the lip from the rim."),
        tr("area of the section beyond the cut, mm2"),
        _LIP_CUT,
    ),
    "lip inner_lip_second_moment": Explanation(
        tr("Lip, second moment"),
        tr("How much the lip's section resists bending along r, about its own axis parallel to the axle."),
        tr("integral of (r - r of its centre) squared over the area beyond the cut, mm4"),
        tr("textbook second moment of area; {lip_cut}", lip_cut=_LIP_CUT),
    ),
    "lip spoke_depth": Explanation(
        tr("Spoke depth"),
        tr(
            "Thickness of the disc or spokes along the axle at a radius; the least of all radii is "
            "named least."
        ),
        tr("length of metal along z at that r"),
        tr("the name that engineers use; common practice, no source"),
    ),
    "lip valve_land": Explanation(
        tr("Valve land"),
        tr("Thickness of the well's wall where the valve sits."),
        tr("length of metal square to the middle of the longest straight piece of the well's outboard wall"),
        tr("common practice, no source"),
    ),
    "lip valve_flat": Explanation(
        tr("Valve land, flat"),
        tr("Straight length on which the valve's seal can sit."),
        tr("length of that straight piece"),
        tr("common practice, no source"),
    ),
    "lip valve_room": Explanation(
        tr("Room over the valve land"),
        tr("Room along r from the valve land to the bead seat's diameter, for valve and sensor."),
        tr("D / 2 - r at the middle of the land"),
        tr("common practice, no source"),
    ),
    "lip weight_band": Explanation(
        tr("Weight band"),
        tr(
            "A straight stretch of the barrel's brake side that takes stick-on weights, and the room "
            "below it."
        ),
        tr("flat: length along z. room: least distance along r to a stay-out shape"),
        tr("common practice, no source"),
    ),
    "lip face_proud": Explanation(
        tr("Face proud of outer lip"),
        tr("How far the spokes stand outboard of the outer lip; negative where the lip stands farther out."),
        tr("greatest z of the spoke face - greatest z of the outer lip"),
        tr("plain geometry"),
    ),
    "hub seat_land": Explanation(
        tr("Seat land"),
        tr("Metal between the bolt or nut seat and the mounting face."),
        tr("length of metal along z on the bolt circle, from the mounting face to the seat's inner edge"),
        _PRACTICE,
    ),
    "hub hole": Explanation(
        tr("Metal beside holes"),
        tr("Metal from the edge of a bolt hole, drive-pin hole or socket bore to bore, edge or the next."),
        tr(
            "to the bore (C - d - b) / 2; to the edge (p - C - d) / 2; to the next C sin(180 deg / n) - d; "
            "C bolt circle, d hole, b bore, p hub pad, n holes"
        ),
        _NO_BREAK,
    ),
    "hub pad_on_flange": Explanation(
        tr("Hub pad inside the flat"),
        tr("How far the hub pad stays inside the flat of hub flange or disc hat."),
        tr("(flat diameter - hub-pad diameter) / 2"),
        _NO_BREAK,
    ),
    "hub bore_over_spigot": Explanation(
        tr("Bore over spigot"),
        tr("Play between the wheel's bore and the hub's spigot, on the diameter."),
        tr("bore - spigot; wide play does not centre without a ring"),
        _PRACTICE,
    ),
    "hub chamfer_over_root": Explanation(
        tr("Bore chamfer against spigot root"),
        tr("Whether the bore's chamfer clears the radius at the spigot's root; else the wheel sits proud."),
        tr("chamfer, needs the root radius"),
        tr("plain geometry"),
    ),
    "hub spigot_engaged": Explanation(
        tr("Spigot engaged"),
        tr("Length of the spigot that the bore holds."),
        tr("the lesser of spigot length and bore depth, less spacer and chamfer"),
        _PRACTICE,
    ),
    "hub spigot_to": Explanation(
        tr("Room before the spigot"),
        tr("Room from the spigot's end to a body of the wheel before it, such as a cap."),
        tr("least z of the body - spigot length"),
        _NO_BREAK,
    ),
    "hub hole_over_thread": Explanation(
        tr("Hole over thread"),
        tr("Room of the stud in its hole, on the diameter."),
        tr("hole - thread diameter"),
        _NO_BREAK,
    ),
    "hub bore_over_spigot_coated": Explanation(
        tr("Bore over spigot, coated"),
        tr("Play that the coating of the bore leaves, on the diameter."),
        tr("bore - spigot - 2 x growth; growth is the film's thickness, half of it for anodic films"),
        _PRACTICE,
    ),
    "hub hole_over_thread_coated": Explanation(
        tr("Hole over thread, coated"),
        tr("Room of the stud in its hole where the hole is coated as the wheel is, on the diameter."),
        tr("hole - thread diameter - 2 x growth"),
        _NO_BREAK,
    ),
    "hub coating_on_seats": Explanation(
        tr("Coating on hub pad and seats"),
        tr("What the coating adds where the bolts clamp; it settles there, and their tension goes."),
        tr("growth of the film, a side; hub pad and seats stay bare"),
        _PRACTICE,
    ),
    "hub thread_engaged": Explanation(
        tr("Thread engaged"),
        tr("Length of stud that the nut holds."),
        tr("stud length - spacer - seat land; needs a multiple of the thread's diameter"),
        _PRACTICE,
    ),
    "tyre": Explanation(
        tr("Tyre and size"),
        tr(
            "What the tyre's size says about rim, load and room, and the gaps of the fitted tyre to body and "
            "suspension."
        ),
        tr("by the published formulas of tyre sizes; each line names its source, and how sure it is"),
        tr("the source that the line names"),
    ),
    "mass": Explanation(
        tr("Mass"),
        tr("Mass of the finished wheel: the section turned, spoke windows, holes and pockets taken off."),
        tr(
            "density times volume, closed sums over lines and arcs; in the spoke region metal counts "
            "min(1, n w(r) / (2 pi r)), n spokes of width w at radius r"
        ),
        tr("checked against an OpenCASCADE revolve to 1e-9; density of the wheel's material"),
    ),
    "mass full": Explanation(
        tr("Mass as a full body"),
        tr("Mass of the same section turned without windows or holes."),
        tr("density times 2 pi times the integral of r over the section"),
        tr("checked against an OpenCASCADE revolve to 1e-9"),
    ),
    "polar": Explanation(
        tr("Polar inertia"),
        tr("Moment of inertia about the axle."),
        tr("integral of r squared over the mass, kg m2"),
        tr("textbook definition; checked against an OpenCASCADE revolve"),
    ),
    "centre": Explanation(
        tr("Centre of mass"),
        tr("Where the wheel's centre of mass lies along the axle, + outboard of where it bears on the hub."),
        tr("integral of z over the mass, divided by the mass, mm"),
        tr("textbook definition; checked against an OpenCASCADE revolve"),
    ),
    "blank mass": Explanation(
        tr("Blank mass"),
        tr("Mass of the blank as drawn."),
        tr("density times the turned volume of its outline"),
        tr("checked against an OpenCASCADE revolve"),
    ),
    "chips": Explanation(
        tr("Chips"), tr("Metal that is cut off."), tr("blank mass - wheel mass"), tr("plain arithmetic")
    ),
    "ratio": Explanation(
        tr("Mass ratio"),
        tr("How much is bought for what is sold."),
        tr("blank mass / wheel mass"),
        tr("plain arithmetic"),
    ),
    "asks": Explanation(
        tr("Questions"),
        tr("What is missing for a full answer; while a question is open, what rests on it is not known."),
        tr("each names what must be stated, and where"),
        tr("what is not known is never clear"),
    ),
    "fault": Explanation(
        tr("Faults of an outline"),
        tr("Why the outline is none, such as a crossing or a radius that does not fit, with its place."),
        tr("readings are complete or absent: while there is a fault there are none"),
        tr("a rule of this program"),
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
