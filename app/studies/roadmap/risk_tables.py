"""Worth, changed inputs, scenarios, regret and relaxed rules as tables."""

from __future__ import annotations

from app.studies.programme.economics import NOT_BY_SAVING
from app.studies.programme.inputs import Question
from app.studies.roadmap.die_money import DieMoney
from app.studies.roadmap.dossier import Dossier
from app.studies.roadmap.enquiry import Enquiry
from app.studies.roadmap.plan_words import miss_words
from app.studies.roadmap.risk import CandidateRegret
from app.studies.roadmap.sheet import Cell, Head, Sheet

_MONEY, _MM, _COUNT = ",.0f", ".2f", ".0f"


def money_sheet(found: Dossier) -> Sheet:
    """Return what each chosen die is worth."""
    heads = (
        Head("die", "Die", share=1.0),
        Head("worth", "Worth", _MONEY, 1.6),
        Head("orphans", "Must rows lost without it", share=2.6),
        Head("paid_once", "Paid once", _MONEY, 1.5),
        Head("wheels", "Wheels a year", _COUNT, 1.3),
        Head("own_wheels", "of these its own", _COUNT, 1.4),
        Head("saving", "Saves a wheel", _MM, 1.4),
        Head("npv", "Present value of its cash", _MONEY, 1.9),
        Head("payback", "Paid back", ".1f", 1.2),
        Head("pays", "Break-even", share=5.0),
    )
    rows: list[tuple[Cell, ...]] = []
    for m in found.money:
        pays = pays_words(m)
        rows.append(
            (
                m.option,
                compared(found, m.worth.worth),
                ", ".join(m.worth.orphans) or "none",
                m.fixed,
                m.wheels,
                m.own_wheels,
                m.saving,
                m.npv,
                m.payback,
                pays,
            )
        )
    notes = (
        "Worth: what is lost without it, at present value; none is stated where must rows would be left, or "
        "where the most wheels are asked for: less cover costs less. "
        "Saves: against the cheapest bought blank, block or wheel of several pieces, set-ups included.",
        "Present value and payback: cash with it less cash without it, contribution included. Contribution "
        "in a break-even is what is left of it after blank and machining.",
    )
    return Sheet("worth", "What each die is worth", heads, tuple(rows), notes)


def compared(found: Dossier, money: float | None) -> float | None:
    """Return a difference of two plans' money; None where the most wheels are asked for.

    Plans of different cover do not compare by what they cost.
    """
    return None if found.wanted.question is Question.BEST_COVER else money


def pays_words(money: DieMoney) -> str:
    """Return when a die pays, in both senses (practice 23)."""
    if money.pays is None:
        return "it is paid"
    by, own = money.pays.wheels, money.pays.contribution
    said = NOT_BY_SAVING if by is None else f"pays by cheaper blanks from {by:,.0f} wheels a year"
    if own is None:
        return said
    return f"{said}; pays by its own wheels from {own:,.2f} a wheel at {money.own_wheels:,.0f} a year"


def sensitivity_sheet(found: Dossier) -> Sheet:
    """Return what changes with each input."""
    heads = (
        Head("input", "Input", share=3.0),
        Head("factor", "Times", ".2f", 1.0),
        Head("change", "Worse by", "+,.0f", 1.6),
        Head("same", "Same choice", share=1.4),
        Head("chosen", "Then chosen", share=5.0),
        Head("proof", "Proof", share=1.4),
    )
    rows = tuple(
        (
            s.words,
            s.factor,
            compared(found, s.change),
            "yes" if s.is_same else "no",
            ", ".join(s.opened) or "none",
            "proven" if s.is_proven else "gap left",
        )
        for s in found.sensitivity
    )
    notes = ["Worse by: of what the question minimises, in money; below 0 it is better."]
    if found.wanted.question is not Question.GREATEST_VALUE:
        notes.append("Contribution plays no part in this question.")
    return Sheet("sensitivity", "One input changed at a time", heads, rows, tuple(notes))


def scenarios_sheet(found: Dossier) -> Sheet:
    """Return each scenario and its best plan."""
    assert found.regrets is not None
    heads = (
        Head("scenario", "Scenario", share=4.0),
        Head("says", "What changes", share=7.0),
        Head("objective", "Its best plan", _MONEY, 1.8),
        Head("chosen", "Chosen", share=3.0),
        Head("must_uncovered", "Must rows left", share=2.6),
    )
    rows: list[tuple[Cell, ...]] = []
    for s, plan in zip(found.regrets.scenarios, found.regrets.best, strict=True):
        value = _signed(found, plan.objective) if plan.is_found else None
        left = ", ".join(plan.must_uncovered) or "none"
        rows.append((s.name, s.says, value, ", ".join(plan.opened) or plan.verdict, left))
    return Sheet("scenarios", f"Scenarios ({_money_words(found)})", heads, tuple(rows))


