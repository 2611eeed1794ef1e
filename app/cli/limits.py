"""`blankwright limits`: which widths and insets of a wheel a blank can be cut to, as a table for a person."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

from app.cli.terminal import printed
from app.files.atomic import save_bytes
from app.files.writers.quotes import SUFFIXES, write_quotes
from app.project import edits
from app.project.project import Project
from app.project.steps_text import steps
from app.project.wheel import Wheel
from app.reports.limits_words import (
    held_seat_words,
    mass_words,
    money_rows,
    money_words,
    relied_words,
    window_words,
)
from app.reports.numbers import Numbers, unit_of
from app.reports.outputs import limits_pdf
from app.reports.sentences import SIGNS
from app.reports.variant_words import variant_head, variant_lines
from app.studies.blank_variant import VariantCheck
from app.studies.cuttable import Cuttable, lack_words
from app.studies.extremes import Extreme, extreme_words
from app.studies.limits import Cell, Limits, limits, usual
from app.studies.limits_against import Against
from app.studies.limits_table import as_csv
from geometry.errors import GeometryError
from geometry.readings.rules import State
from geometry.shape.blank import Quote

#: Stands for a cell that cannot be drawn.
NOT_DRAWN = "-"

#: The signs of a map in words.
SIGNS_SAID = ", ".join(
    f"{sign} {word}"
    for sign, word in (
        (SIGNS[State.CLEAR], "cuttable"),
        (SIGNS[State.TIGHT], "tight"),
        (SIGNS[State.SHORT], "not"),
        (SIGNS[State.NOT_KNOWN], "not known"),
        (NOT_DRAWN, "not drawn"),
    )
)

#: Said with every map.
STOCK_ONLY = (
    "Stock in the blank alone counts: gaps to brakes, walls and hub fit are not judged here "
    "(check and match do that)."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes beside the project."""
    add = parser.add_argument
    add("--wheel", required=True, metavar="NAME", help="whose design is drawn in every width and inset")
    add("--blank", metavar="NAME", help="the wheel's own if not given")
    add("--widths", metavar="8,8.5,9", help="width codes, or low:high:step; else 1.5 about the wheel's")
    add("--insets", metavar="0:45:5", help="mm, likewise; else 30 mm about the wheel's")
    add(
        "--keep-seat",
        action="store_true",
        help="keep the machining datum: the mounting face stays at its place in the blank; else every cell "
        "is slid to its greatest least spare stock",
    )
    add("--mend", action="store_true", help="what would make the drawn wheel cuttable")
    add("--against", metavar="BLANK", help="a second blank: what it gives up, in mm and kg")
    add("--pieces", type=int, metavar="N", help="yearly order whose price step holds; else the least order")
    add("--cores", type=int, default=1, metavar="N", help="processes that share the work, 0 for all cores")
    add("--json", action="store_true", help="print JSON, lengths in mm")
    add("--out", type=Path, metavar="FILE.pdf", help="write the map and what it says on pages")
    add("--csv", type=Path, metavar="FILE", help="write the cells as a table")
    add(
        "--quotes",
        type=Path,
        metavar="FILE.(csv|xlsx)",
        help="write what forges quoted for the blank, and for the second one, side by side",
    )


def check_against(project: Project, args: argparse.Namespace) -> None:
    """Refuse a blank that would be held against itself, before anything is computed.

    Raises:
        GeometryError: the second blank is the first one.
        EditError: a name that the project does not hold.
    """
    wheel: Wheel = edits.find(project, edits.WHEEL, args.wheel)
    if args.against is not None and args.against == (args.blank or wheel.blank):
        raise GeometryError(
            f"--against {args.against}: that is the first blank itself, so nothing differs; name another"
        )


def found(project: Project, args: argparse.Namespace, blank: str | None) -> Limits:
    """Return the map that the arguments ask for; on a terminal the progress stands on standard error.

    Raises:
        GeometryError: a row of numbers that cannot be read, or what the study cannot read.
        EditError: a name that the project does not hold.
    """
    if args.pieces is not None and args.pieces < 1:
        raise GeometryError(f"--pieces {args.pieces}: a yearly order of one or more")
    if args.cores < 0:
        raise GeometryError(f"--cores {args.cores}: a number of processes, or 0 for all cores")
    wheel: Wheel = edits.find(project, edits.WHEEL, args.wheel)
    widths, insets = usual(wheel)
    shows = sys.stderr.isatty()

    def tell(done: int, of: int) -> bool:
        if shows:
            print(f"\r{done} of {of} widths", end="" if done < of else "\r", file=sys.stderr, flush=True)
        return True

    return limits(
        project,
        args.wheel,
        blank,
        widths=widths if args.widths is None else steps(args.widths, "--widths"),
        insets=insets if args.insets is None else steps(args.insets, "--insets"),
        keep_seat=args.keep_seat,
        cores=args.cores,
        progress=tell,
    )


