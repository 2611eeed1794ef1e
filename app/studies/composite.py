"""The smallest forgeable blank for a group of wheels: who decides it, and what forging it takes."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property, partial

from app.project import edits
from app.project.project import Project
from app.project.wheel import Wheel
from app.studies.dies_asked import check_hole, check_parting, met_at
from app.studies.drafts import draft_findings, end_findings, log_findings
from app.studies.forged import Forged, forged
from app.studies.forging_needs import (
    ForgingSettings,
    group_body,
    need_of,
    presses_at_hand,
    sampled_bodies,
)
from app.studies.ladder import LadderOf, Rung
from app.studies.made_blank import MadeBlank, corner_warnings, made_blank, with_corners
from app.studies.mixed_diameters import OneDiameter, mixed_diameters
from app.studies.stage_words import Finding
from geometry.errors import GeometryError
from geometry.forging import press
from geometry.forging.composite import Need
from geometry.forging.corner import Cornered
from geometry.forging.plan import ForgingStep, proved_load_mn
from geometry.forging.plan import steps as forging_steps
from geometry.forging.plan import warnings as forging_warnings
from geometry.forging.seats import CancelledError, Seated, seated
from geometry.shape.curve import Array, Path

#: A wheel decides where the blank would be lighter by more than this without it, kg (composite.md).
DECIDES_KG = 0.01

#: Told how many steps of how many are done; False cancels.
Progress = Callable[[int, int], bool]


@dataclass(frozen=True)
class GroupWheel:
    """One wheel of the group.

    Attributes:
        seat_mm: where its mounting face lies in the blank's frame.
        chips_kg: what is cut away.
        costs_others_kg: by how much the blank of the others would be lighter; None where it is alone.
    """

    name: str
    seat_mm: float
    mass_kg: float
    chips_kg: float
    costs_others_kg: float | None

    @property
    def decides(self) -> bool:
        """True where the blank would be lighter without it."""
        return self.costs_others_kg is None or self.costs_others_kg > DECIDES_KG


@dataclass(frozen=True, eq=False)
class Composite:
    """The blank of a group.

    Attributes:
        found: outline, mass, and what proves it, without the dies' corner radius.
        made: the blank, its usable outline: what wheels can rely on.
        wheels: in the order asked for.
        kilograms: where they are, for `rungs` and `ladder`.
        log: that it is forged from. flow_mn, fill_mn: loads of the last press, practice 16.
        steps: of the forging, each on its press. warnings: against it whatever the press.
        proved_mn: last load by what a press proved on a like blank; None where nothing was said.
        corner: the blank with the dies' corner radius, which `found` bounds from below; None where
            the stock's own radius suffices or none was asked for.
        windows: words of each window of needs and what it costs beside the drawn wheel, kg a blank.
        sample_wheels: number of the wheel of each sample of the windows.
        held: outlines of the wheels at their seats, for a picture.
        diameters: what sharing costs each of several diameters; empty for one.
        forged: the forging: the outline to draw round `made`. Log, steps, loads and chips are of it.
    """

    found: Seated
    made: MadeBlank
    wheels: tuple[GroupWheel, ...]
    kilograms: LadderOf
    log: press.Log
    flow_mn: float
    fill_mn: tuple[float, float]
    steps: tuple[ForgingStep, ...]
    warnings: tuple[Finding, ...]
    proved_mn: float | None
    corner: Cornered | None
    windows: tuple[tuple[str, float], ...]
    sample_wheels: tuple[int, ...]
    held: tuple[tuple[str, Path], ...]
    diameters: tuple[OneDiameter, ...]
    forged: Forged

    @property
    def mass_kg(self) -> float:
        """Mass of the usable outline, with its corners where they have a radius."""
        return self.made.mass_kg

    @property
    def path(self) -> Path:
        """The usable outline, with its corners where they have a radius."""
        return self.made.path

    @cached_property
    def rungs(self) -> tuple[Rung, ...]:
        """Where the kilograms are: each rung with its mass, its metal and the wheels that ask for it."""
        return self.kilograms.rungs()

    @property
    def ladder(self) -> tuple[tuple[str, float], ...]:
        """Words and the mass reached, kg, of every rung."""
        return tuple((rung.words, rung.mass_kg) for rung in self.rungs)

    @property
    def stretches(self) -> tuple[tuple[int, Array], ...]:
        """Stretches (n, 2) of the outline, each with the number of its wheel, -1 for fillets and corners.

        What a window of a wheel decides counts as that wheel's.
        """
        return tuple((self._wheel_of(origin), rows) for origin, rows in self.made.stretches)

    def _wheel_of(self, origin: int) -> int:
        """Return the number of the wheel that a need is of: drawn ones first, then the samples of windows."""
        return origin if origin < len(self.wheels) else self.sample_wheels[origin - len(self.wheels)]

    @property
    def press_mn(self) -> tuple[float, float]:
        """Least and greatest load of the last press."""
        return min(self.flow_mn, self.fill_mn[0]), max(self.flow_mn, self.fill_mn[1])

    @property
    def parting_mm(self) -> tuple[float, float]:
        """Place (z, r) at which the dies meet."""
        return self.made.parting_mm

    @property
    def web_mm(self) -> float:
        """Least height over the blank's middle."""
        return self.made.sizes.web_mm


