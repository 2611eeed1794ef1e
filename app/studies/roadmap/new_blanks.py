"""Blanks for groups of fitments: what the family of a roadmap is chosen from, and what is made of it."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, field, fields, replace

from app.project.project import Project
from app.project.shop import ShopRates
from app.studies.executor import SERIAL, opened, run_all
from app.studies.forged import forged
from app.studies.forging_needs import ForgingSettings, GroupBody, group_body, need_of
from app.studies.forging_stock import Headroom
from app.studies.limits import drawn
from app.studies.machining import money
from app.studies.made_blank import blank_sizes, made_blank
from app.studies.programme.inputs import Holder, Option, Programme, Question
from app.studies.roadmap.allowance import Allowance, allowances_of
from app.studies.roadmap.coverage import Coverage, CoverRow, coverage
from app.studies.roadmap.family import Family, design
from app.studies.roadmap.family_choice import Candidate, Group, NewDie, option_of
from app.studies.roadmap.own_part import COVERED
from app.studies.roadmap.question import SAME_YEAR, THERE, WEEKS_A_YEAR, Asked, asked, payments
from geometry.errors import GeometryError
from geometry.forging import press
from geometry.forging.composite import Forgeable, Need
from geometry.forging.plan import Fits
from geometry.forging.plan import steps as forging_steps
from geometry.forging.seats import Seated, seated
from geometry.shape import blank as shape_blank
from geometry.shape.outline import Corner

#: Blanks are made so much larger all round than the rules ask: seats are found within 0.04 mm.
_ROOM_MM = 0.05
#: Windows of inset wider than this are sampled in their middle too, mm.
_WIDE_MM = 4.0


@dataclass(frozen=True)
class FamilySettings:
    """How new blanks are forged and what their dies cost; starting values, invented but usual (practice 24).

    Attributes:
        forging: drafts, stock, presses and logs; each wheel's own rule set gives the stock where none is set.
        die_cost, proof_cost: inserts of a blank, its tryout and proof.
        holder_cost: of each diameter whose holder the programme does not name.
        run_setup, least_run, lead_weeks: of a forging run.
    """

    forging: ForgingSettings = field(default_factory=ForgingSettings)
    die_cost: float = 26_000.0
    proof_cost: float = 12_000.0
    holder_cost: float = 62_000.0
    run_setup: float = 6_500.0
    least_run: int = 120
    lead_weeks: float = 40.0


@dataclass(frozen=True, eq=False)
class Member:
    """A fitment as groups need it: its needs over the inset window, and masses of its wheel.

    Attributes:
        needs: of the wheel at each inset looked at.
        wheel_kg, full_kg: finished, and as a full body of revolution.
        diameter_code: of the size.
    """

    name: str
    needs: tuple[Need, ...]
    wheel_kg: float
    full_kg: float
    diameter_code: float
    density_kg_m3: float


@dataclass(frozen=True, eq=False)
class NewBlank:
    """A chosen new blank.

    Attributes:
        blank: as a project holds it, an idea.
        members: fitments that it is for.
        mass_kg: of it as forged. wasted_kg: by member, more than the blank for that fitment alone.
        price: a piece, by what the usable outline of its group weighs and the allowance of its diameter.
        log: that it is forged from. load_mn: band of the last press.
        excluded: fitments of its diameter that it is not for.
        not_held: members that its outline does not hold over their whole window, read as any blank is.
    """

    blank: shape_blank.Blank
    members: tuple[str, ...]
    mass_kg: float
    wasted_kg: tuple[tuple[str, float], ...]
    price: float
    log: press.Log
    load_mn: tuple[float, float]
    excluded: tuple[str, ...]
    not_held: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class FamilyPlan:
    """The family of a roadmap: asked, chosen, and the new blanks in order of name.

    Attributes:
        settings: that it was designed with, with the little more metal that rounding takes.
        options: the new dies as the plan has them.
    """

    asked: Asked
    family: Family
    blanks: tuple[NewBlank, ...]
    settings: FamilySettings = field(default_factory=FamilySettings)
    options: tuple[Option, ...] = ()


def design_family(
    project: Project,
    found: Coverage,
    settings: FamilySettings | None = None,
    question: Question = Question.LEAST_COST,
    *,
    rates: ShopRates | None = None,
    where: str = SERIAL,
    time_limit_s: float = 60.0,
    progress: Callable[[str], bool] | None = None,
) -> FamilyPlan:
    """Return the blanks to commission beside those there are.

    Args:
        project: holds the roadmap.
        found: its coverage by the blanks there are; rows not known stay so.
        settings: of forging and dies.
        question: what is asked.
        rates: of the shop; the project's where None.
        where: groups are tried: SERIAL, CORES or a cluster's address.
        time_limit_s: for each choice.
        progress: told in words; False ends the search with what there is.

    Raises:
        GeometryError: the forging settings cannot be worked with.
        ProgrammeError: what cannot be planned with.
    """
    settings = _roomier(settings or FamilySettings())
    rates = rates or project.rates
    rows = {
        r.fitment: r for r in found.rows if not r.compromise and r.own is not None and r.own.state in COVERED
    }
    question_asked = asked(project, found, question)
    planned = [row.name for row in question_asked.programme.rows if row.name in rows]
    members = {m.name: m for m in (member(project, rows[name], settings.forging) for name in planned) if m}
    codes = [m.diameter_code for m in members.values()]
    programme, holders = _with_holders(project, question_asked.programme, codes, settings.holder_cost)
    lead = settings.lead_weeks / WEEKS_A_YEAR
    lead = lead if lead >= SAME_YEAR else 0.0

    def dies(group: Group) -> NewDie:
        return _new_die(project, settings, holders[members[min(group)].diameter_code], lead)

    allowances = allowances_of(members, settings.forging)
    costs = _MemberCosts(members, rates)
    with opened(where) as executor:
        seen: dict[Group, Seated] = {}

        def evaluate(groups: Sequence[Group]) -> list[Candidate | None]:
            made = _seated(
                executor,
                [[members[name] for name in sorted(g)] for g in groups],
                settings.forging,
                allowances,
            )
            seen.update((g, each) for g, each in zip(groups, made, strict=True) if each is not None)
            pairs = zip(groups, made, strict=True)
            return [
                None if each is None else _candidate(g, each, costs, allowances[_code(members, g)])
                for g, each in pairs
            ]

        family = design(
            programme,
            sorted(members),
            evaluate,
            dies,
            costs,
            near=lambda one, other: members[one].diameter_code == members[other].diameter_code,
            time_limit_s=time_limit_s,
            progress=progress,
        )
    alone = {name: seen[frozenset({name})].mass_kg for name in members if frozenset({name}) in seen}
    blanks = tuple(
        _new_blank(
            c, seen[c.members], alone, members, settings, k, holders[members[min(c.members)].diameter_code]
        )
        for k, c in enumerate(family.chosen, 1)
    )
    read = tuple(_read_again(project, new, where) for new in blanks)
    options = tuple(option_of(c.name, dies(c.members), c.price) for c in family.chosen)
    return FamilyPlan(replace(question_asked, programme=programme), family, read, settings, options)


def _roomier(settings: FamilySettings) -> FamilySettings:
    """Return the settings with the little more metal that rounding and quick seats take."""
    room = settings.forging.headroom
    more = {f.name: getattr(room, f.name) + _ROOM_MM for f in fields(room)}
    return replace(settings, forging=replace(settings.forging, headroom=Headroom(**more)))


def _read_again(project: Project, new: NewBlank, where: str) -> NewBlank:
    """Return a chosen blank with the members that it does not hold; there is none, or something is wrong."""
    with_new = replace(project, blanks=(new.blank,))
    found = coverage(with_new, new.members, [new.blank.name], where=where)
    missed = tuple(r.fitment for r in found.rows if not r.compromise and not r.is_covered)
    return replace(new, not_held=missed)


def member(project: Project, row: CoverRow, forging: ForgingSettings) -> Member | None:
    """Return a fitment as groups need it; None where its wheel has no section that could be forged."""
    wheel = row.need.wheel
    assert wheel is not None
    longer = forging.trim_mm + forging.grip_mm + forging.test_ring_mm + forging.headroom.ring_mm
    try:
        bodies = [
            group_body(project, drawn(wheel, wheel.size.width_code, inset), forging)
            for inset in insets_of(row)
        ]
        needs = tuple(need_of(body, forging.how, longer) for body in bodies)
    except GeometryError:
        return None
    heaviest: GroupBody = max(bodies, key=lambda body: body.mass_kg)
    density = next((m.density_kg_m3 for m in project.materials if m.name == wheel.material), 0.0)
    return Member(wheel.name, needs, heaviest.mass_kg, heaviest.full_kg, wheel.size.diameter_code, density)


def insets_of(row: CoverRow) -> tuple[float, ...]:
    """Return the insets of a fitment's window that its blank is made for, mm, rising."""
    low, high = row.need.insets[0], row.need.insets[-1]
    return tuple(sorted({low, high, *([(low + high) / 2.0] if high - low > _WIDE_MM else [])}))


