"""Forged-and-spun blanks: closed forms, what they hold, mandrel, rollers, constant volume, refusals."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import numpy as np
import pytest
import shapely
from scipy import ndimage

from geometry.errors import GeometryError
from geometry.forging.composite import DENSITY_KG_M3, Forgeable, need
from geometry.forging.profile import HIGH, LOW, RADIUS, heights, slope
from geometry.forging.seats import seated
from geometry.forging.spinning import Spinning, Spun
from geometry.forging.spun import Body, spun
from geometry.shape.curve import Array, Path
from tests.unit.geometry_forging.test_composite import grown, random_wheel

SEEDS = range(10)


def plain(wall: float = 20.0, inner: float = -200.0) -> Path:
    """A disc of z 0 to 40 that carries a plain ring inboard, r 210 to 210 + wall."""
    out = 210.0 + wall
    return Path.closed([(0.0, 0.0), (40.0, 0.0), (40.0, out), (inner, out), (inner, 210.0), (0.0, 210.0)])


def without_stock(path: Path) -> Body:
    return path, np.zeros(len(path))


def drawn(seed: int) -> tuple[list[Body], Forgeable, Spinning, Spun]:
    """One or two random wheels with random stock, drawn out by random rules."""
    rng = np.random.default_rng(seed)
    how = Forgeable(rng.uniform(0.3, 3.0), rng.uniform(0.3, 4.0), float(rng.choice([0.0, 8.0, 15.0])))
    by = Spinning(
        reduction=rng.uniform(0.4, 0.65),
        wall_mm=rng.uniform(5.0, 14.0),
        mandrel_deg=rng.uniform(0.3, 3.0),
        roller_deg=rng.uniform(20.0, 50.0),
        nose_mm=float(rng.choice([0.0, 6.0, 15.0])),
        trim_mm=rng.uniform(0.0, 15.0),
    )
    wheels = [random_wheel(rng) for _ in range(rng.integers(1, 3))]
    bodies = [(wheel, rng.uniform(0.0, 5.0, len(wheel))) for wheel in wheels]
    return bodies, how, by, spun(bodies, how, by)


def polygon(path: Path) -> shapely.Polygon:
    return shapely.Polygon(path.flattened(1e-4))


def pappus(area: shapely.Polygon) -> float:
    """Volume of an area turned about the axle, by the theorem of Pappus."""
    return 2.0 * math.pi * float(area.centroid.y) * float(area.area)


def cone(a: float, b: float, long: float) -> float:
    return math.pi * long / 3.0 * (a * a + a * b + b * b)


class TestClosedForms:
    @pytest.mark.parametrize("ratio", [1.3, 1.6, 2.0])
    def test_a_plain_ring_keeps_its_volume(self, ratio: float) -> None:
        """Walls 20 drawn from walls 20 x ratio: the height found solves the sum of cones to rounding."""
        lean = math.tan(math.radians(0.1))
        by = Spinning(
            reduction=0.6,
            wall_mm=5.0,
            mandrel_deg=0.1,
            roller_deg=80.0,
            nose_mm=0.0,
            back_flow_mm=0.0,
            trim_mm=0.0,
            ring_wall_mm=20.0 * ratio + 1.0,
        )
        found = spun([without_stock(plain())], Forgeable(0.1, 0.1, 0.0), by)
        assert found.root[0] == pytest.approx(0.0, abs=1e-9)
        assert found.end_mm == -200.0
        tall, bore = found.ring_height_mm, 210.0 - 200.0 * lean
        tip = bore + tall * lean + by.ring_wall_mm if by.ring_wall_mm else 0.0
        shoulder = tip + tall * lean
        forged = cone(tip, shoulder, tall) - cone(bore + tall * lean, bore, tall)
        # From the shoulder the rollers' flank falls to the cylinder of 230.
        flank = (shoulder - 230.0) / math.tan(math.radians(80.0))
        outside = cone(shoulder, 230.0, flank) + math.pi * 230.0**2 * (200.0 - flank)
        assert forged == pytest.approx(outside - cone(bore, 210.0, 200.0), rel=1e-9)
        # Without drafts the height would go by the ratio of the rings' areas.
        areas = ((210.0 + 20.0) ** 2 - 210.0**2) / ((210.0 + 20.0 * ratio + 1.0) ** 2 - 210.0**2)
        assert tall == pytest.approx(200.0 * areas, rel=0.03)

    def test_trim_is_a_ring_of_the_ends_section(self) -> None:
        by = Spinning(mandrel_deg=0.1, trim_mm=7.0, ring_wall_mm=32.0)
        found = spun([without_stock(plain())], Forgeable(0.5, 0.5, 0.0), by)
        outer, inner = (float(heights(f, np.array([0.0]))[0]) for f in (found.outside, found.mandrel))
        assert found.volumes.trim == pytest.approx(math.pi * (outer**2 - inner**2) * 7.0, rel=1e-12)
        assert found.preform.volume_mm3 == pytest.approx(found.volume_mm3 + found.volumes.trim, rel=1e-12)

    def test_passes_are_the_least_that_reach_the_reduction(self) -> None:
        for share, passes in ((0.30, 2), (0.49, 2), (0.6, 1), (0.2, 4), (0.05, 14)):
            # From 42 at most to 20 and more: at most 0.52; 0.7 ^ 2 = 0.49, 0.8 ^ 4 = 0.41, 0.95 ^ 14 = 0.49.
            by = Spinning(reduction=0.5, per_pass=share, ring_wall_mm=38.0, mandrel_deg=0.1)
            found = spun([without_stock(plain())], Forgeable(0.1, 0.1, 0.0), by)
            assert found.passes == math.ceil(math.log(1.0 - found.reduction) / math.log(1.0 - share))
            assert abs(found.passes - passes) <= 1


class TestRules:
    @pytest.mark.parametrize("seed", SEEDS)
    def test_every_wheel_with_its_stock_lies_within(self, seed: int) -> None:
        bodies, _, _, found = drawn(seed)
        whole = polygon(found.path)
        assert whole.is_valid
        assert found.path.area > 0.0
        for path, stock in bodies:
            assert grown(path, stock).difference(whole.buffer(2e-3)).area == 0.0

    @pytest.mark.parametrize("seed", SEEDS)
    def test_the_forging_holds_what_is_spun_from_it(self, seed: int) -> None:
        _, _, _, found = drawn(seed)
        forged, left = found.preform.volume_mm3, found.volume_mm3 + found.volumes.trim
        assert forged == pytest.approx(left, rel=1e-9)
        # The same by shapely and Pappus, on outlines flattened by 1e-4.
        forging = polygon(found.preform.path)
        assert forging.is_valid
        assert pappus(forging) == pytest.approx(pappus(polygon(found.path)) + found.volumes.trim, rel=1e-5)
        assert found.ring_height_mm < found.barrel_mm

    @pytest.mark.parametrize("seed", SEEDS)
    def test_volumes_add_up(self, seed: int) -> None:
        _, _, _, found = drawn(seed)
        v = found.volumes
        assert v.disc + v.barrel + v.lip_bulge == pytest.approx(found.volume_mm3, rel=1e-9)
        parts = v.needed + v.draft + v.flanks + v.least_wall + v.root
        assert parts == pytest.approx(v.barrel + v.lip_bulge, rel=1e-9)
        assert min(v.disc, v.barrel, v.needed) > 0.0
        assert min(v.draft, v.flanks, v.least_wall, v.root) > -1.0

    @pytest.mark.parametrize("seed", SEEDS)
    def test_the_mandrel_comes_out_of_the_open_end(self, seed: int) -> None:
        _, _, by, found = drawn(seed)
        x = np.linspace(0.0, found.barrel_mm, 3000)
        opens = -np.diff(heights(found.mandrel, x)) / np.diff(x)
        assert opens.min() >= math.tan(math.radians(by.mandrel_deg)) - 1e-6
        assert opens.max() <= math.tan(math.radians(by.roller_deg)) + 1e-6

    @pytest.mark.parametrize("seed", SEEDS)
    def test_the_forged_ring_slips_over_the_mandrel_and_out_of_its_die(self, seed: int) -> None:
        _, how, _, found = drawn(seed)
        x = np.linspace(found.ring_end_mm - found.end_mm, found.barrel_mm, 400)[:-1]
        over = zip(x, heights(found.mandrel, x), strict=True)
        way = [(float(x[0]), 0.0), *over, (float(x[-1]), 0.0)]
        mandrel = shapely.Polygon([(found.end_mm + a, r) for a, r in way])
        # But for the fillet at the root, which the mandrel's own corner leaves room for.
        keep = shapely.box(-999.0, found.root[1] - 2.0, found.root[0] - 2.0 * how.fillet_mm - 1.0, 999.0)
        assert polygon(found.preform.path).intersection(mandrel).intersection(keep).area < 0.05

    @pytest.mark.parametrize("seed", SEEDS)
    def test_rollers_reach_every_hollow_and_flank(self, seed: int) -> None:
        _, _, by, found = drawn(seed)
        steepest = math.tan(math.radians(by.roller_deg))
        skin = found.outside
        for k, row in enumerate(skin):
            if row[RADIUS] < 0.0:
                assert -row[RADIUS] >= by.nose_mm - 1e-9
            for x in (row[LOW] + 1e-7, row[HIGH] - 1e-7):
                assert abs(slope(skin, k, x)) <= steepest * (1.0 + 1e-3) + 1e-3
            if by.nose_mm and k + 1 < len(skin):
                turn = math.atan(slope(skin, k + 1, row[HIGH])) - math.atan(slope(skin, k, row[HIGH]))
                assert turn < 2e-3

    @pytest.mark.parametrize("seed", SEEDS)
    def test_walls_keep_the_least_wall_and_the_greatest_reduction(self, seed: int) -> None:
        _, _, by, found = drawn(seed)
        x = np.linspace(0.0, float(found.outside[-1, HIGH]), 2000)
        walls = heights(found.outside, x) - heights(found.mandrel, x)
        assert walls.min() >= by.wall_mm - 1e-6
        assert walls.min() == pytest.approx(found.wall_mm, abs=0.05)
        assert 0.0 < found.reduction <= by.reduction
        assert found.ring_wall_mm >= found.lip_mm - 1e-6

    def test_it_is_lighter_than_the_turned_one_where_the_ring_is_long(self) -> None:
        for seed in SEEDS:
            bodies, how, _, found = drawn(seed)
            needs = [need(f"{k}", path, stock, how) for k, (path, stock) in enumerate(bodies)]
            turned = seated(needs, how, seats_mm=[0.0] * len(needs)).mass_kg
            assert found.preform.mass_kg(DENSITY_KG_M3) < turned


STEP_MM = 0.02


def columns(area: shapely.Geometry, x: Array, sign: float) -> Array:
    """Return the greatest sign * r of an area in every column of z."""
    rings = shapely.get_coordinates(shapely.segmentize(area, STEP_MM / 2.0))
    found = np.full(len(x), -np.inf)
    column = np.rint((rings[:, 0] - x[0]) / STEP_MM).astype(int)
    inside = (column >= 0) & (column < len(x))
    np.maximum.at(found, column[inside], sign * rings[inside, 1])
    return found


@pytest.mark.parametrize("seed", [2, 5, 8])
def test_the_ring_agrees_with_a_raster(seed: int) -> None:
    """Mandrel, flanks and nose by running greatest values and scipy's grey closing, column by column."""
    bodies, _, by, found = drawn(seed)
    required = shapely.union_all([grown(path, stock) for path, stock in bodies])
    z = np.arange(found.end_mm, found.root[0], STEP_MM)
    ring = required.intersection(shapely.box(-999.0, found.root[1], found.root[0], 999.0))
    out, bore = columns(ring, z, 1.0), -columns(ring, z, -1.0)
    draft, flank = (math.tan(math.radians(a)) for a in (by.mandrel_deg, by.roller_deg))

    def limited(top: Array, after: float, before: float) -> Array:
        onwards = np.maximum.accumulate(top - after * z) + after * z
        return np.maximum(onwards, np.maximum.accumulate((top - before * z)[::-1])[::-1] + before * z)

    mandrel = -limited(-bore, draft, flank)
    assert np.abs(mandrel - heights(found.mandrel, z - found.end_mm))[5:-5].max() < 0.05
    skin = limited(out, -flank, flank)
    if by.nose_mm:
        reach = int(by.nose_mm / STEP_MM)
        disc = np.sqrt(np.maximum(by.nose_mm**2 - (np.arange(-reach, reach + 1) * STEP_MM) ** 2, 0.0))
        padded = np.concatenate([np.full(2 * reach, skin[0]), skin, np.full(2 * reach, -999.0)])
        wide = np.ones(2 * reach + 1)
        skin = ndimage.grey_closing(padded, footprint=wide, structure=disc, mode="nearest")[2 * reach :][
            : len(z)
        ]

    def turned(r: Array) -> float:
        return math.pi * float(np.sum(r**2) * STEP_MM)

    v = found.volumes
    assert v.needed == pytest.approx(turned(out) - turned(bore), rel=3e-3)
    assert v.needed + v.draft == pytest.approx(turned(out) - turned(mandrel), rel=3e-3)
    assert v.needed + v.draft + v.flanks == pytest.approx(turned(skin) - turned(mandrel), rel=3e-3)


