"""A tablet pen as a platform reports one: its events enter below all that the toolkit makes of them.

Nothing of a pen is handled in the window: where no widget takes its events the toolkit makes those of a mouse
of them, unless the platform has done so already.
"""

from __future__ import annotations

import ctypes
import sys
from pathlib import Path

import PySide6
import shiboken6
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QInputDevice, QPointingDevice, QWindow
from PySide6.QtWidgets import QApplication, QWidget

_NAME = (
    "_ZN22QWindowSystemInterface17handleTabletEventEP7QWindowPK15QPointingDeviceRK7QPointFS7_"
    "6QFlagsIN2Qt11MouseButtonEEdddddiS8_INS9_16KeyboardModifierEE"
)
_NO_MOUSE = "_ZN29QWindowSystemInterfacePrivate11TabletEvent27setPlatformSynthesizesMouseEb"


def _entry() -> ctypes._CFuncPtr | None:  # type: ignore[name-defined]
    library = Path(PySide6.__file__).parent / "Qt" / "lib" / "libQt6Gui.so.6"
    if sys.platform != "linux" or not library.exists():
        return None
    found = getattr(ctypes.CDLL(str(library)), _NAME, None)
    ours = getattr(ctypes.CDLL(str(library)), _NO_MOUSE, None)
    if found is not None and ours is not None:
        ours.argtypes, ours.restype = [ctypes.c_bool], None
        ours(False)  # as under X and Wayland; the offscreen platform says nothing of it
        pointer, number = ctypes.c_void_p, ctypes.c_double
        found.argtypes = [*[pointer] * 4, ctypes.c_int, *[number] * 5, ctypes.c_int, ctypes.c_int]
        found.restype = ctypes.c_bool
    return found


ENTRY = _entry()


class Pen:
    """A pen over one widget."""

    def __init__(self, widget: QWidget) -> None:
        capability = QInputDevice.Capability
        self._device = QPointingDevice(
            "pen",
            1,
            QInputDevice.DeviceType.Stylus,
            QPointingDevice.PointerType.Pen,
            capability.Position | capability.Pressure | capability.Hover,
            1,
            3,
        )
        self._widget = widget

    def at(self, where: QPoint, buttons: Qt.MouseButton = Qt.MouseButton.NoButton) -> None:
        """Report the pen over a place of the widget, its tip down or its button held, or neither."""
        window = self._widget.window().windowHandle()
        assert isinstance(window, QWindow)
        local = QPointF(self._widget.mapTo(self._widget.window(), where))
        over = self._widget.mapToGlobal(QPointF(where))
        pressure = 0.5 if buttons & Qt.MouseButton.LeftButton else 0.0
        places = [(ctypes.c_double * 2)(p.x(), p.y()) for p in (local, over)]
        assert ENTRY is not None
        ENTRY(
            shiboken6.getCppPointer(window)[0],
            shiboken6.getCppPointer(self._device)[0],
            *(ctypes.addressof(place) for place in places),
            *(buttons.value, pressure, 0.0, 0.0, 0.0, 0.0, 0, 0),
        )
        QApplication.processEvents()
