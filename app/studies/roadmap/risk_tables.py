"""Worth, changed inputs, scenarios, regret and relaxed rules as tables."""

from __future__ import annotations

from app.project.project import Project
from app.studies.programme.inputs import Question
from app.studies.roadmap.die_money import DieMoney
from app.studies.roadmap.dossier import Dossier
from app.studies.roadmap.enquiry import Enquiry
from app.studies.roadmap.plan_words import NO_TOOLS, chosen_words, order_words, spare_words
from app.studies.roadmap.risk import CandidateRegret
from app.studies.roadmap.sheet import Cell, Head, Sheet

_MONEY, _MM, _COUNT, _CHANGE = ",.0f", ",.2f", ",.0f", "+,.0f"
_LARGER = "a larger change, or another blank"
LEAVES_MUST, NO_PLAN = "leaves must rows", "no plan"


def money_sheet(project: Project, found: Dossier) -> Sheet:
    """Return what each chosen die is worth."""
    heads = (
        Head("die", "Die", share=1.0),
        Head("worth", "Lost without it", _MONEY, 1.6),
        Head("orphans", "Must rows lost without it", share=2.6),
        Head("paid_once", "Paid once", _MONEY, 1.5),
        Head("latest_order", "Order by the end of", share=2.2),
        Head("npv", "Value of its cash", _MONEY, 1.7),
        Head("payback", "Paid back in", "d", 1.4),
        Head("wheels", "Wheels a year", _COUNT, 1.7),
        Head("own_wheels", "of these its own", _COUNT, 1.8),
        Head("saving", "Saves a wheel", "+,.2f", 1.5),
        Head("from_wheels", "pays from, a year", _COUNT, 0.0),
        Head("from_contribution", "or from, a wheel", _MM, 0.0),
        Head("pays", "Break-even", share=8.0),
    )
    options = {o.name: o for o in found.programme.options}
    latest = {c.option: c.latest_order for c in found.planned.plan.commitments}
    rows: list[tuple[Cell, ...]] = []
    for m in found.money:
        rows.append(
            (
                m.option,
                compared(found, m.worth.worth),
                ", ".join(m.worth.orphans) or "none",
                m.fixed,
                order_words(options[m.option], latest[m.option]),
                m.npv,
                m.payback_year if m.fixed else None,
                m.wheels,
                m.own_wheels,
                m.saving,
                None if m.pays is None else m.pays.whole_wheels,
                None if m.pays is None else m.pays.contribution,
                pays_words(m),
            )
        )
    notes = (
        "Lost without it: at present value; none is stated where must rows would be left, or "
        "where the most wheels are asked for: less cover costs less. "
        "Saves: against the next best supply of its wheels, set-ups included; below 0 it costs more.",
        "Value of its cash, at present value, and the year in which it is paid back: cash with it less cash "
        "without it, contribution included. Pays from so many wheels a year by saving, or from so much left "
        "of the contribution of each of its own wheels after blank and machining.",
    )
    return Sheet("worth", _title(project, "What each die is worth"), heads, tuple(rows), notes)


def _title(project: Project, words: str) -> str:
    return f"{words}, {project.currency}" if project.currency else words


def compared(found: Dossier, money: float | None) -> float | None:
    """Return a difference of two plans' money; None where the most wheels are asked for.

    Plans of different cover do not compare by what they cost.
    """
    return None if found.wanted.question is Question.BEST_COVER else money


def changed(found: Dossier, change: float | None) -> float | None:
    """Return a change of what is minimised as a change of what is read: of value, or of cost."""
    money = compared(found, change)
    return -money if money is not None and found.wanted.question is Question.GREATEST_VALUE else money


def _change_head(found: Dossier, share: float = 1.6) -> Head:
    what = "Value" if found.wanted.question is Question.GREATEST_VALUE else "Cost"
    return Head("change", f"{what} changes by", _CHANGE, share)


def pays_words(money: DieMoney) -> str:
    """Return what stands against a die and when it pays, in both senses (practice 23)."""
    return f"Nothing has to be paid for it. {money.words}".strip() if money.pays is None else money.words


