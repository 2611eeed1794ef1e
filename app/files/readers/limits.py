"""How much a file may ask of this machine, each cap with its reason; `app/files/caps.py` lists them all."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Limits:
    """Caps for one kind of file.

    Attributes:
        size_bytes: of the file.
        seconds: wall clock and processor time of the child process.
        memory_bytes: address space of the child process, where the system can limit it.
        entities: drawing entities, those of placed blocks counted every time; lines of a table.
        points: vertices handed back.
        nesting: blocks within blocks.
        written_bytes: of any file that the child could write, among them those that lie in memory alone.
    """

    size_bytes: int
    seconds: float
    memory_bytes: int
    entities: int
    points: int
    nesting: int
    written_bytes: int = 1 << 20


_MB = 1_000_000

#: A half-section is some hundred entities; whole assemblies of a supplier stay below these.
DRAWING = Limits(
    size_bytes=20 * _MB, seconds=10.0, memory_bytes=2 << 30, entities=50_000, points=200_000, nesting=16
)

#: Places of one polyline: an outline with more is a scan, and is brought as a table of points.
POLYLINE_POINTS = 20_000

#: A dense scan of a section is some ten thousand points; fitting an axle to a body's takes the time.
TABLE = Limits(
    size_bytes=50 * _MB, seconds=30.0, memory_bytes=2 << 30, entities=2_000_000, points=200_000, nesting=1
)

#: A sheet of measured points is some thousand rows; its text is ten times as much to read as a table's.
WORKBOOK = Limits(
    size_bytes=50 * _MB, seconds=30.0, memory_bytes=2 << 30, entities=200_000, points=200_000, nesting=1
)

#: What a package may unpack to, and how many times its packed size a member of it.
UNPACKED_BYTES, UNPACKED_RATIO = 300 * _MB, 200

#: A scan of a caliper is a few hundred thousand triangles; entities are triangles here.
MESH = Limits(
    size_bytes=300 * _MB, seconds=30.0, memory_bytes=3 << 30, entities=2_000_000, points=200_000, nesting=16
)

#: A supplier's caliper is some ten megabytes; the triangles it is parted into come as a file in memory.
STEP = Limits(
    size_bytes=100 * _MB,
    seconds=60.0,
    memory_bytes=3 << 30,
    entities=2_000_000,
    points=200_000,
    nesting=64,
    written_bytes=256 << 20,
)

#: A photograph or a scanned sheet to trace; entities are pixels of the file, points are pixels handed back.
PICTURE = Limits(
    size_bytes=30 * _MB,
    seconds=10.0,
    memory_bytes=2 << 30,
    entities=40_000_000,
    points=6_000_000,
    nesting=1,
)

#: A roadmap of 36 rows is 10 kB of text; of a workbook's sheet, rows and columns that are looked at.
ROADMAP_BYTES, CELL_ROWS, CELL_COLUMNS = 20 * _MB, 50_000, 256

#: A project of 200 wheels is about 5 MB. The program itself reads it: its size alone bounds the time.
PROJECT_BYTES = 50 * _MB

#: Lists and objects within each other, the project counting as one: the schema needs 7, notes the rest.
PROJECT_DEPTH = 32

#: Parts in one list, corners in one outline: as many as a reader hands back.
PROJECT_ITEMS = 200_000

#: A journal of this size is written anew with its newest record alone. A project of 200 wheels takes 0.2 MB.
JOURNAL_BYTES = 8 * _MB

#: No journal is read beyond this, counted from its end.
JOURNAL_READ = 64 * _MB

#: Earlier states of one file, and what those of all files may take together.
KEPT_STATES, KEPT_BYTES = 5, 200 * _MB

#: Files the child may hold open.
OPEN_FILES = 64

#: Coordinates in the file's own unit; beyond it a double holds no micrometre next to a product of two.
LARGEST_COORDINATE = 1e6

#: Length of a message and of a name in it that comes out of the file.
MESSAGE_CHARACTERS = 600
NAME_CHARACTERS = 40
