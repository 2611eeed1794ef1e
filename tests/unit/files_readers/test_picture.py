"""Pictures to trace: decoded in the child, shrunk, handed back as pixels; hostile ones end in one line."""

from __future__ import annotations

import hashlib
import io
import random
import subprocess
import sys
import zlib
from collections.abc import Callable
from pathlib import Path

import pypdf
import pytest
from PIL import Image
from reportlab.pdfgen.canvas import Canvas

from app.files.readers import read as parent
from app.files.readers.answer import CancelledError, ReadError
from app.files.readers.limits import PICTURE
from app.files.readers.picture import picture
from app.files.readers.read_picture import Picture, PictureHead, PictureRequest, read_picture
from tests.support.pictures import chunk, painted, png

RED, BLUE = (200, 30, 30), (20, 40, 210)
PAINTED = painted(120, 80, {(0, 0, 60, 40): RED, (100, 70, 120, 80): BLUE})


def brought(folder: Path, name: str, data: bytes, page: int = 0) -> Picture:
    path = folder / name
    path.write_bytes(data)
    return read_picture(path, page)


def colour(found: Picture, x: int, y: int) -> tuple[int, ...]:
    at = (y * found.head.width + x) * found.head.channels
    return tuple(found.pixels[at : at + found.head.channels])


def decoded(data: bytes, suffix: str = ".png", page: int = 0) -> tuple[PictureHead, bytes]:
    """Decode in this process."""
    return picture(data, PictureRequest(suffix, page))


def saved(image: Image.Image, kind: str, **how: object) -> bytes:
    file = io.BytesIO()
    image.save(file, kind, **how)
    return file.getvalue()


def pdf(*pages: tuple[float, float, str]) -> bytes:
    """Return a PDF with pages (width, height, words) in points, the lower left quarter of each black."""
    file = io.BytesIO()
    canvas = Canvas(file)
    for width, height, words in pages:
        canvas.setPageSize((width, height))
        canvas.rect(0, 0, width / 2, height / 2, stroke=0, fill=1)
        canvas.drawString(width / 2, height * 0.75, words)
        canvas.showPage()
    canvas.save()
    return file.getvalue()


# Good ones


def test_a_png_comes_back_pixel_by_pixel(tmp_path: Path) -> None:
    found = brought(tmp_path, "Sheet ä.PNG", PAINTED)
    head = found.head
    assert (head.width, head.height, head.channels, head.pages) == (120, 80, 3, 1)
    assert head.sha256 == hashlib.sha256(PAINTED).hexdigest()
    assert head.notes == []
    assert found.file_name == "Sheet ä.PNG"
    white = (255, 255, 255)
    assert [colour(found, *at) for at in ((0, 0), (59, 39), (60, 39), (119, 79), (99, 79))] == [
        RED, RED, white, BLUE, white,
    ]  # fmt: skip


def test_a_jpeg_comes_back_upright_as_the_camera_noted(tmp_path: Path) -> None:
    """Orientation 6: the right side of the scene was up; its first row is the scene's right column."""
    image = Image.new("RGB", (100, 60), "white")
    image.paste(RED, (0, 0, 50, 60))
    exif = Image.Exif()
    exif[274] = 6
    found = brought(tmp_path, "photo.jpg", saved(image, "JPEG", exif=exif, quality=95))
    assert (found.head.width, found.head.height) == (60, 100)
    assert (found.head.full_width, found.head.full_height) == (60, 100)
    assert found.head.notes == ["turned upright as the camera noted"]
    assert colour(found, 30, 10)[0] > 150 > colour(found, 30, 10)[1]
    assert min(colour(found, 30, 90)) > 240


