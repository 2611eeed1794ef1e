"""The tables of a screening on paper: loads with their sources, lips, two wheels compared, spokes, life."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from app.project.wheel import SingleNut
from app.reports.numbers import Numbers
from app.reports.strength_notes import curve_words
from app.reports.strength_parts import (
    RATIO_SAID,
    ROOT_FIGURES,
    SUM_SAID,
    lip_figures,
    off_words,
    ratio_words,
    root_figure,
    spoked_cases,
    sum_cells,
    turned_words,
    use_ratio,
)
from app.reports.strength_words import (
    NO_REFERENCE,
    NOT_WHOLE,
    OPEN_SIGN,
    SPOKE_PLACES,
    constants_words,
    failed_words,
    held_words,
    levels_words,
    life_words,
    load_words,
    marked,
    percent,
    place,
    zones_of,
)
from app.reports.tables import Column, Row, Table
from app.studies.strength.agree import SAME_LOAD
from app.studies.strength.cases import has_stress
from app.studies.strength.compare import Compared
from app.studies.strength.run import Screening
from app.studies.strength.zones import ZoneStress
from geometry.strength.life import cycles_words
from geometry.strength.spokes import Root


def tables(
    found: Screening, against: Screening | None, figures: Sequence[Compared], numbers: Numbers
) -> Iterator[Table]:
    """Yield the tables after the pictures, in their order."""
    yield lips(found, against, numbers)
    if against is not None:
        yield whole(against, figures, numbers)
        yield use_beside(found, against)
        yield lives_beside(against, figures)
    yield spokes(found, numbers)
    yield carried(found, numbers)
    yield bolts(found, numbers)
    yield life(found)


def loads(found: Screening) -> Table:
    """Return the load cases with every constant, its source and how far that is confirmed."""
    columns = (
        Column("Case", 2.6),
        Column("Load", 2.8),
        Column("Asked of a sample", 2.4),
        Column("Held", 2.2),
        Column("Constants, source, status", 6.0),
        Column("Note", 3.2),
    )
    rows = tuple(
        Row((c.name, load_words(c), levels_words(c), held_words(c), constants_words(c), c.note))
        for c in found.cases
    )
    notes = ("Constants that were not read in the standard itself are settings; the status says how sure.",)
    return Table("Load cases", columns, rows, notes)


def lips(found: Screening, against: Screening | None, numbers: Numbers) -> Table:
    """Return stiffness, yield and dent of the lips, beside the reference where there is one."""
    beside = "" if against is None else against.ready.wheel.name
    columns = [Column("Lip", 1.6), Column("Figure", 4.0), Column("", 1.0), Column("This wheel", 1.6, True)]
    if against is not None:
        columns += [Column(beside, 2.4, True), Column("Ratio", 2.6, True)]
    columns.append(Column(f"First yields at, {numbers.unit}", 4.0))
    places = {lip.lip: numbers.place(place(found, lip.at)) for lip in found.lips}
    rows = tuple(
        Row(
            (
                one.lip.value,
                one.words,
                one.unit,
                one.value,
                *((one.reference, one.ratio) if against is not None else ()),
                places[one.lip] if one.words.startswith("load") else "",
            )
        )
        for one in lip_figures(found, against, numbers)
    )
    energies = [c for c in found.cases if c.energy_j is not None]
    blows = "; ".join(f"{c.name}: {c.energy_j:.1f} J at the striker" for c in energies)
    notes = [
        "A radial push over the width of a plate, the hub pad bolted; the dent by a mechanism of plastic "
        "hinges, a lower estimate of that mechanism.",
        NO_REFERENCE if against is None else RATIO_SAID,
    ]
    notes += [f"{NOT_WHOLE}: {words}" for words in found.ready.short]
    if blows:
        notes.append(f"{blows}: how much of it tyre, striker and mounts take is not known.")
    return Table("Lips", tuple(columns), rows, tuple(notes))


def whole(against: Screening, figures: Sequence[Compared], numbers: Numbers) -> Table:
    """Return mass, inertia and load of both wheels beside each other."""
    columns = (
        Column("Figure", 3.0),
        Column("This wheel", 3.0, True),
        Column(against.ready.wheel.name, 3.0, True),
        Column("Ratio", 2.6, True),
        Column("", 5.0),
    )
    rows = tuple(
        Row(
            (
                f.name,
                figure(f.first, f.unit, numbers),
                figure(f.second, f.unit, numbers),
                ratio_words(f.ratio),
                "",
            )
        )
        for f in whole_figures(figures)
    )
    return Table(f"Beside {against.ready.wheel.name}", columns, rows, tuple(not_passed(against)))


def not_passed(against: Screening) -> list[str]:
    """Return why a reference is no wheel that passed its tests; nothing where no record says so."""
    name = against.ready.wheel.name
    return [f"{name} is no reference that passed. {words}" for words in failed_words(against)]


def whole_figures(figures: Sequence[Compared]) -> list[Compared]:
    """Return the compared figures of the whole wheel; lips and zones have tables of their own."""
    return [f for f in figures if f.unit in ("kg", "kg m2")]


def figure(value: float | None, unit: str, numbers: Numbers) -> str:
    """Return a compared figure of the whole wheel; a dash where there is none."""
    if value is None:
        return "-"
    return numbers.mass(value) if unit == "kg" else numbers.inertia(value * 1e6)


def use_beside(found: Screening, against: Screening) -> Table:
    """Return the use of each zone and case as a share of the reference's under the same case."""
    zones = zones_of(found)
    columns = (Column("Case", 3.4), *(Column(zone.value, 1.2, True) for zone in zones))
    rows = tuple(
        Row((case.name, *(use_ratio(found, against, case, zone) for zone in zones)))
        for case in found.cases
        if has_stress(case)
    )
    name = against.ready.wheel.name
    notes = (
        f"Use of this wheel over that of {name}, each under its own loads; below 1: less than the reference.",
        RATIO_SAID,
    )
    return Table(f"Use, as a share of that of {name}", columns, rows, notes)