def composite(
    project: Project,
    names: Sequence[str],
    settings: ForgingSettings | None = None,
    *,
    seats_mm: Sequence[float] | None = None,
    progress: Progress | None = None,
) -> Composite:
    """Return the smallest forgeable blank of a group of wheels.

    Args:
        project: holds them.
        names: of the wheels, each once.
        settings: starting values and the project's presses where None.
        seats_mm: given seats; None looks for the best.
        progress: told after each wheel that was left out for a try; False cancels.

    Raises:
        EditError: a wheel that the project does not hold.
        GeometryError: a wheel has no outline, no bore or no rule set to take its stock from, or a setting is
            out of bounds.
        CancelledError: it was cancelled.
    """
    settings = settings or ForgingSettings(presses=presses_at_hand(project))
    if not names:
        raise GeometryError("A blank is asked for no wheel; name one or more.")
    if len(set(names)) < len(names):
        raise GeometryError("A wheel is named twice; name each once.")
    density = _density(project, names)
    group = [group_body(project, edits.find(project, edits.WHEEL, name), settings) for name in names]
    if settings.stock_mm is not None and not 0.0 <= settings.stock_mm <= 100.0:
        raise GeometryError(f"The stock is {settings.stock_mm:g} mm; it must be from 0 to 100.")
    ends = (settings.trim_mm, settings.grip_mm, settings.test_ring_mm)
    if not all(0.0 <= end <= 200.0 for end in ends):
        raise GeometryError("Ring-end trim, grip and test ring must be from 0 to 200 mm.")
    settings.headroom.check()
    longer = sum(ends) + settings.headroom.ring_mm
    needs = [need_of(g, settings.how, longer) for g in group]
    steps = (len(group) + 1 if len(group) > 1 else 1) + len(settings.windows)
    _tell(progress, 0, steps)
    bodies = [sampled_bodies(project, w, names, settings, longer, density) for w in settings.windows]
    sampled = [[need_of(body, settings.how, longer) for body in each] for each in bodies]
    more = [need for samples in sampled for need in samples]
    in_line = None if seats_mm is None else [*seats_mm, *(0.0 for _ in more)]
    found = seated([*needs, *more], settings.how, seats_mm=in_line, density_kg_m3=density)
    check_parting([*needs, *more], found, settings)
    _tell(progress, 1, steps)
    drawn = _of_drawn(needs, found, settings, seats_mm, density) if more else found
    priced = _priced(needs, sampled, settings, found, drawn, seats_mm, density, progress, steps)
    sample_wheels = tuple(names.index(b.wheel.name) for each in bodies for b in each)
    of = [*group, *(b for each in bodies for b in each)]
    corners = with_corners(of, longer, found, settings, partial(_tell, progress, 1, steps))
    made = made_blank(found, corners)
    forging = forged(
        made.path,
        made.mass_kg,
        settings,
        pierced_mm=settings.pierced_mm,
    )
    check_hole(group, settings.pierced_mm, forging.tolerances)
    rows = []
    for k, each in enumerate(group):
        saved = None
        if len(group) > 1:
            rest = [*(n for i, n in enumerate(needs) if i != k), *more]
            kept = None if in_line is None else [s for i, s in enumerate(in_line) if i != k]
            how = met_at(settings.how, found.seats_mm[1] if k == 0 else 0.0)
            other = seated(rest, how, seats_mm=kept, density_kg_m3=density)
            # With a least web the rest may lie better where the group put it: seats are found without one.
            there = [z for i, z in enumerate(found.seats_mm) if i != k]
            same = seated(rest, how, seats_mm=there, density_kg_m3=density)
            saved = max(found.mass_kg - min(other.mass_kg, same.mass_kg), 0.0)
            _tell(progress, 2 + len(sampled) + k, steps)
        chips_kg = forging.lathe_kg - each.mass_kg
        rows.append(GroupWheel(each.wheel.name, found.seats_mm[k], each.mass_kg, chips_kg, saved))
    codes = [body.wheel.size.diameter_code for body in of]
    fixed = [None] * len(of) if in_line is None else in_line
    sizes, web = forging.sizes, forging.sizes.web_mm
    stress = press.flow_stress_mpa(
        settings.temperature_c, press.rate_per_s(settings.speed_mm_s, max(web, 1.0))
    )
    area = math.pi * (sizes.rim_mm + settings.flash_land_mm) ** 2
    low, high = press.FACTORS[settings.shape_class]
    log = press.chosen_log(forging.mass_kg, settings.loss, density, settings.log_diameters_mm)
    return Composite(
        found=found,
        wheels=tuple(rows),
        made=made,
        kilograms=LadderOf(
            group,
            drawn,
            found,
            settings,
            density,
            (*range(len(group)), *sample_wheels),
            None if corners is None else (made.mass_kg, made.path),
            forging,
        ),
        windows=priced,
        sample_wheels=sample_wheels,
        steps=forging_steps(
            sizes,
            log,
            settings.presses,
            temperature_c=settings.temperature_c,
            friction=settings.friction,
            flash_land_mm=settings.flash_land_mm,
            shape_class=settings.shape_class,
            steel=settings.steel,
        ),
        warnings=(
            *draft_findings(settings.how, settings.steel.ejects),
            *end_findings(settings),
            *(Finding(words) for words in forging_warnings(sizes, settings.temperature_c)),
            *log_findings(log),
            *corner_warnings(found, corners),
        ),
        proved_mn=None
        if settings.proved is None
        else proved_load_mn(settings.proved[0], area / 100.0, settings.proved[1]),
        corner=None if corners is None else corners.rounded,
        log=log,
        flow_mn=press.flow_load_mn(
            stress, settings.friction, sizes.web_radius_mm, web, sizes.bore_mm, sizes.rim_mm
        ),
        fill_mn=(press.fill_load_mn(stress, low, area), press.fill_load_mn(stress, high, area)),
        held=tuple((g.wheel.name, g.drawn.moved(dz=s)) for g, s in zip(group, found.seats_mm, strict=False)),
        diameters=mixed_diameters(
            list(zip(codes, [*needs, *more], fixed, strict=True)),
            lambda k: met_at(settings.how, found.seats_mm[k]),
            found.mass_kg,
            density,
        ),
        forged=forging,
    )


