"""What is read from one wheel, and what it is held against: plain rows."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from geometry.readings.places import (
    CoatingGeometry,
    FixingGeometry,
    HubGeometry,
    RimPlaces,
    SingleNutGeometry,
)
from geometry.readings.rules import RuleSet, State
from geometry.readings.solid import BoltHoles, Solid, SpokeRegion
from geometry.shape.curve import Path
from geometry.shape.outline import StayOut

Place = tuple[float, float]


@dataclass(frozen=True)
class GapRow:
    """Least distance from a zone of the wheel to a stay-out shape.

    Attributes:
        least_mm: to the outline as given; negative is the depth of the overlap.
        error_mm: the shape's stated error, taken off before the state is judged.
        radial_mm, axial_mm: parts of the gap along r and z, from wheel to shape, signed.
        required_mm: the rule's part on paper, None without a rule; worst_mm its part in the worst state.
        spare_mm: least - error + gap already included - required.
        at_wheel, at_shape: witness places (z, r).
        state: None without a rule, unless the areas share area.
        position: label of the deciding outline of the shape.
        body: name of the ring body that is nearest, empty for the section itself.
        questions: what must be answered before the state can be more than 'not known'.
        move_radial_mm, move_axial_mm: when touching, the least shift of the shape that makes it just clear,
            signed; None otherwise.
    """

    shape: str
    zone: str
    least_mm: float
    error_mm: float
    included_mm: float
    radial_mm: float
    axial_mm: float
    required_mm: float | None
    worst_mm: float | None
    spare_mm: float | None
    state: State | None
    at_wheel: Place
    at_shape: Place
    position: str
    grade: str
    rule: str | None
    body: str = ""
    questions: tuple[str, ...] = ()
    move_radial_mm: float | None = None
    move_axial_mm: float | None = None


@dataclass(frozen=True)
class WallRow:
    """Least wall of a zone: diameter of the largest disc in the metal, and the length along the normal."""

    zone: str
    least_mm: float
    gauge_mm: float
    required_mm: float | None
    spare_mm: float | None
    state: State | None
    at: Place
    across: Place
    rule: str | None


@dataclass(frozen=True)
class StockRow:
    """Least stock between finished skin and blank, per zone and side; negative where metal is missing."""

    zone: str
    side: str
    least_mm: float
    required_mm: float | None
    spare_mm: float | None
    state: State | None
    at: Place
    at_blank: Place
    rule: str | None


@dataclass(frozen=True)
class NamedReading:
    """One reading by the name engineers use.

    Attributes:
        key: short stable name, as in JSON.
        name: words shown.
        value: in the unit named.
        unit: mm, mm2, mm4.
        place: where it was taken, (z, r), or None.
        required, spare, state: of its rule, None without one.
        note: what the value stands for, or why it is absent.
    """

    key: str
    name: str
    value: float
    unit: str
    place: Place | None
    required: float | None = None
    spare: float | None = None
    state: State | None = None
    note: str = ""


#: Of each kind of row so many are kept: in a drag most come out as before, and are the same objects again.
KEPT_ROWS = 512


@lru_cache(maxsize=KEPT_ROWS)
def reading(
    key: str,
    name: str,
    value: float,
    place: Place | None,
    note: str = "",
    unit: str = "mm",
    required: float | None = None,
    spare: float | None = None,
    state: State | None = None,
) -> NamedReading:
    """Return a reading by name; of equal numbers and words the same object."""
    return NamedReading(key, name, value, unit, place, required, spare, state, note)


@dataclass(frozen=True)
class BlankReading:
    """Mass of the blank, chips, and blank mass over wheel mass; missing metal where stock is negative.

    Attributes:
        missing_mm2, missing_mm3: area and volume of wheel that lies outside the blank ("about").
    """

    name: str
    mass_kg: float
    chips_kg: float
    mass_ratio: float
    missing_mm2: float
    missing_mm3: float


@dataclass(frozen=True)
class Ring:
    """A body that turns with the wheel, as its box in the hub's frame; counts in the gap, not in the wall."""

    name: str
    path: Path


@dataclass(frozen=True)
class Held:
    """What a wheel is held against, as plain geometry in the hub's frame.

    Attributes:
        shapes: stay-out shapes, each with the paths of its positions in order.
        blank: path of the blank's outline, or None.
        usable: outline that stock is read to, the blank's less what may be missing by direction; None where
            that is the blank's own.
        skin_mm: taken off it square to the skin.
        spokes, holes: for the mass; None and empty for a plain body of revolution.
        spacer_mm: the wheel's mounting face lies at z = spacer_mm.
        envelope: section shows the highest places of the spoke backs; None while nobody has said.
        rim, fixing, hub: for the readings by name; what is None is left out or asked for.
        coating: of the wheel; None where nothing is said of one.
    """

    shapes: tuple[tuple[StayOut, tuple[Path, ...]], ...] = ()
    rules: RuleSet | None = None
    rings: tuple[Ring, ...] = ()
    blank_name: str = ""
    blank: Path | None = None
    usable: Path | None = None
    skin_mm: float = 0.0
    density_kg_m3: float = 2712.6
    spokes: SpokeRegion | None = None
    holes: tuple[BoltHoles, ...] = ()
    spacer_mm: float = 0.0
    envelope: bool | None = True
    rim: RimPlaces | None = None
    fixing: FixingGeometry | SingleNutGeometry | None = None
    hub: HubGeometry | None = None
    coating: CoatingGeometry | None = None

    @property
    def stock_path(self) -> Path | None:
        """The outline that stock is read to."""
        return self.blank if self.usable is None else self.usable

    def with_blank_moved(self, dz: float) -> Held:
        """Return the same with the blank moved along the axle."""
        moved = [None if path is None else path.moved(dz=dz) for path in (self.blank, self.usable)]
        return replace(self, blank=moved[0], usable=moved[1])


@dataclass(frozen=True)
class Measurements:
    """Every reading of one wheel, in the hub's frame.

    Attributes:
        lip: lips, spokes, valve land and the like, by name.
        hub: fixing and hub fit.
        questions: what is missing for a full answer, plain sentences.
        state: worst of all rows; 'not known' without a shape or a rule set.
    """

    gap: tuple[GapRow, ...]
    wall: tuple[WallRow, ...]
    stock: tuple[StockRow, ...]
    solid: Solid
    blank: BlankReading | None
    lip: tuple[NamedReading, ...]
    hub: tuple[NamedReading, ...]
    questions: tuple[str, ...]
    state: State
