"""The pages of a typed brake: its outline; which brake it is, what is said of it, and by whom."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from app.files.sense import LARGEST_HAT_MM, LARGEST_INCLUDED_MM
from app.language import spoken, tr
from app.project import edits
from app.project.brake_sheet import LEAST_POINTS, MOST_POINTS, BrakeSheet
from app.project.project import Project
from app.window.dialogs.form import Form
from app.window.dialogs.points_field import PointsField, take_unit
from app.window.dialogs.typed_fields import (
    YES_NO_OPEN,
    CheckField,
    ChoiceField,
    Field,
    Kind,
    NumberField,
    TextField,
)
from geometry.shape.curve import Array
from geometry.shape.outline import CarEnd, CarSide, Grade, Reach, ZeroFace

_NOBODY = tr("nobody has said")
_UNITS = [(_NOBODY, ""), ("mm", "mm"), ("in", "in")]
_BETWEEN = [(tr("nobody has said: stepped out"), False), (tr("straight lines: these are its corners"), True)]
_PADS = [(_NOBODY, ""), (tr("new"), tr("new")), (tr("worn"), tr("worn"))]
_FROM = [(tr("a sheet, a mail or a call"), Grade.HEARSAY), (tr("a drawing"), Grade.DRAWING)]
_BLANK_ROWS = 5


class OutlinePage:
    """Largest radius, corner points, ends and error."""

    def __init__(self, form: Form, project: Project, kind: Kind, has_wheel: bool) -> None:
        self.name = form.add(
            tr("Name"), TextField(edits.free_name(project, edits.SHAPE, "Brake"), required=True)
        )
        self.unit: ChoiceField[str] = form.add(
            tr("Unit of the sheet"),
            ChoiceField(_UNITS, ""),
            tr("Numbers are taken in this unit; one typed with its unit word is taken as it stands."),
        )
        self.largest_r = form.add(
            tr("Largest radius"),
            NumberField(kind, None, above=0.0),
            tr("From the axle line; of 406 across type 406/2."),
        )
        self.largest_z = form.add(
            tr("It lies at z"),
            NumberField(kind, None, optional=True, empty=_NOBODY),
            tr("Along the axle from the zero face, + outboard."),
        )
        form.head(tr("Corner points of the outer half, from its lower edge up"))
        self.points = PointsField(kind, MOST_POINTS, _BLANK_ROWS)
        self.points.name(tr("Corner points"))
        form.fields.append(self.points)
        form.row(self.points)
        self.between: ChoiceField[bool] = form.add(
            tr("Between them"),
            ChoiceField(_BETWEEN, False),
            tr("A corner radius rounds a corner off: type the place where its two sides would meet."),
        )
        form.head(tr("Where it ends"))
        self.inboard = form.add(
            tr("Inboard end at z"),
            NumberField(kind, None, optional=True, empty=tr("innermost place typed")),
        )
        self.inboard_seen = form.add(
            "", CheckField(tr("the brake was seen to end there, not only the sheet"))
        )
        self.lower = form.add(
            tr("Lower edge at r"),
            NumberField(kind, None, optional=True, least=0.0, empty=_NOBODY),
            tr("The lowest radius of the brake. Without it nothing is known below the lowest corner point."),
        )
        self.error = form.add(
            tr("Error, either way"),
            NumberField(kind, None, least=0.0),
            tr(
                "How far the numbers may be wrong; it is taken off every gap. Where a sheet states no "
                "tolerance, "
                "1 mm for a drawing's numbers, 3 for numbers by word of mouth (common practice, no source)."
            ),
        )
        self.hold = form.add("", CheckField(tr("hold it against the shown wheel"), has_wheel))
        form.show_field(self.hold, has_wheel)
        self._lengths = (self.largest_r, self.largest_z, self.inboard, self.lower, self.error)
        #: The fields by the names that BrakeSheet has for them.
        self.by_name: dict[str, Field] = {
            "points": self.points,
            "largest_r_mm": self.largest_r,
            "largest_z_mm": self.largest_z,
            "inboard_z_mm": self.inboard,
            "lower_r_mm": self.lower,
        }

    def use(self, kind: Kind) -> None:
        """Take all numbers in another unit."""
        self.points.use(kind)
        for field in self._lengths:
            take_unit(field, kind)

    def sheet(self) -> BrakeSheet:
        """Return what stands on this page.

        Raises:
            ValueError: a field cannot be read.
        """
        return BrakeSheet(
            points=self.points.points(),
            largest_r_mm=self.largest_r.number(),
            # The outline is shown before its error is typed; OK asks for it.
            error_mm=self.error.number() if self.has_error else 0.0,
            largest_z_mm=self.largest_z.read(),
            is_straight=self.between.read(),
            inboard_z_mm=self.inboard.read(),
            inboard_seen=self.inboard_seen.read(),
            lower_r_mm=self.lower.read(),
            unit=self.unit.read(),
        )

    @property
    def has_error(self) -> bool:
        """True once something stands in the field of the error."""
        return bool(self.error.line.text().strip())

    def missing(self) -> str:
        """Return what an outline still needs; empty where that much was typed."""
        wanted = [] if self.largest_r.line.text().strip() else [tr("the largest radius")]
        if self.points.count() < LEAST_POINTS:
            wanted.append(
                tr("at least {least_points} corner points of the outer half", least_points=LEAST_POINTS)
            )
        return tr("Type {wanted}.", wanted=tr(" and ").join(wanted)) if wanted else ""

    def places(self) -> Array:
        """Return the (m, 2) corner points that can be read already."""
        try:
            found = [(p.z, p.r) for p in self.points.points()]
        except ValueError:
            found = []
        return np.array(found, dtype=float).reshape(-1, 2)


class BrakePage:
    """Disc, hat and brake pads, the answers to the five questions, and who gave them."""

    def __init__(self, form: Form, kind: Kind) -> None:
        form.note(tr("What nobody has said stays open, and every gap to the shape 'not known' until it is."))
        form.head(tr("Zero and disc hat"))
        self.zero_at: ChoiceField[ZeroFace | None] = form.add(
            tr("z = 0 is the"), ChoiceField([(_NOBODY, None), *((spoken(z), z) for z in ZeroFace)], None)
        )
        self.between: ChoiceField[bool | None] = form.add(
            tr("Hat between hub and wheel"), ChoiceField(YES_NO_OPEN, None)
        )

        def size(most: float | None = None) -> NumberField:
            return NumberField(kind, None, optional=True, least=0.0, most=most, empty=_NOBODY)

        self.hat = form.add(tr("Thickness of the disc hat"), size(LARGEST_HAT_MM))
        self.height = form.add(
            tr("Hat height"), size(), tr("From the hat's outer face to the middle of the disc.")
        )
        form.head(tr("Which brake"))
        self.disc = form.add(tr("Disc diameter"), size())
        self.pads: ChoiceField[str] = form.add(tr("Brake pads"), ChoiceField(_PADS, ""))
        sides = [(spoken(s) or _NOBODY, s) for s in CarSide]
        ends = [(spoken(e) or _NOBODY, e) for e in CarEnd]
        self.side = form.add(tr("Side"), ChoiceField(sides, CarSide.NOT_SAID))
        self.end = form.add(tr("End of the car"), ChoiceField(ends, CarEnd.NOT_SAID))
        self.family = form.add(tr("Family"), TextField(hint=tr("shared by all its variants")))
        form.head(tr("What the numbers are"))
        self.r_over: ChoiceField[Reach | None] = form.add(
            tr("r is the largest"), ChoiceField([(_NOBODY, None), *((spoken(x), x) for x in Reach)], None)
        )
        self.included = form.add(
            tr("Gap already included"), size(LARGEST_INCLUDED_MM), tr("0 where the sheet says that none is.")
        )
        self.left_out = form.add(tr("Left out"), TextField(hint=tr("pipes, bleed screws, hoses")))
        form.head(tr("Who says so"))
        self.source = form.add(tr("Source"), TextField(hint=tr("whose, revision, received when")))
        self.grade = form.add(tr("It is"), ChoiceField(_FROM, Grade.HEARSAY))
        self.said_by = form.add(tr("Answers given by"), TextField(hint=tr("nobody: they are assumed")))
        self._lengths = (self.hat, self.height, self.disc, self.included)
        self.by_name: dict[str, Field] = {"disc_mm": self.disc, "hat_height_mm": self.height}

    def use(self, kind: Kind) -> None:
        """Take all numbers in another unit."""
        for field in self._lengths:
            take_unit(field, kind)

    def filled(self, sheet: BrakeSheet) -> BrakeSheet:
        """Return a sheet with what stands on this page.

        Raises:
            ValueError: a field cannot be read.
        """
        return replace(
            sheet,
            zero_at=self.zero_at.read(),
            hat_mm=self.hat.read(),
            hat_between=self.between.read(),
            disc_mm=self.disc.read(),
            hat_height_mm=self.height.read(),
            pads=self.pads.read(),
            side=self.side.read(),
            end=self.end.read(),
            r_over=self.r_over.read(),
            included_gap_mm=self.included.read(),
            said_by=self.said_by.read(),
            source=self.source.read(),
            grade=self.grade.read(),
            left_out=self.left_out.read(),
            family=self.family.read(),
        )