def regrets_sheet(found: Dossier, most: int = 26) -> Sheet:
    """Return the regret table: scenarios against at most so many sets of tools, the least bad first."""
    table = found.regrets
    assert table is not None
    heads = [Head("scenario", "Scenario", share=4.0)]
    heads += [
        Head(f"candidate_{k}", f"{chr(65 + k)}", _MONEY) for k in range(min(len(table.candidates), most))
    ]
    shown = table.candidates[:most]
    rows: list[tuple[Cell, ...]] = [
        (s.name, *(_regret(c.outcomes[k].regret, c.outcomes[k].unserved) for c in shown))
        for k, s in enumerate(table.scenarios)
    ]
    rows.append(("greatest", *(_greatest(c) for c in shown)))
    notes = [f"{chr(65 + k)}: {c.candidate.words} ({_by(c.candidate.names)})." for k, c in enumerate(shown)]
    notes.append(
        "Regret: how much worse a set of tools, once committed, is than the best plan of that scenario. "
        "Where must rows would be left they are named, and no money makes up for them."
    )
    return Sheet("regrets", "Regret, the least bad set first", tuple(heads), tuple(rows), tuple(notes))


def _by(names: tuple[str, ...]) -> str:
    more = f" and {len(names) - 3} more" if len(names) > 3 else ""
    return f"asked for by {', '.join(names[:3])}{more}"


def _greatest(of: CandidateRegret) -> Cell:
    if any(o.unserved for o in of.outcomes):
        return "leaves must rows"
    return "no plan" if of.greatest is None else of.greatest


def _regret(regret: float | None, unserved: tuple[str, ...]) -> Cell:
    if unserved:
        return f"leaves {', '.join(unserved)}"
    return "no plan" if regret is None else regret


def _signed(found: Dossier, objective: float) -> float:
    assert found.regrets is not None
    return -objective if found.regrets.question is Question.GREATEST_VALUE else objective


def _money_words(found: Dossier) -> str:
    assert found.regrets is not None
    return "present value" if found.regrets.question is Question.GREATEST_VALUE else "cost, present value"


def relaxed_sheet(found: Dossier) -> Sheet:
    """Return what relaxing one rule would gain."""
    heads = (
        Head("relaxed", "Relaxed", share=3.5),
        Head("read_again", "Cells read again", "d", 1.4),
        Head("gained", "Would be cut", share=6.0),
        Head("new_rows", "Served by nothing today", share=3.0),
        Head("change", "Plan worse by", "+,.0f", 1.6),
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
                compared(found, r.change),
                ", ".join(r.newly_served) or "none",
            )
        )
    note = "Only rows that miss by no more than the relaxation are read again. It is a question, not a cure."
    return Sheet("relaxed", "One rule relaxed", heads, tuple(rows), (note,))


def enquiry_sheet(found: Dossier) -> Sheet:
    """Return each enquiry: covered, nearly or not, what it would take, and what it does to the plan."""
    heads = (
        Head("enquiry", "Enquiry", share=1.4),
        Head("answer", "Answer", share=1.3),
        Head("blanks", "Cut from", share=2.0),
        Head("decides", "Decides, or must be known", share=4.0),
        Head("takes", "What it would take", share=6.0),
        Head("change", "Plan worse by", "+,.0f", 1.6),
        Head("chosen", "Chosen with it", share=2.5),
    )
    rows = tuple(
        (
            e.fitment,
            e.answer,
            ", ".join(e.blanks) or "none",
            _decides(e),
            _takes(e),
            compared(found, e.change),
            ", ".join(e.after.opened) or ("no tools" if e.after.is_found else e.after.verdict),
        )
        for e in found.enquiries
    )
    note = "The best plan with the enquiry less the best without it, of what the question minimises."
    return Sheet("enquiries", "Enquiries", heads, rows, (note,))


def _decides(of: Enquiry) -> str:
    if of.row.unknown:
        return " ".join(of.row.unknown)
    known = [c for c in of.row.cells if c.spare_mm is not None]
    if not known:
        return of.row.cells[0].what if of.row.cells else "there is no blank"
    best = max(known, key=lambda c: (c.is_covered, c.spare_mm or 0.0))
    return f"{best.what} {miss_words(best.spare_mm or 0.0)} mm in {best.blank}"


def _takes(of: Enquiry) -> str:
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
    return "; ".join(said) or ("nothing" if of.row.is_covered else "a larger change, or another blank")
