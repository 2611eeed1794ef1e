"""`blankwright match`: every wheel against every brake, as a table for a person."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path

from app.cli.terminal import printed
from app.files.atomic import save_bytes
from app.project.project import Project
from app.reports.numbers import Numbers, unit_of
from app.reports.sentences import SIGNS
from app.studies.match import Match, Pair, as_csv, match
from app.studies.sweep import REACH_MM, search_words
from geometry.readings.rules import State

#: Columns narrower than this are not broken.
_LEAST_COLUMN = 12


def found(
    project: Project, wheels: Sequence[str] | None, shapes: Sequence[str] | None, cores: int, insets: bool
) -> Match:
    """Return the pairs; on a terminal the progress stands on standard error."""
    shows = sys.stderr.isatty()

    def tell(done: int, of: int) -> bool:
        if shows:
            print(f"\r{done} of {of} wheels", end="" if done < of else "\r", file=sys.stderr, flush=True)
        return True

    return match(project, wheels, shapes, cores=cores, progress=tell, insets=insets)


def write(result: Match, path: Path) -> None:
    """Write the table for others.

    Raises:
        SaveError: it cannot be written; what was there is as it was.
    """
    save_bytes(path, as_csv(result).encode("utf-8"))


def as_text(project: Project, result: Match) -> str:
    """Return one line for each pair, wheel by wheel: state, spare, what decides it."""
    if not result.pairs:
        return "Nothing to match: the project holds no wheel or no stay-out shape."
    numbers = Numbers(unit_of(project))
    head = ("wheel", "brake", "state", "spare", "decided by", "condition")
    rows = [head, *(_row(project, numbers, pair) for pair in result.pairs)]
    widths = [max(len(row[k]) for row in rows) for k in range(len(head))]
    lines = [
        "  ".join(
            cell.rjust(width) if k == 3 else cell.ljust(width)
            for k, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in rows
    ]
    counts = {state: sum(pair.state is state for pair in result.pairs) for state in SIGNS}
    total = ", ".join(f"{count} {state}" for state, count in counts.items() if count)
    windows = [p.insets for p in result.pairs if p.insets is not None]
    if any(not (w.closed_low_by and w.closed_high_by) for w in windows):
        lines += ["", f"end of the search: {search_words(numbers.length(REACH_MM, with_unit=True))}"]
    return printed([*lines, "", f"{len(result.pairs)} pairs: {total}"])


def _row(project: Project, numbers: Numbers, pair: Pair) -> tuple[str, ...]:
    grade = next((str(s.card.grade) for s in project.shapes if s.name == pair.shape), None)
    decided = f"{pair.body} ({pair.zone})" if pair.body else pair.zone
    condition = pair.condition
    if not decided:
        condition = pair.questions[0] if pair.questions else ""
    elif pair.questions and (pair.state is State.NOT_KNOWN or _holds_in_numbers(pair)):
        condition += f"; {pair.questions[0]}"
    elif pair.is_paper_only:
        condition += "; the worst state cannot decide, the spare is a bound"
    spare = numbers.length(pair.spare_mm, grade) if grade else numbers.length(pair.spare_mm)
    if pair.insets is not None:
        low, high = pair.insets.low, pair.insets.high
        ends = _end(pair.insets.closed_low_by, "less"), _end(pair.insets.closed_high_by, "more")
        condition += f"; in numbers it holds from ET {numbers.length(low, 'scan')}{ends[0]}"
        condition += f" to {numbers.length(high, 'scan')}{ends[1]}"
    if pair.spacers is not None:
        low, high = pair.spacers.low, pair.spacers.high
        condition += f", with a spacer of {numbers.length(low, 'scan')} to {numbers.length(high, 'scan')}"
    return pair.wheel, pair.shape, f"{SIGNS[pair.state]} {pair.state}", spare, decided, condition


def _holds_in_numbers(pair: Pair) -> bool:
    """True for a pair that is short though no gap is: its hub or tyre is, as its questions say."""
    return pair.state is State.SHORT and pair.spare_mm is not None and pair.spare_mm >= 0.0


def _end(closed_by: str, beyond: str) -> str:
    """Return what closes a window at its end, or that it goes on where the search ends."""
    return f" ({closed_by})" if closed_by else f" or {beyond} (end of the search)"
