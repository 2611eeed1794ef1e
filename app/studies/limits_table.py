"""The map of a blank's limits for others: a table of its cells, and plain values."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from typing import Any

from app.project.cells import no_formula
from app.studies.cuttable import Cuttable
from app.studies.extremes import Extreme
from app.studies.limits import Limits
from app.studies.limits_against import Against

_HEADS = (
    "blank",
    "width",
    "inset_mm",
    "state",
    "spare_mm",
    "least_mm",
    "zone",
    "side",
    "seat_mm",
    "wheel_kg",
    "why",
)


def as_csv(*maps: Limits) -> str:
    """Return the cells of maps as one table with a heading row; lengths in mm, two decimals.

    A name that a spreadsheet would take for a formula has ' before it.
    """
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    table.writerow(_HEADS)
    for blank, c in ((found.blank, cell) for found in maps for cell in found.cells):
        lengths = ["" if x is None else f"{x:.2f}" for x in (c.spare_mm, c.least_mm)]
        seat = "" if c.state is None else f"{round(c.seat_mm, 2) + 0.0:.2f}"
        mass = "" if c.wheel_kg is None else f"{c.wheel_kg:.3f}"
        size = (f"{c.width_code:g}", f"{c.inset_mm:g}")
        words = (no_formula(c.zone), no_formula(c.side))
        table.writerow([no_formula(blank), *size, c.word, *lengths, *words, seat, mass, no_formula(c.why)])
    return out.getvalue()


def as_json(result: Limits) -> dict[str, Any]:
    """Return the map as plain values, keys as in DEVELOPERS.md; lengths in mm."""
    return {
        "format": 1,
        "counts": "stock",
        "wheel": result.wheel,
        "blank": result.blank,
        "blank_kg": result.blank_kg,
        "keeps_seat": result.keeps_seat,
        "datum_mm": result.datum_mm,
        "cells": [
            {
                "width": c.width_code,
                "inset_mm": c.inset_mm,
                "state": c.word,
                "spare_mm": c.spare_mm,
                "least_mm": c.least_mm,
                "zone": c.zone or None,
                "side": c.side or None,
                "at": None if c.at is None else list(c.at),
                "seat_mm": None if c.state is None else c.seat_mm,
                "wheel_kg": c.wheel_kg,
                "why": c.why or None,
            }
            for c in result.cells
        ],
        "windows": [
            {
                "width": row.width_code,
                "inset_mm": [window.low, window.high],
                "closed_by": [window.closed_low_by or None, window.closed_high_by or None],
            }
            for row in result.rows
            for window in row.windows
        ],
    }


def still_json(found: Sequence[Extreme]) -> list[dict[str, Any]]:
    """Return what can still be had as plain values, keys as in DEVELOPERS.md."""
    return [{"words": e.words, "now_mm": e.now_mm, "most_mm": e.most_mm, "why": e.why} for e in found]


def mend_json(found: Cuttable) -> dict[str, Any]:
    """Return what would make a wheel cuttable as plain values, keys as in DEVELOPERS.md."""
    lack = found.lack
    return {
        "is_cuttable": found.is_cuttable,
        "offers": [
            {
                "words": o.words,
                "by_mm": o.by_mm,
                "mass_kg": o.mass_kg,
                "is_cure": o.is_cure,
                "effects": list(o.effects),
                "breaks": list(o.breaks),
            }
            for o in found.offers
        ],
        "lack": None
        if lack is None
        else {
            "mass_kg": lack.mass_kg,
            "seat_mm": lack.seat_mm,
            "sides": [
                {"zone": zone, "side": side, "missing_mm": mm, "at": list(at)}
                for zone, side, mm, at in lack.sides
            ],
        },
    }


def against_json(found: Against) -> dict[str, Any]:
    """Return what a second blank gives up as plain values, keys as in DEVELOPERS.md."""
    return {
        "blank": found.second.blank,
        "blank_kg": found.second.blank_kg,
        "seats_mm": list(found.seats_mm),
        "as_drawn": list(found.as_drawn),
        "lighter_kg": found.lighter_kg,
        "cheaper": found.cheaper,
        "money": [
            {
                "blank": money.blank,
                "pieces": money.pieces,
                "total": money.total,
                "lines": [{"what": x.what, "money": x.money, "why": x.why} for x in money.lines],
            }
            for money in found.money
        ],
        "sides": [
            {"zone": s.zone, "side": s.side, "first_mm": s.first_mm, "second_mm": s.second_mm}
            for s in found.sides
        ],
        "only_first": [[c.width_code, c.inset_mm] for c in found.only_first],
        "only_second": [[c.width_code, c.inset_mm] for c in found.only_second],
    }
