"""SVG: entities, references to itself and to others, depth, sizes."""

import gzip
from collections.abc import Callable, Iterator

from tests.corpus.cases import SHARP
from tests.corpus.hostile.inputs import (
    ENTITY,
    LIMIT_BYTES,
    LIMIT_ENTITIES,
    LIMIT_NESTING,
    LIMIT_POINTS,
    NESTED,
    NO_OUTLINE,
    NOT_FINITE,
    NOT_XML,
    TOO_FAR,
    TOO_LARGE,
    TOO_MANY,
    Hostile,
    either,
    fixed,
    harmless,
    laughs,
)
from tests.corpus.shapes import polygon
from tests.corpus.write_svg import Sheet, path

PAGE = Sheet("150mm", "220mm", (-80.0, -215.0, 150.0, 220.0), 1.0)
OUTLINE = path(SHARP)


def made(*items: str, doctype: str = "") -> Callable[[], bytes]:
    """A picture of these elements in mm."""
    return lambda: PAGE.text(*items).replace("<svg", doctype + "<svg", 1).encode()


def inputs() -> Iterator[Hostile]:
    """All of this kind."""
    yield from _entities()
    yield from _references()
    yield from _depth_and_counts()
    yield from _numbers()
    yield from _structure()


def _entities() -> Iterator[Hostile]:
    bomb = made("<text>&e9;</text>", OUTLINE, doctype=f"<!DOCTYPE svg [{laughs()}]>")
    yield Hostile("entities_billion.svg", "Entities of entities, a thousand million in all.", bomb, ENTITY)
    long = f'<!DOCTYPE svg [<!ENTITY a "{"a" * 100_000}">]>'
    square = made(f"<text>{'&a;' * 20_000}</text>", OUTLINE, doctype=long)
    yield Hostile("entities_quadratic.svg", "A long entity, used twenty thousand times.", square, ENTITY)
    spy = '<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/passwd">]>'
    yield Hostile(
        "entity_of_a_file.svg",
        "An entity refers to a file of the system.",
        made("<text>&x;</text>", OUTLINE, doctype=spy),
        ENTITY,
    )
    call = '<!DOCTYPE svg [<!ENTITY % p SYSTEM "http://127.0.0.1:9/x.dtd"> %p;]>'
    yield Hostile(
        "entity_of_a_server.svg",
        "A parameter entity refers to a server.",
        made(OUTLINE, doctype=call),
        ENTITY,
    )


def use_tower(levels: int, copies: int) -> Callable[[], bytes]:
    """Groups in one another by `use`, each the last `copies` times."""
    items = [f'<g id="u0">{OUTLINE}</g>']
    for level in range(1, levels):
        uses = "".join(f'<use xlink:href="#u{level - 1}" x="{0.1 * i:.1f}"/>' for i in range(copies))
        items.append(f'<g id="u{level}">{uses}</g>')
    return made("<defs>", *items, "</defs>", f'<use xlink:href="#u{levels - 1}"/>')


def _references() -> Iterator[Hostile]:
    own = made(f'<g id="a">{OUTLINE}<use xlink:href="#a" x="1"/></g>')
    yield Hostile("use_itself.svg", "A group uses itself.", own, NESTED)
    pair = made('<g id="a"><use href="#b"/></g>', f'<g id="b">{OUTLINE}<use href="#a"/></g>')
    yield Hostile("use_each_other.svg", "Two groups use each other.", pair, NESTED)
    yield Hostile(
        "use_8_levels_by_10.svg",
        "Ten million copies by eight levels of ten uses.",
        use_tower(8, 10),
        TOO_MANY + "|" + NESTED,
    )
    outside = made(OUTLINE, '<use xlink:href="other.svg#a"/>', '<image xlink:href="file:///etc/passwd"/>')
    yield harmless("use_of_other_files.svg", "References to other files; they must not be opened.", outside)
    nowhere = made(OUTLINE, '<use href="#nowhere"/>')
    yield harmless("use_of_nothing.svg", "A reference that leads nowhere; the outline is sound.", nowhere)
    active = made(
        "<script>fetch('http://127.0.0.1:9/')</script>",
        "<style>@import url(http://127.0.0.1:9/x.css); path { fill: url(file:///etc/passwd) }</style>",
        f'<g onload="alert(1)">{OUTLINE}</g><foreignObject><p>text</p></foreignObject>',
    )
    yield harmless(
        "script_and_style.svg",
        "Script, a style sheet from a server, a foreign object; all without effect.",
        active,
    )


