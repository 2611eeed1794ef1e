"""The stages of a wheel in its blank: outline, how it is held, stock left, mass and chips of each.

Everything is in the wheel's own frame, mounting face at z = 0. What a blank's tolerances and skin take away
is no stock at any stage: the least stock of a stage is the lesser of that to its outline and that to what can
be relied on of the blank.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from itertools import pairwise

from app.project import edits
from app.project.project import Project
from app.project.wheel import Wheel
from app.studies.fit import hold
from app.studies.flash_line import flash_line_finding
from app.studies.spun import GRAIN, NOT_IN, ORDER
from app.studies.stage_holding import JAW_MM, SLACK_MM, end_radii, holding_of
from app.studies.stage_words import (
    Finding,
    Holding,
    idle_side_words,
    idle_words,
    lacking_words,
    leaning_words,
    missing_words,
    movement_words,
    ratio_words,
    raw_words,
    same_metal_words,
    short_grip_words,
    spun_ring_words,
)
from geometry.errors import GeometryError
from geometry.forging.grip import HELD_DEG
from geometry.forging.removal import opened_mm3, turned
from geometry.forging.stages import Route, Stage, StageName, stages
from geometry.forging.thickest import row_words, thickest
from geometry.readings.measure import Held, StockRow, stock_rows
from geometry.readings.solid import volume_mm3
from geometry.shape.blank import SpunFrom, Supply
from geometry.shape.curve import Path
from geometry.shape.outline import placed_outline
from geometry.shape.section import Outline, build

#: By how much a ring goes oval when its skin comes off, and what is reckoned with, mm; from memory.
MOVES_MM, STARTS_MM = (0.3, 1.0), 0.6

#: What the settings start with, and what that rests on.
SOURCES = {
    "movement_mm": Finding(
        "{0} to {1} when the skin comes off and the ring goes oval, from memory; starts at {2}",
        (*MOVES_MM, STARTS_MM),
    ),
    "finishing_mm": Finding("the movement, so that the last cut still finds metal all round"),
    "rough_mm": Finding("none: treated as forged unless the shop rough turns"),
    "pierced_mm": Finding("none: the hub stays solid unless the forge pierces it"),
    "jaw_mm": Finding("chucking grip of {0}, from memory", (JAW_MM,)),
    "brake_first": Finding(
        "the brake side first: the street side then runs true to the bore and the mounting face"
    ),
}

#: The as-forged thickness may be at most so many times that at heat treatment (handbook 1.1: MIL-HDBK-5J,
#: Table 3.6.2.0(e), as read in a public transcription).
MOST_RATIO = 2.0

#: Said of every route.
NOTES = (
    Finding(
        "Movement: when the skin comes off, the ring goes oval by {0} to {1} (from memory); the finishing "
        "stock of the last stage but one must hold it.",
        MOVES_MM,
    ),
    Finding(
        "T652: cold compression after quenching relieves the stresses that move the ring; on a ringed blank "
        "it is rarely possible: ask the forge."
    ),
    Finding(
        "Soft jaws are turned in place to the diameters said of each clamping; their overhang, width and the "
        "pressure are the shop's."
    ),
    Finding(
        "Windows and holes are milled and drilled after turning; the outlines show the wheel with them "
        "filled."
    ),
)

#: Said of the route of a spun blank.
SPUN_NOTES = tuple(Finding(words) for words in (ORDER, GRAIN, NOT_IN))

#: By no more than this share may ring and spun outline with its trim differ in volume.
_SAME_METAL = 5e-3
#: More movement than this is no ring any more, mm.
_MOST_MOVEMENT_MM = 10.0
#: Less than this of a wheel outside its blank is rounding, mm3.
_MISSING_MM3 = 1.0

#: Rough turning that takes off less cuts nothing.
_NO_CHIPS_KG = 0.005


@dataclass(frozen=True)
class StageSettings:
    """How a wheel is followed through its blank.

    Attributes:
        route: what is cut, and by how much.
        movement_mm: by which the ring goes oval when its skin comes off; the finishing stock must be as much.
    """

    route: Route = field(default_factory=Route)
    movement_mm: float = STARTS_MM


@dataclass(frozen=True, eq=False)
class StageReading:
    """One stage.

    Attributes:
        path: outline, closed and counterclockwise.
        holding: how it is held while it is cut to this; None where it is not cut.
        stock: least stock left by zone and side; empty for the finished wheel.
        mass_kg: of the whole body of revolution.
        chips_kg: cut since the stage before.
        warnings: what to look at.
    """

    name: StageName
    path: Path
    holding: Holding | None
    stock: tuple[StockRow, ...]
    mass_kg: float
    chips_kg: float
    warnings: tuple[Finding, ...]

    @property
    def least(self) -> StockRow | None:
        """The row with the least stock."""
        return min(self.stock, key=lambda row: row.least_mm, default=None)


@dataclass(frozen=True)
class _Source:
    """What a wheel is cut from, in its own frame.

    Attributes:
        path: outline, of a spun blank as spun.
        ring: that it was drawn from; None where it is not spun or nobody has said.
    """

    path: Path
    is_spun: bool
    ring: Path | None
    spun: SpunFrom

    @property
    def forged(self) -> Path:
        """The outline as forged, of a spun blank whose ring is not known as spun."""
        return self.ring or self.path


@dataclass(frozen=True)
class Treated:
    """What heat treatment sees.

    Attributes:
        thickest_mm: diameter of the largest disc in the treated section. at: its centre (z, r).
        row: of the table of properties that it is in.
        forged_mm: the same of the blank as forged.
    """

    thickest_mm: float
    at: tuple[float, float]
    row: str
    forged_mm: float

    @property
    def ratio(self) -> float:
        """As forged over as treated."""
        return self.forged_mm / self.thickest_mm


@dataclass(frozen=True, eq=False)
class Followed:
    """A wheel followed through its blank.

    Attributes:
        outline: of the wheel, windows and holes filled.
        wheel_kg: with windows and holes. opened_kg: what they take.
        missing_mm3: of the wheel outside the blank; missing_at: amid the most of it.
    """

    wheel: str
    blank: str
    settings: StageSettings
    outline: Outline
    stages: tuple[StageReading, ...]
    treated: Treated
    wheel_kg: float
    opened_kg: float
    missing_mm3: float
    missing_at: tuple[float, float] | None
    notes: tuple[Finding, ...]

    @property
    def warnings(self) -> tuple[Finding, ...]:
        """Of all stages, in order."""
        return tuple(finding for stage in self.stages for finding in stage.warnings)

    def stage(self, name: str) -> StageReading:
        """Return a stage by its name.

        Raises:
            GeometryError: there is none.
        """
        for stage in self.stages:
            if stage.name == name:
                return stage
        names = ", ".join(f"'{stage.name}'" for stage in self.stages)
        raise GeometryError(f"There is no stage '{name}' on this route; there are {names}.")


def follow(project: Project, name: str, settings: StageSettings | None = None) -> Followed:
    """Return the stages of a wheel in the blank that it stands in.

    Raises:
        EditError: a wheel that the project does not hold.
        GeometryError: it has no blank, an outline is none, or a setting is out of bounds.
    """
    settings = settings or StageSettings()
    if not 0.0 <= settings.movement_mm <= _MOST_MOVEMENT_MM:
        raise GeometryError(
            f"The movement is {settings.movement_mm:g} mm; it must be from 0 to {_MOST_MOVEMENT_MM:g}."
        )
    wheel: Wheel = edits.find(project, edits.WHEEL, name)
    outline, held = _read(project, wheel)
    assert held.blank is not None
    path, blank = outline.path, held.blank.counterclockwise()
    source = _source(project, wheel, blank)
    found = stages(blank, path, settings.route, ring=source.ring, is_spun=source.is_spun)
    density = held.density_kg_m3 * 1e-9
    treated = _treated(found, source.forged, wheel.material)
    off = turned(blank, path)
    windows, holes = opened_mm3(path, held.spokes, held.holes)
    opened = density * (windows + holes)
    read = _readings(outline, held, found, settings, treated, source, (off.missing_mm3, off.missing_at))
    flash = flash_line_finding(project, wheel)
    if flash is not None:
        read = (*read[:-1], replace(read[-1], warnings=(*read[-1].warnings, flash)))
    return Followed(
        wheel=name,
        blank=held.blank_name,
        settings=settings,
        outline=outline,
        stages=read,
        treated=treated,
        wheel_kg=density * volume_mm3(path) - opened,
        opened_kg=opened,
        missing_mm3=off.missing_mm3,
        missing_at=off.missing_at,
        notes=(*NOTES, *SPUN_NOTES) if source.is_spun else NOTES,
    )


def _source(project: Project, wheel: Wheel, path: Path) -> _Source:
    """Return what a wheel is cut from; its blank's outline is read already."""
    assert wheel.blank is not None
    blank = edits.find(project, edits.BLANK, wheel.blank)
    if blank.supply is not Supply.SPUN:
        return _Source(path, False, None, SpunFrom())
    spun = blank.spun or SpunFrom()
    if not spun.ring:
        return _Source(path, True, None, spun)
    ring = placed_outline(spun.ring, wheel.seat_mm)
    if isinstance(ring, tuple):
        raise GeometryError(f"Forged ring of blank '{blank.name}': {ring[0].message}", ring[0].place)
    return _Source(path, True, ring.counterclockwise(), spun)


