"""One stage of a wheel in its blank as a drawing for the lathe, to be written as DXF."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from app.files.writers.dxf import AXLE_LINE, HUB_FACE, WHEEL, Drawing, Layer, Line
from app.project.caution import CAUTION
from app.reports.numbers import Numbers
from app.studies.stage_words import Holding
from app.studies.stages import Followed, StageReading
from geometry.forging.arcs import OFF_MM
from geometry.forging.stages import StageName

STAGE, DATUM, GRIP = "STAGE", "DATUM", "GRIP"

#: How far planes reach past the section, mm.
_OVERHANG_MM = 20.0
_NOTE_CHARACTERS = 76


def stage_drawing(found: Followed, stage: StageReading) -> Drawing:
    """Return a stage for the lathe: outline in full, finished wheel phantom, datum, grip and notes, in mm."""
    low, high, _, top = stage.path.bounds
    layers = [Layer(f"{STAGE} {stage.name}", (stage.path,))]
    if stage.name is not StageName.FINISHED:
        layers.append(Layer(WHEEL, (found.outline.path,), color=8, chain_dotted=True))
    datum, grip = holding_lines(stage.holding, found.settings.route.jaw_mm)
    layers += [Layer(DATUM, lines=datum, color=3)] if datum else []
    layers += [Layer(GRIP, lines=grip, color=1)] if grip else []
    layers.append(Layer(HUB_FACE, lines=(((0.0, 0.0), (0.0, top + _OVERHANG_MM)),), color=5))
    layers.append(axle_layer(low, high))
    return Drawing(tuple(layers), broken(stage_notes(found, stage)))


def axle_layer(low: float, high: float) -> Layer:
    """Return the axle line of a half-section between two places along it."""
    axle: Line = ((low - _OVERHANG_MM, 0.0), (high + _OVERHANG_MM, 0.0))
    return Layer(AXLE_LINE, lines=(axle,), color=5, chain_dotted=True)


def broken(notes: Sequence[str]) -> tuple[str, ...]:
    """Return notes in lines short enough to stand under a half-section; what goes on is set in."""
    return tuple(
        line
        for note in notes
        for line in textwrap.wrap(note, _NOTE_CHARACTERS, subsequent_indent="  ", break_on_hyphens=False)
    )


def holding_lines(held: Holding | None, jaw_mm: float) -> tuple[tuple[Line, ...], tuple[Line, ...]]:
    """Return where a part lies against the chuck, and where jaws of a length hold its straight wall."""
    if held is None:
        return (), ()
    low, high = held.face_r_mm
    datum: tuple[Line, ...] = (((held.face_mm, low), (held.face_mm, high)),)
    if held.bore_mm is not None:
        r = held.bore_mm / 2.0
        datum = (*datum, ((held.face_mm, r), (held.face_mm + 20.0, r)))
    if held.grip is None:
        return datum, ()
    grip = held.grip
    near, far = grip.near_mm / 2.0, grip.far_mm / 2.0
    start, end = (grip.z_high, grip.z_low) if held.outboard else (grip.z_low, grip.z_high)
    share = min(1.0, jaw_mm / grip.length_mm)
    held_to = (start + share * (end - start), near + share * (far - near))
    return datum, (((start, near), held_to),) if share > 0.0 else ()


def stage_notes(found: Followed, stage: StageReading, numbers: Numbers | None = None) -> tuple[str, ...]:
    """Return what stands below a stage's outline; lengths in mm, or as the given numbers are written."""
    numbers = numbers or Numbers("mm")
    length, unit = numbers.length, "inches" if numbers.unit == "in" else numbers.unit
    held = stage.holding
    lines = [
        f"{found.wheel} in blank {found.blank}: {stage.name}",
        f"{unit}, z along the axle, + outboard, r from it; mounting face of the finished wheel at z 0",
    ]
    if held is not None:
        lines += [f"datum: {held.datum_words(length)}", f"held {held.grip_words(length)}"]
        lines += [held.jaws.words(length)] if held.jaws is not None else []
    if stage.least is not None:
        row = stage.least
        where = f"{row.zone}, {row.side} side, at z {length(row.at[0])}, r {length(row.at[1])}"
        lines.append(f"least stock left {length(row.least_mm)}: {where}")
    lines.append(
        f"{numbers.mass(stage.mass_kg)}; chips since the stage before {numbers.mass(stage.chips_kg)}"
    )
    if stage.name is StageName.TREATED:
        treated = found.treated
        lines.append(f"thickest place {length(treated.thickest_mm)}: {treated.row}")
    # What the finished wheel lacks stands on every drawing: whoever cuts an early stage must know it.
    looked = dict.fromkeys((*stage.warnings, *found.stages[-1].warnings))
    lines += [f"look at: {finding.words(length)}" for finding in looked]
    off = f"the outline is within {1000.0 * OFF_MM:g} um of the true one"
    drawn = stage.path is found.outline.path or stage.name in (StageName.FORGED, StageName.SPUN)
    lines.append("the outline is as drawn" if drawn else off)
    return (*lines, CAUTION)
