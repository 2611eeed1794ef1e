"""Blanks: what a wheel is cut from."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from geometry.shape.outline import Corner


class Supply(StrEnum):
    """Where a blank comes from."""

    OWN = "own"
    BOUGHT = "bought"


class BlankState(StrEnum):
    """How far a blank has come."""

    IDEA = "idea"
    QUOTED = "quoted"
    ORDERED = "ordered"
    TRIED_OUT = "tried out"
    PROVED = "proved"
    RETIRED = "retired"


@dataclass(frozen=True)
class Blank:
    """A forged blank as drawn.

    Attributes:
        corners: closed half-section in the blank's own frame; edges on the axle line are not skin.
        skin_mm: depth of as-forged skin that must come off everywhere.
        source: where the outline comes from, plain words.
    """

    name: str
    corners: tuple[Corner, ...]
    supply: Supply = Supply.OWN
    state: BlankState = BlankState.IDEA
    skin_mm: float = 0.0
    source: str = ""
    visible: bool = True
    locked: bool = False
    notes: dict[str, object] = field(default_factory=dict)
