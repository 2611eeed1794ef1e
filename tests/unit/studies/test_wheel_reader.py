"""A foreign half-section becomes a wheel: parts found, deviations, what does not agree, zones and anchors."""

import math
from pathlib import Path as FilePath

import numpy as np
import pytest

from app.files.readers.read import read_outline
from app.files.writers.dxf import Drawing, Layer, write_dxf
from app.project.wheel import SizeCode
from app.project.wheel_edits import with_width
from app.studies.wheel_reader import Proposal, propose
from geometry.errors import GeometryError
from geometry.shape.curve import Path
from geometry.shape.rim import Humps, RimContour, WellSide, contour_vertices
from geometry.shape.section import AnchorR, AnchorZ, Outline, Zone, build
from tests.support import example

Rows = list[tuple[float, float, float]]
SIZE = SizeCode(18, 10)
CONTOURS = FilePath(__file__).parents[2] / "reference" / "data"


def track() -> Path:
    """Return the outline of the example wheel, 18 x 10 J with inset 38, mounting face at z = 0."""
    outline = build(example.wheel().section)
    assert isinstance(outline, Outline)
    return outline.path


def plain_wheel(tyre: Rows, diameter: float, inset: float, face_r: float = 75.0) -> Rows:
    """Return a half-section of straight lines under a tyre side that is given from its rim centre plane."""
    out_z, in_z = tyre[0][0], tyre[-1][0]
    seat, floor = diameter / 2.0, min(r for _, r, _ in tyre) - 5.0
    brake = [(in_z, seat + 10), (in_z + 7, seat + 6), (in_z + 7, seat - 9), (in_z + 60, floor)]
    hub = [
        (inset + 45, floor),
        (inset + 45, 110),
        (inset, face_r + 5),
        (inset, 36),
        (inset + 40, 36),
        (inset + 40, 70),
    ]
    root = max(inset + 70, out_z - 43)
    lip = [(root, floor), (out_z - 7, seat - 12), (out_z - 7, seat + 6), (out_z, seat + 10)]
    street = [(inset + 70, 120), (inset + 70, floor - 10), *lip]
    return tyre + [(z, r, 0.0) for z, r in brake + hub + street]


def number(proposal: Proposal, part: str) -> float:
    """Return the deviation of a recognised part."""
    found = {r.part: r.deviation for r in proposal.recognised}[part]
    assert found is not None
    return found


@pytest.fixture(scope="module")
def proposal() -> Proposal:
    return propose([track().moved(dz=123.4).rows()], SIZE, 38.0)


