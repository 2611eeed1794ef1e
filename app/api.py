"""What scripts use: open, edit, measure, save. `blankwright run SCRIPT.py` runs one.

Everything is a value that never changes: an edit returns another wheel or project, and nothing is written
before `save`. Lengths are mm, masses kg, angles deg; places are (z, r) in the hub's frame, z along the axle
and + outboard, z = 0 where the wheel bears. Fields of a wheel, shape or blank that have no function here are
changed with `dataclasses.replace`; what each means stands with its class.

A state says no more than `blankwright check` does: geometric and screening results only, and what is not
known is never clear.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from app import resources
from app.files import project_file
from app.files.atomic import SaveError
from app.files.kept import save_over
from app.files.project_file import ProjectFileError
from app.files.readers.answer import ReadError, above_axle
from app.files.readers.imported import at_first, stay_out
from app.files.readers.read import read_outline
from app.files.sense import nonsense
from app.language import LANGUAGES, speaking
from app.project import edits
from app.project.constraining import refuse_new, with_held
from app.project.edits import EditError
from app.project.holding import settled
from app.project.parameters import reckoned
from app.project.parameters import with_parameter as set_parameter
from app.project.project import Project
from app.project.wheel import Wheel
from app.project.wheel_edits import backspace_mm, with_diameter, with_inset, with_width
from app.reports import outputs
from app.studies.fit import measure_wheel
from app.studies.match import Match
from app.studies.match import match as _match
from app.studies.road import Road, on_the_road, whole_state
from app.units import UnitsError, parse_length_mm
from geometry.errors import GeometryError
from geometry.readings.measure import GapRow, Measurements
from geometry.readings.rules import State
from geometry.shape.held import Constraint, Drive, Driven, Hold, Parameter
from geometry.shape.outline import ShapeKind, StayOut

__all__ = [
    "ERRORS",
    "GapRow",
    "Match",
    "Project",
    "Readings",
    "State",
    "StayOut",
    "Wheel",
    "backspace_mm",
    "export",
    "length_mm",
    "match",
    "measure",
    "open_project",
    "open_sample",
    "parameters",
    "read_brake",
    "report",
    "save",
    "shape",
    "wheel",
    "with_constraint",
    "with_diameter",
    "with_inset",
    "with_parameter",
    "with_shape",
    "with_vertex",
    "with_wheel",
    "with_width",
]

#: What the functions here raise for bad input; the message says what, where, and how to mend it.
ERRORS = (ProjectFileError, SaveError, ReadError, EditError, UnitsError, GeometryError)


@dataclass(frozen=True)
class Readings:
    """Every reading of a wheel.

    Attributes:
        state: the strictest of paper, worst state and tyre, as `blankwright check` says it.
        paper: gaps, walls, stock, lip, hub, solid and blank, as drawn.
        road: what the worst state leaves; its `state` is 'not known' where the wheel names no conditions.
        questions: what keeps something from being judged, as sentences.
    """

    state: State
    paper: Measurements
    road: Road
    questions: tuple[str, ...]

    @property
    def mass_kg(self) -> float:
        """Mass of the wheel, spokes, holes and pockets counted."""
        return self.paper.solid.mass_kg

    @property
    def least_gap(self) -> GapRow | None:
        """The smallest gap as drawn, of all shapes and zones; None where the wheel must clear nothing."""
        return min(self.paper.gap, key=lambda row: row.least_mm, default=None)

    @property
    def least_spare(self) -> GapRow | None:
        """The gap with the least left over its rule, on paper; None where no gap has a rule."""
        ruled = [(row.spare_mm, k) for k, row in enumerate(self.paper.gap) if row.spare_mm is not None]
        return self.paper.gap[min(ruled)[1]] if ruled else None


# Open and save


def open_project(path: str | Path, ignore_digest: bool = False) -> Project:
    """Return what a project file holds.

    Raises:
        ProjectFileError: it cannot be read, or was edited outside and `ignore_digest` is False.
    """
    return project_file.load(Path(path), ignore_digest=ignore_digest)


def open_sample(name: str) -> Project:
    """Return the sample project of a name without suffix, such as '1-track-18-own-blank'.

    Raises:
        ProjectFileError: there is none; the message lists those there are.
    """
    known = {path.stem: path for path in resources.samples()}
    if name not in known:
        raise ProjectFileError(f"there is no sample '{name}'; there are {', '.join(known)}")
    return project_file.load(known[name])


def save(project: Project, path: str | Path) -> None:
    """Write a project file, whole or not at all; a file that is there is replaced.

    One of an older format goes among the earlier states of the file first.

    Raises:
        SaveError: it cannot be written; what was there is as it was.
        ProjectFileError: the project holds what no file can, such as a number that is not finite.
    """
    save_over(project, Path(path))


# Parts


def wheel(project: Project, name: str) -> Wheel:
    """Return a wheel by its name.

    Raises:
        EditError: there is none; the message lists the names there are.
    """
    return edits.find(project, edits.WHEEL, name)


def shape(project: Project, name: str) -> StayOut:
    """Return a stay-out shape by its name.

    Raises:
        EditError: there is none; the message lists the names there are.
    """
    return edits.find(project, edits.SHAPE, name)


def with_wheel(project: Project, changed: Wheel) -> Project:
    """Return the project with a wheel in place of the one of its name, or added where there is none."""
    if changed.name in edits.WHEEL.names(project):
        return edits.replaced(project, edits.WHEEL, changed.name, changed)
    return edits.add(project, edits.WHEEL, changed)


def with_shape(project: Project, changed: StayOut) -> Project:
    """Return the project with a stay-out shape in place of the one of its name, or added.

    A wheel is held against it once its `clears` names it.
    """
    if changed.name in edits.SHAPE.names(project):
        return edits.replaced(project, edits.SHAPE, changed.name, changed)
    return edits.add(project, edits.SHAPE, changed)


def with_vertex(
    of: Wheel, number: int, *, z: float | None = None, r: float | None = None, radius: float | None = None
) -> Wheel:
    """Return the wheel with one vertex elsewhere.

    Args:
        of: the wheel; its own frame has the mounting face at z = 0.
        number: of the vertex, from 1, as the window's table counts.
        z: mm; None leaves it, as with the others.
        r: mm.
        radius: of its corner, mm.

    Raises:
        EditError: there is no such vertex, or it belongs to the locked rim contour.
    """
    locked, total = of.section.locked, len(of.section.vertices)
    if not 1 <= number <= total:
        raise EditError(f"{of.name} has no vertex {number}; they are numbered from 1 to {total}")
    if number <= locked:
        raise EditError(f"vertex {number} of {of.name} belongs to the locked rim contour; unlock it first")
    k = number - 1 - locked
    old = of.vertices[k]
    new = replace(
        old,
        z=old.z if z is None else z,
        r=old.r if r is None else r,
        radius=old.radius if radius is None else radius,
    )
    return replace(of, vertices=(*of.vertices[:k], new, *of.vertices[k + 1 :]))


def parameters(of: Wheel) -> dict[str, float]:
    """Return what the wheel's parameters give, by their names: mm, degrees, or plain numbers.

    Raises:
        EditError: one has no value; the message says which and why.
    """
    _, errors = settled(of)
    if errors:
        k, reason = min(errors.items())
        raise EditError(f"parameter {of.parameters[k].name or k + 1} of {of.name}: {reason}")
    rows = reckoned(of.parameters)
    return {p.name: row.value for p, row in zip(of.parameters, rows, strict=True) if row.value is not None}


def with_parameter(
    of: Wheel,
    name: str,
    formula: str,
    *,
    unit: str | None = None,
    note: str | None = None,
    drives: Sequence[tuple[str | int, ...]] | None = None,
) -> Wheel:
    """Return the wheel with a parameter set, or added, and all that formulas drive in its new place.

    Args:
        of: the wheel.
        name: of the parameter: letters, digits and _.
        formula: as typed in the window: '2 * lip + 1/2 in'.
        unit: 'mm', 'in', 'deg' or '' for a plain number; None leaves it, mm for a new one.
        note: None leaves it, as with `drives`.
        drives: each what and its vertices, from 1 as the window's table counts: ('z', 40), ('r', 40),
            ('corner radius', 40), ('wall', 31, 40), ('wall', 31, 40, 41), ('inset',).

    Raises:
        EditError: a formula has no value, or cannot drive what it is to drive; says which, why and where.
    """
    old = next((p for p in of.parameters if p.name == name), Parameter(name, ""))
    made = replace(
        old,
        formula=formula,
        unit=old.unit if unit is None else unit,
        note=old.note if note is None else note,
        drives=old.drives if drives is None else tuple(_drive(words) for words in drives),
    )
    changed = replace(of, parameters=set_parameter(of.parameters, made))
    parameters(changed)
    found, _ = settled(changed)
    assert isinstance(found, Wheel)
    return found


def with_constraint(
    project: Project,
    of: Wheel,
    kind: Hold | str,
    vertices: Sequence[int],
    value: float | None = None,
    *,
    shape: str | None = None,
) -> Wheel:
    """Return the wheel with a constraint added, moved as little as holds it and all others.

    Args:
        project: which has the shapes that constraints keep clear of.
        of: the wheel; it need not stand in the project.
        kind: 'radius', 'tangent', 'along the axle', 'square to the axle', 'angle', 'distance', 'distance
            along z', 'distance along r', 'equal wall', 'clear of'.
        vertices: what it is held at, from 1 as the window's table counts; what each kind names stands with
            `geometry.shape.held.Constraint`.
        value: mm or deg, where the kind holds a number.
        shape: name of the shape that is kept clear of, for 'clear of' alone.

    Raises:
        EditError: it cannot be held beside the others, or says nothing new; says which ones.
    """
    known = [hold.value for hold in Hold]
    if kind not in known:
        raise EditError(f"{str(kind)!r} is no constraint: name one of {', '.join(known)}")
    asked = Constraint(Hold(kind), tuple(int(n) for n in vertices), value, shape)
    wrong = [f"{field} {words}" for field, words in nonsense(asked)]
    if shape is not None and shape not in (s.name for s in project.shapes):
        wrong.append(f"there is no shape called '{shape}'")
    if wrong:
        raise EditError(f"{asked.kind}: {'; '.join(wrong)}")
    refuse_new(project, of, asked)
    found = with_held(project, None, replace(of, constraints=(*of.constraints, asked)))
    assert isinstance(found, Wheel)
    return found


def _drive(words: tuple[str | int, ...]) -> Drive:
    what, *numbers = words
    known = [d.value for d in Driven]
    if what not in known or not all(isinstance(n, int) and n > 0 for n in numbers):
        raise EditError(f"{words!r} drives nothing: name one of {', '.join(known)}, then vertices from 1")
    return Drive(Driven(what), tuple(int(n) for n in numbers))


def read_brake(
    path: str | Path, name: str, *, unit: str | None = None, kind: ShapeKind | str = ShapeKind.CALIPER
) -> StayOut:
    """Return the stay-out shape that an arriving file holds, as `blankwright outline` reads it.

    Its source card is open: gaps to it read 'not known' until its questions are answered.

    Args:
        path: a drawing, body, scan or table.
        name: of the shape.
        unit: 'mm', 'in', ... where the file states none or a wrong one.
        kind: of the shape, in words.

    Raises:
        ReadError: the file gives nothing, or its outline cannot be used yet.
    """
    found = read_outline(Path(path), unit=unit, side="outward")
    loops = found.usable_loops_mm()
    chosen = above_axle(tuple(loops[k] for k in at_first(found)), found.file_name)
    by = "the script, which gave it" if unit is not None else ""
    return stay_out(found, chosen, name, ShapeKind(kind), unit_by=by)


def length_mm(text: str) -> float:
    """Return a length as people type it, in mm: '12.7 + 3', '5 1/2 in', '12,5'.

    Raises:
        UnitsError: it cannot be read; the message says where.
    """
    return parse_length_mm(text)


# Measure


def measure(project: Project, name: str) -> Readings:
    """Return every reading of a wheel of the project.

    Raises:
        EditError: there is no such wheel.
        GeometryError: its outline, a shape or its blank has a fault, so that nothing can be read.
    """
    of = wheel(project, name)
    measured = measure_wheel(project, of)
    road = on_the_road(project, of, measured)
    if measured.measurements is None or road is None:
        fault = measured.faults[0]
        raise GeometryError(f"{name} has no readings: {fault.message}", fault.place)
    asked = (*measured.measurements.questions, *road.questions)
    return Readings(whole_state(measured, road), measured.measurements, road, asked)


def match(project: Project, wheels: Sequence[str] | None = None, insets: bool = False) -> Match:
    """Return wheels held against every brake of the project, all wheels where None.

    With `insets` the window of inset that clears is looked for too, which takes longer.
    """
    return _match(project, wheels, None, insets=insets)


# What others get


def export(project: Project, name: str, path: str | Path) -> None:
    """Write a wheel's exact section for others, as .dxf or .csv.

    Raises:
        GeometryError: the kind of file is not known, or the section has faults.
        SaveError: the file could not be written.
    """
    outputs.export_section(project, wheel(project, name), Path(path))


def report(project: Project, name: str, path: str | Path, language: str = "en") -> str:
    """Write the section report, internal, as a PDF; return why it is stamped 'not for release', or ''.

    Args:
        project: which has the wheel.
        name: of the wheel.
        path: of the PDF; a file that is there is replaced.
        language: of the pages, 'en' or 'de'; what is returned is English in each.

    Raises:
        EditError: there is no such wheel, or no such language; the message lists those there are.
        SaveError: the file could not be written.
    """
    if language not in LANGUAGES:
        raise EditError(f"there is no language '{language}': name one of {', '.join(LANGUAGES)}")
    with speaking(language):
        return outputs.write_report(project, wheel(project, name), Path(path))
