"""Bodies in space read to outlines: unit, axle, bodies, what is said, and the child that reads them."""

from __future__ import annotations

import hashlib
import importlib
import json
import math
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import shapely
from shapely.geometry.base import BaseGeometry

import app
from app.files.readers import worker
from app.files.readers.answer import NOT_KNOWN, ReadError, ReadOutline, Request
from app.files.readers.read import read_outline
from tests.support.mesh_text import model_3mf, obj, object_3mf, package_3mf, ply, stl, stl_text
from tests.support.meshes import block, caliper, lump, turned

ROOT = Path(app.__file__).resolve().parents[1]
BOX = block((-30.0, 25.0), (-60.0, 60.0), (140.0, 195.0))
#: A hub with its mounting face at z = 0.
HUB = [(-30.0, 32.0), (0.0, 32.0), (0.0, 74.0), (-45.0, 80.0), (-45.0, 165.0), (-57.0, 165.0), (-57.0, 70.0)]


def read(data: bytes | str, suffix: str = ".stl", **how: object) -> ReadOutline:
    octets = data.encode() if isinstance(data, str) else data
    return worker.read(octets, Request(suffix, **how))  # type: ignore[arg-type]


def covered(found: ReadOutline) -> BaseGeometry:
    area = shapely.union_all([shapely.Polygon([row[:2] for row in loop]) for loop in found.loops])
    assert isinstance(area, BaseGeometry)
    return area


class TestUnit:
    @pytest.mark.parametrize(
        ("data", "suffix"),
        [(stl(BOX), ".stl"), (stl_text(BOX), ".stl"), (obj(BOX), ".obj"), (ply(BOX), ".ply")],
    )
    def test_a_format_without_a_unit_leaves_it_open_in_its_own_numbers(
        self, data: bytes | str, suffix: str
    ) -> None:
        found = read(data, suffix)
        assert (found.unit, found.unit_doubt) == (NOT_KNOWN, "")
        assert found.bounds == pytest.approx((-30.0, 25.0, 140.0, math.hypot(195.0, 60.0)), abs=0.05)
        with pytest.raises(ReadError, match="does not state its unit; say which with --unit"):
            found.usable_loops_mm()

    @pytest.mark.parametrize(("unit", "mm"), [("mm", 1.0), ("in", 25.4), ("cm", 10.0), ("m", 1000.0)])
    def test_the_users_unit_scales_everything(self, unit: str, mm: float) -> None:
        found = read(stl(BOX / mm), unit=unit, axle_named=True)
        assert found.unit == unit
        assert found.bounds == pytest.approx((-30.0, 25.0, 140.0, math.hypot(195.0, 60.0)), abs=0.02)
        assert found.bodies[0].high == pytest.approx((25.0, 60.0, 195.0), abs=1e-3)
        assert found.tolerance_mm < 0.01
        assert found.warnings == ()

    def test_numbers_of_metres_without_a_unit_are_swept_as_finely(self) -> None:
        found = read(stl(BOX / 1000.0))
        assert found.bounds == pytest.approx((-0.03, 0.025, 0.14, math.hypot(0.195, 0.06)), abs=2e-5)
        assert found.tolerance_mm < 5e-5

    def test_a_package_states_its_unit(self) -> None:
        data = package_3mf(model_3mf([object_3mf(1, BOX / 25.4)], '<item objectid="1"/>', "inch"))
        found = read(data, ".3mf")
        assert (found.unit, found.unit_doubt) == ("in", "")
        assert found.bounds[3] == pytest.approx(math.hypot(195.0, 60.0), abs=0.02)

    def test_a_size_that_no_brake_has_leaves_the_stated_unit_in_doubt(self) -> None:
        """25.4 times too large: everything is handed back in the file's own numbers."""
        data = package_3mf(model_3mf([object_3mf(1, BOX)], '<item objectid="1"/>', "inch"))
        found = read(data, ".3mf")
        assert found.unit == NOT_KNOWN
        assert "with the unit taken as in the outline is" in found.unit_doubt
        assert found.bounds == pytest.approx((-30.0, 25.0, 140.0, math.hypot(195.0, 60.0)), abs=0.05)
        assert found.bodies[0].high == pytest.approx((25.0, 60.0, 195.0))
        assert found.tolerance_mm < 0.05
        asked = read(data, ".3mf", unit="mm")
        assert asked.unit == "mm"
        assert "the file states in; read as mm, as asked" in asked.warnings

    def test_a_size_that_no_brake_has_is_said_where_the_user_chose(self) -> None:
        found = read(stl(BOX), unit="in")
        assert found.unit == "in"
        expected = (-30.0, 25.0, 140.0, math.hypot(195.0, 60.0))
        assert found.bounds == pytest.approx([25.4 * x for x in expected], abs=0.5)
        assert any("with the unit taken as in the outline is" in w for w in found.warnings)


