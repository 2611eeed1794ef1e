"""`blankwright blank`: the smallest forgeable blank of a group of wheels."""

from __future__ import annotations

import argparse
import textwrap
from collections.abc import Sequence
from dataclasses import asdict, fields
from functools import partial
from pathlib import Path
from typing import Any

from app.cli import machining, spinning, told
from app.project.project import Project
from app.reports.blank_masses import turned_ladder
from app.reports.numbers import Numbers, unit_of
from app.reports.variant_words import ABOUT_TOOLS, variant_head, variant_lines
from app.studies.blank_variant import Answer, VariantCheck
from app.studies.composite import Composite
from app.studies.drafts import EJECTED, NOT_EJECTED, ON_PUNCH
from app.studies.drafts import outside as starting_draft
from app.studies.forging_needs import ForgingSettings, NeedWindow, presses_at_hand
from app.studies.forging_stock import STOCK_SETS, Headroom, stock_set
from app.studies.found_variant import against_tools
from app.studies.mixed_diameters import mixed_words
from app.studies.spun import SpunBlank
from app.units import parse_length_mm
from geometry.errors import GeometryError
from geometry.forging.composite import Forgeable
from geometry.forging.plan import WINDOW_C
from geometry.forging.presses import DIE_STEEL, DieSteel, Press
from geometry.shape.blank import Blank

