"""Releasing a section sheet: what it rests on is frozen with its results, and its bytes are kept for ever."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import msgspec

from app.files.project_file import ProjectFileError, dumps, loads
from app.project.project import Project
from app.project.release import (
    DamagedReleaseError,
    Release,
    date_trouble,
    digest_of,
    next_revision,
    of_wheel,
    packed,
    people_trouble,
    trouble,
    troubles,
    unpacked,
)
from app.project.wheel import Wheel
from app.reports.audience import used_by
from app.reports.differences import differences
from app.reports.names import keeping_names
from app.reports.section_sheet import Issue, Judged, build_sheet, judge, paper_of
from app.studies.road import whole_state

#: At most so many changes are told.
_MOST_TOLD = 4
FIRST = "first release"


class HeldBackError(ValueError):
    """A sheet cannot be released; `reasons` say what, where and how to mend it."""

    def __init__(self, reasons: Sequence[str]) -> None:
        super().__init__(" ".join(reasons))
        self.reasons = tuple(reasons)


@dataclass(frozen=True)
class Facts:
    """What people say of a release."""

    on: str
    drawn_by: str
    checked_by: str
    change: str = ""


def frozen_part(project: Project, wheel: Wheel) -> Project:
    """Return what a wheel's sheet rests on: wheel, blank, shapes, rules, conditions, material and settings.

    What is shown or locked in the window, the project's own revision and author, and on which paper the sheet
    is drawn, are no part of it.
    """
    part = used_by(project, wheel)
    return replace(
        part,
        revision="1",
        revision_date="",
        author="",
        currency="",
        currency_year=None,
        paper="A4",
        wheels=tuple(replace(w, visible=True, locked=False) for w in part.wheels),
        blanks=tuple(replace(b, visible=True, locked=False) for b in part.blanks),
        shapes=tuple(replace(s, visible=True, locked=False) for s in part.shapes),
        trial_fits=(),
        sheet=replace(project.sheet, large=True),
    )


def frozen(judged: Judged) -> bytes:
    """Return what is frozen: the inputs as a project file, and every reading, as one JSON object.

    Raises:
        ProjectFileError: the project holds what no file can.
    """
    inputs = dumps(frozen_part(judged.project, judged.wheel)).decode()
    return msgspec.json.encode({"inputs": inputs, "results": _results(judged)})


def _results(judged: Judged) -> dict[str, Any]:
    found, road = judged.measured.measurements, judged.road
    return {
        "state": whole_state(judged.measured, road),
        "faults": judged.measured.faults,
        "readings": found,
        "road": None if road is None else {"rows": road.rows, "narrow": road.narrow, "state": road.state},
    }


def sheet_sha256(judged: Judged) -> str:
    """Return the digest of what a wheel's sheet rests on and of what is read from it.

    Raises:
        ProjectFileError: the project holds what no file can.
    """
    return hashlib.sha256(frozen(judged)).hexdigest()


def draft(project: Project, wheel: Wheel, paper: str | None = None) -> tuple[bytes, tuple[str, ...]]:
    """Return a sheet stamped 'not released', and what keeps it from release.

    Raises:
        ProjectFileError: the project holds what no file can.
    """
    from app.reports.section_sheet_pages import write_sheet

    judged = judge(project, wheel)
    content = build_sheet(
        judged,
        paper or paper_of(project),
        _issues(project, wheel.name),
        next_revision(project.releases, wheel.name),
    )
    with keeping_names(project):
        return write_sheet(content, input_sha256=sheet_sha256(judged)), content.hindrances


def hindered(project: Project, wheel: Wheel) -> tuple[str, ...]:
    """Return what keeps a wheel's sheet from release, nothing where it may be released."""
    bad = tuple(_bad(project, wheel.name))
    return bad + build_sheet(judge(project, wheel), paper_of(project)).hindrances


def _bad(project: Project, wheel: str) -> list[str]:
    return list(troubles(of_wheel(project.releases, wheel)))


def release(project: Project, wheel: Wheel, facts: Facts, paper: str | None = None) -> Release:
    """Return the record of a new release of a wheel; the project is not changed.

    Raises:
        ValueError: the people, the date or the note of the change are not as they must be.
        HeldBackError: something of the wheel keeps it from release, or an earlier record is damaged.
        ProjectFileError: the project holds what no file can.
    """
    from app.reports.section_sheet_pages import write_sheet

    revision = next_revision(project.releases, wheel.name)
    facts = _checked(facts, is_first=not of_wheel(project.releases, wheel.name))
    paper = paper or paper_of(project)
    judged = judge(project, wheel)
    issue = Issue(revision, facts.on, facts.drawn_by, facts.checked_by, facts.change)
    content = build_sheet(judged, paper, _issues(project, wheel.name), revision, issue)
    reasons = (*_bad(project, wheel.name), *content.hindrances)
    if reasons:
        raise HeldBackError(reasons)
    data = frozen(judged)
    sha256 = hashlib.sha256(data).hexdigest()
    version = _version()
    with keeping_names(project):
        pdf = write_sheet(content, input_sha256=sha256, version=version)
    record = Release(
        wheel=wheel.name,
        revision=revision,
        on=facts.on,
        drawn_by=facts.drawn_by,
        checked_by=facts.checked_by,
        change=facts.change,
        paper=paper,
        version=version,
        input_sha256=sha256,
        frozen=packed(data),
        pdf=packed(pdf),
        sha256="",
    )
    return replace(record, sha256=digest_of(record))


