"""A part turned from an exact section, as a mesh and as a STEP file by OpenCASCADE: both give it back."""

from __future__ import annotations

import math
from pathlib import Path as FilePath
from typing import Any

import numpy as np
import pytest
import shapely
from shapely.geometry.base import BaseGeometry

from app.files.readers import step, worker
from app.files.readers.answer import NOT_KNOWN, ReadError, ReadOutline, Request
from app.files.readers.read import read_outline
from geometry.shape.curve import Path
from tests.support import occ
from tests.support.mesh_text import stl
from tests.support.meshes import turned

R4 = math.tan(math.pi / 8.0)  # bulge of a quarter turn
#: A hub with fillets, a rounded lip and a cone: lines and arcs, counterclockwise.
HUB = Path.closed(
    [
        (-40.0, 32.0, 0.0),
        (0.0, 32.0, 0.0),
        (0.0, 70.0, R4),
        (-4.0, 74.0, 0.0),
        (-20.0, 80.0, 0.0),
        (-25.0, 80.0, -R4),
        (-30.0, 85.0, 0.0),
        (-30.0, 150.0, R4),
        (-36.0, 156.0, R4),
        (-42.0, 150.0, 0.0),
        (-42.0, 34.0, 0.0),
    ]
)


def drawn(path: Path) -> shapely.Polygon:
    return shapely.Polygon(path.flattened(0.0001))


def covered(found: ReadOutline) -> BaseGeometry:
    area = shapely.union_all([shapely.Polygon([row[:2] for row in loop]) for loop in found.loops])
    assert isinstance(area, BaseGeometry)
    return area


def assert_agrees(found: ReadOutline, path: Path) -> None:
    """Holds the section, and lies within 0.01 mm of it everywhere."""
    own, true = covered(found), drawn(path)
    assert own.buffer(4e-4).contains(true)
    assert own.difference(true.buffer(0.01, quad_segs=32)).area == pytest.approx(0.0, abs=1e-9)
    assert shapely.hausdorff_distance(own.boundary, true.boundary, 0.02) < 0.01
    assert sum(map(len, found.loops)) <= 300


def written(shape: Any, folder: FilePath, unit: str = "MM") -> FilePath:
    """The shape as a STEP file, drawn in mm and written in the unit."""
    from OCP.Interface import Interface_Static
    from OCP.STEPControl import STEPControl_StepModelType, STEPControl_Writer

    Interface_Static.SetCVal_s("write.step.unit", unit)
    writer = STEPControl_Writer()
    writer.Transfer(shape, STEPControl_StepModelType.STEPControl_AsIs)
    path = folder / f"hub {unit}.step"
    writer.Write(str(path))
    return path


@pytest.fixture(scope="module")
def hub(tmp_path_factory: pytest.TempPathFactory) -> FilePath:
    occ.needs_occ()
    pytest.importorskip("cascadio", reason="cascadio (extra step) is not installed")
    return written(occ.revolve(HUB), tmp_path_factory.mktemp("step"))


def test_a_mesh_of_a_turned_part_agrees_with_its_section(tmp_path: FilePath) -> None:
    """1,440 steps: the facets lie 156 (1 - cos(pi / 1440)) = 0.0004 mm inside; arcs parted to 0.0005 mm."""
    places = [(float(z), float(r)) for z, r in HUB.flattened(0.0005, "outward")]
    path = tmp_path / "hub.stl"
    path.write_bytes(stl(turned(places, 1440)))
    assert_agrees(read_outline(path, unit="mm"), HUB)


@pytest.mark.oracle
def test_a_step_file_of_a_turned_part_agrees_with_its_section(hub: FilePath) -> None:
    found = read_outline(hub, axle="x", axle_named=True)
    assert (found.kind, found.unit, found.unit_doubt, found.warnings) == ("mesh", "mm", "", ())
    assert found.bodies[0].is_closed
    assert_agrees(found, HUB)


@pytest.mark.oracle
@pytest.mark.parametrize(
    ("written_in", "unit"),
    [
        pytest.param("INCH", "in", marks=pytest.mark.long),
        pytest.param("M", "m", marks=pytest.mark.long),
        pytest.param("CM", "cm", marks=pytest.mark.long),
    ],
)
def test_the_units_of_a_step_file_are_its_own(
    hub: FilePath, written_in: str, unit: str, tmp_path: FilePath
) -> None:
    path = written(occ.revolve(HUB), tmp_path, written_in)
    found = read_outline(path)
    assert found.unit == unit
    assert_agrees(found, HUB)


@pytest.mark.oracle
@pytest.mark.long
def test_another_unit_takes_the_files_own_numbers(hub: FilePath, tmp_path: FilePath) -> None:
    path = written(occ.revolve(HUB), tmp_path, "INCH")
    found = read_outline(path, unit="cm")
    assert found.bounds == pytest.approx(np.array(HUB.bounds) * 10.0 / 25.4, abs=0.01)
    assert "the file states in; read as cm, as asked" in found.warnings


