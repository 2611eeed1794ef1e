"""The elements of an SVG file, read by a parser that refuses entities and ends at limits."""

from __future__ import annotations

from xml.etree.ElementTree import Element, ParseError, TreeBuilder

from defusedxml.common import DefusedXmlException
from defusedxml.ElementTree import XMLParser

from app.files.readers.answer import ReadError
from app.files.readers.limits import DRAWING

_SVG = "{http://www.w3.org/2000/svg}"

#: Elements of any sort, and how deep they lie: what draws nothing counts as well.
_MOST_ELEMENTS, _DEEPEST = 8 * DRAWING.entities, 4 * DRAWING.nesting


class _Bounded(TreeBuilder):
    """Builds the tree of a file up to a number and a depth of elements."""

    def __init__(self) -> None:
        super().__init__()
        self._count = 0
        self._depth = 0

    def start(self, tag: str, attrs: dict[str, str], /) -> Element:
        self._count += 1
        self._depth += 1
        if self._count > _MOST_ELEMENTS:
            raise ReadError(f"more than {_MOST_ELEMENTS} elements; export the outline alone")
        if self._depth > _DEEPEST:
            raise ReadError(
                f"elements lie more than {_DEEPEST} deep within each other; ungroup them and export again"
            )
        return super().start(tag, attrs)

    def end(self, tag: str, /) -> Element:
        self._depth -= 1
        return super().end(tag)


def parsed(data: bytes) -> Element:
    """Return the root element of an SVG file.

    Raises:
        ReadError: it is damaged, defines entities, or is no SVG.
    """
    if data.startswith(b"\x1f\x8b"):
        raise ReadError("the SVG is packed (gzip); unpack it first")
    try:
        parser = XMLParser(target=_Bounded())
        parser.feed(data)
        root: Element = parser.close()
    except DefusedXmlException:
        raise ReadError(
            "the SVG defines entities or reads other files, which may hide anything; export it as plain SVG"
        ) from None
    except ParseError as error:
        line, column = error.position
        raise ReadError(
            f"the SVG is damaged or cut off at line {line}, column {column}; export it again"
        ) from None
    except (ValueError, LookupError, AssertionError):
        raise ReadError("the SVG's text is in no encoding that is known here; save it as UTF-8") from None
    if tag_of(root) != "svg":
        raise ReadError("the file holds no SVG drawing; export it as SVG")
    return root


def tag_of(element: Element) -> str:
    """Return an element's name, empty for one of another language."""
    tag: str = element.tag
    return tag.removeprefix(_SVG) if tag.startswith(_SVG) or "{" not in tag else ""
