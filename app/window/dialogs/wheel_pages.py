"""The pages of the wheel's details: each shows one part of a wheel and gives it back changed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Protocol

from PySide6.QtWidgets import QCheckBox, QLabel, QVBoxLayout, QWidget

from app.language import spoken, tr
from app.project import wheel_edits
from app.project.wheel import Fixing, Hub, RingBody, Seat, SingleNut, Spokes, Wheel
from app.window.dialogs.form import Form
from app.window.dialogs.rows_field import Column, RowsField
from app.window.dialogs.typed_fields import (
    ANGLE,
    MASS,
    NUMBER,
    YES_NO_OPEN,
    CheckField,
    ChoiceField,
    DateField,
    Field,
    FieldError,
    Kind,
    NumberField,
    TextField,
)
from geometry.shape.rim import Humps, WellSide, contour_vertices


class Page(Protocol):
    """One page of the details."""

    def changed(self, wheel: Wheel) -> Wheel:
        """Return the wheel with what the page shows.

        Raises:
            ValueError: a field cannot be read, or fields do not fit together.
        """


class ChecksField(Field):
    """Any number of named things."""

    def __init__(self, names: Sequence[str], chosen: Sequence[str], empty: str) -> None:
        editor = QWidget()
        super().__init__(editor)
        column = QVBoxLayout(editor)
        column.setContentsMargins(0, 0, 0, 0)
        self.boxes: dict[str, QCheckBox] = {}
        for name in dict.fromkeys([*names, *chosen]):
            box = QCheckBox(name if name in names else tr("{name} (missing)", name=name))
            box.setChecked(name in chosen)
            box.toggled.connect(lambda _on: self.edited.emit())
            column.addWidget(box)
            self.boxes[name] = box
        if not self.boxes:
            column.addWidget(QLabel(empty))

    def read(self) -> tuple[str, ...]:
        """Return the names chosen, in the order offered."""
        return tuple(name for name, box in self.boxes.items() if box.isChecked())


class FixingPage:
    """Bolts or nuts on a circle, one central nut, or not known."""

    def __init__(self, form: Form, wheel: Wheel, kind: Kind) -> None:
        self.form = form
        given = wheel.fixing
        which = "bolts" if isinstance(given, Fixing) else "nut" if isinstance(given, SingleNut) else ""
        options = [
            (tr("not known"), ""),
            (tr("bolts or nuts on a circle"), "bolts"),
            (tr("single central nut"), "nut"),
        ]
        self.which = form.add(tr("Fixing"), ChoiceField(options, which))
        f = given if isinstance(given, Fixing) else Fixing()
        n = given if isinstance(given, SingleNut) else SingleNut(60.0, 80.0, 13.0, 5, 120.0, 15.0)

        def size(value: float, least: float | None = None) -> NumberField:
            return NumberField(kind, value, above=0.0 if least is None else None, least=least)

        def count(value: int, least: float) -> NumberField:
            return NumberField(NUMBER, value, least=least, most=20.0, whole=True)

        self.count = form.add(tr("Holes"), count(f.count, 1.0))
        self.circle = form.add(tr("Bolt circle"), size(f.circle_mm))
        self.hole = form.add(tr("Through hole"), size(f.hole_mm))
        self.seat = form.add(tr("Seat"), ChoiceField([(spoken(s), s) for s in Seat], f.seat))
        self.ball = form.add(tr("Ball radius"), size(f.ball_radius_mm, 0.0))
        self.land = form.add(
            tr("Seat land"), size(f.seat_land_mm), tr("Metal between seat and mounting face.")
        )
        self.socket = form.add(tr("Bore for the socket"), size(f.socket_mm, 0.0), tr("0 for none."))
        self.cone = form.add(tr("Cone"), NumberField(ANGLE, n.cone_deg, above=0.0, most=180.0))
        self.nut_seat = form.add(
            tr("Seat diameter"), size(n.seat_diameter_mm), tr("Large diameter of the cone.")
        )
        self.nut_land = form.add(
            tr("Seat land"),
            size(n.seat_land_mm),
            tr("Metal between the seat's inner edge and the mounting face."),
        )
        self.pins = form.add(tr("Drive pins"), count(n.pins, 0.0))
        self.pin_circle = form.add(tr("Pin circle"), size(n.pin_circle_mm))
        self.pin_hole = form.add(tr("Pin hole"), size(n.pin_hole_mm))
        self._bolt_fields: list[Field] = [
            self.count,
            self.circle,
            self.hole,
            self.seat,
            self.ball,
            self.land,
            self.socket,
        ]
        self._nut_fields: list[Field] = [
            self.cone,
            self.nut_seat,
            self.nut_land,
            self.pins,
            self.pin_circle,
            self.pin_hole,
        ]
        self.which.edited.connect(self._show)
        self.seat.edited.connect(self._show)
        self._show()

    def _show(self) -> None:
        which = self.which.read()
        for field in self._bolt_fields:
            self.form.show_field(field, which == "bolts")
        for field in self._nut_fields:
            self.form.show_field(field, which == "nut")
        self.form.show_field(self.ball, which == "bolts" and self.seat.read() is Seat.BALL)

    def changed(self, wheel: Wheel) -> Wheel:
        """Return the wheel with this fixing."""
        which = self.which.read()
        if which == "bolts":
            ball = self.ball.number() if self.seat.read() is Seat.BALL else 0.0
            if self.seat.read() is Seat.BALL and ball == 0.0:
                raise FieldError(tr("A ball seat needs a ball radius above 0."))
            fixing: Fixing | SingleNut | None = Fixing(
                self.count.count(),
                self.circle.number(),
                self.hole.number(),
                self.seat.read(),
                ball,
                self.land.number(),
                self.socket.number(),
            )
        elif which == "nut":
            fixing = SingleNut(
                self.cone.number(),
                self.nut_seat.number(),
                self.nut_land.number(),
                self.pins.count(),
                self.pin_circle.number(),
                self.pin_hole.number(),
            )
        else:
            fixing = None
        return replace(wheel, fixing=fixing)


class HubPage:
    """The wheel's bore and hub pad, and the vehicle's hub as far as it is known."""

    def __init__(self, form: Form, wheel: Wheel, kind: Kind) -> None:
        hub = wheel.hub

        def known(value: float, least: float | None = None) -> NumberField:
            return NumberField(kind, value, above=0.0 if least is None else None, least=least)

        def perhaps(value: float | None, least: float | None = None) -> NumberField:
            above = 0.0 if least is None else None
            return NumberField(kind, value, optional=True, above=above, least=least)

        form.head(tr("The wheel"))
        self.bore = form.add(tr("Bore"), known(hub.bore_mm))
        self.hub_pad = form.add(tr("Hub pad, outside"), known(hub.hub_pad_mm))
        self.chamfer = form.add(tr("Chamfer of the bore"), known(hub.chamfer_mm, 0.0))
        form.head(tr("The vehicle"))
        self.spigot = form.add(tr("Spigot diameter"), perhaps(hub.spigot_mm))
        self.spigot_length = form.add(tr("Spigot length"), perhaps(hub.spigot_length_mm))
        self.spigot_root = form.add(tr("Spigot root radius"), perhaps(hub.spigot_root_radius_mm, 0.0))
        self.hub_ring = form.add("", CheckField(tr("centred by a hub ring"), hub.hub_ring))
        self.flange = form.add(
            tr("Flat of hub flange or hat"),
            perhaps(hub.flange_mm),
            tr("Outside diameter of the flat that the hub pad bears on."),
        )
        self.stud = form.add(tr("Stud length"), perhaps(hub.stud_length_mm), tr("From the hub's face."))
        self.thread = form.add(tr("Thread diameter"), perhaps(hub.thread_mm))
        self.aluminium = form.add("", CheckField(tr("nuts of aluminium"), hub.aluminium_nut))

    def changed(self, wheel: Wheel) -> Wheel:
        """Return the wheel with this hub."""
        hub = Hub(
            self.bore.number(),
            self.hub_pad.number(),
            self.chamfer.number(),
            self.spigot.read(),
            self.spigot_length.read(),
            self.spigot_root.read(),
            self.flange.read(),
            self.stud.read(),
            self.thread.read(),
            self.aluminium.read(),
            self.hub_ring.read(),
        )
        if hub.hub_pad_mm <= hub.bore_mm:
            raise FieldError(
                tr(
                    "The hub pad of {hub_pad_mm:g} mm does not lie outside the bore of {bore_mm:g} mm.",
                    hub_pad_mm=hub.hub_pad_mm,
                    bore_mm=hub.bore_mm,
                )
            )
        return replace(wheel, hub=hub)


class SpokesPage:
    """How much of the spoke region is metal, what the spokes follow, and what the section holds of them."""

    def __init__(self, form: Form, wheel: Wheel, kind: Kind) -> None:
        self.form = form
        spokes = wheel.spokes
        self.spoked = form.add(
            "", CheckField(tr("the wheel has spokes (else a full disc)"), spokes is not None)
        )
        s = spokes or _first_spokes(wheel)

        def place(value: float) -> NumberField:
            return NumberField(kind, value)

        def radius(value: float | None) -> NumberField:
            return NumberField(kind, value, above=0.0)

        self.count = form.add(tr("Spokes"), NumberField(NUMBER, s.count, least=1.0, most=60.0, whole=True))
        self.hub_circle = form.add(tr("Full hub ends at r"), radius(s.hub_circle_mm))
        self.shoulder = (
            form.add(tr("Cut at the shoulder, z"), place(s.shoulder_cut[0])),
            radius(s.shoulder_cut[1]),
        )
        form.add(tr("Cut at the shoulder, r"), self.shoulder[1])
        self.lip = (form.add(tr("Cut at the outer lip, z"), place(s.lip_cut[0])), radius(s.lip_cut[1]))
        form.add(tr("Cut at the outer lip, r"), self.lip[1])
        options = [(tr("the rim (outer flange)"), "rim"), (tr("the hub (mounting face)"), "hub")]
        self.fixed_to = form.add(tr("Spokes follow"), ChoiceField(options, s.fixed_to))
        self.envelope = form.add(
            tr("Section holds the highest places of the spoke backs"),
            ChoiceField(YES_NO_OPEN, s.holds_envelope),
            tr("Ribs, bolt bosses, pocket edges turn too. 'No' makes the spoke back 'not known'."),
        )
        columns = [
            Column(tr("at r"), lambda value: NumberField(kind, value, least=0.0)),
            Column(tr("width along the arc"), lambda value: NumberField(kind, value, above=0.0)),
        ]
        self.widths = RowsField(tr("spoke width"), columns, s.widths, (None, None))
        self.widths_head = QLabel(tr("Width of one spoke, rising in r; a radius named twice is a step"))
        form.row(self.widths_head)
        form.fields.append(self.widths)
        form.row(self.widths)
        self.spoked.edited.connect(self._show)
        self._show()

    def _show(self) -> None:
        on = self.spoked.read()
        fields: list[Field] = [self.count, self.hub_circle, *self.shoulder, *self.lip]
        for field in [*fields, self.fixed_to, self.envelope, self.widths]:
            self.form.show_field(field, on)
        self.form.rows.setRowVisible(self.widths_head, on)

    def changed(self, wheel: Wheel) -> Wheel:
        """Return the wheel with these spokes; its vertices follow what the spokes are fixed to."""
        if not self.spoked.read():
            return replace(wheel, spokes=None)
        widths = tuple((row[0], row[1]) for row in self.widths.read())
        radii = [r for r, _ in widths]
        if not widths:
            raise FieldError(tr("Spokes need their width at one radius at least."))
        if radii != sorted(radii):
            raise FieldError(tr("The radii of the spoke widths must rise from row to row."))
        spokes = Spokes(
            self.count.count(),
            widths,
            self.hub_circle.number(),
            (self.shoulder[0].number(), self.shoulder[1].number()),
            (self.lip[0].number(), self.lip[1].number()),
            wheel.spokes.fixed_to if wheel.spokes else "rim",
            self.envelope.read(),
        )
        made = replace(wheel, spokes=spokes)
        if self.fixed_to.read() != spokes.fixed_to:
            made = wheel_edits.with_spokes_fixed_to(made, self.fixed_to.read())
        return made


def _first_spokes(wheel: Wheel) -> Spokes:
    """Return spokes to start from: five, 40 wide, cut at the section's own shoulder and lip."""
    seat = max((v.r for v in wheel.section.vertices), default=200.0)
    front = max((v.z for v in wheel.section.vertices), default=50.0)
    return Spokes(5, ((75.0, 60.0), (seat * 0.8, 40.0)), 75.0, (0.0, seat * 0.85), (front, seat * 0.85))


