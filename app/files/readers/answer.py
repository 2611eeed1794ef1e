"""What is asked of a reader and what it hands back: plain values that cross the process boundary."""

from __future__ import annotations

from dataclasses import dataclass

from app.files.readers.limits import MESSAGE_CHARACTERS, NAME_CHARACTERS

#: Rises when the same file would be read differently; kept with every imported outline.
READER = "outline reader 1"

#: Ends of lines and arcs nearer than this are joined, mm.
JOIN_MM = 0.01

#: Millimetres per unit of the file; the unit is one of these words or not known.
UNITS = {"mm": 1.0, "in": 25.4}
NOT_KNOWN = "not known"

SIDES = ("nearest", "outward", "inward")

#: One vertex: z, r and the bulge of the edge that leaves it.
Row = tuple[float, float, float]


class ReadError(Exception):
    """A foreign file that gives no outline; the message is one line: what, where, and how to mend it."""


class CancelledError(ReadError):
    """Reading was stopped by the person who asked for it."""


@dataclass(frozen=True)
class Request:
    """How a file is to be read.

    Attributes:
        suffix: of the file's name, lower case with its point; it names the format.
        unit: "mm" or "in" as stated by the user, None to take what the file states.
        layers: read only these; empty for all that are visible.
        join_mm: ends nearer than this belong together.
        side: where replaced curves lie: "nearest", "outward" or "inward" of the area.
        close: join the two ends of a single open outline by a straight line.
    """

    suffix: str
    unit: str | None = None
    layers: tuple[str, ...] = ()
    join_mm: float = JOIN_MM
    side: str = "nearest"
    close: bool = False


@dataclass(frozen=True)
class ReadOutline:
    """Closed outlines as a file gives them.

    Attributes:
        kind: "drawing" or "table".
        unit: of the file, "mm" or "in"; with "not known" every length here is in the file's own unit.
        loops: closed counterclockwise outlines as (z, r, bulge) rows, mm; arcs of at most 180 degrees.
        bounds: z low, z high, r low, r high in mm, exact over arcs.
        layers: entities read on each layer, by its whole name; `plain` fits a name for a message.
        skipped: entities left out, by type or reason.
        joined, largest_join_mm: ends that did not meet and were joined; their largest distance.
        doubles: lines, arcs or outlines drawn a second time and dropped.
        curves, curve_error_mm: curves replaced by arcs, and how far these can lie from them at most.
        unit_doubt: why the unit is not known although the file says something about it.
        warnings: what the user should look at, one sentence each.
        file_name, sha256, reader: provenance.
    """

    kind: str
    unit: str
    loops: tuple[tuple[Row, ...], ...]
    bounds: tuple[float, float, float, float]
    layers: dict[str, int]
    skipped: dict[str, int]
    joined: int
    largest_join_mm: float
    doubles: int
    curves: int
    curve_error_mm: float
    warnings: tuple[str, ...]
    sha256: str
    file_name: str = ""
    reader: str = READER
    unit_doubt: str = ""

    def loops_mm(self) -> tuple[tuple[Row, ...], ...]:
        """Return the loops, knowing that they are in mm.

        Raises:
            ReadError: the unit is not known.
        """
        if self.unit == NOT_KNOWN:
            why = self.unit_doubt or "the file does not state its unit"
            raise ReadError(f"{self.file_name}: {why}; say which with --unit mm or --unit in")
        return self.loops


def plain(name: str) -> str:
    """Return a text out of a foreign file fit for a message: printable, on one line, short."""
    printable = "".join(c if c.isprintable() else "?" for c in name)
    return printable if len(printable) <= NAME_CHARACTERS else printable[: NAME_CHARACTERS - 1] + "…"


def one_line(message: str) -> str:
    """Return a message on one line and of bounded length."""
    line = " ".join("".join(c if c.isprintable() else " " for c in message).split())
    return line if len(line) <= MESSAGE_CHARACTERS else line[: MESSAGE_CHARACTERS - 1] + "…"