class TestRefused:
    @pytest.mark.parametrize(
        ("change", "words"),
        [
            ({"reduction": 0.0}, "reduction in total"),
            ({"reduction": 0.95}, "reduction in total"),
            ({"per_pass": 0.0}, "reduction of a pass"),
            ({"mandrel_deg": 0.0}, "draft of the mandrel"),
            ({"mandrel_deg": 15.0, "roller_deg": 12.0}, "less than the angle of the rollers"),
            ({"roller_deg": 90.0}, "angle of the rollers"),
            ({"wall_mm": 0.0}, "least wall as spun"),
            ({"nose_mm": -1.0}, "nose radius"),
            ({"trim_mm": 101.0}, "trim after spinning"),
            ({"back_flow_mm": math.nan}, "back-flow"),
            ({"ring_wall_mm": math.inf}, "wall of the forged ring"),
        ],
    )
    def test_settings_out_of_bounds(self, change: dict[str, float], words: str) -> None:
        with pytest.raises(GeometryError, match=words):
            replace(Spinning(), **change)

    def test_no_wheel_and_a_least_web(self) -> None:
        with pytest.raises(GeometryError, match="no wheel"):
            spun([], Forgeable(), Spinning())
        with pytest.raises(GeometryError, match="least web"):
            spun([without_stock(plain())], Forgeable(web_mm=20.0), Spinning())

    def test_a_ring_thinner_than_what_is_spun_from_it(self) -> None:
        with pytest.raises(GeometryError, match=r"15\.0 mm thick and the inner lip needs 2.*never thicker"):
            spun([without_stock(plain())], Forgeable(), Spinning(ring_wall_mm=15.0))
        with pytest.raises(GeometryError, match=r"30\.0 mm thick and the least wall as spun is 35"):
            spun([without_stock(plain())], Forgeable(), Spinning(ring_wall_mm=30.0, wall_mm=35.0))

    def test_steep_drafts_never_take_more_than_the_reduction(self) -> None:
        """A thin ring between steep walls is many times thicker at its root than at its end."""
        for draft, reduction in ((2.0, 0.02), (2.0, 0.1), (2.0, 0.3), (4.0, 0.1), (4.0, 0.3), (8.0, 0.5)):
            by = Spinning(reduction=reduction, wall_mm=3.0, mandrel_deg=0.2, trim_mm=0.0)
            found = spun([without_stock(plain(8.0))], Forgeable(draft, draft, 0.0), by)
            assert found.reduction <= reduction
            assert found.thickest_mm > 2.0 * found.ring_wall_mm

    @pytest.mark.parametrize(("draft", "reduction"), [(4.0, 0.02), (8.0, 0.1), (12.0, 0.1)])
    def test_a_reduction_too_small_for_the_drafts_of_the_ring(self, draft: float, reduction: float) -> None:
        by = Spinning(reduction=reduction, wall_mm=3.0, mandrel_deg=0.2, trim_mm=0.0)
        with pytest.raises(GeometryError, match="Allow more reduction, or less draft") as refused:
            spun([without_stock(plain(8.0))], Forgeable(draft, draft, 0.0), by)
        share, over = map(
            float, re.findall(r"thins its metal by ([\d.]+)%, ([\d.]+) points", str(refused.value))[0]
        )
        assert over == pytest.approx(share - 100.0 * reduction, abs=0.1)
        assert over > 0.0

    def test_a_ring_that_is_no_thicker_leaves_nothing_to_draw(self) -> None:
        with pytest.raises(GeometryError, match="Nothing is left to draw out; turn this blank"):
            spun(
                [without_stock(plain(20.0))],
                Forgeable(0.1, 0.1, 0.0),
                Spinning(roller_deg=5.0, trim_mm=100.0),
            )

    def test_a_disc_at_the_inner_end_cannot_be_reached(self) -> None:
        turned_round = plain().mirrored()
        with pytest.raises(GeometryError, match="Turn this blank"):
            spun([without_stock(turned_round)], Forgeable(), Spinning())

    def test_a_root_that_is_not_on_the_barrel(self) -> None:
        with pytest.raises(GeometryError, match="begins at z 300"):
            spun([without_stock(plain())], Forgeable(), Spinning(root_mm=300.0))
        with pytest.raises(GeometryError, match="begins at z -190"):
            spun([without_stock(plain())], Forgeable(), Spinning(root_mm=-190.0))
        assert spun([without_stock(plain())], Forgeable(), Spinning(root_mm=-60.0)).root[0] == -60.0


@pytest.mark.parametrize("seed", SEEDS)
def test_no_share_of_the_metal_is_negative(seed: int) -> None:
    """Every share is metal that is there; together they are what is forged."""
    found = drawn(seed)[3]
    v = found.volumes
    shares = (v.disc, v.needed, v.draft, v.flanks, v.least_wall, v.root, v.trim)
    assert min(shares) >= -1e-6 * found.preform.volume_mm3
    assert sum(shares) == pytest.approx(found.preform.volume_mm3, rel=1e-7)
    assert found.lip_mm >= found.wall_mm