def spokes(found: Screening, numbers: Numbers) -> Table:
    """Return what a spoke carries by the smeared section and as a beam, per case."""
    columns = (
        Column("Case", 3.0),
        Column("Model", 3.0),
        Column("Place", 1.8),
        Column(f"r, {numbers.unit}", 1.0, True),
        Column("From the load", 1.2, True),
        Column("Axial N", 1.3, True),
        Column("Radial N", 1.3, True),
        Column("N m", 1.2, True),
        Column("Bending MPa", 1.6, True),
        Column("Shear MPa", 1.4, True),
        Column("Twist MPa", 1.4, True),
        Column("Turn MPa", 1.4, True),
    )
    rows: list[Row] = []
    for case, spoked in spoked_cases(found):
        rows += [Row((case.name, "smeared section", *_root(root, numbers))) for root in spoked.smeared]
        rows += [Row((case.name, "beams", *_root(root, numbers))) for root in spoked.beams]
    notes = [*turned_words(found), *(f"{NOT_WHOLE}: {words}" for words in found.ready.short)]
    notes.append(
        "One spoke where it is bent most in the turn; nominal stress of width x depth; twist: shear by it, "
        "a quarter turn on or, under a load at the rim, the greatest of the turn, of which the section knows "
        "nothing; turn: greatest von Mises stress of the turn; ≈: still moves with the mesh. Beams stand "
        "singly between the elastic hub and rim of the section and are nearer the truth; use and life count "
        "the greater stress of the two."
    )
    return Table("Spokes", columns, tuple(rows), tuple(notes))


def carried(found: Screening, numbers: Numbers) -> Table:
    """Return the load that all spokes carry together by both models, at hub and rim, and their difference."""
    columns = (
        Column("Case", 3.0),
        Column("Place", 1.4),
        Column(f"r, {numbers.unit}", 1.0, True),
        Column("Along the axle N", 2.2, True),
        Column("Across it N", 2.4, True),
        Column("Moment N m", 2.4, True),
        Column("Torque N m", 2.2, True),
        Column("Differ by", 1.4, True),
    )
    rows = tuple(
        Row((case.name, SPOKE_PLACES[one.place], numbers.length(one.r_mm), *sum_cells(one), off_words(one)))
        for case, spoked in spoked_cases(found)
        for one in spoked.sums
    )
    notes = (
        f"Section / beams. {SUM_SAID}",
        f"Differences of up to {100.0 * SAME_LOAD:g} % of the load are none.",
    )
    return Table("Load carried by all spokes", columns, rows, notes)


