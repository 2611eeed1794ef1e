"""Decoding a picture in the child process: PNG, JPEG, or a page of a PDF, shrunk to bare pixels.

Neither library says which errors a damaged file ends in, so that any of theirs counts as damage.
"""

from __future__ import annotations

import hashlib
import io
import json
import math
import sys
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import msgspec
import numpy as np
from PIL import ExifTags, Image, UnidentifiedImageError

from app.files.readers.answer import ReadError, one_line
from app.files.readers.limits import PICTURE, Limits
from app.files.readers.read_picture import PictureHead, PictureRequest

if TYPE_CHECKING:
    import pypdfium2

#: The longest side handed back, pixels, and the shortest side that can be traced.
_LONGEST_SIDE, _SHORTEST_SIDE = 8192, 50
#: A page is drawn at this at most, dots to an inch.
_MOST_DPI = 600.0
_POINTS_PER_INCH = 72.0

#: What sets a photograph upright, by the orientation that the camera noted (Exif 2.32, tag 274).
_TURN = Image.Transpose
_UPRIGHT = {
    2: _TURN.FLIP_LEFT_RIGHT,
    3: _TURN.ROTATE_180,
    4: _TURN.FLIP_TOP_BOTTOM,
    5: _TURN.TRANSPOSE,
    6: _TURN.ROTATE_270,
    7: _TURN.TRANSVERSE,
    8: _TURN.ROTATE_90,
}
_ON_ITS_SIDE = (_TURN.TRANSPOSE, _TURN.ROTATE_270, _TURN.TRANSVERSE, _TURN.ROTATE_90)

# The file's size is looked at before anything is decoded; this is the library's own lock behind it.
Image.MAX_IMAGE_PIXELS = PICTURE.entities


def main(argv: Sequence[str], limit: Callable[[Limits], None]) -> int:
    """Read standard input as the request in argv[0] asks, write head and pixels, return 0, or 2 for an error.

    Args:
        argv: the request as JSON.
        limit: sets the limits of this process.
    """
    try:
        request = _request(argv)
        if request.suffix == ".pdf":
            import pypdfium2  # noqa: F401  # before the limits: it loads a library
        limit(PICTURE)
        head, pixels = picture(sys.stdin.buffer.read(PICTURE.size_bytes + 1), request)
    except ReadError as error:
        return _failed(str(error))
    except MemoryError:
        return _failed("the picture asks for more memory than a reader may take; save it smaller")
    sys.stdout.buffer.write(msgspec.json.encode(head) + b"\n")
    sys.stdout.buffer.write(pixels)
    sys.stdout.buffer.flush()
    return 0


def _failed(message: str) -> int:
    sys.stdout.buffer.write(json.dumps({"error": one_line(message)}).encode())
    sys.stdout.buffer.flush()
    return 2


def _request(argv: Sequence[str]) -> PictureRequest:
    try:
        (text,) = argv
        return msgspec.json.decode(text, type=PictureRequest)
    except (ValueError, msgspec.MsgspecError):
        raise ReadError("the reader of pictures takes one argument, its request as JSON") from None


def picture(data: bytes, request: PictureRequest) -> tuple[PictureHead, bytes]:
    """Return the head and the pixels of a picture, in this process.

    Raises:
        ReadError: the file gives no picture that can be traced.
    """
    if not data.strip():
        raise ReadError("the file is empty")
    if len(data) > PICTURE.size_bytes:
        raise ReadError(f"the file is larger than {PICTURE.size_bytes // 1_000_000} MB; save it smaller")
    notes: list[str] = []
    pages = 1
    try:
        if request.suffix == ".pdf":
            image, pages = _page(data, request.page)
            full = image.size
        else:
            image, full = _decoded(data, notes)
    except (ReadError, MemoryError):
        raise
    except Exception:
        raise ReadError("the picture is damaged or cut off; ask for it again, or save it anew") from None
    if image.size != full:
        notes.append(f"shrunk from {full[0]} x {full[1]} to {image.width} x {image.height} pixels")
    digest = hashlib.sha256(data).hexdigest()
    channels = 1 if image.mode == "L" else 3
    head = PictureHead(image.width, image.height, channels, full[0], full[1], pages, digest, notes)
    return head, image.tobytes()