def sensitivity_sheet(project: Project, found: Dossier) -> Sheet:
    """Return what changes with each input."""
    heads = (
        Head("input", "Input", share=3.0),
        Head("factor", "Times", ".2f", 1.0),
        _change_head(found),
        Head("same", "Same choice", share=1.4),
        Head("chosen", "Then chosen", share=5.0),
        Head("proof", "Proof", share=1.4),
    )
    rows = tuple(
        (
            s.words,
            s.factor,
            changed(found, s.change),
            "yes" if s.is_same else "no",
            ", ".join(s.opened) or (NO_PLAN if s.change is None else NO_TOOLS),
            "proven" if s.is_proven else "not proven",
        )
        for s in found.sensitivity
    )
    more = "is worth" if found.wanted.question is Question.GREATEST_VALUE else "costs"
    notes = [f"Present values; above 0 the best plan with the input changed {more} more."]
    if found.wanted.question is not Question.GREATEST_VALUE:
        notes.append("Contribution plays no part in this question.")
    title = _title(project, "One input changed at a time")
    return Sheet("sensitivity", title, heads, rows, tuple(notes))


def scenarios_sheet(project: Project, found: Dossier) -> Sheet:
    """Return each scenario and its best plan."""
    assert found.regrets is not None
    of_value = found.regrets.question is Question.GREATEST_VALUE
    heads = (
        Head("scenario", "Scenario", share=4.0),
        Head("says", "What changes", share=7.0),
        Head("objective", f"{'Value' if of_value else 'Cost'} of its best plan", _MONEY, 1.8),
        Head("chosen", "Then chosen", share=3.0),
        Head("must_uncovered", "Must rows left", share=2.6),
        Head("known", "When it is known", share=0.0),
    )
    rows: list[tuple[Cell, ...]] = []
    for s, plan in zip(found.regrets.scenarios, found.regrets.best, strict=True):
        money = (plan.value if of_value else plan.cost) if plan.is_found else None
        left = ", ".join(plan.must_uncovered) or "none"
        rows.append((s.name, s.says, money, chosen_words(plan), left, s.fixed_words))
    note = "A plan that leaves must rows costs less than one that serves them: do not compare."
    left_some = any(plan.must_uncovered for plan in found.regrets.best)
    notes = (note,) if left_some and not of_value else ()
    return Sheet("scenarios", _title(project, "Scenarios, present value"), heads, tuple(rows), notes)


def regrets_sheet(project: Project, found: Dossier, most: int = 26) -> Sheet:
    """Return the regret table: scenarios against at most so many sets of tools, the least bad first."""
    table = found.regrets
    assert table is not None
    shown = table.candidates[:most]
    heads = [Head("scenario", "Scenario", share=4.0)]
    heads += [Head(f"candidate_{k}", set_name(k), _MONEY) for k in range(len(shown))]
    rows: list[tuple[Cell, ...]] = [
        (s.name, *(_regret(c.outcomes[k].regret, c.outcomes[k].unserved) for c in shown))
        for k, s in enumerate(table.scenarios)
    ]
    rows.append(("greatest", *(greatest_cell(c) for c in shown)))
    notes = [f"{_letters(k)}: {c.candidate.words} ({by_words(c)})." for k, c in enumerate(shown)]
    notes.append(
        "Regret: how much worse a set of tools, once committed, is than the best plan of that scenario. "
        "Where must rows would be left they are named, and no money makes up for them."
    )
    title = _title(project, "Regret, the least bad set first")
    return Sheet("regrets", title, tuple(heads), tuple(rows), tuple(notes))


def set_name(k: int) -> str:
    """Return what a set of tools is called, by its place: 'A, least bad', 'B', ... 'Z', 'AA'."""
    return "A, least bad" if k == 0 else _letters(k)