#: What may be said of the room in a press, each with _mm behind it in `Press`.
_ROOM = ("daylight", "stroke", "ejector", "bed")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes beside the project."""
    start = ForgingSettings()
    add = parser.add_argument
    add("--wheel", action="append", required=True, metavar="NAME", help="of the group; may be repeated")
    add("--stock", metavar="MM", help="metal left on everywhere; else the rule set of each wheel, by zone")
    add(
        "--draft",
        metavar="OUT,IN",
        help="degrees on walls that look away from the axle and towards it; starting values "
        f"{EJECTED.start_deg:g},{ON_PUNCH.start_deg:g} ({EJECTED.band}; inside {ON_PUNCH.band})",
    )
    add(
        "--no-ejector",
        action="store_true",
        help=f"of dies without an ejector: draft outside starts with {NOT_EJECTED.start_deg:g} "
        f"({NOT_EJECTED.band})",
    )
    add(
        "--parting",
        metavar="MM",
        help="z at which the dies meet on the outside wall, from the first wheel's mounting face; where it "
        "weighs least if not given",
    )
    add(
        "--pierce",
        metavar="MM",
        help="diameter of the hole that the forge pierces in the hub, its slug kept as solid scrap; solid "
        "if not given",
    )
    add(
        "--fillet",
        metavar="MM",
        help=f"least radius of hollows; starting value {start.how.fillet_mm:g}, from memory",
    )
    add(
        "--as-drawn",
        action="store_true",
        help="keep all mounting faces in line; else the best seats are found",
    )
    add("--web", metavar="MM", help="least height of the blank; none if not given")
    add("--trim", metavar="MM", help="ring end that is turned off beyond the inner lip; none if not given")
    add("--grip", metavar="MM", help="length of ring kept for the chuck there; none if not given")
    add(
        "--log",
        metavar="MM,MM...",
        help="log diameters that the forge holds; starting values are common practice, no source",
    )
    sets = ", ".join(f"'{s.name}'" for s in STOCK_SETS)
    add("--stock-set", metavar="NAME", help=f"stock by surface, starting values from memory: {sets}")
    add("--corner", metavar="MM", help="radius of the dies' convex corners; that of the stock if not given")
    add(
        "--window",
        action="append",
        default=[],
        metavar="WHEEL:LOW:HIGH[:WIDTH:WIDTH]",
        help="insets, and widths, of a wheel that the blank must yield as well; may be repeated",
    )
    add(
        "--headroom",
        metavar="ring=5,bore=2,face=3,hub=1,outside=1",
        help="mm beyond what the wheels need, for those that nobody has drawn yet",
    )
    add("--test-ring", metavar="MM", help="length of ring that tests are cut from; none if not given")
    add(
        "--press",
        action="append",
        metavar="NAME:MN[:MM/S][:bed=MM...]",
        help="press at hand, in the order of the steps, one to three, with what it has room for: daylight=, "
        "stroke=, ejector= (0: none), bed=; else the project's, or invented ones of 20, 50 and 90 MN",
    )
    add(
        "--die-steel",
        metavar="WALL,BASE",
        help="mm of steel round the flash and behind the cavity, for bed and daylight; starting values "
        f"{DIE_STEEL.wall_mm:g},{DIE_STEEL.base_mm:g}, from memory",
    )
    start_c = f"{start.temperature_c:g}"
    low_c, high_c = WINDOW_C
    add(
        "--temperature",
        metavar="C",
        help=f"of the metal, 400 to 500; starting value {start_c}; 6061 is forged from {low_c:g} to "
        f"{high_c:g}",
    )
    add("--proved", metavar="MN:CM2", help="load that made a like blank, and its area with flash")
    machining.add_arguments(parser)
    spinning.add_arguments(parser)
    add("--json", action="store_true", help="print JSON, lengths in mm")
    add(
        "--out",
        type=Path,
        metavar="FILE.(dxf|csv|pdf|blankwright)",
        help="write the outline or pages; or a project with the wheels cut from the blank, or add it to one",
    )
    add("--cut", action="store_true", help="with --out to a project that exists: its wheels are cut from it")
    add("--tools", metavar="BLANK", help="hold it against the tools of a blank of the project")
    add(
        "--variant",
        action="store_true",
        help="with --tools and --out to a project: added as their variant, drawn to their tolerances, where "
        "it keeps all limits that the forge gave",
    )
    add("--for-forge", action="store_true", help="pages without money, chips and what each wheel costs")
    add("--name", metavar="NAME", help="of the blank in the project")


def settings_of(args: argparse.Namespace, project: Project) -> ForgingSettings:
    """Return the settings that the arguments ask for, with the project's presses where none are given.

    Raises:
        GeometryError: a value is out of bounds, or not as many numbers as asked for.
        UnitsError: a length that cannot be read.
    """
    start = ForgingSettings()
    outside, inside = starting_draft(not args.no_ejector).start_deg, ON_PUNCH.start_deg
    if args.draft is not None:
        try:
            outside, inside = (float(part) for part in args.draft.split(","))
        except ValueError as error:
            raise GeometryError(
                f"--draft {args.draft}: give two numbers of degrees, as 1,2 (outside, inside)"
            ) from error
    fillet = start.how.fillet_mm if args.fillet is None else parse_length_mm(args.fillet)
    logs = start.log_diameters_mm
    if args.log is not None:
        logs = tuple(parse_length_mm(part) for part in args.log.split(","))
    if args.stock is not None and args.stock_set is not None:
        raise GeometryError("--stock and --stock-set are given; leave one of them out")
    return ForgingSettings(
        stock=None if args.stock_set is None else stock_set(args.stock_set),
        corner_mm=0.0 if args.corner is None else parse_length_mm(args.corner),
        windows=tuple(_window(text) for text in args.window),
        headroom=_headroom(args.headroom),
        test_ring_mm=0.0 if args.test_ring is None else parse_length_mm(args.test_ring),
        presses=presses_at_hand(project) if args.press is None else tuple(_press(t) for t in args.press),
        proved=None if args.proved is None else _proved(args.proved),
        how=Forgeable(
            outside,
            inside,
            fillet,
            0.0 if args.web is None else parse_length_mm(args.web),
            None if args.parting is None else parse_length_mm(args.parting),
        ),
        steel=_steel(args.die_steel, not args.no_ejector),
        pierced_mm=None if args.pierce is None else parse_length_mm(args.pierce),
        stock_mm=None if args.stock is None else parse_length_mm(args.stock),
        trim_mm=0.0 if args.trim is None else parse_length_mm(args.trim),
        grip_mm=0.0 if args.grip is None else parse_length_mm(args.grip),
        log_diameters_mm=logs,
        temperature_c=start.temperature_c
        if args.temperature is None
        else _numbers("--temperature", [args.temperature], (1,), "give degrees C, as 450")[0],
    )


def _steel(text: str | None, ejects: bool) -> DieSteel:
    if text is None:
        return DieSteel(ejects=ejects)
    parts = text.split(",")
    if len(parts) != 2:
        raise GeometryError(f"--die-steel {text}: give two lengths, as 80,120 (round the flash, behind)")
    wall, base = (parse_length_mm(part) for part in parts)
    return DieSteel(wall, base, ejects)


def _numbers(option: str, parts: Sequence[str], counts: tuple[int, ...], how: str) -> list[float]:
    try:
        found = [float(part) for part in parts]
    except ValueError as error:
        raise GeometryError(f"{option}: {how}") from error
    if len(found) not in counts:
        raise GeometryError(f"{option}: {how}")
    return found


def _window(text: str) -> NeedWindow:
    wheel, *parts = text.split(":")
    how = f"'{text}' is no window; write WHEEL:25:45, or with widths WHEEL:25:45:9:10"
    return NeedWindow(wheel, *_numbers("--window", parts, (2, 4), how))


def _press(text: str) -> Press:
    name, *parts = text.split(":")
    how = f"'{text}' is no press; write NAME:90, with its speed in mm/s NAME:90:6, with room NAME:90:bed=1200"
    room: dict[str, Any] = {}
    for part in (p for p in parts if "=" in p):
        key, _, value = part.partition("=")
        if key.strip() not in _ROOM:
            known = ", ".join(_ROOM)
            raise GeometryError(f"--press: '{part}' is not known; there are {known}, each as bed=1200")
        room[f"{key.strip()}_mm"] = parse_length_mm(value)
    return Press(name, *_numbers("--press", [p for p in parts if "=" not in p], (1, 2), how), **room)


def _proved(text: str) -> tuple[float, float]:
    how = f"'{text}' is no proof; write load and area with flash as 88:2290"
    load, area = _numbers("--proved", text.split(":"), (2,), how)
    return load, area


def _headroom(text: str | None) -> Headroom:
    given: dict[str, float] = {}
    known = [f.name.removesuffix("_mm") for f in fields(Headroom)]
    for part in (text or "").split(",") if text else []:
        name, _, value = part.partition("=")
        if name.strip() not in known:
            raise GeometryError(f"--headroom {part}: give {', '.join(known)}, each as ring=5")
        given[f"{name.strip()}_mm"] = parse_length_mm(value)
    return Headroom(**given)


def tools_of(args: argparse.Namespace, project: Project) -> Blank | None:
    """Return the blank whose tools the found one is held against, None where none are named.

    Raises:
        GeometryError: the project has no such blank, or it is itself made with another one's tools.
    """
    if args.tools is None:
        return None
    named = {b.name: b for b in project.blanks if b.variant_of is None}
    if args.tools in named:
        return named[args.tools]
    of = next((b.variant_of for b in project.blanks if b.name == args.tools), None)
    if of is not None:
        raise GeometryError(f"--tools {args.tools}: that blank is made with the tools of {of}; name {of}")
    known = ", ".join(named) or "none"
    raise GeometryError(f"--tools {args.tools}: no blank of this project; those with tools: {known}")


def variant_owner(args: argparse.Namespace, owner: Blank | None, check: VariantCheck | None) -> Blank | None:
    """Return the blank whose variant the found one is to be added as, None where that was not asked for.

    Raises:
        GeometryError: no tools are named, or it does not keep their limits.
    """
    if not args.variant:
        return None
    if owner is None or check is None:
        raise GeometryError("--variant: name the blank whose tools are meant with --tools")
    if args.out is None or args.out.suffix.lower() != ".blankwright":
        raise GeometryError("--variant: give the project that it is added to with --out FILE.blankwright")
    if args.spun:
        raise GeometryError("--variant: a spun blank has a mandrel of its own; leave --spun out")
    if check.answer is not Answer.WITHIN:
        off = ", ".join(f"{c.what}: {c.answer}" for c in check.checks if c.answer is not Answer.WITHIN)
        raise GeometryError(
            f"--variant: it is not within the limits of the tools of {owner.name} ({off}); see --tools "
            "without --variant"
        )
    return owner


def judged(owner: Blank | None, result: Composite, spun: SpunBlank | None) -> VariantCheck | None:
    """Return the found blank, or the ring that a spun one is forged as, held against tools; None for none."""
    if owner is None:
        return None
    density = result.found.mass_kg / result.found.blank.volume_mm3 * 1e9
    if spun is not None:
        return against_tools(spun.found.preform.path, spun.mass_kg, density, owner)
    return against_tools(result.path, result.mass_kg, density, owner)


def tools_text(project: Project, check: VariantCheck) -> str:
    """Return what the tools make of it, limit by limit, for a person."""
    lines = variant_lines(check, Numbers(unit_of(project)))
    told_by = [f"    {c.answer}: {line}" for c, line in zip(check.checks, lines, strict=True)]
    about = textwrap.wrap(ABOUT_TOOLS, 98, initial_indent="    ", subsequent_indent="    ")
    return "\n".join([f"  {variant_head(check)}", *told_by, *about])


def as_json(project: Project, result: Composite) -> dict[str, Any]:
    """Return what was found, as documented in DEVELOPERS.md; money at the project's rates."""
    ladder, metric = turned_ladder(project, result), Numbers("mm")
    path = result.path
    rows = zip(path.points.tolist(), path.bulges.tolist(), strict=True)
    low, high = result.press_mn
    return {
        "format": 1,
        "mass_kg": result.mass_kg,
        "bound_kg": result.found.bound_kg,
        "is_proven": result.found.is_proven,
        "outline": [[z, r, bulge] for (z, r), bulge in rows],
        "log": {
            "diameter_mm": result.log.diameter_mm,
            "length_mm": result.log.length_mm,
            "mass_kg": result.log.mass_kg,
            "may_buckle": result.log.may_buckle,
        },
        "press_mn": [low, high],
        "flow_mn": result.flow_mn,
        "fill_mn": list(result.fill_mn),
        "proved_mn": result.proved_mn,
        "plan": [
            {
                "step": s.name,
                "press": s.press.name,
                "capacity_mn": s.press.capacity_mn,
                "diameter_mm": s.diameter_mm,
                "height_mm": s.height_mm,
                "area_cm2": s.area_cm2,
                "stress_mpa": s.stress_mpa,
                "load_mn": [s.low_mn, s.high_mn],
                "fits": str(s.fits),
                "refused": s.refused_words(metric.long) or None,
            }
            for s in result.steps
        ],
        "warnings": [found.words(metric.long, metric.mass) for found in result.warnings],
        "diameters": [asdict(each) for each in result.diameters],
        "corner": None
        if result.corner is None
        else {
            "radius_mm": result.corner.corner_mm,
            "grown_mm": result.corner.grown_mm,
            "axially": result.corner.axially,
            "band_kg": [result.found.mass_kg, result.mass_kg],
        },
        "windows": [{"words": words, "costs_kg": kg} for words, kg in result.windows],
        "web_mm": result.web_mm,
        "parting": list(result.parting_mm),
        "slug_kg": result.slug_kg,
        "ladder": [
            {
                "words": rung.words,
                "mass_kg": rung.mass_kg,
                "money": None if ladder.money is None else ladder.money[k],
                "wheels_kg": list(rung.wheels_kg),
            }
            for k, rung in enumerate(result.rungs)
        ],
        "wheels": [
            {
                "name": w.name,
                "seat_mm": w.seat_mm,
                "mass_kg": w.mass_kg,
                "chips_kg": w.chips_kg,
                "costs_others_kg": w.costs_others_kg,
                "decides": w.decides,
            }
            for w in result.wheels
        ],
    }


