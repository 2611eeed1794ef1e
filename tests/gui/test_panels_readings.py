"""Summary and readings: what stands where, with how many digits, and where a click goes."""

from __future__ import annotations

from dataclasses import replace

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app.reports.numbers import decimals
from app.reports.rows import place_of, worst_three
from app.reports.sentences import SIGNS
from app.session.document import Document
from app.session.shown import Shown
from app.units import format_length
from app.views.readings import ReadingsPanel
from app.views.readings_line import Line
from app.views.readings_model import lines
from app.views.readings_text import sentence
from app.views.readings_tree import RULE, SPARE, STATE, VALUE
from app.views.summary import SummaryPanel, facts
from app.views.theme import DARK, LIGHT, LINES, Theme
from geometry.readings.measure import Measurements
from geometry.readings.rules import State
from geometry.shape.faults import Fault
from geometry.shape.outline import QUESTIONS as GENERAL
from tests.support.panels import CALIPER, QUESTIONS, document, gap_row, measurements

FAULT = Fault("outline crosses itself", "The outline crosses itself at z 12.00, r 200.00.", (12.0, 200.0))


def readings(qtbot: QtBot, opened: Document) -> ReadingsPanel:
    panel = ReadingsPanel(Theme())
    qtbot.addWidget(panel)
    panel.resize(440, 800)
    panel.show()
    opened.shown.connect(panel.show_state)
    panel.show_state(opened.state)
    return panel


def every(groups: tuple[Line, ...]) -> list[Line]:
    return [line for group in groups for line in (group, *every(group.children))]


def by_key(shown: Shown, key: str) -> Line:
    return next(line for line in every(lines(shown)) if line.key == key)


# What stands where


def test_groups_stand_in_the_order_engineers_read_them(qtbot: QtBot) -> None:
    """practice 40: gap (on paper and worst), stock, wall (ruled first, lip first), hub, tyre, mass."""
    groups = lines(document().state)
    assert [g.key for g in groups] == ["asks", "gap", "worst", "stock", "wall", "hub", "tyre", "mass group"]
    wall = next(g for g in groups if g.key == "wall")
    assert [line.key.split()[0] for line in wall.children] == [
        *["wall"] * 2,
        *["lip"] * 3,
        "wall",
    ]
    walls = [line for line in wall.children if line.key.startswith("wall")]
    assert [(line.zone, bool(line.rule)) for line in walls] == [
        ("inner lip", True),
        ("barrel", True),
        ("well", False),
    ]


@pytest.mark.parametrize(
    ("grade", "mm", "inch"),
    # practice 45: two decimals for a drawing or better, one for a scan, none for a tracing or hearsay.
    [("proved", 2, 3), ("drawing", 2, 3), ("scan", 1, 2), ("tracing", 0, 1), ("hearsay", 0, 1)],
)
def test_digits_follow_the_grade(grade: str, mm: int, inch: int) -> None:
    assert (decimals(grade, "mm"), decimals(grade, "in")) == (mm, inch)
    found = measurements(gap_row("barrel", 4.5678, State.CLEAR, grade=grade))
    opened = document(found)
    assert by_key(opened.state, f"gap {CALIPER} barrel").value == f"{4.5678:.{mm}f}"
    opened.commit(replace(opened.project, display_unit="in"), "inches")
    # 1 in is 25.4 mm exactly (international yard and pound agreement, 1959).
    assert by_key(opened.state, f"gap {CALIPER} barrel").value == f"{4.5678 / 25.4:.{inch}f}"


def test_a_number_not_known_is_there_but_grey_and_says_what_is_open(qtbot: QtBot) -> None:
    panel = readings(qtbot, document())
    line = panel.model.line(panel.model.find(f"gap {CALIPER} spoke back"))
    assert line is not None
    assert (line.value, line.known, line.state) == ("4.12", False, State.NOT_KNOWN)
    assert all(question in panel.model.detail(line) for question in QUESTIONS)
    asked = [x.label for x in panel.model.groups[1].children[0].children if not x.value]
    assert asked == list(QUESTIONS)