class RingsPage:
    """Bodies that turn with the wheel and count in the gap: weight band, valve, sensor, rib or boss."""

    def __init__(self, form: Form, wheel: Wheel, kind: Kind) -> None:
        form.note(
            tr(
                "These count in the gap, not in the wall: balance-weight band, valve and nut, sensor, "
                "rib, boss."
            )
        )

        def place(value: Any) -> Field:
            return NumberField(kind, value)

        def radius(value: Any) -> Field:
            return NumberField(kind, value, least=0.0)

        columns = [
            Column(tr("name"), lambda value: TextField(str(value), required=True), 3),
            Column(tr("z from"), place, 2),
            Column(tr("z to"), place, 2),
            Column(tr("r from"), radius, 2),
            Column(tr("r to"), radius, 2),
            Column(tr("mass"), lambda value: NumberField(MASS, value, least=0.0), 2),
        ]
        rows = [(x.name, x.z_low, x.z_high, x.r_low, x.r_high, x.mass_kg) for x in wheel.rings]
        self.rows = RowsField(tr("body"), columns, rows, (tr("weight band"), None, None, None, None, 0.0))
        form.fields.append(self.rows)
        form.row(self.rows)

    def changed(self, wheel: Wheel) -> Wheel:
        """Return the wheel with these bodies."""
        rings = tuple(RingBody(*row) for row in self.rows.read())
        for x in rings:
            if x.z_low >= x.z_high or x.r_low >= x.r_high:
                raise FieldError(tr("{name}: the first of z and of r must be the smaller.", name=x.name))
        return replace(wheel, rings=rings)