class TestAxle:
    @pytest.mark.parametrize(("axle", "order"), [("x", (0, 1, 2)), ("y", (2, 0, 1)), ("z", (1, 2, 0))])
    def test_the_named_coordinate_runs_along_z(self, axle: str, order: tuple[int, int, int]) -> None:
        """The box has its own first coordinate as the file's x, y or z, the others in cyclic order."""
        found = read(stl(BOX[:, :, order]), unit="mm", axle=axle)
        assert found.bounds == pytest.approx((-30.0, 25.0, 140.0, math.hypot(195.0, 60.0)), abs=0.02)
        assert found.fit is None

    @pytest.mark.parametrize(("axle", "named"), [("x", True), ("y", False), ("z", True), ("z", False)])
    def test_an_axle_that_nobody_named_is_said_until_somebody_does(self, axle: str, named: bool) -> None:
        (word,) = [w for w in read(stl(BOX), unit="mm").warnings if "axle" in w]
        assert word.startswith("no axle was named: it is taken along the file's x")
        assert "file's origin" in word
        assert "--axle and --axle-at" in word
        found = read(stl(BOX), unit="mm", axle=axle, axle_named=named)
        assert not any("no axle was named" in w for w in found.warnings)

    def test_a_body_on_the_axle_line_is_said(self) -> None:
        """A block across the axle, as of a file whose axle lies elsewhere."""
        found = read(stl(BOX - np.array([0.0, 0.0, 160.0])), unit="mm", axle_named=True)
        assert found.bounds[2] == 0.0
        assert found.warnings == (
            "the body reaches the axle line itself, where a hub is: check the axle and its place",
        )

    def test_the_axle_line_can_be_moved(self) -> None:
        found = read(
            stl((BOX + np.array([0.0, 7.0, -40.0])) / 25.4), unit="in", axle_at=(7.0 / 25.4, -40.0 / 25.4)
        )
        assert found.bounds == pytest.approx((-30.0, 25.0, 140.0, math.hypot(195.0, 60.0)), abs=0.02)

    def test_an_axle_is_fitted_and_its_faces_told(self) -> None:
        turn = np.linalg.qr(np.random.default_rng(3).normal(size=(3, 3)))[0]
        turn[:, 0] *= np.linalg.det(turn)
        shift = np.array([300.0, -120.0, 40.0])
        body = turned(HUB, 720) @ turn.T + shift
        found = read(stl(body), unit="mm", axle="fitted")
        assert found.fit is not None
        assert abs(np.array(found.fit.direction) @ turn[:, 0]) == pytest.approx(1.0, abs=1e-9)
        # The place of the mounting face along the fitted line, and which way it looks there.
        way = 1.0 if np.array(found.fit.direction) @ turn[:, 0] > 0.0 else -1.0
        zero = float((shift - found.fit.through) @ np.array(found.fit.direction))
        faces = {round(way * (flat.z_mm - zero)): flat for flat in found.fit.flats}
        assert set(faces) == {-57, -45, 0}
        assert (faces[0].r_low_mm, faces[0].r_high_mm) == pytest.approx((32.0, 74.0), abs=0.01)
        drawn = shapely.transform(shapely.Polygon(HUB), lambda p: p * (way, 1.0) + (zero, 0.0))
        assert shapely.hausdorff_distance(covered(found).boundary, drawn.boundary, 0.05) < 0.02
        assert any("which way is outboard cannot be told" in w for w in found.warnings)

    def test_the_axle_of_a_hub_serves_a_caliper_that_is_taken_alone(self) -> None:
        body = np.concatenate([turned(HUB, 360), caliper(100, 20)])
        found = read(stl(body), unit="mm", axle="fitted", bodies=(0,))
        assert found.bodies[0].triangles > found.bodies[1].triangles
        alone = read(stl(caliper(100, 20)), unit="mm")
        assert found.bounds[2:] == pytest.approx(alone.bounds[2:], abs=0.03)

    def test_a_body_that_is_not_turned_has_no_axle_to_fit(self) -> None:
        with pytest.raises(
            ReadError, match="no surface turned about one line; name the coordinate along the axle"
        ):
            read(stl(BOX), unit="mm", axle="fitted")


