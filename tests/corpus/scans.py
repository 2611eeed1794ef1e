"""Points in space or in the half-plane, as arms and scanners give them: order, frame, noise, probe ball."""

import math
import random
from collections.abc import Iterator, Sequence

from tests.corpus.cases import EVEN, FOUR_PISTON, INCH, REAR, STEPPED, Case, case
from tests.corpus.shapes import Chain, Point, box, pieces, spaced
from tests.corpus.truth import Options, Place

TURN_DEG = 35.0
"""A caliper spans about this angle on both sides of its middle."""


def cases() -> Iterator[Case]:
    """All files of this group."""
    yield from _orders()
    yield from _frames()
    yield from _forms()
    yield from _probes_and_noise()


def around(places: Sequence[Point], seed: int, centre_deg: float = 90.0) -> list[Place]:
    """Each place (z, r) as (x, y, z) at a random angle about the axle."""
    draw = random.Random(seed)
    found = []
    for z, r in places:
        angle = math.radians(centre_deg + draw.uniform(-TURN_DEG, TURN_DEG))
        found.append((r * math.cos(angle), r * math.sin(angle), z))
    return found


def shuffled(places: Sequence[Place], seed: int) -> list[Place]:
    """The places in random order."""
    mixed = list(places)
    random.Random(seed).shuffle(mixed)
    return mixed


def lines(places: Sequence[Sequence[float]], separator: str = " ", digits: int = 3, end: str = "\n") -> str:
    """One point to a line."""
    return "".join(separator.join(f"{v + 0.0:.{digits}f}" for v in place) + end for place in places)


def scan(
    name: str, content: str | bytes, defect: str, profile: Chain, noise_mm: float = 0.002, **more: object
) -> Case:
    """A file of points."""
    more.setdefault("unit", "mm")
    # Between points nothing is known: outward is the safe side, so more is allowed there.
    more.setdefault("tol", (0.5 + 2.0 * noise_mm, 2.0 + 2.0 * noise_mm))
    more.setdefault("joined", None)
    more.setdefault("doubles", None)
    return case(name, content, "points", defect, [profile], noise_mm=noise_mm, **more)  # type: ignore[arg-type]


def _orders() -> Iterator[Case]:
    flat = [(z, r, 0.0) for z, r in spaced(FOUR_PISTON, 1.5)]
    yield scan(
        "points_random_order.csv",
        "z_mm,r_mm\n" + lines([place[:2] for place in shuffled(flat, 3)], ","),
        "Places along the outline in random order: joined as they stand they cross each other.",
        FOUR_PISTON,
        options=Options(in_order=False),
    )
    yield scan(
        "points_xyz.xyz",
        lines(shuffled(around(spaced(STEPPED, 1.2), 4), 5)),
        "Points in space without heading, unit or order; the axle is z.",
        STEPPED,
        unit=None,
        options=Options(unit="mm", axle="z", in_order=False),
        questions=("unit", "axle"),
    )
    yield scan(
        "points_thousands.xyz",
        lines(shuffled(around(spaced(REAR, 0.08), 6), 7)),
        "Thousands of points.",
        REAR,
        unit=None,
        options=Options(unit="mm", axle="z", in_order=False),
        questions=("unit", "axle"),
    )
    profile = spaced(EVEN, 2.0)
    runs = []
    for k in range(5):
        angle = math.radians(62.0 + 14.0 * k)
        runs.append(lines([(r * math.cos(angle), r * math.sin(angle), z) for z, r in profile]))
    yield scan(
        "points_scan_lines.asc",
        "\n".join(runs),
        "Five scan lines round the body, an empty line between them.",
        EVEN,
        unit=None,
        options=Options(unit="mm", axle="z", in_order=False),
        questions=("unit", "axle"),
    )
    double = [p for p in around(spaced(REAR, 2.0), 8) for _ in range(3)]
    yield scan(
        "points_duplicates.csv",
        "x_mm,y_mm,z_mm\n" + lines(shuffled(double, 9), ","),
        "Every point three times.",
        REAR,
        options=Options(axle="z", in_order=False),
        questions=("axle",),
    )


