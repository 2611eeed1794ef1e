"""Run by the bundle before the program: the libraries of a screen, where the system has none of its own.

Drivers of a screen come with their own libraries, which therefore go first. A machine without a screen lacks
them, and Qt cannot be loaded without; those packed beside the program then stand in, in the order in which
each needs the one before.
"""

import ctypes
import sys
from pathlib import Path

NAMES = ("libxcb.so.1", "libGLdispatch.so.0", "libGLX.so.0", "libOpenGL.so.0", "libGL.so.1", "libEGL.so.1")

for name in NAMES:
    try:
        ctypes.CDLL(name)
    except OSError:
        packed = Path(sys._MEIPASS) / "screenless" / name  # type: ignore[attr-defined]
        if packed.is_file():
            ctypes.CDLL(str(packed), mode=ctypes.RTLD_GLOBAL)
