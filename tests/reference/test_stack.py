"""The worst state of a gap, recomputed by moving a fine polygon with shapely, and by plain arithmetic."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely.affinity import affine_transform, translate

from app.studies.fit import hold, measure_wheel
from app.studies.road import on_the_road
from geometry.readings.conditions import Conditions, Effect, Pose, effects
from geometry.readings.gap_rows import gap_rows
from geometry.readings.rows import Held, Ring
from geometry.readings.rules import GapRule, RuleSet, State
from geometry.readings.stack import StackRow, combinations, size_mm, stack_rows
from geometry.shape.curve import Path
from geometry.shape.outline import Corner, Motion, NamedOutline, ShapeKind, SourceCard, StayOut
from geometry.shape.section import ZONES, Outline, build
from tests.support.example import project
from tests.unit.readings.test_conditions import STILL

ROUGH = replace(
    STILL,
    name="rough",
    camber_deg=0.4,
    bearing_z_mm=-45.0,
    axial_run_out_mm=0.5,
    radial_run_out_mm=0.4,
    inset_mm=0.2,
    wheel_hot_k=100.0,
    brake_hot_k=150.0,
    spread_mm=0.3,
    surface_mm=0.15,
    barrel_mm=0.6,
)
FINE_MM = 1e-3


def held_wheel() -> tuple[Outline, Held]:
    whole = project()
    wheel = whole.wheels[0]
    outline, held = build(wheel.section), hold(whole, wheel)
    assert isinstance(outline, Outline)
    assert isinstance(held, Held)
    return outline.moved(wheel.spacer_mm), held


def polygon_distance(outline: Outline, zone: int, shape: Path, pose: Pose) -> float:
    """The distance of a zone's pieces, flattened to a micrometre and moved by plain matrices, to a shape."""
    cos, sin = math.cos(math.radians(pose.tilt_deg)), math.sin(math.radians(pose.tilt_deg))
    c, s = pose.centre_z_mm, pose.scale
    matrix = [s * cos, -s * sin, s * sin, s * cos, c - c * cos + pose.dz_mm, -c * sin + pose.dr_mm]
    pieces = []
    for k in np.flatnonzero((outline.zone == zone) & outline.skin):
        sagitta = 1.0 - math.cos(abs(outline.path.sweeps[k]) / 2.0)
        count = 1 if not sagitta else max(2, math.ceil(math.sqrt(outline.path.radii[k] / FINE_MM)))
        t = np.linspace(0.0, 1.0, count + 1)
        pieces.append(shapely.LineString(outline.path.at(np.full(len(t), k), t)))
    skin = affine_transform(shapely.MultiLineString(pieces), matrix)
    return float(skin.distance(shapely.Polygon(shape.flattened(FINE_MM / 4.0))))


@pytest.fixture(scope="module")
def rows() -> tuple[Outline, Held, tuple[StackRow, ...]]:
    outline, held = held_wheel()
    return outline, held, stack_rows(outline, held, ROUGH, gap_rows(outline, held))


def test_every_state_agrees_with_a_moved_polygon(rows: tuple[Outline, Held, tuple[StackRow, ...]]) -> None:
    outline, held, found = rows
    assert found
    for shape, positions in held.shapes:
        eats = effects(ROUGH, shape, size_mm(shape, positions), held.spacer_mm)
        states = [pose for pose, _ in combinations(eats)]
        for row in (r for r in found if r.shape == shape.name and not r.body and r.worst_mm > 0.0):
            zone = [str(z) for z in ZONES].index(row.zone)
            local = sum(e.poses[0].loss_mm for e in eats if e.zones and e.acts_on(zone))
            worst = min(
                polygon_distance(outline, zone, position, pose) - pose.loss_mm
                for pose in states
                for position in positions
            )
            assert row.worst_mm == pytest.approx(worst - local, abs=2.0 * FINE_MM)
            for loss in row.losses:
                effect = next(e for e in eats if e.key == loss.key)
                left = min(
                    polygon_distance(outline, zone, position, pose) - pose.loss_mm
                    for pose in effect.poses
                    for position in positions
                )
                assert row.nominal_mm - loss.loss_mm == pytest.approx(left, abs=2.0 * FINE_MM)


