"""What of the window is on or off: layers of the drawing, units, theme and panels."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QInputDialog

from app.language import LANGUAGES, tr

if TYPE_CHECKING:
    from app.window.main_window import MainWindow


class Toggles:
    """Switches parts of a window; its actions that can be checked call these."""

    def __init__(self, window: MainWindow) -> None:
        self._window = window

    def set_band(self, on: bool) -> None:
        """Show or hide the wall band."""
        self._window.canvas.sheet.drawing.set_band(on)

    def set_stress(self, on: bool) -> None:
        """Show the stress of the section in place of the wall band, or the band again."""
        self._window.live_stress.set_on(on)

    def set_saved_line(self, on: bool) -> None:
        """Show or hide the wheel as last saved, as a dotted line."""
        self._window.canvas.sheet.drawing.set_saved(on)

    def set_difference(self, on: bool) -> None:
        """Hatch the metal that differs from the version compared last, else from the last saved state."""
        self._window.canvas.sheet.drawing.set_difference(on)

    def set_dimensions(self, on: bool) -> None:
        """Show or hide the dimensions on the drawing."""
        self._window.canvas.dimensioning.set_on(on)

    def set_magnifier(self, on: bool) -> None:
        """Enlarge the tightest place in a corner while something is dragged, or not."""
        self._window.canvas.sheet.set_magnifier(on)

    def set_inch(self, on: bool) -> None:
        """Show lengths in inch or mm; the file keeps the choice."""
        unit = "in" if on else "mm"
        project = replace(self._window.document.project, display_unit=unit)
        self._window.document.commit(project, tr("Show inches") if on else tr("Show mm"))
        self._window.say(
            tr(
                "Lengths in {on}: the project keeps this unit when it is saved.",
                on=tr("inches") if on else "mm",
            )
        )

    def set_dark(self, on: bool) -> None:
        """Change the theme."""
        self._window.settings.dark = on
        self._window.theme.set_dark(on)

    def choose_language(self) -> None:
        """Ask for the language of the window, which the next start shows: tables of words are made then."""
        settings = self._window.settings
        codes = [None, *LANGUAGES]
        labels = [tr("As the system"), *LANGUAGES.values()]
        label, chosen = QInputDialog.getItem(
            self._window, tr("Language"), tr("Language"), labels, codes.index(settings.language), False
        )
        if chosen and codes[labels.index(label)] != settings.language:
            settings.language = codes[labels.index(label)]
            self._window.say(tr("The language changes at the next start of the program."))

    def show_left(self, on: bool) -> None:
        """Show or hide parts and vertices."""
        self._window.left.setVisible(on)

    def show_right(self, on: bool) -> None:
        """Show or hide the readings."""
        self._window.right.setVisible(on)

    def show_strip(self, on: bool) -> None:
        """Show or hide the profile strip."""
        self._window.strip.setVisible(on)
