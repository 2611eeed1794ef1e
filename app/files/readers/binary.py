"""Binary DXF: the same groups as in the text form, with numbers as bytes.

After a fixed first line follow group codes, of two bytes each (one byte up to release 12), and values whose
size the code tells; the table of codes is that of the published DXF reference.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator

from app.files.readers.answer import ReadError

#: How every binary DXF begins.
MARK = b"AutoCAD Binary DXF\r\n\x1a\x00"

#: First and last code of a range, and the format of its numbers. Other codes hold text that a zero ends.
_NUMBERS = (
    (10, 59, "<d"),
    (60, 79, "<h"),
    (90, 99, "<i"),
    (110, 149, "<d"),
    (160, 169, "<q"),
    (170, 179, "<h"),
    (210, 239, "<d"),
    (270, 289, "<h"),
    (290, 299, "<B"),
    (370, 389, "<h"),
    (400, 409, "<h"),
    (420, 429, "<i"),
    (440, 459, "<i"),
    (460, 469, "<d"),
    (1010, 1059, "<d"),
    (1060, 1070, "<h"),
    (1071, 1071, "<i"),
)
_FORMATS = {code: format_ for first, last, format_ in _NUMBERS for code in range(first, last + 1)}
_CHUNKS = frozenset((*range(310, 320), 1004))

#: In the form up to release 12, this byte goes before a code of two bytes.
_LONG_CODE = 255


def groups(data: bytes) -> Iterator[tuple[int, int, bytes]]:
    """Yield the place in bytes, the code and the value as text of every group.

    Raises:
        ReadError: the file is cut off or damaged.
    """
    # The first group is 0, SECTION: its second byte tells whether codes have one byte or two.
    is_short = data[len(MARK) + 1 : len(MARK) + 2] == b"S"
    at = len(MARK)
    while at < len(data):
        start = at
        try:
            code, at = _code(data, at, is_short)
            value, at = _value(data, at, code)
        except (struct.error, IndexError, ValueError):
            raise ReadError(f"the file is damaged or cut off at byte {start}; ask for it again") from None
        yield start, code, value


def _code(data: bytes, at: int, is_short: bool) -> tuple[int, int]:
    if is_short and data[at] != _LONG_CODE:
        return data[at], at + 1
    at += is_short
    return struct.unpack_from("<H", data, at)[0], at + 2


def _value(data: bytes, at: int, code: int) -> tuple[bytes, int]:
    format_ = _FORMATS.get(code)
    if format_ is not None:
        (number,) = struct.unpack_from(format_, data, at)
        return repr(number).encode(), at + struct.calcsize(format_)
    if code in _CHUNKS:
        end = at + 1 + data[at]
        if end > len(data):
            raise ValueError
        return b"", end
    end = data.index(b"\0", at)
    return data[at:end], end + 1
