"""A project survives its file: equal value, same bytes, and the layout that DEVELOPERS.md promises."""

import hashlib
import json
import unicodedata
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings

from app.files import project_file
from app.files.migrations import FORMAT
from app.files.project_file import ProjectFileError, dumps, load, loads, save
from app.project.project import Material, Project
from app.project.wheel import SizeCode, Spokes, Wheel
from geometry.shape.section import Vertex
from tests.support.examples import OF_PROJECTS, share
from tests.support.projects import projects
from tests.support.whole_projects import compact, every_class


@settings(max_examples=share(OF_PROJECTS))
@given(projects())
def test_any_project_comes_back_equal_and_with_the_same_bytes(project: Project) -> None:
    data = dumps(project)
    again = loads(data)
    assert again == project
    assert dumps(again) == data


def test_every_class_of_the_schema_comes_back_with_its_own_type() -> None:
    again = loads(dumps(every_class()))
    assert again == every_class()
    assert [type(wheel.fixing).__name__ for wheel in again.wheels] == ["Fixing", "SingleNut"]
    assert isinstance(again.wheels[0].vertices, tuple)
    assert isinstance(again.wheels[0].spokes and again.wheels[0].spokes.widths[0], tuple)


def test_first_line_holds_the_sha256_of_all_bytes_after_it() -> None:
    first, rest = dumps(compact()).split(b"\n", 1)
    assert first == b'{"sha256": "%s",' % hashlib.sha256(rest).hexdigest().encode()


def test_whole_file_is_one_json_object_by_the_standard_library_too() -> None:
    """RFC 8259 text, read by a reader that is not ours."""
    tree = json.loads(dumps(compact()))
    assert list(tree)[:3] == ["sha256", "format", "name"]
    assert tree["format"] == FORMAT
    assert tree["wheels"][0]["vertices"][1]["z"] == 20.0
    assert list(tree["wheels"][0]["vertices"][0]) == [
        "z",
        "r",
        "radius",
        "bulge",
        "zone",
        "anchor_z",
        "anchor_r",
    ]


def test_rows_stand_one_to_a_line() -> None:
    lines = dumps(every_class()).decode().splitlines()
    assert sum(line.startswith('    {"z":') for line in lines) == 2 * 3 + 3 * 3  # two wheels, three blanks
    assert (
        sum(line.startswith('      {"z":') for line in lines) == 3
    )  # the shape's corners lie one level deeper
    assert sum(line.startswith('    {"paper_mm":') for line in lines) == 2
    assert "     [72.0, 90.0]," in lines


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.1, "0.1"),
        (-0.0, "0.0"),
        (5e-324, "5e-324"),
        (1.7976931348623157e308, "1.7976931348623157e308"),
        (1 / 3, "0.3333333333333333"),
        (38, "38.0"),
        (np.float64(2.5), "2.5"),
    ],
)
def test_numbers_are_the_shortest_that_read_back(value: float, text: str) -> None:
    """IEEE 754 limits: 5e-324 is the least, 1.7976931348623157e308 the greatest double."""
    wheel = replace(compact().wheels[0], load_kg=value if value > 0 else None, inset_mm=0.0)
    if value > 0:
        assert f'"load_kg": {text},' in dumps(replace(compact(), wheels=(wheel,))).decode()
    else:
        assert (
            f'"inset_mm": {text},'
            in dumps(replace(compact(), wheels=(replace(wheel, inset_mm=value),))).decode()
        )


def test_equal_projects_give_the_same_bytes_whatever_their_numbers_are_made_of() -> None:
    def project(inset: float, z: float) -> Project:
        wheel = Wheel("A", SizeCode(18, 10), inset, (Vertex(z, 1),))
        return Project("P", wheels=(wheel,), materials=(Material("6061-T6"),))

    assert project(38, -0.0) == project(38.0, 0)
    assert dumps(project(38, -0.0)) == dumps(project(38.0, 0))


def test_no_zero_is_written_with_a_sign() -> None:
    spokes = Spokes(5, ((72.0, -0.0),), -0.0, (-0.0, 1.0), (1.0, -0.0))
    wheel = replace(compact().wheels[0], spokes=spokes, notes={"a": [-0.0, {"b": -0.0}]})
    assert b"-0.0" not in dumps(replace(compact(), wheels=(wheel,)))


def test_names_are_composed_and_notes_are_not() -> None:
    """Unicode Standard Annex 15: e + U+0301 composes to U+00E9 in NFC."""
    loose = "Re\u0301sume\u0301"
    data = dumps(Project(loose, materials=(Material(loose),), notes={loose: loose}))
    again = loads(data)
    assert again.name == again.materials[0].name == unicodedata.normalize("NFC", loose) == "R\u00e9sum\u00e9"
    assert again.notes == {loose: loose}


