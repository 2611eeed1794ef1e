"""What is asked of a reader and what it hands back: plain values that cross the process boundary.

A reader draws what a file holds in the file's own plane: x as z, y as r, turned and moved by nobody. Where
that lies in the hub's frame is said afterwards, by a Placement of geometry.shape.placing.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from app.files.readers.limits import MESSAGE_CHARACTERS, NAME_CHARACTERS
from geometry.tolerances import LARGEST_MM

#: Rises when the same file would be read differently; kept with every imported outline.
READER = "outline reader 3"

#: Ends of lines and arcs nearer than this are joined, mm.
JOIN_MM = 0.01

#: Millimetres per unit of the file; the unit is one of these words or not known.
UNITS = {"mm": 1.0, "in": 25.4, "cm": 10.0, "m": 1000.0, "ft": 304.8}
NOT_KNOWN = "not known"

#: Units in words, for sentences.
UNIT_WORDS = {"mm": "millimetres", "in": "inches", "cm": "centimetres", "m": "metres", "ft": "feet"}

SIDES = ("nearest", "outward", "inward")

#: Which coordinate of a body in space runs along the axle; "fitted" finds the axle from its turned surfaces.
AXLES = ("x", "y", "z", "fitted")

#: How the rows of a table of points are meant: as they follow each other along an outline, or in any order.
POINTS = ("auto", "outline", "cloud")

#: A probe ball is no smaller than this, mm.
LEAST_BALL_MM = 0.01

#: Places below the axle line by less than this are rounding of a place on it, mm.
AXLE_MM = 1e-9

#: One vertex: z, r and the bulge of the edge that leaves it.
Row = tuple[float, float, float]
Loop = tuple[Row, ...]


class ReadError(Exception):
    """A foreign file that gives no outline; the message is one line: what, where, and how to mend it."""


class CancelledError(ReadError):
    """Reading was stopped by the person who asked for it."""


@dataclass(frozen=True)
class Request:
    """How a file is to be read; what a format does not have is not looked at.

    Attributes:
        suffix: of the file's name, lower case with its point; it names the format.
        unit: a key of UNITS as stated by the user, None to take what the file states.
        side: where replaced curves lie: "nearest", "outward" or "inward" of the area.
        layers, colours, kinds: read only these; empty for all that are on at first.
        join_mm: ends nearer than this belong together.
        close: join the two ends of a single open outline by a straight line.
        mirror: complete a half-drawn outline by its image in the line through its two ends.
        drop_open: leave open chains out where there are closed outlines.
        axle: for bodies in space: a word of AXLES.
        axle_named: the user named the axle; what is taken for want of a word is said of a body.
        axle_at: the axle line's place in the two other coordinates (in cyclic order), in the file's unit.
        bodies: numbers (from 0) of the bodies of a mesh to take; empty for all.
        points: for tables: a word of POINTS.
        columns: for tables without names: what each column is, of "z", "r", "x", "y", "bulge", "".
        sheet: name of the sheet of a workbook; empty for the first that holds numbers.
        ball_mm: radius of the probe ball whose centres the points are, to be taken off; 0 for surface points.
        quantile: for clouds and scans: the share of points that the outline must hold, 1 for all.
    """

    suffix: str
    unit: str | None = None
    side: str = "nearest"
    layers: tuple[str, ...] = ()
    colours: tuple[str, ...] = ()
    kinds: tuple[str, ...] = ()
    join_mm: float = JOIN_MM
    close: bool = False
    mirror: bool = False
    drop_open: bool = False
    axle: str = "x"
    axle_named: bool = False
    axle_at: tuple[float, float] = (0.0, 0.0)
    bodies: tuple[int, ...] = ()
    points: str = "auto"
    columns: tuple[str, ...] = ()
    sheet: str = ""
    ball_mm: float = 0.0
    quantile: float = 1.0


@dataclass(frozen=True)
class Body:
    """One connected body of a mesh: its triangles, its box in the file's axes (mm), whether it is closed."""

    triangles: int
    low: tuple[float, float, float]
    high: tuple[float, float, float]
    is_closed: bool


@dataclass(frozen=True)
class Flat:
    """A flat face square to the axle: its z, inner and outer radius, area, and how far its points lie off."""

    z_mm: float
    r_low_mm: float
    r_high_mm: float
    area_mm2: float
    rms_mm: float


@dataclass(frozen=True)
class AxleFit:
    """An axle line fitted to turned surfaces.

    Attributes:
        through, direction: a place on it (file's axes, mm) and its unit direction, + outboard as far as told.
        rms_mm: how far the surfaces' normals pass the line by, on average.
        flats: faces square to it, largest first; one of them can be the mounting face.
    """

    through: tuple[float, float, float]
    direction: tuple[float, float, float]
    rms_mm: float
    flats: tuple[Flat, ...]


