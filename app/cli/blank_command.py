"""The run of `blankwright blank`: what is found, judged, printed and written."""

from __future__ import annotations

import argparse
import json
import sys
from dataclasses import replace

from app.cli import blank as forging
from app.cli import blank_said as said_of
from app.cli import blank_tools as held
from app.cli import machining as cutting
from app.cli import spinning as drawing_out
from app.cli.blank_out import check_out, write
from app.cli.prepare import prepare_once
from app.project.caution import CAUTION
from app.project.project import Project
from app.reports.variant_words import variant_json


def run(args: argparse.Namespace, project: Project) -> int:
    """Find the blank of a group, print it, and write what is asked for; return exit code 0.

    Raises:
        GeometryError, EditError, UnitsError, SaveError: bad input, or a file that cannot be written.
    """
    from app.studies.composite import composite
    from app.studies.machining import machining

    check_out(args.out)
    settings = forging.settings_of(args, project)
    rates = cutting.rates_of(args, project)
    spinning = drawing_out.settings_of(args)
    owner = held.tools_of(args, project)
    prepare_once()
    seats = [0.0] * len(args.wheel) if args.as_drawn else None
    result = composite(project, args.wheel, settings, seats_mm=seats)
    cut = machining(project, result, rates)
    drawn = None if spinning is None else drawing_out.found(project, result, settings, spinning, cut, rates)
    spun = None if drawn is None else drawn.blank
    tools = held.judged(owner, result, spun, settings)
    variant_of = held.variant_owner(args, owner, tools)
    priced = replace(project, rates=rates)
    if args.json:
        values = {
            **said_of.as_json(priced, result, settings),
            "machining": cutting.as_json(project, rates, cut),
        }
        if drawn is not None:
            values["spun"] = drawing_out.as_json(priced, drawn)
        values["tools"] = None if tools is None else variant_json(tools)
        print(json.dumps(values, ensure_ascii=False, indent=1, allow_nan=False))
    else:
        print(said_of.as_text(priced, result, settings))
        print(cutting.as_text(project, rates, cut))
        if drawn is not None:
            print(f"\n{drawing_out.as_text(priced, drawn)}")
        if tools is not None:
            print(f"\n{held.tools_text(project, tools)}")
    if args.out is not None:
        said = write(
            args.out,
            project,
            result,
            settings,
            cut,
            args.name,
            args.for_forge,
            rates=rates,
            spun=spun,
            tools=tools,
            with_wheels=args.cut,
            variant_of=variant_of,
        )
        print(said, file=sys.stderr if args.json else sys.stdout)
    if not args.json:
        print(f"\n{CAUTION}")
    return 0
