"""A section that goes out as DXF and comes back through the reader gives the same pieces and readings."""

from __future__ import annotations

from pathlib import Path as FilePath

import numpy as np
import pytest

from app.files.project_file import load
from app.files.readers.read import read_outline
from app.project.project import Project
from app.reports.outputs import export_section
from app.resources import samples
from app.studies.fit import hold, measure_wheel
from geometry.readings.gap import gaps
from geometry.readings.measure import Held
from geometry.readings.solid import solid
from geometry.shape.curve import Path
from geometry.shape.section import Outline


def read(path: FilePath, layer: str) -> Path:
    (loop,) = read_outline(path, layers=(layer,)).loops
    return Path.closed(loop).counterclockwise()


def least(metal: Path, other: Path, *, inside: bool = False) -> float:
    n = len(metal)
    found = gaps(metal, np.zeros(n, dtype=np.intp), np.ones(n, dtype=bool), other, inside=inside)
    return min(f.least_mm for f in found.findings)


def parts(project: Project) -> tuple[Outline, Held]:
    measured, held = measure_wheel(project, project.wheels[0]), hold(project, project.wheels[0])
    assert measured.outline is not None
    assert isinstance(held, Held)
    return measured.outline, held


@pytest.mark.parametrize("file", samples(), ids=lambda path: path.stem)
def test_sections_come_back(file: FilePath, tmp_path: FilePath) -> None:
    project = load(file)
    outline, held = parts(project)
    out = tmp_path / "section.dxf"
    export_section(project, project.wheels[0], out)
    wheel = read(out, "WHEEL")
    again = [wheel.points[np.argmin(np.hypot(*(wheel.points - p).T))] for p in outline.path.points]
    assert np.allclose(again, outline.path.points, rtol=0.0, atol=1e-9)
    assert len(wheel) == len(outline.path)
    assert sorted(wheel.radii) == pytest.approx(sorted(outline.path.radii), abs=1e-6)
    assert solid(wheel, 2700.0).mass_kg == pytest.approx(solid(outline.path, 2700.0).mass_kg, rel=1e-9)
    for shape, positions in held.shapes:
        for k, position in enumerate(positions):
            label = shape.name if len(positions) == 1 else f"{shape.name} {shape.outlines[k].label}"
            back = read(out, f"SHAPE {label}")
            assert least(wheel, back) == pytest.approx(least(outline.path, position), abs=1e-6)
    if held.blank is not None:
        back = read(out, "BLANK")
        assert least(wheel, back, inside=True) == pytest.approx(
            least(outline.path, held.blank, inside=True), abs=1e-6
        )
