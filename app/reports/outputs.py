"""What leaves the program: the section for others and the section report, for commands and window alike."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from app.files.atomic import save_bytes
from app.files.project_file import dumps
from app.files.writers.dxf import section_drawing, write_dxf
from app.files.writers.table import write_table
from app.project.caution import CAUTION
from app.project.project import Project
from app.project.wheel import Wheel
from app.reports.audience import INTERNAL, Audience, shown_to, used_by
from app.reports.blank_report import write_blank_pdf
from app.reports.content import build_content, with_shapes
from app.reports.gauge import UNCORRECTED, Correction, GaugeOf, build_gauge, tiling
from app.reports.gauge_pages import write_gauge
from app.reports.limits_report import write_limits_pdf
from app.reports.names import keeping_names
from app.reports.pdf import write_pdf
from app.reports.releases import sheet_sha256
from app.reports.section_sheet import judge
from app.studies.blank_variant import VariantCheck
from app.studies.composite import Composite
from app.studies.extremes import Extreme
from app.studies.fit import hold, measure_wheel
from app.studies.forging_needs import ForgingSettings
from app.studies.limits import Limits
from app.studies.limits_against import Against
from app.studies.machining import WheelMachining
from app.studies.misfits import past_misfits, unnamed_questions
from app.studies.spun import SpunBlank
from geometry.errors import GeometryError
from geometry.shape.outline import StayOut
from geometry.shape.section import Outline

if TYPE_CHECKING:
    from app.reports.strength_shown import Shown

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


def input_sha256(project: Project, wheel: Wheel) -> str:
    """Return the digest of what a wheel's reports rest on: the wheel and the parts that it names.

    It is the same whomever a report is for, and does not change with other wheels of the project, but with
    a trial fit of theirs that warns of this one.

    Raises:
        ProjectFileError: the project holds what no file can.
    """
    warned = "".join(map(repr, past_misfits(project, wheel)))
    return hashlib.sha256(dumps(used_by(project, wheel)) + warned.encode()).hexdigest()


def report(
    project: Project, wheel: Wheel, shapes: tuple[str, ...] | None = None, audience: Audience = INTERNAL
) -> tuple[bytes, str]:
    """Return the section report's PDF and the reason why it is stamped, empty when it is not.

    Raises:
        ValueError: a shape is not one that the wheel must clear, or a customer's copy would name another's.
        ProjectFileError: the project holds what no file can.
    """
    content = build_content(project, wheel, measure_wheel(project, wheel), shapes, audience)
    with keeping_names(project):
        return write_pdf(content, input_sha256=input_sha256(project, wheel)), content.hold_back


def write_report(
    project: Project,
    wheel: Wheel,
    out: Path,
    shapes: tuple[str, ...] | None = None,
    audience: Audience = INTERNAL,
) -> str:
    """Write the section report and return the reason why it is stamped, empty when it is not.

    Raises:
        ValueError, ProjectFileError: as `report`.
        SaveError: the file could not be written.
    """
    pdf, reason = report(project, wheel, shapes, audience)
    save_bytes(out, pdf)
    return reason


def gauge(
    project: Project,
    wheel: Wheel,
    of: GaugeOf,
    correction: Correction = UNCORRECTED,
    shapes: tuple[str, ...] | None = None,
    audience: Audience = INTERNAL,
) -> tuple[bytes, str]:
    """Return the paper gauge's PDF and the reason why it is stamped, empty when it is not.

    Raises:
        ValueError: as `report`; or there is nothing to draw, or too much for paper.
        ProjectFileError: the project holds what no file can.
    """
    part, shown = shown_to(project, with_shapes(wheel, shapes), audience)
    found = build_gauge(part, shown, of)
    others = unnamed_questions(project, replace(wheel, clears=shown.clears)) if audience.is_customer else ()
    if others and not found.hold_back:
        found = replace(found, hold_back=others[0])
    with keeping_names(project):
        pdf = write_gauge(found, tiling(found, correction), input_sha256=input_sha256(project, wheel))
    return pdf, found.hold_back


def write_paper_gauge(
    project: Project,
    wheel: Wheel,
    out: Path,
    of: GaugeOf,
    correction: Correction = UNCORRECTED,
    shapes: tuple[str, ...] | None = None,
    audience: Audience = INTERNAL,
) -> str:
    """Write the paper gauge and return the reason why it is stamped, empty when it is not.

    Raises:
        ValueError, ProjectFileError: as `gauge`.
        SaveError: the file could not be written.
    """
    pdf, reason = gauge(project, wheel, of, correction, shapes, audience)
    save_bytes(out, pdf)
    return reason


def limits_pdf(
    project: Project,
    result: Limits,
    still: Sequence[Extreme],
    held: Against | None = None,
    *,
    appendix: bool = True,
) -> bytes:
    """Return the limits of a blank on pages; their digest is that of the project and of what was asked.

    Args:
        project: holds wheel and blanks.
        result: the map.
        still: what the drawn wheel can still have.
        held: a second blank against it, None for none.
        appendix: pages after the first, which stands alone.
    """
    asked: tuple[object, ...] = (
        result.wheel,
        result.blank,
        result.widths,
        result.insets,
        result.datum_mm,
    )
    if held is not None:
        asked += (held.second.blank, held.second.datum_mm)
    digest = hashlib.sha256(dumps(project) + repr(asked).encode()).hexdigest()
    return write_limits_pdf(project, result, still, held, input_sha256=digest, appendix=appendix)


def strength_pdf(project: Project, shown: Shown) -> bytes:
    """Return a wheel's screening on pages; their digest is that of the project and of what was asked."""
    # The study loads solvers that nothing else here needs.
    from app.reports.strength_report import write_strength_pdf

    names = [s.ready.wheel.name for s in (shown.found, shown.against) if s is not None]
    asked = (names, None if shown.case is None else shown.case.key)
    digest = hashlib.sha256(dumps(project) + repr(asked).encode()).hexdigest()
    return write_strength_pdf(project, shown, input_sha256=digest)