def _code(members: Mapping[str, Member], group: Group) -> float:
    return members[min(group)].diameter_code


def _seated(
    executor: Executor,
    groups: Sequence[Sequence[Member]],
    forging: ForgingSettings,
    allowances: Mapping[float, Allowance],
) -> list[Seated | None]:
    jobs = [
        (
            [need for m in group for need in m.needs],
            forging,
            group[0].density_kg_m3,
            allowances[group[0].diameter_code],
        )
        for group in groups
    ]
    return run_all(executor, forgeable, jobs)


def forgeable(
    needs: Sequence[Need], forging: ForgingSettings, density: float, allowance: Allowance
) -> Seated | None:
    """Return a group's blank, usable; None where no log or press at hand makes its forging.

    Its seats are those at which it weighs least without fillets: nothing near them was found lighter with
    fillets in any group that was tried, and the search for it takes longer than all the rest.
    """
    how: Forgeable = forging.how
    try:
        draft = seated(needs, replace(how, fillet_mm=0.0), density_kg_m3=density)
        found = seated(needs, how, seats_mm=draft.seats_mm, density_kg_m3=density)
        found = replace(found, bound_kg=draft.bound_kg, is_proven=draft.is_proven, planes=draft.planes)
        sizes = blank_sizes(found.blank)
        forged_kg = found.mass_kg + allowance.mass_kg
        log = press.chosen_log(forged_kg, forging.loss, density, forging.log_diameters_mm)
        made = forging_steps(
            sizes,
            log,
            forging.presses,
            temperature_c=forging.temperature_c,
            friction=forging.friction,
            flash_land_mm=forging.flash_land_mm + allowance.out_mm,
            shape_class=forging.shape_class,
        )
    except GeometryError:
        return None
    return None if log.may_buckle or any(step.fits is Fits.TOO_SMALL for step in made) else found


