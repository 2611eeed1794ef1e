"""What each file of the corpus holds in truth, read from truth.json.

The truth is computed by the maker from its own shape definitions in plain arithmetic; no reader takes part.

A file does not say everything. `Options` holds what a person would answer, applied in this order:

1. Units and size: lengths of the file become mm by its stated unit, or by `unit` where the file says none
   or the wrong one ("mm", "in", "cm", "m"); then everything is multiplied by `factor`.
2. Frame. Drawings: the axle runs along the file's `axle`; with "x", (z, r) = (x, y), with "y", (y, x).
   SVG counts y downwards; here it counts upwards from the origin of the outermost viewBox, (z, r) = (x, -y).
   A reader that counts from the page's left and upper edge uses `page_shift_mm` for `shift_mm`.
   Bodies and points in space: `axle_origin_mm` is subtracted, z is the component along `axle`, or along
   `axle_direction` where the axle lies askew, and r the distance from that line.
3. (z, r) is moved by `shift_mm`.
4. `flip`: z changes its sign, because the file has outboard on the left.
5. `complete_at_z_mm`: the half that is drawn is completed by its mirror image at that z.
6. `ball_radius_mm`: probe-ball centres are moved back towards the body by that radius.

Which things of the file are meant: `layers` to take (none: all that are shown). `inside` is a place (z, r)
after all of the above; where a file holds several outlines, the smallest that contains it is wanted.
`join_mm` is the largest gap between line ends to close. `bodies` is "all" or "largest". `sheet` is a sheet
of a workbook. `columns` names columns where headings do not say it: keys "z", "r", "d" (diameter), "x", "y"
(with "z" alone, r is the size of y); values are headings, or numbers from 1 where there are none.
`in_order`: rows run along the outline.

Chains are [z, r, bulge] as in shapes.py. `closed` is False where only part of an outline is in the file.
An outline that is read is right if no place of it lies further inside the true outline than `tol_in_mm`, nor
further outside than `tol_out_mm`, and no part of the true outline is missing. For bodies the area they sweep
is meant. Every point of a scan lies inside the true profile or within `noise_mm` of it.

Counts are [least, most]; None: not judged. `joined` counts gaps closed, `doubles` lines, arcs or pieces
dropped because others cover them. `skipped` counts entities by type that cannot be part of an outline, on
the layers taken. `questions` names what the file itself leaves open, beyond the five questions that every
outline meets (handbook, section 4):

    unit      no unit, or one that cannot be right        outline   several closed outlines, one is wanted
    zero      the zero is plainly not the hub's           extent    part of the body is not in the file
    axle      which way the axle runs, or r below 0       scale     picture scale or text against drawn length
    mirror    half drawn                                  columns   what the columns mean
    sheet     which sheet of a workbook                   bodies    several bodies, loose pieces
    gaps      line ends apart                             probe     surface or ball centre
    height    stray heights                               open      the surface has holes

`warnings` are regular expressions on what should be said about the file. Where `may_refuse` is set, a refusal
whose words match it is as good as the outline: the handbook leaves it open.
"""

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, fields
from pathlib import Path
from typing import Any

from tests.corpus.shapes import Chain, Point

FOLDER = Path(__file__).parent
FILES = FOLDER / "files"
TRUTH_FILE = FOLDER / "truth.json"

KINDS = ("drawing", "mesh", "points", "table")
QUESTIONS = (
    *("unit", "zero", "axle", "mirror", "sheet", "gaps", "height"),
    *("outline", "extent", "scale", "columns", "bodies", "probe", "open"),
)
UNIT_MM = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "ft": 304.8, "pt": 25.4 / 72.0}

Place = tuple[float, float, float]
Count = tuple[int, int]


@dataclass(frozen=True)
class Options:
    """What a person would answer; see above."""

    unit: str | None = None
    factor: float = 1.0
    axle: str = "x"
    axle_origin_mm: Place = (0.0, 0.0, 0.0)
    axle_direction: Place | None = None
    shift_mm: Point = (0.0, 0.0)
    page_shift_mm: Point | None = None
    flip: bool = False
    complete_at_z_mm: float | None = None
    ball_radius_mm: float = 0.0
    layers: tuple[str, ...] = ()
    inside: Point | None = None
    join_mm: float | None = None
    bodies: str = "all"
    sheet: str | None = None
    columns: Mapping[str, str] = field(default_factory=dict)
    in_order: bool | None = None


@dataclass(frozen=True)
class Truth:
    """What one file holds and what must be said about it; see above."""

    file: str
    kind: str
    defect: str
    unit_stated: str | None
    outlines: tuple[Chain, ...]
    options: Options = Options()
    other_outlines: tuple[Chain, ...] = ()
    closed: bool = True
    tol_in_mm: float = 1e-5
    tol_out_mm: float = 1e-5
    noise_mm: float = 0.0
    joined: Count | None = (0, 0)
    doubles: Count | None = (0, 0)
    skipped: Mapping[str, int] = field(default_factory=dict)
    questions: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    may_refuse: str | None = None
    several_defects: bool = False


def truths() -> dict[str, Truth]:
    """The truth of every file, by file name."""
    return {entry["file"]: _truth(entry) for entry in json.loads(TRUTH_FILE.read_text("utf-8"))}


def _truth(entry: dict[str, Any]) -> Truth:
    values = {key: _tuples(value) for key, value in entry.items()}
    values["options"] = Options(**{key: _tuples(value) for key, value in entry.get("options", {}).items()})
    for key in ("outlines", "other_outlines"):
        values[key] = tuple([(z, r, bulge) for z, r, bulge in chain] for chain in entry.get(key, []))
    return Truth(**values)


def _tuples(value: Any) -> Any:
    return tuple(value) if isinstance(value, list) else value


def as_json(entries: list[Truth]) -> str:
    """The text of truth.json: defaults left out, one chain to a line."""
    return "[\n" + ",\n".join(_entry(truth) for truth in entries) + "\n]\n"


def _entry(truth: Truth) -> str:
    lines = []
    for item in fields(truth):
        value = getattr(truth, item.name)
        if item.name in ("outlines", "other_outlines"):
            if value:
                rows = ",\n".join("   " + _chain(chain) for chain in value)
                lines.append(f'  "{item.name}": [\n{rows}\n  ]')
        elif item.name == "options":
            given = {k: v for k, v in asdict(value).items() if v != getattr(Options(), k)}
            if given:
                lines.append(f'  "options": {json.dumps(given, ensure_ascii=False)}')
        elif item.name in ("file", "kind", "defect", "unit_stated") or value != _default(item.name):
            lines.append(f'  "{item.name}": {json.dumps(value, ensure_ascii=False)}')
    return " {\n" + ",\n".join(lines) + "\n }"


def _default(name: str) -> object:
    plain = Truth(file="", kind="", defect="", unit_stated=None, outlines=())
    return getattr(plain, name)


def _chain(chain: Chain) -> str:
    return json.dumps([[round(value, 9) + 0.0 for value in node] for node in chain])
