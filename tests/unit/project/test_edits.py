"""Named parts: new, replaced, duplicated, renamed, deleted; every kind by the same functions."""

from dataclasses import fields, replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.files.project_file import dumps
from app.files.schema import problems
from app.project.edits import (
    BLANK,
    CONDITIONS,
    FITMENT,
    KINDS,
    MATERIAL,
    REFERENCES,
    RULE_SET,
    SHAPE,
    TEST_RECORD,
    TRIAL_FIT,
    WHEEL,
    EditError,
    Kind,
    add,
    deleted,
    duplicated,
    find,
    free_name,
    renamed,
    replaced,
    users,
)
from app.project.project import Material, Project
from app.project.wheel import Wheel
from tests.support.whole_projects import every_class

each_kind = pytest.mark.parametrize("kind", KINDS, ids=lambda kind: str(kind.field))


def named(part: Any, name: str) -> Any:
    return replace(part, name=name)


def test_every_list_of_the_project_has_a_kind_but_releases_and_presses() -> None:
    """Releases are only ever added to; presses are edited together, as the shop's rates are."""
    lists = [f.name for f in fields(Project) if f.type.startswith("tuple[") and "float" not in f.type]
    for name in ("releases", "presses"):
        lists.remove(name)
    assert [kind.field for kind in KINDS] == lists


@each_kind
def test_new_part_comes_last_and_is_found(kind: Kind[Any]) -> None:
    project = every_class()
    part = named(kind.of(project)[0], "  New one ")
    grown = add(project, kind, part)
    assert kind.names(grown) == (*kind.names(project), "New one")
    assert find(grown, kind, "New one") == named(part, "New one")
    assert problems(grown) == []


@each_kind
@pytest.mark.parametrize(
    ("name", "message"),
    [
        ("", "needs a name"),
        (" \t\n", "needs a name"),
        ("a\nb", "cannot be printed"),
        ("a\ud800", "cannot be printed"),
    ],
)
def test_name_that_is_no_name_is_refused(kind: Kind[Any], name: str, message: str) -> None:
    project = every_class()
    first = kind.of(project)[0]
    with pytest.raises(EditError, match=message):
        add(project, kind, named(first, name))
    with pytest.raises(EditError, match=message):
        renamed(project, kind, first.name, name)


@each_kind
def test_taken_name_is_refused(kind: Kind[Any]) -> None:
    project = every_class()
    first = kind.of(project)[0]
    with pytest.raises(EditError, match=f'already a {kind.word} called "{first.name}"; choose another name'):
        add(project, kind, named(first, f"{first.name} "))
    grown = add(project, kind, named(first, "Other"))
    with pytest.raises(EditError, match="already a"):
        renamed(grown, kind, "Other", first.name)


def test_names_are_unique_within_a_kind_only() -> None:
    project = add(every_class(), MATERIAL, Material("A18"))
    assert find(project, MATERIAL, "A18") == Material("A18")
    assert find(project, BLANK, "A18") == every_class().blanks[0]


def test_composed_and_loose_spelling_are_one_name() -> None:
    """Unicode Standard Annex 15: A + U+030A composes to U+00C5."""
    project = add(every_class(), MATERIAL, Material("A\u030a"))
    assert MATERIAL.names(project)[-1] == "\u00c5"
    with pytest.raises(EditError, match="already a material"):
        add(project, MATERIAL, Material("\u00c5"))


@each_kind
def test_copies_are_numbered_and_stand_behind_their_original(kind: Kind[Any]) -> None:
    project = add(every_class(), kind, named(kind.of(every_class())[0], "Track 20"))
    project = add(project, kind, named(kind.of(project)[0], "Last"))
    for expected in ("Track 20 copy", "Track 20 copy 2", "Track 20 copy 3"):
        project, name = duplicated(project, kind, "Track 20")
        assert name == expected
    project, name = duplicated(project, kind, "Track 20 copy 2")
    assert name == "Track 20 copy 4"
    assert kind.names(project)[-6:] == (
        "Track 20",
        "Track 20 copy 3",
        "Track 20 copy 2",
        "Track 20 copy 4",
        "Track 20 copy",
        "Last",
    )
    assert named(find(project, kind, "Track 20 copy 4"), "Track 20") == find(project, kind, "Track 20")
    assert problems(project) == []


def test_copy_has_notes_of_its_own() -> None:
    project, name = duplicated(every_class(), WHEEL, "Track 18")
    assert find(project, WHEEL, name).notes == find(project, WHEEL, "Track 18").notes != {}
    find(project, WHEEL, name).notes["more"] = 1
    assert "more" not in find(project, WHEEL, "Track 18").notes


@pytest.mark.parametrize(("wanted", "free"), [("Track 18", "Track 18 2"), ("Track 19", "Track 19"), ("", "")])
def test_free_name_takes_the_first_number_that_is_free(wanted: str, free: str) -> None:
    assert free_name(every_class(), WHEEL, wanted) == free


