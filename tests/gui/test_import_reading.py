"""Reading beside the window: it never blocks, shows its progress, can be stopped; the newest counts."""

from __future__ import annotations

import subprocess
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from app.files.readers.answer import AxleFit, Body, CancelledError, ReadError, ReadOutline
from app.window.dialogs.import_outline import ImportDialog
from tests.gui.conftest import Asked
from tests.support.drawings import dxf, polyline
from tests.support.importing import BOX, HOLE, Reader, found, opened, ready, said, tick, typed
from tests.support.panels import project

#: The event loop may not stand still for longer than this, s.
GAP_S = 0.1


def pumped(until: Callable[[], bool], seconds: float = 10.0) -> None:
    end = time.monotonic() + seconds
    while not until():
        QApplication.processEvents()
        assert time.monotonic() < end
        time.sleep(0.001)


def slow_child(path: Path, *, cancelled: Callable[[], bool], **_how: Any) -> ReadOutline:
    """Wait for a child process as the reader does."""
    with subprocess.Popen([sys.executable, "-I", "-c", "import time; time.sleep(0.8)"]) as child:
        while child.poll() is None:
            if cancelled():
                child.kill()
                raise CancelledError("reading was cancelled")
            time.sleep(0.02)
    loop = tuple((-18.0 + 13.0 * k / 20_000, 50.0 + (k % 2) * 0.01, 0.0) for k in range(20_000))
    return found((*loop, (-5.0, 82.0, 0.0), (-18.0, 82.0, 0.0)))


def longest_gap(qtbot: QtBot, path: Path) -> tuple[float, int]:
    """Return how long the event loop stood still at most while a slow child read, and how often it turned."""
    gaps: list[float] = []
    last = time.monotonic()

    def turn() -> None:
        nonlocal last
        now = time.monotonic()
        gaps.append(now - last)
        last = now

    dialog = ImportDialog(project(), path, "Track 18", read=slow_child)
    qtbot.addWidget(dialog)
    Asked(dialog)
    QApplication.processEvents()
    timer = QTimer()
    timer.setInterval(5)
    timer.timeout.connect(turn)
    last = time.monotonic()
    timer.start()
    with qtbot.waitSignal(dialog.reading.came, timeout=20_000):
        pass
    timer.stop()
    dialog.close()
    return max(gaps), len(gaps)


def test_the_window_turns_while_a_slow_child_reads(qtbot: QtBot, tmp_path: Path) -> None:
    """What blocks, blocks in every try; a busy machine does not."""
    tries = [longest_gap(qtbot, tmp_path / "slow.dxf") for _ in range(1)]
    while min(gap for gap, _ in tries) > GAP_S and len(tries) < 4:
        tries.append(longest_gap(qtbot, tmp_path / "slow.dxf"))
    assert min(gap for gap, _ in tries) <= GAP_S, tries
    assert max(turns for _, turns in tries) > 20


def waiting(path: Path, *, cancelled: Callable[[], bool], **_how: Any) -> ReadOutline:
    """Read until it is told to stop."""
    for _ in range(4000):
        if cancelled():
            raise CancelledError("reading was cancelled")
        time.sleep(0.005)
    raise ReadError("nobody stopped it")


def test_progress_is_shown_and_reading_can_be_stopped_and_begun_again(qtbot: QtBot, tmp_path: Path) -> None:
    calls: list[int] = []

    def read(path: Path, **how: Any) -> ReadOutline:
        calls.append(1)
        return waiting(path, **how) if len(calls) == 1 else found(BOX)

    dialog = ImportDialog(project(), tmp_path / "slow.dxf", read=read)
    qtbot.addWidget(dialog)
    asked = Asked(dialog)
    assert dialog.look.stop.text() == "&Stop reading"
    pumped(dialog.look.progress.isVisible)
    assert dialog.look.progress.format().endswith("of at most 10 s")
    asked.ok()
    assert "wait for the reader" in dialog.message.text()
    dialog.look.stop.click()
    assert dialog.jobs.wait(5_000)
    QApplication.processEvents()
    assert "Reading was stopped" in said(dialog)
    assert not dialog.look.progress.isVisible()
    dialog.look.stop.click()
    ready(dialog)
    asked.ok()
    assert len(asked.result.shapes) == 2


