"""Inset and backspace as two fields of one number: typing one shows the other."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QObject, Signal

from app.language import tr
from app.window.dialogs.form import Form
from app.window.dialogs.typed_fields import MM, Kind, NumberField


class InsetFields(QObject):
    """Inset in mm and backspace in the unit of `kind`; the one typed last counts.

    Args:
        half: returns half the rim's width over its flanges, mm, or None where the size cannot be read;
            backspace is that plus the inset.

    Signals:
        edited: either was typed.
    """

    edited = Signal()

    def __init__(
        self, form: Form, inset_mm: float, half: Callable[[], float | None], kind: Kind = MM
    ) -> None:
        super().__init__(form)
        self._half = half
        self._by_backspace = False
        self.inset = form.add(tr("Inset"), NumberField(MM, inset_mm, least=-200.0, most=200.0))
        self.backspace = form.add(
            tr("or backspace"),
            NumberField(kind, None, optional=True, least=-200.0, most=600.0, empty=tr("size not known")),
            tr("Inboard rim edge to mounting face; 5 1/2 in is read too."),
        )
        self._follow()
        self.inset.edited.connect(lambda: self._typed(self.inset))
        self.backspace.edited.connect(lambda: self._typed(self.backspace))

    def put(self, inset_mm: float) -> None:
        """Show another inset, and the backspace that goes with it."""
        self.inset.put(inset_mm)
        self._follow()

    def size_changed(self) -> None:
        """Follow another size: what was typed last stays, the other is shown anew."""
        self._typed(self.backspace if self._by_backspace else self.inset, tell=False)

    def _typed(self, field: NumberField, tell: bool = True) -> None:
        self._by_backspace = field is not self.inset
        half = self._half()
        try:
            value = field.number()
        except ValueError:
            half = None
        if half is not None:
            if self._by_backspace:
                self.inset.put(value - half)
            else:
                self._follow()
        if tell:
            self.edited.emit()

    def _follow(self) -> None:
        half = self._half()
        self.backspace.put(None if half is None else half + self.inset.number())

    def number(self) -> float:
        """Return the inset, mm.

        Raises:
            ValueError: it cannot be read.
        """
        return self.inset.number()
