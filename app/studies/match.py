"""Every wheel against every brake: state, spare gap, and what decides it.

At rest every pair is read exactly. The worst state is read only where it can decide: no place of a wheel
moves farther than a bound that holds for every pose of its conditions, so that a gap wider than rule, reserve
and bound together stays clear. There the spare on paper stands, marked as a bound.
"""

from __future__ import annotations

import contextlib
import csv
import io
import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, ProcessPoolExecutor, wait
from dataclasses import dataclass, replace
from multiprocessing import get_context

from app.project import edits
from app.project.cells import no_formula
from app.project.project import Project
from app.project.wheel import Wheel
from app.studies.fit import held_against, hold
from app.studies.misfits import misfit_questions
from app.studies.road import NO_CONDITIONS
from app.studies.sweep import Over, StoppedError, Window, window
from app.studies.tyre import may_meet_tyre, on_tyre, tyre_findings
from geometry.errors import GeometryError
from geometry.readings.conditions import Conditions
from geometry.readings.gap_rows import brake_zones, counts_on_paper, gap_rows
from geometry.readings.measure import hub_rows
from geometry.readings.questions import drawn_questions, gap_questions, seat_land_questions
from geometry.readings.rows import GapRow, Held, Place
from geometry.readings.rules import State, worst
from geometry.readings.stack import StackRow, losses_mm, stack_rows
from geometry.shape.outline import StayOut
from geometry.shape.section import Outline, Zone, build

#: What decides a pair that the worst state cannot change.
PAPER = "on paper"

Progress = Callable[[int, int], bool]


@dataclass(frozen=True)
class Pair:
    """One wheel against one brake.

    Attributes:
        state: worst of all zones, on paper and in the worst state; 'not known' with a question open.
        spare_mm: least spare gap of all zones and both states; None without a rule. Where
            `is_paper_only`, the worst state was not read, since it cannot change the state: the spare is that
            on paper, and a bound from above.
        zone, body, at: what decides and where, hub frame; empty and None where nothing was read.
        condition: 'on paper', or the deciding state of the road in words.
        questions: open ones, the first of them in short for a table.
        insets, spacers: the windows of inset and of spacer at which every number holds, where they were
            asked for; None where there is none within reach.
    """

    wheel: str
    shape: str
    state: State
    spare_mm: float | None
    least_mm: float | None
    zone: str
    body: str
    condition: str
    is_paper_only: bool
    at: Place | None
    questions: tuple[str, ...]
    insets: Window | None = None
    spacers: Window | None = None


@dataclass(frozen=True)
class Match:
    """Pairs in the order of the project: wheel by wheel, brake by brake; cancelled ones are left out.

    Attributes:
        has_insets: the windows of inset and spacer were looked for of every pair.
    """

    wheels: tuple[str, ...]
    shapes: tuple[str, ...]
    pairs: tuple[Pair, ...]
    has_insets: bool = False


def match(
    project: Project,
    wheels: Sequence[str] | None = None,
    shapes: Sequence[str] | None = None,
    *,
    cores: int = 1,
    progress: Progress | None = None,
    pruned: bool = True,
    insets: bool = False,
    cancelled: Callable[[], bool] | None = None,
    came: Callable[[tuple[Pair, ...]], None] | None = None,
) -> Match:
    """Return every wheel against every brake.

    Args:
        project: holds both.
        wheels: names to take, in the project's order; all when None.
        shapes: names of brakes, likewise.
        cores: processes that share the wheels; 0 for all of the machine. The result is the same.
        progress: told how many wheels of how many are done; False cancels what is left.
        pruned: False reads the worst state of every pair.
        insets: look for the windows of inset and spacer of every pair too, some seconds each.
        cancelled: asked within a wheel where one process reads; a wheel that was broken off is left out.
        came: told the pairs of each wheel as soon as it is read, in any order of wheels.

    Raises:
        EditError: a name that the project does not hold.
    """
    for name in wheels or ():
        edits.find(project, edits.WHEEL, name)
    for name in shapes or ():
        edits.find(project, edits.SHAPE, name)
    rows = [w.name for w in project.wheels if wheels is None or w.name in wheels]
    columns = [s.name for s in project.shapes if shapes is None or s.name in shapes]
    found: dict[str, tuple[Pair, ...]] = {}
    with contextlib.suppress(StoppedError):
        for name, pairs in _read(project, rows, columns, cores, pruned, insets, cancelled):
            found[name] = pairs
            if came is not None:
                came(pairs)
            if progress is not None and not progress(len(found), len(rows)):
                break
    pairs = tuple(p for name in rows for p in found.get(name, ()))
    return Match(tuple(rows), tuple(columns), pairs, insets)


