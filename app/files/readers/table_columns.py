"""What the columns of a table mean, and in which unit: by their names, else as the user says.

Two columns without names are z and r, three are x, y and z in space, and that is said. Anything else without
clear names is left to the user.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from app.files.readers.answer import NOT_KNOWN, ReadError, Request, plain
from app.files.readers.table_grid import Grid, Row

_UNITS = {
    **dict.fromkeys(("mm", "millimeter", "millimeters", "millimetre", "millimetres"), "mm"),
    **dict.fromkeys(("in", "inch", "inches", "zoll", '"', "″"), "in"),
    **dict.fromkeys(("cm", "centimeter", "centimeters", "centimetre", "centimetres"), "cm"),
    **dict.fromkeys(("m", "meter", "meters", "metre", "metres"), "m"),
}
#: Units that are known, but not converted.
_OTHER_UNITS = (
    "µm",
    "μm",
    "um",
    "micron",
    "microns",
    "mil",
    "mils",
    "thou",
    "ft",
    "feet",
    "dm",
    "km",
    "pt",
    "px",
)

_MEANING = {
    **dict.fromkeys(("z", "axial", "axialposition"), "z"),
    **dict.fromkeys(("r", "radial", "radius", "halbmesser"), "r"),
    **dict.fromkeys(("diameter", "dia", "durchmesser", "ø", "⌀"), "diameter"),
    **{"x": "x", "y": "y", "bulge": "bulge"},
}
#: Words beside the letter of a coordinate that make it another thing.
_NOT_A_PLACE = re.compile(r"\b(d|delta|err(or)?|dev(iation)?|tol(erance)?|std|sigma|n|normal|min|max|mean)\b")
#: What the user may call a column; d is a diameter.
_ASKED = {"": "", "z": "z", "r": "r", "x": "x", "y": "y", "d": "diameter", "bulge": "bulge"}
#: Characters of a name or a note that are looked at.
_LONGEST = 200
#: Words round the name of a coordinate that say nothing.
_FILLER = re.compile(r"\b(coordinates?|coords?|koordinate|pos(ition)?|value|axis|point|centre|center)\b")
_WITH_UNIT = re.compile(
    r"(?P<name>.*?)(?:[\s_/,]*[(\[{]\s*(?P<unit>[^()\[\]{}]*?)\s*[)\]}]|[\s_/]+(?:in\s+)?(?P<bare>\S+))"
)
_STATED = re.compile(
    r"(?:\b(?:units?|einheit(?:en)?|dimensions?|values?|coordinates?|lengths?)\b[^a-zµμ\"]*(?:are\s+|is\s+)?"
    r"(?:in\s+)?|\bin\s+|[(\[])([a-zµμ]+|\")(?![a-zµμ])"
)

_EXPECTED = (
    "name the columns z_mm, r_mm (or z_in, r_in) and, for arcs, bulge; or say what each is with --columns"
)

#: What columns there must be, and what they are then taken as.
_SETS = (
    (("z", "r"), ("z", "r")),
    (("z", "diameter"), ("z", "diameter")),
    (("x", "y", "z"), ("x", "y", "z")),
    (("x", "r"), ("x", "r")),
    (("x", "diameter"), ("x", "diameter")),
    (("x", "y"), ("x", "y")),
)


@dataclass(frozen=True)
class Columns:
    """What a table's columns are.

    Attributes:
        taken: what each column is taken as, empty for those left out.
        used: which of them make a place: two in the half-plane, three in space, and bulge.
        unit: that names, a row of units or notes state, a key of UNITS or not known.
        unit_doubt: why it is not known although something is said about it.
        warnings: what the user should look at.
        hindrance: why the meaning is not clear; nothing is taken then.
    """

    taken: tuple[str, ...] = ()
    used: tuple[str, ...] = ()
    unit: str = NOT_KNOWN
    unit_doubt: str = ""
    warnings: tuple[str, ...] = ()
    hindrance: str = ""

    def at(self, name: str) -> int:
        """Return the number of a column."""
        return self.taken.index(name)


def columns_of(grid: Grid, request: Request) -> Columns:
    """Return what the columns of a table are.

    Raises:
        ReadError: the user's columns do not fit the table, or names contradict each other.
    """
    named = _names_row(grid)
    units, doubt = _units(grid, named)
    if request.columns:
        found = _as_asked(grid, request.columns, named)
    elif named is not None:
        found = _by_names(named)
    else:
        found = _without_names(grid)
    return replace(found, unit=units, unit_doubt=doubt)


# Names


def _names_row(grid: Grid) -> Row | None:
    """Return the row that names the columns: of those of full width the lowest that is no row of units.

    A comment names them as well, where two of its words are names.
    """
    full = [row for row in grid.heads if len(row.cells) == grid.width and not _is_units(row)]
    notes = [row for row in grid.notes if len(row.cells) == grid.width]
    known = [row for row in (*notes, *full) if sum(map(bool, _meanings(row))) > 1]
    return known[-1] if known else full[-1] if full and sum(map(bool, full[-1].cells)) > 1 else None


def _parts(cell: str) -> tuple[str, str]:
    """Return the name in a cell and the unit beside it, as written, in small letters."""
    text = cell[:_LONGEST].lower().strip().strip("\"'")
    match = _WITH_UNIT.fullmatch(text)
    if match is None:
        return text, ""
    unit = match["unit"] if match["unit"] is not None else match["bare"]
    if unit in _UNITS or unit in _OTHER_UNITS:
        return match["name"].strip(), unit
    return (match["name"].strip(), "") if match["unit"] is not None else (text, "")


def _meaning(cell: str) -> str:
    name = _FILLER.sub(" ", _parts(cell)[0].replace("_", " ").replace("-", " "))
    return _MEANING.get("".join(name.split()), "")


def _meaning_in(cell: str) -> str:
    """Return what one word of a longer name means, as in "height r"; empty where two would differ."""
    words = re.split(r"[^\w⌀]+|_", _parts(cell)[0])
    found = {_MEANING[word] for word in words if word in _MEANING}
    return found.pop() if len(found) == 1 and not _NOT_A_PLACE.search(" ".join(words)) else ""


def _meanings(row: Row) -> list[str]:
    """Return what the cells of a row name; a word of a longer name counts where no other cell is named so."""
    names = [_meaning(cell) for cell in row.cells]
    within = [_meaning_in(cell) for cell in row.cells]
    return [
        name or ("" if name_in in names else name_in) for name, name_in in zip(names, within, strict=True)
    ]


def _by_names(row: Row) -> Columns:
    names = _meanings(row)
    shown = plain(", ".join(row.cells))
    if {"g", "b"} <= {_parts(cell)[0] for cell in row.cells} and {"x", "y", "z"} <= set(names):
        names = ["" if name == "r" else name for name in names]  # red, green and blue of a scan
    if len([n for n in names if n]) != len({n for n in names if n}):
        return Columns(hindrance=f"the columns are named {shown!r}, one name twice; {_EXPECTED}")
    for wanted, used in _SETS:
        if set(wanted) <= set(names):
            spare = [c for c, n in zip(row.cells, names, strict=True) if n not in (*used, "bulge")]
            found = _taken(names, used, spare)
            named = zip(row.cells, found.taken, strict=True)
            said = [f"column {plain(c)!r} is taken as {n}" for c, n in named if n and not _meaning(c)]
            return replace(found, warnings=(*found.warnings, *said))
    return Columns(hindrance=f"the columns are named {shown!r}; {_EXPECTED}")


def _taken(names: Sequence[str], used: Sequence[str], spare: Sequence[str]) -> Columns:
    bulge = ("bulge",) if "bulge" in names and len(used) == 2 and "diameter" not in used else ()
    kept = (*used, *bulge)
    said = []
    if spare := [cell for cell in spare if cell]:
        said.append(f"columns left out: {', '.join(map(plain, spare[:6]))}")
    if "diameter" in used:
        said.append("r is half of the column of diameters")
    return Columns(tuple(n if n in kept else "" for n in names), kept, warnings=tuple(said))


def _as_asked(grid: Grid, asked: Sequence[str], named: Row | None) -> Columns:
    words = [name.strip().lower() for name in asked]
    unknown = [word for word in words if word not in _ASKED]
    if unknown:
        raise ReadError(
            f"--columns: {plain(unknown[0])!r} is not known; each is z, r, d for a diameter, x, y, bulge or "
            "nothing"
        )
    names = [_ASKED[word] for word in words]
    if len(names) > grid.width:
        raise ReadError(f"--columns names {len(names)} columns, the table has {grid.width}")
    filled_columns = _filled(grid)
    if len(names) == len(filled_columns):
        names = [names[filled_columns.index(k)] if k in filled_columns else "" for k in range(grid.width)]
    names += [""] * (grid.width - len(names))
    filled = [name for name in names if name]
    used = next((used for wanted, used in _SETS if set(wanted) == set(filled) - {"bulge"}), None)
    if used is None or len(filled) != len(set(filled)):
        raise ReadError(
            f"--columns {plain(','.join(asked))}: one column each must be z and r, z and d, x and y, or x, y "
            "and z"
        )
    found = _taken(names, used, ())
    if named is not None:
        said = (
            f"the columns are named {plain(', '.join(named.cells))!r}; read as {', '.join(names)}, as asked"
        )
        by_name = _by_names(named)
        if by_name.taken and by_name.taken != found.taken:
            found = replace(found, warnings=(*found.warnings, said))
    return found


def _without_names(grid: Grid) -> Columns:
    filled = _filled(grid)
    is_counted = bool(filled) and _counts(grid.first_cells(filled[0]))
    usual = {2: ("z", "r"), 3: ("x", "y", "z")}.get(len(filled), ())
    if not usual or (is_counted and len(filled) > 2):
        why = ", the first of which counts the rows" if is_counted else ""
        return Columns(hindrance=f"{len(filled)} columns without names{why}; {_EXPECTED}")
    taken = tuple(usual[filled.index(k)] if k in filled else "" for k in range(grid.width))
    said = (
        "the first column is taken as z, the second as r"
        if len(usual) == 2
        else "the three columns are taken as x, y and z in space"
    )
    return Columns(taken, usual, warnings=(f"no column names: {said}",))


def _filled(grid: Grid) -> list[int]:
    """Return the columns that hold anything."""
    return [k for k in range(grid.width) if any(grid.first_cells(k))]


def _counts(cells: Sequence[str]) -> bool:
    """Return True for whole numbers, each one more than the one before."""
    if len(cells) < 3 or not all(re.fullmatch(r"[0-9]{1,9}", cell) for cell in cells):
        return False
    return all(b - a == 1 for a, b in pairwise(int(cell) for cell in cells))


# Units


def _is_units(row: Row) -> bool:
    filled = [cell.lower().strip("[](){} ") for cell in row.cells if cell]
    return bool(filled) and all(cell in _UNITS or cell in _OTHER_UNITS or cell == "-" for cell in filled)


def _units(grid: Grid, named: Row | None) -> tuple[str, str]:
    """Return the unit that the table states, and why it is not known although something is said."""
    found: list[str] = []
    if named is not None:
        names = _meanings(named)
        units = [_parts(cell)[1] for cell in named.cells]
        found = [unit for name, unit in zip(names, units, strict=True) if unit and name not in ("", "bulge")]
        if not found and not any(names):
            found = [unit for unit in units if unit]
    for row in grid.heads:
        if _is_units(row) and not found:
            found = [cell.lower().strip("[](){} ") for cell in row.cells if cell and cell != "-"]
    stated = {_UNITS.get(unit, unit) for unit in found}
    if len(stated) > 1:
        raise ReadError(
            f"the columns are named with different units ({', '.join(sorted(map(plain, stated)))}); convert "
            "one of them"
        )
    if not stated:
        rows = (*grid.notes, *(row for row in grid.heads if row is not named))
        texts = [" ".join(row.cells)[:_LONGEST].lower() for row in rows]
        matches = [match[1] for text in texts for match in _STATED.finditer(text)]
        stated = {_UNITS.get(word, word) for word in matches if word in _UNITS or word in _OTHER_UNITS}
        if len(stated) > 1:
            return NOT_KNOWN, f"notes in the file speak of {' and of '.join(sorted(stated))}"
    unit = stated.pop() if stated else NOT_KNOWN
    if unit not in _UNITS.values() and unit != NOT_KNOWN:
        return NOT_KNOWN, f"the file states {plain(unit)}, which is not converted"
    return unit, ""
