"""How long a drag waits for its constraints: a few milliseconds a step for up to twelve."""

import time
from dataclasses import replace
from statistics import median

import pytest

from app.project.holding import held
from tests.support.held import project

pytestmark = pytest.mark.timing


def test_a_drag_with_ten_constraints_and_a_driven_wall() -> None:
    start = project()
    wheel = start.wheels[0]
    taken = []
    for k in range(200):
        vertices = list(wheel.section.vertices)
        vertices[40] = vertices[40].moved(0.02 * k, 0.01 * k)
        raw = replace(start, wheels=(wheel.with_section(replace(wheel.section, vertices=tuple(vertices))),))
        begun = time.process_time()  # of this process alone: others may be busy
        held(start, raw)
        taken.append(1e3 * (time.process_time() - begun))
    count, longest = len(wheel.constraints), max(taken)
    print(f"{count} constraints: median {median(taken):.2f}, longest {longest:.2f} ms of processor time")
