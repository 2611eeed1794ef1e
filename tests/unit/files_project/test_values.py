"""Values that no project may hold: names, references, numbers below zero or out of reach."""

import re
from dataclasses import replace
from typing import Any

import pytest

from app.files.project_file import ProjectFileError, dumps, loads
from app.files.schema import problems
from app.project.edits import KINDS, Kind
from app.project.project import Project
from geometry.errors import GeometryError
from geometry.shape.rim import RimContour, contour_vertices
from geometry.shape.section import Section, Vertex
from tests.support.projects import changed, compact, every_class

WHEEL = compact().wheels[0]


def with_wheel(**changes: object) -> Project:
    return replace(compact(), wheels=(replace(WHEEL, **changes),))  # type: ignore[arg-type]


def test_valid_projects_have_no_problem() -> None:
    assert problems(compact()) == []
    assert problems(every_class()) == []


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: str(kind.field))
def test_doubled_and_empty_names_are_refused_in_every_list(kind: Kind[Any]) -> None:
    project, field = every_class(), kind.field
    parts = kind.of(project)
    more: dict[str, Any] = {field: (*parts, parts[0])}
    twice = replace(project, **more)
    last = len(parts)
    assert problems(twice) == [
        f'{field}[{last}].name "{parts[0].name}" is already the name of {field}[0]; rename one of them'
    ]
    more = {field: (*parts, replace(parts[0], name=" \t"))}
    nameless = replace(project, **more)
    assert [p for p in problems(nameless) if p.startswith(f"{field}[{last}].name is empty; give the ")]


def test_names_that_differ_only_in_composition_are_the_same_name() -> None:
    """Unicode Standard Annex 15: A + U+030A composes to U+00C5."""
    other = replace(WHEEL, name="Disc A\u030a")
    project = replace(compact(), wheels=(replace(WHEEL, name="Disc \u00c5"), other))
    with pytest.raises(ProjectFileError, match=r"wheels\[1\]\.name .* is already the name of wheels\[0\]"):
        dumps(project)


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"blank": "B-9"}, 'wheels[0].blank names the blank "B-9", which the project lacks'),
        ({"clears": ("Block", "Hose")}, 'wheels[0].clears names the shape "Hose", which the project lacks'),
        ({"rules": "own"}, 'wheels[0].rules names the rule set "own", which the project lacks'),
        ({"material": "steel"}, 'wheels[0].material names the material "steel", which the project lacks'),
        ({"spacer_mm": -5.0}, "wheels[0].spacer_mm is -5; it must be zero or more"),
        ({"inset_mm": 1e5}, "wheels[0].inset_mm is 100000; it must lie within 10000 mm (check the unit)"),
        ({"vertices": (Vertex(0.0, -2.0),)}, "wheels[0].vertices[0].r is -2; it must be zero or more"),
        (
            {"vertices": (Vertex(0.0, 2.0, -1.0),)},
            "wheels[0].vertices[0].radius is -1; it must be zero or more",
        ),
        ({"vertices": (Vertex(0.0, 2e4),)}, "wheels[0].vertices[0].r is 20000; it must lie within 10000 mm"),
        ({"rim": RimContour(18.0, 99.0)}, "wheels[0].rim: Rim contour: width code 99 is outside"),
        ({"rim": RimContour(18.0, 10.0, heel_radius_mm=1e308)}, "wheels[0].rim: "),
    ],
)
def test_wrong_value_of_a_wheel_is_refused_with_its_path(changes: dict[str, object], message: str) -> None:
    with pytest.raises(ProjectFileError, match=re.escape(message)) as caught:
        dumps(with_wheel(**changes))
    assert caught.value.errors


def test_fitment_names_only_parts_of_the_project() -> None:
    project = every_class()
    lost = replace(project, fitments=(replace(project.fitments[0], wheel="W", shape="S", rules="R"),))
    assert [p.split(" names")[0] for p in problems(lost)] == [
        "fitments[0].shape",
        "fitments[0].rules",
        "fitments[0].wheel",
    ]


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('"display_unit": "mm"', '"display_unit": "cm"', 'display_unit is "cm"; it must be one of mm, in'),
        ('"paper": "A4"', '"paper": "A5"', 'paper is "A5"; it must be one of A4, Letter'),
        ('"r": 140.0', '"r": -140.0', "shapes[0].outlines[0].corners[2].r is -140; it must be zero or more"),
        ('"error_mm": 0.0', '"error_mm": -3.0', "shapes[0].card.error_mm is -3; it must be zero or more"),
    ],
)
def test_wrong_value_in_a_file_is_refused_with_its_path(old: str, new: str, message: str) -> None:
    with pytest.raises(ProjectFileError, match=re.escape(message)):
        loads(changed(old, new))


@pytest.mark.parametrize(
    "vertex",
    [Vertex(0.0, -1e-9), Vertex(0.0, 1.0, -1e-9), Vertex(10_001.0, 1.0), Vertex(0.0, 10_001.0)],
)
def test_what_a_section_refuses_the_file_refuses_too(vertex: Vertex) -> None:
    with pytest.raises(GeometryError):
        Section((vertex,))
    assert problems(with_wheel(vertices=(vertex,)))


def test_rim_that_the_contour_refuses_is_never_opened() -> None:
    narrow = RimContour(18.0, 10.0, well_depth_mm=0.5)
    with pytest.raises(GeometryError) as refused:
        contour_vertices(narrow)
    assert problems(with_wheel(rim=narrow)) == [f"wheels[0].rim: {str(refused.value).removesuffix('.')}"]