def _read(project: Project, wheel: Wheel) -> tuple[Outline, Held]:
    """Return a wheel's outline and what it is held against, in the wheel's own frame."""
    if wheel.blank is None:
        raise GeometryError(f"Wheel '{wheel.name}' stands in no blank; choose one.")
    bare = replace(wheel, clears=(), spacer_mm=0.0)
    try:
        outline, held = build(bare.section), hold(project, bare)
    except GeometryError as error:
        raise GeometryError(f"Wheel '{wheel.name}' cannot be read: {error}", error.place) from error
    for read in (outline, held):
        if isinstance(read, tuple):
            raise GeometryError(f"Wheel '{wheel.name}' cannot be read: {read[0].message}", read[0].place)
    assert isinstance(outline, Outline)
    assert isinstance(held, Held)
    return outline, held


def _treated(found: tuple[Stage, ...], blank: Path, material: str) -> Treated:
    path = next(stage.path for stage in found if stage.name is StageName.TREATED)
    diameter, at = thickest(path)
    forged = diameter if path is blank else thickest(blank)[0]
    row = row_words(diameter)
    if forged / diameter > MOST_RATIO:
        row = f"{row}; it does not hold, as forged the metal is over twice as thick"
    if "6061" not in material:
        row = f"{row}; the material is {material}, look its own rows up"
    return Treated(diameter, at, row, forged)


