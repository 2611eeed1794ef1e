"""Tables of points in any order, in space, and of a probe ball's centres: what is handed back and said."""

import math
import random
from collections.abc import Sequence

import numpy as np
import pytest
import shapely

from app.files.readers.answer import ReadError, ReadOutline
from geometry.shape.cloud import MOST_VERTICES
from tests.support.drawings import read_table

BODY = shapely.Polygon([(-60, 90), (20, 90), (20, 120), (40, 150), (40, 200), (-50, 205), (-60, 180)])
ROWS = [tuple(row) for row in shapely.get_coordinates(BODY.exterior.segmentize(2.0))[:-1].tolist()]


def mixed(rows: Sequence[tuple[float, ...]], seed: int = 1) -> list[tuple[float, ...]]:
    return random.Random(seed).sample(rows, len(rows))


def table(rows: Sequence[tuple[float, ...]], head: str = "z_mm;r_mm") -> str:
    return head + "\n" + "".join(";".join(f"{x:.6f}" for x in row) + "\n" for row in rows)


def area_of(found: ReadOutline) -> shapely.MultiPolygon:
    return shapely.MultiPolygon([shapely.Polygon([row[:2] for row in loop]) for loop in found.loops])


class TestOrder:
    def test_rows_in_order_are_an_outline(self) -> None:
        found = read_table(table(ROWS))
        assert (found.kind, found.warnings, found.tolerance_mm) == ("table", (), 0.0)
        assert area_of(found).symmetric_difference(BODY).area == pytest.approx(0.0, abs=1e-3)

    def test_rows_out_of_order_are_a_cloud_and_that_is_said(self) -> None:
        found = read_table(table(mixed(ROWS)))
        assert found.kind == "points"
        assert found.warnings[0].startswith("as an outline the rows would cross each other, first near z ")
        assert "along the outline points lie up to 2" in found.warnings[1]
        assert found.outside_count == 0
        assert len(found.cloud) == len(ROWS)
        assert 1.0 <= found.tolerance_mm < 2.0
        assert area_of(found).buffer(1e-5).contains(BODY)
        assert area_of(found).difference(BODY).area < 10.0

    @pytest.mark.parametrize("seed", range(5))
    def test_the_order_does_not_matter(self, seed: int) -> None:
        one, other = read_table(table(mixed(ROWS))), read_table(table(mixed(ROWS, seed + 7)))
        assert area_of(one).equals_exact(area_of(other), 1e-6) or area_of(one).area == pytest.approx(
            area_of(other).area, rel=1e-6
        )

    def test_the_user_beats_what_the_rows_look_like(self) -> None:
        assert read_table(table(ROWS), points="cloud").warnings[0] == "read as points in any order, as asked"
        crossing = read_table(table(mixed(ROWS)), points="outline")
        assert crossing.kind == "table"
        assert "the outline crosses itself near z" in crossing.hindrance
        with pytest.raises(ReadError, match="--points cloud"):
            crossing.usable_loops_mm()

    def test_more_rows_than_an_outline_has_are_a_cloud(self) -> None:
        rng = np.random.default_rng(2)
        places = np.column_stack([rng.uniform(-30, 30, 200_001), rng.uniform(100, 160, 200_001)])
        found = read_table(table([tuple(row) for row in places.tolist()]))
        assert found.warnings[0] == "more than 200000 rows: taken as points in any order"
        assert found.bounds == pytest.approx((-30.0, 30.0, 100.0, 160.0), abs=0.5)
        assert len(found.cloud) <= 3000