def test_renamed_parts_keep_their_users() -> None:
    project = every_class()
    changes: tuple[tuple[Kind[Any], str, str], ...] = (
        (BLANK, "A18", "A18 b"),
        (SHAPE, "Caliper 380", "Brake"),
        (RULE_SET, "starting, road", "own"),
        (MATERIAL, "6061-T6", "forged"),
        (WHEEL, "Track 18", "W-1"),
    )
    for kind, old, new in changes:
        project = renamed(project, kind, old, new)
    wheel = find(project, WHEEL, "W-1")
    assert (wheel.blank, wheel.clears, wheel.rules, wheel.material) == ("A18 b", ("Brake",), "own", "forged")
    assert find(project, FITMENT, "R-1").wheel == "W-1"
    assert problems(project) == []
    dumps(project)


def test_renaming_changes_one_of_several_names_in_their_order() -> None:
    project = every_class()
    for name in ("Hose", "Arm"):
        project = add(project, SHAPE, replace(project.shapes[0], name=name))
    wheel = replace(project.wheels[0], clears=("Hose", "Caliper 380", "Arm"))
    project = replaced(project, WHEEL, wheel.name, wheel)
    assert renamed(project, SHAPE, "Caliper 380", "Brake").wheels[0].clears == ("Hose", "Brake", "Arm")
    assert renamed(project, SHAPE, "Arm", "Lower arm").wheels[0].clears == (
        "Hose",
        "Caliper 380",
        "Lower arm",
    )


@each_kind
def test_renaming_there_and_back_and_to_itself_changes_nothing(kind: Kind[Any]) -> None:
    project = every_class()
    name = kind.names(project)[0]
    assert renamed(project, kind, name, name) == project
    assert renamed(project, kind, name, f" {name} ") == project
    assert renamed(renamed(project, kind, name, "Other"), kind, "Other", name) == project


def test_replaced_part_keeps_its_place_and_users_follow_its_new_name() -> None:
    project = every_class()
    blank = replace(find(project, BLANK, "A18"), name="B20", skin_mm=1.5)
    changed = replaced(project, BLANK, "A18", blank)
    assert changed.blanks == (blank, *project.blanks[1:])
    assert [wheel.blank for wheel in changed.wheels] == ["B20", "B20"]
    wheel: Wheel = replace(project.wheels[0], inset_mm=40.0)
    assert replaced(project, WHEEL, wheel.name, wheel).wheels == (wheel, project.wheels[1])


def test_part_in_use_is_not_deleted_and_its_users_are_named() -> None:
    project = every_class()
    with pytest.raises(EditError) as caught:
        deleted(project, BLANK, "A18")
    in_use = 'The blank "A18" is used by wheel "Track 18", wheel "Track 18 frei ±½"'
    assert str(caught.value) == f"{in_use}; choose another blank there first."
    with pytest.raises(EditError, match='used by test record "P-1", test record "P-2", fitment "R-1"'):
        deleted(project, WHEEL, "Track 18")
    assert users(project, FITMENT, "R-1") == ()


def test_everything_can_be_deleted_from_the_top_down() -> None:
    project = every_class()
    order: tuple[Kind[Any], ...] = (
        *(TRIAL_FIT, TEST_RECORD, FITMENT, WHEEL, BLANK, SHAPE, RULE_SET, CONDITIONS, MATERIAL),
    )
    for kind in order:
        for name in kind.names(project):
            project = deleted(project, kind, name)
            assert problems(project) == []
    assert all(kind.of(project) == () for kind in KINDS)
    with pytest.raises(EditError, match='no wheel called "Track 18"; there is none'):
        find(project, WHEEL, "Track 18")


@each_kind
def test_missing_part_is_named_with_those_there_are(kind: Kind[Any]) -> None:
    project = every_class()
    for edit in (find, deleted, duplicated):
        with pytest.raises(EditError) as caught:
            edit(project, kind, "Nobody")
        names = ", ".join(kind.names(project))
        assert str(caught.value) == f'There is no {kind.word} called "Nobody"; there are: {names}.'


@given(st.data())
def test_any_edits_leave_a_project_that_can_be_saved(data: st.DataObject) -> None:
    project = every_class()
    for _ in range(data.draw(st.integers(1, 8))):
        kind: Kind[Any] = data.draw(st.sampled_from(KINDS))
        names = kind.names(project)
        name = data.draw(st.sampled_from([*names, "none"]))
        new = data.draw(st.sampled_from(["A", "A copy", "\u00c5", " A ", "", "6061-T6"]))
        edit = data.draw(st.sampled_from(["add", "copy", "rename", "delete"]))
        before = project
        try:
            if edit == "add":
                project = add(project, kind, named(find(project, kind, name), new))
            elif edit == "copy":
                project, _ = duplicated(project, kind, name)
            elif edit == "rename":
                project = renamed(project, kind, name, new)
            else:
                project = deleted(project, kind, name)
        except EditError:
            assert project is before
        assert problems(project) == []


def test_every_reference_of_the_schema_is_known() -> None:
    """A field that holds names of parts, by the name of the field."""
    words = {
        "measured_least",
        "measured_greatest",
        "variant_of",
        "compromise_shape",
        "blank",
        "clears",
        "rules",
        "conditions",
        "material",
        "shape",
        "wheel",
        "reference",
        "made_from",
        "constraints",
    }
    held = {
        (kind.field, f.name) for kind in KINDS for f in fields(kind.of(every_class())[0]) if f.name in words
    } - {("blanks", "constraints")}  # which name no shape: see sense.py
    assert held == {(r.holder.field, r.field) for r in REFERENCES}