def blank_pdf(
    project: Project,
    result: Composite,
    settings: ForgingSettings,
    cut: Sequence[WheelMachining],
    name: str,
    for_forge: bool,
    spun: SpunBlank | None = None,
    tools: VariantCheck | None = None,
) -> bytes:
    """Return the pages of a group's blank; their digest is that of the project and of what was asked."""
    asked = repr(settings) if spun is None else repr((settings, spun.settings))
    asked += "" if tools is None or for_forge else repr(tools.of)
    digest = hashlib.sha256(dumps(project) + asked.encode()).hexdigest()
    return write_blank_pdf(
        project,
        result,
        settings,
        cut,
        name=name,
        input_sha256=digest,
        for_forge=for_forge,
        spun=spun,
        tools=tools,
    )


def left_out(
    project: Project, wheel: Wheel, audience: Audience, shapes: tuple[str, ...] | None = None
) -> str:
    """Return what the house is told when a copy leaves out shapes of others, or nothing.

    The copy itself says nothing of them, so that its state is only that of what it shows.
    """
    names = wheel.clears if shapes is None else shapes
    hidden = [f"'{s.name}'" for s in project.shapes if s.name in names and not audience.may_see(s)]
    if not hidden:
        return ""
    return f"left out, of another owner and not judged there: {', '.join(hidden)}"


#: As `PdfCanvas` writes it: the file's keywords stand uncompressed and in plain letters.
_PRINTED = re.compile(rb"/Keywords \(input sha256 ([0-9a-f]{64})\)")


def why_stale(project: Project, wheel: Wheel, pdf: Path) -> str:
    """Return why a stored report, gauge or section sheet no longer tells the truth; nothing where it does.

    Raises:
        ValueError: the file cannot be read, or is no report of this program.
        ProjectFileError: the project holds what no file can.
    """
    try:
        data = pdf.read_bytes()
    except OSError as error:
        raise ValueError(f"{pdf}: cannot be read: {error.strerror}.") from error
    found = _PRINTED.search(data)
    if found is None:
        raise ValueError(f"{pdf}: holds no digest of its input; it is no report written by this program.")
    printed = found.group(1).decode()
    if printed == input_sha256(project, wheel) or printed == sheet_sha256(judge(project, wheel)):
        return ""
    return f"'{wheel.name}', or something it is held against, has changed since, or it is of another wheel"
