"""Small SVG files as text, and reading them in this process."""

from __future__ import annotations

from app.files.readers.answer import ReadOutline, Request
from app.files.readers.worker import read

_NAMES = (
    'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
    'xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape"'
)


def svg(*elements: str, page: str = 'width="200mm" height="300mm" viewBox="-100 -300 200 300"') -> bytes:
    """Return an SVG file; on the page as it stands a unit is 1 mm, the axle is its foot, z 0 its middle."""
    return f"<svg {_NAMES} {page}>{''.join(elements)}</svg>".encode()


def read_svg(data: bytes | str, **how: object) -> ReadOutline:
    """Read an SVG in this process."""
    text = data if isinstance(data, bytes) else data.encode()
    return read(text, Request(".svg", **how))  # type: ignore[arg-type]