class TestADrawingThatAgrees:
    def test_nothing_is_said_and_every_part_lies_on_the_contour(self, proposal: Proposal) -> None:
        assert proposal.disagreements == ()
        assert proposal.limits == ()
        assert not proposal.is_mirrored
        deviations = {r.part: r.deviation for r in proposal.recognised}
        # The drawn well depth is the least published 17.3 and 2.7 more.
        assert deviations.pop("well depth") == pytest.approx(2.7, abs=1e-9)
        assert len(deviations) == 14
        assert list(deviations.values()) == pytest.approx([0.0] * 14, abs=1e-9)

    def test_the_section_is_the_drawing_with_its_mounting_face_at_zero(self, proposal: Proposal) -> None:
        built = build(proposal.section)
        assert isinstance(built, Outline)
        assert np.array(sorted(built.path.rows())) == pytest.approx(
            np.array(sorted(track().rows())), abs=1e-9
        )
        assert proposal.inset_mm == pytest.approx(38.0, abs=1e-9)
        assert (proposal.hub.bore_mm, proposal.hub.hub_pad_mm) == pytest.approx((72.0, 148.0), abs=1e-9)

    @pytest.mark.parametrize(
        ("z", "r", "zone"),
        [
            (101.0, 248.0, Zone.OUTER_LIP),
            (79.0, 230.1, Zone.OUTER_SEAT),
            (35.0, 211.0, Zone.WELL),
            (-60.0, 224.0, Zone.BARREL),
            (-155.0, 230.1, Zone.INNER_SEAT),
            (-177.0, 248.0, Zone.INNER_LIP),
            (-171.6, 235.0, Zone.INNER_LIP),
            (-160.0, 225.0, Zone.INNER_SEAT),
            (-80.0, 220.2, Zone.BARREL),
            (30.0, 207.0, Zone.WELL),
            (50.6, 199.0, Zone.SHOULDER),
            (50.4, 165.0, Zone.SPOKE_BACK),
            (25.0, 94.0, Zone.SPOKE_BACK),
            (0.0, 55.0, Zone.HUB_PAD),
            (20.0, 36.0, Zone.BORE),
            (40.0, 55.0, Zone.HUB_FACE),
            (70.0, 138.0, Zone.SPOKE_FACE),
            (94.8, 233.0, Zone.OUTER_LIP),
        ],
    )
    def test_zones_as_an_engineer_would_name_them(
        self, proposal: Proposal, z: float, r: float, zone: Zone
    ) -> None:
        vertices = proposal.section.vertices
        ends = [*vertices[1:], vertices[0]]
        spans = [_off_chord((a.z, a.r), (b.z, b.r), (z, r)) for a, b in zip(vertices, ends, strict=True)]
        assert vertices[int(np.argmin(spans))].zone is zone

    def test_anchors(self, proposal: Proposal) -> None:
        follows = {v.zone: (v.anchor_z, v.anchor_r) for v in proposal.section.vertices}
        assert follows[Zone.OUTER_LIP] == (AnchorZ.OUTER_FLANGE, AnchorR.BEAD_SEAT)
        assert follows[Zone.WELL] == (AnchorZ.OUTER_FLANGE, AnchorR.BEAD_SEAT)
        assert follows[Zone.INNER_SEAT] == (AnchorZ.INNER_FLANGE, AnchorR.BEAD_SEAT)
        assert follows[Zone.SPOKE_BACK] == (AnchorZ.OUTER_FLANGE, AnchorR.AXLE_LINE)
        assert follows[Zone.HUB_PAD] == follows[Zone.BORE] == (AnchorZ.MOUNTING_FACE, AnchorR.AXLE_LINE)

    def test_the_wheel_can_be_widened_by_its_anchors(self, proposal: Proposal) -> None:
        # A of 10 1/2 J is 266.5, of 10 J 254.0 (code x 25.4 to 0.5, from memory): each flange moves by 6.25.
        wider = with_width(proposal.wheel("as read"), 10.5)
        built = build(wider.section)
        assert isinstance(built, Outline)
        assert built.path.bounds[:2] == pytest.approx((-178.0 - 6.25, 102.0 + 6.25), abs=1e-9)
        again = propose([built.path.rows()], SizeCode(18, 10.5), 38.0)
        assert again.disagreements == ()


def _off_chord(a: tuple[float, float], b: tuple[float, float], p: tuple[float, float]) -> float:
    length = math.dist(a, b)
    t = ((p[0] - a[0]) * (b[0] - a[0]) + (p[1] - a[1]) * (b[1] - a[1])) / max(length, 1e-9) ** 2
    t = min(max(t, 0.0), 1.0)
    return math.dist(p, (a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])))