def as_text(project: Project, result: Limits) -> str:
    """Return the map (rows widths, columns insets), the windows, and what decides where."""
    numbers = Numbers(unit_of(project))
    head = ["width", *(f"ET {inset:g}" for inset in result.insets)]
    rows = [head]
    rows += [[f"{row.width_code:g}", *(_cell(numbers, c) for c in row.cells)] for row in result.rows]
    sizes = [max(len(row[k]) for row in rows) for k in range(len(head))]
    table = ["  ".join(text.rjust(size) for text, size in zip(row, sizes, strict=True)) for row in rows]
    kept = seat_words(result, numbers)
    lines = [
        f"{result.wheel} in blank {result.blank} ({numbers.mass(result.blank_kg)}); {kept}",
        "",
        *table,
        "",
        f"sign and spare stock, {numbers.unit}: {SIGNS_SAID}",
        "",
        "insets that can be cut",
    ]
    for row in result.rows:
        said = [window_words(window) for window in row.windows] or [_none(numbers, row.cells)]
        lines += [f"  {row.width_code:g}: {words}" for words in said]
    return printed(
        [
            *lines,
            "",
            f"what decides, {numbers.unit} to spare",
            *_deciding(numbers, result.cells),
            *_not_drawn(result),
            "",
            relied_words(project, result.blank),
            STOCK_ONLY,
        ]
    )


def _not_drawn(result: Limits) -> list[str]:
    """Return why cells are not drawn: each reason with the cells that it holds for."""
    cells: dict[str, list[str]] = {}
    for c in result.cells:
        if c.state is None:
            cells.setdefault(c.why, []).append(f"{c.width_code:g} x ET {c.inset_mm:g}")
    if not cells:
        return []
    return ["", "not drawn", *(f"  {', '.join(names)}: {why}" for why, names in cells.items())]


def seat_words(result: Limits, numbers: Numbers) -> str:
    """Return in words how the cells sit in the blank."""
    if result.datum_mm is None:
        return "each cell slid to its greatest least spare stock"
    return f"machining datum kept (blank at z {numbers.length(result.datum_mm)} from the mounting face)"


def _cell(numbers: Numbers, cell: Cell) -> str:
    if cell.state is None:
        return NOT_DRAWN
    return f"{SIGNS[cell.state]} {numbers.length(cell.spare_mm)}"


def _none(numbers: Numbers, cells: tuple[Cell, ...]) -> str:
    judged = [cell for cell in cells if cell.spare_mm is not None]
    if not judged:
        return f"none; {cells[0].decides}"
    best = max(judged, key=lambda cell: cell.spare_mm or 0.0)
    most = f"at ET {best.inset_mm:g}: {numbers.length(best.spare_mm)}, {best.decides}"
    if best.state is State.NOT_KNOWN:
        return f"not known; most stock {most}"
    return f"none; of those read most to spare {most}"


def _deciding(numbers: Numbers, cells: Sequence[Cell]) -> list[str]:
    """Return the sides that decide, the most frequent first, with how many cells and the least spare."""
    spares: dict[str, list[float]] = {}
    for cell in cells:
        if cell.spare_mm is not None:
            spares.setdefault(cell.decides, []).append(cell.spare_mm)
    often = sorted(spares.items(), key=lambda item: -len(item[1]))
    return [
        f"  {words}: {len(s)} cell{'s' * (len(s) != 1)}, least {numbers.length(min(s))}" for words, s in often
    ]


def against_text(project: Project, found: Against) -> str:
    """Return what the second blank gives up: mass, money, sides of the drawn wheel, widths and insets."""
    numbers = Numbers(unit_of(project))
    first, second = found.first.blank, found.second.blank
    rows = [("money a wheel", first, second, ""), *money_rows(found)]
    sizes = [max(len(row[k]) for row in rows) for k in range(3)]
    lines = [
        relied_words(project, second),
        mass_words(project, found),
        money_words(project, found),
        "",
        *(
            f"  {a.ljust(sizes[0])}  {b.rjust(sizes[1])}  {c.rjust(sizes[2])}  {d}".rstrip()
            for a, b, c, d in rows
        ),
        "",
        held_seat_words(project, found),
        f"to spare on the drawn wheel there, {numbers.unit}: {first}, {second}, given up",
    ]
    lines += [
        f"  {s.zone}, {s.side} side: {numbers.length(s.first_mm)}, {numbers.length(s.second_mm)}, "
        f"{numbers.length(s.gives_up_mm)}"
        for s in found.sides
    ]
    return printed([*lines, "", *_only(first, found.only_first), *_only(second, found.only_second)])


