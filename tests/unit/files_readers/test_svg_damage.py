"""SVG files that are damaged or hostile: each ends in one clear line, at its limit, in no time."""

import contextlib
import socket
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from app.files.readers.answer import ReadError
from app.files.readers.limits import DRAWING
from app.files.readers.read import read_outline
from tests.support.svg import read_svg, svg

BOX = '<path d="M10-100h30v-30h-30z"/>'

_calls: list[str] = []
_watched = [False]


def _hear(event: str, _: tuple[object, ...]) -> None:
    if _watched[0] and event in ("open", "socket.connect", "subprocess.Popen", "os.system", "urllib.Request"):
        _calls.append(event)


sys.addaudithook(_hear)


@pytest.fixture
def calls() -> Iterator[list[str]]:
    """Return the calls of this process for files, connections and programs, as they come."""
    _calls.clear()
    _watched[0] = True
    yield _calls
    _watched[0] = False


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "the file is empty"),
        (b"hello", "damaged or cut off at line 1, column 0"),
        (b"<svg", "damaged or cut off"),
        (svg(BOX)[:-8], "damaged or cut off"),
        (b"<html><path d='M0 0h1v1z'/></html>", "no SVG drawing"),
        (b"<svg xmlns='urn:other'><path d='M0 0h1v1z'/></svg>", "no SVG drawing"),
        (b"\x1f\x8b\x08\x00packed", "packed (gzip)"),
        (b"<?xml version='1.0' encoding='nonsense'?><svg/>", "encoding|damaged"),
        (b"<?xml version='1.0' encoding='utf-8'?><svg>\xff</svg>", "damaged"),
        (svg(), "no outline in the file"),
        (svg("<text>5</text>"), "no outline in the file; left out: 1 text"),
        (svg('<path id="rim" d="M0 0h10v"/>'), "path 'rim': its data are damaged after 8 characters"),
        (svg(BOX, '<path d="M0 0h1e400z"/>'), "path 2: the number inf is too large"),
        (svg('<path d="M0 0h nan z"/>'), "a number is missing near"),
        (svg('<path d="M0 0 L 1,,2 z"/>'), "a number is missing"),
        (svg('<path d="L 1 2"/>'), "no place to start from"),
        (svg('<path d="M0 0A5 5 0 2 0 9 9"/>'), "a number is missing"),
        (svg('<path d="M0 0 X"/>'), "not a command"),
        (svg('<path d="M0 0 L 5 5 7"/>'), "a number is missing"),
        (svg('<polygon points="0,0 1,1 2"/>'), "polygon 1: its data are damaged"),
        (svg('<polygon points="0,0 1,1 x"/>'), "not a number"),
        (svg('<rect width="ten" height="9"/>'), "rect 1: width is 'ten', which is no length"),
        (svg('<rect width="2em" height="9"/>'), "rect 1: width is '2em', which depends on something else"),
        (svg('<circle r="1e7"/>'), "circle 1: the number 1e+07 is too large"),
        (svg(BOX, page='viewBox="0 0 1"'), "the viewBox '0 0 1' is not four numbers"),
        (svg(BOX, page='viewBox="0 0 nan 1"'), "is not four numbers"),
        (svg(BOX, page='width="wide" viewBox="0 0 9 9"'), "the page's width is 'wide'"),
        (svg(f'<g transform="scale(1e6) scale(1e6) scale(1e6)">{BOX}</g>'), "too large"),
        (svg(f'<g transform="{"scale(1)" * 300}">{BOX}</g>'), "longer than 2000 characters"),
        (
            svg('<g transform="scale(1e5)"><circle r="1e5" transform="skewX(9)"/></g>'),
            "runs from|reaches|too large",
        ),
    ],
)
def test_one_clear_line(data: bytes, words: str) -> None:
    with pytest.raises(ReadError) as error:
        read_svg(data, unit="mm").loops_mm()
    assert any(word in str(error.value) for word in words.split("|")), str(error.value)
    assert "\n" not in str(error.value)


@pytest.mark.parametrize(
    "document",
    [
        '<!DOCTYPE svg [<!ENTITY a "b">]>',
        '<!DOCTYPE svg [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;"><!ENTITY c "&b;&b;&b;&b;">]>',
        '<!DOCTYPE svg [<!ENTITY a SYSTEM "file:///etc/passwd">]>',
        '<!DOCTYPE svg [<!ENTITY % a SYSTEM "http://127.0.0.1/x"> %a;]>',
    ],
)
def test_entities_are_refused(document: str) -> None:
    with pytest.raises(ReadError, match="defines entities or reads other files"):
        read_svg(document.encode() + svg(BOX, "<text>&a;</text>"))


def test_an_ordinary_document_type_is_no_entity() -> None:
    kind = (
        '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd">'
    )
    assert len(read_svg(kind.encode() + svg(BOX)).loops) == 1