class TestBodies:
    def test_bodies_fragments_and_openings_are_counted_and_said(self) -> None:
        crumb = BOX[:, ::-1] * 0.02 + np.array([0.0, 0.0, 200.0])
        body = np.concatenate([lump(60)[:-1], crumb])
        found = read(stl(body), unit="mm")
        assert [b.triangles for b in found.bodies] == [len(body) - 12, 12]
        assert [b.is_closed for b in found.bodies] == [False, True]
        assert "2 bodies; 1 loose fragment of 12 triangles" in found.warnings
        assert any("of 1 bodies is open at 3 edges" in w for w in found.warnings)

    def test_flipped_triangles_are_counted_and_change_nothing(self) -> None:
        body = lump(60)
        flipped = body.copy()
        flipped[5:50] = flipped[5:50, ::-1]
        found, sound = (read(stl(each), unit="mm", axle_named=True) for each in (flipped, body))
        assert found.loops == sound.loops
        assert sound.warnings == ()
        assert found.warnings == ("45 triangles are turned the wrong way, which does the outline no harm",)

    def test_a_body_can_be_taken_by_its_number(self) -> None:
        other = block((40.0, 60.0), (0.0, 10.0), (100.0, 110.0))
        body = np.concatenate([lump(40), other])
        assert len(read(stl(body), unit="mm").loops) == 2
        found = read(stl(body), unit="mm", bodies=(1,))
        assert found.bounds[:2] == pytest.approx((40.0, 60.0), abs=0.01)
        assert len(found.bodies) == 2
        with pytest.raises(ReadError, match="there is no body 2; the file holds 2, numbered from 0"):
            read(stl(body), unit="mm", bodies=(0, 2))

    def test_enclosed_voids_are_filled_and_said(self) -> None:
        ring = turned([(0.0, 50.0), (40.0, 50.0), (40.0, 90.0), (0.0, 90.0)], 180)
        void = turned([(10.0, 60.0), (30.0, 60.0), (30.0, 80.0), (10.0, 80.0)], 180)[:, ::-1]
        found = read(stl(np.concatenate([ring, void])), unit="mm")
        assert any("1 enclosed void is filled" in w for w in found.warnings)
        assert found.within == (-1,)

    def test_triangles_without_area_are_counted_as_left_out(self) -> None:
        spot = np.repeat(BOX[:1, :1], 3, axis=1)
        assert read(stl(np.concatenate([BOX, spot])), unit="mm").skipped == {"triangles without area": 1}

    def test_a_body_of_such_triangles_alone_is_refused(self) -> None:
        with pytest.raises(ReadError, match="no triangle of the body has an area"):
            read(stl(np.repeat(BOX[:, :1], 3, axis=1)), unit="mm")

    def test_what_a_format_skipped_is_handed_on(self) -> None:
        found = read(obj(BOX) + "l 1 2\n", ".obj", unit="mm")
        assert found.skipped == {"loose lines and points": 1}

    def test_a_rough_body_says_how_far_it_was_widened(self) -> None:
        places, back = np.unique(lump(150).reshape(-1, 3).round(9), axis=0, return_inverse=True)
        noise = np.random.default_rng(1).normal(scale=0.3, size=places.shape)
        found = read(stl((places + noise)[back].reshape(-1, 3, 3)), unit="mm")
        assert 0.05 < found.tolerance_mm < 0.5
        assert sum(map(len, found.loops)) <= 300


# The child


def test_a_body_is_read_in_another_process_with_the_same_answer(tmp_path: Path) -> None:
    data = stl(lump(80))
    path = tmp_path / "caliper ü.STL"
    path.write_bytes(data)
    found = read_outline(path, unit="mm", axle="x")
    here = read(data, unit="mm")
    assert (found.kind, found.file_name) == ("mesh", "caliper ü.STL")
    assert found.sha256 == hashlib.sha256(data).hexdigest()
    assert found.loops == here.loops
    assert found.bodies == here.bodies
    assert found.tolerance_mm == here.tolerance_mm


