"""How an SVG element looks and where it is put: style rules, inherited paint, transforms.

Source: the W3C's recommendations "Scalable Vector Graphics", chapters on styling and on coordinate systems,
and "Cascading Style Sheets"; of the selectors those that name a tag, a class or an id.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from xml.etree.ElementTree import Element

from app.files.readers.answer import ReadError, plain
from app.files.readers.placing import Placing
from app.files.readers.svg_path import bounded

#: What is looked at of a style.
_PROPERTIES = (
    "display",
    "visibility",
    "opacity",
    "color",
    "stroke",
    "stroke-width",
    "stroke-opacity",
    "fill",
    "fill-opacity",
    "transform",
)

#: Sizes and places that a style may set; they are read from attributes alone.
_SIZES = frozenset(
    ("d", "x", "y", "cx", "cy", "r", "rx", "ry", "transform-origin", "translate", "rotate", "scale")
)

_COMMENT = re.compile(r"/\*[^*]*\*+(?:[^/*][^*]*\*+)*/")
_SIMPLE = re.compile(r"(\*|[A-Za-z][\w-]*)?((?:[.#][\w-]+)*)")
_PART = re.compile(r"[.#][\w-]+")
_FUNCTION = re.compile(r"[\s,]*([A-Za-z]+)\s*\(([^()]*)\)")
_VALUE = re.compile(r"([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?)(px|deg)?")

#: Characters of a list of transforms; a handful is usual.
_LONGEST_TRANSFORM = 2000

#: Characters of a style sheet.
_LONGEST_SHEET = 500_000

#: The sixteen named colours of HTML and orange; others keep their names.
_NAMED = {
    **{"black": "000000", "silver": "c0c0c0", "gray": "808080", "grey": "808080", "white": "ffffff"},
    **{"maroon": "800000", "red": "ff0000", "purple": "800080", "fuchsia": "ff00ff", "magenta": "ff00ff"},
    **{"green": "008000", "lime": "00ff00", "olive": "808000", "yellow": "ffff00", "navy": "000080"},
    **{"blue": "0000ff", "teal": "008080", "aqua": "00ffff", "cyan": "00ffff", "orange": "ffa500"},
}


@dataclass(frozen=True)
class Look:
    """What an element takes from those round it.

    Attributes:
        stroke, fill: as written, None where nobody said; "none" paints nothing.
        colour: what "currentColor" means.
        is_visible: it may be seen.
        is_gone: an element round it is not drawn at all.
    """

    stroke: str | None = None
    fill: str | None = None
    colour: str = "black"
    is_visible: bool = True
    is_gone: bool = False

    def within(self, style: dict[str, str]) -> Look:
        """Return the look of an element of the given style inside one of this look."""
        stroke, fill = style.get("stroke", self.stroke), style.get("fill", self.fill)
        if _is_zero(style.get("stroke-opacity")) or _is_zero(style.get("stroke-width")):
            stroke = "none"
        if _is_zero(style.get("fill-opacity")):
            fill = "none"
        visibility = style.get("visibility", "")
        return replace(
            self,
            stroke=self.stroke if stroke == "inherit" else stroke,
            fill=self.fill if fill == "inherit" else fill,
            colour=style.get("color", self.colour),
            is_visible=self.is_visible if visibility in ("", "inherit") else visibility == "visible",
            is_gone=self.is_gone or style.get("display") == "none" or _is_zero(style.get("opacity")),
        )

    def reason_unseen(self, tag: str) -> str:
        """Return why a shape is not seen, empty where it is; a shape without any style is taken as seen."""
        if self.is_gone or not self.is_visible:
            return "hidden"
        has_no_stroke = self.stroke == "none" or (self.stroke is None and tag != "line")
        has_no_fill = self.fill == "none" or tag == "line"
        return "neither stroked nor filled" if has_no_stroke and has_no_fill else ""

    def paint(self) -> str:
        """Return the colour of the stroke, else of the fill, as #rrggbb where it can be."""
        seen = self.stroke if self.stroke not in (None, "none") else self.fill
        return colour(self.colour if seen == "currentcolor" else seen or "black")


def _is_zero(text: str | None) -> bool:
    number = _VALUE.match(text.strip()) if text else None
    return number is not None and float(number[1]) == 0.0


def colour(text: str) -> str:
    """Return a colour as #rrggbb; one that is told otherwise keeps its words."""
    text = text.strip().lower()
    if re.fullmatch(r"#[0-9a-f]{3,4}", text):
        return "#" + "".join(2 * c for c in text[1:4])
    if re.fullmatch(r"#[0-9a-f]{6}([0-9a-f]{2})?", text):
        return text[:7]
    parts = re.fullmatch(r"rgba?\(\s*([0-9.]+)(%?)[\s,]+([0-9.]+)%?[\s,]+([0-9.]+)%?.*\)", text)
    if parts and all(re.fullmatch(r"[0-9]+\.?[0-9]*", parts[k]) for k in (1, 3, 4)):
        share = 2.55 if parts[2] else 1.0
        return "#" + "".join(f"{min(round(float(parts[k]) * share), 255):02x}" for k in (1, 3, 4))
    return f"#{_NAMED[text]}" if text in _NAMED else plain(text)


# Style rules