def test_cancel_closes_at_once_and_tells_the_reader_to_stop(qtbot: QtBot, tmp_path: Path) -> None:
    stopped = threading.Event()

    def read(path: Path, *, cancelled: Callable[[], bool], **how: Any) -> ReadOutline:
        try:
            return waiting(path, cancelled=cancelled, **how)
        finally:
            stopped.set()

    dialog = ImportDialog(project(), tmp_path / "slow.dxf", read=read)
    qtbot.addWidget(dialog)
    asked = Asked(dialog)
    asked.cancel()
    assert not dialog.isVisible()
    assert stopped.wait(5.0)
    assert asked.applied == []


def test_a_newer_reading_breaks_off_the_older_and_its_answer_counts(qtbot: QtBot, tmp_path: Path) -> None:
    ended: list[str] = []

    def read(path: Path, *, close: bool, **how: Any) -> ReadOutline:
        if close:
            return found(HOLE)
        try:
            return waiting(path, **how)
        finally:
            ended.append("older")

    dialog = ImportDialog(project(), tmp_path / "slow.dxf", read=read)
    qtbot.addWidget(dialog)
    asked = Asked(dialog)
    QApplication.processEvents()
    dialog.file.close.box.click()
    ready(dialog)
    pumped(lambda: bool(ended))
    QApplication.processEvents()
    asked.ok()
    assert {c.z for c in asked.result.shapes[-1].outlines[0].corners} == {-14.0, -10.0}


def test_typing_is_waited_for_and_what_it_replaces_cannot_be_taken(qtbot: QtBot, tmp_path: Path) -> None:
    read = Reader(found(BOX))
    dialog, asked = opened(qtbot, tmp_path / "x.dxf", read=read)
    typed(dialog.file.join, "0,25")
    asked.ok()
    assert asked.applied == []
    assert "wait for the reader" in dialog.message.text()
    ready(dialog)
    assert [how["join_mm"] for how in read.asked] == [0.01, 0.25]
    typed(dialog.file.join, "0,")
    typed(dialog.file.join, "nothing")
    ready(dialog)
    assert len(read.asked) <= 3
    assert said(dialog).startswith("Nothing was read")
    typed(dialog.file.join, "0,5")
    ready(dialog)
    asked.ok()
    assert len(asked.result.shapes) == 2


def test_a_fault_of_a_reader_is_not_swallowed(qtbot: QtBot, tmp_path: Path) -> None:
    with qtbot.captureExceptions() as caught:
        opened(qtbot, tmp_path / "x.dxf", read=Reader(RuntimeError("broken")))
    assert [str(error[1]) for error in caught] == ["broken"]


# What is asked of the reader, field by field


def test_drawings_are_chosen_from_by_layer_colour_and_kind(qtbot: QtBot, tmp_path: Path) -> None:
    answer = found(
        layers={"0": 5, "DIM": 12},
        off=("DIM",),
        colours={"red": 3, "white": 14},
        kinds={"ARC": 1, "LINE": 16},
    )
    read = Reader(answer)
    dialog, _ = opened(qtbot, tmp_path / "x.dxf", read=read)
    layers = dialog.file.layers
    assert layers.read() == ("0",)
    assert [layers.item("DIM").text(k) for k in range(3)] == ["DIM", "12", "off at first"]
    assert "text, dimension or frame" in layers.item("DIM").toolTip(2)
    assert not dialog.file.axle.isVisibleTo(dialog)
    for field, key in ((layers, "DIM"), (dialog.file.colours, "white"), (dialog.file.kinds, "LINE")):
        tick(field, key)
        ready(dialog)
    last = read.asked[-1]
    assert last["layers"] == ("0", "DIM")
    assert last["colours"] == ("red",)
    assert last["kinds"] == ("ARC",)
    assert read.asked[0]["layers"] == ()
    for box in (dialog.file.mirror, dialog.file.drop_open, dialog.file.close):
        box.box.click()
        ready(dialog)
    last = read.asked[-1]
    assert (last["mirror"], last["drop_open"], last["close"]) == (True, True, True)
    tick(layers, "0")
    ready(dialog)
    tick(layers, "DIM")
    ready(dialog)
    assert "tick at least one" in said(dialog)


