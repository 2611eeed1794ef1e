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
        "&File",
        (
            Action("new", "&New project", "Ctrl+N", "files.new", "new"),
            Action("open", "&Open...", "Ctrl+O", "files.open", "open"),
            Action("open_recent", "Open &recent...", "Ctrl+Shift+O", "files.open_recent"),
            Action("open_sample", "Open a sa&mple...", "Ctrl+Shift+M", "files.open_sample"),
            Action("open_recovered", "Unsaved &work found...", "Ctrl+Alt+U", "files.open_recovered"),
            Action("open_earlier", "Open an ear&lier state...", "Ctrl+Alt+O", "files.open_earlier"),
            Action("save", "&Save", "Ctrl+S", "files.save", "save", apart=True),
            Action("save_as", "Save &as...", "Ctrl+Shift+S", "files.save_as"),
            Action("import", "&Import outline...", "Ctrl+I", "files.import_outline", "import", apart=True),
            Action("trace", "&Trace a picture...", "Ctrl+Shift+T", "dialogs.trace_picture"),
            Action("export", "&Export section (DXF, CSV)...", "Ctrl+E", "files.export", "export"),
            Action("report", "Section re&port, internal (PDF)...", "Ctrl+R", "files.report", "report"),
            Action(
                "customer_report", "Report for the &customer (PDF)...", "Ctrl+Alt+R", "files.customer_report"
            ),
            Action("paper_gauge", "Paper &gauge (PDF)...", "Ctrl+Shift+P", "files.paper_gauge"),
            Action(
                "section_sheet", "Section s&heet (PDF)...", "Ctrl+Alt+S", "sheets.section_sheet", apart=True
            ),
            Action("release_sheet", "Re&lease section sheet...", "Ctrl+Alt+E", "sheets.release"),
            Action("releases", "Release&d sheets...", "Ctrl+Alt+P", "sheets.releases"),
            Action("print", "&Print drawing...", "Ctrl+P", "files.print_drawing", "print"),
            Action("quit", "&Quit", "Ctrl+Q", "close", apart=True),
        ),
    ),
    (
        "&Edit",
        (
            Action("undo", "&Undo", "Ctrl+Z", "document.undo", "undo"),
            Action("redo", "&Redo", "Ctrl+Shift+Z", "document.redo", "redo"),
            Action("copy_table", "&Copy readings as a table", "Ctrl+Shift+C", "copy_readings", apart=True),
            Action("insert_vertex", "&Insert vertex", "I", "canvas.vertices.insert", "insert", apart=True),
            Action("delete_vertex", "&Delete vertex", "Del", "canvas.vertices.delete", "delete"),
            Action("round_vertex", "R&ound vertex", "R", "canvas.type_radius", "round"),
            Action("type_coordinates", "&Type coordinates", "C", "canvas.type_coordinates"),
            Action("next_vertex", "&Next vertex", "N", "next_vertex"),
            Action("previous_vertex", "&Previous vertex", "Shift+N", "previous_vertex"),
        ),
    ),
    (
        "&Draw",
        (
            Action("wall", "Make a &wall from here to here", "W", "canvas.shaping.wall"),
            Action("offset", "Move a stretch of &skin", "O", "canvas.shaping.offset"),
            Action("relief", "Cut a &relief for a shape", "G", "canvas.shaping.relief"),
            Action("take_over", "&Copy a stretch from another version", "V", "canvas.shaping.take_over"),
            Action("take_zone", "Copy a zone from another version", "Shift+V", "canvas.shaping.take_zone"),
            Action("blend", "&Blend two edges", "J", "canvas.shaping.blend", apart=True),
            Action("arc_to", "&Arc to a vertex", "A", "canvas.shaping.arc_to"),
            Action("legs", "Draw by &lengths and angles", "D", "canvas.shaping.legs"),
            Action("edge", "Len&gth and angle of an edge", "K", "canvas.shaping.edge"),
            Action("lead", "&Trim or extend an edge", "E", "canvas.shaping.lead"),
            Action("dimension", "&Dimension of what is chosen", "Q", "canvas.dimension_these", apart=True),
            Action("type_dimension", "T&ype a dimension", "Shift+H", "canvas.dimensioning.type_first"),
            Action("zone_vertices", "Choose all of a &zone", "Z", "canvas.vertices.select_zone", apart=True),
            Action("move_together", "&Move and turn together", "Y", "canvas.shaping.move"),
        ),
    ),
    (
        "H&old",
        (
            Action("hold_radius", "&Radius", "Alt+1", "holding.radius"),
            Action("hold_tangent", "&Tangent", "Alt+2", "holding.tangent"),
            Action("hold_horizontal", "Along the a&xle", "Alt+3", "holding.horizontal", apart=True),
            Action("hold_vertical", "S&quare to the axle", "Alt+4", "holding.vertical"),
            Action("hold_angle", "&Angle", "Alt+5", "holding.angle"),
            Action("hold_distance", "&Distance", "Alt+6", "holding.distance", apart=True),
            Action("hold_along_z", "Distance along &z", "Alt+7", "holding.along_z"),
            Action("hold_along_r", "Distance along &r", "Alt+8", "holding.along_r"),
            Action("hold_equal_wall", "&Equal wall", "Alt+9", "holding.equal_wall"),
            Action("hold_clear", "&Clear of the nearest shape", "Alt+0", "holding.clear"),
            Action("constraints", "&List of constraints...", "Ctrl+Alt+C", "holding.show_list", apart=True),
            Action("parameters", "&Parameters...", "Ctrl+Alt+A", "beside.show_parameters"),
        ),
    ),
    (
        "&Project",
        (
            Action("new_wheel", "New &wheel...", "Ctrl+Shift+W", "dialogs.new_wheel", "wheel"),
            Action("new_version", "New version of the wheel...", "Ctrl+Alt+V", "dialogs.new_version"),
            Action("versions", "Differences of &versions...", "Ctrl+Alt+D", "beside.show_versions"),
            Action("new_blank", "New &blank...", "Ctrl+Shift+B", "dialogs.new_blank", "blank"),
            Action("new_shape", "New &stay-out shape...", "Ctrl+Shift+A", "dialogs.new_shape", "shape"),
            Action("brake_sheet", "Brake from a shee&t...", "Ctrl+Shift+H", "dialogs.brake_sheet"),
            Action("brake_variant", "&Variant of a brake...", "Ctrl+Shift+V", "dialogs.brake_variant"),
            Action("new_rules", "New &rule set...", "Ctrl+Shift+R", "dialogs.new_rules"),
            Action("new_conditions", "New &conditions...", "Ctrl+Shift+N", "dialogs.new_conditions"),
            Action("new_material", "New &material...", "Ctrl+Shift+L", "dialogs.new_material"),
            Action("new_fitment", "New &fitment...", "Ctrl+Shift+F", "dialogs.new_fitment"),
            Action("new_trial_fit", "New tria&l fit...", "Ctrl+Shift+I", "dialogs.new_trial_fit"),
            Action("new_test", "New test that was made...", "Ctrl+Alt+T", "dialogs.new_test_record"),
            Action("sheet_settings", "Sheet tolerances &and notes...", "Ctrl+Alt+N", "sheets.settings"),
            Action("shop_rates", "Shop rates and &prices...", "Ctrl+Alt+M", "dialogs.shop_rates"),
            Action("strength_settings", "Strength settings...", "Ctrl+Alt+H", "dialogs.strength"),
            Action("programme_settings", "Die programme settings...", "Ctrl+Alt+G", "dialogs.programme"),
            Action("new_like", "New wheel of this desi&gn...", "Ctrl+Shift+G", "dialogs.new_like"),
            Action("change_size", "Change si&ze...", "Ctrl+Shift+D", "dialogs.change_size", apart=True),
            Action("details", "Wheel &details...", "Ctrl+Return", "dialogs.details"),
            Action("edit_wheel", "&Edit the wheel", "Ctrl+1", "editing.edit_wheel", apart=True),
            Action("edit_blank", "E&dit its blank", "Ctrl+2", "editing.edit_blank"),
            Action("edit_shape", "Edit the next s&hape it must clear", "Ctrl+3", "editing.edit_shape"),
            Action("seat", "Seat it best in its blan&k", "Ctrl+4", "editing.seat_in_blank"),
            Action("offers", "What would make it f&it...", "Ctrl+J", "beside.show_offers", apart=True),
            Action("match", "Every wheel against every bra&ke...", "Ctrl+M", "beside.show_match"),
            Action("roadmap", "Roadmap...", "Ctrl+U", "beside.show_roadmap"),
            Action("family", "New blan&ks for the roadmap...", "Ctrl+Shift+K", "beside.show_family"),
            Action("limits", "Lim&its of a blank...", "Ctrl+L", "beside.show_limits"),
            Action("stages", "Stages &of the blank...", "Ctrl+T", "beside.show_stages"),
            Action("face", "Face and whole wheel...", "F8", "beside.show_face"),
            Action("first_off", "Measured first-off...", "Ctrl+Alt+F", "beside.show_first_off"),
            Action("strength", "Strength...", "Ctrl+H", "beside.show_strength"),
            Action("group_blank", "Smallest blank of a gro&up...", "Ctrl+B", "beside.show_group_blank"),
            Action("programme", "Die programme...", "Ctrl+G", "beside.show_programme"),
            Action("next_wheel", "Ne&xt wheel", "Ctrl+PgDown", "editing.next_wheel", apart=True),
            Action("previous_wheel", "Pre&vious wheel", "Ctrl+PgUp", "editing.previous_wheel"),
        ),
    ),
    (
        "&View",
        (
            Action("fit", "&Fit", "F", "canvas.sheet.fit", "fit"),
            Action("tightest", "Zoom to the &tightest place", "T", "zoom_to_tightest", "tightest"),
            Action("zoom_in", "Zoom &in", "+", "zoom_in"),
            Action("zoom_out", "Zoom &out", "-", "zoom_out"),
            Action("band", "Wall &band", "B", "toggles.set_band", checkable=True, apart=True),
            Action("stress", "&Stress of the section (preview)", "S", "toggles.set_stress", checkable=True),
            Action(
                "saved_line", "&Line of the last saved state", "P", "toggles.set_saved_line", checkable=True
            ),
            Action("difference", "Shade the di&fference", "X", "toggles.set_difference", checkable=True),
            Action(
                "magnifier", "Magnifie&r while dragging", "Shift+T", "toggles.set_magnifier", checkable=True
            ),
            Action("dimensions", "Dime&nsions", "H", "toggles.set_dimensions", checkable=True),
            Action("inch", "Show &inches", "U", "toggles.set_inch", checkable=True),
            Action("dark", "&Dark theme", "Ctrl+K", "toggles.set_dark", checkable=True),
            Action("parts", "&Parts and vertices", "F5", "toggles.show_left", checkable=True, apart=True),
            Action("readings", "&Readings", "F3", "toggles.show_right", checkable=True),
            Action("strip", "Profile &strip", "F4", "toggles.show_strip", checkable=True),
            Action("to_canvas", "&Go to the drawing", "F6", "focus_canvas"),
        ),
    ),
    (
        "&Help",
        (
            Action("manual", "&Manual", "F1", "help.show_manual"),
            Action("first_steps", "&First steps", "Shift+F9", "first_steps.show_again"),
            Action("explain", "What a &reading means", "Shift+F1", "help.explain"),
            Action("commands", "&Commands...", "F9", "help.show_commands"),
            Action("keys", "&Keys...", "Ctrl+F9", "help.show_keys"),
            Action("about", "&About and caution", "Ctrl+F1", "help.show_about", apart=True),
        ),
    ),
)


def every() -> list[Action]:
    """Return all actions, menu by menu."""
    return [action for _, actions in MENUS for action in actions]


def install(window: QMainWindow, theme: Theme) -> dict[str, QAction]:
    """Make the window's menus and tool bar from the data and return the actions by name."""
    made: dict[str, QAction] = {}
    bar = window.addToolBar("Tools")
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
