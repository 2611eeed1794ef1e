"""SVG: paths and basic shapes, in groups and uses of each other, joined into closed outlines.

x is z along the axle, y reversed is r from it. Lines and arcs of circles come in exactly where the transforms
keep circles. The tree is read by a parser that refuses entities, and walked here, so that what refers to
itself, or to tens of thousands of others, ends at a limit.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass, field, replace
from xml.etree.ElementTree import Element

from app.files.readers.answer import NOT_KNOWN, UNITS, ReadError, ReadOutline, Request, plain
from app.files.readers.limits import DRAWING
from app.files.readers.net import SAME
from app.files.readers.pieces import Point
from app.files.readers.placing import Placing
from app.files.readers.strokes import Strokes, is_off_at_first
from app.files.readers.svg_page import PX_PER_MM, Page, length, page_of, view_box
from app.files.readers.svg_path import Subpath, ellipse, pieces, polyline, rectangle, subpaths
from app.files.readers.svg_style import Look, Styles, transform
from app.files.readers.svg_tree import parsed, tag_of

_LINK = "{http://www.w3.org/1999/xlink}href"
#: The name that a drawing program gives to a layer.
_LABEL = "{http://www.inkscape.org/namespaces/inkscape}label"

_GROUPS = frozenset(("svg", "g", "a", "switch", "use"))
_SHAPES = frozenset(("path", "line", "polyline", "polygon", "rect", "circle", "ellipse"))
#: What is drawn, but is no outline.
_NO_OUTLINE = frozenset(("text", "image", "foreignObject", "video", "canvas", "iframe", "flowRoot"))

#: Layer of what lies in no named group.
_NO_GROUP = "no group"
#: Kind of a rectangle round the whole page, left out where something else is drawn.
_FRAME = "PAGE FRAME"


def read_svg(data: bytes, request: Request, sha256: str) -> ReadOutline:
    """Return the closed outlines of an SVG file.

    Raises:
        ReadError: the file is damaged or too big, the layer is missing, or nothing is drawn.
    """
    root = parsed(data)
    page = page_of(root)
    unit, doubt, scale, said = _scale(page, request)
    drawing = _drawn(root, page, scale, request)
    if drawing.lengths["own unit"] and page.mm_per_unit is None:
        if drawing.lengths["none"]:
            raise ReadError(
                "some lengths have a unit and others are in pixels, whose size is not fixed; export it with "
                "a viewBox and a page size in mm"
            )
        unit, doubt = request.unit or "mm", ""
        said = [f"the lengths state their units; mm read as {unit}, as asked"] if unit != "mm" else []
        factor = UNITS[unit] / PX_PER_MM
        drawing = _drawn(root, page, (factor, factor), request)
    elif drawing.lengths["own unit"]:
        said.append(
            f"{drawing.lengths['own unit']} lengths have a unit of their own, for which the format takes 96 "
            "units of the drawing to an inch whatever the page's scale is; look at their size"
        )
    return drawing.strokes.outline(unit, doubt, [*said, *drawing.findings()], sha256)


def _scale(page: Page, request: Request) -> tuple[str, str, Point, list[str]]:
    """Return the unit, why it is not known, what a unit of the drawing becomes, and what is said of it."""
    said = [page.said] if page.said else []
    if request.unit is not None and request.unit != page.unit:
        factor = UNITS[request.unit]
        if page.mm_per_unit is not None:
            said = [
                f"the file states {page.unit}, {page.mm_per_unit[0]:.6g} mm to a unit of the drawing; read "
                f"as one {request.unit} to a unit, as asked"
            ]
        return request.unit, "", (factor, factor), said
    if page.mm_per_unit is None:
        return NOT_KNOWN, page.doubt, (1.0, 1.0), []
    return page.unit, "", page.mm_per_unit, said


# The drawing


@dataclass(frozen=True)
class _Within:
    """What an element takes from those round it.

    Attributes:
        placing: of its coordinates.
        look: how it is painted.
        names: of the groups round it, outermost first; those that a person gave.
        ids: likewise, those of any sort.
        view: width and height that percentages refer to.
        depth: groups and uses round it.
    """

    placing: Placing
    look: Look
    view: Point
    names: tuple[str, ...] = ()
    ids: tuple[str, ...] = ()
    depth: int = 0

    @property
    def layer(self) -> str:
        """The innermost group with a name that a person gave, else with an id; one that is off has it all."""
        off = [name for name in (*self.names, *self.ids) if is_off_at_first(name)]
        return (off or self.names[::-1] or self.ids[::-1] or [_NO_GROUP])[0]


def _drawn(root: Element, page: Page, scale: Point, request: Request) -> _Drawing:
    drawing = _Drawing(root, page, page.placing(scale), Strokes(request))
    drawing.read()
    return drawing


@dataclass
class _Drawing:
    """Places the elements of a drawing and hands what they draw to the strokes.

    Attributes:
        lengths: how many coordinates have a unit of their own, and how many have none.
        notes: elements by what is to be said of them.
    """

    root: Element
    page: Page
    placing: Placing
    strokes: Strokes
    styles: Styles = field(default_factory=Styles)
    lengths: Counter[str] = field(default_factory=Counter)
    notes: Counter[str] = field(default_factory=Counter)
    count: int = 0
    _by_id: dict[str, Element] = field(default_factory=dict)
    _frames: list[tuple[list[Subpath], _Within, str]] = field(default_factory=list)

    def read(self) -> None:
        """Read the whole drawing."""
        for element in self.root.iter():
            if tag_of(element) == "style":
                self.styles.add("".join(element.itertext()))
            name = element.get("id")
            if name:
                self._by_id.setdefault(name, element)
        box = self.page.box
        view = (box[2], box[3]) if box else (0.0, 0.0)
        self._group(self.root, "svg", _Within(self.placing, Look(), view), is_root=True)
        self._settle_frames()

    def findings(self) -> list[str]:
        """Return what the user should look at, one sentence each."""
        return [f"{n} {what}" for what, n in sorted(self.notes.items())] + self.styles.findings()

    def _add(self, element: Element, within: _Within) -> None:
        """Add an element and what it holds."""
        tag = tag_of(element)
        if tag in _GROUPS or tag in _SHAPES or tag in _NO_OUTLINE:
            self.count += 1
            if self.count > DRAWING.entities:
                raise ReadError(
                    f"more than {DRAWING.entities} elements are drawn, each use of one counted; export the "
                    "outline alone"
                )
        if tag in _GROUPS:
            self._group(element, tag, within)
        elif tag in _SHAPES:
            try:
                self._shape(element, tag, within)
            except ReadError as error:
                name = f" {plain(element.get('id', ''))!r}" if element.get("id") else f" {self.count}"
                raise ReadError(f"{tag}{name}: {error}") from None
        elif tag in _NO_OUTLINE:
            self.strokes.skipped[tag] += 1
            if tag in ("text", "flowRoot"):
                self.strokes.note(" ".join(" ".join(element.itertext()).split()))
        elif tag.startswith("animate") or tag == "script":
            self.notes[f"elements of the kind {plain(tag)} may move or change what is drawn"] += 1

    # Groups and uses

    def _group(self, element: Element, tag: str, within: _Within, is_root: bool = False) -> None:
        if within.depth > DRAWING.nesting:
            raise ReadError(
                f"groups and uses lie more than {DRAWING.nesting} deep within each other (does one use "
                "itself?); ungroup them and export again"
            )
        inner = self._inside(element, tag, within)
        if tag == "use":
            self._use(element, inner)
            return
        if tag == "svg" and not is_root:
            inner = self._viewport(element, element, inner)
        for child in element:
            self._add(child, inner)

    def _inside(self, element: Element, tag: str, within: _Within) -> _Within:
        style = self.styles.of(element, tag)
        label, name = element.get(_LABEL, ""), element.get("id", "")
        if element.get("clip-path") or element.get("mask"):
            self.notes["elements are clipped or masked; they are read whole"] += 1
        own = transform(style.get("transform", "none"))
        self.lengths["none"] += (own.e, own.f) != (0.0, 0.0)
        return replace(
            within,
            placing=within.placing.after(own),
            look=within.look.within(style),
            names=(*within.names, label) if label else within.names,
            ids=(*within.ids, name) if name and tag != "svg" else within.ids,
            depth=within.depth + 1,
        )

    def _use(self, element: Element, inner: _Within) -> None:
        link = element.get("href") or element.get(_LINK) or ""
        target = self._by_id.get(link[1:]) if link.startswith("#") else None
        if target is None:
            self.strokes.skipped["use of something missing or in another file"] += 1
            return
        x, y = self._length(element, "x", inner.view[0]), self._length(element, "y", inner.view[1])
        inner = replace(inner, placing=inner.placing.after(Placing.shifted(x, y)))
        tag = tag_of(target)
        if tag in ("symbol", "svg"):
            held = self._viewport(element, target, self._inside(target, tag, inner))
            for child in target:
                self._add(child, held)
        else:
            self._add(target, inner)

    def _viewport(self, sized: Element, element: Element, within: _Within) -> _Within:
        """Return what lies within an element with a viewBox of its own, whose size `sized` may give."""
        size = []
        for k, name in enumerate(("width", "height")):
            teller = sized if sized.get(name) else element
            size.append(self._length(teller, name, within.view[k]) if teller.get(name) else within.view[k])
        placing = within.placing
        if tag_of(element) == "svg":
            x, y = (self._length(element, name, within.view[k]) for k, name in enumerate("xy"))
            placing = placing.after(Placing.shifted(x, y))
        box = view_box(element.get("viewBox"))
        if box is None:
            return replace(within, placing=placing, view=(size[0], size[1]))
        if min(size) <= 0.0:
            raise ReadError(
                "a part of the drawing has a viewBox, but no size; export it without nested pages"
            )
        across, up = size[0] / box[2], size[1] / box[3]
        ratio = element.get("preserveAspectRatio", "xMidYMid meet").split()
        place = ratio[0] if ratio else "xMidYMid"
        if place != "none":
            across = up = max(across, up) if "slice" in ratio else min(across, up)
        shift_x = _share(place[:4]) * (size[0] - across * box[2])
        shift_y = _share(place[4:]) * (size[1] - up * box[3])
        to_size = Placing(across, 0.0, 0.0, up, shift_x - across * box[0], shift_y - up * box[1])
        return replace(within, placing=placing.after(to_size), view=(box[2], box[3]))

    # Shapes

    def _shape(self, element: Element, tag: str, within: _Within) -> None:
        inner = self._inside(element, tag, within)
        # A shape's own id names no group.
        inner = replace(inner, names=within.names, ids=within.ids)
        unseen = inner.look.reason_unseen(tag)
        if unseen:
            self.strokes.skipped[unseen] += 1
            return
        runs = self._runs(element, tag, inner)
        if tag == "rect" and self._is_frame(runs, inner.placing):
            self._frames.append((runs, inner, inner.look.paint()))
            return
        if self.strokes.wants(inner.layer, inner.look.paint(), tag.upper()):
            self._stroke(runs, inner)

    def _stroke(self, runs: list[Subpath], inner: _Within) -> None:
        for run in runs:
            found = pieces(run, inner.placing, inner.layer)
            if not all(math.isfinite(n) for p in found for n in (*p.start, *p.end)):
                raise ReadError("its transforms make it endlessly large; flatten transforms and export again")
            # A run may come back to its start without saying so.
            meets = len(found) > 1 and math.dist(found[0].start, found[-1].end) <= SAME
            self.strokes.add(found, run.is_closed or meets)

    def _runs(self, element: Element, tag: str, inner: _Within) -> list[Subpath]:
        """Return what a shape draws in its own coordinates."""
        if tag in ("path", "polyline", "polygon"):
            self.lengths["none"] += 1
            data = element.get("d" if tag == "path" else "points", "")
            return subpaths(data) if tag == "path" else polyline(data, tag == "polygon")
        wide, high = inner.view
        wholes = {"x": wide, "y": high, "w": wide, "h": high, "r": math.hypot(wide, high) / math.sqrt(2.0)}
        names = ("x1", "y1", "x2", "y2", "x", "y", "width", "height", "r")
        x1, y1, x2, y2, x, y, width, height, r = (
            self._length(element, name, wholes[name[0]]) for name in names
        )
        cx, cy, rx, ry = (self._length(element, name, wholes[name[1]]) for name in ("cx", "cy", "rx", "ry"))
        if tag == "line":
            return polyline(f"{x1!r} {y1!r} {x2!r} {y2!r}", False)
        if tag == "circle":
            return ellipse((cx, cy), (r, r))
        radii = _both(element, rx, ry)
        return ellipse((cx, cy), radii) if tag == "ellipse" else rectangle((x, y), width, height, radii)

    def _length(self, element: Element, name: str, whole: float) -> float:
        text = element.get(name, "").strip()
        if text in ("", "auto"):
            return 0.0
        number, has_unit = length(text, whole, name)
        if number != 0.0:
            self.lengths["own unit" if has_unit else "none"] += 1
        return number

    # Frames

    def _is_frame(self, runs: list[Subpath], placing: Placing) -> bool:
        """Return True for a rectangle that is the page's own edge."""
        if self.page.box is None or not runs:
            return False
        x, y, width, height = self.page.box
        page = [self.placing.point((x + dx, y + dy)) for dx in (0.0, width) for dy in (0.0, height)]
        drawn = [p for piece in pieces(runs[0], placing, "") for p in (piece.start,)]
        near = 1e-3 * math.dist(page[0], page[3])
        return all(min(math.dist(p, q) for q in drawn) <= near for p in page)

    def _settle_frames(self) -> None:
        """Read rectangles round the whole page where they are asked for, or nothing else is drawn."""
        is_alone = not self.strokes.kinds
        for runs, inner, paint in self._frames:
            kind = "RECT" if is_alone else _FRAME
            is_asked = is_alone or kind in self.strokes.request.kinds
            if self.strokes.wants(inner.layer, paint, kind):
                if is_asked:
                    self._stroke(runs, inner)
                else:
                    self.strokes.skipped["rectangle round the whole page"] += 1


def _share(place: str) -> float:
    """Return which share of the spare room lies before the drawing."""
    return {"min": 0.0, "max": 1.0}.get(place[1:].lower(), 0.5)


def _both(element: Element, rx: float, ry: float) -> Point:
    """Return two radii, of which one may stand for both."""
    has = [element.get(name, "auto").strip() not in ("", "auto") for name in ("rx", "ry")]
    return (rx if has[0] else ry, ry if has[1] else rx)