def test_a_mesh_is_asked_for_bodies_axle_and_share(qtbot: QtBot, tmp_path: Path) -> None:
    bodies = (
        Body(1000, (0.0, 0.0, 0.0), (10.0, 20.0, 30.0), True),
        Body(12, (0.0, 0.0, 0.0), (1.0, 2.0, 3.0), False),
    )
    fit = AxleFit((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), 0.02, ())
    read = Reader(found(BOX, kind="mesh", bodies=bodies, fit=fit, tolerance_mm=0.1))
    dialog, _ = opened(qtbot, tmp_path / "scan.csv", read=read)
    row = dialog.file.bodies.item("1")
    assert [row.text(k) for k in range(3)] == ["1.0 × 2.0 × 3.0", "12 triangles", "open surface"]
    assert not dialog.file.join.isVisibleTo(dialog)
    assert not dialog.file.columns.isVisibleTo(dialog) or dialog.path.suffix == ".csv"
    tick(dialog.file.bodies, "1")
    ready(dialog)
    dialog.file.axle.choose("fitted")
    ready(dialog)
    typed(dialog.file.axle_at[0], "1,5")
    typed(dialog.file.axle_at[1], "-2")
    typed(dialog.file.share, "97,5")
    ready(dialog)
    last = read.asked[-1]
    assert last["bodies"] == (0,)
    assert (last["axle"], last["axle_at"], last["quantile"]) == ("fitted", (1.5, -2.0), 0.975)


def test_a_table_is_asked_for_sheet_columns_order_and_ball(qtbot: QtBot, tmp_path: Path) -> None:
    read = Reader(found(BOX, kind="points", sheets=("Front", "Rear"), columns=("z", "r", "")))
    dialog, _ = opened(qtbot, tmp_path / "arm.csv", read=read)
    assert dialog.file.columns.line.placeholderText() == "z r -"
    dialog.file.sheet.choose("Rear")
    ready(dialog)
    dialog.file.points.choose("cloud")
    ready(dialog)
    typed(dialog.file.columns, "r; z -")
    typed(dialog.file.ball, "3")
    ready(dialog)
    last = read.asked[-1]
    assert (last["sheet"], last["points"], last["columns"], last["ball_mm"]) == (
        "Rear",
        "cloud",
        ("r", "z", ""),
        3.0,
    )
    typed(dialog.file.columns, "r q")
    ready(dialog)
    assert "'q' is no column" in said(dialog)
    typed(dialog.file.columns, "")
    typed(dialog.file.ball, "80")
    ready(dialog)
    assert "too large" in said(dialog)


def test_a_cloud_and_what_was_left_outside_are_drawn(qtbot: QtBot, tmp_path: Path) -> None:
    """The crosses have the ink of the places left outside, where nothing else is drawn."""
    read = Reader(
        found(BOX, kind="points", cloud=((-40.0, 40.0),), outside=((-40.0, 60.0),), outside_count=1)
    )
    dialog, _ = opened(qtbot, tmp_path / "cloud.csv", read=read)
    image = dialog.picture.grab().toImage()
    at = dialog.picture.view.pixel(-40.0, 60.0).toPoint()
    inks = {image.pixelColor(at.x() + k, at.y() + j).name() for k in range(-3, 4) for j in range(-3, 4)}
    assert len(inks) > 2
    assert "1 points lie outside" in said(dialog)


def test_a_real_file_is_read_by_the_child(qtbot: QtBot, tmp_path: Path) -> None:
    data = dxf(polyline(*((z, r) for z, r, _ in BOX)))
    dialog, asked = opened(qtbot, tmp_path / "box.dxf", data, wheel="Track 18")
    assert dialog.look.gap.text().startswith("Nearest: barrel 5.00 mm")
    asked.ok()
    assert asked.result.shapes[-1].card.file_sha256 != ""


@pytest.mark.parametrize("dark", [False, True])
def test_the_picture_wears_the_theme(qtbot: QtBot, tmp_path: Path, dark: bool) -> None:
    from app.views.theme import Theme

    before = QApplication.palette()
    QApplication.setPalette(Theme(dark).palette())
    try:
        dialog, _ = opened(qtbot, tmp_path / "x.dxf", read=Reader(found(BOX)))
        paper = dialog.picture.grab().toImage().pixelColor(3, 3).name().upper()
    finally:
        QApplication.setPalette(before)
    assert paper == ("#1E2126" if dark else "#FBFAF7")
