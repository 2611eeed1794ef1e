"""Lettering, pens, fills and the signs of the states on paper; everything reads in grey."""

from __future__ import annotations

from app.reports.drawing import Pen, Type
from geometry.readings.rules import State

PAPER, INK, QUIET, HAIRLINE = "#FFFFFF", "#23262B", "#565B63", "#B9B3A6"
WHEEL, SHAPE, SHAPE_EDGE, BLANK = "#C9D1DA", "#F3D9C9", "#B5562B", "#8A7F70"
RING = "#8F9AA6"

COLOURS: dict[State, str] = {
    State.TOUCHING: "#6B2A80",
    State.SHORT: "#C2472D",
    State.NOT_KNOWN: "#6B7280",
    State.TIGHT: "#946010",
    State.CLEAR: "#2F6DB5",
}
#: Dashes and gaps in mm.
DASHES: dict[State, tuple[float, ...]] = {
    State.TOUCHING: (2.2, 0.7, 0.4, 0.7, 0.4, 0.7),
    State.SHORT: (1.6, 0.9),
    State.NOT_KNOWN: (0.35, 0.75),
    State.TIGHT: (2.2, 0.7, 0.4, 0.7),
    State.CLEAR: (),
}

SMALL, BODY, BODY_BOLD = Type(2.2, colour=QUIET), Type(2.5, colour=INK), Type(2.5, bold=True, colour=INK)
LABEL = Type(2.5, colour=QUIET)
HEADING, TITLE, FIRST_LINE = Type(3.4, bold=True), Type(5.6, bold=True), Type(3.2, bold=True)

# Wide and narrow lines as 2 : 1, as on any mechanical drawing (common practice).
OUTLINE, THIN, HAIR = Pen(0.35, INK), Pen(0.18, INK), Pen(0.13, HAIRLINE)
EXTENSION = Pen(0.13, QUIET)
HATCH = Pen(0.1, BLANK)
BLANK_EDGE, SHAPE_PEN = Pen(0.25, BLANK), Pen(0.3, SHAPE_EDGE)
GAP_LINE = Pen(0.22, SHAPE_EDGE, (3.0, 0.9, 0.5, 0.9))
TYRE = Pen(0.22, INK, (2.4, 1.4))
AXLE = Pen(0.18, INK, (6.0, 1.2, 1.0, 1.2))
CHAIN = Pen(0.3, INK, (1.6, 0.9))
CENTRE = Pen(0.15, INK, (3.5, 1.0, 0.8, 1.0))


def state_colour(state: State | None) -> str:
    """Return the colour of a state; without a rule it is the quiet ink."""
    return QUIET if state is None else COLOURS[state]