def _depth_and_counts() -> Iterator[Hostile]:
    def nested(depth: int) -> Callable[[], bytes]:
        return made("<g>" * depth + OUTLINE + "</g>" * depth)

    yield Hostile(
        "groups_100000_deep.svg",
        "A hundred thousand groups in one another.",
        nested(100_000),
        NESTED + "|" + TOO_LARGE,
    )
    yield harmless("groups_15_deep.svg", "Fifteen groups in one another.", nested(LIMIT_NESTING - 1))
    dots = "".join(
        f'<circle cx="{i % 100}" cy="{-(i // 100) / 5 - 1}" r="0.05"/>' for i in range(LIMIT_ENTITIES + 1)
    )
    yield Hostile("elements_50001.svg", "One shape more than are allowed.", made(dots), TOO_MANY)

    def million() -> bytes:
        steps = " ".join(f"L{i * 0.001:.3f},{-60 - i % 2}" for i in range(1_000_000))
        return made(f'<path d="M0,-50 {steps} Z"/>')()

    yield Hostile("path_of_a_million.svg", "A path of a million lines.", million, TOO_MANY + "|" + TOO_LARGE)
    few = [(0.0, 50.0), *((i * 0.002, round(60.0 + i * 1e-4, 4)) for i in range(LIMIT_POINTS - 1))]
    words = "M" + " L".join(f"{z:.3f},{-r:.4f}" for z, r in few)
    yield harmless(
        "path_of_20000.svg",
        "A path of as many places as are allowed.",
        made(f'<path d="{words} Z"/>'),
        polygon(few),
    )
    many = "".join(f' a{i}="1"' for i in range(100_000))
    yield either(
        "attributes_100000.svg",
        "An element with a hundred thousand attributes.",
        made(f"<g{many}>{OUTLINE}</g>"),
        TOO_MANY + "|" + NOT_XML,
    )
    yield Hostile(
        "weighs_20_mb_and_1.svg",
        "One byte more than a picture may weigh.",
        _weighing(LIMIT_BYTES["svg"] + 1),
        TOO_LARGE,
    )


def _weighing(size: int) -> Callable[[], bytes]:
    def make() -> bytes:
        plain = made(OUTLINE, "<!---->")()
        return plain.replace(b"<!---->", b"<!--" + b"x" * (size - len(plain)) + b"-->")

    return make


def _numbers() -> Iterator[Hostile]:
    for word, name in (("nan", "nan"), ("inf", "inf"), ("1e400", "1e400"), ("1e308", "1e308")):
        bad = f'<path d="M0,-50 L{word},-60 L10,-60 Z"/>'
        yield Hostile(
            f"path_{name}.svg",
            f"A path goes to {word}.",
            made(bad, OUTLINE),
            NOT_FINITE + "|path|outline",
            opens=word in ("nan", "inf"),
        )
    curved = made('<path d="M0,-50 A1e308,1e308 0 0 1 9,-60 Z"/>', OUTLINE)
    yield either(
        "arc_radius_1e308.svg",
        "An arc's radii are 1e308; by the standard it is then all but a line.",
        curved,
        NOT_FINITE,
    )
    grown = '<g transform="scale(1e100)">' * 4 + OUTLINE + "</g>" * 4
    yield Hostile(
        "scales_overflow.svg",
        "Four groups, each 1e100 times larger: together beyond all numbers.",
        made(grown),
        NOT_FINITE + "|transform|scale",
    )
    yield Hostile(
        "transform_nan.svg",
        "A transform of nan.",
        made(f'<g transform="matrix(nan,0,0,1,0,0)">{OUTLINE}</g>'),
        NOT_FINITE + "|transform|matrix",
    )
    yield Hostile(
        "transform_zero.svg",
        "The only outline is scaled to nothing.",
        made(f'<g transform="scale(0)">{OUTLINE}</g>'),
        NO_OUTLINE + "|scale|transform",
    )
    for name, box in (
        ("huge", "0 0 1e308 1e308"),
        ("zero", "0 0 0 0"),
        ("words", "a b c d"),
        ("nan", "nan nan nan nan"),
        ("negative", "0 0 -150 -220"),
    ):
        sheet = PAGE.text(OUTLINE).replace("-80.0 -215.0 150.0 220.0", box)
        yield Hostile(
            f"viewbox_{name}.svg",
            f"The viewBox is {box}.",
            fixed(sheet.encode()),
            NOT_FINITE + "|" + NO_OUTLINE + "|viewBox|size|unit",
            opens=name != "huge",
        )
    far = PAGE.text(OUTLINE).replace("150mm", "15000000mm").replace("220mm", "22000000mm")
    yield Hostile(
        "page_15_km.svg",
        "A page fifteen kilometres wide.",
        lambda: far.encode(),
        TOO_FAR + "|unit|scale|size",
    )


def _structure() -> Iterator[Hostile]:
    yield Hostile(
        "unclosed.svg", "A group is not closed.", lambda: PAGE.text("<g>", OUTLINE).encode(), NOT_XML
    )
    yield Hostile("cut_in_half.svg", "The file ends in the middle.", lambda: made(OUTLINE)()[:250], NOT_XML)
    yield Hostile(
        "gzip.svg",
        "Compressed, as .svgz is, but called .svg.",
        lambda: gzip.compress(made(OUTLINE)(), mtime=0),
        NOT_XML + "|compress|gzip|binary|text",
    )
    yield Hostile(
        "html.svg",
        "A web page.",
        lambda: b"<!DOCTYPE html><html><body><p>404</p></body></html>",
        NOT_XML + "|" + NO_OUTLINE,
    )
    coded = made(OUTLINE)().replace(b"UTF-8", b"UTF-7")
    yield either(
        "encoding_unknown.svg",
        "An encoding that nobody should read.",
        lambda: coded,
        NOT_XML + "|encoding|UTF-7",
    )
    yield Hostile("only_text.svg", "Nothing but text.", made("<text>CALIPER</text>"), NO_OUTLINE)
