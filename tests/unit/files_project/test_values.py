"""Values that no project may hold: names, references, numbers below zero or out of reach."""

import re
from dataclasses import replace
from typing import Any

import pytest

from app.files.project_file import ProjectFileError, dumps, loads
from app.files.schema import NOT_NEGATIVE, problems
from app.files.sense import LARGEST_INCLUDED_MM
from app.project.edits import KINDS, Kind
from app.project.project import Material, Project
from app.project.wheel import Fixing, Hub, RingBody, SingleNut, SizeCode, Spokes
from geometry.errors import GeometryError
from geometry.shape.outline import Extent, SourceCard
from geometry.shape.rim import RimContour, contour_vertices
from geometry.shape.section import Section, Vertex
from tests.support.whole_projects import changed, compact, every_class

WHEEL, SHAPE = compact().wheels[0], compact().shapes[0]


def with_wheel(**changes: object) -> Project:
    return replace(compact(), wheels=(replace(WHEEL, **changes),))  # type: ignore[arg-type]


def with_shape(**changes: object) -> Project:
    return replace(compact(), shapes=(replace(SHAPE, **changes),))  # type: ignore[arg-type]


def with_spokes(**changes: object) -> Project:
    spokes = Spokes(5, ((75.0, 60.0), (200.0, 40.0)), 75.0, (0.0, 200.0), (50.0, 200.0))
    return with_wheel(spokes=replace(spokes, **changes))  # type: ignore[arg-type]


def with_ring(**changes: object) -> Project:
    return with_wheel(rings=(replace(RingBody("band", -40.0, -20.0, 216.0, 220.0), **changes),))  # type: ignore[arg-type]


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
        (
            {"size": SizeCode(18.0, 99.0), "rim": RimContour(18.0, 99.0)},
            "wheels[0].rim: Rim contour: width code 99 is outside",
        ),
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


SENSELESS = {
    "weightless material": (
        replace(compact(), materials=(Material("6061-T6", 0.0),)),
        "materials[0].density_kg_m3 is 0; it must be above zero",
    ),
    "shape of nothing": (
        with_shape(outlines=()),
        "shapes[0].outlines is empty; a stay-out shape has at least one outline",
    ),
    "more gap than an outline holds": (
        with_shape(card=SourceCard(included_gap_mm=20.5)),
        "shapes[0].card.included_gap_mm is 20.5; no outline holds more than 20",
    ),
    "extent from above to below": (
        with_shape(extent=Extent(z_low=10.0, z_high=-74.0)),
        "shapes[0].extent.z_high is -74, not above z_low 10; exchange them",
    ),
    "extent of no length": (
        with_shape(extent=Extent(z_low=10.0, z_high=10.0)),
        "shapes[0].extent.z_high is 10, not above z_low 10; exchange them",
    ),
    "cuts that leave nothing": (
        with_shape(extent=Extent(cut_r_low=140.0, cut_r_high=60.0)),
        "shapes[0].extent.cut_r_high is 60, not above cut_r_low 140; exchange them",
    ),
    "ring of no length": (
        with_ring(z_high=-40.0),
        "wheels[0].rings[0].z_high is -40, not above z_low -40; give the ring body a size",
    ),
    "ring of no height": (
        with_ring(r_high=215.0),
        "wheels[0].rings[0].r_high is 215, not above r_low 216; give the ring body a size",
    ),
    "spokes without a width": (
        with_spokes(widths=()),
        "wheels[0].spokes.widths is empty; name at least one radius and width",
    ),
    "widths out of order": (
        with_spokes(widths=((200.0, 40.0), (75.0, 60.0))),
        "wheels[0].spokes.widths do not rise in r; put them in order",
    ),
    "negative width": (
        with_spokes(widths=((75.0, -60.0),)),
        "wheels[0].spokes.widths hold a negative number; radius and width are zero or more",
    ),
    "size against the contour, by diameter": (
        with_wheel(rim=RimContour(17.0, 10.0)),
        "wheels[0].size is 18 x 10 J, but the locked contour is 17 x 10; make them agree",
    ),
    "size against the contour, by width": (
        with_wheel(rim=RimContour(18.0, 8.5)),
        "wheels[0].size is 18 x 10 J, but the locked contour is 18 x 8.5; make them agree",
    ),
}


@pytest.mark.parametrize(("project", "message"), SENSELESS.values(), ids=SENSELESS)
def test_what_makes_no_sense_is_refused_with_its_path(project: Project, message: str) -> None:
    assert problems(project) == [message]
    with pytest.raises(ProjectFileError, match=re.escape(message)):
        dumps(project)


@pytest.mark.parametrize(
    "project",
    [
        replace(compact(), materials=(Material("6061-T6", 5e-324),)),
        with_shape(card=SourceCard(included_gap_mm=LARGEST_INCLUDED_MM)),
        with_shape(extent=Extent(z_low=10.0, z_high=10.5, cut_r_low=60.0, cut_r_high=60.5)),
        with_shape(extent=Extent(z_low=900.0, cut_r_high=0.0)),
        with_ring(z_high=-39.99, r_high=216.01),
        with_spokes(widths=((75.0, 60.0), (75.0, 40.0), (90.0, 0.0))),  # a step, and a spoke that ends
        with_spokes(count=0, widths=()),  # a full disc
        with_wheel(rim=None, size=SizeCode(19.0, 7.0)),  # no contour to agree with
    ],
)
def test_what_is_only_just_sensible_is_kept(project: Project) -> None:
    assert problems(project) == []


def test_file_with_a_size_that_is_not_its_contour_is_refused_on_opening() -> None:
    data = dumps(with_wheel(rim=RimContour(18.0, 10.0)))
    lines = data.split(b"\n")
    at = next(i for i, line in enumerate(lines) if b'"size"' in line)
    was = b"\n".join(lines[at : at + 4]).decode()
    assert was.count("10.0") == 1
    message = "wheels[0].size is 18 x 8.5 J, but the locked contour is 18 x 10; make them agree"
    with pytest.raises(ProjectFileError, match=re.escape(message)):
        loads(changed(was, was.replace("10.0", "8.5"), data))


NUT = SingleNut(60.0, 84.0, 12.0, 6, 104.0, 14.0)


def _with_field(part: Any, name: str) -> Any:
    return replace(part, **{name: -1})


@pytest.mark.parametrize(
    ("part", "field"),
    [
        *((_with_field(Hub(), name), name) for name in NOT_NEGATIVE[Hub]),
        *((_with_field(Fixing(), name), name) for name in NOT_NEGATIVE[Fixing]),
        *((_with_field(NUT, name), name) for name in NOT_NEGATIVE[SingleNut]),
    ],
    ids=str,
)
def test_negative_size_of_hub_or_fixing_is_refused_with_its_path(part: object, field: str) -> None:
    where = "hub" if isinstance(part, Hub) else "fixing"
    message = f"wheels[0].{where}.{field} is -1; it must be zero or more"
    assert problems(with_wheel(**{where: part})) == [message]
