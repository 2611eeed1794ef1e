"""OpenCASCADE as a second opinion: the same lines and arcs as edges, its own distances and volumes."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from geometry.shape.curve import Path


def needs_occ() -> None:
    """Skip the test where the oracle is not installed."""
    pytest.importorskip("OCP.gp", reason="OpenCASCADE (group oracle) is not installed")


def _edges(path: Path) -> list[Any]:
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeVertex
    from OCP.GC import GC_MakeArcOfCircle, GC_MakeSegment
    from OCP.gp import gp_Pnt

    corners = [gp_Pnt(float(z), 0.0, float(r)) for z, r in path.points]
    vertices = [BRepBuilderAPI_MakeVertex(c).Vertex() for c in corners]
    edges = []
    n = len(path)
    for i in range(n):
        j = (i + 1) % n
        if path.is_arc[i]:
            z, r = path.at(np.array([i]), np.array([0.5]))[0]
            curve = GC_MakeArcOfCircle(corners[i], gp_Pnt(float(z), 0.0, float(r)), corners[j]).Value()
        else:
            curve = GC_MakeSegment(corners[i], corners[j]).Value()
        edges.append(BRepBuilderAPI_MakeEdge(curve, vertices[i], vertices[j]).Edge())
    return edges


def wire(path: Path) -> Any:
    """Return the closed wire of a path in the plane y = 0 (x = z, z = r)."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeWire

    maker = BRepBuilderAPI_MakeWire()
    for edge in _edges(path):
        maker.Add(edge)
    return maker.Wire()


def distance(a: Path, b: Path) -> float:
    """Return the least distance between two wires."""
    from OCP.BRepExtrema import BRepExtrema_DistShapeShape

    found = BRepExtrema_DistShapeShape(wire(a), wire(b))
    assert found.IsDone()
    return float(found.Value())


def revolve(path: Path, angle_rad: float = 2.0 * np.pi) -> Any:
    """Return the section turned about the axle."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeRevol
    from OCP.gp import gp_Ax1, gp_Dir, gp_Pnt

    face = BRepBuilderAPI_MakeFace(wire(path), True).Face()
    return BRepPrimAPI_MakeRevol(face, gp_Ax1(gp_Pnt(0, 0, 0), gp_Dir(1, 0, 0)), angle_rad).Shape()


def drill(shape: Any, z_low: float, z_high: float, circle_mm: float, hole_mm: float, count: int) -> Any:
    """Return the shape less `count` axial holes on a circle."""
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeCylinder
    from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt

    for k in range(count):
        turn = 2.0 * np.pi * k / count + 0.1
        y, r = circle_mm / 2.0 * np.sin(turn), circle_mm / 2.0 * np.cos(turn)
        axis = gp_Ax2(gp_Pnt(z_low, float(y), float(r)), gp_Dir(1, 0, 0))
        shape = BRepAlgoAPI_Cut(
            shape, BRepPrimAPI_MakeCylinder(axis, hole_mm / 2.0, z_high - z_low).Shape()
        ).Shape()
    return shape


def solid_properties(shape: Any) -> tuple[float, float, float, float]:
    """Return volume (mm3), centre along the axle, polar and diametral inertia over density at the centre."""
    from OCP.BRepGProp import BRepGProp
    from OCP.gp import gp_Ax1, gp_Dir
    from OCP.GProp import GProp_GProps

    props = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, props)
    centre = props.CentreOfMass()
    polar = props.MomentOfInertia(gp_Ax1(centre, gp_Dir(1, 0, 0)))
    diametral = props.MomentOfInertia(gp_Ax1(centre, gp_Dir(0, 1, 0)))
    return abs(props.Mass()), centre.X(), abs(polar), abs(diametral)