@dataclass(frozen=True)
class ReadOutline:
    """What a file holds, drawn in its own plane.

    Attributes:
        kind: "drawing", "mesh", "points" or "table".
        unit: of the file, a key of UNITS; with "not known" every length here is in the file's own unit.
        loops: closed counterclockwise outlines as (z, r, bulge) rows, mm; arcs of at most 180 degrees.
        within: for each loop the number of the smallest loop round it, -1 for an outer one.
        frames: numbers of loops that have the size of a drawing sheet and go round all others: off at first.
        bounds: z low, z high, r low, r high in mm of all loops and open chains, exact over arcs.
        layers, colours, kinds: entities that could be read, by layer, colour and kind.
        off: layers left out at first: their names say text, dimension or frame, or the file hides them.
        skipped: entities left out, by type or reason.
        joined, largest_join_mm, joins: ends that did not meet and were joined; the largest distance between
            two of them; their places as (z, r, distance).
        doubles: lines, arcs or outlines drawn a second time and dropped.
        open: chains that do not close, as rows; their last row has no edge.
        hindrance: why the loops cannot be used yet: what, where, and how to mend it; empty when they can.
        curves, curve_error_mm: curves replaced by arcs, and how far these can lie from them at most.
        tolerance_mm: how far outside the true area an outline swept or gathered may lie at most.
        ball_mm: radius of the probe ball that was taken off.
        bodies: of a mesh; fit: its fitted axle, None where it was not asked for.
        cloud: points read, thinned out for a picture; outside, outside_count: those left outside the outline.
        sheets: names of a workbook's sheets; columns: what each column of a table was taken as.
        unit_doubt: why the unit is not known although the file says something about it.
        warnings: what the user should look at, one sentence each.
        file_name, sha256, reader: provenance.
    """

    kind: str
    unit: str
    loops: tuple[Loop, ...]
    bounds: tuple[float, float, float, float]
    sha256: str
    within: tuple[int, ...] = ()
    frames: tuple[int, ...] = ()
    layers: dict[str, int] = field(default_factory=dict)
    colours: dict[str, int] = field(default_factory=dict)
    kinds: dict[str, int] = field(default_factory=dict)
    off: tuple[str, ...] = ()
    skipped: dict[str, int] = field(default_factory=dict)
    joined: int = 0
    largest_join_mm: float = 0.0
    joins: tuple[tuple[float, float, float], ...] = ()
    doubles: int = 0
    open: tuple[Loop, ...] = ()
    hindrance: str = ""
    curves: int = 0
    curve_error_mm: float = 0.0
    tolerance_mm: float = 0.0
    ball_mm: float = 0.0
    bodies: tuple[Body, ...] = ()
    fit: AxleFit | None = None
    cloud: tuple[tuple[float, float], ...] = ()
    outside: tuple[tuple[float, float], ...] = ()
    outside_count: int = 0
    sheets: tuple[str, ...] = ()
    columns: tuple[str, ...] = ()
    unit_doubt: str = ""
    warnings: tuple[str, ...] = ()
    file_name: str = ""
    reader: str = READER

    def usable_loops_mm(self) -> tuple[Loop, ...]:
        """Return the loops as drawn, knowing that they are in mm and that nothing hinders their use.

        Raises:
            ReadError: the unit is not known, or an outline is open or unclear.
        """
        if self.unit == NOT_KNOWN:
            why = self.unit_doubt or "the file does not state its unit"
            raise ReadError(f"{self.file_name}: {why}; say which with --unit mm or --unit in")
        if self.hindrance:
            raise ReadError(f"{self.file_name}: {self.hindrance}")
        if not self.loops:
            raise ReadError(f"{self.file_name}: no closed outline in the file")
        return self.loops

    def loops_mm(self) -> tuple[Loop, ...]:
        """Return the loops where the file's plane is the half-plane itself, in mm.

        Raises:
            ReadError: as usable_loops_mm, or an outline reaches below the axle line or too far out.
        """
        return above_axle(self.usable_loops_mm(), self.file_name)


def above_axle(loops: tuple[Loop, ...], name: str) -> tuple[Loop, ...]:
    """Return placed loops, what lies a rounding below the axle line put on it.

    Raises:
        ReadError: an outline reaches below the axle line, or beyond the largest size.
    """
    from app.files.readers.pieces import lowest_and_bounds

    for loop in loops:
        (z, r), bounds = lowest_and_bounds(loop)
        if r < -AXLE_MM:
            raise ReadError(
                f"{name}: the outline reaches r = {r:.6g} mm at z = {z:.3f}, below the axle line; move or "
                "turn it so that the axle line lies along its foot, or draw one half"
            )
        if max(map(abs, bounds)) > LARGEST_MM:
            raise ReadError(
                f"{name}: the outline reaches {max(bounds, key=abs):.6g} mm, more than {LARGEST_MM:g}; check "
                "the unit and the drawing's origin"
            )
    return tuple(tuple((z, max(r, 0.0), bulge) for z, r, bulge in loop) for loop in loops)


def plain(name: str) -> str:
    """Return a text out of a foreign file fit for a message: printable, on one line, short."""
    printable = "".join(c if c.isprintable() else "?" for c in name)
    return printable if len(printable) <= NAME_CHARACTERS else printable[: NAME_CHARACTERS - 1] + "…"


def one_line(message: str) -> str:
    """Return a message on one line and of bounded length."""
    line = " ".join("".join(c if c.isprintable() else " " for c in message).split())
    return line if len(line) <= MESSAGE_CHARACTERS else line[: MESSAGE_CHARACTERS - 1] + "…"