_RIM_NUMBERS = (
    ("flange_width_mm", tr("Flange width B"), tr("trade's number")),
    ("well_depth_mm", tr("Well depth H"), tr("least + 2.7 mm")),
    ("well_floor_end_mm", tr("Well floor ends at"), ""),
    ("hump_place_mm", tr("Hump crest at"), ""),
    ("edge_radius_mm", tr("Edge radius"), ""),
    ("heel_radius_mm", tr("Heel radius"), ""),
    ("hump_radius_mm", tr("Hump radius"), ""),
    ("hump_foot_radius_mm", tr("Hump foot radius"), ""),
    ("well_radius_mm", tr("Well radius"), ""),
    ("ramp_foot_radius_mm", tr("Ramp foot radius"), ""),
    ("ramp_top_radius_mm", tr("Ramp top radius"), ""),
    ("shelf_depth_mm", tr("Shelf depth"), ""),
    ("shelf_radius_mm", tr("Shelf radius"), ""),
)
_RIM_ANGLES = (
    ("well_wall_deg", tr("Well wall")),
    ("ramp_deg", tr("Ramp")),
    ("shelf_flank_deg", tr("Shelf flank")),
)


class RimPage:
    """Parameters of the locked standard contour; unlocking it with its record."""

    def __init__(self, form: Form, wheel: Wheel, kind: Kind) -> None:
        self.numbers: dict[str, NumberField] = {}
        rim = wheel.rim
        if rim is None:
            record = wheel.unlocked
            words = tr("The rim of this wheel is drawn freely; no standard contour is kept.")
            if record is not None:
                c = record.contour
                words = tr(
                    "Unlocked by {by} on {on}, from the standard contour {diameter_code:g} x "
                    "{width_code:g} {flange}.",
                    by=record.by,
                    on=record.on,
                    diameter_code=c.diameter_code,
                    width_code=c.width_code,
                    flange=c.flange,
                )
            form.note(words)
            return
        form.note(
            tr(
                "Locked standard contour {diameter_code:g} x {width_code:g} {flange}. "
                "Published limits stand behind it; the numbers below are drawing practice and "
                "unconfirmed.",
                diameter_code=rim.diameter_code,
                width_code=rim.width_code,
                flange=rim.flange,
            )
        )
        self.humps = form.add(tr("Humps"), ChoiceField([(spoken(h), h) for h in Humps], rim.humps))
        self.well = form.add(tr("Well lies"), ChoiceField([(spoken(w), w) for w in WellSide], rim.well))
        for key, label, empty in _RIM_NUMBERS:
            field = NumberField(kind, getattr(rim, key), optional=bool(empty), above=0.0, empty=empty)
            self.numbers[key] = form.add(label, field)
        for key, label in _RIM_ANGLES:
            self.numbers[key] = form.add(label, NumberField(ANGLE, getattr(rim, key), above=0.0, most=90.0))
        form.head(tr("Unlock the contour"))
        self.unlock = form.add("", CheckField(tr("make its vertices free, for good")))
        self.by = form.add(tr("Unlocked by"), TextField(""))
        self.on = form.add(tr("on"), DateField(""))
        self.unlock.edited.connect(self._show)
        self._form = form
        self._show()

    def _show(self) -> None:
        for field in (self.by, self.on):
            self._form.show_field(field, self.unlock.read())

    def changed(self, wheel: Wheel) -> Wheel:
        """Return the wheel with these parameters, or unlocked."""
        if wheel.rim is None:
            return wheel
        changes: dict[str, Any] = {key: field.read() for key, field in self.numbers.items()}
        rim = replace(wheel.rim, humps=self.humps.read(), well=self.well.read(), **changes)
        contour_vertices(rim)
        made = replace(wheel, rim=rim)
        return wheel_edits.unlocked(made, self.by.read(), self.on.read()) if self.unlock.read() else made
