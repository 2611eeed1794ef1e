"""Every tolerance of the geometry, each with its reason."""

from __future__ import annotations

#: Below this turn a corner radius has no fillet worth the name: its arc would be shorter than noise.
LEAST_TURN_DEG = 0.01

#: Edges shorter than this are faults: their direction is noise.
LEAST_EDGE_MM = 1e-6

#: |bulge| below this is a straight edge: the circle's centre would lie so far off that its rounding
#: exceeds the arc's height.
STRAIGHT_BULGE = 1e-8

#: Angles along an arc within this of an end count as on the arc, so that joints belong to both pieces.
SWEEP_SLACK_RAD = 1e-9

#: Two skins form a wall where one disc touches both at contacts this far apart. 150 degrees still
#: counts a taper of 30 degrees between the faces and leaves out the end fillet of a plate, which
#: would otherwise read as a thin wall (an 8 mm plate with an R6 end reads 6.67 at 120 degrees).
WALL_CONTACT_DEG = 150.0

#: Depth of one area in another is found to this; it is shown to 0.01 mm.
DEPTH_MM = 0.004

#: Areas that overlap by no more than this meet without sharing area: it is rounding of the coordinates.
CONTACT_MM = 1e-9

#: Curves that are neither line nor arc are replaced within this (design rule of the project).
CURVE_MM = 0.005

#: Coordinates beyond this are refused: no wheel, blank or brake is ten metres across.
LARGEST_MM = 10_000.0