def _read(
    project: Project,
    rows: Sequence[str],
    columns: Sequence[str],
    cores: int,
    pruned: bool,
    insets: bool,
    cancelled: Callable[[], bool] | None,
) -> Iterator[tuple[str, tuple[Pair, ...]]]:
    cores = min(cores or os.cpu_count() or 1, len(rows))
    if cores <= 1:
        for name in rows:
            yield name, row(project, name, columns, pruned, insets, cancelled)
        return
    # Spawned, not forked: threads of a window would be copied half way.
    with ProcessPoolExecutor(cores, mp_context=get_context("spawn")) as pool:
        waiting = {pool.submit(row, project, name, columns, pruned, insets): name for name in rows}
        try:
            while waiting:
                done, _ = wait(waiting, return_when=FIRST_COMPLETED)
                for future in done:
                    yield waiting.pop(future), future.result()
        finally:
            pool.shutdown(wait=True, cancel_futures=True)


def row(
    project: Project,
    wheel_name: str,
    shapes: Sequence[str],
    pruned: bool = True,
    insets: bool = False,
    cancelled: Callable[[], bool] | None = None,
) -> tuple[Pair, ...]:
    """Return one wheel against several brakes."""
    wheel: Wheel = edits.find(project, edits.WHEEL, wheel_name)
    try:
        outline = build(wheel.section)
    except GeometryError as error:
        return tuple(_unread(wheel, name, str(error)) for name in shapes)
    if not isinstance(outline, Outline):
        return tuple(_unread(wheel, name, outline[0].message) for name in shapes)
    outline = outline.moved(wheel.spacer_mm)
    conditions = None
    if wheel.conditions is not None:
        conditions = edits.find(project, edits.CONDITIONS, wheel.conditions)
    held = hold(project, replace(wheel, clears=(), blank=None))
    if not isinstance(held, Held):
        return tuple(_unread(wheel, name, held[0].message) for name in shapes)
    trouble = tuple(f"Tyre: {finding.text}" for finding in tyre_findings(wheel) if finding.decides)
    hub, asked = hub_rows(outline, held)
    trouble += tuple(
        f"Hub: {row.name.lower()} {row.value:.2f}" + (f", needs {row.required:.2f}" if row.required else "")
        for row in hub
        if row.state in (State.SHORT, State.TOUCHING)
    )
    asked = (*drawn_questions(outline, held), *seat_land_questions(held), *asked)
    brake = brake_zones(outline)
    pairs = (
        _pair(project, wheel, outline, held, conditions, name, pruned, trouble, asked, brake)
        for name in shapes
    )
    if not insets:
        return tuple(pairs)
    found = []
    for pair in pairs:
        both = [window(project, wheel, over, pair.shape, cancelled) for over in (Over.INSET, Over.SPACER)]
        found.append(replace(pair, insets=both[0], spacers=both[1]))
    return tuple(found)


def _unread(wheel: Wheel, shape: str, why: str) -> Pair:
    return Pair(wheel.name, shape, State.NOT_KNOWN, None, None, "", "", "", True, None, (why,))