def _tell(progress: Progress | None, done: int, of: int) -> None:
    if progress is not None and not progress(done, of):
        raise CancelledError


def _density(project: Project, names: Sequence[str]) -> float:
    found = set()
    for name in names:
        wheel: Wheel = edits.find(project, edits.WHEEL, name)
        found.add(next((m.density_kg_m3 for m in project.materials if m.name == wheel.material), None))
    if len(found) != 1 or None in found:
        raise GeometryError("The wheels of a group must be of one material that the project holds.")
    return float(next(iter(found)) or 0.0)


def _priced(
    needs: Sequence[Need],
    sampled: Sequence[Sequence[Need]],
    settings: ForgingSettings,
    found: Seated,
    drawn: Seated,
    seats_mm: Sequence[float] | None,
    density: float,
    progress: Progress | None,
    steps: int,
) -> tuple[tuple[str, float], ...]:
    """Return each window's words and by how much the blank would be lighter without it alone."""
    priced = []
    for k, window in enumerate(settings.windows):
        rest = [need for i, samples in enumerate(sampled) if i != k for need in samples]
        without = drawn
        if rest:
            kept = None if seats_mm is None else [*seats_mm, *(0.0 for _ in rest)]
            without = seated([*needs, *rest], settings.how, seats_mm=kept, density_kg_m3=density)
        priced.append((window.words, max(found.mass_kg - without.mass_kg, 0.0)))
        _tell(progress, 2 + k, steps)
    return tuple(priced)


def _of_drawn(
    needs: Sequence[Need],
    found: Seated,
    settings: ForgingSettings,
    seats_mm: Sequence[float] | None,
    density: float,
) -> Seated:
    """Return the blank of the drawn wheels alone, without the windows that `found` yields as well."""
    free = seated(needs, settings.how, seats_mm=seats_mm, density_kg_m3=density)
    # With a least web they may lie better where the windows put them: seats are found without one.
    there = found.seats_mm[: len(needs)] if seats_mm is None else seats_mm
    same = seated(needs, settings.how, seats_mm=there, density_kg_m3=density)
    return min(free, same, key=lambda each: each.mass_kg)
