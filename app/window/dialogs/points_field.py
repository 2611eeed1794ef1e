"""Corner points of an outline as rows: z, r, corner radius."""

from __future__ import annotations

from typing import Any

from app.language import spoken, tr
from app.window.dialogs.rows_field import Column, RowsField
from app.window.dialogs.typed_fields import FieldError, Kind, NumberField
from geometry.shape.outline import Corner


class PointsField(RowsField):
    """Rows of typed places; a row with nothing in it does not count.

    Args:
        kind: kind of lengths.
        most: rows at most.
        blank_rows: empty rows at first.
    """

    def __init__(self, kind: Kind, most: int, blank_rows: int) -> None:
        self.kind, self._most = kind, most

        def place(least: float | None) -> Any:
            return lambda value: NumberField(self.kind, value, optional=True, least=least, empty="")

        columns = (Column("z", place(None)), Column("r", place(0.0)), Column(tr("corner radius"), place(0.0)))
        super().__init__(tr("corner point"), columns, [(None, None, None)] * blank_rows, (None, None, None))
        self.add_button.setText(tr("Add a &corner point"))
        self.edited.connect(self._count)

    def _count(self) -> None:
        self.add_button.setEnabled(len(self.cells) < self._most)

    def use(self, kind: Kind) -> None:
        """Take the same texts as lengths of another unit."""
        self.kind = kind
        for row in self.cells:
            for field in row:
                assert isinstance(field, NumberField)
                take_unit(field, kind)

    def count(self) -> int:
        """Return how many rows hold anything."""
        lines = [[cell.line for cell in row if isinstance(cell, NumberField)] for row in self.cells]
        return sum(any(line.text().strip() for line in row) for row in lines)

    def check(self) -> bool:
        """Return True if every row can be read and is whole; what is wrong is said."""
        self.say("")
        if not super().check():
            return False
        try:
            self.points()
        except ValueError as error:
            self.say(spoken(str(error)))
            return False
        return True

    def points(self) -> tuple[Corner, ...]:
        """Return the places typed.

        Raises:
            ValueError: a cell cannot be read, or a row lacks z or r.
        """
        found = [_point(k, *(field.read() for field in row)) for k, row in enumerate(self.cells, 1)]
        return tuple(point for point in found if point is not None)


def _point(number: int, z: Any, r: Any, radius: Any) -> Corner | None:
    """Return the place of a row, None for an empty one."""
    if z is None and r is None and radius is None:
        return None
    if z is None or r is None:
        raise FieldError(
            tr("Corner point {number}: {z} is missing.", number=number, z="z" if z is None else "r")
        )
    return Corner(z, r, radius or 0.0)


def take_unit(field: NumberField, kind: Kind) -> None:
    """Let a field take the text in it as a length of another unit."""
    text = field.line.text()
    field.kind = kind
    field.line.setUnit(kind.unit)
    field.put(None)
    field.line.setText(text)