def as_text(project: Project, result: Composite, settings: ForgingSettings) -> str:
    """Return the result for a person: mass and proof, wheels, ladder of kilograms, log and press."""
    numbers, found = Numbers(unit_of(project)), result.found
    unit, bare = told.mass_unit(numbers), partial(told.bare_mass, numbers)
    proof = "proven" if found.is_proven else "not proven"
    z, r = result.parting_mm
    asked = settings.how.parting_mm
    more = (" and least web", settings.how.web_mm > 0.0), (" and the height asked for", asked is not None)
    web = "without fillets" + "".join(words for words, is_asked in more if is_asked)
    lines = [
        f"Smallest forgeable blank of {len(result.wheels)} wheels: {numbers.mass(result.mass_kg)}"
        if len(result.wheels) > 1
        else f"Smallest forgeable blank of {result.wheels[0].name}: {numbers.mass(result.mass_kg)}",
        *([f"  {mixed_words(result.diameters, unit)}"] if result.diameters else []),
        f"  {web} {numbers.mass(found.draft_mass_kg)}, "
        f"no lighter than {numbers.mass(found.bound_kg)} ({proof})",
        f"  greatest diameter {numbers.length(2.0 * r)}, dies meet at z {numbers.length(z)}"
        f"{'' if asked is None else ' as asked'}, least web {numbers.length(result.web_mm)}",
        *(
            [f"  hub pierced {numbers.length(settings.pierced_mm)} wide: slug {numbers.mass(result.slug_kg)}"]
            if settings.pierced_mm is not None
            else []
        ),
        "",
        f"  {'wheel':<24} {'seat':>8} {'wheel ' + unit:>9} {'chips ' + unit:>9} "
        f"{'costs the others ' + unit:>20}",
    ]
    for w in result.wheels:
        costs = "" if w.costs_others_kg is None else bare(w.costs_others_kg) if w.decides else "nothing"
        seat = numbers.length(w.seat_mm)
        lines.append(f"  {w.name:<24} {seat:>8} {bare(w.mass_kg):>9} {bare(w.chips_kg):>9} {costs:>20}")
    if settings.fits_drawn_alone:
        lines.append("  It fits only the drawn wheels: no window of insets and no headroom was asked for.")
    lines += [f"  window of {words}: +{numbers.mass(kg)} a blank" for words, kg in result.windows]
    if result.corner is not None:
        way = "drawn out along the axle" if result.corner.axially else "grown all round"
        by = numbers.length(result.corner.grown_mm)
        lines.append(
            f"  corners {numbers.radius(result.corner.corner_mm)}: {way} by {by}, from "
            f"{numbers.mass(found.mass_kg)}, no blank is lighter, to {numbers.mass(result.mass_kg)}"
        )
    elif settings.corner_mm:
        lines.append(f"  corners {numbers.radius(settings.corner_mm)}: the stock's own radius suffices")
    lines += told.ladder_lines(numbers, turned_ladder(project, result))
    log = result.log
    buckles = ", longer than three diameters: it may buckle" if log.may_buckle else ""
    lines += [
        "",
        f"  log {numbers.length(log.diameter_mm)} x {numbers.length(log.length_mm)}, "
        f"{numbers.mass(log.mass_kg, 1)} with {settings.loss:.0%} loss, "
        f"{log.slenderness:.2f} diameters long{buckles}",
        f"  last press: {told.load_words(result.flow_mn)} to move the metal, "
        f"{told.load_words(*result.fill_mn)} to fill corners against flash",
        *_plan(result, numbers),
        "  The outline is the usable one: closure, mismatch and wear of the dies come on top. Draft,",
        "  fillets, loss, flash, temperature and press speed are starting values until the shop's own.",
    ]
    return "\n".join(lines)


def _plan(result: Composite, numbers: Numbers) -> list[str]:
    """Return the forging's steps, each load as a band against its press."""
    lines = [] if result.proved_mn is None else [f"  by what was proved: {told.load_words(result.proved_mn)}"]
    area, stress, load = told.press_units(numbers)
    lines += [
        "",
        f"  {'step':<12} {'press':<18} {'across':>8} {'height':>8} {area:>7} {stress:>6} {load:>14}",
    ]
    for s in result.steps:
        across, height = numbers.length(s.diameter_mm), numbers.length(s.height_mm)
        area, stress = told.press_area(numbers, s.area_cm2), told.press_stress(numbers, s.stress_mpa)
        load = " to ".join(told.press_load(numbers, each) for each in (s.low_mn, s.high_mn))
        refused = s.refused_words(numbers.long)
        why = f": {refused}" if refused else f" ({told.capacity_words(numbers, s.press.capacity_mn)})"
        lines.append(
            f"  {s.name:<12} {s.press.name:<18} {across:>8} {height:>8} {area:>7} {stress:>6} {load:>14}  "
            f"{s.fits}{why}"
        )
    return [*lines, *(f"  {found.words(numbers.long, numbers.mass)}" for found in result.warnings)]
