"""The window's actions as data: name, words, key and method; menus and tool bar are made from them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache, reduce
from typing import Any

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QAction, QIcon, QKeySequence, QPainter, QPixmap
from PySide6.QtSvg import QSvgRenderer
from PySide6.QtWidgets import QMainWindow, QMenu

from app import resources
from app.language import tr
from app.views.theme import Theme


@dataclass(frozen=True)
class Action:
    """One thing that the window can do.

    Attributes:
        name: stable, unique.
        text: in its menu, sentence case; "..." where a dialog follows.
        key: portable key sequence it is shipped with; every action has one, and users may choose another.
        method: of the window, dotted; called without arguments, with a bool if it can be checked.
        icon: name of its icon; empty for none. Actions with an icon are on the tool bar.
        checkable: it is on or off.
        apart: a line is drawn above it.
    """

    name: str
    text: str
    key: str
    method: str
    icon: str = ""
    checkable: bool = False
    apart: bool = False


MENUS: tuple[tuple[str, tuple[Action, ...]], ...] = (
    (
        tr("&File"),
        (
            Action("new", tr("&New project"), "Ctrl+N", "files.new", "new"),
            Action("open", tr("&Open..."), "Ctrl+O", "files.open", "open"),
            Action("open_recent", tr("Open &recent..."), "Ctrl+Shift+O", "files.open_recent"),
            Action("open_sample", tr("Open a sa&mple..."), "Ctrl+Shift+M", "files.open_sample"),
            Action("open_recovered", tr("Unsaved &work found..."), "Ctrl+Alt+U", "files.open_recovered"),
            Action("open_earlier", tr("Open an ear&lier state..."), "Ctrl+Alt+O", "files.open_earlier"),
            Action("save", tr("&Save"), "Ctrl+S", "files.save", "save", apart=True),
            Action("save_as", tr("Save &as..."), "Ctrl+Shift+S", "files.save_as"),
            Action(
                "import", tr("&Import outline..."), "Ctrl+I", "files.import_outline", "import", apart=True
            ),
            Action("trace", tr("&Trace a picture..."), "Ctrl+Shift+T", "dialogs.trace_picture"),
            Action("export", tr("&Export section (DXF, CSV)..."), "Ctrl+E", "files.export", "export"),
            Action("report", tr("Section re&port, internal (PDF)..."), "Ctrl+R", "files.report", "report"),
            Action(
                "customer_report",
                tr("Report for the &customer (PDF)..."),
                "Ctrl+Alt+R",
                "files.customer_report",
            ),
            Action("paper_gauge", tr("Paper &gauge (PDF)..."), "Ctrl+Shift+P", "files.paper_gauge"),
            Action(
                "section_sheet",
                tr("Section s&heet (PDF)..."),
                "Ctrl+Alt+S",
                "sheets.section_sheet",
                apart=True,
            ),
            Action("release_sheet", tr("Re&lease section sheet..."), "Ctrl+Alt+E", "sheets.release"),
            Action("releases", tr("Release&d sheets..."), "Ctrl+Alt+P", "sheets.releases"),
            Action("print", tr("&Print drawing..."), "Ctrl+P", "files.print_drawing", "print"),
            Action("quit", tr("&Quit"), "Ctrl+Q", "close", apart=True),
        ),
    ),
    (
        tr("&Edit"),
        (
            Action("undo", tr("&Undo"), "Ctrl+Z", "document.undo", "undo"),
            Action("redo", tr("&Redo"), "Ctrl+Shift+Z", "document.redo", "redo"),
            Action(
                "copy_table", tr("&Copy readings as a table"), "Ctrl+Shift+C", "copy_readings", apart=True
            ),
            Action(
                "insert_vertex", tr("&Insert vertex"), "I", "canvas.vertices.insert", "insert", apart=True
            ),
            Action("delete_vertex", tr("&Delete vertex"), "Del", "canvas.vertices.delete", "delete"),
            Action("round_vertex", tr("R&ound vertex"), "R", "canvas.type_radius", "round"),
            Action("type_coordinates", tr("&Type coordinates"), "C", "canvas.type_coordinates"),
            Action("next_vertex", tr("&Next vertex"), "N", "next_vertex"),
            Action("previous_vertex", tr("&Previous vertex"), "Shift+N", "previous_vertex"),
        ),
    ),
    (
        tr("&Draw"),
        (
            Action("wall", tr("Make a &wall from here to here"), "W", "canvas.shaping.wall"),
            Action("offset", tr("Move a stretch of &skin"), "O", "canvas.shaping.offset"),
            Action("relief", tr("Cut a &relief for a shape"), "G", "canvas.shaping.relief"),
            Action("take_over", tr("&Copy a stretch from another version"), "V", "canvas.shaping.take_over"),
            Action(
                "take_zone", tr("Copy a zone from another version"), "Shift+V", "canvas.shaping.take_zone"
            ),
            Action("blend", tr("&Blend two edges"), "J", "canvas.shaping.blend", apart=True),
            Action("arc_to", tr("&Arc to a vertex"), "A", "canvas.shaping.arc_to"),
            Action("legs", tr("Draw by &lengths and angles"), "D", "canvas.shaping.legs"),
            Action("edge", tr("Len&gth and angle of an edge"), "K", "canvas.shaping.edge"),
            Action("lead", tr("&Trim or extend an edge"), "E", "canvas.shaping.lead"),
            Action(
                "dimension", tr("&Dimension of what is chosen"), "Q", "canvas.dimension_these", apart=True
            ),
            Action("type_dimension", tr("T&ype a dimension"), "Shift+H", "canvas.dimensioning.type_first"),
            Action(
                "zone_vertices", tr("Choose all of a &zone"), "Z", "canvas.vertices.select_zone", apart=True
            ),
            Action("move_together", tr("&Move and turn together"), "Y", "canvas.shaping.move"),
        ),
    ),
    (
        tr("H&old"),
        (
            Action("hold_radius", tr("&Radius"), "Alt+1", "holding.radius"),
            Action("hold_tangent", tr("&Tangent"), "Alt+2", "holding.tangent"),
            Action("hold_horizontal", tr("Along the a&xle"), "Alt+3", "holding.horizontal", apart=True),
            Action("hold_vertical", tr("S&quare to the axle"), "Alt+4", "holding.vertical"),
            Action("hold_angle", tr("&Angle"), "Alt+5", "holding.angle"),
            Action("hold_distance", tr("&Distance"), "Alt+6", "holding.distance", apart=True),
            Action("hold_along_z", tr("Distance along &z"), "Alt+7", "holding.along_z"),
            Action("hold_along_r", tr("Distance along &r"), "Alt+8", "holding.along_r"),
            Action("hold_equal_wall", tr("&Equal wall"), "Alt+9", "holding.equal_wall"),
            Action("hold_clear", tr("&Clear of the nearest shape"), "Alt+0", "holding.clear"),
            Action(
                "constraints", tr("&List of constraints..."), "Ctrl+Alt+C", "holding.show_list", apart=True
            ),
            Action("parameters", tr("&Parameters..."), "Ctrl+Alt+A", "beside.show_parameters"),
        ),
    ),
    (
        tr("&Project"),
        (
            Action("new_wheel", tr("New &wheel..."), "Ctrl+Shift+W", "dialogs.new_wheel", "wheel"),
            Action("new_version", tr("New version of the wheel..."), "Ctrl+Alt+V", "dialogs.new_version"),
            Action("versions", tr("Differences of &versions..."), "Ctrl+Alt+D", "beside.show_versions"),
            Action("new_blank", tr("New &blank..."), "Ctrl+Shift+B", "dialogs.new_blank", "blank"),
            Action("new_shape", tr("New &stay-out shape..."), "Ctrl+Shift+A", "dialogs.new_shape", "shape"),
            Action("brake_sheet", tr("Brake from a shee&t..."), "Ctrl+Shift+H", "dialogs.brake_sheet"),
            Action("brake_variant", tr("&Variant of a brake..."), "Ctrl+Shift+V", "dialogs.brake_variant"),
            Action("new_rules", tr("New &rule set..."), "Ctrl+Shift+R", "dialogs.new_rules"),
            Action("new_conditions", tr("New &conditions..."), "Ctrl+Shift+N", "dialogs.new_conditions"),
            Action("new_material", tr("New &material..."), "Ctrl+Shift+L", "dialogs.new_material"),
            Action("new_fitment", tr("New &fitment..."), "Ctrl+Shift+F", "dialogs.new_fitment"),
            Action("new_trial_fit", tr("New tria&l fit..."), "Ctrl+Shift+I", "dialogs.new_trial_fit"),
            Action("new_test", tr("New test that was made..."), "Ctrl+Alt+T", "dialogs.new_test_record"),
            Action("sheet_settings", tr("Sheet tolerances &and notes..."), "Ctrl+Alt+N", "sheets.settings"),
            Action("shop_rates", tr("Shop rates and &prices..."), "Ctrl+Alt+M", "dialogs.shop_rates"),
            Action("strength_settings", tr("Strength settings..."), "Ctrl+Alt+H", "dialogs.strength"),
            Action("programme_settings", tr("Die programme settings..."), "Ctrl+Alt+G", "dialogs.programme"),
            Action("new_like", tr("New wheel of this desi&gn..."), "Ctrl+Shift+G", "dialogs.new_like"),
            Action("change_size", tr("Change si&ze..."), "Ctrl+Shift+D", "dialogs.change_size", apart=True),
            Action("details", tr("Wheel &details..."), "Ctrl+Return", "dialogs.details"),
            Action("edit_wheel", tr("&Edit the wheel"), "Ctrl+1", "editing.edit_wheel", apart=True),
            Action("edit_blank", tr("E&dit its blank"), "Ctrl+2", "editing.edit_blank"),
            Action("edit_shape", tr("Edit the next s&hape it must clear"), "Ctrl+3", "editing.edit_shape"),
            Action("seat", tr("Seat it best in its blan&k"), "Ctrl+4", "editing.seat_in_blank"),
            Action("offers", tr("What would make it f&it..."), "Ctrl+J", "beside.show_offers", apart=True),
            Action("match", tr("Every wheel against every bra&ke..."), "Ctrl+M", "beside.show_match"),
            Action("roadmap", tr("Roadmap..."), "Ctrl+U", "beside.show_roadmap"),
            Action("family", tr("New blan&ks for the roadmap..."), "Ctrl+Shift+K", "beside.show_family"),
            Action("limits", tr("Lim&its of a blank..."), "Ctrl+L", "beside.show_limits"),
            Action("stages", tr("Stages &of the blank..."), "Ctrl+T", "beside.show_stages"),
            Action("face", tr("Face and whole wheel..."), "F8", "beside.show_face"),
            Action("first_off", tr("Measured first-off..."), "Ctrl+Alt+F", "beside.show_first_off"),
            Action("strength", tr("Strength..."), "Ctrl+H", "beside.show_strength"),
            Action("group_blank", tr("Smallest blank of a gro&up..."), "Ctrl+B", "beside.show_group_blank"),
            Action("programme", tr("Die programme..."), "Ctrl+G", "beside.show_programme"),
            Action("next_wheel", tr("Ne&xt wheel"), "Ctrl+PgDown", "editing.next_wheel", apart=True),
            Action("previous_wheel", tr("Pre&vious wheel"), "Ctrl+PgUp", "editing.previous_wheel"),
        ),
    ),
    (
        tr("&View"),
        (
            Action("fit", tr("&Fit"), "F", "canvas.sheet.fit", "fit"),
            Action("tightest", tr("Zoom to the &tightest place"), "T", "zoom_to_tightest", "tightest"),
            Action("zoom_in", tr("Zoom &in"), "+", "zoom_in"),
            Action("zoom_out", tr("Zoom &out"), "-", "zoom_out"),
            Action("band", tr("Wall &band"), "B", "toggles.set_band", checkable=True, apart=True),
            Action(
                "stress", tr("&Stress of the section (preview)"), "S", "toggles.set_stress", checkable=True
            ),
            Action(
                "saved_line",
                tr("&Line of the last saved state"),
                "P",
                "toggles.set_saved_line",
                checkable=True,
            ),
            Action("difference", tr("Shade the di&fference"), "X", "toggles.set_difference", checkable=True),
            Action(
                "magnifier",
                tr("Magnifie&r while dragging"),
                "Shift+T",
                "toggles.set_magnifier",
                checkable=True,
            ),
            Action("dimensions", tr("Dime&nsions"), "H", "toggles.set_dimensions", checkable=True),
            Action("inch", tr("Show &inches"), "U", "toggles.set_inch", checkable=True),
            Action("dark", tr("&Dark theme"), "Ctrl+K", "toggles.set_dark", checkable=True),
            Action("language", tr("Language..."), "Ctrl+Alt+L", "toggles.choose_language"),
            Action("parts", tr("&Parts and vertices"), "F5", "toggles.show_left", checkable=True, apart=True),
            Action("readings", tr("&Readings"), "F3", "toggles.show_right", checkable=True),
            Action("strip", tr("Profile &strip"), "F4", "toggles.show_strip", checkable=True),
            Action("to_canvas", tr("&Go to the drawing"), "F6", "focus_canvas"),
        ),
    ),
    (
        tr("&Help"),
        (
            Action("manual", tr("&Manual"), "F1", "help.show_manual"),
            Action("first_steps", tr("&First steps"), "Shift+F9", "first_steps.show_again"),
            Action("explain", tr("What a &reading means"), "Shift+F1", "help.explain"),
            Action("commands", tr("&Commands..."), "F9", "help.show_commands"),
            Action("keys", tr("&Keys..."), "Ctrl+F9", "help.show_keys"),
            Action("about", tr("&About and caution"), "Ctrl+F1", "help.show_about", apart=True),
        ),
    ),
)


def every() -> list[Action]:
    """Return all actions, menu by menu."""
    return [action for _, actions in MENUS for action in actions]


def install(window: QMainWindow, theme: Theme) -> dict[str, QAction]:
    """Make the window's menus and tool bar from the data and return the actions by name."""
    made: dict[str, QAction] = {}
    bar = window.addToolBar(tr("Tools"))
    bar.setObjectName("tools")
    bar.setMovable(False)
    bar.setIconSize(QSize(20, 20))
    for title, actions in MENUS:
        menu: QMenu = window.menuBar().addMenu(title)
        on_bar = False
        for action in actions:
            if action.apart:
                menu.addSeparator()
            item = _made(window, action)
            made[action.name] = item
            menu.addAction(item)
            if action.icon:
                bar.addAction(item)
                on_bar = True
        if on_bar:
            bar.addSeparator()
    dress(made, theme)
    return made


