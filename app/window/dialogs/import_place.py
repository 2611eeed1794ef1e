"""Where the outline lies in the hub's frame: turned, flipped, moved by typing or by pointing."""

from __future__ import annotations

from collections.abc import Callable
from enum import Enum

from PySide6.QtWidgets import QGridLayout, QPushButton, QWidget

from app.files.readers.answer import ReadOutline
from app.language import tr
from app.window.dialogs.form import Form
from app.window.dialogs.import_picture import Pointed
from app.window.dialogs.typed_fields import CheckField, ChoiceField, Kind, NumberField, place
from geometry.shape.outline import ZeroFace
from geometry.shape.placing import Placement

_TURNS = [
    (tr("as drawn"), 0),
    (tr("a quarter to the left"), 1),
    (tr("half round"), 2),
    (tr("a quarter to the right"), 3),
]

Place = tuple[float, float]


class Target(Enum):
    """What is pointed at: (words on the button, words in the picture, which zero face it is)."""

    BEARING = (tr("face the wheel &bears on"), tr("the face the wheel bears on (outer face of the disc hat)"))
    FLANGE = (tr("hub &flange, under the disc hat"), tr("the hub flange, under the disc hat"))
    AXLE = (tr("a&xle line"), tr("a place on the axle line"))

    @property
    def face(self) -> ZeroFace | None:
        """The zero face of the card that is pointed at."""
        return {Target.BEARING: ZeroFace.BEARING, Target.FLANGE: ZeroFace.HUB_FLANGE}.get(self)