def _pair(
    project: Project,
    wheel: Wheel,
    outline: Outline,
    without: Held,
    conditions: Conditions | None,
    shape_name: str,
    pruned: bool,
    trouble: tuple[str, ...],
    of_wheel: tuple[str, ...],
    brake: frozenset[str],
) -> Pair:
    held = held_against(project, without, shape_name)
    if not isinstance(held, Held):
        return _unread(wheel, shape_name, held[0].message)
    losses = {} if conditions is None else losses_mm(outline, held, conditions)
    bound = losses.get(shape_name, 0.0)
    near = gap_rows(outline, held, moves=False, losses_mm=losses)
    paper = tuple(row for row in near if counts_on_paper(row, brake))
    asked = [*_asked(held, paper, conditions), *of_wheel, *gap_questions(outline, held, paper)]
    asked += misfit_questions(project, wheel, shape_name) if project.trial_fits else ()
    asked += [question for row in near for question in row.questions] if conditions is not None else ()
    judged: list[tuple[GapRow | StackRow, State]] = [(r, r.state or State.NOT_KNOWN) for r in paper]
    is_paper_only = True
    if conditions is not None and near:
        close: Sequence[GapRow] = near
        if pruned:
            is_touching = any(r.state is State.TOUCHING for r in paper)
            if is_touching:
                close = ()  # nothing is worse
            elif not _counts_tyre(wheel, held):
                close = _close(held, near, bound)
        if close:
            is_paper_only = False
            rows = stack_rows(outline, held, conditions, close, alone=False)
            judged += [(r, r.state or State.NOT_KNOWN) for r in rows]
    tyre = _tyre_rows(project, wheel, outline, conditions, held, pruned, judged)
    judged += [(r, r.state or State.NOT_KNOWN) for r in tyre]
    states = [state for _, state in judged]
    # A wrong tyre is short against every brake: no gap makes up for it.
    states += [State.NOT_KNOWN] * bool(asked) + [State.SHORT] * bool(trouble)
    least = min(judged, key=_rank, default=None)
    if least is None:
        state, why = worst([State.NOT_KNOWN, *states]), (*trouble, *asked)
        return Pair(wheel.name, shape_name, state, None, None, "", "", "", True, None, why)
    decides = least[0]
    on_paper = isinstance(decides, GapRow)
    read = (*paper, *(r for r in tyre if isinstance(r, GapRow)))
    questions = dict.fromkeys((*trouble, *asked, *(q for r in read for q in r.questions)))
    return Pair(
        wheel.name,
        shape_name,
        worst(states),
        decides.spare_mm,
        decides.least_mm if isinstance(decides, GapRow) else decides.worst_mm,
        decides.zone,
        decides.body,
        PAPER if isinstance(decides, GapRow) else decides.condition,
        is_paper_only and on_paper,
        decides.at_wheel,
        tuple(questions),
    )


def _counts_tyre(wheel: Wheel, held: Held) -> bool:
    """True where the tyre may come near to the shape; its worst state must hide no row that was left out."""
    ((shape, _),) = held.shapes
    return bool(wheel.tyre.strip()) and may_meet_tyre(wheel, shape)


def _tyre_rows(
    project: Project,
    wheel: Wheel,
    outline: Outline,
    conditions: Conditions | None,
    held: Held,
    pruned: bool,
    judged: Sequence[tuple[GapRow | StackRow, State]],
) -> tuple[GapRow | StackRow, ...]:
    """Return the gaps of the wheel's tyre to the shape, on paper and in the worst state."""
    if not _counts_tyre(wheel, held):
        return ()
    ((shape, _),) = held.shapes
    is_touching = pruned and any(state is State.TOUCHING for _, state in judged)
    alone = replace(wheel, clears=(shape.name,), blank=None)
    found = on_tyre(project, alone, outline, None if is_touching else conditions)
    return *found.rows, *found.worst


