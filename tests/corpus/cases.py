"""A file of the corpus with its truth, and short ways to write down both."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from tests.corpus.shapes import EVEN as EVEN_CORNERS
from tests.corpus.shapes import FOUR_PISTON as FOUR_PISTON_CORNERS
from tests.corpus.shapes import REAR as REAR_CORNERS
from tests.corpus.shapes import SHARP as SHARP_CORNERS
from tests.corpus.shapes import STEPPED as STEPPED_CORNERS
from tests.corpus.shapes import Chain, counterclockwise, rounded
from tests.corpus.truth import Options, Truth
from tests.corpus.write_dxf import Drawing, HeaderValue

FOUR_PISTON = rounded(FOUR_PISTON_CORNERS)
STEPPED = rounded(STEPPED_CORNERS)
REAR = rounded(REAR_CORNERS)
SHARP = rounded(SHARP_CORNERS)
EVEN = rounded(EVEN_CORNERS)

INCH = 25.4
MM_HEADER: dict[str, HeaderValue] = {"$INSUNITS": (70, 4), "$MEASUREMENT": (70, 1)}


@dataclass(frozen=True)
class Case:
    """The bytes of a file and what is true of it."""

    content: bytes
    truth: Truth


def case(
    name: str,
    content: bytes | str,
    kind: str,
    defect: str,
    outlines: Sequence[Chain],
    unit: str | None = None,
    options: Options | None = None,
    closed: bool = True,
    others: Sequence[Chain] = (),
    tol: float | tuple[float, float] = 1e-5,
    **more: Any,
) -> Case:
    """One file: its truth with closed outlines turned counterclockwise; `tol` is inside and outside."""
    inside, outside = tol if isinstance(tol, tuple) else (tol, tol)

    def order(chains: Sequence[Chain]) -> tuple[Chain, ...]:
        return tuple(counterclockwise(chain) if closed else list(chain) for chain in chains)

    truth = Truth(
        file=name,
        kind=kind,
        defect=defect,
        unit_stated=unit,
        outlines=order(outlines),
        other_outlines=tuple(counterclockwise(chain) for chain in others),
        options=options or Options(),
        closed=closed,
        tol_in_mm=inside,
        tol_out_mm=outside,
        **more,
    )
    return Case(content.encode("utf-8") if isinstance(content, str) else content, truth)


def drawing(
    name: str,
    content: Drawing | bytes,
    defect: str,
    outlines: Sequence[Chain],
    unit: str | None = "mm",
    **more: Any,
) -> Case:
    """A DXF drawing; says mm in its header unless told otherwise."""
    if isinstance(content, Drawing):
        if unit == "mm" and "$INSUNITS" not in content.header:
            content.header = {**MM_HEADER, **content.header}
        content = content.text().encode("utf-8")
    return case(name, content, "drawing", defect, outlines, unit, **more)