@pytest.mark.oracle
def test_a_caliper_of_blocks_off_the_axle_keeps_both_edges(hub: FilePath, tmp_path: FilePath) -> None:
    """G1 of checks.md: a block of height 195 and half length 60 reaches to 204.02."""
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox
    from OCP.gp import gp_Pnt

    box = BRepPrimAPI_MakeBox(gp_Pnt(-60, 140, -30), gp_Pnt(60, 195, 25)).Shape()
    found = read_outline(written(box, tmp_path), axle="z")
    assert found.bounds == pytest.approx((-30.0, 25.0, 140.0, 204.02), abs=0.012)


@pytest.mark.oracle
def test_parts_of_an_assembly_lie_where_it_puts_them(hub: FilePath, tmp_path: FilePath) -> None:
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox
    from OCP.gp import gp_Ax1, gp_Dir, gp_Pnt, gp_Trsf, gp_Vec
    from OCP.STEPCAFControl import STEPCAFControl_Writer
    from OCP.TCollection import TCollection_ExtendedString
    from OCP.TDocStd import TDocStd_Document
    from OCP.TopLoc import TopLoc_Location
    from OCP.XCAFApp import XCAFApp_Application
    from OCP.XCAFDoc import XCAFDoc_DocumentTool

    document = TDocStd_Document(TCollection_ExtendedString("XmlXCAF"))
    XCAFApp_Application.GetApplication_s().InitDocument(document)
    tool = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    part = tool.AddShape(BRepPrimAPI_MakeBox(gp_Pnt(0, -30, 100), gp_Pnt(40, 30, 130)).Shape(), False)
    assembly = tool.NewShape()
    for angle, shift in ((0.0, 0.0), (2.0, -90.0)):
        turn, move = gp_Trsf(), gp_Trsf()
        turn.SetRotation(gp_Ax1(gp_Pnt(0, 0, 0), gp_Dir(1, 0, 0)), angle)
        move.SetTranslation(gp_Vec(shift, 0, 0))
        move.Multiply(turn)
        tool.AddComponent(assembly, part, TopLoc_Location(move))
    tool.UpdateAssemblies()
    writer = STEPCAFControl_Writer()
    writer.Transfer(document)
    path = tmp_path / "pair.stp"
    writer.Write(str(path))
    found = read_outline(path)
    assert "2 bodies" in found.warnings
    spans = sorted((min(row[0] for row in loop), max(row[0] for row in loop)) for loop in found.loops)
    assert np.array(spans) == pytest.approx(np.array([(-90.0, -50.0), (0.0, 40.0)]), abs=0.01)
    assert found.bounds[2:] == pytest.approx((100.0, math.hypot(130.0, 30.0)), abs=0.02)


@pytest.mark.oracle
@pytest.mark.parametrize(
    ("damage", "says"),
    [
        (lambda data: data[: len(data) // 2], "cut off: its end is missing"),
        (lambda data: b"no STEP" + data, "does not begin with ISO-10303-21"),
        (lambda data: data[:4000] + b"\nENDSEC;\nEND-ISO-10303-21;\n", "names #\\d+ and defines none"),
        (
            lambda data: data.replace(b"#2", b"#9"),
            "names #\\d+ and defines none|broke down|damaged or holds no body",
        ),
    ],
)
def test_a_damaged_step_file_is_one_clear_line(
    hub: FilePath, damage: Any, says: str, tmp_path: FilePath
) -> None:
    path = tmp_path / "damaged.step"
    path.write_bytes(damage(hub.read_bytes()))
    with pytest.raises(ReadError, match=rf"^damaged\.step: .*({says})"):
        read_outline(path)


def test_without_the_library_one_line_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(step, "_cascadio", None)
    with pytest.raises(ReadError, match=r"need an optional library: pip install 'blankwright\[step\]'"):
        worker.read(b"ISO-10303-21;", Request(".step"))


UNIT = "#{0} = ( LENGTH_UNIT() NAMED_UNIT(*) SI_UNIT({1},.METRE.) );\n"
INCH = "#7 = ( CONVERSION_BASED_UNIT('{0}',#8) LENGTH_UNIT() NAMED_UNIT(#9) );\n"


@pytest.mark.parametrize(
    ("text", "unit", "said"),
    [
        (UNIT.format(1, ".MILLI."), "mm", ""),
        (UNIT.format(1, "$"), "m", ""),
        (UNIT.format(1, ".CENTI."), "cm", ""),
        (UNIT.format(1, ".MILLI.") + INCH.format("INCH"), "in", ""),
        (INCH.format("inch") + UNIT.format(1, ".MILLI."), "in", ""),
        (UNIT.format(1, ".MILLI.") + UNIT.format(2, "$"), "mm", "(m, mm) are converted to mm"),
        (UNIT.format(1, ".MICRO."), "mm", "(micrometre) are converted to mm"),
        (UNIT.format(1, ".MILLI.") + INCH.format("FOOT"), "mm", "(foot, mm) are converted to mm"),
        ("#1 = ( PLANE_ANGLE_UNIT() SI_UNIT($,.RADIAN.) );\n", NOT_KNOWN, "states no unit of length"),
    ],
)
def test_the_unit_is_read_from_the_files_own_words(text: str, unit: str, said: str) -> None:
    found, words = step._unit(text.encode())
    assert found == unit
    assert said in " ".join(words)
    assert bool(said) == bool(words)