def _letters(k: int) -> str:
    return (_letters(k // 26 - 1) if k >= 26 else "") + chr(65 + k % 26)


def by_words(of: CandidateRegret) -> str:
    """Return whose best plan asks for a set of tools."""
    names = of.candidate.names
    more = f" and {len(names) - 3} more" if len(names) > 3 else ""
    return f"asked for by {', '.join(names[:3])}{more}"


def greatest_cell(of: CandidateRegret) -> Cell:
    """Return the greatest regret of a set of tools, or why there is none."""
    if any(o.unserved for o in of.outcomes):
        return LEAVES_MUST
    return NO_PLAN if of.greatest is None else of.greatest


def _regret(regret: float | None, unserved: tuple[str, ...]) -> Cell:
    if unserved:
        return f"leaves {', '.join(unserved)}"
    return NO_PLAN if regret is None else regret


def relaxed_sheet(project: Project, found: Dossier) -> Sheet:
    """Return what relaxing one rule would gain."""
    heads = (
        Head("relaxed", "Relaxed", share=3.5),
        Head("read_again", "Cells read again", "d", 1.4),
        Head("gained", "Would be cut", share=6.0),
        Head("new_rows", "Served by nothing today", share=3.0),
        _change_head(found),
        Head("must", "Must rows won", share=2.0),
    )
    rows: list[tuple[Cell, ...]] = []
    for r in found.relaxed:
        gained = ", ".join(f"{g.fitment} from {g.blank} ({g.words})" for g in r.gained) or "nothing"
        rows.append(
            (
                r.words,
                r.looked_at,
                gained,
                ", ".join(r.new_rows) or "none",
                changed(found, r.change),
                ", ".join(r.newly_served) or "none",
            )
        )
    note = "Only rows that miss by no more than the relaxation are read again. It is a question, not a cure."
    return Sheet("relaxed", _title(project, "One rule relaxed"), heads, tuple(rows), (note,))


def enquiry_sheet(project: Project, found: Dossier) -> Sheet:
    """Return each enquiry: covered, nearly or not, what it would take, and what it does to the plan."""
    heads = (
        Head("enquiry", "Enquiry", share=1.4),
        Head("answer", "Answer", share=1.3),
        Head("blanks", "Cut from", share=2.0),
        Head("decides", "Decides, or must be known", share=4.0),
        Head("takes", "What it would take", share=6.0),
        _change_head(found),
        Head("served_as", "Served by the plan", share=2.2),
        Head("chosen", "Chosen with it", share=2.5),
    )
    rows = tuple(
        (
            e.fitment,
            e.answer,
            ", ".join(e.blanks) or "none",
            decides_words(e),
            takes_words(e),
            changed(found, e.change),
            e.served_as or "no",
            chosen_words(e.after),
        )
        for e in found.enquiries
    )
    note = "The best plan with the enquiry less the best without it, at present value."
    return Sheet("enquiries", _title(project, "Enquiries"), heads, rows, (note,))


def decides_words(of: Enquiry) -> str:
    """Return what decides an enquiry, or what must be known."""
    if of.row.unknown:
        return " ".join(of.row.unknown)
    row, less = of.row, ""
    if of.answer == "by compromise" and of.compromise is not None:
        row, less = of.compromise, f", by compromise: {of.compromise_words}"
    known = [c for c in row.cells if c.spare_mm is not None]
    if not known:
        return row.cells[0].what if row.cells else "there is no blank"
    best = max(known, key=lambda c: (c.is_covered, c.spare_mm or 0.0))
    where = "in any blank" if best.of_wheel and not best.is_covered else f"in {best.blank}"
    return f"{best.what}, {spare_words(best.spare_mm or 0.0)} {where}{less}"


def takes_words(of: Enquiry) -> str:
    """Return what it would take to serve an enquiry."""
    if of.answer == "not known":
        return "know it first"
    said = [o.words for o in of.cures[:2]]
    for mend in of.mends:
        cures = [o for o in mend.found.offers if o.is_cure]
        if cures:
            said.append(f"{mend.cell.blank}: {' or '.join(o.words for o in cures[:2])}")
        elif mend.found.lack is not None:
            lack = mend.found.lack
            said.append(f"{mend.cell.blank} lacks {lack.mass_kg:.2f} kg, before draft and fillets")
    if of.row.is_covered:
        return "nothing"
    head = "nothing by compromise; in full: " if of.answer == "by compromise" else ""
    larger = "a new blank: none at hand is of its diameter" if of.no_blank else _LARGER
    return f"{head}{'; '.join(said) or larger}"