def test_no_corner_of_all_limits_is_worse(rows: tuple[Outline, Held, tuple[StackRow, ...]]) -> None:
    """Shifts the same way were added up before signs were tried: every single sign is tried here."""
    outline, held, found = rows
    shape, positions = held.shapes[0]
    eats = [e for e in effects(ROUGH, shape, size_mm(shape, positions), held.spacer_mm) if not e.zones]
    named = [str(z) for z in ZONES]
    for row in (r for r in found if r.shape == shape.name and not r.body and r.worst_mm > 0.0):
        zone = named.index(row.zone)
        every = effects(ROUGH, shape, 0.0, 0.0)
        local = sum(e.poses[0].loss_mm for e in every if e.zones and e.acts_on(zone))
        for chosen in itertools.product(*(limits(e) for e in eats)):
            pose = Pose(
                sum(p.tilt_deg for p in chosen),
                ROUGH.bearing_z_mm,
                sum(p.dz_mm for p in chosen),
                sum(p.dr_mm for p in chosen),
                math.prod(p.scale for p in chosen),
                sum(p.loss_mm for p in chosen),
            )
            rough = min(polygon_distance(outline, zone, p, pose) for p in positions) - pose.loss_mm - local
            assert row.worst_mm <= rough + 2.0 * FINE_MM
        if row.zone == "barrel":
            break


def limits(effect: Effect) -> tuple[Pose, ...]:
    if len(effect.poses) == 2 or effect.poses[0].loss_mm:
        return effect.poses
    return Pose(), *effect.poses


# Plain arithmetic


def flat(gap_mm: float, error_mm: float = 0.0) -> tuple[Outline, Held]:
    """A ring r 100 to 110 over a block whose top lies gap_mm below its bore; both flat along the axle."""
    ring = Path.closed([(-50.0, 100.0), (50.0, 100.0), (50.0, 110.0), (-50.0, 110.0)])
    n, barrel = len(ring), [str(z) for z in ZONES].index("barrel")
    outline = Outline(
        ring, np.full(n, barrel), np.arange(n), np.ones(n, dtype=np.intp), np.ones(n, dtype=bool)
    )
    top = 100.0 - gap_mm
    corners = tuple(Corner(z, r) for z, r in ((-10.0, 60.0), (10.0, 60.0), (10.0, top), (-10.0, top)))
    block = StayOut("block", (NamedOutline("at rest", corners),), card=SourceCard(error_mm=error_mm))
    path = Path.closed([(c.z, c.r) for c in corners])
    return outline, Held(shapes=((block, (path,)),))


def barrel_row(conditions: Conditions, gap_mm: float, error_mm: float = 0.0) -> StackRow:
    outline, held = flat(gap_mm, error_mm)
    (row,) = (r for r in stack_rows(outline, held, conditions, gap_rows(outline, held)) if r.zone == "barrel")
    return row


def test_worst_case_and_root_sum_square() -> None:
    """checks.md G4: 0.3, 0.3, 0.5, 0.4 make 1.5 and 0.768."""
    row = barrel_row(
        replace(STILL, surface_mm=0.3, coating_mm=0.3, barrel_mm=0.5, radial_run_out_mm=0.4), 5.0
    )
    assert row.nominal_mm - row.worst_mm == pytest.approx(1.5, abs=1e-9)
    assert row.nominal_mm - row.rss_mm == pytest.approx(0.768, abs=5e-4)
    assert [loss.loss_mm for loss in row.losses] == pytest.approx([0.5, 0.4, 0.3, 0.3])
    assert row.losses[0].words == "barrel bent under load"


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_tilt_of_half_a_degree_either_way(sign: float) -> None:
    """A flat bore tilted about a place on the axle line: it falls by (z - c) sin a and by r (1 - cos a)."""
    outline, held = flat(5.0)
    ((_, (block,)),) = held.shapes
    angle = math.radians(sign * 0.5)
    posed = Pose(sign * 0.5, -45.0).path(outline.path)
    # The block's two upper corners, in the turned frame of the bore's line.
    corners = [
        (
            (z + 45.0) * math.cos(angle) + r * math.sin(angle),
            r * math.cos(angle) - (z + 45.0) * math.sin(angle),
        )
        for z, r in ((-10.0, 95.0), (10.0, 95.0))
    ]
    by_hand = min(100.0 - r for _, r in corners)
    read = shapely.Polygon(posed.points).distance(shapely.Polygon(block.points))
    assert read == pytest.approx(by_hand, abs=1e-9)
    row = barrel_row(replace(STILL, camber_deg=0.5, bearing_z_mm=-45.0), 5.0)
    assert row.worst_mm <= by_hand + 1e-9