class TestSpace:
    def test_points_are_turned_about_the_axle(self) -> None:
        rng = random.Random(4)
        rows = []
        for z, r in ROWS:
            turn = rng.uniform(0.0, 2.0 * math.pi)
            rows.append((z, r * math.cos(turn), r * math.sin(turn)))
        found = read_table(table(rows, "x_mm;y_mm;z_mm"))
        assert found.columns == ("x", "y", "z")
        assert found.warnings[0] == (
            "the axle is taken along x, through y 0 and z 0; all points are turned about it into the "
            "half-plane, and z counts from the file's zero"
        )
        assert area_of(found).symmetric_difference(BODY).area == pytest.approx(0.0, abs=1e-3)

    @pytest.mark.parametrize(
        ("axle", "at", "row"),
        [
            ("x", (0.0, 0.0), lambda z, r: (z, 0.6 * r, -0.8 * r)),
            ("y", (0.0, 0.0), lambda z, r: (0.6 * r, z, -0.8 * r)),
            ("z", (0.0, 0.0), lambda z, r: (0.6 * r, -0.8 * r, z)),
            # In cyclic order: about x the place is y, z; about y it is z, x; about z it is x, y.
            ("x", (10.0, 20.0), lambda z, r: (z, 10.0 + r, 20.0)),
            ("y", (10.0, 20.0), lambda z, r: (20.0, z, 10.0 - r)),
            ("z", (10.0, 20.0), lambda z, r: (10.0, 20.0 + r, z)),
        ],
    )
    def test_the_axle_that_is_asked_for(self, axle: str, at: tuple[float, float], row: object) -> None:
        assert callable(row)
        found = read_table(table([row(z, r) for z, r in ROWS], "x_mm;y_mm;z_mm"), axle=axle, axle_at=at)
        assert found.bounds == pytest.approx((-60.0, 40.0, 90.0, 205.0), abs=1e-5)
        assert f"the axle is taken along {axle}, through" in found.warnings[0]

    def test_three_columns_without_names_are_said_to_be_in_space(self) -> None:
        found = read_table(table([(z, r, 0.0) for z, r in ROWS], "").lstrip(), unit="mm")
        assert found.warnings[0] == "no column names: the three columns are taken as x, y and z in space"
        assert found.bounds == pytest.approx((-60.0, 40.0, 90.0, 205.0))

    def test_points_in_one_plane_show_no_axle(self) -> None:
        with pytest.raises(ReadError, match="--axle x"):
            read_table(table([(z, r, 0.0) for z, r in ROWS], "x;y;z"), axle="fitted", unit="mm")

    def test_an_axle_askew_is_fitted_and_told_with_its_error(self) -> None:
        rng = random.Random(8)
        frame, _ = np.linalg.qr(np.random.default_rng(3).normal(size=(3, 3)))
        turns = [rng.uniform(-0.7, 0.7) for _ in ROWS]
        space = [(z, r * math.cos(t), r * math.sin(t)) for (z, r), t in zip(ROWS, turns, strict=True)]
        rows = [tuple(row) for row in (np.array(space) @ frame.T + np.array([400.0, -90.0, 30.0])).tolist()]
        found = read_table(table(rows, "x_mm;y_mm;z_mm"), axle="fitted")
        assert found.fit is not None
        assert abs(np.dot(found.fit.direction, frame[:, 0])) == pytest.approx(1.0, abs=1e-8)
        assert found.bounds[2:] == pytest.approx((90.0, 205.0), abs=0.01)
        assert "its place is uncertain by" in found.warnings[0]

    def test_the_axles_place_is_in_the_files_unit(self) -> None:
        rows = [(z / 25.4, r / 25.4 + 1.0, 0.0) for z, r in ROWS]
        found = read_table(table(rows, "x_in;y_in;z_in"), axle_at=(1.0, 0.0))
        assert found.bounds == pytest.approx((-60.0, 40.0, 90.0, 205.0), abs=1e-4)

    def test_a_flat_topped_block_reaches_its_corners(self) -> None:
        # sqrt(195^2 + 60^2) = 204.02; the top at 195, half its length 60.
        rows = [
            (float(x), float(y), z)
            for x in range(0, 41, 2)
            for y in range(-60, 61, 2)
            for z in (165.0, 180.0, 195.0)
        ]
        found = read_table(table(mixed(rows), "x_mm;y_mm;z_mm"))
        assert found.bounds[3] == pytest.approx(math.hypot(195.0, 60.0), abs=found.tolerance_mm)
        assert found.bounds[3] >= math.hypot(195.0, 60.0) - 1e-6


class TestUnits:
    def test_a_cloud_without_unit_is_in_the_files_own(self) -> None:
        found = read_table(table(mixed(ROWS), "z;r"))
        assert found.unit == "not known"
        assert found.bounds == pytest.approx((-60.0, 40.0, 90.0, 205.0), abs=0.2)

    def test_inches(self) -> None:
        rows = [(z / 25.4, r / 25.4) for z, r in mixed(ROWS)]
        found = read_table(table(rows, "z_in;r_in"))
        assert found.bounds == pytest.approx((-60.0, 40.0, 90.0, 205.0), abs=0.2)
        assert 1.0 <= found.tolerance_mm < 2.0