def test_mass_stands_in_both_units_and_the_ratio_beside_it() -> None:
    opened = document()
    wheel, chips = by_key(opened.state, "mass"), by_key(opened.state, "chips")
    assert (wheel.value, wheel.aside) == ("10.10", "kg · 22.27 lb")  # 10.1 / 0.45359237 (exact) = 22.2668
    assert (chips.value, chips.aside) == ("44.90", "kg · 98.99 lb")
    assert by_key(opened.state, "ratio").value == "5.45"
    assert by_key(opened.state, "polar").value == "0.381"
    opened.commit(replace(opened.project, display_unit="in"), "inches")
    assert by_key(opened.state, "mass").aside == "lb · 10.10 kg"


def test_with_faults_there_is_a_place_and_no_number_at_all(qtbot: QtBot) -> None:
    opened = document(faults=(FAULT,))
    panel = readings(qtbot, opened)
    found = every(panel.model.groups)
    assert [line.label for line in found] == ["No readings while the outline has faults", FAULT.message]
    assert not any(line.value or line.rule or line.spare for line in found)
    with qtbot.waitSignal(panel.place_clicked) as went:
        panel.tree.clicked.emit(panel.model.find("fault 0"))
    assert went.args == [12.0, 200.0]


def test_without_blank_shape_or_wheel_it_says_what_to_do() -> None:
    bare = replace(measurements(), gap=(), stock=(), blank=None, hub=())
    opened = document(bare)
    project = opened.project
    wheel = replace(project.wheels[0], blank=None, clears=())
    opened.commit(replace(project, wheels=(wheel,)), "nothing to clear")
    said = [line.label for line in every(lines(opened.state))]
    assert "No blank: choose or draw one." in said
    assert "No stay-out shape: choose one in Wheel details." in said
    opened.commit(replace(opened.project, wheels=()), "no wheel")
    assert lines(opened.state)[0].label == "No wheel: make one with New, or open a project."


def test_a_name_without_a_rule_has_the_room_of_needs_and_spare(qtbot: QtBot) -> None:
    """The longest name of the lip's readings is painted to its end; a tip says it whole in any case."""
    panel = readings(qtbot, document())
    panel.tree.expandAll()
    index = panel.model.find("lip lip_second")
    panel.tree.scrollTo(index)
    image = panel.tree.viewport().grab().toImage()
    ratio = image.devicePixelRatio()
    paper = panel.tree.palette().base().color().lightness()
    for column in (RULE, SPARE):
        cell = panel.tree.visualRect(index.siblingAtColumn(column))
        inked = [
            abs(image.pixelColor(int(x * ratio), int(y * ratio)).lightness() - paper)
            for x in range(cell.left(), cell.right())
            for y in range(cell.top() + 2, cell.bottom() - 2)
        ]
        assert (max(inked) > 30) is (column == RULE)
    assert str(index.data(Qt.ItemDataRole.ToolTipRole)).startswith("Inner lip, second moment")
    tip = panel.model.find(f"gap {CALIPER} barrel").data(Qt.ItemDataRole.ToolTipRole)
    assert str(tip).startswith("Barrel")
    assert "gap −1.33 mm" in str(tip)


def test_value_less_needs_is_the_spare() -> None:
    """The stated error stands in what is needed, so that the row adds up as it is read."""
    line = by_key(document().state, f"gap {CALIPER} shoulder")
    required, error = (float(word) for word in line.rule.split(" + "))
    assert float(line.value) - (required + error) == pytest.approx(float(line.spare))


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_what_is_needed_is_never_cut(qtbot: QtBot, unit: str) -> None:
    """Also with an included gap, and with the third decimal of an inch."""
    opened = document(measurements(gap_row("barrel", 4.1, State.CLEAR, included_mm=0.5, spare_mm=1.3)))
    panel = readings(qtbot, opened)
    opened.commit(replace(opened.project, display_unit=unit), "unit")
    cell = panel.model.find(f"gap {CALIPER} barrel").siblingAtColumn(RULE)
    # 3 mm, 0.3 mm and 0.5 mm are 0.118, 0.012 and 0.020 in (1 in is 25.4 mm exactly).
    assert cell.data() == {"mm": "3.00 + 0.30 − 0.50", "in": "0.118 + 0.012 − 0.020"}[unit]
    assert panel.tree.columnWidth(RULE) > panel.tree.fontMetrics().horizontalAdvance(str(cell.data()))