@pytest.mark.parametrize(
    ("element", "counted"),
    [
        ('<use xlink:href="{file}#a"/>', "use of something missing or in another file"),
        ('<use href="file://{file}#a"/>', "use of something missing or in another file"),
        ('<use href="http://127.0.0.1:{port}/other.svg#a"/>', "use of something missing or in another file"),
        ('<image href="http://127.0.0.1:{port}/a.png" width="9" height="9"/>', "image"),
        ('<image xlink:href="file://{file}" width="9" height="9"/>', "image"),
        ('<style>@import url("http://127.0.0.1:{port}/a.css"); @import "{file}";</style>', ""),
        ('<path d="M60-100h9v-9h-9z" style="fill:url(http://127.0.0.1:{port}/b.svg#a)"/>', ""),
        ('<link rel="stylesheet" href="http://127.0.0.1:{port}/a.css"/>', ""),
    ],
)
def test_nothing_else_is_fetched(element: str, counted: str, tmp_path: Path, calls: list[str]) -> None:
    """Neither the file nor the server that a drawing names is asked; the outline is the drawing's own."""
    other = tmp_path / "other.svg"
    other.write_bytes(svg('<path id="a" d="M0-100h90v-90h-90z"/>'))
    read_svg(svg(BOX))  # modules are loaded
    with socket.create_server(("127.0.0.1", 0)) as server:
        server.settimeout(0.0)
        drawing = svg(BOX, element.format(file=other, port=server.getsockname()[1]))
        calls.clear()
        found = read_svg(drawing)
        assert calls == []
        with pytest.raises(BlockingIOError):
            server.accept()
    assert {row[:2] for row in found.loops[0]} == {(10, 100), (40, 100), (40, 130), (10, 130)}
    if counted:
        assert found.skipped == {counted: 1}


class TestLimits:
    def test_groups_within_each_other(self) -> None:
        held = DRAWING.nesting
        assert len(read_svg(svg("<g>" * held + BOX + "</g>" * held)).loops) == 1
        with pytest.raises(ReadError, match=f"more than {held} deep"):
            read_svg(svg("<g>" * (held + 1) + BOX + "</g>" * (held + 1)))

    @pytest.mark.parametrize("tag", ["g", "svg", "a", "metadata", "x"])
    def test_a_hundred_thousand_within_each_other(self, tag: str) -> None:
        start = time.monotonic()
        with pytest.raises(ReadError, match="deep within each other"):
            read_svg(svg(f"<{tag}>" * 100_000, f"</{tag}>" * 100_000))
        assert time.monotonic() - start < 10.0

    @pytest.mark.parametrize(
        "uses",
        [
            '<use id="a" href="#a"/>',
            '<g id="a"><use href="#a"/></g>',
            '<symbol id="a"><use href="#a"/></symbol><use href="#a"/>',
            '<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g>',
            '<svg id="a"><use href="#a"/></svg>',
        ],
    )
    def test_a_use_of_itself(self, uses: str) -> None:
        with pytest.raises(ReadError, match=r"deep within each other \(does one use itself\?\)"):
            read_svg(svg(BOX, uses))

    def test_uses_that_multiply(self) -> None:
        levels = "".join(f'<g id="l{k}">' + f'<use href="#l{k + 1}"/>' * 40 + "</g>" for k in range(4))
        with pytest.raises(ReadError, match="more than 50000 elements are drawn"):
            read_svg(svg(f'<defs>{levels}<g id="l4">{BOX}</g></defs><use href="#l0"/>'))

    def test_the_number_of_elements(self, monkeypatch: pytest.MonkeyPatch) -> None:
        row = "".join(f'<circle cx="{5 * k}" r="2"/>' for k in range(40))
        monkeypatch.setattr("app.files.readers.svg.DRAWING", Few)
        assert len(read_svg(svg(row)).loops) == 40
        with pytest.raises(ReadError, match="more than 40 elements are drawn"):
            read_svg(svg(row, "<text>1</text>"))

    def test_elements_that_draw_nothing(self) -> None:
        with pytest.raises(ReadError, match="more than 400000 elements"):
            read_svg(svg("<x/>" * 400_001))

    def test_the_number_of_points(self) -> None:
        with pytest.raises(ReadError, match="more than 200000 points"):
            read_svg(svg('<path d="M0 0' + "h1v1" * 100_001 + '"/>'))

    @pytest.mark.parametrize(
        "endless",
        [
            '<path d="M0 0' + " " * 3_000_000 + '!"/>',
            '<path d="M0 0' + "," * 3_000_000 + '"/>',
            '<path d="' + "M" * 3_000_000 + '"/>',
            '<path d="M0 0L' + "1" * 3_000_000 + '"/>',
            "<style>" + "a," * 240_000 + "{display:none}</style>" + BOX,
            "<style>" + "{" * 480_000 + "</style>" + BOX,
            "<style>" + "/*" * 240_000 + "</style>" + BOX,
            f'<g class="{"a " * 1_000_000}">{BOX}</g>',
            f'<g style="{"fill:red;" * 300_000}">{BOX}</g>',
            f'<g transform="{"(" * 3_000_000}">{BOX}</g>',
            f'<g stroke="rgb({"1" * 3_000_000}">{BOX}</g>',
            f'<g id="{"a" * 3_000_000}">{BOX}</g>',
            "<style>" + "a" * 500_001 + "</style>" + BOX,
        ],
    )
    def test_endless_texts_end(self, endless: str) -> None:
        start = time.monotonic()
        with contextlib.suppress(ReadError):
            assert len(read_svg(svg(endless)).loops) == 1
        assert time.monotonic() - start < 10.0


class Few:
    """Limits of a drawing for a test."""

    entities, nesting, points = 40, 16, 200_000


def test_through_the_child(tmp_path: Path) -> None:
    path = tmp_path / "brake.svg"
    path.write_bytes(svg(BOX))
    assert read_outline(path).bounds == (10.0, 40.0, 100.0, 130.0)
    path.write_bytes(svg("<g>" * 100_000, "</g>" * 100_000))
    with pytest.raises(ReadError, match=r"^brake\.svg: elements lie more than 64 deep"):
        read_outline(path)
