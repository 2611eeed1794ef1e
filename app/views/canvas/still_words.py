"""Words and marks that stand still while a wheel is dragged, made anew only where their part has changed."""

from __future__ import annotations

from collections.abc import Sequence
from operator import attrgetter, is_

from app.project.wheel import Wheel
from app.session.edited import Edited, Kind, offset_mm
from app.session.shown import Shown
from app.studies.blank_group import checked
from app.units import LengthUnit
from app.views.canvas import group_marks, marks
from app.views.canvas.content import Legend, Mark, Plane
from app.views.canvas.drawn import blank_of, chain_path, shapes_of, still_parts
from app.views.canvas.items import bounds_of
from app.views.theme import Theme
from geometry.shape.outline import StayOut

#: What the marks of a wheel hang on, besides its metal.
_MARKED = attrgetter("spokes", "fixing", "rings", "spacer_mm")


class Changes:
    """Remembers what was drawn last: values are immutable, so identity tells."""

    def __init__(self) -> None:
        self._drawn: dict[str, tuple[object, ...]] = {}

    def changed(self, layer: str, *key: object) -> bool:
        """True, once, when what a layer shows is not what it showed last."""
        if self.stands(layer, *key):
            return False
        self._drawn[layer] = key
        return True

    def stands(self, layer: str, *key: object) -> bool:
        """True where a layer shows this already."""
        last = self._drawn.get(layer)
        return (
            last is not None
            and len(last) == len(key)
            and (all(map(is_, last, key)) or all(map(_same, last, key)))
        )

    def drawn(self, layer: str, *key: object) -> None:
        """Remember what a layer shows: after it was drawn, so that what failed is drawn again."""
        self._drawn[layer] = key


class StillWords:
    """Names, extents, planes, holes and the scale of the wall band of what is shown.

    Attributes:
        planes, legend: for the overlay.
        required, tyre: words of the required-gap lines and of the tyre's ring, made with their layers.
        group: where the blank that is edited no longer holds another of its wheels.
        group_hints: whether the wheels of the blank that is edited still come out of it.
    """

    def __init__(self, theme: Theme) -> None:
        self._theme, self._changes = theme, Changes()
        self.planes: list[Plane] = []
        self.legend = Legend()
        self.required: list[Mark] = []
        self.tyre: list[Mark] = []
        self._shapes: list[Mark] = []
        self._wheel: list[Mark] = []
        self._blanks: list[Mark] = []
        self.group: list[Mark] = []
        self.group_hints: list[str] = []

    def marks(self) -> list[Mark]:
        """Return those that stand still: all of them but planes, legend and those of a blank's wheels."""
        return [*self._shapes, *self._wheel, *self.required, *self._blanks, *self.tyre]

    def follow(self, shown: Shown, unit: LengthUnit) -> None:
        """Make anew those whose part of the state has changed."""
        wheel, changed = shown.wheel, self._changes.changed
        still = (unit, self._theme.colours, *still_parts(shown))
        if not self._changes.stands("still parts", *still):
            shapes = shapes_of(shown)
            if changed("legend", unit, self._theme.colours):
                self.legend = marks.legend(self._theme, unit)
            if changed("planes", unit, *((wheel.inset_mm, wheel.spacer_mm) if wheel is not None else ())):
                self.planes = marks.planes(wheel, unit)
            if changed("shape words", unit, *shapes):
                self._shapes = [mark for shape in shapes for mark in _shape_words(shape, unit)]
            self._follow_blanks(shown, wheel)
            self._changes.drawn("still parts", *still)
        self._follow_wheel(wheel, unit)
        self._follow_group(shown, unit)

    def _follow_wheel(self, wheel: Wheel | None, unit: LengthUnit) -> None:
        if wheel is None or not wheel.visible:
            if self._changes.changed("wheel words"):
                self._wheel = []
            return
        hub, holes = marks.reaches(wheel)
        if self._changes.changed("wheel words", unit, *hub, *holes, *_MARKED(wheel)):
            self._wheel = marks.wheel_marks(wheel, hub, holes, unit)

    def _follow_blanks(self, shown: Shown, wheel: Wheel | None) -> None:
        blanks = [b for b in shown.project.blanks if b.visible and b.corners]
        shifts = [offset_mm(shown.project, Edited(Kind.BLANK, b.name), wheel) for b in blanks]
        main = blank_of(shown)
        if self._changes.changed("blank words", main, *blanks, *shifts):
            self._blanks = [
                marks.blank_words(blank, shift, "blank" if blank is main else "quiet")
                for blank, shift in zip(blanks, shifts, strict=True)
            ]

    def _follow_group(self, shown: Shown, unit: LengthUnit) -> None:
        """Read the other wheels of an edited blank once it has been let go."""
        edited, project = shown.edited, shown.project
        if edited is None or edited.kind is not Kind.BLANK:
            if self._changes.changed("group"):
                self.group, self.group_hints = [], []
            return
        blank, parts = edited.name, (project.wheels, project.blanks, project.rule_sets)
        key = (blank, shown.wheel, shown.dragging, unit, self._theme.colours, *parts)
        if not self._changes.changed("group", *key):
            return
        self.group, self.group_hints = [], []
        if shown.dragging:
            self.group_hints = group_marks.while_dragged(project, blank)
            return
        members = checked(project, blank)
        shift = offset_mm(project, edited, shown.wheel)
        self.group = group_marks.misses(members, shown.wheel, shift, self._theme)
        self.group_hints = group_marks.said(members, unit)


def _shape_words(shape: StayOut, unit: LengthUnit) -> Sequence[Mark]:
    box = bounds_of([chain_path(o.corners) for o in shape.outlines])
    return marks.shape_marks(shape, box.left(), box.right(), box.top(), box.bottom(), unit)


def _same(a: object, b: object) -> bool:
    return a is b or (isinstance(a, (float, str)) and a == b)