class TestShare:
    def test_points_left_outside_are_counted_and_shown(self) -> None:
        rows = [*mixed(ROWS), (100.0, 280.0), (-150.0, 60.0)]
        whole, most = read_table(table(rows)), read_table(table(rows), quantile=0.99)
        assert (whole.outside_count, most.outside_count) == (0, 2)
        assert sorted(most.outside) == [(-150.0, 60.0), (100.0, 280.0)]
        assert whole.tolerance_mm > 20.0
        assert most.tolerance_mm < 4.0


class TestProbeBall:
    BALL = 3.0
    GROWN = shapely.geometry.polygon.orient(BODY.buffer(3.0, quad_segs=9))
    CENTRES = tuple(tuple(row) for row in shapely.get_coordinates(GROWN)[:-1].tolist())

    @pytest.mark.parametrize("step", [1, -1])
    def test_rows_round_a_body(self, step: int) -> None:
        found = read_table(table(self.CENTRES[::step]), ball_mm=self.BALL)
        assert found.ball_mm == self.BALL
        assert found.hindrance == ""
        assert (
            "corners into the body tighter than the ball of radius 3 mm are not reached" in found.warnings[0]
        )
        closed = BODY.buffer(3.0, quad_segs=200).buffer(-3.0, quad_segs=200)
        assert area_of(found).buffer(1e-5).contains(BODY)
        assert closed.buffer(0.005).contains(area_of(found))

    def test_centres_out_of_order(self) -> None:
        dense = shapely.segmentize(shapely.Polygon(self.CENTRES), 1.0)
        rows = [tuple(row) for row in shapely.get_coordinates(dense)[:-1].tolist()]
        found = read_table(table(mixed(rows)), ball_mm=self.BALL)
        assert (found.kind, found.ball_mm, found.hindrance) == ("points", self.BALL, "")
        assert sum(map(len, found.loops)) <= MOST_VERTICES
        off = np.max(
            shapely.distance(shapely.points(shapely.get_coordinates(BODY.segmentize(0.1))), area_of(found))
        )
        assert off <= found.tolerance_mm
        assert area_of(found).area == pytest.approx(BODY.area, rel=0.02)

    def test_centres_at_sharp_corners_are_said_to_be_uncertain(self) -> None:
        found = read_table(table([(0.0, 100.0), (40.0, 100.0), (40.0, 140.0), (0.0, 140.0)]), ball_mm=3.0)
        assert found.bounds == pytest.approx((3.0, 37.0, 103.0, 137.0))
        assert "the body may stand out as much more there" in " ".join(found.warnings)
        # (sqrt 2 - 1) 3
        assert "up to 1.243 farther off" in " ".join(found.warnings)

    def test_a_body_thinner_than_the_ball_is_a_hindrance(self) -> None:
        found = read_table(table([(0.0, 100.0), (40.0, 100.0), (40.0, 105.0), (0.0, 105.0)]), ball_mm=3.0)
        assert "the body is too thin for a ball of radius 3 mm and would vanish" in found.hindrance
        assert found.loops

    def test_it_waits_for_the_unit(self) -> None:
        found = read_table(table(self.CENTRES, "z;r"), ball_mm=3.0)
        assert (found.unit, found.ball_mm) == ("not known", 0.0)
        assert "the ball's radius of 3 mm is taken off once the unit is known" in found.warnings
        assert read_table(table(self.CENTRES, "z;r"), ball_mm=3.0, unit="mm").ball_mm == 3.0

    def test_arcs_have_no_centres(self) -> None:
        with pytest.raises(ReadError, match="this table has arcs"):
            read_table("z_mm,r_mm,bulge\n40,100,1\n0,100,0\n", ball_mm=3.0)


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ([(5.0, 100.0)] * 3, "the points lie on one place"),
        ([(float(k), 100.0 + k) for k in range(9)], "the points lie on one line"),
    ],
)
def test_points_that_make_no_outline(rows: list[tuple[float, ...]], words: str) -> None:
    with pytest.raises(ReadError, match=words):
        read_table(table(rows), points="cloud")
