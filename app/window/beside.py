"""The windows that stand beside the drawing: match, offers, blanks of a group, limits, stages, roadmap."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QDialog, QWidget

from app.language import tr
from app.project.project import Project
from app.session.document import Document
from app.session.edited import Edited, Kind
from app.session.shown import Shown
from app.studies.match import Pair
from app.views.canvas.editor import Canvas
from app.views.theme import Theme
from app.window.settings import Settings

if TYPE_CHECKING:
    from app.window.blank_window import BlankWindow
    from app.window.face_window import FaceWindow
    from app.window.family_window import FamilyWindow
    from app.window.first_off_window import FirstOffWindow
    from app.window.limits_window import LimitsWindow
    from app.window.match_window import MatchWindow
    from app.window.offers_window import OffersWindow
    from app.window.parameters_window import ParametersWindow
    from app.window.programme_window import ProgrammeWindow
    from app.window.roadmap_window import RoadmapWindow
    from app.window.stages_window import StagesWindow
    from app.window.strength_window import StrengthWindow
    from app.window.versions_window import VersionsWindow

#: Width of the drawing that a pair of the match is shown in, mm.
_PAIR_MM = 120.0


class Beside(QObject):
    """Opens each of them once, and takes what comes of it into the document.

    Attributes:
        match, offers, group_blank, limits, stages, roadmap, programme, family, strength, face, versions,
            first_off, parameters: the windows, None until asked for.

    Signals:
        settings_wanted(): the settings of strength are to be edited.
        details_wanted(name): what a wheel is made of is to be edited.
    """

    settings_wanted = Signal()
    details_wanted = Signal(str)

    def __init__(
        self, window: QWidget, document: Document, theme: Theme, canvas: Canvas, settings: Settings
    ) -> None:
        super().__init__(window)
        self._settings = settings
        self._window, self._document, self._theme, self._canvas = window, document, theme, canvas
        self.match: MatchWindow | None = None
        self.offers: OffersWindow | None = None
        self.group_blank: BlankWindow | None = None
        self.limits: LimitsWindow | None = None
        self.stages: StagesWindow | None = None
        self.roadmap: RoadmapWindow | None = None
        self.programme: ProgrammeWindow | None = None
        self.family: FamilyWindow | None = None
        self.strength: StrengthWindow | None = None
        self.face: FaceWindow | None = None
        self.versions: VersionsWindow | None = None
        self.first_off: FirstOffWindow | None = None
        self.parameters: ParametersWindow | None = None
        self._unit = document.project.display_unit
        document.shown.connect(self._follow_unit)

    def _follow_unit(self, shown: Shown) -> None:
        """Have the fields of windows that stand, also closed ones, follow the project's unit."""
        unit = shown.project.display_unit
        if unit == self._unit:
            return
        self._unit = unit
        windows = self.windows()
        if windows:
            from app.window.dialogs.typed_fields import follow_unit

            for window in windows:
                follow_unit(window, unit)

    def windows(self) -> list[QWidget]:
        """Return those that were asked for, closed ones too."""
        windows = (
            *(self.match, self.offers, self.group_blank, self.limits, self.stages, self.roadmap),
            *(self.programme, self.family, self.strength, self.face, self.versions, self.first_off),
            self.parameters,
        )
        return [window for window in windows if window is not None]

    def show_parameters(self) -> None:
        """Show the named parameters of what is edited."""
        from app.window.parameters_window import ParametersWindow

        if self.parameters is None:
            self.parameters = ParametersWindow(self._document, self._window)
        _to_front(self.parameters)

    def show_match(self) -> None:
        """Hold every wheel against every brake."""
        from app.window.match_window import MatchWindow

        if self.match is None:
            self.match = MatchWindow(self._document, self._theme, self._window)
            self.match.pair_wanted.connect(self._show_pair)
        elif not self.match.isVisible():
            self.match.show_again()
        _to_front(self.match)

    def show_offers(self) -> None:
        """Look for what would make the shown wheel fit."""
        from app.window.offers_window import OffersWindow

        if self.offers is None:
            self.offers = OffersWindow(self._document, self._theme, self._window)
            self.offers.wheel_made.connect(self._take_version)
        elif not self.offers.isVisible():
            self.offers.look()
        _to_front(self.offers)

    def show_group_blank(self) -> None:
        """Find the smallest blank of a group of wheels."""
        from app.window.blank_window import BlankWindow

        if self.group_blank is None:
            self.group_blank = BlankWindow(self._document, self._theme, self._window)
            self.group_blank.blank_made.connect(self._document.commit)
        elif not self.group_blank.isVisible():
            self.group_blank.show_again()
        _to_front(self.group_blank)

    def show_limits(self) -> None:
        """Map which widths and insets a blank can be cut to."""
        from app.window.limits_window import LimitsWindow

        if self.limits is None:
            self.limits = LimitsWindow(self._document, self._theme, self._window)
            self.limits.wheel_made.connect(self._take_version)
        elif not self.limits.isVisible():
            self.limits.show_wheel()
        _to_front(self.limits)

    def show_stages(self) -> None:
        """Follow the shown wheel through its blank."""
        from app.window.stages_window import StagesWindow

        if self.stages is None:
            self.stages = StagesWindow(self._document, self._theme, self._window)
        elif not self.stages.isVisible():
            self.stages.start()
        _to_front(self.stages)

    def show_face(self) -> None:
        """Show the wheel from the street, and the whole of it shaded."""
        from app.window.face_window import FaceWindow

        if self.face is None:
            self.face = FaceWindow(self._document, self._theme, self._window)
        _to_front(self.face)

    def show_strength(self) -> None:
        """Screen the shown wheel for strength."""
        from app.window.strength_window import StrengthWindow

        if self.strength is None:
            self.strength = StrengthWindow(self._document, self._theme, self._window)
            self.strength.project_made.connect(self._document.commit)
            self.strength.settings_wanted.connect(self.settings_wanted)
            self.strength.details_wanted.connect(self.details_wanted)
        elif not self.strength.isVisible():
            self.strength.show_wheel()
        _to_front(self.strength)

    def show_versions(self) -> None:
        """Hold two versions against each other, zone by zone."""
        from app.window.versions_window import VersionsWindow

        if self.versions is None:
            self.versions = VersionsWindow(self._document, self._theme, self._window)
        _to_front(self.versions)

    def show_first_off(self) -> None:
        """Hold measured points against the shown wheel."""
        from app.window.first_off_window import FirstOffWindow

        if self.first_off is None:
            self.first_off = FirstOffWindow(self._document, self._theme, self._window)
        _to_front(self.first_off)

    def end(self) -> None:
        """End what works beside the window; it is going."""
        if self.strength is not None:
            self.strength.end()

    def show_roadmap(self) -> None:
        """Show the fitments as a table."""
        from app.window.roadmap_window import RoadmapWindow

        if self.roadmap is None:
            self.roadmap = RoadmapWindow(self._document, self._theme, self._window)
        _to_front(self.roadmap)

    def show_family(self) -> None:
        """Design new blanks for the roadmap."""
        from app.window.family_window import FamilyWindow

        if self.family is None:
            self.family = FamilyWindow(self._document, self._theme, self._window)
            self.family.blanks_made.connect(self._document.commit)
        _to_front(self.family)

    def show_programme(self) -> None:
        """Plan which dies to commission for the fitments."""
        from app.window.programme_window import ProgrammeWindow

        if self.programme is None:
            self.programme = ProgrammeWindow(self._document, self._theme, self._settings, self._window)
            self.programme.wheel_made.connect(self._take_version)
            self.programme.project_made.connect(self._document.commit)
            self.programme.blank_wanted.connect(self._show_blank)
        elif not self.programme.isVisible():
            self.programme.show_again()
        _to_front(self.programme)

    def _take_version(self, project: Project, text: str, name: str) -> None:
        self._document.commit(project, text)
        self._document.select_wheel(name)

    def _show_blank(self, name: str) -> None:
        """Show a blank's section, with a wheel that is cut from it where one is drawn."""
        document = self._document
        if all(blank.name != name for blank in document.project.blanks):
            document.say(tr("'{name}' is no blank of the project: it has no section.", name=name))
            return
        wheel = next((w for w in document.project.wheels if w.blank == name), None)
        if wheel is not None:
            document.select_wheel(wheel.name)
        document.edit(Edited(Kind.BLANK, name))
        self._window.activateWindow()

    def _show_pair(self, pair: Pair) -> None:
        """Show the wheel of a pair at the place that decides."""
        document = self._document
        if all(wheel.name != pair.wheel for wheel in document.project.wheels):
            document.say(tr("The wheel '{wheel}' is no longer in the project.", wheel=pair.wheel))
            return
        document.select_wheel(pair.wheel)
        wheel = document.wheel
        if pair.at is not None:
            self._canvas.sheet.zoom_to(pair.at, _PAIR_MM)
        if wheel is not None and pair.shape not in wheel.clears:
            document.say(
                tr(
                    "'{shape}' is not among what {wheel} must clear: add it in Wheel details.",
                    shape=pair.shape,
                    wheel=pair.wheel,
                )
            )


def _to_front(dialog: QDialog) -> None:
    if dialog.isVisible():
        dialog.raise_()
    dialog.show()
    dialog.activateWindow()
