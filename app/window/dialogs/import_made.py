"""What an import may become, and what keeps it from becoming anything."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from app.files.readers.answer import Loop, ReadError, ReadOutline, above_axle
from app.files.readers.imported import corners
from app.language import spoken, tr
from app.project import edits
from app.project.project import Project
from app.views.readings_text import minus
from app.window.dialogs.import_drawn import Lay
from app.window.dialogs.import_report import capital, in_window_words, is_unit_open
from app.window.dialogs.typed_fields import FieldError
from geometry.shape.blank import Blank
from geometry.shape.outline import StayOut

#: An outline with more vertices makes every reading too slow to be live.
MOST_VERTICES = 10_000


def usable(found: ReadOutline | None, taken: Sequence[int], is_unit_chosen: bool) -> ReadOutline:
    """Return what was found, knowing that it can be used.

    Raises:
        FieldError: it cannot; the message says why and how to mend it.
    """
    if found is None:
        raise FieldError(tr("There is no outline yet: wait for the reader, or mend what it says."))
    if found.hindrance:
        raise FieldError(capital(in_window_words(found.hindrance)))
    if is_unit_open(found, is_unit_chosen):
        doubt = found.unit_doubt or tr("the file states no unit")
        raise FieldError(
            tr("{doubt}: choose it on the page 'Outline'; the picture shows each.", doubt=capital(doubt))
        )
    if not taken:
        raise FieldError(tr("Choose at least one outline."))
    return found


def placed(found: ReadOutline, taken: Sequence[int], lay: Lay) -> tuple[Loop, ...]:
    """Return what is taken, as it will be kept.

    Raises:
        FieldError: it reaches below the axle line or too far out, or an outline is too fine.
    """
    count = max((len(found.loops[k]) for k in taken), default=0)
    if count > MOST_VERTICES:
        raise FieldError(
            tr(
                "An outline of {count} vertices is too fine: more than {most_vertices} make "
                "every reading slow. Export it coarser.",
                count=count,
                most_vertices=MOST_VERTICES,
            )
        )
    loops = tuple(lay.loop(found.loops[k]) for k in taken)
    try:
        return above_axle(loops, "")
    except ReadError as error:
        words = spoken(str(error)).removeprefix(": ")
        raise FieldError(minus(capital(in_window_words(words)))) from None


def with_blank(project: Project, name: str, loops: Sequence[Loop], file_name: str) -> Project:
    """Return the project with an outline added as a blank.

    Raises:
        FieldError: there are several outlines.
    """
    if len(loops) > 1:
        raise FieldError(tr("A blank is one outline: choose one of those found."))
    blank = Blank(name, corners(loops[0]), source=f"read from {file_name}")
    return edits.add(project, edits.BLANK, blank)


def with_shape(project: Project, shape: StayOut, held_by: str | None) -> Project:
    """Return the project with a shape added, and held against a wheel where one is named."""
    project = edits.add(project, edits.SHAPE, shape)
    if held_by is None:
        return project
    wheel = edits.find(project, edits.WHEEL, held_by)
    held = replace(wheel, clears=(*wheel.clears, shape.name))
    return edits.replaced(project, edits.WHEEL, wheel.name, held)