class TestWhatDoesNotAgree:
    def test_wrong_inset(self) -> None:
        proposal = propose([track().rows()], SIZE, 35.0)
        assert proposal.disagreements == (
            "The inset is 38.00 in the drawing and 35 as stated: +3.00. The section keeps the drawing's.",
        )
        assert proposal.wheel("x").inset_mm == pytest.approx(38.0)

    def test_a_drawing_with_25_4_n(self) -> None:
        # D of code 18 is 462.0, not 25.4 x 18 = 457.2 (a public listing, secondary): 2.4 too low.
        proposal = propose([track().moved(dr=-2.4).rows()], SIZE, 38.0)
        (said,) = proposal.disagreements
        assert "outer and inner bead-seat diameter is 457.20; code 18 has 462 (-4.80)" in said
        assert "drawn as 25.4 x 18 = 457.2" in said
        assert number(proposal, "outer bead-seat diameter") == pytest.approx(-4.8, abs=1e-9)

    def test_another_diameter_code(self) -> None:
        # D of code 17 is 436.6 (a public listing of specified rim diameters, secondary).
        (said,) = propose([track().moved(dr=-12.7).rows()], SIZE, 38.0).disagreements
        assert "is 436.60; code 18 has 462 (-25.40): that is code 17" in said

    def test_one_seat_too_small(self) -> None:
        lowered = [(z, r - 1.0 if z < 0 and r > 150 else r, b) for z, r, b in track().rows()]
        (said,) = propose([lowered], SIZE, 38.0).disagreements
        assert said.startswith("The inner bead-seat diameter is 460.00; code 18 has 462 (-2.00)")

    def test_wrong_width(self) -> None:
        # A of 10 J is 254.0, of 9 1/2 J 241.5 (code x 25.4 to 0.5, from memory).
        (said,) = propose([track().rows()], SizeCode(18, 9.5), 38.0).disagreements
        assert (
            said
            == "The flange faces are 254.00 apart; width code 9.5 has 241.5 (+12.50); that is width code 10."
        )

    def test_a_mirrored_drawing_is_turned_round(self) -> None:
        proposal = propose([track().mirrored().moved(dz=5.0).rows()], SIZE, 38.0)
        assert proposal.is_mirrored
        assert proposal.disagreements == (
            "The drawing is mirrored (outboard to the left); it was turned round.",
        )
        built = build(proposal.section)
        assert isinstance(built, Outline)
        assert np.array(sorted(built.path.rows())) == pytest.approx(
            np.array(sorted(track().rows())), abs=1e-9
        )

    def test_no_mounting_face(self) -> None:
        slanted = [(z + (1.0 if r < 40 and z < 20 else 0.0), r, b) for z, r, b in track().rows()]
        proposal = propose([slanted], SIZE, 38.0)
        assert any("No mounting face was found: no flat face" in said for said in proposal.disagreements)
        assert proposal.inset_mm == pytest.approx(38.0, abs=1e-9)
        assert next(r for r in proposal.recognised if r.part == "inset").found is None

    def test_limits_that_the_tyre_side_breaks_are_named(self) -> None:
        # Without its outer hump no tubeless tyre may run on it (JIS D 4218:2021, figure 1).
        tyre = contour_vertices(RimContour(18, 10, humps=Humps.NONE))
        proposal = propose([plain_wheel([(v.z, v.r, v.bulge) for v in tyre], 462.0, 38.0)], SIZE, 38.0)
        assert [f.symbol for f in proposal.limits if f.holds is False] == ["hump"]
        assert next(r for r in proposal.recognised if r.part.startswith("outer hump")).found is None

    def test_an_outline_that_crosses_itself_is_said(self) -> None:
        rows = track().rows()
        i = next(k for k, (z, r, _) in enumerate(rows) if abs(z + 14.6) < 8 and r < 222)
        rows[i] = (rows[i][0], 240.0, 0.0)
        assert any("crosses itself" in said for said in propose([rows], SIZE, 38.0).disagreements)


class TestPointingAtTheMountingFace:
    def test_as_drawn(self) -> None:
        proposal = propose([track().moved(dz=50.0).rows()], SIZE, 38.0, face_z=50.05)
        assert (proposal.disagreements, proposal.is_mirrored) == ((), False)

    def test_on_a_mirrored_drawing_even_with_a_wrong_inset(self) -> None:
        proposal = propose([track().mirrored().moved(dz=50.0).rows()], SIZE, 30.0, face_z=50.0)
        assert proposal.is_mirrored
        assert proposal.inset_mm == pytest.approx(38.0, abs=1e-9)
        assert len(proposal.disagreements) == 2

    def test_where_there_is_none(self) -> None:
        proposal = propose([track().rows()], SIZE, 38.0, face_z=12.0)
        assert "No mounting face was found at z 12.000 of the drawing" in proposal.disagreements[0]


class TestWhichBody:
    RING = ((-10.0, 60.0, 0.0), (10.0, 60.0, 0.0), (10.0, 70.0, 0.0))

    def test_several_bodies_are_listed(self) -> None:
        with pytest.raises(GeometryError) as asked:
            propose([self.RING, track().rows()], SIZE, 38.0)
        assert "2 closed bodies; say which one is the wheel" in str(asked.value)
        assert "1: z -10.0 to 10.0, r 60.0 to 70.0; 2: z -178.0 to 102.0, r 36.0 to 248.5" in str(asked.value)
        assert "joints between bodies are not judged" in str(asked.value)

    def test_one_is_chosen(self) -> None:
        assert propose([self.RING, track().rows()], SIZE, 38.0, body=2).disagreements == ()

    @pytest.mark.parametrize("body", [0, 3, -1])
    def test_a_body_that_is_not_there(self, body: int) -> None:
        with pytest.raises(GeometryError, match=f"Body {body} was chosen; the drawing has 2"):
            propose([self.RING, track().rows()], SIZE, 38.0, body=body)