@dataclass
class Styles:
    """The rules of a drawing's style sheets.

    Attributes:
        unread: rules with a selector that is not followed.
        sized: elements whose size or place a style sets, which is not followed.
    """

    unread: int = 0
    sized: int = 0
    _rules: dict[str, list[tuple[int, str, frozenset[str], dict[str, str]]]] = field(default_factory=dict)

    def add(self, sheet: str) -> None:
        """Add the rules of one sheet.

        Raises:
            ReadError: it is longer than any drawing needs.
        """
        if len(sheet) > _LONGEST_SHEET:
            raise ReadError(
                f"a style sheet is longer than {_LONGEST_SHEET} characters; export anew without it"
            )
        sheet = _COMMENT.sub(" ", sheet).replace("<!--", " ").replace("-->", " ")
        for rule in sheet.split("}"):
            selectors, _, declared = rule.rpartition("{")
            properties = _declarations(declared)
            for selector in selectors.split(","):
                simple = _SIMPLE.fullmatch(selector.strip())
                if simple is None or not selector.strip():
                    self.unread += bool(properties)
                    continue
                parts = frozenset(_PART.findall(simple[2]))
                tag = simple[1] if simple[1] not in (None, "*") else ""
                key = max(parts) if parts else tag
                weight = 100 * sum(p[0] == "#" for p in parts) + 10 * len(parts) + bool(tag)
                self._rules.setdefault(key, []).append((weight, tag, parts, properties))

    def of(self, element: Element, tag: str) -> dict[str, str]:
        """Return what is looked at of an element's style: attributes, then rules, then its own style."""
        found = {name: element.get(name, "") for name in _PROPERTIES if element.get(name)}
        found = {name: value.strip().lower() for name, value in found.items()}
        for properties in self._matching(element, tag):
            found.update(properties)
        own = _declarations(element.get("style", ""))
        found.update(own)
        self.sized += any(name in _SIZES for name in found)
        return found

    def _matching(self, element: Element, tag: str) -> Iterable[dict[str, str]]:
        if not self._rules:
            return ()
        names = {f".{name}" for name in element.get("class", "").split()} | {f"#{element.get('id', '')}"}
        near = [rule for key in ("", tag, *names) for rule in self._rules.get(key, ())]
        fitting = [rule for rule in near if rule[1] in ("", tag) and rule[2] <= names]
        return (rule[3] for rule in sorted(fitting, key=lambda rule: rule[0]))

    def findings(self) -> list[str]:
        """Return what is said of styles that are not followed."""
        said = []
        if self.unread:
            said.append(f"{self.unread} style rules are too intricate to be followed; look for hidden lines")
        if self.sized:
            said.append(f"{self.sized} elements have a size or place set by a style, which is not followed")
        return said


def _declarations(text: str) -> dict[str, str]:
    """Return properties by name, those that are looked at or set a size."""
    found: dict[str, str] = {}
    for declaration in text.split(";"):
        name, _, value = declaration.partition(":")
        name = name.strip().lower()
        if name in _PROPERTIES or name in _SIZES:
            found[name] = value.replace("!important", "").strip().lower()
    return found


# Transforms


def transform(text: str) -> Placing:
    """Return the map that a list of transforms makes.

    Raises:
        ReadError: one of them is unknown or damaged.
    """
    made, at = Placing(), 0
    if text.strip() == "none":
        return made
    if len(text) > _LONGEST_TRANSFORM:
        raise ReadError(f"a transform is longer than {_LONGEST_TRANSFORM} characters; flatten it")
    while text[at:].strip(" \t\r\n\f,"):
        match = _FUNCTION.match(text, at)
        if match is None:
            raise ReadError(
                f"the transform {plain(text[at:].strip())!r} is not understood; flatten transforms"
            )
        made, at = made.after(_function(match[1].lower(), _values(match[2]))), match.end()
    if not all(math.isfinite(n) and abs(n) < 1e12 for n in (made.a, made.b, made.c, made.d, made.e, made.f)):
        raise ReadError(f"the transform {plain(text)!r} is too large; flatten transforms and export again")
    return made


def _values(text: str) -> list[float]:
    values = []
    for part in text.replace(",", " ").split():
        match = _VALUE.fullmatch(part)
        if match is None:
            raise ReadError(f"the transform holds {plain(part)!r}, which is no number; flatten it")
        values.append(bounded(float(match[1])))
    return values


def _function(name: str, values: list[float]) -> Placing:
    count = len(values)
    if name == "matrix" and count == 6:
        return Placing(*values)
    if name == "translate" and count in (1, 2):
        return Placing.shifted(values[0], values[1] if count == 2 else 0.0)
    if name == "scale" and count in (1, 2):
        return Placing.scaled(values[0], values[-1])
    if name == "rotate" and count in (1, 3):
        x, y = (values[1], values[2]) if count == 3 else (0.0, 0.0)
        return Placing.shifted(x, y).after(_turned(values[0])).after(Placing.shifted(-x, -y))
    if name in ("skewx", "skewy") and count == 1:
        slope = math.tan(math.radians(values[0]))
        return Placing(c=slope) if name == "skewx" else Placing(b=slope)
    raise ReadError(
        f"the transform {plain(name)!r} with {count} numbers is not understood; flatten transforms"
    )


def _turned(angle_deg: float) -> Placing:
    """Return a turn; quarters are exact, so that upright stays upright."""
    quarters = angle_deg / 90.0
    if quarters != round(quarters):
        return Placing.turned(angle_deg)
    cos, sin = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[round(quarters) % 4]
    return Placing(a=cos, b=sin, c=-sin, d=cos)