@dataclass(frozen=True, eq=False)
class _MemberCosts:
    """What a blank of a mass costs a piece, and a member's wheel beside it."""

    members: Mapping[str, Member]
    rates: ShopRates

    def price(self, mass_kg: float) -> float:
        """Return the price of a piece."""
        return money(mass_kg, 0.0, 0.0, replace(self.rates, bought_price=None)).metal

    def beside(self, name: str, mass_kg: float) -> float:
        """Return what a fitment's wheel costs beside the piece: cutting and setting less chips."""
        member, rates = self.members[name], self.rates
        turned = max(mass_kg - member.full_kg, 0.0) / member.density_kg_m3 * 1e6
        milled = (member.full_kg - member.wheel_kg) / member.density_kg_m3 * 1e6
        minutes = turned / rates.turning_cm3_min + milled / rates.milling_cm3_min
        cost = money(mass_kg, mass_kg - member.wheel_kg, minutes, replace(rates, bought_price=None))
        return cost.cutting + cost.setting - cost.chips


def _candidate(group: Group, found: Seated, costs: _MemberCosts, allowance: Allowance) -> Candidate:
    """Return a group's blank with its masses as forged: what is paid for."""
    mass = found.mass_kg + allowance.mass_kg
    beside = {name: costs.beside(name, mass) for name in sorted(group)}
    return Candidate(group, mass, found.bound_kg + allowance.mass_kg, costs.price(mass), beside)


