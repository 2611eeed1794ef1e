"""A release is frozen: it is found edited when anything of it changed, and is printed again as it was."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from enum import Enum
from pathlib import Path
from typing import Any

import pytest

from app.files.project_file import ProjectFileError, dumps, load, loads, save
from app.project import edits
from app.project.project import Project, TrialFit
from app.project.release import DamagedReleaseError, digest_of, packed, troubles, unpacked
from app.project.sheet import SheetSettings
from app.reports.audience import used_by
from app.reports.outputs import input_sha256, why_stale
from app.reports.releases import (
    Facts,
    HeldBackError,
    draft,
    find_release,
    frozen_part,
    release,
    reprint,
    results_differ,
    sheet_sha256,
    standing,
)
from app.reports.section_sheet import judge
from tests.support.kept import forget_sums_of_pages
from tests.support.make_samples import OWN, TOUCHING, samples

PROJECT = samples()[OWN]
WHEEL = PROJECT.wheels[0]
FACTS = Facts("2026-03-01", "A. Drawer", "B. Checker")


@pytest.fixture(scope="module")
def released() -> Project:
    return replace(PROJECT, releases=(release(PROJECT, WHEEL, FACTS),))


def test_a_release_says_who_when_and_what(released: Project) -> None:
    record = released.releases[0]
    assert (record.wheel, record.revision, record.on) == ("Track 18", "A", "2026-03-01")
    assert (record.drawn_by, record.checked_by, record.change) == ("A. Drawer", "B. Checker", "first release")
    assert record.input_sha256 == sheet_sha256(judge(PROJECT, WHEEL))
    assert troubles(released.releases) == ()
    pdf = reprint(released, record)
    for words in (b"/Title", record.input_sha256.encode()):
        assert words in pdf


@pytest.mark.parametrize(
    ("facts", "words"),
    [
        (Facts("2026-03-01", "A. Drawer", "a drawer"), "two different people"),
        (Facts("2026-03-01", "A. Drawer", ""), "checked"),
        (Facts("2026-03-01", " ", "B. Checker"), "drew"),
        (Facts("yesterday", "A. Drawer", "B. Checker"), "no date"),
    ],
)
def test_who_and_when_are_asked_for(facts: Facts, words: str) -> None:
    with pytest.raises(ValueError, match=words) as caught:
        release(PROJECT, WHEEL, facts)
    assert not isinstance(caught.value, HeldBackError)


def test_what_is_not_settled_is_not_released() -> None:
    touching = samples()[TOUCHING]
    with pytest.raises(HeldBackError, match="Touching"):
        release(touching, touching.wheels[0], FACTS)
    with pytest.raises(HeldBackError, match="Load rating: not stated"):
        release(PROJECT, replace(WHEEL, load_kg=None), FACTS)


def test_a_release_is_printed_again_byte_for_byte_whatever_changed(released: Project, tmp_path: Path) -> None:
    record = released.releases[0]
    before = unpacked(record.pdf)
    path = tmp_path / "p.blankwright"
    edited = replace(WHEEL, inset_mm=40.0, load_kg=None)
    later = replace(
        released,
        wheels=(edited,),
        blanks=(),
        display_unit="in",
        paper="Letter",
        sheet=SheetSettings(owner="Somebody else", inset_mm=None),
    )
    later = replace(later, wheels=(replace(edited, blank=None),))
    save(later, path)
    again = load(path)
    forget_sums_of_pages()  # what was kept of the first print
    assert reprint(again, find_release(again, "Track 18", "a")) == before
    # Also when the wheel is gone or has another name.
    gone = loads(dumps(replace(later, wheels=(), fitments=())))
    assert reprint(gone, find_release(gone, "Track 18", "A")) == before
    renamed = edits.renamed(released, edits.WHEEL, "Track 18", "Track 18 b")
    assert reprint(renamed, find_release(renamed, "Track 18", "A")) == before


def test_the_next_revision_needs_its_change_and_lists_the_one_before(released: Project) -> None:
    edited = replace(WHEEL, load_kg=680.0)
    project = replace(released, wheels=(edited,))
    with pytest.raises(ValueError, match="what changed"):
        release(project, edited, FACTS)
    record = release(project, edited, replace(FACTS, change="load rating 680"))
    assert record.revision == "B"
    both = replace(project, releases=(*project.releases, record))
    assert troubles(both.releases) == ()
    assert reprint(both, both.releases[0]) == unpacked(released.releases[0].pdf)
    assert standing(both, edited).words == "as released, revision B"
    assert standing(both, WHEEL).words == "edited since revision B: load 680 to 690"


def test_what_was_edited_since_is_said_in_short(released: Project) -> None:
    assert standing(PROJECT, WHEEL).words == "never released"
    assert standing(released, WHEEL).words == "as released, revision A"
    assert standing(released, WHEEL).is_current
    moved = replace(WHEEL.vertices[0], z=WHEEL.vertices[0].z + 0.25)
    for wheel, words in (
        (replace(WHEEL, inset_mm=38.5), "inset 38 to 38.5"),
        (replace(WHEEL, vertices=(moved, *WHEEL.vertices[1:])), f"vertices 1 z {WHEEL.vertices[0].z:g} to"),
        (replace(WHEEL, blank=None, clears=()), "stay-out shape 'Brake 380 x 34' is gone"),
    ):
        found = standing(replace(released, wheels=(wheel,)), wheel)
        assert not found.is_current
        assert found.words.startswith("edited since revision A: ")
        assert words in found.words
    rules = replace(PROJECT.rule_sets[0], seat_land_mm=11.5)
    sheet = replace(released.sheet, inset_mm=0.1)
    found = standing(replace(released, rule_sets=(rules, *PROJECT.rule_sets[1:]), sheet=sheet), WHEEL)
    assert "rule set 'starting, road' seat land" in found.words
    assert "sheet inset 0.2 to 0.1" in found.words


def test_what_a_sheet_does_not_rest_on_is_no_edit(released: Project) -> None:
    wheel = replace(WHEEL, visible=False, locked=True)
    project = replace(
        released,
        wheels=(wheel, replace(WHEEL, name="another")),
        revision="7",
        author="Somebody",
        paper="Letter",
        sheet=replace(released.sheet, large=False),
        trial_fits=(TrialFit("T", "Track 18"),),
        notes={"a": 1},
    )
    assert standing(project, wheel).is_current
    assert sheet_sha256(judge(project, wheel)) == released.releases[0].input_sha256


def changes(value: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    """Yield a value with one of its leaves changed, for each leaf."""
    if is_dataclass(value) and not isinstance(value, type):
        for field in fields(value):
            for where, changed in changes(getattr(value, field.name), f"{path}.{field.name}"):
                yield where, replace(value, **{field.name: changed})
    elif isinstance(value, tuple):
        for i, item in enumerate(value[:2]):
            for where, changed in changes(item, f"{path}[{i}]"):
                yield where, (*value[:i], changed, *value[i + 1 :])
        if value:
            yield f"{path}[]", value[1:]
    elif isinstance(value, bool):
        yield path, not value
    elif isinstance(value, int | float):
        yield path, value + type(value)(1)
    elif isinstance(value, Enum):
        yield path, next(member for member in type(value) if member is not value)
    elif isinstance(value, str):
        yield path, f"{value}x"
    elif isinstance(value, dict):
        yield path, {**value, "more": 1}


def with_first(project: Project, name: str, part: Any) -> Project:
    """Return the project with another part first in one of its lists."""
    lists: dict[str, Any] = {name: (part, *getattr(project, name)[1:])}
    return replace(project, **lists)


def one_changed() -> list[tuple[str, Project]]:
    part = frozen_part(PROJECT, WHEEL)
    lists = ("wheels", "blanks", "shapes", "rule_sets", "conditions", "materials")
    found = [
        (f"{name}{where}", with_first(part, name, changed))
        for name in lists
        for where, changed in changes(getattr(part, name)[0])
    ]
    found += [(f"sheet{where}", replace(part, sheet=changed)) for where, changed in changes(part.sheet)]
    return found


def written(project: Project) -> bytes:
    """Return the bytes that are frozen, none where the change makes a project that no file can hold."""
    try:
        return dumps(project)
    except ProjectFileError:
        return b""


def test_a_change_of_anything_frozen_is_an_edit() -> None:
    free = ("visible", "locked", "large")
    cases = one_changed()
    assert len(cases) > 150
    before = written(frozen_part(PROJECT, WHEEL))
    for where, project in cases:
        # A part that lost its name is no longer the wheel's; then the whole part is gone from what is frozen.
        after = frozen_part(project, project.wheels[0])
        is_same = replace(after, name="x") == replace(frozen_part(PROJECT, WHEEL), name="x")
        # Where a load comes from and what strength is compared with stand on strength's own pages.
        # What a wheel was made from, and why, stands on none.
        left_out = (*free, "reference", "wheels.made_from", "wheels.why")
        assert is_same == (where.endswith(left_out) or ".rating" in where), where
        assert (written(after) == before) == is_same, where


def test_the_digest_holds_the_results_too() -> None:
    judged = judge(PROJECT, WHEEL)
    other = replace(WHEEL, load_kg=1.0)
    assert sheet_sha256(judge(replace(PROJECT, wheels=(other,)), other)) != sheet_sha256(judged)
    found = judged.measured.measurements
    assert found is not None
    heavier = replace(found, solid=replace(found.solid, mass_kg=found.solid.mass_kg + 0.001))
    misread = replace(judged, measured=replace(judged.measured, measurements=heavier))
    assert sheet_sha256(misread) != sheet_sha256(judged)


def test_a_program_that_reads_otherwise_is_noticed(released: Project) -> None:
    judged, record = judge(PROJECT, WHEEL), released.releases[0]
    assert not results_differ(judged, record)
    found = judged.measured.measurements
    assert found is not None
    for by, differs in ((1e-10, False), (1e-3, True)):
        row = replace(found.wall[0], least_mm=found.wall[0].least_mm + by)
        other = replace(found, wall=(row, *found.wall[1:]))
        misread = replace(judged, measured=replace(judged.measured, measurements=other))
        assert results_differ(misread, record) is differs


def test_a_record_that_was_tampered_with_is_opened_with_a_warning_and_never_printed(
    released: Project,
) -> None:
    record = released.releases[0]
    pdf = unpacked(record.pdf)
    for bad in (
        replace(record, checked_by="Somebody else"),
        replace(record, pdf=packed(pdf.replace(b"%PDF-1.4", b"%PDF-1.7", 1) + b" ")),
        replace(record, input_sha256="0" * 64),
        replace(record, frozen=packed(b"{}"), sha256=digest_of(replace(record, frozen=packed(b"{}")))),
    ):
        again = loads(dumps(replace(released, releases=(bad,))))
        (warning,) = troubles(again.releases)
        assert "Track 18, revision A" in warning
        with pytest.raises(DamagedReleaseError, match="damaged or edited outside"):
            reprint(again, again.releases[0])
        assert standing(again, WHEEL).words == "not known, since the record of revision A is damaged"
        assert not standing(again, WHEEL).is_current
        # Its revision is not given out again, and nothing follows on it before it is mended.
        with pytest.raises(HeldBackError, match="damaged"):
            release(again, WHEEL, replace(FACTS, change="next"))


def test_two_records_of_one_revision_are_neither_printed(released: Project) -> None:
    other = release(PROJECT, WHEEL, replace(FACTS, drawn_by="C. Third"))
    twice = replace(released, releases=(*released.releases, other))
    assert troubles(twice.releases)
    for record in twice.releases:
        with pytest.raises(DamagedReleaseError):
            reprint(twice, record)


def test_reports_rest_on_no_release_and_on_no_tolerance_of_a_sheet(released: Project) -> None:
    other = replace(released, sheet=SheetSettings(owner="Somebody"))
    assert input_sha256(other, WHEEL) == input_sha256(PROJECT, WHEEL)
    assert used_by(other, WHEEL).releases == ()


def test_a_stored_sheet_is_current_until_its_input_changes(released: Project, tmp_path: Path) -> None:
    for name, data in (
        ("draft.pdf", draft(PROJECT, WHEEL)[0]),
        ("a.pdf", reprint(released, released.releases[0])),
    ):
        path = tmp_path / name
        path.write_bytes(data)
        assert why_stale(released, WHEEL, path) == ""
        edited = replace(WHEEL, load_kg=691.0)
        assert why_stale(replace(released, wheels=(edited,)), edited, path)
        other = replace(released, sheet=replace(released.sheet, inset_mm=0.1))
        assert why_stale(other, WHEEL, path)
