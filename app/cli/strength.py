"""`blankwright strength`: a wheel under the loads of the published tests, as text, JSON or pages."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Sequence
from operator import attrgetter
from typing import Any

from app.cli.prepare import prepare_once
from app.cli.terminal import printed
from app.files.atomic import save_bytes
from app.project import edits
from app.project.caution import CAUTION
from app.project.project import Project
from app.project.strength import StrengthSettings
from app.project.wheel import Wheel
from app.reports.numbers import Numbers, unit_of
from app.reports.outputs import strength_pdf
from app.reports.strength_family import evidence, evidence_lines, plan_lines
from app.reports.strength_notes import all_notes, curve_words, facts
from app.reports.strength_parts import (
    RATIO_SAID,
    ROOT_FIGURES,
    SMEARED_SAID,
    lip_figures,
    ratio_words,
    root_figure,
    spoked_cases,
    sum_words,
    turned_words,
    use_ratio,
)
from app.reports.strength_shown import Shown, gain_lines, moving
from app.reports.strength_table import as_csv, as_json
from app.reports.strength_tables import figure, not_passed, whole_figures
from app.reports.strength_words import (
    NO_REFERENCE,
    SIGNS_SAID,
    SPOKE_PLACES,
    Cell,
    Verdict,
    cell,
    constants_words,
    held_words,
    is_open,
    levels_words,
    load_words,
    parts_left_out,
    place,
    standard_words,
    summary,
    worst_of,
    zones_of,
)
from app.studies.strength.cases import cases_of, has_stress
from app.studies.strength.compare import Compared, compared
from app.studies.strength.inputs import ready, settings_of
from app.studies.strength.run import Screening, screen
from app.studies.strength.sensitivity import gains
from app.studies.strength.spoked import Spoked
from geometry.errors import GeometryError
from geometry.strength.loads import TestLoad
from geometry.strength.spokes import Root


def reference(project: Project, wheel: Wheel, asked: str | None) -> Wheel | None:
    """Return the wheel to compare with: as asked, else the wheel's own reference.

    Raises:
        GeometryError: a wheel against itself.
        EditError: a name that the project does not hold.
    """
    if asked is None:
        name = wheel.reference
        return None if name is None or name == wheel.name else edits.find(project, edits.WHEEL, name)
    if asked == wheel.name:
        raise GeometryError(
            f"--against {asked}: a wheel against itself says nothing; name another wheel of the project."
        )
    return edits.find(project, edits.WHEEL, asked)


def found(project: Project, wheel: Wheel, settings: StrengthSettings) -> Screening:
    """Return a wheel's screening; on a terminal the progress stands on standard error.

    Raises:
        GeometryError: load, tyre, metal or section cannot be used.
    """
    return screen(project, wheel, settings, _teller(wheel.name))


def _teller(what: str) -> Callable[[int, int, str], None]:
    """Return what writes the progress of a work over one line, and wipes it at the end."""
    shows = sys.stderr.isatty()

    def tell(done: int, of: int, words: str) -> None:
        if shows:
            line = f"{what}, {done} of {of}: {words}" if words else ""
            print(f"\r{line:<70}", end="" if words else "\r", file=sys.stderr, flush=True)

    return tell


def run(project: Project, wheel: Wheel, args: argparse.Namespace) -> tuple[str | dict[str, Any], int]:
    """Return what the command prints, text or plain values, and its exit code; write what files it asks for.

    Raises:
        GeometryError: a wheel cannot be screened.
        EditError: a name that the project does not hold.
        SaveError: a file cannot be written.
    """
    settings = settings_of(project)
    other = reference(project, wheel, args.against)
    versions = [edits.find(project, edits.WHEEL, name) for name in args.family if name != wheel.name]
    prepare_once()
    case = None if args.per_mm is None else case_of(project, wheel, settings, args.per_mm)
    if other is not None:
        # Said before the long work, not after it.
        ready(project, other)
    mine = found(project, wheel, settings)
    against = None if other is None else found(project, other, settings)
    screenings = (mine,) if against is None else (mine, against)
    shown = Shown(
        mine,
        settings,
        against,
        () if against is None else compared(project, mine, against),
        evidence(project, screenings, [wheel, *versions]),
        case,
        () if case is None else gains(mine.ready, case, _teller(f"{wheel.name}, 1 mm")),
    )
    if args.csv is not None:
        save_bytes(args.csv, as_csv(*screenings).encode("utf-8"))
    if args.out is not None:
        save_bytes(args.out, strength_pdf(project, shown))
    code = 1 if is_open(mine) else 0
    return (as_json(shown) if args.json else f"{as_text(project, shown)}\n\n{CAUTION}"), code


def case_of(project: Project, wheel: Wheel, settings: StrengthSettings, key: str) -> TestLoad:
    """Return the load case of a key, one in use whose stress is computed.

    Raises:
        GeometryError: it is none, or the wheel cannot be screened.
    """
    there = [case for case in cases_of(ready(project, wheel), settings) if has_stress(case)]
    case = next((c for c in there if c.key == key), None)
    if case is None:
        raise GeometryError(f"--per-mm '{key}': name a case in use: {', '.join(c.key for c in there)}.")
    return case


def as_text(project: Project, shown: Shown) -> str:
    """Return the screening for a person: what it rests on, loads, case x zone, spokes, lips, tests, notes."""
    numbers = Numbers(unit_of(project))
    found, against = shown.found, shown.against
    blocks = [
        [
            summary(found),
            "",
            *(f"{label}: {words}" for label, words in facts(found, shown.settings, numbers)),
        ],
        _loads(found),
        [*_matrices(found), "", SIGNS_SAID, curve_words(found)],
        _places(found, numbers),
        _spokes(found, numbers),
        _lips(found, against, numbers),
    ]
    if against is not None:
        blocks.append(_against(found, against, shown.figures, numbers))
    if shown.case is not None:
        lines = gain_lines(shown.gains, moving(shown))
        said = [f"  {SMEARED_SAID}"] if found.ready.spokes is not None else []
        blocks.append([f"1 mm more metal, {shown.case.name}", *(f"  {words}" for words in lines), *said])
    blocks.append(["recorded tests", *(f"  {words}" for words in evidence_lines(shown.evidence))])
    blocks.append(["physical tests that decide", *(f"  {words}" for words in plan_lines(shown.evidence))])
    blocks.append(["notes", *(f"  {words}" for words in all_notes(found))])
    return "\n\n".join(printed(block) for block in blocks if block)


def _loads(found: Screening) -> list[str]:
    lines = ["load cases"]
    for k, case in enumerate(found.cases, start=1):
        lines.append(f"  {k} {case.name} ({standard_words(case)}): {load_words(case)}; {levels_words(case)}")
        note = f"; {case.note}" if case.note else ""
        lines.append(f"    {held_words(case)}{note}")
        lines.append(f"    weakest source: {case.status}. {constants_words(case)}")
    return lines


def _matrices(found: Screening) -> list[str]:
    """Return use, stress and life as tables, zones down and cases across by their numbers."""
    return [
        *_matrix(found, "use of the metal, case x zone (cases by their numbers)", attrgetter("use")),
        "",
        *_matrix(found, "greatest von Mises stress, MPa", attrgetter("stress")),
        "",
        *_matrix(found, "mean life at the first level of the test, cycles", attrgetter("life")),
    ]


def _matrix(found: Screening, title: str, words: Callable[[Cell], str]) -> list[str]:
    rows = [["zone", *(str(k) for k in range(1, len(found.cases) + 1))]]
    for zone in zones_of(found):
        made = (cell(found, case, zone) for case in found.cases)
        rows.append([zone.value, *map(words, made)])
    sizes = [max(len(row[k]) for row in rows) for k in range(len(rows[0]))]
    return [
        title,
        *(
            "  ".join(
                [row[0].ljust(sizes[0]), *(x.rjust(n) for x, n in zip(row[1:], sizes[1:], strict=True))]
            ).rstrip()
            for row in rows
        ),
    ]


def _places(found: Screening, numbers: Numbers) -> list[str]:
    """Return where each case is worst, and what is not known of it."""
    lines = ["worst place of each case"]
    for case in found.cases:
        row = worst_of(found, case)
        if row is not None:
            said = cell(found, case, row.zone)
            lines.append(
                f"  {case.name}: {row.zone.value}, use {said.use}, {said.stress} MPa, at "
                f"{numbers.place(place(found, row.at))} {numbers.unit}"
            )
            lines += [f"    {words}" for words in row.note.split("; ") if words]
        elif any(cell(found, case, zone).failed for zone in zones_of(found)):
            lines.append(f"  {case.name}: a sample failed on record")
        else:
            continue
        unknown = [cell(found, case, zone) for zone in zones_of(found)]
        by: dict[str, list[str]] = {}
        for one in unknown:
            if one.why and one.verdict is Verdict.NOT_KNOWN:
                by.setdefault(one.why, []).append(one.zone.value)
        lines += [f"    not known, {', '.join(zones)}: {why}" for why, zones in by.items()]
    return lines if len(lines) > 1 else []


def _spokes(found: Screening, numbers: Numbers) -> list[str]:
    made = [words for case, spoked in spoked_cases(found) for words in _spoked(case, spoked, numbers)]
    made += [f"  {words}" for words in turned_words(found)]
    return ["spokes and bolts (nominal, one spoke at its worst)", *made] if made else []


def _spoked(case: TestLoad, spoked: Spoked, numbers: Numbers) -> list[str]:
    lines = [f"  {case.name}"]
    for model, roots in (
        ("smeared section", spoked.smeared),
        ("beams between elastic hub and rim", spoked.beams),
    ):
        lines += [f"    {model}, {_root(root, numbers)}" for root in roots]
    lines += [f"    {sum_words(one)}" for one in spoked.sums]
    if spoked.bolts is not None:
        b = spoked.bolts
        lines.append(
            f"    bolts: {b.bolt_n:.0f} N on one beside its clamp load, {b.seat_mpa:.1f} MPa shear under the "
            f"seat, hub pad {b.pad_mpa:.1f} MPa at the circle, "
            f"{numbers.length(b.ligament_mm, with_unit=True)} between holes"
        )
    return lines


def _root(root: Root, numbers: Numbers) -> str:
    axial, radial, moment, bending, shear, twist, turn = (root_figure(root, name) for name in ROOT_FIGURES)
    if root.turn_mpa is None:
        last = f", {twist} by twist a quarter turn on" if twist else ""
    else:
        last = f" at {root.at_deg:.0f} degrees from the load, {turn} MPa at worst in the turn"
    return (
        f"{SPOKE_PLACES[root.place]}, r {numbers.length(root.r_mm)}: {axial} N along the axle, "
        f"{radial} N along r, {moment} N m, {bending} MPa bending, {shear} shear{last}"
    )


def _lips(found: Screening, against: Screening | None, numbers: Numbers) -> list[str]:
    if not found.lips:
        return []
    name = "" if against is None else f", beside {against.ready.wheel.name}"
    lines = [f"lips under a radial push over the width of a plate{name}"]
    for one in lip_figures(found, against, numbers):
        beside = f"; {one.reference}, {one.ratio}" if one.ratio else ""
        lines.append(f"  {one.lip.value}, {one.words}: {one.value} {one.unit}{beside}")
    return [*lines, f"  {NO_REFERENCE if against is None else RATIO_SAID}"]


def _against(
    found: Screening, against: Screening, figures: Sequence[Compared], numbers: Numbers
) -> list[str]:
    name = against.ready.wheel.name
    lines = [f"beside {name}, each under its own loads"]
    for f in whole_figures(figures):
        first, second = (figure(x, f.unit, numbers) for x in (f.first, f.second))
        lines.append(f"  {f.name}: {first}; {second}, {ratio_words(f.ratio) or 'no ratio'}")
    ratios = _matrix(
        found,
        f"use, as a share of that of {name} (below 1 is less than the reference)",
        lambda one: use_ratio(found, against, one.case, one.zone),
    )
    left = [f"{name}, left out: {words}" for words in parts_left_out(against)]
    return [*lines, "", *ratios, "", *not_passed(against), *left, f"{name}: {summary(against)}"]