def _frames() -> Iterator[Case]:
    body = around(spaced(FOUR_PISTON, 1.7), 11)
    yield scan(
        "points_axle_y.csv",
        "x_mm,y_mm,z_mm\n" + lines([(x, z, y) for x, y, z in body], ","),
        "The axle is y.",
        FOUR_PISTON,
        options=Options(axle="y", in_order=False),
        questions=("axle",),
    )
    yield scan(
        "points_axle_x.csv",
        "x_mm,y_mm,z_mm\n" + lines([(z, x, y) for x, y, z in body], ","),
        "The axle is x, although the third column is called z.",
        FOUR_PISTON,
        options=Options(axle="x", in_order=False),
        questions=("axle",),
    )
    arm = around(spaced(STEPPED, 1.5), 12)
    origin = (412.37, -188.25, 903.41)
    frame = _frame(math.radians(33.0), math.radians(-12.5))
    moved = [_placed(frame, origin, place) for place in arm]
    yield scan(
        "points_arm_frame.txt",
        "x mm\ty mm\tz mm\n" + lines(moved, "\t", 5),
        "Points in the frame of the arm's base: the axle lies askew and off the origin.",
        STEPPED,
        options=Options(axle_origin_mm=origin, axle_direction=_rounded(frame[2]), in_order=False),
        questions=("axle", "zero"),
    )
    near, far = around(spaced(EVEN, 2.5), 13), around(spaced(EVEN, 2.5), 14, -90.0)
    yield scan(
        "points_both_sides.csv",
        "x_mm,y_mm,z_mm\n" + lines([*near, *far], ","),
        "Points on both sides of the axle, at twelve and at six o'clock.",
        EVEN,
        options=Options(axle="z", in_order=False),
        questions=("axle",),
    )
    signed = [(z, r if i % 2 else -r) for i, (z, r) in enumerate(spaced(EVEN, 2.0))]
    yield scan(
        "points_both_sides_plane.csv",
        "z_mm,y_mm\n" + lines(signed, ","),
        "Places in one plane through the axle, y above zero on one side and below on the other; r "
        "is its size.",
        EVEN,
        options=Options(in_order=False, columns={"z": "z_mm", "y": "y_mm"}),
        questions=("axle",),
        may_refuse=r"(?i)axle|below|negative|r < 0|column",
    )


Frame = tuple[Place, Place, Place]


def _frame(turn: float, tilt: float) -> Frame:
    """Three directions at right angles; the third is the axle."""
    ct, st, cl, sl = math.cos(turn), math.sin(turn), math.cos(tilt), math.sin(tilt)
    return ((ct, st, 0.0), (-st * cl, ct * cl, sl), (st * sl, -ct * sl, cl))


def _rounded(direction: Place) -> Place:
    return (round(direction[0], 12), round(direction[1], 12), round(direction[2], 12))


def _placed(frame: Frame, origin: Place, place: Place) -> Place:
    x, y, z = (origin[k] + sum(place[i] * frame[i][k] for i in range(3)) for k in range(3))
    return (x, y, z)


def _forms() -> Iterator[Case]:
    body = around(spaced(REAR, 1.6), 21)
    named = "".join(
        f"PT{i:04d}; {x:.3f}; {y:.3f}; {z:.3f}; 0.0; 1.0; 0.0\n".replace(".", ",")
        for i, (x, y, z) in enumerate(body)
    )
    yield scan(
        "points_names_and_normals.csv",
        "Name; X [mm]; Y [mm]; Z [mm]; I; J; K\n" + named,
        "Names before and directions after the coordinates, decimal commas, blanks after the semicolons.",
        REAR,
        options=Options(axle="z", in_order=False),
        questions=("axle",),
    )
    inches = [(x / INCH, y / INCH, z / INCH) for x, y, z in body]
    yield scan(
        "points_inch_row.txt",
        "x y z\nin in in\n" + lines(inches, " ", 5),
        "A row of units, inches, under the headings.",
        REAR,
        unit="in",
        options=Options(axle="z", in_order=False),
        questions=("axle",),
    )
    colours = "".join(
        f"{x:.3f} {y:.3f} {z:.3f} {90 + i % 120} {i % 256} 64\n" for i, (x, y, z) in enumerate(body)
    )
    yield scan(
        "points_colours.xyz",
        "x y z r g b\n" + colours,
        "Every point has a colour; the column r is red, not the radius.",
        REAR,
        unit=None,
        options=Options(unit="mm", axle="z", in_order=False, columns={"x": "x", "y": "y", "z": "z"}),
        questions=("unit", "axle"),
    )
    head = "// arm session 3\n// ball qualified\n"
    tagged = "".join(f"{x:.3f},{y:.3f},{z:.3f} ! line {i // 20}\n" for i, (x, y, z) in enumerate(body))
    yield scan(
        "points_remarks.xyz",
        head + tagged + "// end\n",
        "Remarks before, after and behind the points.",
        REAR,
        unit=None,
        options=Options(unit="mm", axle="z", in_order=False),
        questions=("unit", "axle"),
        may_refuse=r"(?i)line \d+|number|remark|comment",
    )
    yield scan(
        "points_parentheses.txt",
        "".join(f"({x:.3f}, {y:.3f}, {z:.3f})\n" for x, y, z in body),
        "Points in parentheses.",
        REAR,
        unit=None,
        options=Options(unit="mm", axle="z", in_order=False),
        questions=("unit", "axle"),
        may_refuse=r"(?i)line \d+|number|parenthes|bracket",
    )


