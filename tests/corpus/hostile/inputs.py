"""Inputs that are meant to do harm, or are no outlines at all (reliability.md 4, limits of design.md 6).

Each is made when asked for, so that no large file lies in the project. To run one, write `make()` to a file
called `name`, grow it to `size` if that is given (the rest is zeros and takes no disc), and read it as a
customer's file in mm, the axle along x in drawings and along z in bodies. Then

* `refused` is a regular expression, capitals or not, on the one line that must say why not, loosely;
* `opens` says that reading it is right as well, or alone if `refused` is None: then it is harmless, and what
  is read is `outline`, in the form and with the frame of the corpus (truth.py);
* in either case it ends within the limits of its kind, gives only finite numbers, opens no other file and no
  connection, and writes nothing.

To add one: yield another `Hostile` from the module of its kind, with one sentence that says what is wrong.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from tests.corpus.cases import SHARP
from tests.corpus.shapes import Chain

LIMIT_BYTES = {"dxf": 20_000_000, "svg": 20_000_000, "csv": 50_000_000, "stl": 300_000_000}
"""What a file may weigh (design.md 6)."""

LIMIT_ENTITIES = 50_000
LIMIT_NESTING = 16
LIMIT_POINTS = 20_000
LIMIT_MM = 10_000.0
LIMIT_TRIANGLES = 2_000_000
LIMIT_UNPACKED = 300_000_000
LIMIT_RATIO = 200.0

# Words for the cause, to be found in the line that refuses; capitals or not.
NOT_FINITE = r"\bnan\b|\binf|not a number|finite|number|1e400|1e308|10[ ,']?000|limit|range"
TOO_FAR = r"10[ ,']?000|too (large|far|big)|limit|range|finite"
TOO_MANY = r"too many|limit|more than|at most|\d{2}[ ,.']?\d{3}"
TOO_LARGE = r"too large|larger than|limit|MB\b|size|memory|time|at most"
NESTED = r"nest|itself|circ|recurs|deep|level|within|too many"
NOT_XML = r"xml|svg|not (a|well)|parse|\btag|damaged|broken"
ENTITY = r"entit|doctype|dtd|xml"
NO_OUTLINE = (
    r"\bno (outline|closed|line|curve|geometry|area|entit|triangle|face|point|row|number|data)|nothing|empty"
)
DAMAGED = (
    r"damaged|broken|truncat|cut off|ends|incomplete|short|not a|corrupt|structure|missing|invalid|expected"
)
EMPTY = r"empty|\bno (data|content|outline|rows|triangle|entit|line)|nothing|not a|damaged|expected"
WRONG_KIND = r"not a|is no|looks like|not (dxf|svg|text)|binary|wrong|structure|unknown|expected|damaged"
NO_NUMBER = r"number|\bline|\brow|column|decimal|separator|comma"


@dataclass(frozen=True)
class Hostile:
    """One input; see above."""

    name: str
    about: str
    make: Callable[[], bytes]
    refused: str | None
    opens: bool = False
    size: int | None = None
    outline: Chain | None = None


def laughs() -> str:
    """Ten entities, each the last ten times: a thousand million words in all."""
    levels = "".join(f'<!ENTITY e{i} "{f"&e{i - 1};" * 10}">' for i in range(1, 10))
    return '<!ENTITY e0 "ha">' + levels


def fixed(content: bytes) -> Callable[[], bytes]:
    """A maker of bytes that are at hand."""
    return lambda: content


def harmless(name: str, about: str, make: Callable[[], bytes], outline: Chain = SHARP) -> Hostile:
    """An input that looks bad but must open, with this outline."""
    return Hostile(name, about, make, None, opens=True, outline=outline)


def either(name: str, about: str, make: Callable[[], bytes], refused: str) -> Hostile:
    """An input that may open or be refused, but in time and with a clear word."""
    return Hostile(name, about, make, refused, opens=True)


def inputs() -> Iterator[Hostile]:
    """All of them."""
    from tests.corpus.hostile import drawings, files, meshes, packages, pictures, tables, workbooks

    for group in (drawings, pictures, tables, meshes, packages, workbooks, files):
        yield from group.inputs()