def _decoded(data: bytes, notes: list[str]) -> tuple[Image.Image, tuple[int, int]]:
    """Return a picture as grey or as red, green, blue, shrunk, and the size that it has in the file."""
    try:
        found = Image.open(io.BytesIO(data), formats=("PNG", "JPEG"))
    except UnidentifiedImageError:
        raise ReadError("the file is no PNG or JPEG, or its head is damaged; save it as PNG") from None
    except Image.DecompressionBombError:
        raise ReadError(_too_large("")) from None
    width, height = found.size
    if width * height > PICTURE.entities:
        raise ReadError(_too_large(f"{width} x {height} pixels are {width * height / 1e6:.0f} million: "))
    if getattr(found, "n_frames", 1) > 1:
        notes.append("the file holds several pictures; this is the first")
    image: Image.Image = found if found.mode in ("L", "RGB") else _plain(found)
    _check_side(width, height)
    share = _share(width, height)
    if share < 1.0:
        side = (max(1, math.floor(width * share)), max(1, math.floor(height * share)))
        image.thumbnail(side, Image.Resampling.LANCZOS, reducing_gap=2.0)
    image.load()
    turn = _UPRIGHT.get(found.getexif().get(ExifTags.Base.Orientation, 1))
    if turn is None:
        return image, (width, height)
    notes.append("turned upright as the camera noted")
    return image.transpose(turn), (height, width) if turn in _ON_ITS_SIDE else (width, height)


def _too_large(size: str) -> str:
    return f"{size}more than {PICTURE.entities // 1_000_000} million pixels are not read; save it smaller"


def _plain(image: Image.Image) -> Image.Image:
    """Return a picture of any other kind as grey or as red, green, blue; what is clear becomes white."""
    if image.mode.startswith("I"):
        return Image.fromarray((np.asarray(image, dtype=np.uint32) >> 8).clip(0, 255).astype(np.uint8))
    if image.mode in ("1", "CMYK", "YCbCr", "LAB", "HSV"):
        return image.convert("L" if image.mode == "1" else "RGB")
    clear = image.convert("RGBA")
    paper = Image.new("RGBA", clear.size, "white")
    return Image.alpha_composite(paper, clear).convert("RGB")


def _share(width: float, height: float) -> float:
    """Return by what a picture of this size is multiplied to be handed back; at most 1."""
    return min(1.0, math.sqrt(PICTURE.points / (width * height)), _LONGEST_SIDE / max(width, height))


def _check_side(width: float, height: float) -> None:
    if min(width, height) < _SHORTEST_SIDE:
        raise ReadError(
            f"{width:.0f} x {height:.0f} pixels are too few to trace: each side needs {_SHORTEST_SIDE}"
        )


def _page(data: bytes, number: int) -> tuple[Image.Image, int]:
    """Return a page of a PDF as a picture, and how many pages there are."""
    import pypdfium2

    try:
        document = pypdfium2.PdfDocument(data)
    except pypdfium2.PdfiumError as error:
        locked = "password" in str(error).lower()
        mend = (
            "it is locked by a password; ask for it without" if locked else "it is damaged; ask for it again"
        )
        raise ReadError(f"the PDF cannot be opened: {mend}") from None
    count = len(document)
    if not 0 <= number < count:
        has = "one page" if count == 1 else f"{count} pages"
        raise ReadError(f"the PDF has no page {number + 1}; it has {has}")
    return _drawn(document[number]), count


def _drawn(page: pypdfium2.PdfPage) -> Image.Image:
    """Return a page drawn as finely as can be handed back."""
    width, height = page.get_size()
    if not (math.isfinite(width) and math.isfinite(height) and min(width, height) > 0.0):
        raise ReadError("the page has no size; print it anew as PDF")
    finest = _MOST_DPI / _POINTS_PER_INCH
    scale = finest * _share(width * finest, height * finest)
    _check_side(width * scale, height * scale)
    # The drawn page is rounded up to whole pixels.
    scale *= 1.0 - 1.0 / min(width * scale, height * scale)
    drawn: Image.Image = page.render(scale=scale, may_draw_forms=False).to_pil()
    return drawn.convert("RGB")
