"""Presses at hand, and whether dies stand in one and a forging comes out of it again.

Words:
    daylight   between the bed and the ram at its highest, without dies
    opening    between the faces of both dies at the ram's highest
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from geometry.errors import GeometryError

#: A forging takes no more presses than it has steps.
MOST_PRESSES = 3

#: What must be above 0 of a press.
ABOVE_0 = ("capacity_mn", "speed_mm_s", "daylight_mm", "stroke_mm", "bed_mm")


@dataclass(frozen=True)
class Press:
    """A press at hand.

    Attributes:
        capacity_mn: greatest load. speed_mm_s: under load.
        daylight_mm: between bed and ram at its highest, without dies.
        ejector_mm: stroke of its ejector; 0 where it has none.
        stroke_mm: of the ram. bed_mm: least width of the bed between its columns.
    """

    name: str
    capacity_mn: float
    speed_mm_s: float = 6.0
    daylight_mm: float = 1500.0
    ejector_mm: float = 350.0
    stroke_mm: float = 1000.0
    bed_mm: float = 1200.0


#: Three presses of the trade's sizes; invented starting values.
PRESSES = (
    Press("upset press", 20.0, 20.0),
    Press("blocking press", 50.0, 10.0),
    Press("finishing press", 90.0),
)


@dataclass(frozen=True)
class DieSteel:
    """Steel of a die beyond its cavity; starting values from memory.

    Attributes:
        wall_mm: round the flash. base_mm: behind the cavity, or of a flat upsetting plate.
        ejects: the lower die has an ejector; without one its walls need more draft.

    Raises:
        GeometryError: a length is not from 0 to 1000 mm.
    """

    wall_mm: float = 80.0
    base_mm: float = 120.0
    ejects: bool = True

    def __post_init__(self) -> None:
        for words, value in (("round the flash", self.wall_mm), ("behind the cavity", self.base_mm)):
            if not 0.0 <= value <= 1000.0:
                raise GeometryError(f"The die's steel {words} is {value:g} mm; it must be from 0 to 1000.")


#: Starting steel of the dies.
DIE_STEEL = DieSteel()


@dataclass(frozen=True)
class Refusal:
    """Why a press cannot do a step whatever its load.

    Attributes:
        text: with {0}, {1} ... in place of `lengths_mm`.
    """

    text: str
    lengths_mm: tuple[float, ...]

    def words(self, length: Callable[[float], str]) -> str:
        """Return it with its lengths written with their unit."""
        return self.text.format(*(length(value) for value in self.lengths_mm))


_WORDS = {"capacity": "load", "speed_mm": "speed"}
_UNITS = {"mn": "MN", "s": "mm/s", "mm": "mm"}


def check_presses(presses: Sequence[Press]) -> None:
    """Refuse presses that no plan can be made with.

    Raises:
        GeometryError: there is none or more than three, or a value is not above 0.
    """
    if not 1 <= len(presses) <= MOST_PRESSES:
        raise GeometryError(f"{len(presses)} presses are given; a plan takes one to three.")
    for each in presses:
        for name in ABOVE_0:
            if not getattr(each, name) > 0.0:
                words, _, unit = name.rpartition("_")
                raise GeometryError(
                    f"Press '{each.name}': its {_WORDS.get(words, words)} is {getattr(each, name):g} "
                    f"{_UNITS[unit]}; give it above 0."
                )
        if not each.ejector_mm >= 0.0:
            raise GeometryError(
                f"Press '{each.name}': its ejector's stroke is {each.ejector_mm:g} mm; give it from 0, 0 for "
                "none."
            )


def upset_refusals(
    log_mm: float, cake_mm: float, across_mm: float, on: Press, steel: DieSteel
) -> list[Refusal]:
    """Return why a press cannot upset a log between flat plates.

    Args:
        log_mm: length of the log.
        cake_mm: its height at the end.
        across_mm: its diameter at the end.
        on: the press.
        steel: of the plates.
    """
    found = []
    if across_mm > on.bed_mm:
        said = "the cake is {0} across, the bed {1}: {2} too wide"
        found.append(_refusal(said, across_mm, on.bed_mm, across_mm - on.bed_mm))
    opening = on.daylight_mm - 2.0 * steel.base_mm
    if log_mm > opening:
        said = "the log is {0} long, the plates open {1}: {2} short"
        found.append(_refusal(said, log_mm, max(opening, 0.0), log_mm - opening))
    if log_mm - cake_mm > on.stroke_mm:
        way = log_mm - cake_mm
        said = "the log goes down by {0}, the stroke is {1}: {2} short"
        found.append(_refusal(said, way, on.stroke_mm, way - on.stroke_mm))
    return found


def closed_refusals(
    across_mm: float, tall_mm: float, ring_mm: float, on: Press, steel: DieSteel
) -> list[Refusal]:
    """Return why shaped dies do not stand in a press, or the forging does not come out of them.

    The ring has to be lifted past the punch: over its own height the dies must open by it once more.

    Args:
        across_mm: diameter of the forging with its flash.
        tall_mm: height of the whole forging.
        ring_mm: height of its ring.
        on: the press.
        steel: of the dies.
    """
    found = []
    wide, closed = across_mm + 2.0 * steel.wall_mm, tall_mm + 2.0 * steel.base_mm
    if wide > on.bed_mm:
        said = "dies {0} across do not stand on a bed of {1}: {2} too wide"
        found.append(_refusal(said, wide, on.bed_mm, wide - on.bed_mm))
    if closed > on.daylight_mm:
        said = "dies {0} high when closed do not stand in a daylight of {1}: {2} too high"
        found.append(_refusal(said, closed, on.daylight_mm, closed - on.daylight_mm))
    opening = min(on.stroke_mm, max(on.daylight_mm - closed, 0.0))
    if 2.0 * ring_mm > opening:
        said = "a ring {0} high does not come out between dies that open {1}: {2} short"
        found.append(_refusal(said, ring_mm, opening, 2.0 * ring_mm - opening))
    if steel.ejects and ring_mm > on.ejector_mm:
        said = "the ring is {0} high, the ejector lifts {1}: it stays in, {2} short"
        found.append(_refusal(said, ring_mm, on.ejector_mm, ring_mm - on.ejector_mm))
    return found


def _refusal(text: str, *lengths_mm: float) -> Refusal:
    return Refusal(text, lengths_mm)
