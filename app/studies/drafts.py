"""Drafts that a forging starts with, by what strips it (practice 14); what is said of them and of its log."""

from __future__ import annotations

from dataclasses import dataclass

from app.studies.forging_needs import ForgingSettings
from app.studies.stage_words import Finding
from geometry.forging.composite import Forgeable
from geometry.forging.press import LOG_DIAMETERS_MM, Log


@dataclass(frozen=True)
class StartingDraft:
    """A draft to start with and the band that is usual, degrees; from memory."""

    wall: str
    start_deg: float
    low_deg: float
    high_deg: float

    @property
    def band(self) -> str:
        """As '0.5 to 1.5°, from memory'."""
        return f"{self.low_deg:g} to {self.high_deg:g}°, from memory"


EJECTED = StartingDraft("outside (die with an ejector)", 1.0, 0.5, 1.5)
NOT_EJECTED = StartingDraft("outside (die without an ejector)", 4.0, 3.0, 5.0)
#: Trim of the ring's inboard end (practice 14, from memory), mm.
USUAL_TRIM_MM = 5.0
#: The ring shrinks onto the punch.
ON_PUNCH = StartingDraft("inside (on the punch)", 2.0, 1.5, 3.0)


def outside(ejects: bool) -> StartingDraft:
    """Return the draft of the outside wall in a die with or without an ejector."""
    return EJECTED if ejects else NOT_EJECTED


def draft_findings(how: Forgeable, ejects: bool) -> tuple[Finding, ...]:
    """Return what is said of drafts below what usually comes out of such dies."""
    found = []
    for draft, degrees in ((outside(ejects), how.outside_deg), (ON_PUNCH, how.inside_deg)):
        if degrees < draft.low_deg:
            said = f"Draft {draft.wall} is {degrees:g}°: {draft.band}, is usual; it may stick."
            found.append(Finding(said))
    return tuple(found)


def log_findings(log: Log) -> tuple[Finding, ...]:
    """Return what is said of a log thicker than extruded round stock is made (EN 603-3: up to 320 mm)."""
    most = max(LOG_DIAMETERS_MM)
    if log.diameter_mm <= most:
        return ()
    said = "The log of {0} is thicker than extruded forging stock, which goes up to {1} (EN 603-3)."
    return (Finding(said, (log.diameter_mm, most)),)


def end_findings(settings: ForgingSettings) -> tuple[Finding, ...]:
    """Return what is said of a ring whose uneven end has less trim than is usual."""
    if settings.trim_mm >= USUAL_TRIM_MM:
        return ()
    said = (
        "A ring that is extruded backwards ends uneven: {0} of trim is usual, from memory; {1} is asked for."
    )
    return (Finding(said, (USUAL_TRIM_MM, settings.trim_mm)),)
