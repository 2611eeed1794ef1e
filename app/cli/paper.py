"""What goes on paper by command: the section report, for whom, and the paper gauge."""

from __future__ import annotations

import argparse
import sys
from dataclasses import dataclass
from pathlib import Path

from app.project.project import Project
from app.project.wheel import Wheel
from app.units import parse_length_mm


@dataclass(frozen=True)
class Asked:
    """What the options ask for.

    Attributes:
        customer: the addressee; None for the house's own copy.
        gauge_of: 'brake' or 'wheel' for a gauge, None for a report.
        bars: what the level and the upright 100 mm bar measured, mm; None without a correction.
    """

    shapes: tuple[str, ...] | None
    customer: str | None
    gauge_of: str | None
    bars: tuple[float, float] | None


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options of a report but for its file."""
    parser.add_argument(
        "--for",
        dest="audience",
        choices=("customer", "internal"),
        default="internal",
        help="whose copy: a customer's holds no blank, no stock, no reasons of rules and no shape of another "
        "owner; the house's own (the default) holds all",
    )
    parser.add_argument(
        "--customer",
        metavar="NAME",
        help="the addressee: shapes whose owner is NAME are shown beside the house's own",
    )
    parser.add_argument(
        "--gauge", action="store_true", help="write the paper gauge, 1 : 1 and tiled, instead of the report"
    )
    parser.add_argument(
        "--gauge-of",
        choices=("brake", "wheel"),
        help="what is cut out: the brake's outlines (the default), or the wheel's inside",
    )
    parser.add_argument(
        "--bar",
        metavar="X,Y",
        help="what the level and the upright bar of an uncorrected gauge measured, in mm, as in 97.2,99.8 "
        "(or 97,2;99,8); this print is corrected by it",
    )


def asked(args: argparse.Namespace) -> Asked:
    """Return what the options ask for.

    Raises:
        ValueError: they do not fit together, or --bar is not two lengths.
    """
    to_customer = args.audience == "customer"
    if args.customer is not None and not to_customer:
        raise ValueError("--customer names the addressee of a customer's copy: add --for customer")
    if not args.gauge and (args.gauge_of is not None or args.bar is not None):
        raise ValueError("--gauge-of and --bar are of the paper gauge: add --gauge")
    return Asked(
        shapes=tuple(args.shape) if args.shape else None,
        customer=(args.customer or "") if to_customer else None,
        gauge_of=(args.gauge_of or "brake") if args.gauge else None,
        bars=None if args.bar is None else _bars(args.bar),
    )


def _bars(text: str) -> tuple[float, float]:
    parts = text.split(";" if ";" in text else ",")
    if len(parts) != 2:
        raise ValueError(f"--bar '{text}': two lengths are needed, as in 97.2,99.8 or 97,2;99,8")
    return parse_length_mm(parts[0]), parse_length_mm(parts[1])


def write(project: Project, wheel: Wheel, out: Path, what: Asked) -> int:
    """Write report or gauge and return the exit code: 0 may be released, 1 is stamped 'not for release'.

    Raises:
        ValueError: it cannot be made as asked.
    """
    from app.reports import outputs  # the page library loads for paper only
    from app.reports.audience import Audience
    from app.reports.gauge import UNCORRECTED, Correction, GaugeOf

    audience = Audience(what.customer)
    if what.gauge_of is not None:
        correction = UNCORRECTED if what.bars is None else Correction.of_bars(*what.bars)
        of = GaugeOf(what.gauge_of)
        reason = outputs.write_paper_gauge(project, wheel, out, of, correction, what.shapes, audience)
    else:
        reason = outputs.write_report(project, wheel, out, what.shapes, audience)
    words = outputs.left_out(project, wheel, audience, what.shapes)
    if words:
        print(f"blankwright: {words}", file=sys.stderr)
    if reason:
        print(f"blankwright: {out} is stamped 'not for release': {reason}", file=sys.stderr)
        return 1
    return 0


def say_whether_current(project: Project, wheel: Wheel, pdf: Path) -> int:
    """Print whether a stored report or gauge is current and return the exit code: 0 current, 1 stale.

    Raises:
        ValueError: the file cannot be read, or is no report of this program.
    """
    from app.reports.outputs import why_stale

    reason = why_stale(project, wheel, pdf)
    print(f"{pdf}: stale: {reason}." if reason else f"{pdf}: current.")
    return 1 if reason else 0