def test_a_page_of_a_pdf_is_drawn_as_finely_as_can_be_handed_back(tmp_path: Path) -> None:
    data = pdf((595.0, 842.0, "one"), (400.0, 200.0, "two"))
    first = brought(tmp_path, "sheet.pdf", data)
    assert first.head.pages == 2
    assert 0.95 * PICTURE.points < first.head.width * first.head.height <= PICTURE.points
    assert first.head.width / first.head.height == pytest.approx(595.0 / 842.0, rel=0.002)
    second = brought(tmp_path, "sheet.pdf", data, page=1)
    assert second.head.width / second.head.height == pytest.approx(2.0, rel=0.002)
    # 600 dots to an inch at most: 400 points are 5.56 inches.
    assert second.head.width == pytest.approx(400.0 / 72.0 * 600.0, rel=0.01)
    w, h = second.head.width, second.head.height
    assert colour(second, w // 4, 3 * h // 4) == (0, 0, 0)
    assert colour(second, w // 4, h // 4) == (255, 255, 255)


@pytest.mark.parametrize(
    ("data", "want"),
    [
        (png(60, 50, (b"\0" + b"\x40\x00" * 60) * 50, kind=0, depth=16), (0x40,)),
        (png(64, 50, (b"\0" + b"\xff" * 8) * 50, kind=0, depth=1), (255,)),
        (png(60, 50, (b"\0" + b"\x80\x00\x00\x00" * 60) * 50, kind=6), (255, 255, 255)),  # clear: paper
        (png(60, 50, (b"\0" + b"\x80\x00\x00\xff" * 60) * 50, kind=6), (128, 0, 0)),
        (saved(Image.new("CMYK", (60, 50), (0, 255, 255, 0)), "JPEG"), (254, 0, 0)),
        (saved(Image.new("P", (60, 50), 0), "PNG"), (0, 0, 0)),
    ],
    ids=["16 bit", "1 bit", "clear", "not clear", "cmyk", "palette"],
)
def test_every_kind_of_colour_becomes_grey_or_plain_colour(data: bytes, want: tuple[int, ...]) -> None:
    head, pixels = decoded(data)
    assert len(pixels) == head.width * head.height * head.channels
    assert tuple(pixels[: head.channels]) == pytest.approx(want, abs=2)


def test_a_large_picture_is_shrunk_and_says_so() -> None:
    """24 million pixels: each side by the root of a quarter."""
    image = Image.new("L", (6000, 4000), 255)
    image.paste(0, (0, 0, 3000, 4000))
    head, pixels = decoded(saved(image, "PNG", compress_level=1))
    assert (head.width, head.height, head.full_width) == (3000, 2000, 6000)
    assert head.notes == ["shrunk from 6000 x 4000 to 3000 x 2000 pixels"]
    assert (pixels[1000 * 3000 + 1490], pixels[1000 * 3000 + 1510]) == (0, 255)


def test_a_long_strip_keeps_its_shape_within_the_longest_side() -> None:
    head, _ = decoded(saved(Image.new("L", (20_000, 200), 255), "PNG"))
    assert 8000 < head.width <= 8192
    assert head.width == 100 * head.height


def test_a_jpeg_called_png_is_read_all_the_same() -> None:
    head, _ = decoded(saved(Image.new("RGB", (60, 60)), "JPEG"), ".png")
    assert head.width == 60


# Hostile ones


_TREE = (
    b"%PDF-1.4\n1 0 obj<</Type/Catalog/Pages 2 0 R>>endobj\n"
    b"2 0 obj<</Type/Pages/Kids[3 0 R]/Count 1>>endobj\n3 0 obj<</Type/Page/Parent 2 0 R"
)
_END = b"\ntrailer<</Root 1 0 R>>\n"


def looped_pdf() -> bytes:
    """A page whose picture draws itself, twice."""
    uses = b"/Resources<</XObject<</A 4 0 R>>>>"
    return b"".join(
        [
            _TREE,
            b"/MediaBox[0 0 300 300]/Contents 5 0 R" + uses + b">>endobj\n",
            b"4 0 obj<</Type/XObject/Subtype/Form/BBox[0 0 300 300]" + uses + b"/Length 11>>stream\n",
            b"/A Do /A Do\nendstream endobj\n5 0 obj<</Length 5>>stream\n/A Do\nendstream endobj",
            _END,
        ]
    )


def sized_pdf(box: str) -> bytes:
    return _TREE + f"/MediaBox[{box}]>>endobj".encode() + _END


def locked_pdf() -> bytes:
    writer = pypdf.PdfWriter()
    writer.append(io.BytesIO(pdf((300.0, 300.0, "secret"))))
    writer.encrypt("word")
    file = io.BytesIO()
    writer.write(file)
    return file.getvalue()


def packed(kind: bytes, count: int) -> bytes:
    """A picture with a chunk of as many zeros, packed."""
    return png(60, 60, b"", more=[chunk(kind, b"a\0\0" + zlib.compress(b"\0" * count))])


#: Name, bytes or what makes those that take long to pack, and what must be said.
HOSTILE: list[tuple[str, bytes | Callable[[], bytes], str]] = [
    ("empty.png", b"  \n", "the file is empty"),
    ("words.png", b"<svg>not a picture</svg>" * 20, "no PNG or JPEG"),
    ("moving.png", saved(Image.new("P", (60, 60)), "GIF"), "no PNG or JPEG"),
    ("wide.png", png(100_000, 100_000, b"\0" * 50), "million pixels are not read"),
    ("bomb.png", lambda: png(7000, 7000, b"\0" * (7000 * 21_001)), "49 million: more than 40 million"),
    ("small.png", png(20, 900, (b"\0" + b"\xff" * 60) * 900), "too few to trace"),
    ("cut.png", PAINTED[: len(PAINTED) // 2], "damaged or cut off"),
    ("rows.png", png(600, 600, b"\0" * 40), "damaged or cut off"),
    ("none.png", png(0, 0, b""), "no PNG or JPEG, or its head is damaged"),
    ("packed.png", lambda: packed(b"zTXt", 200_000_000), "damaged or cut off"),
    ("profile.png", lambda: packed(b"iCCP", 99_000_000), "damaged or cut off"),
    ("cut.jpg", saved(Image.effect_noise((300, 300), 90), "JPEG")[:4000], "damaged or cut off"),
    ("words.pdf", b"%PDF-1.4 and no more", "the PDF cannot be opened: it is damaged"),
    ("locked.pdf", locked_pdf(), "locked by a password"),
    ("no size.pdf", sized_pdf("0 0 0 0"), ""),
    ("vast.pdf", sized_pdf("0 0 1e30 1e30"), ""),
    ("thread.pdf", sized_pdf("0 0 100000 1"), "too few to trace"),
    ("loop.pdf", looped_pdf(), ""),
]  # fmt: skip


@pytest.mark.parametrize(
    ("name", "data", "words"),
    # The loop is stopped by the clock.
    [pytest.param(*row, id=row[0], marks=[pytest.mark.long] * (row[0] == "loop.pdf")) for row in HOSTILE],
)
def test_a_hostile_picture_ends_in_one_clear_line(
    tmp_path: Path, name: str, data: bytes | Callable[[], bytes], words: str
) -> None:
    """Where no words are asked for, the library may mend the file; then the pixels are within their limit."""
    said, count = "", 0
    try:
        count = len(brought(tmp_path, name, data if isinstance(data, bytes) else data()).pixels)
    except ReadError as error:
        said = str(error)
    assert count <= 3 * PICTURE.points
    assert bool(said) is not bool(count)
    assert words in said
    assert said == "" or said.startswith(f"{name}: ")
    assert "\n" not in said


@pytest.mark.parametrize("source", ["png", "jpeg", "pdf"])
def test_mutated_pictures_are_read_or_refused(source: str) -> None:
    """In this process: whatever a library raises becomes a refusal."""
    chance = random.Random(7)
    good = {
        "png": painted(64, 64, {(0, 0, 30, 30): RED}),
        "jpeg": saved(Image.effect_noise((64, 64), 60), "JPEG"),
        "pdf": pdf((300.0, 300.0, "words")),
    }[source]
    refused = 0
    for _ in range(150 if source == "pdf" else 600):
        data = bytearray(good)
        for _ in range(chance.randint(1, 6)):
            data[chance.randrange(len(data))] = chance.randrange(256)
        try:
            head, pixels = decoded(bytes(data[: chance.randint(len(data) // 2, len(data))]), f".{source}")
        except ReadError as error:
            refused += bool(str(error))
        else:
            assert len(pixels) == head.width * head.height * head.channels
    assert refused


def test_a_page_that_is_not_there_says_how_many_there_are(tmp_path: Path) -> None:
    with pytest.raises(ReadError, match=r"sheet\.pdf: the PDF has no page 4; it has 2 pages"):
        brought(tmp_path, "sheet.pdf", pdf((300.0, 300.0, "a"), (300.0, 300.0, "b")), page=3)


def test_what_is_no_picture_needs_no_child(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def no_child(*_: object) -> tuple[bytes, int]:
        raise AssertionError("a child was started")

    monkeypatch.setattr("app.files.readers.read_picture.ask_child", no_child)
    with pytest.raises(ReadError, match=r"bring \.png, \.jpg, \.jpeg, \.pdf"):
        brought(tmp_path, "x.gif", b"GIF89a")
    with pytest.raises(ReadError, match="no such file"):
        read_picture(tmp_path / "gone.png")
    (tmp_path / "folder.png").mkdir()
    with pytest.raises(ReadError, match="no ordinary file"):
        read_picture(tmp_path / "folder.png")
    big = tmp_path / "big.png"
    with big.open("wb") as file:
        file.truncate(PICTURE.size_bytes + 1)
    with pytest.raises(ReadError, match="30 MB, more than the 30 MB"):
        read_picture(big)


def replaced_child(monkeypatch: pytest.MonkeyPatch, script: str) -> None:
    monkeypatch.setattr(parent, "program", lambda _: [sys.executable, "-I", "-c", script])


HEAD = '{"width":2,"height":1,"channels":3,"full_width":2,"full_height":1,"pages":1,"sha256":"","notes":[]}'


@pytest.mark.parametrize(
    "script",
    [
        "",
        "print('not json')",
        f"print({HEAD!r})",
        f"print({HEAD!r}); print('1234567')",
        f"print({HEAD.replace('2', '2000000')!r}); print('123456', end='')",
        f"print({HEAD.replace('3', '4')!r}); print('12345678', end='')",
        f"print({HEAD.replace('1', '-1')!r}); print('12345678', end='')",
        "import os; os._exit(3)",
    ],
)
def test_the_parent_believes_no_head_without_its_pixels(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, script: str
) -> None:
    replaced_child(monkeypatch, script)
    with pytest.raises(ReadError, match="the reader ended without an answer"):
        brought(tmp_path, "a.png", PAINTED)


def test_six_bytes_for_two_pixels_are_believed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    replaced_child(monkeypatch, f"print({HEAD!r}); print('123456', end='')")
    assert brought(tmp_path, "a.png", PAINTED).pixels == b"123456"


def test_reading_can_be_cancelled(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    replaced_child(monkeypatch, "import time; time.sleep(60)")
    (tmp_path / "a.png").write_bytes(PAINTED)
    with pytest.raises(CancelledError):
        read_picture(tmp_path / "a.png", cancelled=lambda: True)


def test_the_window_loads_neither_library() -> None:
    code = (
        "import sys, app.files.readers.read_picture; print('PIL' in sys.modules, 'pypdfium2' in sys.modules)"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.split() == ["False", "False"]