def _readings(
    outline: Outline,
    held: Held,
    found: tuple[Stage, ...],
    settings: StageSettings,
    treated: Treated,
    source: _Source,
    missing: tuple[float, tuple[float, float] | None],
) -> tuple[StageReading, ...]:
    density, sure = held.density_kg_m3 * 1e-9, stock_rows(outline, held)
    readings: list[StageReading] = []
    short: set[tuple[str, str]] = set()
    for before, stage in pairwise((None, *found)):
        assert stage is not None
        last = stage.name is StageName.FINISHED
        # The wheel does not lie in the ring that its blank is drawn from: there is no stock to read yet.
        is_ring = source.ring is not None and stage.name in (StageName.FORGED, StageName.PIERCED)
        rows = () if last or is_ring else _lesser(sure, _to_outline(outline, held, stage.path))
        holding = holding_of(outline, stage, settings.route, source.forged if is_ring else source.path)
        warnings = _warnings(rows, holding, settings, short)
        if stage.name is StageName.SPUN:
            warnings += _of_spinning(source, density)
        if stage.name is StageName.TREATED and treated.ratio > MOST_RATIO:
            warnings.append(ratio_words(treated.thickest_mm, treated.forged_mm))
        chips = 0.0
        if before is not None:
            chips = volume_mm3(before.path) - volume_mm3(stage.path)
        if stage.name in (StageName.ROUGH_FIRST, StageName.ROUGH):
            warnings += _idle(found, stage.name, settings.route.rough_mm or 0.0, density)
        if last:
            # The wheel as drawn holds what the blank has not.
            assert before is not None
            chips += turned(before.path, stage.path).missing_mm3
            warnings += _of_the_wheel(sure, missing, density)
        readings.append(
            StageReading(
                name=stage.name,
                path=stage.path,
                holding=holding,
                stock=rows,
                mass_kg=density * volume_mm3(stage.path),
                chips_kg=density * max(chips, 0.0),
                warnings=tuple(warnings),
            )
        )
    return tuple(readings)