class PlacePage:
    """Turns, flip and shift; buttons that let a place of the picture be the mounting face or the axle line.

    A place that was pointed at is kept in the file's own unit: a turn, a flip or another unit moves the
    outline so that the place stays on the zero.

    Args:
        form: page that the fields are put on.
        length: kind of lengths.
        point: called with the target when a button was pressed.
        changed: called when the placement changed.
        hat_changed: called when the thickness of the hat was typed here.
    """

    def __init__(
        self,
        form: Form,
        length: Kind,
        point: Callable[[Target], None],
        changed: Callable[[], None],
        hat_changed: Callable[[], None],
    ) -> None:
        self._form, self._changed = form, changed
        self._scale = 1.0
        self._face_at: Place | None = None
        self._axle_at: Place | None = None
        form.head(tr("Turn"))
        self.turns: ChoiceField[int] = form.add(tr("Turned"), ChoiceField(_TURNS, 0))
        self.flip = form.add("", CheckField(tr("flip: outboard becomes inboard")))
        form.head(tr("Point at it in the picture"))
        self.buttons: dict[Target, QPushButton] = {}
        row = QWidget()
        grid = QGridLayout(row)
        grid.setContentsMargins(0, 0, 0, 0)
        for k, target in enumerate(Target):
            button = QPushButton(tr("Point at the {value}", value=target.value[0]))
            button.clicked.connect(lambda _on, target=target: point(target))
            grid.addWidget(button, k, 0)
            self.buttons[target] = button
        grid.setColumnStretch(1, 1)
        form.row(row)
        self.hat = form.add(
            tr("Thickness of the disc hat"),
            NumberField(length, None, optional=True, least=0.0),
            tr(
                "Where z = 0 is the hub flange: the wheel bears on the hat, so the outline moves "
                "inboard by it."
            ),
        )
        self.flat: ChoiceField[int] = form.add(
            tr("Or a flat of the fitted scan"),
            ChoiceField([(tr("(none)"), -1)], -1),
            tr("Faces square to the fitted axle, largest first, with how far their points lie off."),
        )
        form.head(tr("Or type it"))
        shift = place(length.unit)
        self.dz = form.add(tr("Shift along z"), NumberField(shift, 0.0), tr("+ moves it outboard."))
        self.dr = form.add(tr("Shift along r"), NumberField(shift, 0.0), tr("+ moves it away from the axle."))
        self.note = form.note(
            tr("z 0 is the face the wheel bears on, without a spacer; + is outboard, to the right.")
        )
        self._flats: tuple[tuple[Place, str], ...] = ()
        form.show_field(self.flat, False)
        self.turns.edited.connect(self._turned)
        self.flip.edited.connect(self._turned)
        self.dz.edited.connect(lambda: self._typed(face=True))
        self.dr.edited.connect(lambda: self._typed(face=False))
        self.flat.edited.connect(self._flat_chosen)
        self.hat.edited.connect(hat_changed)

    # What is read

    def placement(self, mm_to_file: float) -> Placement:
        """Return the placement with the file's unit taken as so many mm.

        Raises:
            ValueError: a shift cannot be read.
        """
        dz, dr = self._pointed_shifts(mm_to_file)
        return Placement(
            self.turns.read(),
            self.flip.read(),
            self.dz.number() if dz is None else dz,
            self.dr.number() if dr is None else dr,
        )

    def _pointed_shifts(self, mm_to_file: float) -> tuple[float | None, float | None]:
        """Return the shifts along z and r that lay what was pointed at onto face and axle line."""
        bare = Placement(self.turns.read(), self.flip.read())

        def laid(at: Place) -> Placement:
            return bare.with_origin(at[0] * mm_to_file, at[1] * mm_to_file)

        return (
            None if self._face_at is None else laid(self._face_at).dz_mm + 0.0,
            None if self._axle_at is None else laid(self._axle_at).dr_mm + 0.0,
        )

    def show(self, found: ReadOutline, answer_to_file: float) -> None:
        """Offer the flats of a fitted scan; a length of the file is this many of the answer's."""
        flats = found.fit.flats if found.fit is not None else ()
        self._flats = tuple(
            (
                (flat.z_mm / answer_to_file, flat.r_low_mm / answer_to_file),
                tr(
                    "z {z_mm:.2f}, r {r_low_mm:.0f} to {r_high_mm:.0f}, {area_mm2:.0f} cm², ± {rms_mm:.2f}",
                    z_mm=flat.z_mm,
                    r_low_mm=flat.r_low_mm,
                    r_high_mm=flat.r_high_mm,
                    area_mm2=flat.area_mm2 / 100.0,
                    rms_mm=flat.rms_mm,
                ).replace("-", "−"),
            )
            for flat in flats
        )
        chosen = self.flat.read()
        self._offer_flats(chosen if chosen < len(self._flats) else -1)
        self._form.show_field(self.flat, bool(flats))

    def _offer_flats(self, chosen: int) -> None:
        self.flat.offer(
            [(tr("(none)"), -1), *((words, k) for k, (_, words) in enumerate(self._flats))], chosen
        )

    def show_for_shape(self, on: bool) -> None:
        """Ask for hub flange and disc hat, which a shape alone can have."""
        self.buttons[Target.FLANGE].setVisible(on)
        self._form.show_field(self.hat, on)

    def forget_places(self) -> None:
        """Forget what was pointed at: the file is drawn in another plane now."""
        self._face_at = self._axle_at = None

    # What changes

    def rescale(self, mm_to_file: float) -> None:
        """Take another unit of the file; what was pointed at stays on the zero."""
        if mm_to_file != self._scale:
            self._scale = mm_to_file
            self._keep_places()

    def point(self, target: Target, at: Place) -> None:
        """Lay a place of the file, in its own unit, onto the mounting face or the axle line."""
        if target is Target.AXLE:
            self._axle_at = at
        else:
            self._face_at = at
        self._keep_places()
        self._changed()

    def set_hat(self, hat_mm: float | None, is_used: bool) -> None:
        """Show the thickness that the source card has."""
        self.hat.put(hat_mm)
        self.hat.setEnabled(is_used)

    def _keep_places(self) -> None:
        for field, shift in zip((self.dz, self.dr), self._pointed_shifts(self._scale), strict=True):
            if shift is not None:
                field.put(shift)

    def _turned(self) -> None:
        self._keep_places()
        self._changed()

    def _typed(self, face: bool) -> None:
        if face:
            self._face_at = None
            self._offer_flats(-1)
        else:
            self._axle_at = None
        self._changed()

    def _flat_chosen(self) -> None:
        k = self.flat.read()
        if k >= 0:
            self._face_at = self._flats[k][0]
            self._keep_places()
        self._changed()


def said_of(target: Target, spot: Pointed) -> str:
    """Return what the source card says of a face that was pointed at."""
    return tr("pointed at in the picture: {value}; {words}", value=target.value[1], words=spot.words)
