"""How far a tracing can be trusted: the card's fields, filled by what the picture gives."""

from __future__ import annotations

from app.language import spoken, tr
from app.window.dialogs.import_trust import TrustPage
from app.window.dialogs.trace_state import Trace
from app.window.dialogs.typed_fields import plain
from geometry.shape.outline import Answer, Grade, Known, SourceCard

#: Who answers the question of the unit.
SCALE = tr("the scale of the picture")

#: Rises when the same clicks would give another outline; kept with every traced one.
READER = "picture tracing 1"


class TraceTrust(TrustPage):
    """The trust page of a tracing: its grade at best, its error and unit as the scale gives them."""

    def follow(self, trace: Trace, error_mm: float | None) -> None:
        """Propose grade, error and the answer on the unit; what was typed stays.

        Args:
            trace: gives the known lengths.
            error_mm: that the tracing should have at least; None while there is no scale.
        """
        if self.grade not in self._touched:
            self.grade.offer([(spoken(g), g) for g in (Grade.TRACING, Grade.HEARSAY)], Grade.TRACING)
        if self.error not in self._touched and error_mm is not None:
            self.error.put(error_mm)
        if self.answers["unit"] not in self._touched:
            words = unit_words(trace)
            self.answers["unit"].put(Answer(Known.ANSWERED, words, SCALE) if words else Answer())


def unit_words(trace: Trace) -> str:
    """Return how the unit is known: by which lengths; empty until both axes have one."""
    said = []
    for axis in ("z", "r"):
        lengths = [f"{plain(known.true_mm)}" for known in trace.known() if known.axis == axis]
        if not lengths:
            return ""
        said.append(tr("{lengths} along {axis}", lengths=tr(" and ").join(lengths), axis=axis))
    return tr("mm, by known lengths: {said}", said=", ".join(said))


def card(file_name: str, page: int, pages: int, sha256: str) -> SourceCard:
    """Return the card of a tracing before anything is said of it."""
    where = tr("page {page} of {file_name}", page=page + 1, file_name=file_name) if pages > 1 else file_name
    return SourceCard(
        source=f"traced over {where}",
        grade=Grade.TRACING,
        file_name=file_name,
        file_sha256=sha256,
        file_unit="pixels",
        reader=READER,
    )
