"""What is asked of the blank of a group: stock and dies, ends and room, the forge."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from PySide6.QtWidgets import QTabWidget

from app.language import spoken, tr
from app.project.project import Project
from app.project.steps_text import steps, written
from app.studies.drafts import EJECTED, NOT_EJECTED, ON_PUNCH, outside
from app.studies.forging_needs import ForgingSettings, NeedWindow, presses_at_hand
from app.studies.forging_stock import STOCK_SETS, Headroom, StockSet
from app.window.blank_spun import SpunAsked
from app.window.dialogs.form import Form
from app.window.dialogs.typed_fields import (
    ANGLE,
    NUMBER,
    PER_CENT,
    CheckField,
    ChoiceField,
    FieldError,
    Kind,
    NumberField,
    TextField,
    length,
)
from geometry.forging.composite import Forgeable
from geometry.forging.presses import DieSteel, Press


class BlankAsked(QTabWidget):
    """Pages of fields; reads as the settings of a blank."""

    def __init__(self, project: Project) -> None:
        super().__init__()
        self.setDocumentMode(True)
        start, kind = ForgingSettings(), length(project.display_unit)
        self._dies(self._page(tr("Dies")), start, kind)
        self._room(self._page(tr("Room")), kind)
        self._forge(self._page(tr("Forge")), start, project, kind)
        self.spinning = SpunAsked(self._page(tr("Spin")), kind)

    def _page(self, title: str) -> Form:
        form = Form()
        self.addTab(form, title)
        return form

    def _dies(self, form: Form, start: ForgingSettings, kind: Kind) -> None:
        how = start.how
        sets: list[tuple[str, StockSet | None]] = [(tr("rule set of each wheel"), None)]
        self.stock_set = form.add(
            tr("Stock"),
            ChoiceField([*sets, *((spoken(s.name), s) for s in STOCK_SETS)], None),
            tr("By zone from each wheel's rule set, or by surface: starting values, from memory."),
        )
        self.stock = form.add(
            tr("Stock everywhere"),
            NumberField(kind, None, optional=True, least=0.0, empty=tr("as above")),
            tr("Metal left on for turning, in place of the above."),
        )
        self.in_stock = form.add(
            tr("May be missing"),
            ChoiceField(
                [(tr("by the stock"), None), (tr("added round it"), False), (tr("in the stock"), True)], None
            ),
            tr(
                "What a forging may lack of its drawing: starting values for it are added round the usable "
                "outline, or the stock holds it already and dies are drawn to the usable outline. By the "
                "stock: a set holds it, else it is added."
            ),
        )
        self.ejector = form.add(
            "",
            CheckField(tr("dies with an ejector"), True),
            tr(
                "Draft outside starts with {start_deg:g}° ({band}) with one, with "
                "{start_deg_2:g}° ({band_2}) without.",
                start_deg=EJECTED.start_deg,
                band=EJECTED.band,
                start_deg_2=NOT_EJECTED.start_deg,
                band_2=NOT_EJECTED.band,
            ),
        )
        self.outside = form.add(
            tr("Draft outside"),
            NumberField(ANGLE, EJECTED.start_deg),
            tr(
                "Of walls that look away from the axle: {band}, in a die with an ejector, {band_2}, without.",
                band=EJECTED.band,
                band_2=NOT_EJECTED.band,
            ),
        )
        self.inside = form.add(
            tr("Draft inside"),
            NumberField(ANGLE, ON_PUNCH.start_deg),
            tr(
                "Of walls that look towards the axle, onto which the metal shrinks: {band}.",
                band=ON_PUNCH.band,
            ),
        )
        self.ejector.edited.connect(self._start_draft)
        self.parting = form.add(
            tr("Dies meet at z"),
            NumberField(kind, None, optional=True, empty=tr("where it weighs least")),
            tr(
                "Height on the outside wall, from the first wheel's mounting face; both walls run away "
                "from it "
                "by their draft."
            ),
        )
        self.fillet = form.add(
            tr("Least fillet radius"), NumberField(kind, how.fillet_mm), tr("Of hollows in the section.")
        )
        self.corner = form.add(
            tr("Corner radius"),
            NumberField(kind, None, optional=True, least=0.0, empty=tr("the stock's")),
            tr(
                "Of the dies' convex corners; where it would take stock, the blank grows along the "
                "cheaper way."
            ),
        )
        web = tr("Least height of the blank; 20 mm and more is usual, from memory.")
        self.web = form.add(tr("Least web"), NumberField(kind, 0.0, least=0.0), web)
        self.in_line = form.add("", CheckField(tr("mounting faces in line")))

    def _start_draft(self) -> None:
        """Exchange the starting draft outside where it still is the other one's."""
        mine, other = (outside(is_on).start_deg for is_on in (self.ejector.read(), not self.ejector.read()))
        if self.outside.check() and self.outside.read() == other:
            self.outside.put(mine)

    def _room(self, form: Form, kind: Kind) -> None:
        def room(label: str, tip: str = "") -> NumberField:
            return form.add(label, NumberField(kind, 0.0, least=0.0), tip)

        form.head(tr("Ends of the ring"))
        end = tr(
            "Beyond the inner lip; a ring that is extruded backwards ends uneven. 5 mm is usual, from memory."
        )
        self.trim = room(tr("Ring-end trim"), end)
        self.grip = room(tr("Grip"), tr("For the chuck, beyond the trim. 10 mm is usual, from memory."))
        self.test_ring = room(tr("Test ring"), tr("Length of ring that tests are cut from."))
        form.head(tr("Hub"))
        self.pierced = form.add(
            tr("Pierced, diameter"),
            NumberField(kind, None, optional=True, above=0.0, empty=tr("solid")),
            tr("By the forge; the slug is kept as solid scrap."),
        )
        form.head(tr("Insets that it must yield"))
        inset = tr("Of every ticked wheel, beside the drawn ones; empty for the drawn ones alone.")
        as_drawn = tr("as drawn")
        self.inset_low = form.add(
            tr("From inset"), NumberField(kind, None, optional=True, empty=as_drawn), inset
        )
        self.inset_high = form.add(
            tr("To inset"), NumberField(kind, None, optional=True, empty=as_drawn), inset
        )
        self.widths = form.add(
            tr("and widths"),
            TextField("", hint=as_drawn),
            tr("Width codes to yield at these insets, as 9, 10: all from the least to the greatest."),
        )
        form.head(tr("Headroom for wheels not drawn yet"))
        self.room_ring = room(tr("Longer ring"))
        self.room_bore = room(tr("Smaller ring bore"), tr("By radius."))
        self.room_face = room(tr("Disc faces"), tr("On either side."))
        self.room_hub = room(tr("Hub bore"), tr("By radius."))
        self.room_outside = room(tr("Larger outside"), tr("By radius."))

    def _forge(self, form: Form, start: ForgingSettings, project: Project, kind: Kind) -> None:
        self.loss = form.add(
            tr("Flash, scale and saw"), NumberField(PER_CENT, 100.0 * start.loss, least=0.0, most=100.0)
        )
        self.flash_land = form.add(
            tr("Flash, wide"),
            NumberField(kind, start.flash_land_mm, least=0.0, most=100.0),
            tr("Round the blank; the press closes it, so that areas and loads are out to it."),
        )
        self.temperature = form.add(
            tr("Temperature, °C"),
            NumberField(NUMBER, start.temperature_c, least=400.0, most=500.0),
            tr("6061 is forged from 399 to 482 °C."),
        )
        self.logs = form.add(
            tr("Log diameters, mm"),
            TextField("", hint=written(start.log_diameters_mm)),
            tr(
                "That the forge holds; the thinnest that does not buckle is taken. Common practice, "
                "no source."
            ),
        )
        self.presses = form.add(
            tr("Presses, MN"),
            TextField("", hint=", ".join(f"{p.capacity_mn:g}" for p in presses_at_hand(project))),
            tr(
                "One to three loads to try, in the order of the steps: upset, blocking, finishing. "
                "Empty for the "
                "shop's own presses; their speed, daylight, stroke, ejector and bed stand in Shop rates and "
                "prices."
            ),
        )
        self.wall = form.add(
            tr("Steel round the flash"),
            NumberField(kind, start.steel.wall_mm, least=0.0),
            tr("Of the dies, which must stand on the bed. From memory."),
        )
        self.base = form.add(
            tr("Steel behind the cavity"),
            NumberField(kind, start.steel.base_mm, least=0.0),
            tr("Of each die; both must stand in the daylight, and open by twice the ring. From memory."),
        )
        self.proved_load = form.add(
            tr("Proved by, MN"),
            NumberField(NUMBER, None, optional=True, above=0.0),
            tr("Load of a press that made a like blank."),
        )
        self.proved_area = form.add(
            tr("on an area of, cm²"),
            NumberField(NUMBER, None, optional=True, above=0.0),
            tr("Of that blank, with its flash."),
        )

    def settings(self, names: Sequence[str], project: Project) -> ForgingSettings:
        """Return what the fields ask for.

        Args:
            names: of the wheels that windows of insets are for.
            project: whose presses are at hand.

        Raises:
            ValueError: a field holds no number that can be taken, or one of two that belong together.
            GeometryError: a value is out of bounds.
        """
        low, high = self._both(self.inset_low, self.inset_high, tr("From and to inset"))
        load, area = self._both(self.proved_load, self.proved_area, tr("A proved load and its area"))
        return ForgingSettings(
            how=Forgeable(
                self.outside.number(),
                self.inside.number(),
                self.fillet.number(),
                self.web.number(),
                self.parting.read(),
            ),
            steel=DieSteel(self.wall.number(), self.base.number(), self.ejector.read()),
            pierced_mm=self.pierced.read(),
            stock_mm=self.stock.read(),
            stock=self.stock_set.read(),
            missing_in_stock=self.in_stock.read(),
            corner_mm=self.corner.read() or 0.0,
            windows=self._windows(names, low, high),
            headroom=Headroom(
                self.room_ring.number(),
                self.room_bore.number(),
                self.room_face.number(),
                self.room_hub.number(),
                self.room_outside.number(),
            ),
            test_ring_mm=self.test_ring.number(),
            trim_mm=self.trim.number(),
            grip_mm=self.grip.number(),
            loss=self.loss.number() / 100.0,
            flash_land_mm=self.flash_land.number(),
            temperature_c=self.temperature.number(),
            presses=self._presses(presses_at_hand(project)),
            log_diameters_mm=self._logs(),
            proved=None if load is None or area is None else (load, area),
        )

    def _windows(self, names: Sequence[str], low: float | None, high: float | None) -> tuple[NeedWindow, ...]:
        typed = self.widths.read()
        if low is None or high is None:
            if typed:
                raise FieldError(tr("Widths go with insets: give from and to inset too."))
            return ()
        codes = steps(typed, tr("Widths")) if typed else None
        ends = (None, None) if codes is None else (codes[0], codes[-1])
        return tuple(NeedWindow(name, low, high, *ends) for name in names)

    def _both(self, first: NumberField, second: NumberField, what: str) -> tuple[float | None, float | None]:
        low, high = first.read(), second.read()
        if (low is None) != (high is None):
            raise FieldError(tr("{what} belong together: give both or neither.", what=what))
        return low, high

    def _logs(self) -> tuple[float, ...]:
        typed = self.logs.read()
        found = steps(typed, tr("Log diameters")) if typed else ForgingSettings().log_diameters_mm
        if not found[0] > 0.0:
            raise FieldError(tr("Log diameters '{typed}': each is above 0.", typed=typed))
        return found

    def _presses(self, at_hand: tuple[Press, ...]) -> tuple[Press, ...]:
        """Return the presses at hand, with the loads that are typed in place of their own."""
        parts = [part.strip() for part in self.presses.read().replace(";", ",").split(",") if part.strip()]
        if not parts:
            return at_hand
        try:
            loads = [float(part) for part in parts]
        except ValueError:
            raise FieldError(
                tr("'{read}': write the presses' loads in MN, as 20, 50, 90.", read=self.presses.read())
            ) from None
        if not 1 <= len(loads) <= 3:
            raise FieldError(tr("{loads} presses are given; a plan takes one to three.", loads=len(loads)))
        # A single press does all the steps as the last one; of two the first one upsets.
        if len(loads) == len(at_hand):
            kept = at_hand
        else:
            kept = (at_hand[-1],) if len(loads) == 1 else (*at_hand[:1], *at_hand[-1:] * (len(loads) - 1))
        return tuple(replace(p, capacity_mn=load) for p, load in zip(kept, loads, strict=True))