def _with_holders(
    project: Project, programme: Programme, codes: Iterable[float], cost: float
) -> tuple[Programme, dict[float, str | None]]:
    """Return the programme with a holder for every diameter, and its name; None where one is paid for.

    A holder of the settings is of a diameter where the code stands in its name, as '18 inch holder'.
    """
    paid = {b.holder for b in project.blanks if b.holder is not None and b.state in THERE}
    found: dict[float, str | None] = {}
    more: list[Holder] = []
    for code in sorted(set(codes)):
        word = f"{code:g}"
        named = next((h.name for h in programme.holders if word in h.name.split()), None)
        if named is None:
            named = f"{word} inch holder"
            more.append(Holder(named, cost, payments(project, 0.0)))
        found[code] = None if named in paid else named
    return replace(programme, holders=(*programme.holders, *more)), found


def _new_die(project: Project, settings: FamilySettings, holder: str | None, lead_years: float) -> NewDie:
    shares = project.programme
    return NewDie(
        settings.die_cost + settings.proof_cost,
        payments(project, lead_years),
        holder,
        lead_years,
        settings.run_setup,
        float(settings.least_run),
        min(shares.carrying_share + shares.write_off_share, 1.0),
    )


def _new_blank(
    chosen: Candidate,
    found: Seated,
    alone: Mapping[str, float],
    members: Mapping[str, Member],
    settings: FamilySettings,
    number: int,
    holder: str | None,
) -> NewBlank:
    forging, how = settings.forging, settings.forging.how
    code = members[min(chosen.members)].diameter_code
    made = made_blank(found, None)
    drawn = forged(made.path, found.mass_kg, forging)
    named = ", ".join(sorted(chosen.members))
    blank = shape_blank.Blank(
        f"N{code:g}-{number}",
        tuple(Corner(z, r, bulge=bulge) for z, r, bulge in drawn.path.rows()),
        parting_mm=made.parting_mm[0],
        source=f"smallest forgeable blank of {named}; draft {how.outside_deg:g} outside, "
        f"{how.inside_deg:g} inside, fillets {how.fillet_mm:g}; {drawn.words}",
        tolerances=drawn.tolerances,
        die_cost=settings.die_cost,
        proof_cost=settings.proof_cost,
        run_setup=settings.run_setup,
        least_run=settings.least_run,
        lead_weeks=settings.lead_weeks,
        holder=holder,
    )
    density = members[min(chosen.members)].density_kg_m3
    sizes = drawn.sizes
    area = math.pi * (sizes.rim_mm + forging.flash_land_mm) ** 2
    rate = press.rate_per_s(forging.speed_mm_s, max(sizes.web_mm, 1.0))
    stress = press.flow_stress_mpa(forging.temperature_c, rate)
    low, high = press.FACTORS[forging.shape_class]
    return NewBlank(
        blank,
        tuple(sorted(chosen.members)),
        drawn.mass_kg,
        tuple((name, found.mass_kg - alone[name]) for name in sorted(chosen.members)),
        chosen.price,
        press.chosen_log(drawn.mass_kg, forging.loss, density, forging.log_diameters_mm),
        (press.fill_load_mn(stress, low, area), press.fill_load_mn(stress, high, area)),
        tuple(sorted(n for n, m in members.items() if m.diameter_code == code and n not in chosen.members)),
    )
