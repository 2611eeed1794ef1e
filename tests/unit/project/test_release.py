"""Records of released sheets: who, which revision, and whether a record is whole."""

from __future__ import annotations

import base64
import zlib
from dataclasses import fields, replace

import pytest

from app.project.release import (
    LARGEST_BYTES,
    DamagedReleaseError,
    Release,
    are_one_person,
    date_trouble,
    digest_of,
    next_revision,
    packed,
    people_trouble,
    trouble,
    troubles,
    unpacked,
)
from app.project.sheet import NAMES, REASONS, SHIPPED, SheetSettings, not_stated, started_with
from tests.support.whole_projects import every_class

RECORD = every_class().releases[0]


def of_revision(revision: str, wheel: str = "Track 18") -> Release:
    record = replace(RECORD, wheel=wheel, revision=revision)
    return replace(record, sha256=digest_of(record))


def test_a_whole_record_is_whole() -> None:
    assert trouble(RECORD) == ""
    assert unpacked(RECORD.pdf).startswith(b"%PDF-")


@pytest.mark.parametrize("name", [field.name for field in fields(Release)])
def test_a_change_of_any_field_is_found(name: str) -> None:
    value = getattr(RECORD, name)
    for other in (value + "x", value[:-1], ""):
        assert trouble(replace(RECORD, **{name: other})), other


def test_a_sheet_exchanged_with_its_digest_still_needs_two_people_and_a_sheet() -> None:
    for change in ({"checked_by": RECORD.drawn_by}, {"pdf": packed(b"no sheet")}, {"revision": "1"}):
        record = replace(RECORD, **change)
        assert trouble(replace(record, sha256=digest_of(record)))


def test_a_revision_given_twice_is_found() -> None:
    assert troubles((of_revision("A"), of_revision("B"))) == ()
    found = troubles((of_revision("A"), of_revision("A")))
    assert len(found) == 1
    assert "Track 18, revision A" in found[0]
    assert troubles((of_revision("A"), of_revision("A", "GT 19"))) == ()


def test_what_was_packed_comes_out_and_nothing_else_does() -> None:
    data = bytes(range(256)) * 40
    assert unpacked(packed(data)) == data
    bomb = base64.b64encode(zlib.compress(b"0" * (LARGEST_BYTES + 1))).decode()
    for text in (
        "",
        "ä",
        "!!!!",
        packed(data)[:-8],
        bomb,
        base64.b64encode(zlib.compress(b"1") + b"x").decode(),
    ):
        with pytest.raises(DamagedReleaseError):
            unpacked(text)


def test_revisions_follow_each_other() -> None:
    assert next_revision((), "Track 18") == "A"
    assert next_revision((of_revision("A"),), "Track 18") == "B"
    assert next_revision((of_revision("A"),), "GT 19") == "A"
    # The latest counts, not how many there are: what was lost is not given out twice.
    assert next_revision((of_revision("D"), of_revision("B")), "Track 18") == "E"
    assert next_revision((of_revision("Z"),), "Track 18") == "AA"
    assert next_revision((of_revision("AZ"),), "Track 18") == "BA"


@pytest.mark.parametrize(
    ("a", "b"), [("A. One", "a one"), ("A One", " A  ONE "), ("\uff21 One", "A One"), ("Straße", "STRASSE")]
)
def test_one_person_under_two_spellings_is_one(a: str, b: str) -> None:
    assert are_one_person(a, b)
    assert people_trouble(a, b)


def test_two_people_and_a_date_are_asked_for() -> None:
    assert people_trouble("A. One", "B. Two") == ""
    assert "checked" in people_trouble("A. One", "  ")
    assert "drew" in people_trouble(".", "B. Two")
    assert date_trouble("2026-02-28") == ""
    for text in ("", "2026-02-30", "28.2.2026", "20260228", "2026-2-8", "today"):
        assert date_trouble(text), text


def test_every_setting_has_a_name_and_every_starting_value_its_reason() -> None:
    flags = {"large", "third_angle", "starting_values"}
    assert set(NAMES) == {field.name for field in fields(SheetSettings)} - flags
    assert set(REASONS) == set(NAMES) - {"owner"}
    assert all(reason.strip() for reason in REASONS.values())
    assert not_stated(SHIPPED) == ("owner",)
    assert set(started_with(SHIPPED)) == set(REASONS)
    assert "inset_mm" not in started_with(replace(SHIPPED, inset_mm=0.1))
    assert started_with(replace(SHIPPED, starting_values=False)) == ()
