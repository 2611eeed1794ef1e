"""`blankwright wheel`: a foreign half-section becomes a wheel, with a list of what needs a look."""

from __future__ import annotations

from pathlib import Path

from app.files.project_file import load, save
from app.files.readers.answer import JOIN_MM
from app.files.readers.read import read_outline
from app.project import edits
from app.project.demo import material_6061
from app.project.project import Project
from app.project.size_text import parse_size
from app.studies.wheel_reader import Proposal, propose


def take_over(
    drawing: Path,
    size_text: str,
    inset_mm: float,
    out: Path,
    *,
    unit: str | None = None,
    layers: tuple[str, ...] = (),
    face_z: float | None = None,
    body: int | None = None,
    join_mm: float = JOIN_MM,
    name: str | None = None,
) -> str:
    """Add the wheel that a drawing shows to a project file, made if it is not there; return what was found.

    Raises:
        ReadError: the drawing cannot be read, or its unit is neither stated nor given.
        GeometryError: the drawing shows no wheel of this size.
        UnitsError: the size code is not one.
        ProjectFileError: the project cannot be read or written.
    """
    size = parse_size(size_text)
    loops = read_outline(drawing, unit=unit, layer=layers or None, join_mm=join_mm).loops_mm()
    proposal = propose(loops, size, inset_mm, face_z=face_z, body=body)
    project = load(out) if out.exists() else Project(name=out.stem, materials=(material_6061(),))
    wheel = proposal.wheel(edits.free_name(project, edits.WHEEL, name or drawing.stem))
    if not any(m.name == wheel.material for m in project.materials):
        project = edits.add(project, edits.MATERIAL, material_6061())
    save(edits.add(project, edits.WHEEL, wheel), out)
    return "\n".join([f"{drawing.name}: wheel '{wheel.name}', {size}, added to {out}", *_found(proposal)])


def _found(proposal: Proposal) -> list[str]:
    lines = []
    for part in proposal.recognised:
        if part.found is None or part.deviation is None:
            lines.append(f"  {part.part}: not recognised; the standard has {part.expected:.2f} {part.unit}")
        else:
            lines.append(
                f"  {part.part}: {part.found:.2f} {part.unit}, standard {part.expected:.2f} "
                f"({part.deviation:+.2f}; {part.basis})"
            )
    lines += [f"  look at: {sentence}" for sentence in proposal.disagreements]
    lines += [f"  look at: {limit}" for limit in proposal.limits]
    return lines