def _version() -> str:
    from importlib import metadata

    return metadata.version("blankwright")


def _checked(facts: Facts, is_first: bool) -> Facts:
    """Return the facts without blanks at their ends, or raise what is wrong with them."""
    on, drawn_by, checked_by, change = (
        " ".join(text.split()) for text in (facts.on, facts.drawn_by, facts.checked_by, facts.change)
    )
    wrong = people_trouble(drawn_by, checked_by) or date_trouble(on)
    if not wrong and not change and not is_first:
        wrong = "Say what changed since the revision before."
    if wrong:
        raise ValueError(wrong)
    return Facts(on, drawn_by, checked_by, change or FIRST)


def _issues(project: Project, wheel: str) -> tuple[Issue, ...]:
    """Return the revision block's rows of what was released before and is whole."""
    return tuple(
        Issue(r.revision, r.on, r.drawn_by, r.checked_by, r.change)
        for r in of_wheel(project.releases, wheel)
        if not trouble(r)
    )


def find_release(project: Project, wheel: str, revision: str) -> Release:
    """Return a wheel's release by its revision.

    Raises:
        ValueError: there is none; the message lists what there is.
    """
    own = of_wheel(project.releases, wheel)
    found = next((r for r in own if r.revision == revision.strip().upper()), None)
    if found is None:
        there = ", ".join(r.revision for r in own)
        raise ValueError(
            f"Wheel '{wheel}' has no release of revision '{revision}'; "
            + (f"it has: {there}." if there else "it was never released.")
        )
    return found


def reprint(project: Project, record: Release) -> bytes:
    """Return a released sheet, byte for byte as it went out.

    Raises:
        DamagedReleaseError: the record is not what was released.
    """
    own = [r for r in project.releases if (r.wheel, r.revision) == (record.wheel, record.revision)]
    wrong = troubles(own)
    if wrong:
        raise DamagedReleaseError(wrong[0])
    return unpacked(record.pdf)


@dataclass(frozen=True)
class Standing:
    """How a wheel stands to its latest whole release.

    Attributes:
        release: None where it has none, or where a record is damaged.
        changes: what of the inputs differs since; empty where nothing does.
        damaged: revision of a record that is not what was released; then nothing else can be said.
    """

    release: Release | None
    changes: tuple[str, ...] = ()
    damaged: str = ""

    @property
    def words(self) -> str:
        """As said: 'as released, revision A', or 'edited since revision A: inset 38 to 38.5'."""
        if self.damaged:
            return f"not known, since the record of revision {self.damaged} is damaged"
        if self.release is None:
            return "never released"
        if not self.changes:
            return f"as released, revision {self.release.revision}"
        told = "; ".join(self.changes[:_MOST_TOLD])
        more = len(self.changes) - _MOST_TOLD
        return f"edited since revision {self.release.revision}: {told}" + (
            f"; {more} more" if more > 0 else ""
        )

    @property
    def is_current(self) -> bool:
        """True where the wheel is as it was released."""
        return self.release is not None and not self.changes


@lru_cache(maxsize=8)
def inputs_of(record: Release) -> Project:
    """Return what a release rests on, as this program reads it.

    Raises:
        ProjectFileError, ValueError, KeyError: it cannot be read.
    """
    return loads(json.loads(unpacked(record.frozen))["inputs"].encode())


def standing(project: Project, wheel: Wheel) -> Standing:
    """Return whether a wheel and all it rests on are still what its latest release froze."""
    own = of_wheel(project.releases, wheel.name)
    if not own:
        return Standing(None)
    for i, record in enumerate(own, start=1):
        if troubles(own[:i]):
            return Standing(None, damaged=record.revision)
    latest = own[-1]
    try:
        before = inputs_of(latest)
        after = loads(dumps(frozen_part(project, wheel)))
    except (ProjectFileError, KeyError, ValueError) as error:
        return Standing(latest, (f"cannot be compared ({error})",))
    return Standing(latest, tuple(differences(before, after)))


def results_differ(judged: Judged, record: Release) -> bool:
    """Return whether this program reads a wheel of the same inputs otherwise than when it was released."""
    now: Any = json.loads(frozen(judged))["results"]
    return not _alike(json.loads(unpacked(record.frozen))["results"], now)


#: Readings that agree within this are the same: processors round differently.
_SAME_MM = 1e-6


def _alike(a: Any, b: Any) -> bool:
    if isinstance(a, dict) and isinstance(b, dict):
        # A later program may read more; what was read then must still be read alike.
        return all(key in b and _alike(a[key], b[key]) for key in a)
    if isinstance(a, list) and isinstance(b, list):
        return len(a) == len(b) and all(_alike(x, y) for x, y in zip(a, b, strict=True))
    if isinstance(a, float) and isinstance(b, float | int):
        return abs(a - b) <= _SAME_MM * max(1.0, abs(a))
    return bool(a == b)
