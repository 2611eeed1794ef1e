"""Versions of wheels: their tree, their notes, and what becomes of both at a rename or a delete."""

from __future__ import annotations

from dataclasses import replace

import pytest

from app.files import project_file
from app.files.schema import problems
from app.project import edits, versions
from app.project.project import Project
from app.reports.audience import Audience, shown_to, used_by
from app.studies.strength.tested import drawing_of
from tests.support import example


@pytest.fixture(scope="module")
def three() -> Project:
    """Track 18 with a version and a version of that."""
    project = example.project()
    name = project.wheels[0].name
    project = versions.new_version(project, name, "second", "lighter rim")
    return versions.new_version(project, "second", "third", "for the Zeta caliper")


def wheel(project: Project, name: str) -> object:
    return edits.find(project, edits.WHEEL, name)


def test_a_version_stands_behind_its_origin_and_says_why(three: Project) -> None:
    first = three.wheels[0]
    assert [w.name for w in three.wheels[:3]] == [first.name, "second", "third"]
    second = three.wheels[1]
    assert (second.made_from, second.why) == (first.name, "lighter rim")
    assert replace(second, name=first.name, made_from=None, why="") == first
    assert versions.made_from(three, "third") == ("second", first.name)


def test_a_renamed_version_keeps_what_was_made_from_it(three: Project) -> None:
    renamed = edits.renamed(three, edits.WHEEL, "second", "second, as ordered")
    assert renamed.wheels[2].made_from == "second, as ordered"


def test_what_was_made_from_a_deleted_version_goes_back_to_that_ones_origin(three: Project) -> None:
    left = edits.deleted(three, edits.WHEEL, "second")
    third = next(w for w in left.wheels if w.name == "third")
    assert third.made_from == three.wheels[0].name
    assert problems(left) == []


def test_names_of_versions_count_up() -> None:
    project = example.project()
    name = project.wheels[0].name
    assert versions.free_name(project, name) == f"{name}, v2"
    project = versions.new_version(project, name, f"{name}, v2", "")
    assert versions.free_name(project, name) == f"{name}, v3"
    assert versions.free_name(project, f"{name}, v2") == f"{name}, v3"


def test_no_wheel_goes_back_to_itself(three: Project) -> None:
    first = three.wheels[0].name
    assert versions.may_be_made_from(three, first) == tuple(w.name for w in three.wheels[3:])
    round_about = replace(three, wheels=(replace(three.wheels[0], made_from="third"), *three.wheels[1:]))
    assert "leads back to" in problems(round_about)[0]
    assert versions.parent(round_about, round_about.wheels[1]) is None


def test_versions_are_kept_in_the_file(three: Project) -> None:
    assert project_file.loads(project_file.dumps(three)).wheels == three.wheels


def test_no_report_rests_on_a_version_or_its_note(three: Project) -> None:
    """The digest of a report, and a customer's copy, hold neither; nor does the drawing of a test."""
    third = next(w for w in three.wheels if w.name == "third")
    plain = replace(third, made_from=None, why="")
    others = tuple(plain if w is third else w for w in three.wheels)
    assert used_by(three, third) == used_by(replace(three, wheels=others), plain)
    assert drawing_of(three, third) == drawing_of(three, plain)
    part, shown = shown_to(three, third, Audience(""))
    assert (shown.made_from, shown.why) == (None, "")
    assert "Zeta caliper" not in project_file.dumps(part).decode()