def _idle(found: tuple[Stage, ...], name: StageName, left_mm: float, density: float) -> list[Finding]:
    """Return what is said of a side of rough turning that takes nothing off; of both once, at the second."""
    first = [stage.name for stage in found].index(StageName.ROUGH_FIRST)
    before, between, after = (volume_mm3(stage.path) for stage in found[first - 1 : first + 2])
    idle = [density * cut < _NO_CHIPS_KG for cut in (before - between, between - after)]
    if all(idle):
        return [idle_words(left_mm)] if name is StageName.ROUGH else []
    return [idle_side_words(left_mm)] if idle[name is StageName.ROUGH] else []


def _of_spinning(source: _Source, density: float) -> list[Finding]:
    """Return what is said of the ring: that nobody gave it, or that it is not the spun outline's metal."""
    if source.ring is None:
        return [spun_ring_words()]
    ring, spun = volume_mm3(source.ring), volume_mm3(source.path)
    if source.spun.trim_mm is None:
        return [same_metal_words(density * ring, density * spun, False)] if ring < spun else []
    low, high = end_radii(source.path, outboard=False)
    spun += math.pi * (high**2 - low**2) * source.spun.trim_mm
    off = abs(ring - spun) > _SAME_METAL * ring
    return [same_metal_words(density * ring, density * spun, True)] if off else []


def _to_outline(outline: Outline, held: Held, path: Path) -> tuple[StockRow, ...]:
    return stock_rows(outline, replace(held, blank=path, usable=None, skin_mm=0.0))


def _lesser(sure: tuple[StockRow, ...], cut: tuple[StockRow, ...]) -> tuple[StockRow, ...]:
    """Return the lesser of two rows for each zone and side, in the order of the first."""
    others = {(row.zone, row.side): row for row in cut}
    return tuple(min(row, others[row.zone, row.side], key=lambda each: each.least_mm) for row in sure)


def _warnings(
    rows: tuple[StockRow, ...],
    holding: Holding | None,
    settings: StageSettings,
    short: set[tuple[str, str]],
) -> list[Finding]:
    """Return what is said of a stage; rows already short at a stage before are not said again."""
    found = []
    wanted = settings.movement_mm
    now = [row for row in rows if row.least_mm < wanted - SLACK_MM and (row.zone, row.side) not in short]
    short |= {(row.zone, row.side) for row in now}
    found += [movement_words(row, wanted) for row in now]
    if holding is not None and holding.grip is not None and holding.grip.length_mm < settings.route.jaw_mm:
        found.append(short_grip_words(holding.grip.length_mm, settings.route.jaw_mm))
    if holding is not None and holding.jaws is not None and holding.jaws.pushes_deg > HELD_DEG:
        found.append(leaning_words(holding.jaws))
    return found


def _of_the_wheel(
    sure: tuple[StockRow, ...], missing: tuple[float, tuple[float, float] | None], density: float
) -> list[Finding]:
    """Return what the finished wheel lacks: metal, or a cut skin."""
    volume, at = missing
    found = [missing_words(density * volume, at)] if volume > _MISSING_MM3 else []
    for row in sure:
        if row.least_mm < -SLACK_MM:
            found.append(lacking_words(row))
        elif row.least_mm <= SLACK_MM:
            found.append(raw_words(row))
    return found
