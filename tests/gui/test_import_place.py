"""Where an imported outline lies: turned, flipped, typed, and pointed at by mouse and by keys."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, QPointF, QRectF, Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app.files.readers.answer import AxleFit, Flat, Loop
from app.window.dialogs.import_drawn import Lay, Snap
from app.window.dialogs.import_outline import BLANK, WHEEL, ImportDialog
from app.window.dialogs.import_place import Target
from geometry.shape.outline import Known, ZeroFace
from geometry.shape.placing import Placement
from tests.gui.conftest import Asked, turn_wheel
from tests.support.importing import BOX, HOLE, Reader, click, found, hover, opened, pixel, ready, typed

AWAY: Loop = ((82.0, 110.0, 0.0), (95.0, 110.0, 0.0), (95.0, 142.0, 0.0), (82.0, 142.0, 0.0))

Brought = tuple[ImportDialog, Asked]


@pytest.fixture
def away(qtbot: QtBot, tmp_path: Path) -> Brought:
    return opened(qtbot, tmp_path / "away.dxf", read=Reader(found(AWAY)), wheel="Track 18")


def corners(asked: Asked) -> set[tuple[float, float]]:
    return {(round(c.z, 9), round(c.r, 9)) for c in asked.result.shapes[-1].outlines[0].corners}


def test_a_typed_shift_takes_a_decimal_comma(away: Brought) -> None:
    dialog, asked = away
    typed(dialog.place.dz, "-100,5")
    typed(dialog.place.dr, "-60")
    ready(dialog)
    asked.ok()
    assert corners(asked) == {(-18.5, 50.0), (-5.5, 50.0), (-5.5, 82.0), (-18.5, 82.0)}


def test_turns_and_pointing_go_on_beside_a_shift_that_cannot_be_read(away: Brought) -> None:
    """The other shift is pointed at meanwhile; what cannot be read is said, and waits to be mended."""
    dialog, asked = away
    typed(dialog.place.dr, "sixty")
    dialog.place.flip.box.click()
    dialog.place.turns.choose(2)
    dialog.place.buttons[Target.BEARING].click()
    QTest.mouseClick(dialog.picture, Qt.MouseButton.LeftButton, pos=pixel(dialog, 95.0, 110.0))
    assert dialog.place.dz.read() == -95.0  # two quarters and a flip leave z as it was
    assert "sixty" in dialog.look.gap.text()
    typed(dialog.place.dr, "200")
    ready(dialog)
    asked.ok()
    assert corners(asked) == {(-13.0, 90.0), (0.0, 90.0), (0.0, 58.0), (-13.0, 58.0)}


def test_turn_and_flip_move_the_outline_as_their_words_say(away: Brought) -> None:
    """A quarter to the left takes (z, r) to (-r, z); flipped, z changes its sign."""
    dialog, asked = away
    dialog.place.turns.choose(1)
    dialog.place.flip.box.click()
    ready(dialog)
    asked.ok()
    assert corners(asked) == {(r, z) for z, r in ((82.0, 110.0), (95.0, 110.0), (95.0, 142.0), (82.0, 142.0))}


def test_the_bearing_face_is_pointed_at_by_a_click_that_snaps(away: Brought) -> None:
    dialog, asked = away
    dialog.place.buttons[Target.BEARING].click()
    at = pixel(dialog, 95.0, 110.0) + QPoint(5, -6)
    hover(dialog, at)
    assert dialog.picture._snap is not None
    assert dialog.picture._snap.is_snapped
    assert dialog.picture._snap.words == "vertex: 95.00, 110.00 in the file"
    QTest.mouseClick(dialog.picture, Qt.MouseButton.LeftButton, pos=at)
    ready(dialog)
    assert dialog.place.dz.read() == -95.0
    assert dialog.place.dr.read() == 0.0
    assert not dialog.picture.pointing_at
    answer = dialog.trust.answers["zero_face"].read()
    assert answer.state is Known.ASSUMED
    assert "95.00, 110.00 in the file" in answer.text
    asked.ok()
    card = asked.result.shapes[-1].card
    assert card.zero_at is ZeroFace.BEARING
    assert card.datum_checked_by == ""
    assert max(z for z, _ in corners(asked)) == 0.0


def test_the_hub_flange_is_pointed_at_by_keys_and_the_hat_moves_the_outline_inboard(away: Brought) -> None:
    """The flange at 82 in the file; with a hat of 7,1 the wheel bears 7.1 outboard of it."""
    dialog, asked = away
    dialog.place.buttons[Target.FLANGE].setFocus()
    QTest.keyClick(dialog.place.buttons[Target.FLANGE], Qt.Key.Key_Space)
    picture = dialog.picture
    assert picture.hasFocus()
    while picture._snap is None or picture._snap.at[0] != 82.0:
        QTest.keyClick(picture, Qt.Key.Key_Right)
    QTest.keyClick(picture, Qt.Key.Key_Return)
    ready(dialog)
    assert dialog.place.dz.read() == -82.0
    assert dialog.trust.zero_at.read() is ZeroFace.HUB_FLANGE
    typed(dialog.place.hat, "7,1")
    ready(dialog)
    assert dialog.trust.hat.read() == 7.1
    drawn = dialog.picture.laid[0].bounds
    assert drawn is not None
    assert drawn[0] == pytest.approx(-7.1)
    asked.ok()
    shape = asked.result.shapes[-1]
    assert (shape.card.zero_at, shape.card.hat_mm) == (ZeroFace.HUB_FLANGE, 7.1)
    assert shape.shift_mm == -7.1
    assert min(z for z, _ in corners(asked)) == 0.0


def test_a_hat_typed_among_the_questions_stands_on_the_page_of_the_place_too(away: Brought) -> None:
    dialog, _ = away
    assert not dialog.place.hat.isEnabled()
    dialog.trust.zero_at.choose(ZeroFace.HUB_FLANGE)
    dialog.pages.setCurrentIndex(3)
    typed(dialog.trust.hat, "6,5")
    ready(dialog)
    assert dialog.place.hat.isEnabled()
    assert dialog.place.hat.read() == 6.5


def test_the_axle_line_moves_r_alone(away: Brought) -> None:
    dialog, _ = away
    dialog.place.buttons[Target.AXLE].click()
    click(dialog, 82.0, 110.0)
    ready(dialog)
    assert (dialog.place.dz.read(), dialog.place.dr.read()) == (0.0, -110.0)
    assert dialog.trust.answers["zero_face"].read().is_open


def test_what_was_pointed_at_stays_on_the_zero_through_turn_flip_and_unit(
    qtbot: QtBot, tmp_path: Path
) -> None:
    dialog, asked = opened(qtbot, tmp_path / "x.dxf", read=Reader(found(BOX, unit="not known")))
    for target, at in ((Target.BEARING, (-9.0, 50.0)), (Target.AXLE, (0.0, 50.0))):
        dialog.place.buttons[target].click()
        click(dialog, *at)  # once the first is laid onto z 0, the corner stands there
        ready(dialog)
    dialog.place.turns.choose(1)
    dialog.place.flip.box.click()
    ready(dialog)
    placement = dialog.place.placement(25.4)
    assert placement.point(-9.0 * 25.4, 50.0 * 25.4) == pytest.approx((0.0, 0.0), abs=1e-12)
    assert placement.turns == 1
    typed(dialog.place.dz, "3")
    assert dialog.place.placement(25.4).dz_mm == 3.0
    assert asked.applied == []


def test_a_snap_is_a_vertex_a_line_end_or_an_arc_centre(qtbot: QtBot, tmp_path: Path) -> None:
    """Two half circles of radius 10 about (0, 100), and an open line."""
    ring: Loop = ((-10.0, 100.0, 1.0), (10.0, 100.0, 1.0))
    line: Loop = ((30.0, 100.0, 0.0), (40.0, 120.0, 0.0))
    read = Reader(found(ring, open=(line,), bounds=(-10.0, 40.0, 90.0, 120.0)))
    dialog, _ = opened(qtbot, tmp_path / "ring.dxf", read=read)
    drawn = dialog.picture.laid[0].drawn
    places = {
        (tuple(round(x, 6) for x in at), Snap(kind))
        for at, kind in zip(drawn.snaps.tolist(), drawn.kinds.tolist(), strict=True)
    }
    assert ((0.0, 100.0), Snap.ARC_CENTRE) in places
    assert ((10.0, 100.0), Snap.VERTEX) in places
    assert ((40.0, 120.0), Snap.LINE_END) in places
    dialog.place.buttons[Target.AXLE].click()
    click(dialog, 0.2, 99.8)
    assert dialog.place.dr.read() == -100.0


def test_escape_ends_pointing_before_it_closes_the_dialog(away: Brought) -> None:
    dialog, asked = away
    dialog.place.buttons[Target.BEARING].click()
    QTest.keyClick(dialog, Qt.Key.Key_Escape)
    assert not dialog.picture.pointing_at
    assert dialog.isVisible()
    asked.cancel()
    assert not dialog.isVisible()


def test_a_flat_of_a_fitted_scan_becomes_the_mounting_face(qtbot: QtBot, tmp_path: Path) -> None:
    fit = AxleFit((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), 0.031, (Flat(-9.0, 30.0, 71.0, 11_800.0, 0.04),))
    read = Reader(found(BOX, kind="mesh", fit=fit))
    dialog, asked = opened(qtbot, tmp_path / "scan.csv", read=read)
    assert dialog.place.flat.box.itemText(1) == "z −9.00, r 30 to 71, 118 cm², ± 0.04"
    dialog.place.flat.box.setCurrentIndex(1)
    ready(dialog)
    asked.ok()
    assert max(z for z, _ in corners(asked)) == 0.0


def test_for_a_wheel_the_mounting_face_is_pointed_at(qtbot: QtBot, tmp_path: Path) -> None:
    dialog, _ = opened(qtbot, tmp_path / "w.dxf", read=Reader(found(AWAY)))
    dialog.outline.becomes.choose(WHEEL)
    ready(dialog)
    assert not dialog.place.buttons[Target.FLANGE].isVisibleTo(dialog)
    dialog.place.buttons[Target.BEARING].click()
    click(dialog, 95.0, 110.0)
    assert dialog.wheel.face.read() == pytest.approx(95.0)
    dialog.outline.becomes.choose(BLANK)
    ready(dialog)
    assert not dialog.place.hat.isVisibleTo(dialog)


# The picture


def test_the_mouse_wheel_zooms_about_the_pointer_and_dragging_moves_the_sheet(away: Brought) -> None:
    dialog, _ = away
    picture = dialog.picture
    at = QPointF(pixel(dialog, 95.0, 110.0))
    before = picture.view.place(at)
    scale = picture.view.scale
    turn_wheel(picture, at, 240)
    assert picture.view.scale == pytest.approx(scale * 1.25**2)
    assert picture.view.place(at) == pytest.approx(before)
    taken = dialog.outline.taken()
    QTest.mousePress(picture, Qt.MouseButton.LeftButton, pos=at.toPoint())
    hover(dialog, at.toPoint() + QPoint(40, 30), Qt.MouseButton.LeftButton)
    QTest.mouseRelease(picture, Qt.MouseButton.LeftButton, pos=at.toPoint() + QPoint(40, 30))
    assert picture.view.place(QPointF(at.toPoint() + QPoint(40, 30))) == pytest.approx(
        picture.view.place(QPointF(pixel(dialog, *before))), abs=2.0 / picture.view.scale
    )
    assert dialog.outline.taken() == taken  # a drag is no click
    QTest.keyClick(picture, Qt.Key.Key_0)
    assert picture.view.scale == pytest.approx(scale)


def test_the_picture_goes_by_keys(away: Brought) -> None:
    dialog, _ = away
    picture = dialog.picture
    scale, z = picture.view.scale, picture.view.z
    QTest.keyClick(picture, Qt.Key.Key_Plus)
    assert picture.view.scale > scale
    QTest.keyClick(picture, Qt.Key.Key_Minus)
    assert picture.view.scale == pytest.approx(scale)
    QTest.keyClick(picture, Qt.Key.Key_Right)
    assert picture.view.z > z


def test_equal_scales_outboard_right_and_the_axle_low(away: Brought) -> None:
    dialog, _ = away
    origin, out, up = (pixel(dialog, *at) for at in ((0.0, 0.0), (50.0, 0.0), (0.0, 50.0)))
    assert out.x() - origin.x() == pytest.approx(origin.y() - up.y(), abs=1)
    assert out.x() > origin.x()
    assert up.y() < origin.y()


def test_the_wheel_is_drawn_where_its_section_says(away: Brought) -> None:
    """The metal between r 90 and 100 has the wheel's colour, the room under it the paper's."""
    dialog, _ = away
    image = dialog.picture.grab().toImage()
    metal, room = (image.pixelColor(pixel(dialog, *at)) for at in ((-15.5, 95.0), (-15.5, 60.0)))
    assert metal.name().upper() == "#C9D1DA"
    assert room.name().upper() == "#FBFAF7"


def test_several_outlines_are_numbered_inside_and_one_is_not(qtbot: QtBot, tmp_path: Path) -> None:
    inner = tuple((z - 8.0, r, b) for z, r, b in AWAY)
    dialog, _ = opened(qtbot, tmp_path / "x.dxf", read=Reader(found(AWAY, inner, HOLE)))
    dialog.picture.grab()
    spots = dialog.picture.number_spots
    assert len(spots) == 3
    for spot, loop in zip(spots, (AWAY, inner), strict=False):
        z, r = dialog.picture.view.place(spot)
        assert min(row[0] for row in loop) <= z <= max(row[0] for row in loop)
        assert min(row[1] for row in loop) <= r <= max(row[1] for row in loop)
    # A number as large as its outline would hide it, so it stands beside.
    hole = QRectF(QPointF(pixel(dialog, -14.0, 64.0)), QPointF(pixel(dialog, -10.0, 60.0)))
    assert not hole.contains(spots[2])
    for k, spot in enumerate(spots):
        assert all((spot - other).manhattanLength() > 10 for other in spots[:k])
    one, _ = opened(qtbot, tmp_path / "y.dxf", read=Reader(found(BOX)))
    one.picture.grab()
    assert one.picture.number_spots == []


def test_lay_scales_turns_and_shifts() -> None:
    """By hand: (2, 3) in turned to the left is (-3, 2), in mm (-76.2, 50.8), moved by (10, 1) and -7."""
    lay = Lay(Placement(1, False, 10.0, 1.0), 25.4, -7.0)
    assert lay.point(2.0, 3.0) == pytest.approx((-76.2 + 10.0 - 7.0, 50.8 + 1.0))
    kept = lay.loop(((2.0, 3.0, 0.0), (3.0, 3.0, 0.0), (3.0, 4.0, 0.0)))
    assert kept[0][:2] == pytest.approx((-66.2, 51.8))  # the card's shift is not in what is kept


def test_what_lies_far_off_is_in_sight_until_it_is_placed(qtbot: QtBot, tmp_path: Path) -> None:
    """A drawing with its origin 4 m away: the wheel and the outline are both seen."""
    far = tuple((z + 4000.0, r, b) for z, r, b in AWAY)
    dialog, _ = opened(
        qtbot, tmp_path / "far.dxf", wheel="Track 18", read=Reader(found(far, unit="not known"))
    )
    for at in ((4090.0, 120.0), (0.0, 95.0)):
        assert dialog.picture.view.plot.contains(QPointF(pixel(dialog, *at)))


@pytest.mark.parametrize(("scale", "decimals"), [(1.0, 2), (25.4, 3), (10.0, 3), (1000.0, 5), (1e-3, 0)])
def test_a_place_in_the_file_has_the_digits_of_a_length(scale: float, decimals: int) -> None:
    """Those of the readings: two in mm, three in inches; other units alike, to a hundredth of a mm or so."""
    assert Lay(Placement(), scale).decimals == decimals
