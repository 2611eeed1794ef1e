"""The example with an outline that is held and driven in several ways."""

from __future__ import annotations

from dataclasses import replace

from app.project.constraining import rows_of
from app.project.holding import held
from app.project.project import Project
from geometry.shape.constraints import value_of
from geometry.shape.held import VALUED, Constraint, Drive, Driven, Hold, Parameter
from tests.support import example


def project() -> Project:
    """Return the example with ten constraints, each with the number that it has, and three parameters."""
    start = example.project()
    wheel = start.wheels[0]

    def now(kind: Hold, *vertices: int) -> Constraint:
        c = Constraint(kind, vertices)
        return replace(c, value=value_of(c, rows_of(wheel))) if kind in VALUED else c

    constraints = (
        now(Hold.VERTICAL, 40, 41), now(Hold.DISTANCE, 41, 42), now(Hold.ALONG_R, 43, 44),
        now(Hold.ANGLE, 44, 45), now(Hold.EQUAL_WALL, 40, 50, 41, 49), now(Hold.RADIUS, 41),
        now(Hold.DISTANCE, 39, 40), now(Hold.HORIZONTAL, 35, 36), now(Hold.ALONG_R, 37, 38),
        Constraint(Hold.CLEAR, (42,), 3.0, example.CALIPER),
    )  # fmt: skip
    parameters = (
        Parameter("lip", "1/2", "in"),
        Parameter("back", "lip * 3 + 10", drives=(Drive(Driven.Z, (47,)),)),
        Parameter("wall", "14", drives=(Drive(Driven.WALL, (38, 39)),)),
    )
    asked = replace(wheel, constraints=constraints, parameters=parameters)
    return held(start, replace(start, wheels=(asked,))).project
