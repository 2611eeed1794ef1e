"""`blankwright blank`: the smallest forgeable blank of a group of wheels."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import fields
from pathlib import Path
from typing import Any

from app.cli import machining, spinning
from app.project.project import Project
from app.studies.drafts import EJECTED, NOT_EJECTED, ON_PUNCH
from app.studies.drafts import outside as starting_draft
from app.studies.forging_needs import ForgingSettings, NeedWindow, presses_at_hand
from app.studies.forging_stock import STOCK_SETS, Headroom, stock_set
from app.units import parse_length_mm
from geometry.errors import GeometryError
from geometry.forging.composite import Forgeable
from geometry.forging.plan import WINDOW_C
from geometry.forging.presses import DIE_STEEL, DieSteel, Press

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
    add(
        "--missing",
        choices=("added", "in-stock"),
        help="what may be missing of a forging: starting values are added round the usable outline, or the "
        "stock holds it; a stock set holds it, else it is added",
    )
    add(
        "--flash-land",
        metavar="MM",
        help="width of the flash round the blank that the press closes; starting value "
        f"{start.flash_land_mm:g}",
    )
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
        missing_in_stock=None if args.missing is None else args.missing == "in-stock",
        flash_land_mm=start.flash_land_mm if args.flash_land is None else _flash_land(args.flash_land),
        stock_mm=None if args.stock is None else parse_length_mm(args.stock),
        trim_mm=0.0 if args.trim is None else parse_length_mm(args.trim),
        grip_mm=0.0 if args.grip is None else parse_length_mm(args.grip),
        log_diameters_mm=logs,
        temperature_c=start.temperature_c
        if args.temperature is None
        else _numbers("--temperature", [args.temperature], (1,), "give degrees C, as 450")[0],
    )


def _flash_land(text: str) -> float:
    width = parse_length_mm(text)
    if not 0.0 <= width <= 100.0:
        raise GeometryError(f"--flash-land {text}: the flash is {width:g} mm wide; it must be from 0 to 100.")
    return width


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
