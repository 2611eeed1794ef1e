"""What a release freezes: it can be written, and holds nothing of strength, tests or other wheels."""

from __future__ import annotations

from dataclasses import replace

from app.files.project_file import dumps
from app.project.strength import TestRecord
from app.reports.audience import used_by
from app.reports.releases import frozen_part
from tests.support.whole_projects import every_class


def test_a_wheel_with_a_reference_and_records_of_others_can_be_frozen() -> None:
    project = every_class()
    wheel = project.wheels[0]
    assert wheel.reference is not None
    records = (*project.test_records, TestRecord("other", project.wheels[1].name, laboratory="a laboratory"))
    told = replace(project, test_records=records)
    for part in (used_by(told, wheel), frozen_part(told, wheel)):
        written = dumps(part)
        assert b"a laboratory" not in written
        assert part.test_records == ()


def test_a_variant_can_be_frozen_without_the_set_it_varies() -> None:
    project = every_class()
    blanks = (replace(project.blanks[0], variant_of="S18"), *project.blanks[1:])
    told = replace(project, blanks=blanks)
    dumps(frozen_part(told, told.wheels[0]))
