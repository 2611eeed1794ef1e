"""`blankwright wheel`: a foreign half-section becomes a wheel, with a list of what needs a look."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from app.cli.terminal import printed
from app.files.kept import save_over
from app.files.project_file import load
from app.files.readers.answer import JOIN_MM
from app.files.readers.read import read_outline
from app.project import edits
from app.project.demo import material_6061
from app.project.project import Project
from app.project.wheel import SizeCode
from app.studies.wheel_reader import Proposal, propose


@dataclass(frozen=True)
class Options:
    """How a drawing is read.

    Attributes:
        unit: "mm" or "in" where the drawing states none.
        layers: read only these; empty for all that are visible.
        face_z: z of the mounting face in the drawing, mm; None looks for it.
        body: which of several closed outlines, counted from 1.
        join_mm: gaps up to this are joined.
        name: of the wheel; None takes the file's name.
    """

    unit: str | None = None
    layers: tuple[str, ...] = ()
    face_z: float | None = None
    body: int | None = None
    join_mm: float = JOIN_MM
    name: str | None = None


@dataclass(frozen=True)
class Taken:
    """One wheel taken over.

    Attributes:
        file_name: of the drawing.
        wheel: name and size of the wheel, in words.
        parts: what was recognised, one line each.
        missing: parts that were not recognised.
        looks: what does not agree or breaks a limit, one sentence each.
    """

    file_name: str
    wheel: str
    parts: tuple[str, ...]
    missing: tuple[str, ...]
    looks: tuple[str, ...]

    def text(self, out: Path) -> str:
        """Return what is printed about it."""
        looks = (f"look at: {sentence}" for sentence in self.looks)
        below = (f"  {words}" for words in (*self.parts, *looks))
        return printed([f"{self.file_name}: {self.wheel}, added to {out}", *below])


def take_over(drawing: Path, size: SizeCode, inset_mm: float, out: Path, how: Options) -> str:
    """Add the wheel that a drawing shows to a project file, made if it is not there; return what was found.

    Raises:
        ReadError: the drawing cannot be read, or its unit is neither stated nor given.
        GeometryError: the drawing shows no wheel of this size.
        ProjectFileError: the project cannot be read or written.
    """
    project, taken = add_wheel(load_or_new(out), drawing, size, inset_mm, how)
    save_over(project, out)
    return taken.text(out)


def load_or_new(out: Path) -> Project:
    """Return the project in a file, or a new one named after it."""
    return load(out) if out.exists() else Project(name=out.stem, materials=(material_6061(),))


def add_wheel(
    project: Project, drawing: Path, size: SizeCode, inset_mm: float, how: Options
) -> tuple[Project, Taken]:
    """Return the project with the wheel that a drawing shows, and what was found.

    Raises:
        ReadError: the drawing cannot be read, or its unit is neither stated nor given.
        GeometryError: the drawing shows no wheel of this size.
    """
    loops = read_outline(drawing, unit=how.unit, layers=tuple(how.layers), join_mm=how.join_mm).loops_mm()
    proposal = propose(loops, size, inset_mm, face_z=how.face_z, body=how.body)
    wheel = proposal.wheel(edits.free_name(project, edits.WHEEL, how.name or drawing.stem))
    if not any(m.name == wheel.material for m in project.materials):
        project = edits.add(project, edits.MATERIAL, material_6061())
    looks = (*proposal.disagreements, *(str(limit) for limit in proposal.limits))
    missing = tuple(part.part for part in proposal.recognised if part.found is None)
    taken = Taken(drawing.name, f"wheel '{wheel.name}', {size}", _parts(proposal), missing, looks)
    return edits.add(project, edits.WHEEL, wheel), taken


def _parts(proposal: Proposal) -> tuple[str, ...]:
    lines = []
    for part in proposal.recognised:
        if part.found is None or part.deviation is None:
            lines.append(f"{part.part}: not recognised; the standard has {part.expected:.2f} {part.unit}")
        else:
            lines.append(
                f"{part.part}: {part.found:.2f} {part.unit}, standard {part.expected:.2f} "
                f"({part.deviation:+.2f}; {part.basis})"
            )
    return tuple(lines)