def dress(made: dict[str, QAction], theme: Theme) -> None:
    """Draw the icons in the theme's ink."""
    for action in every():
        if action.icon:
            made[action.name].setIcon(icon(action.icon, theme))


def icon(name: str, theme: Theme) -> QIcon:
    """Return an icon of the program, drawn in the theme's ink."""
    return _drawn(name, theme.colours.ink)


@cache
def _drawn(name: str, ink: str) -> QIcon:
    text = resources.icon(name).read_text(encoding="utf-8").replace("currentColor", ink)
    renderer = QSvgRenderer(text.encode())
    result = QIcon()
    for side in (20, 40):
        picture = QPixmap(side, side)
        picture.fill(Qt.GlobalColor.transparent)
        painter = QPainter(picture)
        renderer.render(painter)
        painter.end()
        result.addPixmap(picture)
    return result


def _made(window: QMainWindow, action: Action) -> QAction:
    item = QAction(action.text, window)
    item.setObjectName(action.name)
    item.setShortcut(QKeySequence(action.key))
    item.setCheckable(action.checkable)
    words = action.text.replace("&", "").rstrip(".")
    item.setToolTip(f"{words} ({QKeySequence(action.key).toString(QKeySequence.SequenceFormat.NativeText)})")
    call = method(window, action.method)
    if action.checkable:
        item.toggled.connect(call)
    else:
        item.triggered.connect(lambda _checked=False: call())
    return item


def method(window: Any, dotted: str) -> Callable[..., Any]:
    """Return the window's method of that dotted name."""
    found: Callable[..., Any] = reduce(getattr, dotted.split("."), window)
    return found
