"""What leaves the program: the section for others and the section report, for commands and window alike."""

from __future__ import annotations

import hashlib
from pathlib import Path

from app.files.atomic import save_bytes
from app.files.project_file import dumps
from app.files.writers.dxf import section_drawing, write_dxf
from app.files.writers.table import write_table
from app.project.caution import CAUTION
from app.project.project import Project
from app.project.wheel import Wheel
from app.reports.content import build_content
from app.reports.pdf import write_pdf
from app.studies.fit import hold, measure_wheel
from geometry.errors import GeometryError
from geometry.shape.outline import StayOut
from geometry.shape.section import Outline

#: Kinds of file that a section can be exported to.
EXPORTS = (".dxf", ".csv")


def export_section(project: Project, wheel: Wheel, out: Path) -> None:
    """Write a wheel's exact section: DXF with blank and shapes on layers of their own, or CSV of the wheel.

    Both are in the hub's frame, mm; x = z and y = r in the DXF.

    Raises:
        GeometryError: the kind of file is not known, or the section has faults.
        SaveError: the file could not be written.
    """
    kind = out.suffix.lower()
    if kind not in EXPORTS:
        raise GeometryError(
            f"{out.name}: cannot export to '{kind or 'no suffix'}'; use {' or '.join(EXPORTS)}."
        )
    outline = _outline(project, wheel)
    if kind == ".csv":
        write_table(out, outline.path)
        return
    held = hold(project, wheel)
    if isinstance(held, tuple):
        raise GeometryError(held[0].message, held[0].place)
    shapes = [(_label(shape, k), path) for shape, paths in held.shapes for k, path in enumerate(paths)]
    notes = (f"{wheel.name}, {wheel.size}, inset {wheel.inset_mm:g}", f"revision {project.revision}", CAUTION)
    write_dxf(out, section_drawing(outline.path, held.blank, shapes, notes))


def _outline(project: Project, wheel: Wheel) -> Outline:
    measured = measure_wheel(project, wheel)
    if measured.outline is None:
        fault = measured.faults[0]
        raise GeometryError(f"Wheel '{wheel.name}' has no section to export: {fault.message}", fault.place)
    return measured.outline


def _label(shape: StayOut, position: int) -> str:
    return shape.name if len(shape.outlines) == 1 else f"{shape.name} {shape.outlines[position].label}"


def report(project: Project, wheel: Wheel, shapes: tuple[str, ...] | None = None) -> tuple[bytes, str]:
    """Return the section report's PDF and the reason why it is stamped, empty when it is not.

    The digest printed is that of the project as its file holds it.

    Raises:
        ValueError: a shape is not one that the wheel must clear.
        ProjectFileError: the project holds what no file can.
    """
    content = build_content(project, wheel, measure_wheel(project, wheel), shapes)
    pdf = write_pdf(content, input_sha256=hashlib.sha256(dumps(project)).hexdigest())
    return pdf, content.hold_back


def write_report(project: Project, wheel: Wheel, out: Path, shapes: tuple[str, ...] | None = None) -> str:
    """Write the section report and return the reason why it is stamped, empty when it is not.

    Raises:
        ValueError, ProjectFileError: as `report`.
        SaveError: the file could not be written.
    """
    pdf, reason = report(project, wheel, shapes)
    save_bytes(out, pdf)
    return reason