def variant_text(project: Project, found: Sequence[VariantCheck]) -> str:
    """Return for each blank that is a variant whether its tools make it, limit by limit."""
    numbers = Numbers(unit_of(project))
    return "\n\n".join(
        printed([variant_head(each), *(f"  {line}" for line in variant_lines(each, numbers))])
        for each in found
    )


def still_text(project: Project, found: Sequence[Extreme]) -> str:
    """Return what the drawn wheel can still have from the blank, a line each."""
    numbers = Numbers(unit_of(project))
    return printed(
        ["can still be had, the wheel where it sits", *(f"  {extreme_words(e, numbers)}" for e in found)]
    )


def mend_text(project: Project, wheel: str, found: Cuttable) -> str:
    """Return what would make the drawn wheel cuttable, and what the blank lacks."""
    numbers = Numbers(unit_of(project))
    if found.is_cuttable:
        return f"{wheel} as drawn can be cut: nothing to mend"
    lines = [f"what would make {wheel} cuttable"]
    lines += [
        f"  {o.words} ({_added(numbers, o.mass_kg)})"
        + (f": breaks {'; '.join(o.breaks)}" if o.breaks else "")
        for o in found.offers
    ] or ["  no single change of the wheel within reach"]
    if found.lack is not None:
        lines.append(lack_words(found.lack, numbers.length, numbers.mass))
    return printed(lines)


def _added(numbers: Numbers, mass_kg: float) -> str:
    return f"{'-' if mass_kg < 0.0 else '+'}{numbers.mass(abs(mass_kg))}"


def _only(blank: str, cells: tuple[Cell, ...]) -> list[str]:
    count = f"cut from {blank} alone: {len(cells)} cell{'s' * (len(cells) != 1)}"
    return [count, *(f"  {c.width_code:g} x ET {c.inset_mm:g}" for c in cells)]


def check_out(out: Path | None) -> None:
    """Refuse what is no PDF before anything is computed.

    Raises:
        GeometryError: it is not.
    """
    if out is not None and out.suffix.lower() != ".pdf":
        raise GeometryError(f"{out.name}: the map is written as a PDF; name a file that ends in .pdf")


def write_pages(
    project: Project, result: Limits, still: Sequence[Extreme], held: Against | None, path: Path
) -> None:
    """Write the map on pages, and the second blank's beside it where there is one.

    Raises:
        SaveError: it cannot be written; what was there is as it was.
    """
    save_bytes(path, limits_pdf(project, result, still, held))


def check_quotes(project: Project, args: argparse.Namespace) -> None:
    """Refuse a table of quotes that cannot be written or would be empty, before anything is computed.

    Raises:
        GeometryError: another suffix, or no quote.
        EditError: a name that the project does not hold.
    """
    if args.quotes is None:
        return
    if args.quotes.suffix.lower() not in SUFFIXES:
        raise GeometryError(f"--quotes {args.quotes.name}: name a file that ends in {' or '.join(SUFFIXES)}")
    quoted = _quoted(project, args)
    if not any(quotes for _, quotes in quoted):
        names = " or ".join(f"'{name}'" for name, _ in quoted)
        raise GeometryError(
            f"--quotes: no quote of {names} is held; type them in the blank's details, page Quotes"
        )


def write_quoted(project: Project, args: argparse.Namespace) -> None:
    """Write the quotes of the blank, and of the second one below.

    Raises:
        SaveError: it cannot be written; what was there is as it was.
    """
    write_quotes(args.quotes, _quoted(project, args), project.currency)


def _quoted(project: Project, args: argparse.Namespace) -> list[tuple[str, tuple[Quote, ...]]]:
    wheel: Wheel = edits.find(project, edits.WHEEL, args.wheel)
    names = dict.fromkeys(name for name in (args.blank or wheel.blank, args.against) if name is not None)
    return [(name, edits.find(project, edits.BLANK, name).quotes) for name in names]


def write(result: Limits, held: Against | None, path: Path) -> None:
    """Write the cells for others, those of the second blank below.

    Raises:
        SaveError: it cannot be written; what was there is as it was.
    """
    both = (result,) if held is None else (result, held.second)
    save_bytes(path, as_csv(*both).encode("utf-8"))
