"""The board paper: the answer first, then what it rests on, what it risks, and what is not known."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from functools import partial

from app.files.project_file import dumps
from app.project.programme import SHIPPED_PROGRAMME
from app.project.programme import STARTING_VALUES as PROGRAMME_SOURCES
from app.project.project import Project
from app.project.rate_words import RATE_WORDS
from app.project.shop import STARTING_VALUES as RATE_SOURCES
from app.reports.board_pictures import charts_page, coverage_pages, family_page
from app.reports.drawing import Canvas, line, wrapped
from app.reports.flow import Draw, Flow
from app.reports.look import FIRST_LINE, HAIR
from app.reports.page import Area
from app.reports.pdf import study_pages
from app.reports.tables import Column, Row, Table
from app.studies.roadmap.dossier import Dossier
from app.studies.roadmap.plan_tables import sheets
from app.studies.roadmap.plan_words import (
    asked_words,
    hanging_sentence,
    left_sentences,
    near_sentences,
    risk_sentences,
    verdict_sentence,
)
from app.studies.roadmap.scenarios import SHIPPED_SCENARIOS, May
from app.studies.roadmap.sheet import Sheet

#: Sets of tools in the regret table on paper; the tables in files hold all.
_MOST_SETS = 6
#: Tables of the first page, and of the pages behind the pictures.
_FIRST = ("dies", "years")
_REST = (
    *(
        "not_served",
        "unknowns",
        "enquiries",
        "worth",
        "regrets",
        "scenarios",
        "relaxed",
        "sensitivity",
        "served",
    ),
    "blanks",
)
#: What no table says.
CAUTIONS = (
    "Coverage rests on sections as drawn, on stay-out shapes as their source cards state them, and on "
    "the rules named there: it is no release. A wheel is released from its own section sheet.",
    "A blank that is not tried out may turn out smaller than drawn. What hangs on it stands on the "
    "first page.",
    "Volumes, contributions, prices and lead times are inputs. What nobody stated is listed as not known or "
    "planned with none; nothing is filled in silently.",
    "Dies wear out after some ten thousand aluminium forgings (from memory): at these volumes that is not "
    "reached, and renewal is not in the cost.",
    "A larger brake is read against the wheels as drawn; a wheel drawn anew may clear it.",
)


def write_board_paper(project: Project, found: Dossier) -> bytes:
    """Return the board paper as the bytes of a PDF; the same for the same project and answer."""
    answer = repr((found.wanted, found.planned.plan.opened, found.planned.plan.objective))
    digest = hashlib.sha256(dumps(project) + answer.encode()).hexdigest()
    title = f"Die programme: {project.name}"

    def pages(canvas: Canvas, area: Area) -> list[Draw]:
        first = Flow(canvas, area, partial(_head, title, area))
        first.paragraphs("The answer", _answer(project, found))
        tables = {sheet.key: sheet for sheet in sheets(project, found, _MOST_SETS)}
        for key in _FIRST:
            first.table(table_of(tables[key]))
        family = family_page(project, found, area)
        pictures = [*coverage_pages(project, found, area), *([family] if family is not None else [])]
        pictures.append(charts_page(project, found, area))
        rest = Flow(canvas, area, partial(_head, title, area))
        for key in _REST:
            if key in tables:
                rest.table(table_of(tables[key]))
        rest.paragraphs("Cautions", CAUTIONS)
        rest.table(assumptions(project, found))
        return [*first.drawn(), *pictures, *rest.drawn()]

    return study_pages(project, title, digest, pages)


def _head(title: str, area: Area, canvas: Canvas) -> None:
    (words,) = wrapped(canvas, title, FIRST_LINE, area.width, 1)
    canvas.text((area.left, area.top - FIRST_LINE.size_mm), words, FIRST_LINE)
    y = area.top - FIRST_LINE.size_mm - 1.8
    line(canvas, (area.left, y), (area.right, y), HAIR)


def _answer(project: Project, found: Dossier) -> list[str]:
    return [
        verdict_sentence(found, project.currency),
        f"Asked: {asked_words(found.wanted.question)}.",
        hanging_sentence(found),
        *near_sentences(found),
        *risk_sentences(found, project.currency),
        *left_sentences(found),
    ]


def table_of(sheet: Sheet) -> Table:
    """Return a sheet as a table of the house; numbers stand to the right."""
    sheet = sheet.for_pages()
    columns = tuple(Column(h.words, h.share, bool(h.form)) for h in sheet.heads)
    rows = tuple(Row(tuple(h.shown(c) for h, c in zip(sheet.heads, row, strict=True))) for row in sheet.rows)
    notes = sheet.notes if sheet.rows else ("None.", *sheet.notes)
    return Table(sheet.title, columns, rows, notes)


def assumptions(project: Project, found: Dossier) -> Table:
    """Return every setting that the answer rests on, with 'starting value' where it still is one."""
    rows = [*_programme(project, found), *_scenarios(found), *_shop(project), *_rules(project)]
    columns = (Column("Setting", 4.0), Column("Value", 3.0), Column("Where it comes from", 6.0))
    return Table("Assumptions", columns, tuple(map(Row, rows)))


def _programme(project: Project, found: Dossier) -> Iterator[tuple[str, str, str]]:
    now, own = project.programme, "the project's own"
    for key, words in (
        ("rate", "rate of discount a year"),
        ("order_share", "of a die's price paid at order"),
        ("tryout_share", "of a die's price paid at tryout"),
        ("carrying_share", "of a piece price, to keep what a run leaves"),
        ("write_off_share", "of a piece price, written off of what a run leaves"),
    ):
        value = getattr(now, key)
        starts = value == getattr(SHIPPED_PROGRAMME, key)
        yield words, f"{100.0 * value:.0f} %", f"starting value: {PROGRAMME_SOURCES[key]}" if starts else own
    yield "volumes that count", str(now.volumes), "setting"
    yield "volumes times certainty", "yes" if now.by_certainty else "no", "setting"
    yield "want rows may be refused", "yes" if now.may_refuse else "no", "setting"
    most = found.programme.limits.most_dies
    yield "own dies at most", "no limit" if most is None else f"{most}", "setting"
    budget = found.wanted.budget
    yield "budget for what is paid once", "no limit" if budget is None else f"{budget:,.0f}", "as asked"
    for b in now.budgets:
        yield f"budget of {b.year}", f"{b.money:,.0f}", "setting"
    hours = now.press_hours
    yield "press hours a year", "no limit" if hours is None else f"{hours:g}", "setting"
    for h in now.holders:
        yield f"holder {h.name}", f"{h.cost:,.0f}", "setting"


def _scenarios(found: Dossier) -> Iterator[tuple[str, str, str]]:
    if found.regrets is None:
        return
    s, start = found.wanted.settings, SHIPPED_SCENARIOS
    yield "scenarios looked at", "; ".join(k for k in May if k in s.kinds) or "none", "setting"

    def source(key: str) -> str:
        of_start = getattr(s, key) == getattr(start, key)
        return "starting value: common practice, no source" if of_start else "as asked"

    if May.DEMAND in s.kinds:
        yield "scenario: demand times", f"{s.demand:g}", source("demand")
    if May.METAL in s.kinds:
        yield "scenario: metal", f"{100.0 * s.metal:+.0f} %", source("metal")
        here = s.metal_carried_here
        said = "not stated: both are looked at" if here is None else ", ".join(here) or "the suppliers"
        words = "who carries metal: bought blanks that follow it"
        yield words, said, "stated" if here is not None else "not stated"
    if May.BRAKE in s.kinds:
        yield "scenario: a brake grows", f"{s.brake_mm:g} mm", source("brake_mm")
    dated = "not stated: all is ordered before" if s.known_from is None else f"from {s.known_from}"
    yield "what comes is known", dated, "not stated" if s.known_from is None else "as asked"
    if May.LATE in s.kinds:
        years = f"{s.late_years} year{'s' * (s.late_years != 1)}"
        yield "scenario: a die is late by", years, source("late_years")


def _shop(project: Project) -> Iterator[tuple[str, str, str]]:
    starting = project.rates.starting
    for key, words in RATE_WORDS.items():
        value = getattr(project.rates, key)
        if value is not None:
            source = RATE_SOURCES.get(key, "")
            of = source if source.startswith("invented") else f"starting value: {source}"
            yield words, f"{value:g}", of if key in starting else "the shop's own"
    yield "chips are a share of", project.rates.chip_price_name, "setting"


def _rules(project: Project) -> Iterator[tuple[str, str, str]]:
    for what, sets in (("rule set", project.rule_sets), ("conditions", project.conditions)):
        for one in sets:
            source = "starting values" if one.starting_values else "the house's own"
            yield f"{what} {one.name}", f"revision {one.revision}", source