def test_a_weight_band_takes_its_height() -> None:
    """checks.md G7: a band 4.5 thick on the barrel."""
    outline, held = flat(9.0)
    band = Path.closed([(-8.0, 95.5), (8.0, 95.5), (8.0, 100.0), (-8.0, 100.0)])
    banded = replace(held, rings=(Ring("weight band", band),))
    found = stack_rows(outline, banded, STILL, gap_rows(outline, banded))
    by_body = {row.body: row.worst_mm for row in found if row.zone == "barrel"}
    assert by_body[""] - by_body["weight band"] == pytest.approx(4.5, abs=1e-6)


def test_error_is_taken_once() -> None:
    row = barrel_row(STILL, 5.0, error_mm=0.7)
    assert [row.nominal_mm, row.worst_mm] == pytest.approx([5.0, 4.3])


def test_what_is_passed_between_two_limits_is_met() -> None:
    """A rib of 2 mm on the wheel, another on the brake in its way: clear at both limits, not between them.

    Plain arithmetic: the ribs overlap by 1 mm in r and stand 5 mm apart along the axle; a brake that comes
    outboard by up to 12 passes the rib from one side of it to the other.
    """
    outline, held = held_wheel()
    shape = held.shapes[0][0]
    z, r = -60.0, float(outline.path.bounds[2]) + 60.0
    rib = Ring("rib", Path.closed([(z, r), (z + 2.0, r), (z + 2.0, r + 10.0), (z, r + 10.0)]))
    low = z - 7.0
    tooth = Path.closed([(low, r - 20.0), (low + 2.0, r - 20.0), (low + 2.0, r + 1.0), (low, r + 1.0)])
    caliper = replace(
        shape,
        kind=ShapeKind.CALIPER,
        outlines=(NamedOutline("tooth", tuple(Corner(a, b) for a, b in tooth.points.tolist())),),
    )
    alone = replace(held, shapes=((caliper, (tooth,)),), rings=(rib,))
    for outboard, touches in ((2.0, False), (7.0, True), (12.0, True)):
        conditions = replace(STILL, name="out", brake_outboard_mm=outboard)
        found = stack_rows(outline, alone, conditions, gap_rows(outline, alone))
        (row,) = [row for row in found if row.body == "rib"]
        assert (row.worst_mm < 0.0) is touches, outboard
        fine = [polygons(rib.path, tooth, -share * outboard) for share in np.linspace(0.0, 1.0, 400)]
        assert row.worst_mm <= min(fine) + 0.3 if min(fine) > 0.0 else row.worst_mm < 0.0


def polygons(first: Path, second: Path, dz: float) -> float:
    """Return the distance of two areas, the first moved along the axle; 0 where they share area."""
    moved = translate(shapely.Polygon(first.points), xoff=dz)
    return float(moved.distance(shapely.Polygon(second.points)))


def test_a_part_on_the_street_side_counts_where_the_road_may_bring_it_near() -> None:
    """An arm a hair beyond its rule on paper is judged in the worst state as one a hair within is."""
    whole = project()
    wheel = replace(whole.wheels[0], conditions="rough")
    outline, _ = held_wheel()
    lip = float(outline.path.bounds[1])
    states = []
    for away in (3.9, 4.1):
        corners = tuple(
            Corner(z, r)
            for z, r in ((lip + away, 200.0), (lip + 40.0, 200.0), (lip + 40.0, 240.0), (lip + away, 240.0))
        )
        arm = replace(
            whole.shapes[0],
            name="arm",
            kind=ShapeKind.ARM,
            motion=Motion.AGAINST_KNUCKLE,
            swept=True,
            outlines=(NamedOutline("straight", corners),),
            extent=replace(whole.shapes[0].extent, z_low=None, z_high=None),
            card=replace(whole.shapes[0].card, error_mm=0.0),
        )
        rules = RuleSet("R", gap=(GapRule(4.0, 3.5, 0.2, ShapeKind.ARM),))
        held = replace(
            whole,
            shapes=(arm,),
            rule_sets=(rules,),
            conditions=(ROUGH,),
            wheels=(replace(wheel, clears=("arm",), rules="R"),),
        )
        measured = measure_wheel(held, held.wheels[0])
        road = on_the_road(held, held.wheels[0], measured)
        assert road is not None
        outer = [row for row in road.rows if row.zone == "outer lip"]
        assert outer
        states.append(outer[0].state)
        assert outer[0].worst_mm < away
    assert states == [State.SHORT, State.SHORT]
