"""Pictures as they are seen in grey and with the common colour deficits, side by side to be looked at.

`python -m tests.support.seen OUT.png IN.png` draws one picture four times.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
from PySide6.QtGui import QImage

from geometry.shape.curve import Array
from tests.support.wcag import SEEN, seen


def pixels(path: Path) -> Array:
    """Return (rows, columns, 3) of a picture, 0 to 1."""
    image = QImage(str(path)).convertToFormat(QImage.Format.Format_RGB888)
    rows = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), image.bytesPerLine())
    found: Array = rows[:, : 3 * image.width()].reshape(image.height(), image.width(), 3) / 255.0
    return found


def written(picture: Array, path: Path) -> None:
    """Write a picture."""
    data = np.ascontiguousarray(np.round(picture * 255.0).astype(np.uint8))
    high, wide, _ = data.shape
    assert QImage(data.tobytes(), wide, high, 3 * wide, QImage.Format.Format_RGB888).save(str(path))


def main() -> int:
    """Draw the four pictures two by two: grey, protanopia, deuteranopia, tritanopia."""
    out, source = Path(sys.argv[1]), Path(sys.argv[2])
    whole = pixels(source)
    four = [seen(whole, how) for how in SEEN]
    written(np.vstack([np.hstack(four[:2]), np.hstack(four[2:])]), out)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
