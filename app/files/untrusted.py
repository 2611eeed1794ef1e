"""A project whose numbers may have been altered unseen: nothing reads clear before a person looks."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from app.project.edits import MATERIAL, REFERENCES, SHAPE, Reference
from app.project.project import Material, Project
from app.project.release import trouble
from app.project.versions import circles
from geometry.shape.blank import BlankState
from geometry.shape.outline import (
    QUESTIONS,
    Answer,
    Corner,
    Known,
    NamedOutline,
    SourceCard,
    StayOut,
)

#: A stand-in's outline: of no use, valid, and near the axle, where no wheel has metal.
_NOTHING = NamedOutline("lost", (Corner(-1.0, 1.0), Corner(1.0, 1.0), Corner(0.0, 2.0)))

#: What every wheel must clear where parts were lost that judge it.
GATE = "Lost in a damaged file"


def distrusted(project: Project, anything_lost: bool) -> tuple[Project, tuple[str, ...], tuple[str, ...]]:
    """Return a project as nobody has confirmed it, what had to be let go, and what is open again.

    Args:
        project: parts that are whole each for itself; they may name parts that are gone.
        anything_lost: parts may be gone that nothing here names any more.
    """
    let_go: list[str] = []
    project = _without_circles(project, let_go)
    project = _with_stand_ins(project, let_go)
    for reference in REFERENCES:
        project = _without_lost(project, reference, let_go)
    project = _with_sound_releases(project, let_go)
    opens = list(_opened_words(project))
    project = replace(
        project,
        shapes=tuple(_unanswered(shape) for shape in project.shapes),
        blanks=tuple(
            replace(b, state=BlankState.ORDERED, tools=None) if b.state in _TRIED else replace(b, tools=None)
            for b in project.blanks
        ),
        test_records=tuple(replace(r, drawing="", forging="") for r in project.test_records),
    )
    if (anything_lost or let_go) and project.wheels:
        project = _gated(project)
        opens.append(f'every wheel must clear the stand-in "{GATE}"; take it away when all is looked over')
    return project, tuple(let_go), tuple(opens)


_TRIED = (BlankState.TRIED_OUT, BlankState.PROVED)


def _unanswered(shape: StayOut) -> StayOut:
    card = shape.card
    answers = {key: replace(getattr(card, key), state=Known.OPEN) for key in QUESTIONS}
    card = replace(card, datum_checked_by="", **answers)
    return replace(shape, card=card, extent=replace(shape.extent, confirmed_by=""))


def _opened_words(project: Project) -> Iterator[str]:
    if project.shapes:
        yield "every answer on a source card is open again, so that no gap reads clear: confirm each"
    tried = [b.name for b in project.blanks if b.state in _TRIED]
    if tried:
        yield f"blanks count as ordered, not as tried out or proved: {', '.join(tried)}"
    if any(b.tools is not None for b in project.blanks):
        yield "what tools can make beside their own blank is to be asked of the forge again"
    if project.test_records:
        yield "recorded tests are of no known drawing"


def _stand_in(name: str, what: str) -> StayOut:
    card = SourceCard(source="stand-in", left_out=what, unit=Answer(Known.OPEN, "lost in a damaged file"))
    return StayOut(name, (_NOTHING,), card=card)


def _with_stand_ins(project: Project, let_go: list[str]) -> Project:
    """Put a stand-in for each lost shape that a wheel must clear, and for its lost material."""
    wheels = tuple(
        replace(
            w,
            material=w.material if w.material.strip() else "Lost",
            clears=tuple(n if n.strip() else "Lost" for n in w.clears),
        )
        for w in project.wheels
    )
    project = replace(project, wheels=wheels)
    there = set(SHAPE.names(project))
    gone = dict.fromkeys(n for w in project.wheels for n in w.clears if n not in there)
    let_go.extend(f'the outline of the shape "{name}"; a stand-in has its name' for name in gone)
    shapes = tuple(_stand_in(name, "its outline was lost; bring it again") for name in gone)
    metals = set(MATERIAL.names(project))
    lost = dict.fromkeys(w.material for w in project.wheels if w.material not in metals)
    let_go.extend(f'the material "{name}"; one with the starting density has its name' for name in lost)
    materials = tuple(Material(name, source="lost in a damaged file") for name in lost)
    return replace(project, shapes=(*project.shapes, *shapes), materials=(*project.materials, *materials))


def _without_lost(project: Project, reference: Reference, let_go: list[str]) -> Project:
    known = set(reference.target.names(project))
    field, parts = reference.holder.field, []
    for part in reference.holder.of(project):
        gone = [name for name in reference.names(part) if name not in known]
        if gone:
            let_go.append(f'what "{part.name}" names as its {reference.field}: {", ".join(gone)}')
            value = getattr(part, reference.field)
            left = None if isinstance(value, str) else tuple(n for n in value if n in known)
            part = replace(part, **{reference.field: left})
        parts.append(part)
    changes: dict[str, Any] = {field: tuple(parts)}
    return replace(project, **changes)


def _without_circles(project: Project, let_go: list[str]) -> Project:
    wheels = list(project.wheels)
    for i in circles(project):
        let_go.append(f'from which version "{wheels[i].name}" was made')
        wheels[i] = replace(wheels[i], made_from=None)
    return replace(project, wheels=tuple(wheels))


def _with_sound_releases(project: Project, let_go: list[str]) -> Project:
    sound = []
    for release in project.releases:
        reason = trouble(release)
        if reason:
            let_go.append(f"the release {release.words}: {reason}")
        else:
            sound.append(release)
    return replace(project, releases=tuple(sound))


def _gated(project: Project) -> Project:
    name, number = GATE, 1
    while name in SHAPE.names(project):
        number += 1
        name = f"{GATE} ({number})"
    gate = _stand_in(name, "what judges a wheel may be lost; take this away when all is looked over")
    wheels = tuple(replace(wheel, clears=(*wheel.clears, name)) for wheel in project.wheels)
    return replace(project, shapes=(*project.shapes, gate), wheels=wheels)
