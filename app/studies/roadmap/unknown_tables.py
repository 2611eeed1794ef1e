"""What knowing an unknown fitment would change, as a table and in words."""

from __future__ import annotations

from app.project.project import Project
from app.studies.programme.inputs import Question
from app.studies.roadmap.dossier import Dossier
from app.studies.roadmap.plan_words import worse_words
from app.studies.roadmap.risk_tables import changed, compared
from app.studies.roadmap.sheet import Cell, Head, Sheet
from app.studies.roadmap.unknowns import IfKnown


def unknowns_sheet(project: Project, found: Dossier) -> Sheet:
    """Return each unknown fitment, one row for each way it may turn out."""
    what = "Value" if found.wanted.question is Question.GREATEST_VALUE else "Cost"
    heads = (
        Head("fitment", "Fitment", share=1.2),
        Head("not_known", "Not known", share=3.6),
        Head("taken", "If", share=2.6),
        Head("change", f"{what} changes by", "+,.0f", 1.6),
        Head("served", "Served then", share=1.2),
        Head("added", "Tools more", share=1.6),
        Head("dropped", "Tools less", share=1.6),
        Head("proof", "Proof", share=1.2),
    )
    rows: list[tuple[Cell, ...]] = []
    for each in found.unknowns:
        rows += [
            (
                each.fitment,
                each.why,
                case.words,
                changed(found, case.change),
                "yes" if case.is_served else "no",
                ", ".join(case.added) or "none",
                ", ".join(case.dropped) or "none",
                "proven" if case.is_proven else "gap left",
            )
            for case in each.cases
        ]
        if not each.cases:
            rows.append((each.fitment, each.why, "no blank at hand is of its diameter", *[None] * 5))
    taken = tuple(f"{each.fitment}: {' '.join(each.taken)}" for each in found.unknowns if each.taken)
    note = "Each is planned anew, taken as known, against the plan without it; nothing of it is kept."
    return Sheet(
        "unknowns", "What knowing an unknown fitment would change", heads, tuple(rows), (note, *taken)
    )


def unknown_sentences(project: Project, found: Dossier) -> tuple[str, ...]:
    """Return what knowing each unknown fitment would change, a sentence for each."""
    said = []
    for each in found.unknowns:
        cases = "; ".join(f"if {case.words}, {_case(project, found, case)}" for case in each.cases)
        cases = cases[:1].upper() + cases[1:] or "No blank at hand is of its diameter"
        said.append(f"{each.fitment}: {each.why} {cases}.")
    return tuple(said)


def _case(project: Project, found: Dossier, case: IfKnown) -> str:
    change = compared(found, case.change)
    words = [] if change is None else [worse_words(found.wanted.question, change, project.currency)]
    words += [f"with {name}" for name in case.added] + [f"without {name}" for name in case.dropped]
    words += ["yet the plan does not serve it"] if case.blanks and not case.is_served else []
    return ", ".join(words) or "the same tools"
