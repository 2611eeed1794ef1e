"""Small DXF files as text, written out by hand so that they do not depend on any writer."""

from __future__ import annotations

from app.files.readers.answer import ReadOutline, Request
from app.files.readers.worker import read


def pairs(*values: object) -> str:
    """Return alternating group codes and values, each on its line."""
    return "".join(f"{value}\n" for value in values)


def line(x0: float, y0: float, x1: float, y1: float, layer: str = "0") -> str:
    return pairs(0, "LINE", 8, layer, 10, x0, 20, y0, 11, x1, 21, y1)


def lines(*corners: tuple[float, float], layer: str = "0") -> str:
    """Return the closed chain of lines through the corners."""
    return "".join(line(*a, *b, layer=layer) for a, b in zip(corners, corners[1:] + corners[:1], strict=True))


def arc(x: float, y: float, radius: float, start: float, end: float, layer: str = "0") -> str:
    return pairs(0, "ARC", 8, layer, 10, x, 20, y, 40, radius, 50, start, 51, end)


def circle(x: float, y: float, radius: float, layer: str = "0") -> str:
    return pairs(0, "CIRCLE", 8, layer, 10, x, 20, y, 40, radius)


def polyline(*rows: tuple[float, ...], closed: bool = True, layer: str = "0", extra: str = "") -> str:
    """Return a light polyline through (x, y) or (x, y, bulge) rows."""
    head = pairs(0, "LWPOLYLINE", 8, layer, 90, len(rows), 70, int(closed)) + extra
    return head + "".join(pairs(10, r[0], 20, r[1]) + (pairs(42, r[2]) if r[2:] else "") for r in rows)


def block(name: str, *entities: str, base: tuple[float, float] = (0.0, 0.0)) -> str:
    head = pairs(0, "BLOCK", 8, "0", 2, name, 70, 0, 10, base[0], 20, base[1])
    return head + "".join(entities) + pairs(0, "ENDBLK")


def insert(name: str, x: float = 0.0, y: float = 0.0, extra: str = "", layer: str = "0") -> str:
    return pairs(0, "INSERT", 8, layer, 2, name, 10, x, 20, y) + extra


def dxf(*entities: str, unit: int | None = 4, header: str = "", tables: str = "", blocks: str = "") -> bytes:
    """Return a DXF file; `unit` is the value of $INSUNITS, None leaves it out."""
    stated = "" if unit is None else pairs(9, "$INSUNITS", 70, unit)
    sections = {"HEADER": stated + header, "TABLES": tables, "BLOCKS": blocks, "ENTITIES": "".join(entities)}
    text = "".join(
        pairs(0, "SECTION", 2, name) + body + pairs(0, "ENDSEC") for name, body in sections.items()
    )
    return (text + pairs(0, "EOF")).encode()


def read_dxf(data: bytes, **how: object) -> ReadOutline:
    """Read a DXF in this process."""
    return read(data, Request(".dxf", **how))  # type: ignore[arg-type]


def read_table(text: str | bytes, **how: object) -> ReadOutline:
    """Read a table in this process."""
    data = text if isinstance(text, bytes) else text.encode()
    return read(data, Request(".csv", **how))  # type: ignore[arg-type]