class TestWhatIsNoWheel:
    def test_nothing(self) -> None:
        with pytest.raises(GeometryError, match="no closed outline"):
            propose([], SIZE, 38.0)

    def test_a_caliper(self) -> None:
        caliper = [(c.z, c.r, 0.0) for c in example.project().shapes[0].outlines[0].corners]
        with pytest.raises(GeometryError, match=r"No two flanges|Neither flange|looks like"):
            propose([caliper], SIZE, 38.0)

    @pytest.mark.parametrize(
        ("factor", "words"), [(1 / 25.4, "inches read as mm"), (0.1, "centimetres"), (2.0, "diameters as r")]
    )
    def test_another_scale(self, factor: float, words: str) -> None:
        scaled = [(z * factor, r * factor, b) for z, r, b in track().rows()]
        with pytest.raises(GeometryError, match=words):
            propose([scaled], SIZE, 38.0)


@pytest.mark.parametrize(
    ("name", "code", "width", "diameter"), [("18x10J", 18, 10, 462.0), ("17x8J", 17, 8, 436.6)]
)
def test_the_published_contours_flattened_to_points(
    name: str, code: int, width: int, diameter: float
) -> None:
    """Contours computed outside this project from JIS D 4218:2021 by other code: three decimals, chords of
    4.37 degrees, so up to 9.5 (1 - cos 2.18) = 0.007 off the flange arc.
    """
    table = np.loadtxt(CONTOURS / f"{name}.csv", delimiter=",", skiprows=1)
    tyre = [(float(z), float(r), 0.0) for z, r in table]
    proposal = propose([plain_wheel(tyre, diameter, 30.0)], SizeCode(code, width), 30.0)
    assert proposal.disagreements == ()
    for side in ("outer", "inner"):
        assert number(proposal, f"{side} bead-seat diameter") == pytest.approx(0.0, abs=0.002)
        assert number(proposal, f"{side} flange diameter") == pytest.approx(0.0, abs=0.005)
        assert number(proposal, f"{side} hump from flange face") == pytest.approx(0.0, abs=0.002)
        assert number(proposal, f"{side} flange and seat off the contour") < 0.0075
    assert number(proposal, "width between flange faces") == pytest.approx(0.0, abs=0.002)


@pytest.mark.parametrize("code", [13, 15, 17, 20, 22])
@pytest.mark.parametrize("width", [6.0, 8.5, 12.0])
@pytest.mark.parametrize("well", list(WellSide))
def test_every_size_is_recognised(code: int, width: float, well: WellSide) -> None:
    contour = RimContour(code, width, "B" if code == 13 else "J", well=well)
    tyre = [(v.z, v.r, v.bulge) for v in contour_vertices(contour)]
    inset = 12.7 * (width - 6.0) / 2.0 - 10.0
    proposal = propose(
        [plain_wheel(tyre, contour.diameter_mm, inset)], SizeCode(code, width, contour.flange), inset
    )
    assert proposal.disagreements == ()
    deviations = {r.part: r.deviation for r in proposal.recognised}
    assert deviations.pop("well depth") == pytest.approx(2.7, abs=1e-9)
    assert list(deviations.values()) == pytest.approx([0.0] * 14, abs=1e-9)
    well_z = [v.z for v in proposal.section.vertices if v.zone is Zone.WELL]
    assert (np.mean(well_z) > -inset) == (well is WellSide.OUTBOARD)


def test_from_a_dxf_file_to_a_wheel(tmp_path: FilePath) -> None:
    path = tmp_path / "foreign.dxf"
    write_dxf(path, Drawing((Layer("CONTOUR", (track().mirrored().moved(dz=-7.0),)),)))
    proposal = propose(read_outline(path).loops_mm(), SIZE, 38.0)
    wheel = proposal.wheel("Foreign")
    assert proposal.is_mirrored
    assert (str(wheel.size), wheel.rim, wheel.name) == ("18 x 10 J", None, "Foreign")
    assert wheel.inset_mm == pytest.approx(38.0, abs=1e-9)
    assert isinstance(build(wheel.section), Outline)