# Signs, not colours alone


def test_states_differ_by_sign_word_and_line_style_before_colour() -> None:
    assert len(set(SIGNS.values())) == len(set(LINES.values())) == len(State)
    for theme in (LIGHT, DARK):
        assert len({theme.of(state) for state in State}) == len(State)


def test_the_state_cell_carries_sign_and_word(qtbot: QtBot) -> None:
    panel = readings(qtbot, document())
    index = panel.model.find(f"gap {CALIPER} barrel")
    assert index.siblingAtColumn(STATE).data() == "✕ touching"


@pytest.mark.parametrize("dark", [False, True])
def test_the_value_is_painted_in_the_ink_or_grey_when_not_known(qtbot: QtBot, dark: bool) -> None:
    panel = readings(qtbot, document())
    theme = Theme(dark)
    panel = ReadingsPanel(theme)
    qtbot.addWidget(panel)
    panel.resize(440, 800)
    panel.show_state(document().state)
    panel.show()
    panel.tree.setCurrentIndex(panel.model.find("mass"))
    image = panel.tree.viewport().grab().toImage()

    def darkest(key: str) -> int:
        """Greatest distance from the paper in the value cell of a line."""
        cell = panel.tree.visualRect(panel.model.find(key).siblingAtColumn(VALUE))
        ratio = image.devicePixelRatio()
        paper = theme.colour("paper").lightness()
        pixels = [
            image.pixelColor(int(x * ratio), int(y * ratio)).lightness()
            for x in range(cell.left(), cell.right())
            for y in range(cell.top() + 2, cell.bottom() - 2)
        ]
        return max(abs(value - paper) for value in pixels)

    known, grey = darkest(f"gap {CALIPER} shoulder"), darkest(f"gap {CALIPER} spoke back")
    assert known > grey + 30


def test_the_caution_stands_under_the_readings(qtbot: QtBot) -> None:
    panel = readings(qtbot, document())
    assert "not a strength, fatigue, impact or approval statement" in panel.detail.placeholderText()
    margins = panel.detail.viewportMargins()
    assert min(margins.left(), margins.right()) >= 8  # words touch neither edge


# A person's clicks and keys


def test_a_click_goes_to_the_place_and_looks_at_the_zone(qtbot: QtBot) -> None:
    panel = readings(qtbot, document())
    index = panel.model.find(f"gap {CALIPER} spoke back")
    spot = panel.tree.visualRect(index).center()
    with qtbot.waitSignals([panel.place_clicked, panel.zone_selected]):
        QTest.mouseClick(panel.tree.viewport(), Qt.MouseButton.LeftButton, pos=spot)
    assert panel.tree.currentIndex() == index
    assert "Spoke back to" in panel.detail.toPlainText()


def test_arrows_and_enter_do_the_same(qtbot: QtBot) -> None:
    panel = readings(qtbot, document())
    panel.tree.setFocus()
    panel.tree.setCurrentIndex(panel.model.find(f"gap {CALIPER} barrel"))
    with qtbot.waitSignal(panel.zone_selected) as zone:
        QTest.keyClick(panel.tree, Qt.Key.Key_Down)
    assert zone.args == ["shoulder"]
    with qtbot.waitSignal(panel.place_clicked) as went:
        QTest.keyClick(panel.tree, Qt.Key.Key_Return)
    assert went.args == [43.0, 190.0]


def test_an_open_question_leads_to_the_source_card(qtbot: QtBot) -> None:
    panel = readings(qtbot, document())
    with qtbot.waitSignal(panel.card_wanted) as wanted:
        panel.tree.clicked.emit(panel.model.find(f"gap {CALIPER} asks {QUESTIONS[0]}"))
    assert wanted.args == [CALIPER]