def outward(chain: Chain, step_mm: float) -> list[tuple[Point, Point]]:
    """Places along a counterclockwise outline with the direction out of it."""
    found = []
    for part in pieces(chain):
        count = max(1, math.ceil(part.length() / step_mm))
        for i in range(count):
            share = (i + 0.5) / count
            (z0, r0), (z1, r1) = part.at(share - 1e-6), part.at(share + 1e-6)
            length = math.hypot(z1 - z0, r1 - r0)
            found.append((part.at(share), ((r1 - r0) / length, -(z1 - z0) / length)))
    return found


def _probes_and_noise() -> Iterator[Case]:
    sides = outward(FOUR_PISTON, 1.6)
    centres = [(z + 3.0 * nz, r + 3.0 * nr) for (z, r), (nz, nr) in sides]
    yield scan(
        "points_ball_centres.csv",
        "# probe ball 6.000 mm, centres\nx_mm,y_mm,z_mm\n" + lines(around(centres, 31), ","),
        "Centres of a 6 mm probe ball: all points lie 3 mm off the surface.",
        FOUR_PISTON,
        options=Options(axle="z", in_order=False, ball_radius_mm=3.0),
        questions=("axle", "probe"),
    )
    centres = [(z + 1.5 * nz, r + 1.5 * nr) for (z, r), (nz, nr) in outward(REAR, 2.0)]
    yield scan(
        "points_ball_centres_plane.csv",
        "z_mm,r_mm\n" + lines(centres, ",", 4),
        "Centres of a 3 mm probe ball in order along the outline; the file does not say so.",
        REAR,
        options=Options(in_order=True, ball_radius_mm=1.5),
        questions=("probe",),
    )
    yield _noisy("points_noise_hand_scanner.xyz", 1.5, 3000, "A hand scanner's noise, up to 1.5 mm.")
    yield _noisy("points_noise_cmm.xyz", 0.1, 600, "Measuring error up to 0.1 mm.")
    # Flat-topped block (checks G1): the places over its whole length, not only over its middle.
    draw = random.Random(33)
    places: list[Place] = []
    for z in (-41.3, 36.9):
        places += [(draw.uniform(-60.0, 60.0), draw.uniform(158.4, 195.0), z) for _ in range(150)]
    for y in (158.4, 195.0):
        places += [(draw.uniform(-60.0, 60.0), y, draw.uniform(-41.3, 36.9)) for _ in range(200)]
    for x in (-60.0, 60.0):
        places += [(x, draw.uniform(158.4, 195.0), draw.uniform(-41.3, 36.9)) for _ in range(150)]
        places += [(x, y, z) for y in (158.4, 195.0) for z in (-41.3, 36.9)]
    places += [(0.0, 158.4, z) for z in (-41.3, 36.9)]
    yield scan(
        "points_flat_top.xyz",
        lines(shuffled(places, 34)),
        "A flat-topped block, 195 high at its middle and 60 half long: its ends reach 204.02.",
        box(-41.3, 158.4, 36.9, math.hypot(195.0, 60.0)),
        unit=None,
        tol=(3.5, 2.0),
        options=Options(unit="mm", axle="z", in_order=False),
        questions=("unit", "axle"),
    )


def _noisy(name: str, noise_mm: float, count: int, defect: str) -> Case:
    draw = random.Random(count)
    outline = outward(STEPPED, 0.4)
    places = []
    for _ in range(count):
        (z, r), (nz, nr) = outline[draw.randrange(len(outline))]
        # Mostly small, never above the bound: the mean of three even draws.
        off = noise_mm * (sum(draw.uniform(-1.0, 1.0) for _ in range(3)) / 3.0)
        places.append((z + off * nz, r + off * nr))
    return scan(
        name,
        lines(around(places, count + 1)),
        defect,
        STEPPED,
        noise_mm=noise_mm + 0.002,
        unit=None,
        options=Options(unit="mm", axle="z", in_order=False),
        questions=("unit", "axle"),
    )
