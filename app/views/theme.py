"""Colours and line styles of the drafting sheet; sign and line style carry a state before its colour does."""

from __future__ import annotations

from dataclasses import asdict, dataclass

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtGui import QColor, QFont, QFontMetrics, QFontMetricsF, QPalette

from app.reports import look
from geometry.readings.rules import State


@dataclass(frozen=True)
class Colours:
    """The colours of one theme, by role."""

    paper: str
    ink: str
    quiet: str
    grid: str
    grid_fine: str
    panel: str
    hairline: str
    accent: str
    wheel: str
    blank: str
    shape: str
    shape_edge: str
    clear: str
    tight: str
    short: str
    touching: str
    not_known: str

    def of(self, state: State | None) -> str:
        """Return the colour of a state; without a rule it is the quiet one."""
        if state is None:
            return self.quiet
        return str(getattr(self, state.name.lower()))


def _made(colours: Colours) -> dict[str, QColor]:
    return {role: QColor(written) for role, written in asdict(colours).items()}


# Drawn things and states have the hues that they are printed in; on the screen's tinted grounds the light
# theme is a shade darker, so that text keeps 4.5 : 1 and marks 3 : 1 (tests/gui/test_contrast.py).
LIGHT = Colours(
    paper="#FBFAF7",
    ink=look.INK,
    quiet="#60646B",
    grid="#E6E2DA",
    grid_fine="#F1EEE8",
    panel="#F5F3EE",
    hairline="#D8D3C8",
    accent="#2F6DB5",
    wheel=look.WHEEL,
    blank="#7A7063",
    shape=look.SHAPE,
    shape_edge="#B1542A",
    clear="#2C67AB",
    tight="#8A5A0F",
    short="#AE3F28",
    touching=look.COLOURS[State.TOUCHING],
    not_known="#5E6571",
)
DARK = Colours(
    paper="#1E2126",
    ink="#E4E2DC",
    quiet="#9BA1A9",
    grid="#343941",
    grid_fine="#282C33",
    panel="#24282E",
    hairline="#3C424B",
    accent="#7FB2EE",
    wheel="#434D5A",
    blank="#A59A8A",
    shape="#4A362C",
    shape_edge="#E08A5C",
    clear="#7FB2EE",
    tight="#E0A94A",
    short="#F08A6E",
    touching="#D39BE6",
    not_known="#A7AEB9",
)

#: Makes the form of a text: every digit a 0. Figures are tabular, so that both are equally wide.
ZEROS = str.maketrans("123456789", "000000000")

#: Line style of each state: readable in grey, as its sign is.
LINES: dict[State, Qt.PenStyle] = {
    State.TOUCHING: Qt.PenStyle.DashDotDotLine,
    State.SHORT: Qt.PenStyle.DashLine,
    State.NOT_KNOWN: Qt.PenStyle.DotLine,
    State.TIGHT: Qt.PenStyle.DashDotLine,
    State.CLEAR: Qt.PenStyle.SolidLine,
}


class Theme(QObject):
    """The theme in force; every view repaints on `changed`."""

    changed = Signal()

    def __init__(self, dark: bool = False, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._dark = dark
        self._made = {True: _made(DARK), False: _made(LIGHT)}

    @property
    def dark(self) -> bool:
        """True for the dark theme."""
        return self._dark

    def set_dark(self, dark: bool) -> None:
        """Change the theme."""
        if dark != self._dark:
            self._dark = dark
            self.changed.emit()

    @property
    def colours(self) -> Colours:
        """The colours in force."""
        return DARK if self._dark else LIGHT

    def colour(self, role: str) -> QColor:
        """Return the colour of a role, such as `ink`."""
        return self._made[self._dark][role].toRgb()  # a copy: the constructor tries all that makes a colour

    def state_colour(self, state: State | None) -> QColor:
        """Return the colour of a state."""
        return self.colour("quiet" if state is None else state.name.lower())

    def palette(self) -> QPalette:
        """Return the palette for widgets."""
        c = self.colours
        palette = QPalette()
        roles = {
            QPalette.ColorRole.Window: c.panel,
            QPalette.ColorRole.Base: c.paper,
            QPalette.ColorRole.AlternateBase: c.panel,
            QPalette.ColorRole.Button: c.panel,
            QPalette.ColorRole.WindowText: c.ink,
            QPalette.ColorRole.Text: c.ink,
            QPalette.ColorRole.ButtonText: c.ink,
            QPalette.ColorRole.BrightText: c.ink,
            QPalette.ColorRole.ToolTipBase: c.paper,
            QPalette.ColorRole.ToolTipText: c.ink,
            QPalette.ColorRole.PlaceholderText: c.quiet,
            QPalette.ColorRole.Highlight: c.accent,
            QPalette.ColorRole.HighlightedText: c.paper,
            QPalette.ColorRole.Link: c.accent,
            QPalette.ColorRole.Light: c.paper,
            QPalette.ColorRole.Midlight: c.grid_fine,
            QPalette.ColorRole.Mid: c.hairline,
            QPalette.ColorRole.Dark: c.quiet,
            QPalette.ColorRole.Shadow: c.ink,
        }
        for role, colour in roles.items():
            palette.setColor(role, QColor(colour))
        for role in (QPalette.ColorRole.WindowText, QPalette.ColorRole.Text, QPalette.ColorRole.ButtonText):
            palette.setColor(QPalette.ColorGroup.Disabled, role, QColor(c.quiet))
        return palette


def figures(font: QFont, larger: float = 1.0, bold: bool = False) -> QFont:
    """Return the font with tabular figures, `larger` times its size."""
    result = QFont(font)
    result.setFeature(QFont.Tag("tnum"), 1)
    if larger != 1.0 and font.pointSizeF() > 0:
        result.setPointSizeF(font.pointSizeF() * larger)
    result.setBold(bold)
    return result


def words_font(larger: float = 1.0, bold: bool = False) -> QFont:
    """Return the font of words on the drawing, smoothed alike painted at once and kept as a picture."""
    result = figures(QFont(), larger, bold)
    result.setStyleStrategy(QFont.StyleStrategy.NoSubpixelAntialias)
    return result


class Widths:
    """Widths of texts in one font of tabular figures, kept by form: a number that changes is not measured."""

    def __init__(self, metrics: QFontMetrics | QFontMetricsF) -> None:
        self._metrics = metrics
        self._by_form: dict[str, float] = {}

    def of(self, text: str) -> float:
        """Return how far a text reaches, logical pixels."""
        form = text.translate(ZEROS)
        width = self._by_form.get(form)
        if width is None:
            if len(self._by_form) > 500:
                self._by_form.clear()
            width = self._by_form[form] = self._metrics.horizontalAdvance(form)
        return width