def test_a_question_that_each_zone_answers_otherwise_is_asked_once(qtbot: QtBot) -> None:
    zero_face = GENERAL["zero_face"]
    of_zones = [
        gap_row(
            zone,
            4.0,
            State.NOT_KNOWN,
            questions=(f"{zero_face} {k}.0 if here, {k}.5 if there.", QUESTIONS[0]),
        )
        for k, zone in enumerate(("barrel", "shoulder", "spoke back"))
    ]
    state = document().state
    assert state.measurements is not None
    found = lines(replace(state, measurements=replace(state.measurements, gap=tuple(of_zones))))
    to_shape = next(line for line in every(found) if line.key == f"gap {CALIPER}")
    assert [line.label for line in to_shape.children if "asks" in line.key] == [zero_face, QUESTIONS[0]]
    assert to_shape.note == "2 questions open"
    assert len(to_shape.children) == 5


def test_a_row_or_all_of_it_is_copied_with_tabs(qtbot: QtBot) -> None:
    panel = readings(qtbot, document())
    panel.tree.setFocus()
    panel.tree.setCurrentIndex(panel.model.find(f"gap {CALIPER} shoulder"))
    QTest.keyClick(panel.tree, Qt.Key.Key_C, Qt.KeyboardModifier.ControlModifier)
    head, row = QGuiApplication.clipboard().text().splitlines()
    cells = dict(zip(head.split("\t"), row.split("\t"), strict=True))
    assert (cells["value"], cells["unit"], cells["needs"], cells["spare"]) == (
        "3.20",
        "mm",
        "3.00 + 0.30",
        "-0.10",
    )
    assert (cells["state"], cells["z mm"], cells["r mm"]) == ("short", "43.00", "190.00")
    both = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier
    QTest.keyClick(panel.tree, Qt.Key.Key_C, both)
    table = [row.split("\t") for row in QGuiApplication.clipboard().text().splitlines()]
    assert {len(row) for row in table} == {len(head.split("\t"))}
    words = [row[1] for row in table]
    assert f"To {CALIPER} Spoke back" in words
    assert "Polar inertia" in words


def test_a_closed_group_stays_closed_and_the_current_line_current_while_numbers_move(qtbot: QtBot) -> None:
    opened = document()
    panel = readings(qtbot, opened)
    panel.tree.collapse(panel.model.find("stock"))
    panel.tree.setCurrentIndex(panel.model.find(f"gap {CALIPER} spoke back"))
    fewer = measurements(gap_row("spoke back", 5.0, State.CLEAR))
    panel.show_state(document(fewer).state)
    assert not panel.tree.isExpanded(panel.model.find("stock"))
    assert panel.tree.isExpanded(panel.model.find("gap"))
    line = panel.model.line(panel.tree.currentIndex())
    assert line is not None
    assert (line.key, line.value) == (f"gap {CALIPER} spoke back", "5.00")
    assert "gap 5.00 mm" in panel.detail.toPlainText()


def test_only_numbers_changing_rebuilds_nothing(qtbot: QtBot) -> None:
    panel = readings(qtbot, document(measurements(gap_row("barrel", 4.0, State.CLEAR))))
    with qtbot.assertNotEmitted(panel.model.modelReset), qtbot.waitSignal(panel.model.dataChanged):
        panel.show_state(document(measurements(gap_row("barrel", 4.1, State.CLEAR))).state)


# Summary


def test_the_three_worst_of_all_groups_by_state_then_spare() -> None:
    """The order is checked against the states written down in the made-up readings."""
    found: Measurements = measurements()
    unit_rows = [sentence(row, "mm") for row in worst_three(found)]
    assert unit_rows == [
        f"Barrel to {CALIPER}: −1.33 mm, needs 3.00 + 0.30, at r 134",
        f"Shoulder to {CALIPER}: 3.20 mm, needs 3.00 + 0.30, at r 190",
        f"Spoke back to {CALIPER}: 4.12 mm, needs 3.00 + 0.30, at r 134 (2 questions open)",
    ]