def _rank(judged: tuple[GapRow | StackRow, State]) -> tuple[bool, float]:
    """Sorts the least spare first; rows without a rule behind all others, by their gap."""
    found, _ = judged
    if found.spare_mm is not None:
        return False, found.spare_mm
    return True, found.least_mm if isinstance(found, GapRow) else found.worst_mm


def _asked(held: Held, paper: Sequence[GapRow], conditions: Conditions | None) -> list[str]:
    asked = []
    if held.rules is None:
        asked.append("No rule set: choose one.")
    if conditions is None:
        asked.append(NO_CONDITIONS)
    if not paper:
        asked.append("No zone of the wheel looks at it: are unit and place right?")
    return asked


def _close(held: Held, near: Sequence[GapRow], bound_mm: float) -> Sequence[GapRow]:
    """Return the rows that the worst state can change the state of."""
    ((shape, _),) = held.shapes
    return [row for row in near if _may_decide(held, shape, row, bound_mm)]


def _may_decide(held: Held, shape: StayOut, found: GapRow, bound_mm: float) -> bool:
    """Return True unless even the largest loss leaves rule and reserve of the worst state."""
    rule = None
    if held.rules is not None:
        rule = held.rules.for_gap(shape.kind, Zone(found.zone), bool(found.body))
    if rule is None:
        return True
    # A gap that the outline holds already keeps its rule; it does not keep the outline from being touched.
    needed = max(rule.worst_mm + rule.reserve_mm - found.included_mm, 0.0)
    return found.least_mm - bound_mm < needed


# The table for others


def as_csv(result: Match) -> str:
    """Return the pairs as a table with a heading row; lengths in mm, two decimals."""
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    heads = ["wheel", "shape", "state", "spare_mm", "zone", "condition", "worst state", "question"]
    for over in ("inset", "spacer"):
        heads += [f"{over}_from_mm", f"{over}_closed_below_by", f"{over}_to_mm", f"{over}_closed_above_by"]
    table.writerow(heads)
    for p in result.pairs:
        spare = "" if p.spare_mm is None else f"{p.spare_mm:.2f}"
        where = f"{p.zone}, {p.body}" if p.body else p.zone
        read = "cannot decide, not read" if p.is_paper_only else "read"
        table.writerow(
            [
                no_formula(p.wheel),
                no_formula(p.shape),
                str(p.state),
                spare,
                no_formula(where),
                no_formula(p.condition),
                read,
                no_formula("; ".join(p.questions[:1])),
                *_ends(p.insets),
                *_ends(p.spacers),
            ]
        )
    return out.getvalue()


def _ends(found: Window | None) -> tuple[str, str, str, str]:
    """Return both ends of a window and what closes each; nothing closes an end that was not found."""
    if found is None:
        return "", "", "", ""
    by = no_formula(found.closed_low_by), no_formula(found.closed_high_by)
    return f"{found.low:.1f}", by[0], f"{found.high:.1f}", by[1]


def as_json(result: Match) -> dict[str, object]:
    """Return the pairs as plain values, keys as in DEVELOPERS.md; lengths in mm."""
    return {
        "format": 1,
        "pairs": [
            {
                "wheel": p.wheel,
                "shape": p.shape,
                "state": str(p.state),
                "spare_mm": p.spare_mm,
                "least_mm": p.least_mm,
                "zone": p.zone,
                "body": p.body or None,
                "condition": p.condition,
                "is_paper_only": p.is_paper_only,
                "at": None if p.at is None else list(p.at),
                "questions": list(p.questions),
                **_window_json("inset", p.insets),
                **_window_json("spacer", p.spacers),
            }
            for p in result.pairs
        ],
    }


def _window_json(over: str, found: Window | None) -> dict[str, object]:
    ends = None if found is None else [found.low, found.high]
    closed = None if found is None else [found.closed_low_by, found.closed_high_by]
    return {f"{over}_clear_mm": ends, f"{over}_closed_by": closed}