def bolts(found: Screening, numbers: Numbers) -> Table:
    """Return bolts and hub pad under each moment on the hub."""
    columns = (
        Column("Case", 3.0),
        Column("Moment N m", 1.3, True),
        Column("On one bolt N", 1.4, True),
        Column("Shear under its seat MPa", 2.2, True),
        Column("Hub pad at the circle MPa", 2.2, True),
        Column(f"Between holes, {numbers.unit}", 1.8, True),
    )
    rows = []
    for case, spoked in spoked_cases(found):
        b = spoked.bolts
        if b is not None:
            bolted = f"{b.bolt_n:.0f}", f"{b.seat_mpa:.1f}", f"{b.pad_mpa:.1f}", numbers.length(b.ligament_mm)
            rows.append(Row((case.name, f"{case.moment_nm or 0.0:.1f}", *bolted)))
    notes = []
    if rows:
        notes.append("A bolt's force is that of the moment alone, beside its clamp load.")
    if isinstance(found.ready.wheel.fixing, SingleNut):
        notes.append(
            "A single nut: its clamp load and the hub's spigot hold the pad under a moment and are not judged"
            " here; what its drive pins carry stands under braking torque."
        )
    return Table("Bolts and hub pad", columns, tuple(rows), tuple(notes))


def lives_beside(against: Screening, figures: Sequence[Compared]) -> Table:
    """Return the mean lives of both wheels beside each other, each with its mark; a bound gives no ratio."""
    columns = (
        Column("Mean life", 5.0),
        Column("This wheel", 1.8, True),
        Column(against.ready.wheel.name, 2.4, True),
        Column("Ratio", 2.8, True),
    )
    lives = [f for f in figures if f.unit == "cycles"]
    rows = []
    for f in lives:
        if all(f.bounds):
            continue
        sign = "" if f.converged else f"{OPEN_SIGN} "
        both = [
            "none" if x is None else f"{sign}{'>' if is_bound else ''}{cycles_words(x)}"
            for x, is_bound in zip((f.first, f.second), f.bounds, strict=True)
        ]
        ratio = f"{sign}{ratio_words(f.ratio)}" if f.ratio is not None else ""
        rows.append(Row((f.name.removesuffix(", life"), *both, ratio)))
    notes = ["Of plain specimens, at the first level of each test; > is a bound of the data: no ratio."]
    left = len(lives) - len(rows)
    if left:
        notes.append(f"{left} more lie beyond the data for both wheels and are left out.")
    return Table("Mean life beside each other", columns, tuple(rows), tuple(notes))


def _root(root: Root, numbers: Numbers) -> tuple[str, ...]:
    return (
        SPOKE_PLACES[root.place],
        numbers.length(root.r_mm),
        f"{root.at_deg:.0f}\u00b0",
        *(root_figure(root, name) for name in ROOT_FIGURES),
    )


def life(found: Screening) -> Table:
    """Return life at each level, mean and what 95 % reach, of the zones below the curve's longest life."""
    columns = (
        Column("Case", 3.4),
        Column("Zone", 1.6),
        Column("Of the load", 0.9, True),
        Column("Cycles asked", 1.5, True),
        Column("Greatest MPa", 1.6, True),
        Column("Ratio R", 1.0, True),
        Column("Mean life", 1.6, True),
        Column("95 % reach", 1.6, True),
        Column("Cycles over life", 1.8, True),
        Column("Note", 4.0),
    )
    rows, left = [], 0
    for zone in found.zones:
        for k, level in enumerate(zone.levels):
            if "beyond" in level.life.note:
                left += 1
                continue
            lower, steady = level.life.lower, zone.life_converged
            rows.append(
                Row(
                    (
                        zone.case,
                        zone.zone.value,
                        percent(level.share),
                        cycles_words(level.cycles),
                        marked(f"{level.share * (zone.greatest_mpa or 0.0):.0f}", zone),
                        "" if zone.ratio is None else f"{zone.ratio:.2f}",
                        _open(life_words(level), steady=steady),
                        "" if lower is None else _open(cycles_words(lower), steady=steady),
                        "" if level.damage is None else _open(_share(level.damage), steady=steady),
                        "; ".join(filter(None, (level.life.note, _coarser(zone, k)))),
                    )
                )
            )
    notes = []
    if left:
        notes.append(f"{left} more lie beyond the data of the curve and are left out here.")
    if any(not zone.life_converged for zone in found.zones):
        notes.append(
            f"{OPEN_SIGN} not converged: lives still move as the mesh is halved; a finer one may give less."
        )
    notes.append(f"{curve_words(found)}.")
    return Table("Life of plain specimens at each level", columns, tuple(rows), tuple(notes))


def _share(damage: float) -> str:
    return f"{damage:.2f}" if damage >= 0.005 else "< 0.01"


def _open(figure: str, *, steady: bool) -> str:
    return figure if steady else f"{OPEN_SIGN} {figure}"


def _coarser(zone: ZoneStress, level: int) -> str:
    """Return the mean life at a level on the mesh half as fine; nothing where the lives are converged."""
    before = None if zone.life_converged else zone.lives_before[level]
    return "" if before is None else f"half as fine a mesh: {cycles_words(before)}"