def test_the_summary_says_what_wheel_this_is(qtbot: QtBot) -> None:
    opened = document()
    panel = SummaryPanel(Theme())
    qtbot.addWidget(panel)
    panel.show_state(opened.state)
    assert "18 x 10 J" in panel.title.text()
    assert "✕ touching" in panel.title.text()
    said = panel.facts.text()
    # Backspace = A / 2 + B + inset: 254 / 2 + 13 + 38 = 178.0.
    assert "inset 38.00 mm" in said
    assert "backspace 178.00 mm (7.01 in)" in said
    assert format_length(178.0, "in", 2) in said
    for words in ("5 × 120 mm", "bore 72.00 mm", "blank A18", "load 690 kg (1521 lb)"):
        assert words in said


def test_signs_of_facts_and_faults_are_true_minus_signs(qtbot: QtBot) -> None:
    opened = document()
    wheel = replace(opened.project.wheels[0], inset_mm=-12.5)
    opened.commit(replace(opened.project, wheels=(wheel, *opened.project.wheels[1:])), "negative inset")
    assert "inset −12.50 mm" in facts(opened.project, wheel)
    low = Fault("outline crosses itself", "The outline crosses itself at z -12.00, r 200.00.", (-12.0, 200.0))
    panel = readings(qtbot, document(faults=(low,)))
    assert panel.model.find("fault 0").data() == "The outline crosses itself at z −12.00, r 200.00."


def test_a_sentence_leads_to_its_place_by_mouse_or_key(qtbot: QtBot) -> None:
    panel = SummaryPanel(Theme())
    qtbot.addWidget(panel)
    panel.show_state(document().state)
    panel.resize(900, 200)
    panel.show()
    panel.worst.setFocus()
    with qtbot.waitSignal(panel.place_clicked) as went:
        QTest.keyClick(panel.worst, Qt.Key.Key_Tab)
        QTest.keyClick(panel.worst, Qt.Key.Key_Return)
    assert went.args == [50.25, 134.0]
    plain = panel.worst.grab().toImage()
    with qtbot.waitSignal(panel.place_clicked) as went:
        QTest.keyClick(panel.worst, Qt.Key.Key_Tab)
        QTest.keyClick(panel.worst, Qt.Key.Key_Enter)
    second = worst_three(measurements())[1]
    assert went.args == list(place_of(second) or ())
    assert panel.worst.grab().toImage() != plain, "the current sentence is not marked"
    # Each stands on a line of its own here, its sign before it.
    row = panel.worst.fontMetrics().lineSpacing()
    with qtbot.waitSignal(panel.place_clicked) as went:
        QTest.mouseClick(panel.worst, Qt.MouseButton.LeftButton, pos=QPoint(60, row + row // 2))
    assert went.args == list(place_of(second) or ())
    for nowhere in (QPoint(2, row // 2), QPoint(panel.worst.width() - 2, row // 2)):
        with qtbot.assertNotEmitted(panel.place_clicked, wait=20):
            QTest.mouseClick(panel.worst, Qt.MouseButton.LeftButton, pos=nowhere)


def test_the_sentences_follow_another_font(qtbot: QtBot) -> None:
    panel = SummaryPanel(Theme())
    qtbot.addWidget(panel)
    panel.show_state(document().state)
    panel.resize(900, 200)
    panel.show()
    worst, before = panel.worst, panel.worst.grab().toImage()
    font = worst.font()
    font.setPointSizeF(font.pointSizeF() * 1.5)
    worst.setFont(font)
    assert worst.grab().toImage() != before


def test_the_summary_shows_faults_instead(qtbot: QtBot) -> None:
    panel = SummaryPanel(Theme())
    qtbot.addWidget(panel)
    panel.show_state(document(faults=(FAULT,)).state)
    assert "fault" in panel.title.text()
    assert FAULT.message in panel.worst.text()
