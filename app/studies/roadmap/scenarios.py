"""What may come, as pure changes of the roadmap: volumes, metal, brakes, suppliers, dies that are late.

Most scenarios change the question alone. A brake that grows asks the geometry again, and only for the
fitments that clear it today: a wheel that is not cuttable does not become so by a larger brake.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import pairwise

import numpy as np
import shapely

from app.project import edits
from app.project.programme import Volumes
from app.project.project import Project
from app.project.shop import ShopRates
from app.studies.executor import Progress, run_all
from app.studies.programme.inputs import Kind, Option, PriceStep, Programme, Question
from app.studies.programme.plans import Plan
from app.studies.programme.supply import Supply
from app.studies.programme.worth import without_option
from app.studies.roadmap.coverage import Coverage, CoverCell, CoverRow, cover_row
from app.studies.roadmap.late import late_dies
from app.studies.roadmap.question import Asked, asked
from app.studies.roadmap.risk import Scenario, scaled_volumes
from geometry.errors import GeometryError
from geometry.shape.blank import Supply as Source
from geometry.shape.curve import Path
from geometry.shape.outline import Corner, StayOut, outline_path

#: Rounded corners of a brake are flattened on the outer side within this before it grows, mm.
_FLAT_MM = 0.01
_EXPECTED = "as expected"


class May(StrEnum):
    """Kinds of scenarios; what is expected is always looked at."""

    DEMAND = "demand changes"
    VOLUMES = "the other volumes of the roadmap"
    METAL = "metal changes"
    SUPPLIER = "a supplier stops"
    LATE = "a die is late"
    BRAKE = "a brake grows"


@dataclass(frozen=True)
class ScenarioSettings:
    """What may come, and by how much things change.

    Attributes:
        kinds: that are looked at.
        demand: factor of all volumes.
        metal: by which share log and chips become dearer.
        metal_carried_here: bought blanks whose price follows metal: who carries it is agreed with each
            supplier. None where nobody has said; then both are looked at.
        brake_mm: by how much a brake grows, radially and outboard.
        late_years: by which a die is late.
        known_from: year at whose start it is known what comes; tools ordered later may change. None: the
            whole set is signed for today. Of a late die it is known by its season at the latest.
    """

    demand: float = 0.5
    metal: float = 0.30
    metal_carried_here: tuple[str, ...] | None = None
    brake_mm: float = 5.0
    late_years: int = 1
    kinds: frozenset[May] = frozenset(May)
    known_from: int | None = None


#: Common practice, no source: what a board asks first.
SHIPPED_SCENARIOS = ScenarioSettings()


def ask(project: Project, found: Coverage, question: Question, budget: float | None = None) -> Asked:
    """Return the roadmap as a question, with a budget for everything that is paid once."""
    made = asked(project, found, question)
    if budget is None:
        return made
    limits = replace(made.programme.limits, budget=budget)
    return replace(made, programme=replace(made.programme, limits=limits))


def scenarios(
    project: Project,
    found: Coverage,
    question: Question,
    plan: Plan,
    executor: Executor,
    *,
    budget: float | None = None,
    settings: ScenarioSettings = SHIPPED_SCENARIOS,
    rates: ShopRates | None = None,
    progress: Progress | None = None,
) -> tuple[Scenario, ...]:
    """Return what may come, the expected first.

    Args:
        project: holds the roadmap.
        found: its coverage.
        question: least cost or greatest value.
        plan: what is late is one of its dies.
        executor: as `executor.opened` gives it; brakes that grow are read on it.
        budget: for everything that is paid once.
        settings: by how much things change.
        rates: of the shop; the project's where None.
        progress: told after each fitment that is read again; False cancels.

    Raises:
        StoppedError: progress said so.
        ProgrammeError: a setting that cannot be planned with.
    """
    base = ask(project, found, question, budget).programme
    made = [Scenario(_EXPECTED, "Nothing changes.", base)]
    shop, kinds = rates or project.rates, settings.kinds
    if May.DEMAND in kinds:
        made.append(_demand(base, settings.demand))
    if May.VOLUMES in kinds:
        made += _volumes(project, found, question, budget)
    if May.METAL in kinds:
        made += _metal(project, found, question, budget, settings, shop)
    if May.SUPPLIER in kinds:
        made += _suppliers(base)
    if May.LATE in kinds:
        made += late_dies(base, plan, settings.late_years)
    if May.BRAKE in kinds:
        grown = _grown_coverages(project, found, settings.brake_mm, shop, executor, progress)
        made += [_brake(project, found, name, other, question, budget, settings) for name, other in grown]
    return (made[0], *(_dated(s, settings.known_from) for s in made[1:]))


def _dated(scenario: Scenario, known_from: int | None) -> Scenario:
    """Return a scenario with when it is known; what is known by itself earlier stays so."""
    if known_from is None or (scenario.known is not None and scenario.known <= known_from):
        return scenario
    return replace(scenario, known=float(known_from))


# Volumes


def _demand(base: Programme, factor: float) -> Scenario:
    words = "demand halves" if factor == 0.5 else f"demand times {factor:g}"
    return Scenario(words, f"Every volume times {factor:g}.", scaled_volumes(base, factor))


def _volumes(project: Project, found: Coverage, question: Question, budget: float | None) -> list[Scenario]:
    made = []
    for which in Volumes:
        if which is not project.programme.volumes:
            changed = replace(project, programme=replace(project.programme, volumes=which))
            programme = ask(changed, found, question, budget).programme
            made.append(Scenario(f"{which} volumes", f"Each fitment sells its {which} volume.", programme))
    return made


# Metal


def _metal(
    project: Project,
    found: Coverage,
    question: Question,
    budget: float | None,
    settings: ScenarioSettings,
    rates: ShopRates,
) -> list[Scenario]:
    bought = tuple(b.name for b in project.blanks if b.supply is Source.BOUGHT and b.name in found.blanks)
    here = settings.metal_carried_here
    share = f"metal {settings.metal * 100.0:+.0f} %"
    if not bought:
        cases: list[tuple[str, str, Sequence[str]]] = [(share, "Log and chips change together.", ())]
    elif here is None:
        cases = [
            (f"{share}, bought prices hold", "The suppliers carry it.", ()),
            (f"{share}, bought prices follow", "Bought blanks follow by the metal in them.", bought),
        ]
    else:
        said = ", ".join(here) or "no bought blank"
        cases = [(share, f"Carried here, as stated: {said}; the other suppliers carry theirs.", here)]
    made = []
    for name, says, follow in cases:
        changed, prices = dearer_metal(project, found, settings.metal, follow, rates)
        programme = with_prices(ask(project, changed, question, budget).programme, prices)
        made.append(Scenario(name, says, programme))
    return made


def dearer_metal(
    project: Project, found: Coverage, share: float, follow: Sequence[str], rates: ShopRates
) -> tuple[Coverage, dict[str, float]]:
    """Return the coverage with chips worth more, and by how much each blank is dearer.

    A kilogram of log and of chips changes by a share of its own price: chips follow the log also where they
    are a share of another named price. Own, spun and plain blanks follow; bought ones where `follow` names
    them, by the log that a forging of their mass takes.
    """
    dearer: dict[str, float] = {}
    blanks = {b.name: b for b in project.blanks}

    def changed(cell: CoverCell) -> CoverCell:
        if cell.cost is None or cell.chips_kg is None or cell.wheel_kg is None:
            return cell
        if blanks[cell.blank].supply is not Source.BOUGHT or cell.blank in follow:
            log_kg = (cell.chips_kg + cell.wheel_kg + cell.slug_kg) * (1.0 + rates.loss)
            dearer[cell.blank] = share * rates.log_price_kg * log_kg
        scrap = rates.chip_value_kg * cell.chips_kg + rates.slug_value_kg * cell.slug_kg
        return replace(cell, cost=cell.cost - share * scrap)

    rows = tuple(replace(row, cells=tuple(map(changed, row.cells))) for row in found.rows)
    return replace(found, rows=rows), dearer


def with_prices(programme: Programme, dearer: dict[str, float]) -> Programme:
    """Return a programme with the pieces of some options dearer, in every price step."""

    def changed(option: Option) -> Option:
        by = dearer.get(option.name, 0.0)
        if not by:
            return option
        share = (
            option.left_over_cost / option.price
            if option.left_over_cost is not None and option.price
            else 1.0
        )
        return replace(
            option,
            price=option.price + by,
            steps=tuple(PriceStep(s.pieces, s.price + by) for s in option.steps),
            left_over_cost=None if option.left_over_cost is None else (option.price + by) * share,
        )

    return replace(programme, options=tuple(map(changed, programme.options)))


# Suppliers


def _suppliers(base: Programme) -> list[Scenario]:
    made = []
    for option in base.options:
        if option.kind is Kind.BOUGHT:
            programme = without_option(base, option.name)
            lost = _orphans(base, programme)
            says = f"{option.name} can no longer be bought."
            made.append(Scenario(f"supplier of {option.name} stops", says, programme, lost))
    return made


def _orphans(before: Programme, after: Programme) -> tuple[str, ...]:
    gone = {u.row for u in Supply(after).uncovered} - {u.row for u in Supply(before).uncovered}
    return tuple(sorted(gone))


# Brakes


def grown(shape: StayOut, by_mm: float) -> StayOut:
    """Return a brake that reaches farther out and outboard by a length, everywhere it did.

    Each outline becomes everything that it covers while it moves by 0 to `by_mm` along r and along +z at
    once: nothing of the old outline is lost, and no hollow is left. Rounded corners are flattened on the
    outer side.

    Raises:
        GeometryError: an outline has faults.
    """
    outlines = tuple(replace(o, corners=_grown(shape.name, o.corners, by_mm)) for o in shape.outlines)
    known = shape.extent
    extent = replace(
        known,
        z_high=None if known.z_high is None else known.z_high + by_mm,
        cut_r_high=None if known.cut_r_high is None else known.cut_r_high + by_mm,
    )
    return replace(shape, outlines=outlines, extent=extent)


def _grown(name: str, corners: tuple[Corner, ...], by_mm: float) -> tuple[Corner, ...]:
    path = outline_path(corners)
    if not isinstance(path, Path):
        raise GeometryError(f"{name} cannot grow: {path[0].message}")
    area = shapely.Polygon(path.flattened(_FLAT_MM, "outward"))
    for dz, dr in ((by_mm, 0.0), (0.0, by_mm)):
        area = _swept(area, dz, dr)
    ring = np.asarray(shapely.simplify(area, 1e-6).exterior.coords)[:-1]
    return tuple(Corner(float(z), float(r)) for z, r in ring)


def _swept(area: shapely.Polygon, dz: float, dr: float) -> shapely.Polygon:
    """Return what an area covers while it moves straight, its hollows filled."""
    ring = np.asarray(area.exterior.coords)
    step = np.array([dz, dr])
    sides = [shapely.convex_hull(shapely.MultiPoint([a, b, a + step, b + step])) for a, b in pairwise(ring)]
    whole = shapely.union_all([area, shapely.Polygon(ring + step), *sides])
    assert isinstance(whole, shapely.Polygon)
    return shapely.Polygon(whole.exterior)


def _grown_coverages(
    project: Project,
    found: Coverage,
    by_mm: float,
    rates: ShopRates,
    executor: Executor,
    progress: Progress | None,
) -> list[tuple[str, Coverage]]:
    """Return the coverage with each brake grown that a covered fitment clears, by brake."""
    names = sorted({name for f in project.fitments for name in (f.shape, f.compromise_shape) if name})
    jobs, places = [], []
    for name in names:
        shape = edits.find(project, edits.SHAPE, name)
        larger = grown(shape, by_mm)
        changed = replace(project, shapes=tuple(larger if s.name == name else s for s in project.shapes))
        for k, row in enumerate(found.rows):
            fitment = edits.find(project, edits.FITMENT, row.fitment)
            brake = (fitment.compromise_shape or fitment.shape) if row.compromise else fitment.shape
            covered = tuple(c.blank for c in row.cells if c.is_covered)
            if brake == name and covered:
                jobs.append((changed, fitment, row.compromise, covered, rates))
                places.append((name, k))
    read = run_all(executor, cover_row, jobs, progress)
    made = []
    for name in names:
        rows = list(found.rows)
        for (of, k), row in zip(places, read, strict=True):
            if of == name:
                rows[k] = _with_cells(rows[k], row)
        if any(of == name for of, _ in places):
            made.append((name, replace(found, rows=tuple(rows))))
    return made


def _with_cells(row: CoverRow, read: CoverRow) -> CoverRow:
    anew = {cell.blank: cell for cell in read.cells}
    return replace(row, own=read.own, cells=tuple(anew.get(c.blank, c) for c in row.cells))


def _brake(
    project: Project,
    before: Coverage,
    name: str,
    found: Coverage,
    question: Question,
    budget: float | None,
    settings: ScenarioSettings,
) -> Scenario:
    lost = tuple(
        old.fitment
        for old, new in zip(before.rows, found.rows, strict=True)
        if not old.compromise and old.is_covered and not new.is_covered
    )
    programme = ask(project, found, question, budget).programme
    rows = (
        f"no blank then gives the wheels as drawn of {', '.join(lost)}"
        if lost
        else "every wheel still clears"
    )
    says = f"{name} reaches {settings.brake_mm:g} mm farther out and outboard: {rows}."
    return Scenario(f"{name} grows {settings.brake_mm:g} mm", says, programme, lost)
