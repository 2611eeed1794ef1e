"""Units of a DXF drawing: what the header states, what is asked, and sizes that no brake has."""

import pytest
from scipy import constants

from app.files.readers.answer import ReadError
from app.files.readers.limits import LARGEST_COORDINATE
from tests.support.drawings import (
    circle,
    dxf,
    line,
    lines,
    pairs,
    read_dxf,
)

BOX = ((10.0, 100.0), (40.0, 100.0), (40.0, 130.0), (10.0, 130.0))


class TestUnit:
    def test_inches_become_mm(self) -> None:
        found = read_dxf(dxf(lines((1, 4), (2, 4), (2, 5)), unit=1))
        assert found.unit == "in"
        assert found.bounds == pytest.approx((25.4, 50.8, 101.6, 127.0), abs=1e-12)

    @pytest.mark.parametrize("unit", [None, 0])
    def test_no_unit_is_never_guessed(self, unit: int | None) -> None:
        found = read_dxf(dxf(lines(*BOX), unit=unit))
        assert found.unit == "not known"
        assert found.bounds == (10.0, 40.0, 100.0, 130.0)
        with pytest.raises(ReadError, match=r"does not state its unit.*--unit mm or --unit in"):
            found.loops_mm()

    def test_the_given_unit_is_taken(self) -> None:
        assert read_dxf(dxf(lines(*BOX), unit=None), unit="mm").loops_mm()[0][0] == (10.0, 100.0, 0.0)
        assert read_dxf(dxf(lines(*BOX), unit=None), unit="in").bounds[3] == pytest.approx(130 * 25.4)

    def test_the_given_unit_beats_the_header_and_says_so(self) -> None:
        found = read_dxf(dxf(lines(*BOX), unit=1), unit="mm")
        assert found.bounds[3] == 130.0
        assert found.warnings == ("the file states inches; read as mm, as asked",)

    def test_what_chooses_hatch_patterns_says_nothing_of_lengths(self) -> None:
        """DXF: $MEASUREMENT 1 takes the metric pattern files, whatever $INSUNITS says."""
        box = tuple((z / 25.4, r / 25.4) for z, r in BOX)
        found = read_dxf(dxf(lines(*box), unit=1, header=pairs(9, "$MEASUREMENT", 70, 1)))
        assert (found.unit, found.warnings) == ("in", ())
        assert found.bounds == pytest.approx((10.0, 40.0, 100.0, 130.0), abs=1e-12)

    @pytest.mark.parametrize(
        ("code", "unit", "factor"), [(2, "ft", 304.8), (5, "cm", 10.0), (6, "m", 1000.0)]
    )
    def test_feet_centimetres_and_metres_are_converted(self, code: int, unit: str, factor: float) -> None:
        """DXF $INSUNITS 2 is feet, 5 centimetres, 6 metres."""
        found = read_dxf(dxf(lines(*((z / factor, r / factor) for z, r in BOX)), unit=code))
        assert (found.unit, found.warnings) == (unit, ())
        assert found.bounds == pytest.approx((10.0, 40.0, 100.0, 130.0), abs=1e-12)

    @pytest.mark.parametrize(
        ("code", "words", "metres"),
        [
            (3, "miles", constants.mile),
            (7, "kilometres", constants.kilo),
            (8, "microinches", constants.micro * constants.inch),
            (9, "mils", constants.mil),
            (10, "yards", constants.yard),
            (13, "micrometres", constants.micron),
            (14, "decimetres", constants.deci),
            (15, "decametres", constants.deka),
            (16, "hectometres", constants.hecto),
            (21, "survey feet", constants.survey_foot),
            (22, "survey inches", constants.survey_foot / 12.0),
            (23, "survey yards", 3.0 * constants.survey_foot),
            (24, "survey miles", constants.survey_mile),
        ],
    )
    def test_every_other_length_is_converted_and_named(self, code: int, words: str, metres: float) -> None:
        """$INSUNITS as the format has it, lengths by scipy.constants; the smallest make numbers too large."""
        factor = 1000.0 * metres
        box = tuple((z / factor, r / factor) for z, r in BOX)
        if max(map(max, box)) > LARGEST_COORDINATE:
            with pytest.raises(ReadError, match="too large"):
                read_dxf(dxf(lines(*box), unit=code))
            return
        found = read_dxf(dxf(lines(*box), unit=code))
        assert found.unit == "mm"
        assert found.warnings[0].startswith(f"the file states {words}; converted to mm")
        assert found.bounds == pytest.approx((10.0, 40.0, 100.0, 130.0), rel=1e-12)

    def test_yards_that_make_no_plausible_size_stay_in_the_files_unit(self) -> None:
        found = read_dxf(dxf(lines(*BOX), unit=10))
        assert found.unit == "not known"
        assert found.bounds == pytest.approx((10.0, 40.0, 100.0, 130.0), rel=1e-14)
        assert "yards" in found.warnings[0]
        assert "it would be 30 mm with mm" in found.unit_doubt
        assert read_dxf(dxf(lines(*BOX), unit=10), unit="mm").bounds == (10.0, 40.0, 100.0, 130.0)

    def test_what_is_no_unit_of_the_format_is_none(self) -> None:
        for code in (0, 19, 20, 25, 99):
            assert read_dxf(dxf(lines(*BOX), unit=code)).unit == "not known"

    def test_metric_set_up_alone_is_no_unit(self) -> None:
        header = pairs(9, "$MEASUREMENT", 70, 1)
        assert read_dxf(dxf(lines(*BOX), unit=None, header=header)).unit == "not known"

    LARGE = ((0.0, 100.0), (300.0, 100.0), (300.0, 140.0))

    def test_an_unlikely_size_in_the_stated_unit_is_asked_about(self) -> None:
        """300 in the file: 7.6 m if they were inches."""
        found = read_dxf(dxf(lines(*self.LARGE), unit=1))
        assert (found.unit, found.bounds) == ("not known", (0.0, 300.0, 100.0, 140.0))
        doubt = "with the unit taken as in the outline is 7620 mm large; it would be 300 mm with mm"
        assert found.unit_doubt == doubt
        with pytest.raises(ReadError, match=rf"^: {doubt}; say which with --unit mm or --unit in"):
            found.usable_loops_mm()

    def test_its_messages_are_in_the_files_own_unit(self) -> None:
        open_box = dxf(line(0, 50, 300, 50), line(300, 50, 300, 80), line(300, 80, 0, 50.2), unit=1)
        assert "a gap of 0.2 between z 0.000, r 50.200" in read_dxf(open_box).hindrance

    @pytest.mark.parametrize(("unit", "size"), [("in", 7620.0), ("m", 300_000.0)])
    def test_an_unlikely_size_in_the_chosen_unit_is_kept_and_said(self, unit: str, size: float) -> None:
        found = read_dxf(dxf(lines(*self.LARGE), unit=None), unit=unit)
        assert found.unit == unit
        assert found.bounds[1] == pytest.approx(size)
        assert found.warnings[-1].startswith(f"with the unit taken as {unit} the outline is")
        assert "it would be 300 mm with mm" in found.warnings[-1]

    def test_a_likely_size_at_an_unlikely_radius_is_asked_about(self) -> None:
        """30 wide at a radius of 130: as inches 762 wide, but at 3.3 m, where no wheel comes near it."""
        found = read_dxf(dxf(lines(*BOX), unit=1))
        assert (found.unit, found.bounds) == ("not known", (10.0, 40.0, 100.0, 130.0))
        assert found.unit_doubt.endswith("reaches 3302 mm from the origin; it would be 130 mm with mm")

    def test_a_whole_section_of_inches_about_its_axle_is_asked_about(self) -> None:
        """26 in across, drawn about the axle: 26 mm suits a hose, but not 13 mm from the axle."""
        found = read_dxf(dxf(lines((0, -13), (9, -13), (9, 13), (0, 13)), unit=4))
        assert found.unit_doubt.endswith(
            "reaches 13 mm from the origin; it would be 330.2 mm with in or 130 mm with cm"
        )

    def test_a_place_far_off_alone_is_no_doubt_of_the_unit(self) -> None:
        far = tuple((z + 5000.0, r) for z, r in self.LARGE)
        assert read_dxf(dxf(lines(*far), unit=4)).unit == "mm"

    def test_ten_times_too_large_is_asked_about(self) -> None:
        """A brake's outline of 80 x 90 about r 150, in tenths of a millimetre."""
        found = read_dxf(dxf(lines((-400, 1050), (400, 1050), (400, 1950), (-400, 1950)), unit=4))
        assert found.unit == "not known"
        assert found.unit_doubt.startswith("with the unit taken as mm the outline reaches 1950 mm")

    def test_a_place_far_off_is_said_with_the_way_to_move_it(self) -> None:
        far = tuple((z + 5000.0, r) for z, r in self.LARGE)
        assert "place it with --origin" in read_dxf(dxf(lines(*far), unit=4)).warnings[0]
        near = tuple((z + 950.0, r) for z, r in self.LARGE)
        (said,) = read_dxf(dxf(lines(*near), unit=4)).warnings
        assert said.startswith("everything lies 955.249 or more from the drawing's origin")

    def test_a_hose_cut_across_is_an_outline_and_its_size_is_said(self) -> None:
        found = read_dxf(dxf(circle(-38.2, 128.9, 7.3), unit=4))
        assert found.unit == "mm"
        assert found.warnings == (
            "the outline is only 14.6 mm large: is it a part on its own, and the unit mm?",
        )

    def test_a_small_one_that_another_unit_makes_a_brake_is_asked_about(self) -> None:
        """A brake in centimetres under a header of mm: 12 x 9, 21 from the axle."""
        found = read_dxf(dxf(lines((-6, 12), (6, 12), (6, 21), (-6, 21)), unit=4))
        assert found.unit == "not known"
        assert "120 mm with cm" in found.unit_doubt

    def test_a_small_size_is_asked_about_too(self) -> None:
        """14.96 in is 380 mm: a disc drawn in inches under a header of millimetres."""
        found = read_dxf(dxf(lines((0, 0), (14.96, 0), (14.96, 2)), unit=4))
        assert found.unit == "not known"
        assert "it would be 380 mm with in" in found.unit_doubt