def test_a_defect_comes_back_as_one_line(tmp_path: Path) -> None:
    path = tmp_path / "cut.stl"
    path.write_bytes(stl(lump(20))[:-30])
    with pytest.raises(
        ReadError, match=r"^cut\.stl: the STL file says that it holds 720 triangles and has room"
    ):
        read_outline(path)


COMPILED = ("cells", "raster", "thinning", "envelope", "mesh", "axle_lines", "axle_fit")


@pytest.mark.long
def test_all_machine_code_is_there_before_a_byte_is_read() -> None:
    """No loop is compiled, or found on the disk, by reading: the limits are set by then."""
    script = f"""
import sys; sys.path.insert(0, {str(ROOT)!r})
import importlib, numpy as np
from app.files.readers import mesh
from numba.core.dispatcher import Dispatcher
from tests.support.meshes import block, caliper, lump, turned
modules = [importlib.import_module("geometry.shape." + name) for name in {COMPILED!r}]
def counted():
    return {{(m.__name__, k): len(v.signatures) for m in modules for k, v in vars(m).items()
            if isinstance(v, Dispatcher)}}
before = counted()
noise = np.random.default_rng(1).normal(scale=0.3, size=(len(lump(40)), 3, 3))
hub = turned([(0, 30), (50, 30), (50, 60), (0, 60)], 90)
both = np.concatenate([hub, caliper(60, 10)])
shaft = turned([(0, 0), (50, 0), (50, 20), (0, 20)], 90)
bodies = [lump(60), lump(40)[:-5], lump(40) + noise, hub, caliper(60, 10), both, shaft,
    block((-30, 25), (-60, 60), (-10, 195))]
for body in bodies:
    for axle in ("x", "y", "z", "fitted"):
        for chosen in ((), (0,)):
            try:
                how = mesh.Request(".stl", axle=axle, bodies=chosen)
                mesh.swept_outline(mesh.Bodies(body, "mm"), how, "")
            except mesh.ReadError:
                pass
print(len(before), [k for k, v in counted().items() if v != before[k]])
"""
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, timeout=600, cwd=ROOT
    )
    count, new = done.stdout.split(" ", 1)
    assert (int(count) > 25, new.strip(), done.stderr) == (True, "[]", "")


@pytest.mark.parametrize("suffix", [".stl", ".obj", ".ply", ".3mf"])
def test_reading_opens_no_file_and_no_socket(suffix: str, tmp_path: Path) -> None:
    written = {
        ".stl": stl(BOX),
        ".obj": obj(BOX).encode(),
        ".ply": ply(BOX),
        ".3mf": package_3mf(model_3mf([object_3mf(1, BOX)], '<item objectid="1"/>')),
    }
    script = f"""
import sys; sys.path.insert(0, {str(ROOT)!r})
from app.files.readers import worker
import resource
events = []
limit = worker._limit_this_process
def limited(limits):
    limit(limits)
    parts = ("open", "socket", "subprocess", "os", "shutil", "ctypes", "urllib")
    sys.addaudithook(lambda name, args: events.append([name, repr(args)])
        if name.split(".")[0] in parts and name != "os.fspath" else None)
worker._limit_this_process = limited
code = worker.main(['{{"suffix": "{suffix}", "unit": "mm"}}'])
print(events, code, file=sys.stderr)
"""
    done = subprocess.run(
        [sys.executable, "-c", script], input=written[suffix], capture_output=True, cwd=tmp_path, timeout=300
    )
    assert done.stderr.decode().strip() == "[] 0"
    assert json.loads(done.stdout)["kind"] == "mesh"


def test_the_modules_that_hold_machine_code_are_all_looked_at() -> None:
    """COMPILED above names every module that the reader loads loops from."""
    from numba.core.dispatcher import Dispatcher

    loaded = {
        name.rpartition(".")[2]
        for name in list(sys.modules)
        if name.startswith("geometry.shape.")
        and any(
            isinstance(v, Dispatcher) and v.py_func.__module__ == name
            for v in vars(importlib.import_module(name)).values()
        )
    }
    assert set(COMPILED) - {"axle_fit"} <= loaded