def test_notes_keep_order_and_types_on_every_part_that_has_them() -> None:
    notes: dict[str, object] = {"z": [1, 1.0, None, {"deep": [True, "x"]}], "a": {"": 2**63 - 1}}
    project = every_class()
    project = replace(
        project,
        notes=notes,
        wheels=tuple(replace(w, notes=notes) for w in project.wheels),
        blanks=tuple(replace(b, notes=notes) for b in project.blanks),
        shapes=tuple(replace(s, notes=notes) for s in project.shapes),
        fitments=tuple(replace(f, notes=notes) for f in project.fitments),
    )
    again = loads(dumps(project))
    parts: list[Any] = [again, *again.wheels, *again.blanks, *again.shapes, *again.fitments]
    assert [json.dumps(part.notes) for part in parts] == [json.dumps(notes)] * 8


def test_crossing_outline_is_a_valid_project() -> None:
    bow = tuple(Vertex(z, r) for z, r in ((0.0, 10.0), (10.0, 20.0), (10.0, 10.0), (0.0, 20.0)))
    crossed = replace(compact(), wheels=(replace(compact().wheels[0], vertices=bow),))
    assert loads(dumps(crossed)) == crossed


def test_saved_file_opens(tmp_path: Path) -> None:
    path = tmp_path / "wheels.blankwright"
    save(every_class(), path)
    assert load(path) == every_class()
    assert path.read_bytes() == dumps(every_class())


def test_failed_save_says_why_and_leaves_the_old_file(tmp_path: Path) -> None:
    path = tmp_path / "wheels.blankwright"
    save(compact(), path)
    old = path.read_bytes()
    broken = replace(compact(), wheels=(replace(compact().wheels[0], inset_mm=float("nan")),))
    with pytest.raises(ProjectFileError, match=r"wheels\[0\]\.inset_mm is nan; give it a finite number"):
        save(broken, path)
    with pytest.raises(ProjectFileError, match="it is a folder"):
        save(compact(), tmp_path)
    assert path.read_bytes() == old


@pytest.mark.parametrize("value", [float("nan"), float("inf"), float("-inf")])
def test_number_that_is_not_finite_is_named_with_its_path_before_saving(value: float) -> None:
    wheel = compact().wheels[0]
    vertices = (*wheel.vertices[:2], replace(wheel.vertices[2], bulge=value))
    project = replace(compact(), wheels=(replace(wheel, vertices=vertices),))
    with pytest.raises(ProjectFileError, match=rf"wheels\[0\]\.vertices\[2\]\.bulge is {value};"):
        dumps(project)
    with pytest.raises(ProjectFileError, match=r"notes\.a\[1\] is"):
        dumps(replace(compact(), notes={"a": [0, value]}))


@pytest.mark.parametrize(
    ("notes", "message"),
    [
        ({"a": {1, 2}}, r"notes\.a is a set, which a project file cannot hold"),
        ({"a": (1, 2)}, r"notes\.a is a tuple, which a project file cannot hold"),
        ({"a": 2**63}, r"notes\.a is a whole number beyond 64 bits"),
        ({1: "a"}, r"notes\.1: a key must be text"),
        ({"a": "\ud800"}, r"notes\.a holds half a character"),
        ({"\udfff": 1}, r"holds half a character"),
    ],
)
def test_notes_that_would_not_come_back_the_same_are_refused(notes: dict[str, object], message: str) -> None:
    with pytest.raises(ProjectFileError, match=message):
        dumps(replace(compact(), notes=notes))


def test_lone_surrogate_in_a_name_is_refused_with_its_path() -> None:
    with pytest.raises(ProjectFileError, match=r"wheels\[0\]\.tyre holds half a character"):
        dumps(replace(compact(), wheels=(replace(compact().wheels[0], tyre="\udc80"),)))


def test_wrong_type_held_in_memory_is_refused_before_saving() -> None:
    wrong = replace(compact(), revision=3)  # type: ignore[arg-type]
    with pytest.raises(ProjectFileError, match="revision is 3; it must be text"):
        dumps(wrong)


def test_nesting_is_read_and_written_up_to_32_levels() -> None:
    deep: object = 1
    for _ in range(30):  # project and notes are two levels more
        deep = [deep]
    fits = replace(compact(), notes={"deep": deep})
    assert loads(dumps(fits)) == fits
    with pytest.raises(ProjectFileError, match="deeper than 32 levels"):
        dumps(replace(compact(), notes={"deep": [deep]}))


def test_what_is_too_large_to_open_is_not_written(monkeypatch: pytest.MonkeyPatch) -> None:
    data = dumps(compact())
    monkeypatch.setattr(project_file, "LARGEST_BYTES", len(data))
    assert loads(data) == loads(dumps(compact())) == compact()
    monkeypatch.setattr(project_file, "LARGEST_BYTES", len(data) - 1)
    with pytest.raises(ProjectFileError, match="larger than"):
        dumps(compact())
    with pytest.raises(ProjectFileError, match="larger than"):
        loads(data)


def test_missing_file_and_folder_are_one_clear_line(tmp_path: Path) -> None:
    with pytest.raises(ProjectFileError, match=r"none\.blankwright: there is no such file"):
        load(tmp_path / "none.blankwright")
    with pytest.raises(ProjectFileError, match="this is a folder"):
        load(tmp_path)
    with pytest.raises(ProjectFileError, match="cannot be read"):
        load(tmp_path / ("x" * 300))
